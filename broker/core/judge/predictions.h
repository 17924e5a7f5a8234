/* SPDX-License-Identifier: Apache-2.0 */
/*
 * predictions.h - when the judge asks the mechanics, and what it keeps of their answers.
 *
 *   words changed, or the sea grew worse than counted on   asked at once; also when a wind or a pitch
 *                                                          that was not known is known again
 *   better through a whole window of TL_SEA_BETTER_MS      asked for the worst of that window
 *
 * So wind and pitch are held at their worst of the last seconds, and no answer is needed for each
 * wave. Until an answer for the present inputs is there, its rules are pending.
 *
 * At a trap, the ram travel that was computed for that engine's setting is kept, to be compared
 * with what its room will read. A validator that was not there takes it from the other's picture.
 */
#ifndef TL_CORE_JUDGE_PREDICTIONS_H
#define TL_CORE_JUDGE_PREDICTIONS_H

#include "broker/core/picture/fold.h"
#include "broker/core/rules/decide.h"

typedef void tl_predict_fn(void *ctx, const struct tl_ask *ask);

struct tl_predictions {
    bool wanted;         /* a rule on a computed figure is on */
    struct tl_ask asked; /* the newest question */
    struct tl_ask worst; /* sea of the present window */
    uint64_t window_ms;  /* when it began; 0 = there is none */
    uint64_t worse_ms; /* when the sea first grew worse than an answer not yet replaced; 0 = not */
};

void tl_predictions_init(struct tl_predictions *predictions, const struct tl_config *config);

/* True when that should be asked now: it is then what has been asked. */
bool tl_predictions_ask(struct tl_predictions *predictions, const struct tl_ask *ask,
                        uint64_t now_ms);

/*
 * Take an answer. One to an older question may count on a sea that is long gone: it is late from the
 * moment that the sea grew worse, not from now.
 */
void tl_predictions_take(struct tl_predictions *predictions, struct tl_outside *outside,
                         const struct tl_predicted *predicted, const struct tl_ask *now);

/*
 * Date the moment since which the sea is worse than the prediction counts on. True when that
 * changed: the picture must be judged again.
 */
bool tl_predictions_date_sea(struct tl_outside *outside, const struct tl_ask *ask, uint64_t now_ms);

/* Keep the computed travel of every new trap. True when one was kept. */
bool tl_predictions_keep_traps(struct tl_outside *outside, const struct tl_fold *fold);

/* Whether that is of a trap here for which nothing was computed; it is then kept. */
bool tl_predictions_adopt(struct tl_outside *outside, const struct tl_fold *fold,
                          const struct tl_expected *expected);

#endif
