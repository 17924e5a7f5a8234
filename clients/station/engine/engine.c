/* SPDX-License-Identifier: Apache-2.0 */
/* engine.c - the engine room: the weight that is set, and the battery position. */
#include <stdio.h>
#include <string.h>

#include "clients/station/command.h"

static void
say_weight(struct tl_asking *asking, uint32_t weight_lb, struct tl_event event)
{
    struct tl_datum *datum = tl_command_add(asking, TL_DATUM_SET, 0);
    datum->as.set_lb = weight_lb;
    tl_state_for(asking, datum, event);
    tl_command_finish(asking);
}

static void
verb_set(struct tl_asking *asking)
{
    struct tl_event event = {0};
    uint32_t weight_lb = 0;
    if (!tl_ask_event(asking, &event)) {
        return;
    }
    if (asking->argc != 1) {
        tl_command_syntax(asking, "set");
        return;
    }
    if (tl_ask_weight(asking, asking->argv[0], &weight_lb)) {
        say_weight(asking, weight_lb, event);
    }
}

/* What the last repeater heard for this engine says; 0 = none. */
static uint32_t
repeater_lb(const struct tl_asking *asking)
{
    for (uint32_t i = 0; asking->picture != NULL && i < asking->picture->station_count; i++) {
        const struct tl_station_state *station = &asking->picture->station[i];
        const struct tl_datum *datum = tl_data_find_const(station->data, station->datum_count,
                                                          TL_DATUM_REPEATER, asking->as->unit);
        if (datum != NULL && datum->known) {
            return datum->as.repeater_lb;
        }
    }
    return 0;
}

/* One word instead of the number, only while nothing differs; the number is in the read-back. */
static void
verb_same(struct tl_asking *asking)
{
    struct tl_event event = {0};
    const struct tl_own *own = tl_outbox_own(&asking->member->outbox, TL_DATUM_SET, 0);
    if (!tl_ask_event(asking, &event)) {
        return;
    }
    const struct tl_listed *listed = tl_listed_pass(asking, event.pass);
    if (asking->argc != 0) {
        tl_command_syntax(asking, "same");
    } else if (asking->config->ship.engine_readback_keyed != 0) {
        tl_command_fail(asking, "this ship keys the weight each time: set WEIGHT");
    } else if (own == NULL || !own->datum.known || listed == NULL || !listed->order_known) {
        tl_command_fail_now(asking, "nothing to repeat: key the weight with 'set WEIGHT'");
    } else if (listed->order.weight_lb != own->datum.as.set_lb) {
        char ordered[32];
        char set[32];
        tl_command_fail(asking, "ordered %s, set %s: change the engine and key 'set WEIGHT'",
                        tl_pounds_text(listed->order.weight_lb, ordered, sizeof ordered),
                        tl_pounds_text(own->datum.as.set_lb, set, sizeof set));
    } else if (repeater_lb(asking) != 0 && repeater_lb(asking) != own->datum.as.set_lb) {
        tl_command_fail(asking, "the repeater differs: look at the engine and key 'set WEIGHT'");
    } else {
        say_weight(asking, own->datum.as.set_lb, event);
    }
}

static void
verb_battery(struct tl_asking *asking)
{
    struct tl_event event = {0};
    if (asking->argc >= 1 && strcmp(asking->argv[0], "out") == 0) {
        struct tl_datum *out = tl_command_add(asking, TL_DATUM_BATTERY, 0);
        out->as.battery = TL_BATTERY_OUT;
        if (asking->view->event_known && tl_event_is(asking->view->event)) {
            out->stated_for[out->stated_for_count++] = asking->view->event;
        }
        tl_command_finish(asking);
        return;
    }
    if (!tl_ask_event(asking, &event)) {
        return;
    }
    if (asking->argc != 1 || strcmp(asking->argv[0], "in") != 0) {
        tl_command_syntax(asking, "battery");
        return;
    }
    struct tl_datum *datum = tl_command_add(asking, TL_DATUM_BATTERY, 0);
    datum->as.battery = TL_BATTERY_IN;
    datum->stated_for[datum->stated_for_count++] = event;
    tl_command_finish(asking);
}

static void
verb_accumulator(struct tl_asking *asking)
{
    uint32_t psi = 0;
    if (asking->argc != 1) {
        tl_command_syntax(asking, "accumulator");
        return;
    }
    if (tl_ask_number(asking, asking->argv[0], "pressure, psi,", 1, 20000, &psi)) {
        tl_command_add(asking, TL_DATUM_ACCUMULATOR, 0)->as.accumulator_psi = psi;
        tl_command_finish(asking);
    }
}

static void
verb_gap(struct tl_asking *asking)
{
    uint32_t gap = 0;
    if (asking->argc != 1) {
        tl_command_syntax(asking, "gap");
        return;
    }
    if (tl_ask_hundredths(asking, asking->argv[0], "gap, in,", 10000, &gap)) {
        tl_command_add(asking, TL_DATUM_CROSSHEAD, 0)->as.crosshead_in_x100 = gap;
        tl_command_finish(asking);
    }
}

static const struct tl_verb verbs[] = {
    {"set", "set WEIGHT [for EVENT]", "the weight, lb, that this engine is set to", verb_set},
    {"same", "same [for EVENT]", "the weight stays as it is and is the one ordered", verb_same},
    {"battery", "battery in|out [for EVENT]", "the ram is back in battery, or is not",
     verb_battery},
    {"accumulator", "accumulator PSI", "accumulator pressure at battery", verb_accumulator},
    {"gap", "gap INCHES", "crosshead to its stop, at battery", verb_gap},
    {"withdraw", "withdraw set|battery|accumulator|crosshead", "makes that word unknown",
     tl_verb_withdraw},
};

const struct tl_room tl_room_engine = {TL_STATION_ENGINE, verbs, sizeof verbs / sizeof verbs[0]};
