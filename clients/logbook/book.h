/* SPDX-License-Identifier: Apache-2.0 */
/*
 * book.h - a record in memory: every row that a question needs, in the order of its arrival.
 *
 * Filled by record.h, asked by the folds of this room, which are pure but for the heap. Texts have
 * passed tl_text_plain. What the record does not hold is 0, empty or not `known`, and no fold may
 * take that for a value.
 *
 * Times are Unix ms of whoever set them: wall_ms of a word is its station's clock, of a verdict and
 * an alert the validator's, of a gap the recorder's. Nothing but the order of arrival orders rows of
 * two nodes; the questions that subtract clocks of two hosts say so.
 */
#ifndef CLIENTS_LOGBOOK_BOOK_H
#define CLIENTS_LOGBOOK_BOOK_H

#include "proto/base/err.h"
#include "proto/vocab/message.h"
#include "proto/vocab/rules.h"

enum {
    TL_BOOK_WORDS_MAX = 2000000, /* of one reading: years of flying */
    TL_BOOK_ROWS_MAX = 2000000,  /* of verdicts, alerts, ... each */
    TL_RULE_NAME_CAP = 48,
    TL_STATE_NAME_CAP = 32
};

/* Where a row stands in the sequence of its node. */
struct tl_stated {
    char node[TL_ID_CAP];
    uint64_t incarnation, sequence, wall_ms;
};

/* One change of a station; by voice when datum.voice_for is not empty. */
struct tl_word_row {
    struct tl_stated stated; /* by whom it was said */
    struct tl_event event;   /* that its message spoke of */
    struct tl_datum datum;
    char *text;                      /* as people read it */
    char refused[TL_STATE_NAME_CAP]; /* reason of the first validator that refused it; else empty */
    char refused_by[TL_ID_CAP];
};

struct tl_verdict_row {
    struct tl_stated stated; /* of the validator */
    struct tl_event event;
    bool ready, drill;
    uint32_t rule;               /* of the first cause; 0 = none, or a name not known here */
    char name[TL_RULE_NAME_CAP]; /* of that rule */
    char station[TL_ID_CAP];
    char state[TL_STATE_NAME_CAP];
    char text[TL_TEXT_CAP];
};

struct tl_alert_row {
    struct tl_stated stated; /* of the validator; sequence of the set */
    bool raised;             /* else gone */
    uint32_t rule;
    char name[TL_RULE_NAME_CAP];
    char station[TL_ID_CAP];
    char severity[TL_STATE_NAME_CAP];
    struct tl_event event;
    struct tl_subject subject;
};

/* Wind in a beat of the bridge that the record holds: few are, a validator must have named it. */
struct tl_wind_row {
    struct tl_stated stated; /* of the bridge */
    int32_t headwind_kt_x10, crosswind_kt_x10;
};

/* A validator lost a station, or heard it again. Its clock is set to the stations' by their words. */
struct tl_loss_row {
    struct tl_stated stated; /* of the validator */
    char node[TL_ID_CAP];
    bool lost; /* else heard */
};

struct tl_gap_row {
    char node[TL_ID_CAP];
    uint64_t incarnation, first, last, wall_ms;
};

/* A figure that may be missing. */
struct tl_figure_read {
    bool known;
    int64_t value;
};
/* Of one event the newest prediction of an arrest, at one setting; set_lb 0 = no setting. */
struct tl_predicted_row {
    struct tl_event event;
    struct tl_figure_read headwind_kt_x10, engaging_kt_x10, energy_kftlb, margin_percent;
    uint32_t set_lb;
    struct tl_figure_read runout_ft_x10, expect_in_x10, end_kt_x10;
};

struct tl_book {
    int schema;
    size_t word_count, word_cap;
    struct tl_word_row *word;
    size_t verdict_count, verdict_cap;
    struct tl_verdict_row *verdict;
    size_t alert_count, alert_cap;
    struct tl_alert_row *alert;
    size_t wind_count, wind_cap;
    struct tl_wind_row *wind;
    size_t loss_count, loss_cap;
    struct tl_loss_row *loss;
    size_t gap_count, gap_cap;
    struct tl_gap_row *gap;
    size_t predicted_count, predicted_cap;
    struct tl_predicted_row *predicted;
};

/*
 * Room for one more, zeroed; it counts from the call on. NULL when memory or TL_BOOK_*_MAX is out:
 * *err says which.
 */
struct tl_word_row *tl_book_word(struct tl_book *book, enum tl_err *err);
struct tl_verdict_row *tl_book_verdict(struct tl_book *book, enum tl_err *err);
struct tl_alert_row *tl_book_alert(struct tl_book *book, enum tl_err *err);
struct tl_wind_row *tl_book_wind(struct tl_book *book, enum tl_err *err);
struct tl_loss_row *tl_book_loss(struct tl_book *book, enum tl_err *err);
struct tl_gap_row *tl_book_gap(struct tl_book *book, enum tl_err *err);
struct tl_predicted_row *tl_book_predicted(struct tl_book *book, enum tl_err *err);
void tl_book_free(struct tl_book *book);

/* The recovery that began last, 0 when there is none. */
uint64_t tl_book_newest_recovery(const struct tl_book *book);

/* Whose word it is: by voice, the station that it was said for. */
const char *tl_word_station(const struct tl_word_row *word);
/* No validator refused it. */
bool tl_word_counts(const struct tl_word_row *word);

#endif
