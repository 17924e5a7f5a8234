/* SPDX-License-Identifier: Apache-2.0 */
/* publish.h - how the judge, and a replay, lay out what they send. */
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
/* What was taken; see judged.h. */
void tl_publish_judged(struct tl_judge *judge, const struct tl_judged *row);

#endif
