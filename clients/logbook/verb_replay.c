/* SPDX-License-Identifier: Apache-2.0 */
/* verb_replay.c - trapline log replay: judge once more what was judged, and say whether it is the same. */
#include <stdlib.h>
#include <string.h>

#include "clients/logbook/filter.h"
#include "clients/logbook/record.h"
#include "clients/logbook/replay_print.h"
#include "clients/logbook/verbs.h"
#include "clients/logbook/words.h"
#include "proto/base/conf.h"
#include "proto/base/text.h"

enum {
    OPTION_VALIDATOR = TL_LOG_OWN,
    OPTION_UNTIL,
    OPTION_WHAT_IF,
    OPTION_BOARD,
    OPTION_SPEED,
    SHOWN_CAP = 33
};

/* All that the verb holds; large. */
struct replays {
    struct tl_log *log;
    struct tl_judged_rows *rows;
    struct tl_judged_life life[TL_JUDGED_LIVES_MAX];
    uint32_t life_count;
    struct tl_config other;         /* --what-if */
    const struct tl_config *config; /* that judges */
    struct tl_replay replay;
    struct tl_replay_show *show;
    struct tl_replay_print print;
    uint64_t until_ms;
    bool differs, checked, other_configuration;
};

/* ---- what is asked ---- */

static enum tl_exit
load_what_if(struct replays *all)
{
    struct tl_conf_fault fault;
    const char *dir = tl_log_word(all->log, OPTION_WHAT_IF);
    all->config = all->log->config;
    if (dir == NULL) {
        return TL_EXIT_OK;
    }
    if (tl_conf_load_unkeyed(dir, &all->other, &fault) != TL_OK) {
        tl_conf_print_fault(&fault);
        return TL_EXIT_CONFIG;
    }
    all->config = &all->other;
    return TL_EXIT_OK;
}

/* A time of day needs the book, which says of which day. */
static enum tl_exit
read_until(struct replays *all)
{
    struct tl_log *log = all->log;
    struct tl_book *book = NULL;
    all->until_ms = UINT64_MAX;
    if (!tl_log_given(log, OPTION_UNTIL)) {
        return TL_EXIT_OK;
    }
    book = calloc(1, sizeof *book);
    if (book == NULL) {
        return tl_log_refuse(log, TL_EXIT_FAILED, "out of memory");
    }
    const struct tl_record_span span = {.to_ms = UINT64_MAX};
    enum tl_exit code = TL_EXIT_OK;
    if (!tl_time_read(tl_log_word(log, OPTION_UNTIL), &all->until_ms)) {
        enum tl_err err = tl_record_read(log->path, &span, book, log->why, sizeof log->why);
        code = err == TL_OK ? tl_log_read_time(log, OPTION_UNTIL, book, &all->until_ms)
                            : TL_EXIT_FAILED;
    }
    tl_book_free(book);
    free(book);
    return code;
}

/* Lives of the validator that is asked for; of every one when none is. */
static enum tl_exit
choose_lives(struct replays *all)
{
    const char *wanted = tl_log_word(all->log, OPTION_VALIDATOR);
    char text[SHOWN_CAP];
    uint32_t kept = 0;
    for (uint32_t i = 0; i < all->life_count; i++) {
        if (wanted == NULL || strcmp(wanted, all->life[i].validator) == 0) {
            all->life[kept++] = all->life[i];
        }
    }
    if (kept == 0 && all->life_count > 0) {
        (void)tl_text_plain(text, sizeof text, wanted, strlen(wanted));
        return tl_log_refuse(all->log, TL_EXIT_USAGE, "no validator '%s' in the record; it has %s",
                             text, all->life[0].validator);
    }
    all->life_count = kept;
    return kept > 0 ? TL_EXIT_OK
                    : tl_log_refuse(all->log, TL_EXIT_FAILED,
                                    "the record has nothing that can be judged again: its "
                                    "validators did not tell it, or it is older");
}

/* A screen shows one validator: the first, unless one is named. */
static void
keep_one_validator(struct replays *all)
{
    uint32_t kept = 1;
    while (kept < all->life_count &&
           strcmp(all->life[kept].validator, all->life[0].validator) == 0) {
        kept++;
    }
    all->life_count = kept;
}

static enum tl_exit
open_all(struct replays *all)
{
    struct tl_log *log = all->log;
    enum tl_exit code = tl_log_find(log);
    if (code != TL_EXIT_OK) {
        return code;
    }
    if (log->config == NULL) {
        return tl_log_refuse(log, TL_EXIT_USAGE,
                             "the configuration folder that judged is needed: -C DIR");
    }
    code = load_what_if(all);
    if (code != TL_EXIT_OK) {
        return code;
    }
    enum tl_err err = tl_judged_rows_open(log->path, &all->rows, log->why, sizeof log->why);
    if (err != TL_OK) {
        return err == TL_NOTFOUND ? TL_EXIT_UNANSWERED : TL_EXIT_FAILED;
    }
    if (tl_judged_rows_lives(all->rows, all->life, &all->life_count) != TL_OK) {
        return tl_log_refuse(log, TL_EXIT_FAILED, "%s", tl_judged_rows_why(all->rows));
    }
    code = choose_lives(all);
    return code == TL_EXIT_OK ? read_until(all) : code;
}

/* ---- judging ---- */

static enum tl_exit
replay_one(struct replays *all, const struct tl_judged_life *life)
{
    struct tl_replayed out;
    struct tl_replaying how = {.config = all->config,
                               .what_if = tl_log_given(all->log, OPTION_WHAT_IF),
                               .until_ms = all->until_ms,
                               .ctx = &all->print,
                               .step = tl_replay_print_step};
    tl_replay_print_life(&all->print, life);
    if (tl_replay_life(&how, all->rows, life, &all->replay, &out) != TL_OK) {
        return tl_log_refuse(all->log, TL_EXIT_FAILED, "%s", tl_judged_rows_why(all->rows));
    }
    tl_replay_print_end(&all->print, &out);
    all->differs = all->differs || out.differs;
    all->checked = all->checked || out.checked > 0;
    all->other_configuration = all->other_configuration || out.other_configuration;
    return TL_EXIT_OK;
}

static enum tl_exit
conclude(struct replays *all)
{
    if (!tl_replay_print_all(&all->print, all->differs, all->checked)) {
        return tl_log_refuse(all->log, TL_EXIT_FAILED, "the answer could not be written");
    }
    if (!all->checked && all->other_configuration) {
        return tl_log_refuse(all->log, TL_EXIT_CONFIG,
                             "it was judged with another configuration than this; name the folder "
                             "that was used with -C, or ask --what-if");
    }
    return all->differs || !all->checked ? TL_EXIT_FAILED : TL_EXIT_OK;
}

static enum tl_exit
replay_all(struct replays *all)
{
    struct tl_log *log = all->log;
    bool shows = tl_log_given(log, OPTION_UNTIL) || tl_log_given(log, OPTION_BOARD);
    all->show = tl_replay_show_open(all->config);
    if (all->show == NULL) {
        return tl_log_refuse(log, TL_EXIT_FAILED, "out of memory");
    }
    all->replay.judge.port = tl_replay_show_port(all->show);
    double speed = tl_log_given(log, OPTION_SPEED) ? log->option[OPTION_SPEED].number : 0.0;
    bool board = tl_log_given(log, OPTION_BOARD);
    all->print = (struct tl_replay_print){
        .show = all->show,
        .json = tl_log_given(log, TL_LOG_JSON),
        .board = board,
        .what_if = tl_log_given(log, OPTION_WHAT_IF),
        .speed = board && speed == 0.0 ? 1.0 : speed,
        .on_glass = board,
    };
    if (shows) {
        keep_one_validator(all);
    }
    enum tl_exit code = TL_EXIT_OK;
    for (uint32_t i = 0; i < all->life_count && code == TL_EXIT_OK; i++) {
        if (all->life[i].first_ms <= all->until_ms) {
            code = replay_one(all, &all->life[i]);
        }
    }
    if (code == TL_EXIT_OK && tl_log_given(log, OPTION_UNTIL)) {
        tl_replay_print_picture(&all->print, &all->replay);
    }
    code = code == TL_EXIT_OK ? conclude(all) : code;
    tl_replay_print_close(&all->print);
    return code;
}

static enum tl_exit
run(struct tl_log *log)
{
    struct replays *all = calloc(1, sizeof *all);
    if (all == NULL) {
        return tl_log_refuse(log, TL_EXIT_FAILED, "out of memory");
    }
    all->log = log;
    enum tl_exit code = TL_EXIT_OK;
    if (tl_log_given(log, TL_LOG_JSON) && tl_log_given(log, OPTION_BOARD)) {
        code = tl_log_refuse(log, TL_EXIT_USAGE, "--json and --board do not go together");
    } else {
        code = open_all(all);
    }
    code = code == TL_EXIT_OK ? replay_all(all) : code;
    tl_judged_rows_close(&all->rows);
    tl_replay_show_close(&all->show);
    free(all);
    return code;
}

static const struct tl_option_row rows[] = {
    TL_LOG_COMMON,
    [OPTION_VALIDATOR] = {"--validator", TL_OPTION_WORD, 0, 0, false, "ID",
                          "of this one only, else of every one in the record"},
    [OPTION_UNTIL] = {"--until", TL_OPTION_WORD, 0, 0, false, "TIME",
                      "stop there and print the picture as it stood: 2031-04-05T06:07:08Z, or "
                      "HH:MM[:SS] UTC of the day of the newest recovery"},
    [OPTION_WHAT_IF] = {"--what-if", TL_OPTION_WORD, 0, 0, false, "DIR",
                        "judge by that configuration folder, and say where the outcome would be "
                        "another; predictions are taken as they were"},
    [OPTION_BOARD] = {"--board", TL_OPTION_FLAG, 0, 0, false, "",
                      "show the whole picture each time that it changes"},
    [OPTION_SPEED] = {"--speed", TL_OPTION_NUMBER, 0.1, 1000, false, "",
                      "so many times as fast as it was; else at once, with --board 1"},
};

const struct tl_log_command tl_log_replay = {
    .name = "replay",
    .what = "whether what was judged is judged the same once more, and what if",
    .text = "Takes every input that a validator took, at the time at which it took it, through the "
            "same judgement, and compares event, word, causes and what it rests on at every "
            "judgement. Prints a line each time that the word, the event or the first cause "
            "changed, then how many judgements were the same, the first difference, and what "
            "could not be checked and why. The configuration that judged is needed (-C). The "
            "frames are taken as they are: verify looks at their signatures. Exit 0 all that was "
            "compared is the same, 1 it differs, or nothing could be compared.",
    .table = {rows, sizeof rows / sizeof rows[0]},
    .run = run,
};
