/* SPDX-License-Identifier: Apache-2.0 */
/* ask.c - see ask.h. */
#include "broker/core/rules/ask.h"

#include <string.h>

#include "broker/core/rules/check.h"

static void
add_setting(struct tl_ask *ask, uint32_t set_lb)
{
    uint32_t at = 0;
    while (at < ask->setting_count && ask->setting_lb[at] < set_lb) {
        at++;
    }
    bool there = at < ask->setting_count && ask->setting_lb[at] == set_lb;
    if (set_lb == 0 || there || ask->setting_count == TL_WOULDS_MAX) {
        return;
    }
    memmove(&ask->setting_lb[at + 1], &ask->setting_lb[at],
            (ask->setting_count - at) * sizeof ask->setting_lb[0]);
    ask->setting_lb[at] = set_lb;
    ask->setting_count++;
}

/* Whatever stands on the selectors and their repeaters, for this event or not. */
static void
add_settings(const struct tl_check *check, struct tl_ask *ask)
{
    const struct tl_gear *gear = &check->fold->config->gear;
    const struct tl_told *reader =
        tl_fold_told_const(check->fold, check->fold->config->repeater_reader);
    add_setting(ask, check->current->order.weight_lb);
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        uint32_t unit = gear->engine[i].unit;
        const struct tl_told *told = tl_told_of(check->fold, TL_STATION_ENGINE, unit);
        const struct tl_held *set = tl_known(check, told, TL_DATUM_SET, 0);
        const struct tl_held *repeater = tl_known(check, reader, TL_DATUM_REPEATER, unit);
        add_setting(ask, set != NULL ? set->datum.as.set_lb : 0);
        add_setting(ask, repeater != NULL ? repeater->datum.as.repeater_lb : 0);
    }
}

static void
add_aid(const struct tl_check *check, struct tl_ask *ask)
{
    const struct tl_told *told = tl_told_of(check->fold, TL_STATION_AID, 0);
    const struct tl_held *held = tl_said(check, told, TL_DATUM_AID, 0);
    if (held != NULL && held->datum.as.aid.state == TL_AID_WORKING) {
        const struct tl_aid *aid = &held->datum.as.aid;
        memcpy(ask->aid_type, aid->type, TL_TYPE_CAP);
        ask->angle_deg_x100 = aid->angle_deg_x100;
        ask->target_wire = aid->target_wire;
    }
}

/* Whole knots, the worse way: 24.9 kn of headwind count as 24. */
static int32_t
less_headwind(int32_t headwind_kt_x10)
{
    int32_t whole = headwind_kt_x10 / 10;
    return -(headwind_kt_x10 % 10 < 0 ? whole - 1 : whole);
}

static void
add_sea(const struct tl_check *check, struct tl_ask *ask)
{
    const struct tl_wind *wind = tl_wind_of(check->fold, check->now_ms);
    const struct tl_motion *motion = tl_motion_of(check->fold, check->now_ms);
    if (wind != NULL && wind->state == TL_WIND_KNOWN) {
        ask->less_headwind_kt = less_headwind(wind->headwind_kt_x10);
    }
    if (motion != NULL && motion->pitch_deg_x10.known) {
        int32_t pitch = motion->pitch_deg_x10.value;
        ask->pitch_deg_x10 = pitch < 0 ? -pitch : pitch;
    }
}

void
tl_ask_fill(const struct tl_check *check, struct tl_ask *ask)
{
    const struct tl_told *approach = NULL;
    const struct tl_held *inbound = tl_inbound_of_current(check, &approach);
    memset(ask, 0, sizeof *ask);
    ask->less_headwind_kt = TL_SEA_UNKNOWN;
    ask->pitch_deg_x10 = TL_SEA_UNKNOWN;
    if (check->current == NULL || check->type == NULL) {
        return;
    }
    ask->event = check->current->event;
    memcpy(ask->type, check->current->order.type, TL_TYPE_CAP);
    ask->barricade = check->current->order.barricade;
    bool its_own =
        inbound != NULL && strncmp(inbound->datum.as.inbound.type, ask->type, TL_TYPE_CAP) == 0;
    ask->weight_lb = its_own ? inbound->datum.as.inbound.weight_lb : 0;
    add_settings(check, ask);
    add_aid(check, ask);
    add_sea(check, ask);
}

bool
tl_ask_same_words(const struct tl_ask *a, const struct tl_ask *b)
{
    return tl_event_equal(a->event, b->event) && strncmp(a->type, b->type, TL_TYPE_CAP) == 0 &&
           a->barricade == b->barricade && a->weight_lb == b->weight_lb &&
           a->setting_count == b->setting_count &&
           memcmp(a->setting_lb, b->setting_lb, sizeof a->setting_lb) == 0 &&
           strncmp(a->aid_type, b->aid_type, TL_TYPE_CAP) == 0 &&
           a->angle_deg_x100 == b->angle_deg_x100 && a->target_wire == b->target_wire;
}

bool
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): what is, then what it is held against */
tl_ask_sea_worse(const struct tl_ask *now, const struct tl_ask *counted)
{
    return now->less_headwind_kt > counted->less_headwind_kt ||
           now->pitch_deg_x10 > counted->pitch_deg_x10;
}

void
tl_ask_worst_sea(struct tl_ask *into, const struct tl_ask *other)
{
    if (other->less_headwind_kt > into->less_headwind_kt) {
        into->less_headwind_kt = other->less_headwind_kt;
    }
    if (other->pitch_deg_x10 > into->pitch_deg_x10) {
        into->pitch_deg_x10 = other->pitch_deg_x10;
    }
}

const struct tl_would *
tl_would_at(const struct tl_predicted_arrest *arrest, uint32_t set_lb)
{
    for (uint32_t i = 0; arrest->known && i < arrest->would_count; i++) {
        if (arrest->would[i].set_lb == set_lb && set_lb != 0) {
            return &arrest->would[i];
        }
    }
    return NULL;
}
