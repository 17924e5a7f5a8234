/* SPDX-License-Identifier: Apache-2.0 */
/* filter.c - see filter.h. */
#include "clients/logbook/filter.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/logbook/record.h"
#include "clients/logbook/words.h"
#include "proto/base/text.h"

enum {
    SHOWN_CAP = 33,
    LIST_CAP = 300
};
static const uint64_t day_ms = 86400000u;

static const char time_help[] = "write UTC as 2031-04-05T06:07:08Z, or HH:MM or HH:MM:SS of the "
                                "day of the newest recovery";

/* ---- times ---- */

/* A whole time; false for a time of day too. */
static bool
whole_time(const struct tl_log *log, size_t option, uint64_t *wall_ms)
{
    const char *word = tl_log_word(log, option);
    return word != NULL && tl_time_read(word, wall_ms);
}

/* What is read from the file: all, but rows far outside of whole times. */
static struct tl_record_span
span_of(const struct tl_log *log)
{
    struct tl_record_span span = {0, INT64_MAX};
    uint64_t time_ms = 0;
    if (whole_time(log, TL_LOG_FROM, &time_ms) && time_ms > day_ms) {
        span.from_ms = time_ms - day_ms;
    }
    if (whole_time(log, TL_LOG_TO, &time_ms)) {
        span.to_ms = time_ms + day_ms;
    }
    return span;
}

enum tl_exit
tl_log_read_time(struct tl_log *log, size_t option, const struct tl_book *book, uint64_t *wall_ms)
{
    char text[TL_TIME_CAP];
    char word[SHOWN_CAP];
    uint64_t of_day_ms = 0;
    const char *given = tl_log_word(log, option);
    if (given == NULL || tl_time_read(given, wall_ms)) {
        return TL_EXIT_OK;
    }
    if (!tl_clock_read(given, &of_day_ms)) {
        (void)tl_text_plain(word, sizeof word, given, strlen(given));
        return tl_log_refuse(log, TL_EXIT_USAGE, "%s '%s' is not a time; %s", log->row[option].name,
                             word, time_help);
    }
    uint64_t recovery_ms = tl_book_newest_recovery(book);
    if (recovery_ms == 0) {
        return tl_log_refuse(log, TL_EXIT_USAGE,
                             "%s %s: there is no recovery in the record whose day it could be of; "
                             "write a whole time",
                             log->row[option].name, given);
    }
    *wall_ms = recovery_ms - recovery_ms % day_ms + of_day_ms;
    (void)fprintf(stderr, "trapline log %s: %s is %s\n", log->name, log->row[option].name,
                  tl_time_text(*wall_ms, text));
    return TL_EXIT_OK;
}

/* ---- events and stations ---- */

/* Digits at *text, which moves behind them. */
static bool
take_number(const char **text, uint64_t *number)
{
    char digits[TL_NUMBER_CAP];
    size_t len = strspn(*text, "0123456789");
    (void)snprintf(digits, sizeof digits, "%.*s", (int)len, *text);
    *text += len;
    return len > 0 && len < sizeof digits && tl_text_number(digits, number);
}

static bool
event_of(const char *word, uint64_t newest_ms, struct tl_event *event)
{
    uint64_t first = 0;
    uint64_t second = 0;
    if (!take_number(&word, &first)) {
        return false;
    }
    bool whole = *word == ':';
    word += whole ? 1 : 0;
    if (whole && !take_number(&word, &second)) {
        return false;
    }
    uint64_t pass = whole ? second : first;
    *event = (struct tl_event){whole ? first : newest_ms, (uint32_t)pass};
    return *word == '\0' && pass > 0 && pass <= UINT32_MAX && event->recovery_ms > 0;
}

static enum tl_exit
read_event(struct tl_log *log, const struct tl_book *book, struct tl_filter *filter)
{
    const char *word = tl_log_word(log, TL_LOG_EVENT);
    char text[SHOWN_CAP];
    filter->has_event = word != NULL;
    if (word == NULL || event_of(word, tl_book_newest_recovery(book), &filter->event)) {
        return TL_EXIT_OK;
    }
    (void)tl_text_plain(text, sizeof text, word, strlen(word));
    return tl_log_refuse(log, TL_EXIT_USAGE,
                         "--event '%s' is not a pass; write RECOVERY:PASS, as JSON has them, or "
                         "PASS of the newest recovery",
                         text);
}

static bool
is_in_book(const struct tl_book *book, const char *id)
{
    for (size_t i = 0; i < book->word_count; i++) {
        if (strcmp(book->word[i].stated.node, id) == 0 ||
            strcmp(book->word[i].datum.voice_for, id) == 0) {
            return true;
        }
    }
    for (size_t i = 0; i < book->alert_count; i++) {
        if (strcmp(book->alert[i].station, id) == 0) {
            return true;
        }
    }
    return false;
}

/* The nodes that said something, in the order in which they did. */
static void
list_nodes(const struct tl_book *book, char list[LIST_CAP])
{
    size_t used = 0;
    list[0] = '\0';
    for (size_t i = 0; i < book->word_count; i++) {
        const char *node = book->word[i].stated.node;
        const char *there = strstr(list, node);
        size_t len = strlen(node);
        while (there != NULL && !((there == list || there[-1] == ' ') &&
                                  (there[len] == ',' || there[len] == '\0'))) {
            there = strstr(there + 1, node);
        }
        if (there == NULL && used + len + 3 < LIST_CAP) {
            used +=
                (size_t)snprintf(list + used, LIST_CAP - used, "%s%s", used > 0 ? ", " : "", node);
        }
    }
}

static enum tl_exit
read_station(struct tl_log *log, const struct tl_book *book, struct tl_filter *filter)
{
    char word[SHOWN_CAP];
    char list[LIST_CAP];
    const char *id = tl_log_word(log, TL_LOG_STATION);
    filter->station = id;
    if (id == NULL || is_in_book(book, id) ||
        (log->config != NULL && tl_config_node(log->config, id) != NULL)) {
        return TL_EXIT_OK;
    }
    (void)tl_text_plain(word, sizeof word, id, strlen(id));
    list_nodes(book, list);
    return tl_log_refuse(log, TL_EXIT_USAGE, "no station '%s' in the record; it has %s", word,
                         list[0] != '\0' ? list : "words of none");
}

static enum tl_exit
read_filter(struct tl_log *log, const struct tl_book *book, struct tl_filter *filter)
{
    *filter = (struct tl_filter){.to_ms = UINT64_MAX, .type = tl_log_word(log, TL_LOG_TYPE)};
    enum tl_exit code = tl_log_read_time(log, TL_LOG_FROM, book, &filter->from_ms);
    if (code == TL_EXIT_OK) {
        code = tl_log_read_time(log, TL_LOG_TO, book, &filter->to_ms);
    }
    if (code == TL_EXIT_OK && filter->from_ms > filter->to_ms) {
        code = tl_log_refuse(log, TL_EXIT_USAGE, "--from is later than --to");
    }
    if (code == TL_EXIT_OK) {
        code = read_event(log, book, filter);
    }
    if (code == TL_EXIT_OK) {
        code = read_station(log, book, filter);
    }
    if (tl_log_given(log, TL_LOG_AIRCRAFT)) {
        filter->side = (uint32_t)log->option[TL_LOG_AIRCRAFT].number;
    }
    return code;
}

enum tl_exit
tl_log_read(struct tl_log *log, struct tl_book *book, struct tl_filter *filter)
{
    if (tl_log_given(log, TL_LOG_JSON) && tl_log_given(log, TL_LOG_CSV)) {
        return tl_log_refuse(log, TL_EXIT_USAGE, "--json and --csv do not go together");
    }
    enum tl_exit code = tl_log_find(log);
    if (code != TL_EXIT_OK) {
        return code;
    }
    struct tl_record_span span = span_of(log);
    enum tl_err err = tl_record_read(log->path, &span, book, log->why, sizeof log->why);
    if (err != TL_OK) {
        return err == TL_NOTFOUND ? TL_EXIT_UNANSWERED : TL_EXIT_FAILED;
    }
    return read_filter(log, book, filter);
}

/* ---- what fits ---- */

bool
tl_filter_time(const struct tl_filter *filter, uint64_t wall_ms)
{
    return wall_ms >= filter->from_ms && wall_ms <= filter->to_ms;
}

bool
tl_filter_station(const struct tl_filter *filter, const char *station)
{
    return filter->station == NULL || strncmp(filter->station, station, TL_ID_CAP) == 0;
}

static bool
fits_aircraft(const struct tl_filter *filter, const struct tl_pass *pass)
{
    bool ordered = pass->order_stated.sequence != 0;
    uint32_t side = ordered ? pass->order.side : pass->call.side;
    const char *type = ordered ? pass->order.type : pass->call.type;
    return (filter->side == 0 || filter->side == side) &&
           (filter->type == NULL || strncmp(filter->type, type, TL_TYPE_CAP) == 0);
}

bool
tl_filter_event(const struct tl_filter *filter, const struct tl_passes *passes,
                struct tl_event event)
{
    if (filter->has_event && !tl_event_equal(filter->event, event)) {
        return false;
    }
    if (filter->side == 0 && filter->type == NULL) {
        return true;
    }
    const struct tl_pass *pass = tl_passes_find(passes, event);
    return pass != NULL && fits_aircraft(filter, pass);
}

/* Named by the cause of its wave-off, or spoken for. */
static bool
fits_station(const struct tl_filter *filter, const struct tl_pass *pass)
{
    const struct tl_verdict_row *cause = tl_pass_cause(pass);
    bool fits =
        filter->station == NULL || (cause != NULL && tl_filter_station(filter, cause->station));
    for (uint32_t i = 0; i < pass->voiced_count && !fits; i++) {
        fits = tl_filter_station(filter, pass->voiced[i]);
    }
    return fits;
}

bool
tl_filter_pass(const struct tl_filter *filter, const struct tl_pass *pass)
{
    return tl_filter_time(filter, tl_pass_wall_ms(pass)) && fits_aircraft(filter, pass) &&
           (!filter->has_event || tl_event_equal(filter->event, pass->event)) &&
           fits_station(filter, pass);
}

void
tl_filter_passes(const struct tl_filter *filter, struct tl_passes *passes)
{
    size_t kept = 0;
    for (size_t i = 0; i < passes->count; i++) {
        if (tl_filter_pass(filter, &passes->pass[i])) {
            passes->pass[kept++] = passes->pass[i];
        }
    }
    passes->count = kept;
}

/* ---- what is printed ---- */

enum tl_exit
tl_log_folded(struct tl_log *log, const char *what, enum tl_err err)
{
    return err == TL_OK ? TL_EXIT_OK
                        : tl_log_refuse(log, TL_EXIT_FAILED, "%s: %s", what, tl_err_text(err));
}

enum tl_exit
tl_log_read_answer(struct tl_log *log, struct tl_answer *answer)
{
    enum tl_exit code = tl_log_read(log, &answer->book, &answer->filter);
    if (code == TL_EXIT_OK) {
        code = tl_log_folded(log, "the passes",
                             tl_passes_fold(&answer->book, log->config, &answer->passes));
    }
    return code;
}

void
tl_answer_free(struct tl_answer *answer)
{
    tl_passes_free(&answer->passes);
    tl_book_free(&answer->book);
}

enum tl_exit
tl_log_answer(struct tl_log *log,
              enum tl_exit (*print)(struct tl_log *log, struct tl_answer *answer))
{
    struct tl_answer answer = {0};
    enum tl_exit code = tl_log_read_answer(log, &answer);
    if (code == TL_EXIT_OK) {
        code = print(log, &answer);
    }
    tl_answer_free(&answer);
    return code;
}

void
tl_filter_say_empty(const struct tl_log *log, const char *what, const struct tl_book *book)
{
    uint64_t first_ms = 0;
    uint64_t last_ms = 0;
    char first[TL_TIME_CAP];
    char last[TL_TIME_CAP];
    for (size_t i = 0; i < book->word_count; i++) {
        uint64_t wall_ms = book->word[i].stated.wall_ms;
        first_ms = i == 0 || wall_ms < first_ms ? wall_ms : first_ms;
        last_ms = wall_ms > last_ms ? wall_ms : last_ms;
    }
    if (book->word_count == 0) {
        (void)fprintf(
            stderr, "trapline log %s: no %s; the record has no words%s\n", log->name, what,
            tl_log_given(log, TL_LOG_FROM) || tl_log_given(log, TL_LOG_TO) ? " of that time"
                                                                           : " yet");
        return;
    }
    (void)fprintf(stderr, "trapline log %s: no %s found; the record has words from %s to %s\n",
                  log->name, what, tl_time_text(first_ms, first), tl_time_text(last_ms, last));
}

enum tl_exit
tl_log_print(struct tl_log *log, const struct tl_table *table, bool wide)
{
    bool good = false;
    if (tl_log_given(log, TL_LOG_JSON)) {
        json_t *list = tl_table_json(table);
        good =
            tl_log_json_print(list != NULL ? json_pack("{s:o}", table->key, list) : NULL, stdout);
    } else if (tl_log_given(log, TL_LOG_CSV)) {
        good = tl_table_print_csv(table, stdout);
    } else {
        good = tl_table_print(table, wide, stdout);
    }
    return good ? TL_EXIT_OK
                : tl_log_refuse(log, TL_EXIT_FAILED, "%s could not be written", table->key);
}
