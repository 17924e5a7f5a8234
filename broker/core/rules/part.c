/* SPDX-License-Identifier: Apache-2.0 */
/* part.c - which engines the current pass rests on, and what each is to be set to. See check.h. */
#include "broker/core/rules/check.h"

bool
tl_is_barricade_pass(const struct tl_check *check)
{
    return check->current != NULL && check->current->order.barricade;
}

/* A room that has not said is taken to be in use: that asks for more, and is a cause itself. */
bool
tl_is_in_service(const struct tl_fold *fold, uint64_t now_ms, const struct tl_engine_gear *engine)
{
    const struct tl_told *told = tl_told_of(fold, TL_STATION_ENGINE, engine->unit);
    const struct tl_held *held = tl_word(fold, now_ms, told, TL_DATUM_SERVICE, 0);
    bool out = held != NULL && held->datum.known && held->datum.as.service.state == TL_SERVICE_OUT;
    return engine->in_service && !out;
}

bool
tl_takes_part(const struct tl_check *check, const struct tl_engine_gear *engine)
{
    const struct tl_barricade_gear *barricade = &check->fold->config->gear.barricade;
    bool stripped = tl_is_barricade_pass(check) && engine->unit != barricade->unit &&
                    (barricade->strip >> engine->wire & 1u) != 0;
    return check->current != NULL && !stripped &&
           tl_is_in_service(check->fold, check->now_ms, engine);
}

uint32_t
tl_setting_needed(const struct tl_check *check, uint32_t unit)
{
    bool barricade =
        tl_is_barricade_pass(check) && unit == check->fold->config->gear.barricade.unit;
    return barricade ? check->type->barricade_setting_lb : check->type->setting_lb;
}

void
tl_each_engine(struct tl_check *check, tl_engine_fn *fn)
{
    const struct tl_gear *gear = &check->fold->config->gear;
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        if (tl_takes_part(check, &gear->engine[i])) {
            fn(check, gear->engine[i].unit);
        }
    }
}
