/* SPDX-License-Identifier: Apache-2.0 */
/* facts.c - how each row stands; fact_values.c says what is in it. See facts.h. */
#include "clients/ui/facts.h"

#include <inttypes.h>
#include <string.h>

#include "clients/ui/fact_values.h"

enum {
    SOON_MS = 300
};

const char *
tl_fact_name(enum tl_fact_row row)
{
    static const char *const names[TL_FACT_ROWS] = {
        [TL_FACT_AIRCRAFT] = "aircraft", [TL_FACT_SETTING] = "setting",
        [TL_FACT_BATTERY] = "engines",   [TL_FACT_WIRES] = "wires",
        [TL_FACT_AID] = "aid",           [TL_FACT_TRACKS] = "tracks",
        [TL_FACT_DECK] = "deck",         [TL_FACT_FINAL] = "final",
        [TL_FACT_WIND] = "wind",         [TL_FACT_STATIONS] = "stations",
    };
    return row < TL_FACT_ROWS ? names[row] : "unknown";
}

const char *
tl_fact_word(enum tl_fact_state state)
{
    switch (state) {
    case TL_FACT_GOOD:
        return "ok";
    case TL_FACT_WAITS:
        return "NOT YET";
    case TL_FACT_HELD:
        return "HELD";
    case TL_FACT_WRONG:
        return "WRONG";
    case TL_FACT_LOST:
        return "LOST";
    case TL_FACT_OLD:
        return "OLD";
    case TL_FACT_OVERRIDE:
        return "OVERRIDE";
    case TL_FACT_UNUSED:
        return "not used";
    case TL_FACT_UNKNOWN:
        break;
    }
    return "UNKNOWN";
}

/* What is not listed is about the tool, its people or its stations. */
static const uint8_t row_of_rule[TL_RULES_MAX] = {
    [TL_RULE_SETTING_OTHER_AIRCRAFT] = TL_FACT_SETTING,
    [TL_RULE_SETTING_NOT_ORDERED] = TL_FACT_SETTING,
    [TL_RULE_ENGINES_DISAGREE] = TL_FACT_SETTING,
    [TL_RULE_REPEATER_DIFFERS] = TL_FACT_SETTING,
    [TL_RULE_SETTING_LIGHT] = TL_FACT_SETTING,
    [TL_RULE_NO_ENGINE] = TL_FACT_SETTING,
    [TL_RULE_HOOK_LOAD] = TL_FACT_SETTING,
    [TL_RULE_ENERGY_OVER] = TL_FACT_SETTING,
    [TL_RULE_ENERGY_THIN] = TL_FACT_SETTING,
    [TL_RULE_STROKE_PREDICTED] = TL_FACT_SETTING,
    [TL_RULE_NOT_IN_BATTERY] = TL_FACT_BATTERY,
    [TL_RULE_ACCUMULATOR] = TL_FACT_BATTERY,
    [TL_RULE_CROSSHEAD_GAP] = TL_FACT_BATTERY,
    [TL_RULE_FLUID_LEVEL] = TL_FACT_BATTERY,
    [TL_RULE_ENGINE_FAULT] = TL_FACT_BATTERY,
    [TL_RULE_SERVICE_UNKNOWN] = TL_FACT_BATTERY,
    [TL_RULE_NOT_SIGNED_OFF] = TL_FACT_BATTERY,
    [TL_RULE_ARREST_UNREAD] = TL_FACT_BATTERY,
    [TL_RULE_RAM_TRAVEL] = TL_FACT_BATTERY,
    [TL_RULE_OFF_CENTRE] = TL_FACT_BATTERY,
    [TL_RULE_SIDES_UNEQUAL] = TL_FACT_BATTERY,
    [TL_RULE_WALK_BACK] = TL_FACT_BATTERY,
    [TL_RULE_TRAVEL_DISAGREES] = TL_FACT_BATTERY,
    [TL_RULE_SHEAVE_DOWN] = TL_FACT_WIRES,
    [TL_RULE_BYPASS_WITH_PENDANT] = TL_FACT_WIRES,
    [TL_RULE_PENDANT_HEIGHT] = TL_FACT_WIRES,
    [TL_RULE_PENDANT_WORN] = TL_FACT_WIRES,
    [TL_RULE_RETRACT_RUNNING] = TL_FACT_WIRES,
    [TL_RULE_WIRE_NOT_FREE] = TL_FACT_WIRES,
    [TL_RULE_INACTIVE_RIGGED] = TL_FACT_WIRES,
    [TL_RULE_RIG_UNKNOWN] = TL_FACT_WIRES,
    [TL_RULE_DETORQUE_OVERDUE] = TL_FACT_WIRES,
    [TL_RULE_DETORQUE_DUE] = TL_FACT_WIRES,
    [TL_RULE_INSPECTION_OVERDUE] = TL_FACT_WIRES,
    [TL_RULE_PENDANT_LIFE] = TL_FACT_WIRES,
    [TL_RULE_PENDANT_LIFE_NEAR] = TL_FACT_WIRES,
    [TL_RULE_TOO_FEW_WIRES] = TL_FACT_WIRES,
    [TL_RULE_BARRICADE_NOT_STOWED] = TL_FACT_WIRES,
    [TL_RULE_BARRICADE_POWER] = TL_FACT_WIRES,
    [TL_RULE_BARRICADE_NOT_RIGGED] = TL_FACT_WIRES,
    [TL_RULE_BARRICADE_WIRES] = TL_FACT_WIRES,
    [TL_RULE_WEBBING_USED] = TL_FACT_WIRES,
    [TL_RULE_AID_NOT_FOR_TYPE] = TL_FACT_AID,
    [TL_RULE_AID_FAULT] = TL_FACT_AID,
    [TL_RULE_AID_NOT_ON_TARGET] = TL_FACT_AID,
    [TL_RULE_AID_ANGLE] = TL_FACT_AID,
    [TL_RULE_RAMP_CLEARANCE] = TL_FACT_AID,
    [TL_RULE_TOUCHDOWN_OFF] = TL_FACT_AID,
    [TL_RULE_TRACK_OPEN] = TL_FACT_TRACKS,
    [TL_RULE_DECK_FOUL] = TL_FACT_DECK,
    [TL_RULE_LINE_CROSSED] = TL_FACT_DECK,
    [TL_RULE_FOUL_WORD_MISSING] = TL_FACT_DECK,
    [TL_RULE_STOP] = TL_FACT_DECK,
    [TL_RULE_TYPE_CALLED_DIFFERS] = TL_FACT_FINAL,
    [TL_RULE_HOOK_NOT_DOWN] = TL_FACT_FINAL,
    [TL_RULE_WAVE_OFF_ADVISED] = TL_FACT_FINAL,
    [TL_RULE_WIND_UNKNOWN] = TL_FACT_WIND,
    [TL_RULE_WIND_LOW] = TL_FACT_WIND,
    [TL_RULE_CROSSWIND_OVER] = TL_FACT_WIND,
    [TL_RULE_SHIP_NOT_STEADY] = TL_FACT_WIND,
    [TL_RULE_DECK_MOTION] = TL_FACT_WIND,
};
/* What is listed for the first row, whose number is 0. */
static const bool is_of_aircraft[TL_RULES_MAX] = {
    [TL_RULE_NO_EVENT] = true,         [TL_RULE_ORDER_UNKNOWN] = true,
    [TL_RULE_TYPE_UNKNOWN] = true,     [TL_RULE_OVER_TRAP_WEIGHT] = true,
    [TL_RULE_ORDERED_DIVERTED] = true, [TL_RULE_INBOUND_TROUBLE] = true,
    [TL_RULE_LIST_NOT_HEARD] = true,   [TL_RULE_PRIMARY_RESTARTED] = true,
    [TL_RULE_INTERVAL_SHORT] = true,
};

enum tl_fact_row
tl_fact_row_of(uint32_t rule)
{
    if (rule >= TL_RULES_MAX || (row_of_rule[rule] == 0 && !is_of_aircraft[rule])) {
        return TL_FACT_STATIONS;
    }
    return (enum tl_fact_row)row_of_rule[rule];
}

/* The graver of two. */
static enum tl_fact_state
graver(enum tl_fact_state a, enum tl_fact_state b)
{
    static const uint8_t rank[] = {
        [TL_FACT_UNUSED] = 0, [TL_FACT_GOOD] = 1,    [TL_FACT_OVERRIDE] = 2,
        [TL_FACT_HELD] = 3,   [TL_FACT_UNKNOWN] = 4, [TL_FACT_WAITS] = 5,
        [TL_FACT_LOST] = 6,   [TL_FACT_OLD] = 7,     [TL_FACT_WRONG] = 8,
    };
    return rank[a] >= rank[b] ? a : b;
}

static enum tl_fact_state
state_of_cause(const struct tl_cause *cause)
{
    switch (cause->state) {
    case TL_CAUSE_PENDING:
        return TL_FACT_WAITS;
    case TL_CAUSE_HOLDING:
        return TL_FACT_HELD;
    case TL_CAUSE_NOTE:
        return TL_FACT_GOOD;
    case TL_CAUSE_OVERRIDDEN:
        return TL_FACT_OVERRIDE;
    case TL_CAUSE_UNKNOWN:
    case TL_CAUSE_WRONG:
    case TL_CAUSE_OVERDUE:
        break;
    }
    return cause->rule == TL_RULE_STATION_LOST ? TL_FACT_LOST : TL_FACT_WRONG;
}

/*
 * The causes of a row say how it stands; what its own words show to be wrong counts where no cause
 * speaks: the rule is off, or no aircraft is ordered that it could be judged for.
 */
static void
take_causes(const struct tl_picture *picture, struct tl_fact fact[TL_FACT_ROWS])
{
    enum tl_fact_state caused[TL_FACT_ROWS];
    for (size_t i = 0; i < TL_FACT_ROWS; i++) {
        caused[i] = TL_FACT_UNUSED;
    }
    for (uint32_t i = 0; i < picture->cause_count; i++) {
        enum tl_fact_row row = tl_fact_row_of(picture->cause[i].rule);
        caused[row] = graver(caused[row], state_of_cause(&picture->cause[i]));
    }
    for (size_t i = 0; i < TL_FACT_ROWS; i++) {
        bool spoken = caused[i] != TL_FACT_UNUSED && caused[i] != TL_FACT_GOOD;
        fact[i].state =
            spoken && fact[i].state == TL_FACT_WRONG ? caused[i] : graver(fact[i].state, caused[i]);
        if (picture->cause_count >= TL_CAUSES_MAX) {
            fact[i].state = graver(fact[i].state, TL_FACT_UNKNOWN); /* there may be more than fit */
        }
    }
}

/* Nothing is as needed while it is not known for which aircraft; but that all are heard. */
static void
take_event(const struct tl_ui_state *state, struct tl_fact fact[TL_FACT_ROWS])
{
    const struct tl_view *view = state->view;
    bool current = view->event_known && tl_event_is(view->event);
    for (size_t i = 0; i < TL_FACT_ROWS && !current; i++) {
        if (i != TL_FACT_STATIONS && fact[i].state != TL_FACT_UNUSED) {
            fact[i].state = graver(fact[i].state, TL_FACT_UNKNOWN);
        }
    }
}

/* Who says it, whether all of them are heard, and how long ago the one that is heard worst. */
static void
take_sources(const struct tl_ui_state *state, const struct tl_node *self, struct tl_fact *fact)
{
    uint32_t count = 0;
    for (uint32_t place = 0; place < TL_STATIONS_MAX; place++) {
        const struct tl_node *node = tl_config_at(state->config, place);
        if (node == NULL || (fact->places >> place & 1u) == 0) {
            continue;
        }
        const struct tl_station_state *station = tl_ui_station(state->picture, node->id);
        if (!tl_ui_is_heard(station)) {
            fact->state = graver(fact->state, TL_FACT_LOST);
        }
        if (station != NULL && station->live != TL_LIVE_NEVER) {
            uint64_t age_ms = station->age_ms + state->picture_age_ms;
            fact->age_ms = !fact->age_known || age_ms > fact->age_ms ? age_ms : fact->age_ms;
            fact->age_known = true;
        }
        fact->mine = fact->mine || node == self;
        count++;
        (void)snprintf(fact->from, sizeof fact->from, "%s", node->id);
    }
    if (count > 1) {
        (void)snprintf(fact->from, sizeof fact->from, "%" PRIu32 " rooms", count);
    }
}

bool
tl_ui_is_memory(const struct tl_ui_state *state)
{
    return !state->view->any_verdict || (state->picture_old && state->picture_old_ms >= SOON_MS);
}

/* What is only remembered stands in brackets, and never as if it were known. */
static void
make_old(struct tl_fact *fact)
{
    char was[TL_TEXT_CAP];
    if (fact->value[0] != '\0') {
        (void)snprintf(was, sizeof was, "[was %.*s]", TL_TEXT_CAP - 8, fact->value);
        memcpy(fact->value, was, sizeof was);
    }
    fact->state = TL_FACT_OLD;
}

void
tl_ui_facts(const struct tl_ui_state *state, const struct tl_node *self,
            struct tl_fact fact[TL_FACT_ROWS])
{
    const bool old = tl_ui_is_memory(state);
    for (size_t i = 0; i < TL_FACT_ROWS; i++) {
        fact[i] = (struct tl_fact){.state = TL_FACT_UNKNOWN};
    }
    if (state->picture == NULL) {
        return;
    }
    for (size_t i = 0; i < TL_FACT_ROWS; i++) {
        fact[i].state = tl_fact_values(state, (enum tl_fact_row)i, &fact[i]);
        if (fact[i].state != TL_FACT_UNUSED) {
            take_sources(state, self, &fact[i]);
        }
    }
    take_causes(state->picture, fact);
    take_event(state, fact);
    for (size_t i = 0; i < TL_FACT_ROWS && old; i++) {
        if (fact[i].state != TL_FACT_UNUSED) {
            make_old(&fact[i]);
        }
    }
}
