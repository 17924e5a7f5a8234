/* SPDX-License-Identifier: Apache-2.0 */
/*
 * judged.h - what a validator says for the record of each input that it took.
 *
 * Invariants, which replay relies on:
 *  1. Each input that changed what is held is told, in the order in which it was taken, with the
 *     own time at which it was taken.
 *  2. The last input of a judgement carries its outcome; those before it were judged with it. So a
 *     row waits until its judgement is made, and a newer row sends it on without one.
 *  3. What beside the reports is read by a judgement (buses, recorder, other validators, notices,
 *     two programs with one key) is told by comparing it with what has been told: no way in is
 *     left out.
 *  4. A judgement that changed the outcome or what is held without an input is told as TIME.
 *  5. A beat of the bridge whose readings have changed nothing yet is told before the next row, so
 *     that what is judged there has the readings that were judged.
 *  6. While a recorder is heard, all that is held is told again and again (BASE): a record may
 *     begin there.
 */
#ifndef TL_CORE_JUDGE_JUDGED_H
#define TL_CORE_JUDGE_JUDGED_H

#include "broker/core/picture/fold.h"
#include "broker/core/rules/decide.h"

struct tl_judge;

struct tl_judged_book {
    uint64_t sequence;
    bool waits; /* the row below is not sent yet */
    struct tl_judged row;
    bool sea_waits; /* a beat of the bridge, see 5 */
    struct tl_judged sea;
    struct tl_judgement told; /* the last outcome told, or judged the same */
    struct tl_outside seen;   /* of what is outside, what has been told; see 3 */
    uint32_t seen_twins;      /* bits of place */
    uint64_t recorder_ms;     /* the last beat of one; 0 = none yet */
    uint64_t base_ms;         /* when the next base is due; 0 = no recorder is heard */
    uint64_t base_gap_ms;
};

void tl_judged_init(struct tl_judge *judge);

/* An input is taken. `row` without outcome. */
void tl_judged_take(struct tl_judge *judge, const struct tl_judged *row);
/* Of a station: the incarnation is that which is held. */
void tl_judged_station(struct tl_judge *judge, const struct tl_told *told, enum tl_judged_kind kind,
                       uint64_t sequence, uint64_t now_ms);
/* The same of a change, with what became of it. */
void tl_judged_change(struct tl_judge *judge, const struct tl_envelope *envelope,
                      const struct tl_folded *folded, uint64_t now_ms);
/* A beat: told when it changed what is held, else kept as 5 says; HEARD has been told. */
void tl_judged_beat(struct tl_judge *judge, const struct tl_envelope *envelope,
                    const struct tl_folded *folded, uint64_t now_ms);

/* Before a judgement: what is outside and has not been told. */
void tl_judged_outside(struct tl_judge *judge, uint64_t now_ms);
/* After it. */
void tl_judged_outcome(struct tl_judge *judge, uint64_t now_ms);

/* A beat of a recorder has come. */
void tl_judged_recorder(struct tl_judge *judge, uint64_t now_ms);
/* A base, when it is due. The judgement of this moment has been made. */
void tl_judged_base(struct tl_judge *judge, uint64_t now_ms);

#endif
