/* SPDX-License-Identifier: Apache-2.0 */
/* fact_values.c - see fact_values.h. */
#include "clients/ui/fact_values.h"

#include <inttypes.h>
#include <stdarg.h>
#include <string.h>

enum {
    WORD_CAP = 32,
    ITEMS_MAX = 2 * TL_ENGINES_MAX,
    POUNDS_CAP = 32,
    TEN = 10
};

/* One of several things of a kind, and its word; "" = unknown. */
struct item {
    uint32_t number;
    char word[WORD_CAP];
};
struct items {
    uint32_t count;
    struct item item[ITEMS_MAX];
    bool all_known;
    bool wrong; /* one is known, and not as needed */
};

static void __attribute__((format(printf, 2, 3)))
value(struct tl_fact *fact, const char *format, ...)
{
    size_t used = strlen(fact->value);
    va_list values;
    va_start(values, format);
    (void)vsnprintf(fact->value + used, sizeof fact->value - used, format, values);
    va_end(values);
}

static void __attribute__((format(printf, 2, 3)))
needed(struct tl_fact *fact, const char *format, ...)
{
    va_list values;
    va_start(values, format);
    (void)vsnprintf(fact->needed, sizeof fact->needed, format, values);
    va_end(values);
}

/* Said for the current event; while nobody judges, whatever was said last is a memory to show. */
static bool
counts(const struct tl_ui_state *state, const struct tl_datum *datum)
{
    return datum != NULL &&
           (!state->view->any_verdict || tl_datum_is_for(datum, state->view->event));
}

/* That station says some of it; false when the ship has none. */
static bool
says(const struct tl_ui_state *state, const struct tl_node *node, struct tl_fact *fact)
{
    int place = node != NULL ? tl_config_place(state->config, node->id) : -1;
    if (place < 0) {
        return false;
    }
    fact->places |= 1u << (unsigned)place;
    return true;
}

static const struct tl_node *
station(const struct tl_ui_state *state, enum tl_station_kind kind, uint32_t unit)
{
    return tl_config_station(state->config, kind, unit);
}

static const struct tl_datum *
word_of(const struct tl_ui_state *state, const struct tl_node *node, enum tl_datum_kind kind,
        uint32_t slot)
{
    return node != NULL ? tl_ui_word(state->picture, node->id, kind, slot) : NULL;
}

static struct item *
add_item(struct items *items, uint32_t number, const char *word)
{
    struct item *item = &items->item[items->count < ITEMS_MAX ? items->count++ : ITEMS_MAX - 1];
    item->number = number;
    (void)snprintf(item->word, sizeof item->word, "%s", word);
    items->all_known = items->all_known && word[0] != '\0';
    return item;
}

/* "40,000 on 3; 34,000 on 1 2 4": what is not `good` first, and the unknown before all. */
static void
write_group(struct items *items, const char *word, struct tl_fact *fact)
{
    bool any = false;
    for (uint32_t i = 0; i < items->count; i++) {
        struct item *item = &items->item[i];
        if (item->number == 0 || strcmp(item->word, word) != 0) {
            continue;
        }
        if (!any) {
            value(fact, "%s%s", fact->value[0] != '\0' ? "; " : "",
                  word[0] != '\0' ? word : "unknown");
        }
        value(fact, " %" PRIu32, item->number);
        item->number = 0; /* written */
        any = true;
    }
}

static void
write_items(struct items *items, const char *good, struct tl_fact *fact)
{
    char word[WORD_CAP];
    write_group(items, "", fact);
    for (uint32_t i = 0; i < items->count; i++) {
        if (items->item[i].number != 0 && strcmp(items->item[i].word, good) != 0) {
            memcpy(word, items->item[i].word, sizeof word);
            write_group(items, word, fact);
        }
    }
    write_group(items, good, fact);
}

static enum tl_fact_state
known(bool is_known)
{
    return is_known ? TL_FACT_GOOD : TL_FACT_UNKNOWN;
}

/* What is known to be wrong is so whatever else is not known. */
static enum tl_fact_state
right(bool is_wrong, bool is_known)
{
    return is_wrong ? TL_FACT_WRONG : known(is_known);
}

/* What is ordered now, or NULL. */
static const struct tl_order *
ordered(const struct tl_ui_state *state)
{
    const struct tl_listed *current = tl_ui_current(state->picture, state->view->event);
    return current != NULL && current->order_known ? &current->order : NULL;
}

/* Its type, or NULL. */
static const struct tl_aircraft_type *
ordered_type(const struct tl_ui_state *state)
{
    const struct tl_order *order = ordered(state);
    return order != NULL ? tl_config_type(state->config, order->type) : NULL;
}

static bool
is_off(const struct tl_ui_state *state, enum tl_rule rule)
{
    return state->config->ship.rule_off[rule];
}

/* ---- rows ---- */

static enum tl_fact_state
aircraft(const struct tl_ui_state *state, struct tl_fact *fact)
{
    const struct tl_view *view = state->view;
    const struct tl_order *order = ordered(state);
    char pounds[POUNDS_CAP];
    const struct tl_node *approach = station(state, TL_STATION_APPROACH, 0);
    (void)says(state, station(state, TL_STATION_PRIMARY, 0), fact);
    bool second = says(state, approach, fact);
    needed(fact, "all say one");
    if (!view->event_known || !tl_event_is(view->event)) {
        value(fact, "%s", view->event_known ? "none ordered" : "");
        return TL_FACT_UNKNOWN;
    }
    if (order == NULL) {
        return TL_FACT_UNKNOWN;
    }
    value(fact, "%" PRIu32 " %s %s%s", order->side, order->type,
          tl_pounds_text(order->weight_lb, pounds, sizeof pounds),
          order->barricade ? " BARRICADE" : "");
    const struct tl_datum *inbound = word_of(state, approach, TL_DATUM_INBOUND, order->side);
    bool other =
        inbound != NULL && strncmp(inbound->as.inbound.type, order->type, TL_TYPE_CAP) != 0;
    if (other) {
        value(fact, ", inbound: %s", inbound->as.inbound.type);
    }
    return right(other, !second || inbound != NULL || is_off(state, TL_RULE_OVER_TRAP_WEIGHT));
}

/* Engines of the current pass, each with the word that `write` makes of it. */
typedef void engine_fn(const struct tl_ui_state *state, const struct tl_node *node,
                       char word[WORD_CAP]);

static struct items
engines(const struct tl_ui_state *state, engine_fn *write, struct tl_fact *fact)
{
    const struct tl_gear *gear = &state->config->gear;
    bool barricade = tl_ui_is_barricade_pass(state);
    struct items items = {.all_known = true};
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        const struct tl_engine_gear *engine = &gear->engine[i];
        const struct tl_node *node = station(state, TL_STATION_ENGINE, engine->unit);
        char word[WORD_CAP] = "";
        bool other = barricade && engine->unit != gear->barricade.unit;
        if (!tl_ui_takes_part(state, engine) || other) {
            continue;
        }
        if (says(state, node, fact)) {
            write(state, node, word);
        }
        (void)add_item(&items, engine->unit, word);
    }
    return items;
}

static void
set_word(const struct tl_ui_state *state, const struct tl_node *node, char word[WORD_CAP])
{
    const struct tl_datum *set = word_of(state, node, TL_DATUM_SET, 0);
    if (counts(state, set)) {
        char pounds[POUNDS_CAP];
        (void)snprintf(word, WORD_CAP, "%.20s on",
                       tl_pounds_text(set->as.set_lb, pounds, sizeof pounds));
    }
}

static uint32_t
apart(uint32_t a, uint32_t b)
{
    return a > b ? a - b : b - a;
}

/* Not what that engine says it is set to; where it says nothing, not what is ordered. */
static bool
is_dial_wrong(const struct tl_ui_state *state, const struct tl_datum *dial)
{
    const uint32_t dial_lb = dial->as.repeater_lb;
    const struct tl_node *node = station(state, TL_STATION_ENGINE, dial->slot);
    const struct tl_datum *set = word_of(state, node, TL_DATUM_SET, 0);
    const struct tl_order *order = ordered(state);
    if (counts(state, set)) {
        return dial_lb != set->as.set_lb;
    }
    return order != NULL &&
           apart(dial_lb, order->weight_lb) > state->config->gear.agree_tolerance_lb;
}

/* What somebody else reads of the same engines, where the ship has that rule. */
static void
add_dials(const struct tl_ui_state *state, struct items *items, struct tl_fact *fact)
{
    const struct tl_config *config = state->config;
    const struct tl_node *reader = tl_config_node(config, config->repeater_reader);
    const uint32_t engines = items->count;
    if (config->ship.rule_off[TL_RULE_REPEATER_DIFFERS] || !says(state, reader, fact)) {
        return;
    }
    for (uint32_t i = 0; i < engines; i++) {
        const uint32_t unit = items->item[i].number;
        const struct tl_datum *dial = word_of(state, reader, TL_DATUM_REPEATER, unit);
        char pounds[POUNDS_CAP];
        char word[WORD_CAP];
        if (!counts(state, dial)) {
            (void)add_item(items, unit, "dial unknown");
            items->all_known = false;
        } else if (is_dial_wrong(state, dial)) {
            (void)snprintf(word, sizeof word, "dial %.20s on",
                           tl_pounds_text(dial->as.repeater_lb, pounds, sizeof pounds));
            (void)add_item(items, unit, word);
            items->wrong = true;
        }
    }
}

/* One of these engines is set for another weight than the one ordered. */
static bool
any_set_apart(const struct tl_ui_state *state, const struct items *items)
{
    const struct tl_order *order = ordered(state);
    bool any = false;
    for (uint32_t i = 0; i < items->count && order != NULL; i++) {
        const struct tl_node *node = station(state, TL_STATION_ENGINE, items->item[i].number);
        const struct tl_datum *set = word_of(state, node, TL_DATUM_SET, 0);
        any = any || (counts(state, set) && apart(set->as.set_lb, order->weight_lb) >
                                                state->config->gear.agree_tolerance_lb);
    }
    return any;
}

static enum tl_fact_state
setting(const struct tl_ui_state *state, struct tl_fact *fact)
{
    const struct tl_order *order = ordered(state);
    char pounds[POUNDS_CAP] = "";
    char good[WORD_CAP] = "";
    if (order != NULL) {
        (void)tl_pounds_text(order->weight_lb, pounds, sizeof pounds);
        (void)snprintf(good, sizeof good, "%.20s on", pounds);
        needed(fact, "%s", pounds);
    }
    struct items items = engines(state, set_word, fact);
    const uint32_t engine_count = items.count;
    items.wrong = any_set_apart(state, &items);
    add_dials(state, &items, fact);
    write_items(&items, good, fact);
    if (engine_count == 0) {
        value(fact, "no engine in service");
    }
    return right(items.wrong, items.all_known && engine_count > 0);
}

static void
battery_word(const struct tl_ui_state *state, const struct tl_node *node, char word[WORD_CAP])
{
    const struct tl_datum *battery = word_of(state, node, TL_DATUM_BATTERY, 0);
    if (battery != NULL && battery->as.battery == TL_BATTERY_OUT) {
        (void)snprintf(word, WORD_CAP, "OUT of battery");
    } else if (counts(state, battery)) {
        (void)snprintf(word, WORD_CAP, "in battery");
    }
}

static enum tl_fact_state
battery(const struct tl_ui_state *state, struct tl_fact *fact)
{
    struct items items = engines(state, battery_word, fact);
    needed(fact, "in battery");
    for (uint32_t i = 0; i < items.count; i++) {
        const char *word = items.item[i].word;
        items.wrong = items.wrong || (word[0] != '\0' && strcmp(word, "in battery") != 0);
    }
    write_items(&items, "in battery", fact);
    return right(items.wrong, items.all_known && items.count > 0);
}

static enum tl_fact_state
wires(const struct tl_ui_state *state, struct tl_fact *fact)
{
    const struct tl_node *node = station(state, TL_STATION_WIRES, 0);
    const struct tl_gear *gear = &state->config->gear;
    struct items items = {.all_known = true};
    if (!says(state, node, fact)) {
        return TL_FACT_UNUSED;
    }
    (void)says(state, station(state, TL_STATION_GEAR_OFFICER, 0), fact);
    (void)says(state, station(state, TL_STATION_BARRICADE, 0), fact);
    needed(fact, "rigged, up");
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        const uint32_t wire = gear->engine[i].wire;
        const struct tl_datum *rig = word_of(state, node, TL_DATUM_RIG, wire);
        const struct tl_datum *sheave = word_of(state, node, TL_DATUM_SHEAVE, wire);
        bool down = sheave != NULL && sheave->as.sheave.state == TL_SHEAVE_DOWN;
        if (rig == NULL || (rig->as.rig == TL_RIG_RIGGED && sheave == NULL)) {
            (void)add_item(&items, wire, "");
        } else if (rig->as.rig == TL_RIG_STRIPPED) {
            (void)add_item(&items, wire, "stripped");
        } else if (down) {
            (void)add_item(&items, wire, sheave->as.sheave.bypassed ? "bypassed" : "sheave DOWN");
            items.wrong = items.wrong || !sheave->as.sheave.bypassed;
        } else {
            (void)add_item(&items, wire, "rigged, up");
        }
    }
    write_items(&items, "rigged, up", fact);
    return right(items.wrong, items.all_known && items.count > 0);
}

static enum tl_fact_state
aid(const struct tl_ui_state *state, struct tl_fact *fact)
{
    const struct tl_node *node = station(state, TL_STATION_AID, 0);
    const struct tl_order *order = ordered(state);
    const struct tl_datum *datum = word_of(state, node, TL_DATUM_AID, 0);
    char text[TL_TEXT_CAP];
    if (!says(state, node, fact)) {
        return TL_FACT_UNUSED;
    }
    if (order != NULL) {
        needed(fact, "%s", order->type);
    }
    if (datum == NULL) {
        return TL_FACT_UNKNOWN;
    }
    const struct tl_aircraft_type *type = ordered_type(state);
    const struct tl_aircraft_type *set = tl_config_type(state->config, datum->as.aid.type);
    bool serves = type != NULL && set != NULL && type->hook_to_eye_ft_x100 != 0 &&
                  set->hook_to_eye_ft_x100 == type->hook_to_eye_ft_x100;
    bool said = tl_datum_is_for(datum, state->view->event);
    bool works = datum->as.aid.state == TL_AID_WORKING;
    value(fact, "%s", tl_datum_text(datum, text, sizeof text));
    return right(!works || (said && type != NULL && !serves), said && serves);
}

static enum tl_fact_state
tracks(const struct tl_ui_state *state, struct tl_fact *fact)
{
    const struct tl_node *node = station(state, TL_STATION_TRACKS, 0);
    struct items items = {.all_known = true};
    if (!says(state, node, fact) || state->config->ship.track_count == 0) {
        fact->places = 0;
        return TL_FACT_UNUSED;
    }
    needed(fact, "secured");
    for (uint32_t track = 1; track <= state->config->ship.track_count; track++) {
        const struct tl_datum *datum = word_of(state, node, TL_DATUM_TRACK, track);
        bool says_it =
            datum != NULL && (datum->as.track != TL_TRACK_SECURED || counts(state, datum));
        (void)add_item(&items, track, says_it ? tl_track_word(datum->as.track) : "");
        items.wrong = items.wrong || (says_it && datum->as.track != TL_TRACK_SECURED);
    }
    write_items(&items, tl_track_word(TL_TRACK_SECURED), fact);
    return right(items.wrong, items.all_known);
}

/* The graver word on the deck: STOP, FOUL, nothing against it. */
static uint32_t
deck_rank(const struct tl_datum *datum)
{
    switch (datum->as.deck.state) {
    case TL_DECK_STOP:
        return 3;
    case TL_DECK_FOUL:
        return 2;
    case TL_DECK_NO_FOUL:
    case TL_DECK_CLEAR:
        return 1;
    case TL_DECK_UNKNOWN:
        break;
    }
    return 0;
}

static enum tl_fact_state
deck(const struct tl_ui_state *state, struct tl_fact *fact)
{
    const struct tl_config *config = state->config;
    const struct tl_datum *worst = NULL;
    const struct tl_node *by = NULL;
    const struct tl_node *unsaid = NULL;
    bool clear = false;
    for (uint32_t i = 0; i < config->node_count; i++) {
        const struct tl_node *node = &config->node[i];
        bool owner = strncmp(node->id, config->clear_owner, TL_ID_CAP) == 0;
        if ((!owner && !node->may_foul && !node->may_stop) || !says(state, node, fact)) {
            continue;
        }
        const struct tl_datum *datum = word_of(state, node, TL_DATUM_DECK, 0);
        if (datum == NULL) {
            unsaid = unsaid == NULL ? node : unsaid;
        } else if (worst == NULL || deck_rank(datum) > deck_rank(worst)) {
            worst = datum;
            by = node;
        }
        clear = clear || (owner && datum != NULL && datum->as.deck.state == TL_DECK_CLEAR &&
                          counts(state, datum));
    }
    char text[TL_TEXT_CAP];
    needed(fact, "clear, no foul");
    if (worst != NULL && deck_rank(worst) > 1) {
        value(fact, "%s (%s)", tl_datum_text(worst, text, sizeof text), by->id);
    } else if (unsaid != NULL) {
        value(fact, "no word from %s", unsaid->id);
    } else {
        value(fact, "%s", clear ? "clear" : "not said clear");
    }
    return right(worst != NULL && deck_rank(worst) > 1,
                 clear && unsaid == NULL && worst != NULL && deck_rank(worst) == 1);
}

static enum tl_fact_state
final(const struct tl_ui_state *state, struct tl_fact *fact)
{
    const struct tl_node *node = station(state, TL_STATION_PLATFORM, 0);
    const struct tl_datum *call = word_of(state, node, TL_DATUM_CALL, 0);
    const struct tl_datum *hook = word_of(state, node, TL_DATUM_HOOK, 0);
    if (!says(state, node, fact)) {
        return TL_FACT_UNUSED;
    }
    bool called = counts(state, call);
    bool down =
        hook != NULL && hook->as.hook == TL_HOOK_DOWN && tl_datum_is_for(hook, state->view->event);
    bool not_down = hook != NULL && hook->as.hook == TL_HOOK_NOT_DOWN;
    bool asked = !tl_ui_is_barricade_pass(state);
    const struct tl_order *order = ordered(state);
    bool other = called && order != NULL &&
                 (call->as.call.side != order->side ||
                  strncmp(call->as.call.type, order->type, TL_TYPE_CAP) != 0);
    needed(fact, asked ? "call, hook down" : "call");
    if (called) {
        value(fact, "called %" PRIu32 " %s, ", call->as.call.side, call->as.call.type);
    } else {
        value(fact, "no call, ");
    }
    value(fact, "%s", not_down ? "hook NOT down" : (down ? "hook down" : "hook unknown"));
    return right(other || (asked && not_down), called && (down || !asked));
}

static enum tl_fact_state
wind(const struct tl_ui_state *state, struct tl_fact *fact)
{
    const struct tl_wind *wind = tl_ui_wind(state->config, state->picture);
    const struct tl_aircraft_type *type = ordered_type(state);
    if (!says(state, station(state, TL_STATION_BRIDGE, 0), fact)) {
        return TL_FACT_UNUSED;
    }
    if (type != NULL && type->min_headwind_kt_x10 > 0) {
        needed(fact, "%" PRIu32 ".%" PRIu32 " kn or more", type->min_headwind_kt_x10 / TEN,
               type->min_headwind_kt_x10 % TEN);
    }
    if (wind == NULL || wind->state == TL_WIND_UNKNOWN) {
        return TL_FACT_UNKNOWN;
    }
    if (wind->state == TL_WIND_DISAGREE) {
        value(fact, "SENSORS DISAGREE");
        return TL_FACT_UNKNOWN;
    }
    value(fact, "%.1f kn down, %.1f across%s", wind->headwind_kt_x10 / 10.0,
          wind->crosswind_kt_x10 / 10.0, wind->keyed ? ", keyed" : "");
    return right(type != NULL && wind->headwind_kt_x10 < (int64_t)type->min_headwind_kt_x10, true);
}

/* Those that the ship's configuration has, not those that the picture happens to list. */
static enum tl_fact_state
stations(const struct tl_ui_state *state, struct tl_fact *fact)
{
    uint32_t heard = 0;
    uint32_t count = 0;
    const struct tl_node *missing = NULL;
    for (uint32_t place = 0; place < TL_STATIONS_MAX; place++) {
        const struct tl_node *node = tl_config_at(state->config, place);
        if (node == NULL) {
            continue;
        }
        const struct tl_station_state *here = tl_ui_station(state->picture, node->id);
        bool is_heard = tl_ui_is_heard(here);
        fact->places |= 1u << place;
        heard += is_heard ? 1 : 0;
        count++;
        missing = !is_heard && missing == NULL ? node : missing;
    }
    needed(fact, "all heard");
    value(fact, "%" PRIu32 " of %" PRIu32 " heard", heard, count);
    if (missing != NULL) {
        value(fact, ", not %s", missing->id);
    }
    return known(missing == NULL && count > 0);
}

enum tl_fact_state
tl_fact_values(const struct tl_ui_state *state, enum tl_fact_row row, struct tl_fact *fact)
{
    typedef enum tl_fact_state row_fn(const struct tl_ui_state *state, struct tl_fact *fact);
    static row_fn *const rows[TL_FACT_ROWS] = {
        [TL_FACT_AIRCRAFT] = aircraft, [TL_FACT_SETTING] = setting, [TL_FACT_BATTERY] = battery,
        [TL_FACT_WIRES] = wires,       [TL_FACT_AID] = aid,         [TL_FACT_TRACKS] = tracks,
        [TL_FACT_DECK] = deck,         [TL_FACT_FINAL] = final,     [TL_FACT_WIND] = wind,
        [TL_FACT_STATIONS] = stations,
    };
    return row < TL_FACT_ROWS ? rows[row](state, fact) : TL_FACT_UNKNOWN;
}
