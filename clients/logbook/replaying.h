/* SPDX-License-Identifier: Apache-2.0 */
/*
 * replaying.h - a record judged again: every life of a validator, what was the same, what differed
 * first, and what could not be checked.
 */
#ifndef CLIENTS_LOGBOOK_REPLAYING_H
#define CLIENTS_LOGBOOK_REPLAYING_H

#include "clients/logbook/judged_rows.h"
#include "proto/vocab/config.h"

enum {
    TL_UNCHECKED_MAX = 16, /* stretches that are told one by one */
    TL_LACK_TEXT_CAP = 128,
    TL_DIFFERS_TEXT_CAP = 128
};

/* A stretch of judgements that were not compared. */
struct tl_unchecked {
    struct tl_replay_lacking lacking;
    uint64_t from_ms, to_ms; /* the validator's UTC clock */
    uint64_t judgements;
};

/* What came of one life. */
struct tl_replayed {
    struct tl_judged_life life;
    uint64_t rows, bases, checked, equal, unchecked;
    bool other_configuration; /* it judged by another than this: nothing was compared */
    uint32_t stretch_count;   /* also those that are not kept */
    struct tl_unchecked stretch[TL_UNCHECKED_MAX];
    bool differs; /* then the first of them: */
    uint64_t differs_ms, differs_sequence;
    unsigned how;
    struct tl_judged input;
    struct tl_event event_then, event_now;
    enum tl_word word_now;
    struct tl_cause first_now; /* rule 0 = none */
};

struct tl_replaying {
    const struct tl_config *config; /* to judge by */
    bool what_if;
    uint64_t until_ms; /* the validator's UTC clock; UINT64_MAX = all */
    void *ctx;
    /* Called after each row; may be NULL. */
    void (*step)(void *ctx, struct tl_replay *replay, const struct tl_replay_row *row,
                 const struct tl_replay_step *step, uint64_t wall_ms);
};

/*
 * Judge one life again. `replay` is large and the caller's; it is left as it stands after the last
 * row. TL_IO: tl_judged_rows_why says it.
 */
TL_MUST_USE enum tl_err tl_replay_life(const struct tl_replaying *how, struct tl_judged_rows *rows,
                                       const struct tl_judged_life *life, struct tl_replay *replay,
                                       struct tl_replayed *out);

/* "no base yet", "rows 5 to 7 are not in the record". Returns dst. */
const char *tl_lack_text(const struct tl_replay_lacking *lacking, char dst[TL_LACK_TEXT_CAP]);
/* "word, causes". Returns dst. */
const char *tl_differs_text(unsigned differs, char dst[TL_DIFFERS_TEXT_CAP]);
/* The input in words: "applied engine-2 14", "time". Returns dst. */
const char *tl_input_text(const struct tl_judged *judged, char dst[TL_LACK_TEXT_CAP]);

#endif
