/* SPDX-License-Identifier: Apache-2.0 */
/* step.h - one judgement of what is held now: the same for a validator and for replay. */
#ifndef TL_CORE_JUDGE_STEP_H
#define TL_CORE_JUDGE_STEP_H

#include "broker/core/judge/judge.h"

struct tl_stepped {
    bool news; /* causes, alerts or the current event are others than before */
    bool edge; /* READY has gone */
};

/* Judge, with all that follows from what is held and from the time. Publishes nothing. */
struct tl_stepped tl_step(struct tl_judge *judge, uint64_t now_ms);

#endif
