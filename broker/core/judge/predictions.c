/* SPDX-License-Identifier: Apache-2.0 */
/* predictions.c - see predictions.h. */
#include "broker/core/judge/predictions.h"

#include <string.h>

#include "broker/core/rules/check.h"

void
tl_predictions_init(struct tl_predictions *predictions, const struct tl_config *config)
{
    size_t count = 0;
    const struct tl_rule_row *rows = tl_rule_rows(&count);
    memset(predictions, 0, sizeof *predictions);
    for (size_t i = 0; i < count; i++) {
        bool on = rows[i].computed && !config->ship.rule_off[rows[i].rule];
        predictions->wanted = predictions->wanted || on;
    }
}

/* What was not known is: there is no reason to wait for a better sea. */
static bool
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): what was asked, then what is */
is_known_again(const struct tl_ask *asked, const struct tl_ask *now)
{
    bool wind =
        asked->less_headwind_kt == TL_SEA_UNKNOWN && now->less_headwind_kt != TL_SEA_UNKNOWN;
    bool pitch = asked->pitch_deg_x10 == TL_SEA_UNKNOWN && now->pitch_deg_x10 != TL_SEA_UNKNOWN;
    return wind || pitch;
}

bool
tl_predictions_ask(struct tl_predictions *predictions, const struct tl_ask *ask, uint64_t now_ms)
{
    struct tl_ask question = *ask;
    if (!predictions->wanted || !tl_event_is(ask->event)) {
        return false;
    }
    bool worse = tl_ask_sea_worse(ask, &predictions->asked);
    bool at_once = !tl_ask_same_words(ask, &predictions->asked) || worse ||
                   is_known_again(&predictions->asked, ask);
    if (!tl_event_equal(ask->event, predictions->asked.event)) {
        predictions->worse_ms = 0;
    } else if (worse && predictions->worse_ms == 0) {
        predictions->worse_ms = now_ms;
    }
    if (!at_once) {
        if (predictions->window_ms == 0) {
            predictions->window_ms = now_ms;
            predictions->worst = *ask;
        }
        tl_ask_worst_sea(&predictions->worst, ask);
        if (now_ms - predictions->window_ms < TL_SEA_BETTER_MS) {
            return false;
        }
        question = predictions->worst;
    }
    predictions->window_ms = 0;
    bool news = at_once || tl_ask_sea_worse(&predictions->asked, &question);
    predictions->asked = question;
    return news;
}

/* The sea that the present prediction counts on; what it has not computed counts on nothing. */
static struct tl_ask
counted_sea(const struct tl_predicted *predicted)
{
    return (struct tl_ask){
        .less_headwind_kt =
            predicted->arrest.known ? -predicted->arrest.headwind_kt_x10 / 10 : TL_SEA_UNKNOWN,
        .pitch_deg_x10 =
            predicted->ramp.known ? (int32_t)predicted->ramp.pitch_deg_x10 : TL_SEA_UNKNOWN};
}

/* The sea is worse than the prediction for this event counts on. */
static bool
is_late(const struct tl_predicted *predicted, const struct tl_ask *ask)
{
    struct tl_ask counted = counted_sea(predicted);
    return tl_event_equal(predicted->event, ask->event) && tl_ask_sea_worse(ask, &counted);
}

void
tl_predictions_take(struct tl_predictions *predictions, struct tl_outside *outside,
                    const struct tl_predicted *predicted, const struct tl_ask *now)
{
    outside->predicted = *predicted;
    if (!is_late(predicted, now)) {
        outside->sea_late_ms = 0;
        predictions->worse_ms = 0;
    } else if (outside->sea_late_ms == 0) {
        outside->sea_late_ms = predictions->worse_ms;
    }
}

bool
tl_predictions_date_sea(struct tl_outside *outside, const struct tl_ask *ask, uint64_t now_ms)
{
    bool late = is_late(&outside->predicted, ask);
    if (late == (outside->sea_late_ms != 0)) {
        return false;
    }
    outside->sea_late_ms = late ? now_ms : 0;
    return true;
}

static void
keep(struct tl_outside *outside, const struct tl_expected *expected)
{
    uint32_t at = 0;
    while (at < outside->expected_count && outside->expected[at].unit != expected->unit) {
        at++;
    }
    if (at == TL_ENGINES_MAX) {
        return;
    }
    outside->expected[at] = *expected;
    outside->expected_count += at == outside->expected_count ? 1 : 0;
}

bool
tl_predictions_keep_traps(struct tl_outside *outside, const struct tl_fold *fold)
{
    const struct tl_gear *gear = &fold->config->gear;
    const struct tl_predicted *predicted = &outside->predicted;
    bool any = false;
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        uint32_t unit = gear->engine[i].unit;
        struct tl_event trap = fold->list.trap[i];
        const struct tl_told *told = tl_told_of(fold, TL_STATION_ENGINE, unit);
        const struct tl_held *set = told != NULL ? tl_told_held(told, TL_DATUM_SET, 0) : NULL;
        bool asked = tl_event_is(trap) && tl_event_equal(trap, predicted->event) &&
                     tl_expected_of(outside, unit, trap) == NULL;
        const struct tl_would *would = asked && set != NULL && set->datum.known
                                           ? tl_would_at(&predicted->arrest, set->datum.as.set_lb)
                                           : NULL;
        if (would != NULL) {
            keep(outside, &(struct tl_expected){
                              .unit = unit, .event = trap, .ram_in_x10 = would->expect_in_x10});
            any = true;
        }
    }
    return any;
}

bool
tl_predictions_adopt(struct tl_outside *outside, const struct tl_fold *fold,
                     const struct tl_expected *expected)
{
    const struct tl_gear *gear = &fold->config->gear;
    const struct tl_told *told = tl_told_of(fold, TL_STATION_ENGINE, expected->unit);
    const struct tl_held *arrest = told != NULL ? tl_told_held(told, TL_DATUM_ARREST, 0) : NULL;
    bool of_arrest = arrest != NULL && arrest->datum.known &&
                     tl_event_equal(arrest->datum.as.arrest.event, expected->event);
    bool of_trap = false;
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        of_trap = of_trap || (gear->engine[i].unit == expected->unit &&
                              tl_event_equal(fold->list.trap[i], expected->event));
    }
    if ((!of_arrest && !of_trap) || !tl_event_is(expected->event) ||
        tl_expected_of(outside, expected->unit, expected->event) != NULL) {
        return false;
    }
    keep(outside, expected);
    return true;
}
