/* SPDX-License-Identifier: Apache-2.0 */
/*
 * filter.h - which part of a record is asked for, and the reading of it: the same for every verb
 * that asks.
 *
 * Times are those of the clock of whoever said the thing that is asked for; both ends are in. A
 * time of day is one of the day on which the newest recovery of the record began, and it is said
 * which. With whole times rows more than a day outside them are not read at all.
 */
#ifndef CLIENTS_LOGBOOK_FILTER_H
#define CLIENTS_LOGBOOK_FILTER_H

#include "clients/logbook/command.h"
#include "clients/logbook/json.h"
#include "clients/logbook/passes.h"

/* Rows of a verb that asks, after TL_LOG_COMMON. */
enum tl_log_ask_option {
    TL_LOG_CSV = TL_LOG_OWN,
    TL_LOG_FROM,
    TL_LOG_TO,
    TL_LOG_EVENT,
    TL_LOG_AIRCRAFT,
    TL_LOG_TYPE,
    TL_LOG_STATION,
    TL_LOG_ASK_OWN /* first of the verb's own */
};
#define TL_LOG_ASK                                                                                 \
    TL_LOG_COMMON, [TL_LOG_CSV] = {"--csv",                                                        \
                                   TL_OPTION_FLAG,                                                 \
                                   0,                                                              \
                                   0,                                                              \
                                   false,                                                          \
                                   "",                                                             \
                                   "all columns as RFC 4180 has it"},                              \
                   [TL_LOG_FROM] = {"--from",                                                      \
                                    TL_OPTION_WORD,                                                \
                                    0,                                                             \
                                    0,                                                             \
                                    false,                                                         \
                                    "TIME",                                                        \
                                    "from then on: 2031-04-05T06:07:08Z, or HH:MM[:SS] UTC of "    \
                                    "the day of the newest recovery"},                             \
                   [TL_LOG_TO] = {"--to", TL_OPTION_WORD, 0, 0, false, "TIME", "until then"},      \
                   [TL_LOG_EVENT] = {"--event",                                                    \
                                     TL_OPTION_WORD,                                               \
                                     0,                                                            \
                                     0,                                                            \
                                     false,                                                        \
                                     "EVENT",                                                      \
                                     "one pass: RECOVERY:PASS, or PASS of the newest recovery"},   \
                   [TL_LOG_AIRCRAFT] = {"--aircraft", TL_OPTION_WHOLE, 1, 9999, false,             \
                                        "",           "side number"},                              \
                   [TL_LOG_TYPE] =                                                                 \
                       {"--type", TL_OPTION_WORD, 0, 0, false, "TYPE", "aircraft type"},           \
                   [TL_LOG_STATION] = {"--station",                                                \
                                       TL_OPTION_WORD,                                             \
                                       0,                                                          \
                                       0,                                                          \
                                       false,                                                      \
                                       "ID",                                                       \
                                       "what that station said, or what concerns it"}

struct tl_filter {
    uint64_t from_ms, to_ms;
    bool has_event;
    struct tl_event event;
    uint32_t side;       /* 0 = any */
    const char *type;    /* NULL = any */
    const char *station; /* NULL = any */
};

/*
 * Find the record, read it, and read the filter's options against it. book: zeroed; freed by the
 * caller whatever is returned.
 */
enum tl_exit tl_log_read(struct tl_log *log, struct tl_book *book, struct tl_filter *filter);

/*
 * Read the time of an option; *wall_ms stays when it is not given. A time of day is one of the day
 * of the newest recovery, and is said on standard error.
 */
enum tl_exit tl_log_read_time(struct tl_log *log, size_t option, const struct tl_book *book,
                              uint64_t *wall_ms);

bool tl_filter_time(const struct tl_filter *filter, uint64_t wall_ms);
bool tl_filter_station(const struct tl_filter *filter, const char *station);
/* Of an event, and of the aircraft that was ordered for it; event pass 0 is none. */
bool tl_filter_event(const struct tl_filter *filter, const struct tl_passes *passes,
                     struct tl_event event);
bool tl_filter_pass(const struct tl_filter *filter, const struct tl_pass *pass);
/* Drop what was not asked for. */
void tl_filter_passes(const struct tl_filter *filter, struct tl_passes *passes);

/* What was found is nothing: say so, and what the record has, on standard error. */
void tl_filter_say_empty(const struct tl_log *log, const char *what, const struct tl_book *book);

/* What a verb has read before it answers: the record, every pass of it, what is asked. */
struct tl_answer {
    struct tl_book book;
    struct tl_passes passes;
    struct tl_filter filter;
};
/* answer: zeroed; freed by the caller whatever is returned. */
enum tl_exit tl_log_read_answer(struct tl_log *log, struct tl_answer *answer);
void tl_answer_free(struct tl_answer *answer);
/* Read, fold the passes, call print, free all. */
enum tl_exit tl_log_answer(struct tl_log *log,
                           enum tl_exit (*print)(struct tl_log *log, struct tl_answer *answer));
/* TL_EXIT_OK, or a refusal that says which fold failed. */
enum tl_exit tl_log_folded(struct tl_log *log, const char *what, enum tl_err err);

/* Print the table as --json ({"what": [...]}), --csv or text. */
enum tl_exit tl_log_print(struct tl_log *log, const struct tl_table *table, bool wide);

#endif
