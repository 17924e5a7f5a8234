/* SPDX-License-Identifier: Apache-2.0 */
/* verb_overrides.c - trapline log overrides: what two signed, and what was said by voice. */
#include <inttypes.h>

#include "clients/logbook/signatures.h"
#include "clients/logbook/tables.h"
#include "clients/logbook/verbs.h"
#include "clients/logbook/voices.h"
#include "clients/logbook/words.h"

enum own_option {
    OPTION_WIDE = TL_LOG_ASK_OWN
};

enum column {
    SAID = 0,
    KIND,
    STATION,
    SAID_BY,
    CONFIRMED_BY,
    LIVE,
    ENDED,
    HOW,
    WHAT,
    CONFIRMED,
    UNTIL,
    ENDED_BY,
    RULE,
    REASON,
    RECOVERY,
    PASS,
    COLUMNS
};
static const struct tl_field_column columns[COLUMNS] = {
    [SAID] = {"said", "SAID", TL_FIELD_TIME, 0, 8},
    [KIND] = {"kind", "KIND", TL_FIELD_TEXT, 0, 8},
    [STATION] = {"station", "STATION", TL_FIELD_TEXT, 0, 12},
    [SAID_BY] = {"said_by", "SAID BY", TL_FIELD_TEXT, 0, 11},
    [CONFIRMED_BY] = {"confirmed_by", "CONFIRMED BY", TL_FIELD_TEXT, 0, 12},
    [LIVE] = {"took_effect", "LIVE", TL_FIELD_FLAG, 0, 4},
    [ENDED] = {"ended", "ENDED", TL_FIELD_TIME, 0, 8},
    [HOW] = {"ended_how", "HOW", TL_FIELD_TEXT, 0, 10},
    [WHAT] = {"what", "WHAT", TL_FIELD_TEXT, 0, 0},
    [CONFIRMED] = {"confirmed", "CONFIRMED", TL_FIELD_TIME, 0, 0},
    [UNTIL] = {"until", "UNTIL", TL_FIELD_TIME, 0, 0},
    [ENDED_BY] = {"ended_by", "ENDED BY", TL_FIELD_TEXT, 0, 0},
    [RULE] = {"rule", "RULE", TL_FIELD_TEXT, 0, 0},
    [REASON] = {"reason", "REASON", TL_FIELD_TEXT, 0, 0},
    [RECOVERY] = {"recovery", "RECOVERY", TL_FIELD_NUMBER, 0, 0},
    [PASS] = {"pass", "PASS", TL_FIELD_NUMBER, 0, 0},
};

/* The newest time of the record: what expires later had not expired when it was written. */
static uint64_t
end_of(const struct tl_book *book)
{
    uint64_t last_ms = 0;
    for (size_t i = 0; i < book->word_count; i++) {
        uint64_t wall_ms = book->word[i].stated.wall_ms;
        last_ms = wall_ms > last_ms ? wall_ms : last_ms;
    }
    return last_ms;
}

static void
add_end(struct tl_table *table, const struct tl_signature *signature, uint64_t last_ms)
{
    bool expired = signature->until_ms != 0 && signature->until_ms <= last_ms;
    if (signature->ended_by[0] != '\0') {
        tl_table_time(table, ENDED, signature->ended_ms);
        tl_table_text(table, HOW, signature->restarted ? "restart" : "taken back");
        tl_table_text(table, ENDED_BY, signature->ended_by);
    } else if (expired && signature->confirmed_by[0] != '\0') {
        tl_table_time(table, ENDED, signature->until_ms);
        tl_table_text(table, HOW, "expired");
    }
}

static void
add_signature(struct tl_table *table, const struct tl_signature *signature, uint64_t last_ms)
{
    const struct tl_override *override = &signature->override;
    const struct tl_rule_row *row = tl_rule_row(override->rule);
    bool live = signature->confirmed_by[0] != '\0';
    char text[TL_TEXT_CAP];
    char until[TL_TIME_CAP];
    const char *rule = row != NULL ? row->name : "unknown rule";
    tl_table_row(table);
    tl_table_time(table, SAID, signature->said_ms);
    tl_table_text(table, KIND, "override");
    tl_table_text(table, STATION, override->station);
    tl_table_text(table, SAID_BY, signature->said_by);
    tl_table_text(table, CONFIRMED_BY, signature->confirmed_by);
    tl_table_flag(table, LIVE, live);
    tl_table_time(table, CONFIRMED, signature->confirmed_ms);
    tl_table_time(table, UNTIL, signature->until_ms);
    tl_table_text(table, RULE, rule);
    tl_table_text(table, REASON, override->reason);
    tl_table_text(table, WHAT, rule);
    add_end(table, signature, last_ms);
    (void)snprintf(text, sizeof text, "%s%s%s, until %s: %s", rule,
                   override->station[0] != '\0' ? " at " : "", override->station,
                   signature->until_ms != 0 ? tl_clock_text(signature->until_ms, until) : "-",
                   override->reason);
    tl_table_note(table, text);
}

static void
add_voice(struct tl_table *table, const struct tl_voice *voice)
{
    const struct tl_word_row *word = voice->word;
    bool live = voice->second != NULL || tl_datum_is_safeward(&word->datum);
    tl_table_row(table);
    tl_table_time(table, SAID, word->stated.wall_ms);
    tl_table_text(table, KIND, "by voice");
    tl_table_text(table, STATION, word->datum.voice_for);
    tl_table_text(table, SAID_BY, word->stated.node);
    tl_table_flag(table, LIVE, live);
    tl_table_text(table, WHAT, word->text);
    if (voice->second != NULL) {
        tl_table_text(table, CONFIRMED_BY, voice->second->stated.node);
        tl_table_time(table, CONFIRMED, voice->second->stated.wall_ms);
    }
    if (voice->ended != NULL) {
        tl_table_time(table, ENDED, voice->ended->stated.wall_ms);
        tl_table_text(table, HOW, tl_voice_end_text(voice->end));
        tl_table_text(table, ENDED_BY, voice->ended->stated.node);
    }
    if (word->datum.stated_for_count > 0) {
        struct tl_event event = word->datum.stated_for[0];
        tl_table_number(table, RECOVERY, (int64_t)(event.recovery_ms & INT64_MAX));
        tl_table_number(table, PASS, event.pass);
    }
    tl_table_note(table, word->text);
}

static bool
is_asked_voice(const struct tl_answer *answer, const struct tl_voice *voice)
{
    const struct tl_filter *filter = &answer->filter;
    const struct tl_word_row *word = voice->word;
    struct tl_event event =
        word->datum.stated_for_count > 0 ? word->datum.stated_for[0] : (struct tl_event){0};
    bool station = tl_filter_station(filter, word->datum.voice_for) ||
                   tl_filter_station(filter, word->stated.node) ||
                   (voice->second != NULL && tl_filter_station(filter, voice->second->stated.node));
    return station && tl_filter_time(filter, word->stated.wall_ms) &&
           tl_filter_event(filter, &answer->passes, event);
}

/* An override is of no event. */
static bool
is_asked_signature(const struct tl_answer *answer, const struct tl_signature *signature)
{
    const struct tl_filter *filter = &answer->filter;
    bool station = tl_filter_station(filter, signature->override.station) ||
                   tl_filter_station(filter, signature->said_by) ||
                   tl_filter_station(filter, signature->confirmed_by);
    return station && tl_filter_time(filter, signature->said_ms) &&
           tl_filter_event(filter, &answer->passes, (struct tl_event){0});
}

static void
fill(struct tl_table *table, const struct tl_answer *answer, const struct tl_signatures *signatures,
     const struct tl_voices *voices)
{
    uint64_t last_ms = end_of(&answer->book);
    for (size_t i = 0; i < signatures->count; i++) {
        if (is_asked_signature(answer, &signatures->one[i])) {
            add_signature(table, &signatures->one[i], last_ms);
        }
    }
    for (size_t i = 0; i < voices->count; i++) {
        if (is_asked_voice(answer, &voices->voice[i])) {
            add_voice(table, &voices->voice[i]);
        }
    }
}

enum tl_err
tl_overrides_table(const struct tl_answer *answer, struct tl_table *table)
{
    struct tl_signatures signatures = {0};
    struct tl_voices voices = {0};
    tl_table_init(table, "overrides", columns, COLUMNS);
    enum tl_err err = tl_signatures_fold(&answer->book, &signatures);
    if (err == TL_OK) {
        err = tl_voices_fold(&answer->book, &voices);
    }
    if (err == TL_OK) {
        fill(table, answer, &signatures, &voices);
    }
    tl_voices_free(&voices);
    tl_signatures_free(&signatures);
    return err;
}

static enum tl_exit
run(struct tl_log *log)
{
    return tl_log_table(log,
                        &(struct tl_table_verb){tl_overrides_table, "override and no word by voice",
                                                OPTION_WIDE, false});
}

static const struct tl_option_row rows[] = {
    TL_LOG_ASK,
    [OPTION_WIDE] = {"--wide", TL_OPTION_FLAG, 0, 0, false, "", "all columns as text"},
};

const struct tl_log_command tl_log_overrides = {
    .name = "overrides",
    .what = "overrides and words by voice: who, confirmed by whom, until when",
    .text = "Overrides, then words by voice: who said it, who confirmed it within 60 s, whether it "
            "took effect, how and when it ended. The expiry is that of the earlier signature, in "
            "whole minutes rounded up where the record has no more than the words. A word by voice "
            "ends when a signer takes it back or restarts, or when the station speaks for itself.",
    .table = {rows, sizeof rows / sizeof rows[0]},
    .run = run,
};
