/* SPDX-License-Identifier: Apache-2.0 */
/*
 * passes.h - the passes of a record: what was ordered, set, read back, and how it ended
 *
 * Pure but for the heap. Accepted words go in as they are read from the file, in the order of their
 * arrival there; of two words of one station with one meaning the later stated one counts.
 */
#ifndef TL_LOGBOOK_PASSES_H
#define TL_LOGBOOK_PASSES_H

#include "proto/base/err.h"
#include "proto/vocab/message.h"

enum {
    TL_PASSES_MAX = 50000, /* of one file: years of flying */
    TL_RULE_NAME_CAP = 48
};

/* Where a word stands in its station's sequence. */
struct tl_stated {
    char node[TL_ID_CAP];
    uint64_t incarnation, sequence, wall_ms;
};

/* One accepted and known change of the record: order, set, repeater or result. */
struct tl_recorded_word {
    struct tl_stated stated;
    struct tl_datum datum;
};

struct tl_recorded_verdict {
    struct tl_event event;
    bool ready;
    char rule[TL_RULE_NAME_CAP]; /* of the first cause, else "" */
    char station[TL_ID_CAP];
    char text[TL_TEXT_CAP];
};

struct tl_weight {
    struct tl_stated stated;
    uint32_t unit; /* of a repeater; a setting is named by its station */
    uint32_t lb;
};

struct tl_pass {
    struct tl_event event;
    struct tl_stated order_stated, result_stated; /* sequence 0 = none */
    struct tl_order order;
    struct tl_result result;
    bool corrected; /* another result was accepted before */
    uint32_t set_count, repeater_count;
    struct tl_weight set[TL_ENGINES_MAX];
    struct tl_weight repeater[TL_ENGINES_MAX];
    struct tl_recorded_verdict verdict; /* the last for the event; pass 0 = none */
};

struct tl_passes {
    size_t count, cap;
    struct tl_pass *pass;
};

/* TL_FULL, TL_NOMEM: the passes so far stay. */
TL_MUST_USE enum tl_err tl_passes_word(struct tl_passes *passes,
                                       const struct tl_recorded_word *word);
/* For a pass that has words; others are left out. */
void tl_passes_verdict(struct tl_passes *passes, const struct tl_recorded_verdict *verdict);
/* By recovery and pass number. Call when everything is in. */
void tl_passes_sort(struct tl_passes *passes);
void tl_passes_free(struct tl_passes *passes);

/* True for a wave-off whose event was last judged NOT READY: `verdict` then holds the cause. */
bool tl_pass_has_cause(const struct tl_pass *pass);
/* When it ended, else when it was ordered; 0 when neither is recorded. */
uint64_t tl_pass_wall_ms(const struct tl_pass *pass);
/* True when there are some and all are of the same weight, which goes to *lb. */
bool tl_weights_agree(const struct tl_weight *weights, uint32_t count, uint32_t *lb);

#endif
