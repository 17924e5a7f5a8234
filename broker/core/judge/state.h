/* SPDX-License-Identifier: Apache-2.0 */
/*
 * state.h - what a judgement stands on beside the moment: digested, written and read field by field.
 *
 * Two that hold the same, and take the same inputs at the same times, judge the same for ever. So
 * the digest is what replay compares, a change of it without an input is told as TIME, and what is
 * written of one validator is where a record may begin.
 *
 * Not of it: freshness and beats' numbers (LOST, HEARD and SEEN say what came of them), receipts,
 * what has been published, and the mechanics' questions (their answers are inputs). The readings
 * of wind and motion are written, and not digested: each comes with a beat that is named.
 *
 * The written form is of this program's version alone: its first byte says of which.
 */
#ifndef TL_CORE_JUDGE_STATE_H
#define TL_CORE_JUDGE_STATE_H

#include "broker/core/judge/judge.h"
#include "proto/base/err.h"

enum {
    TL_STATE_VERSION = 3
};

/* `held`: of all but the causes. Nothing in the judge is changed. */
void tl_state_digest(struct tl_judge *judge, uint8_t held[TL_DATA_DIGEST_LEN]);

/* Over all stations: incarnation, applied, digest of the data. */
void tl_state_inputs(const struct tl_judge *judge, uint8_t inputs[TL_DATA_DIGEST_LEN]);

/* Of each cause in its order: rule, station, state, subject. */
void tl_state_causes(const struct tl_decision *decision, uint8_t causes[TL_DATA_DIGEST_LEN]);

/* The written form from byte `from` on, at most `cap` bytes of it; returns how long it is in all. */
size_t tl_state_write(struct tl_judge *judge, size_t from, uint8_t *bytes, size_t cap);

/*
 * Take the written form; the judge has been initialised with the configuration to judge by.
 * TL_REFUSED: not of this version, cut, not such a state, or of other stations. The judge is then
 * of no use until it is initialised again.
 */
TL_MUST_USE enum tl_err tl_state_read(struct tl_judge *judge, const uint8_t *bytes, size_t len);

#endif
