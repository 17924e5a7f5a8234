/* SPDX-License-Identifier: Apache-2.0 */
/*
 * judge.h - the machine of a validator: messages and time in; verdicts, pictures, alerts, receipts
 * and judged inputs out.
 *
 * Pure: a port takes what is published. The shell feeds verified messages and calls
 * tl_judge_tend at least every 20 ms.
 *
 *   each 200 ms        a verdict that is a tick
 *   READY -> NOT READY a verdict at once
 *   any other change   a verdict, at most one per 20 ms; a picture and alerts, 50 ms apart
 *   each second        a picture and alerts
 *   each beat, change  a receipt at once
 *   what was taken     a word for the record, when it has been judged (judged.h)
 *
 * Invariant: a verdict names the number of the picture that it stands on; that picture follows.
 */
#ifndef TL_CORE_JUDGE_JUDGE_H
#define TL_CORE_JUDGE_JUDGE_H

#include "broker/core/alerts/alerts.h"
#include "broker/core/judge/judged.h"
#include "broker/core/judge/peers.h"
#include "broker/core/judge/predictions.h"

struct tl_judge {
    const struct tl_config *config;
    char me[TL_ID_CAP];
    uint64_t incarnation;
    struct tl_port port;
    struct tl_fold fold;
    struct tl_outside outside;
    struct tl_peers peers;
    struct tl_decision decision;
    struct tl_alert_book alerts;
    /* sequences, one a kind of message */
    uint64_t verdict_sequence, picture_sequence, alert_sequence;
    uint64_t viewer_receipt_sequence;
    uint64_t tick;
    uint64_t next_tick_ms;
    uint64_t last_verdict_ms;
    uint64_t recorder_ms; /* a recorder heard, or the start */
    bool verdict_wanted;
    uint64_t picture_number;
    uint64_t picture_changes;  /* fold.changes when the number was given */
    uint64_t picture_readings; /* fold.readings in the last picture */
    uint64_t last_picture_ms;
    bool picture_wanted;
    struct tl_envelope scratch;
    struct tl_judged_book judged;
    /* the mechanics: asked by a call that must return at once; NULL = there are none */
    struct tl_predictions predictions;
    tl_predict_fn *predict;
    void *predict_ctx;
};

/* The structure is large: allocate it once. `config` is borrowed. */
void tl_judge_init(struct tl_judge *judge, const struct tl_config *config, const char *me,
                   uint64_t incarnation, uint64_t now_ms);

/*
 * A verified message. `digest` is tl_change_digest of a change, else 0. What is not for a
 * validator is ignored.
 */
void tl_judge_message(struct tl_judge *judge, const struct tl_envelope *envelope, uint64_t digest,
                      uint64_t now_ms);

/* A frame that claims to be of that node was dropped before it became a message. */
void tl_judge_dropped(struct tl_judge *judge, const char *node, enum tl_refusal reason,
                      uint64_t now_ms);

/* So, and that node has signed it: it is of that schema, which is not known here. */
void tl_judge_newer(struct tl_judge *judge, const char *node, uint32_t schema, uint64_t now_ms);

/* The shell's word on a bus: down, or behind the other. */
void tl_judge_bus(struct tl_judge *judge, const char *bus, bool degraded);

/* The mechanics' answer to what they were last asked, or to something older. */
void tl_judge_predicted(struct tl_judge *judge, const struct tl_predicted *predicted,
                        uint64_t now_ms);

/* Timers: ticks, ages, pending publications. */
void tl_judge_tend(struct tl_judge *judge, uint64_t now_ms);

/* Milliseconds until tl_judge_tend is due again, at most 20. */
uint32_t tl_judge_wait_ms(const struct tl_judge *judge, uint64_t now_ms);

#endif
