/* SPDX-License-Identifier: Apache-2.0 */
/* publish.h - how the judge lays out what it sends; used by judge.c alone. */
#ifndef TL_CORE_JUDGE_PUBLISH_H
#define TL_CORE_JUDGE_PUBLISH_H

#include "broker/core/judge/judge.h"

void tl_publish_verdict(struct tl_judge *judge, bool is_tick, uint64_t now_ms);
/* The picture, and the alerts that go with it. */
void tl_publish_picture(struct tl_judge *judge, uint64_t now_ms);
/* nonce: sequence of the beat answered, 0 when it answers a change. */
void tl_publish_receipt(struct tl_judge *judge, struct tl_told *told, uint64_t nonce,
                        uint64_t now_ms);
/* To an old incarnation: a newer one is known. */
void tl_publish_old(struct tl_judge *judge, struct tl_told *told,
                    const struct tl_envelope *envelope);
void tl_publish_viewer_receipt(struct tl_judge *judge, const struct tl_envelope *beat,
                               uint64_t now_ms);
void tl_publish_judged(struct tl_judge *judge, const struct tl_told *told, uint64_t sequence,
                       enum tl_judged_kind kind, enum tl_refusal reason, uint64_t now_ms);
/* For replay: the answer of the mechanics that counts from now on; its event has a pass. */
void tl_publish_judged_predicted(struct tl_judge *judge, const struct tl_predicted *predicted,
                                 uint64_t now_ms);
/* The same for a ram travel taken from the picture of the validator `from`. */
void tl_publish_judged_expected(struct tl_judge *judge, const char *from,
                                const struct tl_expected *expected, uint64_t now_ms);

#endif
