/* SPDX-License-Identifier: Apache-2.0 */
/* engine.c - the engine room: the weight that is set, the engine's state, the last arrest. */
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

/* In or out of use, and the number of the maintenance job that it comes from. */
static void
verb_service(struct tl_asking *asking)
{
    static const struct tl_choice states[] = {
        {"in", TL_SERVICE_IN}, {"out", TL_SERVICE_OUT}, {NULL, 0}};
    struct tl_service service = {0};
    int state = 0;
    if (asking->argc < 1 || asking->argc > 2) {
        tl_command_syntax(asking, "service");
        return;
    }
    if (tl_ask_choice(asking, asking->argv[0], states, &state) &&
        (asking->argc == 1 ||
         tl_ask_number(asking, asking->argv[1], "job", 1, 999999, &service.job))) {
        service.state = (enum tl_service_state)state;
        tl_command_add(asking, TL_DATUM_SERVICE, 0)->as.service = service;
        tl_command_finish(asking);
    }
}

static void
verb_fluid(struct tl_asking *asking)
{
    static const struct tl_choice states[] = {
        {"battery", TL_FLUID_BATTERY}, {"low", TL_FLUID_LOW}, {"high", TL_FLUID_HIGH}, {NULL, 0}};
    int state = 0;
    if (asking->argc != 1) {
        tl_command_syntax(asking, "fluid");
    } else if (tl_ask_choice(asking, asking->argv[0], states, &state)) {
        tl_command_add(asking, TL_DATUM_FLUID, 0)->as.fluid = (enum tl_fluid_state)state;
        tl_command_finish(asking);
    }
}

static void
verb_fault(struct tl_asking *asking)
{
    struct tl_engine_fault fault = {.state = TL_FAULT_STATE_ACTIVE};
    if (asking->argc != 1) {
        tl_command_syntax(asking, "fault");
        return;
    }
    if (strcmp(asking->argv[0], "none") == 0) {
        fault.state = TL_FAULT_STATE_NONE;
    } else if (!tl_ask_number(asking, asking->argv[0], "fault code (or 'none')", 1, 9999,
                              &fault.code)) {
        return;
    }
    tl_command_add(asking, TL_DATUM_FAULT, 0)->as.fault = fault;
    tl_command_finish(asking);
}

/* The newest pass of the picture that ended on this engine's wire; pass 0 = none. */
static struct tl_event
last_trap(const struct tl_asking *asking)
{
    const struct tl_engine_gear *gear = tl_config_engine(asking->config, asking->as->unit);
    const struct tl_picture *picture = asking->picture;
    struct tl_event event = {0};
    for (uint32_t i = 0; picture != NULL && gear != NULL && i <= picture->list_count; i++) {
        const struct tl_listed *listed =
            i < picture->list_count ? &picture->list[i] : &picture->last;
        bool there = i < picture->list_count || picture->last_known;
        bool trap = there && listed->result_known && listed->result.outcome == TL_OUTCOME_TRAP &&
                    listed->result.wire == gear->wire;
        if (trap && listed->event.pass > event.pass) {
            event = listed->event;
        }
    }
    return event;
}

/* "for N" at the end, for a pass that the picture no longer lists. */
static bool
ask_pass(struct tl_asking *asking, struct tl_event *event)
{
    uint32_t pass = 0;
    *event = last_trap(asking);
    if (asking->argc >= 3 && tl_ask_names_event(asking)) {
        if (asking->picture == NULL || asking->picture->recovery_ms == 0) {
            tl_command_fail_now(asking, "no recovery is known here");
            return false;
        }
        if (!tl_ask_number(asking, asking->argv[asking->argc - 1], "pass", 1, UINT32_MAX, &pass)) {
            return false;
        }
        *event = (struct tl_event){asking->picture->recovery_ms, pass};
        asking->argc -= 2;
    }
    if (!tl_event_is(*event)) {
        tl_command_fail_now(asking, "the picture has no trap on this engine's wire; name the pass: "
                                    "'for PASS'");
        return false;
    }
    return true;
}

/* What the gear did at the last trap on its wire. */
static void
verb_arrest(struct tl_asking *asking)
{
    struct tl_arrest arrest = {0};
    if (asking->argc < 1) {
        tl_command_syntax(asking, "arrest");
        return;
    }
    if (!ask_pass(asking, &arrest.event)) {
        return;
    }
    uint32_t *const figures[] = {&arrest.ram_in_x10, &arrest.off_centre_ft_x10,
                                 &arrest.apart_in_x10, &arrest.walk_back_ft_x10};
    static const char *const names[] = {"ram travel, in,", "off centre, ft,", "sides apart, in,",
                                        "run back, ft,"};
    if (asking->argc < 1 || asking->argc > 4) {
        tl_command_syntax(asking, "arrest");
        return;
    }
    for (int i = 0; i < asking->argc; i++) {
        if (!tl_ask_tenths(asking, asking->argv[i], names[i], i == 0 ? 1 : 0, figures[i])) {
            return;
        }
    }
    tl_command_add(asking, TL_DATUM_ARREST, 0)->as.arrest = arrest;
    tl_command_finish(asking);
}

static const struct tl_verb verbs[] = {
    {"set", "set WEIGHT [for EVENT]", "the weight, lb, that this engine is set to", verb_set},
    {"same", "same [for EVENT]", "the weight stays as it is and is the one ordered", verb_same},
    {"battery", "battery in|out [for EVENT]", "the ram is back in battery, or is not",
     verb_battery},
    {"accumulator", "accumulator PSI", "accumulator pressure at battery", verb_accumulator},
    {"gap", "gap INCHES", "crosshead to its stop, at battery", verb_gap},
    {"fluid", "fluid battery|low|high", "fluid level at battery", verb_fluid},
    {"fault", "fault CODE|none", "fault code of the engine", verb_fault},
    {"service", "service in|out [JOB]", "in or out of use; number of the maintenance job",
     verb_service},
    {"arrest", "arrest RAM [OFF-CENTRE [APART [BACK]]] [for PASS]",
     "the last trap on this wire: ram, in; off centre, ft; sides apart, in; run back, ft",
     verb_arrest},
    {"withdraw", "withdraw set|battery|accumulator|crosshead|fluid|fault|service|arrest",
     "makes that word unknown", tl_verb_withdraw},
};

const struct tl_room tl_room_engine = {TL_STATION_ENGINE, verbs, sizeof verbs / sizeof verbs[0]};
