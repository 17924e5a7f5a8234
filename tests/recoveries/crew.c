/* SPDX-License-Identifier: Apache-2.0 */
/*
 * crew.c - the people: each looks at the screen of his own station, thinks, and says what is next.
 *
 * They know what they hear by voice (who is next, with which weight; what is set) and what their
 * own station tells them of their words. What they say is told to the oracle at that moment.
 */
#include <stdio.h>
#include <string.h>

#include "tests/recoveries/recovery.h"

enum {
    TYPES = 4,
    THINK_MIN_MS = 160,
    THINK_MS = 500,
    DWELL_MS = 900,
    WAVE_OFF_AFTER_MS = 9000,
    WAITING = 2 /* aircraft on the list at a time */
};

static const char *const TYPE[TYPES] = {"", "dunlin", "plover", "curlew"};
const uint32_t TYPE_SETTING_LB[TYPES] = {0, 14500, 34000, 44000};
const uint32_t TYPE_TOLERANCE_LB[TYPES] = {0, 1000, 1000, 1000};

static struct sim_node *
node_at(const struct recovery *r, uint32_t place)
{
    return &r->sim->node[place];
}

bool
crew_is_live(const struct recovery *r, uint32_t place)
{
    const struct sim_node *node = node_at(r, place);
    return node->running && !node->stopped;
}

static struct tl_event
event_of(const struct recovery *r, uint32_t pass)
{
    return (struct tl_event){r->recovery_ms, pass};
}

/* His own word as his station shows it; NULL = none, or taken back. */
static const struct tl_datum *
own(const struct recovery *r, uint32_t place, enum tl_datum_kind kind, uint32_t slot)
{
    const struct tl_own *word =
        tl_outbox_own(&node_at(r, place)->member->outbox, kind, slot);
    return word != NULL && word->datum.known ? &word->datum : NULL;
}

static bool
own_for(const struct recovery *r, const struct tl_datum *word, uint32_t pass)
{
    return word != NULL && tl_datum_is_for(word, event_of(r, pass));
}

static bool
say(struct recovery *r, uint32_t place, struct tl_datum datum, uint64_t *sequence)
{
    const char *id = node_at(r, place)->id;
    if (!crew_is_live(r, place) || sim_try(r->sim, id, datum, sequence) != TL_OK) {
        return false;
    }
    tell(r, "#%llu %s says %s %s%u", (unsigned long long)*sequence, id, tl_datum_kind_name(datum.kind), datum.known ? "" : "unknown ",
         datum.stated_for_count > 0 ? datum.stated_for[0].pass : datum.slot);
    return true;
}

static struct truth_word
word(const struct recovery *r, uint64_t sequence, uint32_t pass, uint32_t value)
{
    return (struct truth_word){.known = true,
                               .said_ms = r->sim->now_ms,
                               .sequence = sequence,
                               .pass = pass,
                               .value = value};
}

/* The event on his own screen; 0 = none. */
static uint32_t
pass_on_screen(const struct recovery *r, uint32_t place)
{
    struct tl_view view;
    sim_view(r->sim, node_at(r, place)->id, &view);
    bool known = view.event_known && view.event.recovery_ms == r->recovery_ms &&
                 view.event.pass < TRUTH_PASSES && r->truth.order[view.event.pass].listed;
    return known ? view.event.pass : 0;
}

static bool
slips(struct recovery *r, enum fault kind, uint32_t percent)
{
    bool slip = r->faulty && r->sim->now_ms < r->faults_end_ms && chance(&r->mistakes, percent);
    if (slip) {
        count_fault(r, kind);
    }
    return slip;
}

/* ---- engines ---- */

static uint32_t
other_weight(struct recovery *r, uint32_t weight_lb)
{
    uint32_t wrong_lb = TYPE_SETTING_LB[1 + draw(&r->mistakes, 3)];
    return wrong_lb != weight_lb ? wrong_lb : weight_lb + 1500;
}

static void
say_setting(struct recovery *r, uint32_t engine, uint32_t pass, uint32_t weight_lb)
{
    uint64_t sequence = 0;
    if (!say(r, AT_ENGINE + engine, say_set(weight_lb, event_of(r, pass)), &sequence)) {
        return;
    }
    /* He turns the selector only when it is to stand elsewhere. */
    if (r->truth.set_last[engine] != weight_lb) {
        bool slip = slips(r, FAULT_WRONG_SELECTOR, 3);
        r->truth.selector_lb[engine] = slip ? other_weight(r, weight_lb) : weight_lb;
    }
    truth_set(&r->truth, engine, word(r, sequence, pass, weight_lb));
    tell(r, "  set %u, selector %u", weight_lb, r->truth.selector_lb[engine]);
}

void
crew_say_battery(struct recovery *r, uint32_t engine, bool in)
{
    uint64_t sequence = 0;
    uint32_t pass = pass_on_screen(r, AT_ENGINE + engine);
    if (pass != 0 && say(r, AT_ENGINE + engine, say_battery(in, event_of(r, pass)), &sequence)) {
        truth_battery(&r->truth, engine, word(r, sequence, pass, in ? 1 : 0));
    }
}

static void
act_engine(struct recovery *r, uint32_t engine)
{
    uint32_t pass = pass_on_screen(r, AT_ENGINE + engine);
    if (pass == 0 || !r->truth.order[pass].known) {
        return;
    }
    uint32_t weight_lb = r->truth.order[pass].weight_lb;
    const struct tl_datum *set = own(r, AT_ENGINE + engine, TL_DATUM_SET, 0);
    const struct tl_datum *battery = own(r, AT_ENGINE + engine, TL_DATUM_BATTERY, 0);
    if (!own_for(r, set, pass)) {
        bool slip = slips(r, FAULT_WRONG_WEIGHT, 4);
        say_setting(r, engine, pass, slip ? other_weight(r, weight_lb) : weight_lb);
    } else if (set->as.set_lb != weight_lb && chance(&r->people, 60)) {
        say_setting(r, engine, pass, weight_lb);
    } else if (r->truth.selector_lb[engine] != set->as.set_lb && chance(&r->people, 50)) {
        r->truth.selector_lb[engine] = set->as.set_lb; /* the alarm shows him what he has done */
    }
    bool in = own_for(r, battery, pass) && battery->as.battery == TL_BATTERY_IN;
    if (!in && r->sim->now_ms >= r->battery_back_ms[engine]) {
        crew_say_battery(r, engine, true);
    }
}

/* ---- the deck ---- */

static uint32_t
place_of(enum truth_fouler who)
{
    return who == TRUTH_DECK ? AT_DECK : who == TRUTH_PLATFORM ? AT_PLATFORM : AT_PRIMARY;
}

static void
say_on_deck(struct recovery *r, enum truth_fouler who, enum truth_deck state, uint32_t pass)
{
    bool clear = state == TRUTH_CLEAR && who == TRUTH_DECK;
    struct tl_event event = clear ? event_of(r, pass) : (struct tl_event){0};
    enum tl_deck_state said = state == TRUTH_FOUL   ? TL_DECK_FOUL
                              : state == TRUTH_STOP ? TL_DECK_STOP
                              : clear               ? TL_DECK_CLEAR
                                                    : TL_DECK_NO_FOUL;
    uint64_t sequence = 0;
    if (say(r, place_of(who),
            say_deck(said, state == TRUTH_FOUL ? TL_FOUL_PERSON : TL_FOUL_UNKNOWN, event),
            &sequence)) {
        truth_deck(&r->truth, who, word(r, sequence, clear ? pass : 0, (uint32_t)state));
        tell(r, "  deck state %d", (int)state);
    }
}

void
crew_foul(struct recovery *r, enum truth_fouler who, enum truth_deck state)
{
    r->foul_until_ms[who] = r->sim->now_ms + 400 + draw(&r->mistakes, 2500);
    r->foul_state[who] = (uint32_t)state;
    say_on_deck(r, who, state, 0);
}

/* True when he has had to speak of the deck. */
static bool
act_fouler(struct recovery *r, enum truth_fouler who)
{
    const struct tl_datum *deck = own(r, place_of(who), TL_DATUM_DECK, 0);
    bool foul = deck != NULL && tl_datum_is_safeward(deck);
    if (r->sim->now_ms < r->foul_until_ms[who]) {
        if (!foul) {
            say_on_deck(r, who, (enum truth_deck)r->foul_state[who], 0);
        }
        return true;
    }
    bool silent = r->sim->now_ms < r->silent_until_ms[place_of(who)];
    if (who != TRUTH_DECK && (deck == NULL || foul) && !silent) {
        say_on_deck(r, who, TRUTH_CLEAR, 0);
        return true;
    }
    return false;
}

static void
act_deck(struct recovery *r)
{
    uint32_t pass = pass_on_screen(r, AT_DECK);
    const struct tl_datum *deck = own(r, AT_DECK, TL_DATUM_DECK, 0);
    bool clear = own_for(r, deck, pass) && deck->as.deck.state == TL_DECK_CLEAR;
    if (!act_fouler(r, TRUTH_DECK) && pass != 0 && !clear && r->sim->now_ms >= r->clear_at_ms) {
        say_on_deck(r, TRUTH_DECK, TRUTH_CLEAR, pass);
    }
}

/* ---- the platform ---- */

static void
say_pilots_call(struct recovery *r, uint32_t pass, uint32_t type)
{
    uint32_t side = r->aircraft[r->plane_of[pass]].side;
    uint64_t sequence = 0;
    if (say(r, AT_PLATFORM, say_call(side, TYPE[type], event_of(r, pass)), &sequence)) {
        truth_call(&r->truth, word(r, sequence, pass, side * 256 + type));
        tell(r, "  %u %s", side, TYPE[type]);
    }
}

void
crew_say_hook(struct recovery *r, bool down)
{
    uint64_t sequence = 0;
    uint32_t pass = pass_on_screen(r, AT_PLATFORM);
    if (pass != 0 && say(r, AT_PLATFORM, say_hook(down, event_of(r, pass)), &sequence)) {
        truth_hook(&r->truth, word(r, sequence, pass, down ? 1 : 0));
    }
}

static void
end_pass(struct recovery *r, uint32_t pass, enum tl_outcome outcome)
{
    struct aircraft *plane = &r->aircraft[r->plane_of[pass]];
    uint64_t sequence = 0;
    uint32_t wire = outcome == TL_OUTCOME_TRAP ? 3 : 0;
    if (!say(r, AT_PLATFORM, say_result(event_of(r, pass), outcome, wire), &sequence)) {
        return;
    }
    truth_result(&r->truth, pass, r->sim->now_ms);
    r->outcome[pass] = outcome;
    plane->pass = 0;
    plane->aboard = outcome == TL_OUTCOME_TRAP;
    r->clear_at_ms = r->sim->now_ms + 300 + draw(&r->people, 1000);
    r->ready_needed_ms = 300 + draw(&r->people, DWELL_MS);
    r->counts->passes++;
    r->counts->happening[outcome == TL_OUTCOME_TRAP     ? HAPPENS_TRAP
                         : outcome == TL_OUTCOME_BOLTER ? HAPPENS_BOLTER
                                                        : HAPPENS_WAVE_OFF]++;
    tell(r, "  pass %u ends: %s", pass,
         outcome == TL_OUTCOME_TRAP     ? "trap"
         : outcome == TL_OUTCOME_BOLTER ? "bolter"
                                        : "wave-off");
}

static enum tl_outcome
draw_outcome(struct recovery *r)
{
    uint32_t n = draw(&r->people, 100);
    return n < 75 ? TL_OUTCOME_TRAP : n < 90 ? TL_OUTCOME_BOLTER : TL_OUTCOME_WAVE_OFF;
}

/* What a new life of the platform has forgotten, its operator has not. */
static void
say_old_results(struct recovery *r)
{
    for (uint32_t pass = 1; pass <= r->highest_pass; pass++) {
        uint64_t sequence = 0;
        if (r->outcome[pass] != TL_OUTCOME_UNKNOWN &&
            own(r, AT_PLATFORM, TL_DATUM_RESULT, pass) == NULL) {
            (void)say(r, AT_PLATFORM,
                      say_result(event_of(r, pass), r->outcome[pass],
                                 r->outcome[pass] == TL_OUTCOME_TRAP ? 3 : 0),
                      &sequence);
        }
    }
}

static void
act_on_final(struct recovery *r, uint32_t pass)
{
    const struct tl_datum *call = own(r, AT_PLATFORM, TL_DATUM_CALL, 0);
    const struct tl_datum *hook = own(r, AT_PLATFORM, TL_DATUM_HOOK, 0);
    uint32_t type = r->aircraft[r->plane_of[pass]].type;
    bool down = own_for(r, hook, pass) && hook->as.hook == TL_HOOK_DOWN;
    if (!own_for(r, call, pass)) {
        bool slip = slips(r, FAULT_WRONG_TYPE, 4);
        say_pilots_call(r, pass, slip ? 1 + type % 3 : type);
    } else if (strcmp(call->as.call.type, TYPE[type]) != 0) {
        say_pilots_call(r, pass, type);
    }
    if (!down && r->sim->now_ms >= r->hook_back_ms) {
        crew_say_hook(r, true);
    }
}

static void
act_platform(struct recovery *r)
{
    uint32_t pass = pass_on_screen(r, AT_PLATFORM);
    uint64_t now_ms = r->sim->now_ms;
    say_old_results(r);
    if (act_fouler(r, TRUTH_PLATFORM) || pass == 0 || r->truth.order[pass].ended) {
        return;
    }
    bool long_enough = r->ready_since_ms != 0 &&
                       now_ms - r->ready_since_ms >= r->ready_needed_ms &&
                       r->all_ready_pass == pass;
    bool too_late = r->faulty && now_ms < r->faults_end_ms && pass == r->truth.current &&
                    now_ms - r->truth.event_since_ms > WAVE_OFF_AFTER_MS;
    if (long_enough) {
        end_pass(r, pass, draw_outcome(r));
    } else if (too_late) {
        end_pass(r, pass, TL_OUTCOME_WAVE_OFF);
    } else {
        act_on_final(r, pass);
    }
}

/* ---- primary ---- */

static void
say_one_order(struct recovery *r, uint32_t pass, struct tl_order as)
{
    struct tl_datum datum = say_order(event_of(r, pass), as.side, as.type, as.weight_lb, as.place);
    struct truth_order order = {.side = as.side, .weight_lb = as.weight_lb, .place = as.place};
    for (uint32_t type = 1; type < TYPES; type++) {
        order.type = strcmp(as.type, TYPE[type]) == 0 ? type : order.type;
    }
    if (say(r, AT_PRIMARY, datum, &order.sequence)) {
        truth_order(&r->truth, pass, &order, r->sim->now_ms);
        tell(r, "  order %u: %u %s %u place %d", pass, as.side, as.type, as.weight_lb, as.place);
    }
}

static int32_t
paper_place(const struct recovery *r, uint32_t pass)
{
    const struct truth_order *order = &r->truth.order[pass];
    return order->listed ? order->place : (int32_t)pass;
}

static void
order_plane(struct recovery *r, uint32_t plane, uint32_t pass, int32_t place)
{
    const struct aircraft *a = &r->aircraft[plane];
    struct tl_order order = {.side = a->side, .weight_lb = a->weight_lb, .place = place};
    bool slip = slips(r, FAULT_WRONG_ORDER, 4);
    (void)snprintf(order.type, sizeof order.type, "%s", TYPE[slip ? 1 + a->type % 3 : a->type]);
    say_one_order(r, pass, order);
}

static uint32_t
waiting(const struct recovery *r)
{
    uint32_t count = 0;
    for (uint32_t i = 0; i < r->aircraft_count; i++) {
        count += r->aircraft[i].pass != 0 ? 1 : 0;
    }
    return count;
}

static void
give_pass(struct recovery *r, uint32_t plane)
{
    uint32_t pass = ++r->highest_pass;
    r->aircraft[plane].pass = pass;
    r->plane_of[pass] = plane;
    order_plane(r, plane, pass, (int32_t)pass);
    if (!r->truth.order[pass].listed) { /* his station would not take it */
        r->aircraft[plane].pass = 0;
        r->highest_pass--;
    }
}

/* In a new life the orders on paper first, then the recovery that they are of. */
static bool
act_recovery(struct recovery *r)
{
    if (own(r, AT_PRIMARY, TL_DATUM_RECOVERY, 0) != NULL) {
        return false;
    }
    uint64_t sequence = 0;
    for (uint32_t i = 0; r->primary_resumes && i < r->aircraft_count; i++) {
        uint32_t pass = r->aircraft[i].pass;
        if (pass != 0 && own(r, AT_PRIMARY, TL_DATUM_ORDER, pass) == NULL) {
            order_plane(r, i, pass, paper_place(r, pass));
        }
    }
    if (say(r, AT_PRIMARY, say_recovery(r->recovery_ms, true), &sequence)) {
        truth_recovery(&r->truth, sequence, r->sim->now_ms);
        r->primary_resumes = false;
    }
    return true;
}

/* An order that a validator does not take again: the aircraft gets a new event. */
static void
renumber(struct recovery *r, uint32_t plane, uint32_t pass)
{
    struct tl_datum datum =
        say_order(event_of(r, pass), r->aircraft[plane].side, TYPE[1], 10000, (int32_t)pass);
    uint64_t sequence = 0;
    datum.as.order.state = TL_ORDER_CANCELLED;
    if (say(r, AT_PRIMARY, datum, &sequence)) {
        truth_cancel(&r->truth, pass, r->sim->now_ms);
        r->aircraft[plane].pass = 0;
    }
}

/* Orders that are missing or wrong; true when there was one. */
static bool
act_orders(struct recovery *r)
{
    for (uint32_t i = 0; i < r->aircraft_count; i++) {
        const struct aircraft *a = &r->aircraft[i];
        const struct tl_datum *order =
            a->pass != 0 ? own(r, AT_PRIMARY, TL_DATUM_ORDER, a->pass) : NULL;
        if (a->pass == 0) {
            continue;
        }
        if (order == NULL && r->order_refused[a->pass]) {
            renumber(r, i, a->pass);
            return true;
        }
        bool wrong = order != NULL && (strcmp(order->as.order.type, TYPE[a->type]) != 0 ||
                                       order->as.order.weight_lb != a->weight_lb);
        if (order == NULL || wrong) {
            order_plane(r, i, a->pass, paper_place(r, a->pass));
            return true;
        }
    }
    for (uint32_t i = 0; i < r->aircraft_count && waiting(r) < WAITING; i++) {
        if (r->aircraft[i].pass == 0 && !r->aircraft[i].aboard &&
            r->highest_pass + 1 < TRUTH_PASSES) {
            give_pass(r, i);
            return true;
        }
    }
    return false;
}

/* Now and then the second aircraft comes first. */
static bool
act_take(struct recovery *r)
{
    uint32_t first = r->truth.current;
    bool again = r->retake_ms != 0 && r->sim->now_ms >= r->retake_ms;
    if (first == 0 || waiting(r) < 2 || (!again && !chance(&r->people, 2))) {
        return false;
    }
    r->retake_ms = !again && chance(&r->people, 50) ? r->sim->now_ms + 300 : 0;
    for (uint32_t i = 0; i < r->aircraft_count; i++) {
        uint32_t pass = r->aircraft[i].pass;
        const struct truth_order *order = &r->truth.order[pass];
        if (pass != 0 && pass != first && order->known && order->accepted && !order->moving) {
            order_plane(r, i, pass, r->truth.order[first].place - 1);
            r->counts->happening[HAPPENS_RE_ORDER]++;
            return true;
        }
    }
    return false;
}

static void
act_repeaters(struct recovery *r)
{
    uint32_t pass = pass_on_screen(r, AT_PRIMARY);
    for (uint32_t engine = 0; pass != 0 && engine < TRUTH_ENGINES; engine++) {
        const struct tl_datum *read = own(r, AT_PRIMARY, TL_DATUM_REPEATER, engine + 1);
        const struct truth_word *set = &r->truth.set[engine];
        uint32_t dial_lb = r->truth.selector_lb[engine];
        uint64_t sequence = 0;
        /* He reads when he has heard that it is set for this event. */
        if (!set->known || set->pass != pass ||
            (own_for(r, read, pass) && read->as.repeater_lb == dial_lb)) {
            continue;
        }
        bool slip = dial_lb == set->value && slips(r, FAULT_MISREAD, 1);
        uint32_t read_lb = slip ? other_weight(r, dial_lb) : dial_lb;
        if (say(r, AT_PRIMARY, say_repeater(engine + 1, read_lb, event_of(r, pass)), &sequence)) {
            truth_repeater(&r->truth, engine, word(r, sequence, pass, read_lb));
            tell(r, "  repeater %u reads %u", engine + 1, read_lb);
        }
    }
}

static void
act_primary(struct recovery *r)
{
    if (act_recovery(r) || act_fouler(r, TRUTH_PRIMARY)) {
        return;
    }
    if (!act_orders(r)) {
        (void)act_take(r);
    }
    act_repeaters(r);
}

void
crew_say_new_weight(struct recovery *r)
{
    uint32_t pass = r->truth.current;
    if (pass != 0) {
        struct aircraft *a = &r->aircraft[r->plane_of[pass]];
        a->weight_lb = a->weight_lb == TYPE_SETTING_LB[a->type] ? a->weight_lb - 1000
                                                                : TYPE_SETTING_LB[a->type];
        order_plane(r, r->plane_of[pass], pass, paper_place(r, pass));
    }
}

/* ---- bridge and approach ---- */

void
crew_say_wind(struct recovery *r, bool known)
{
    if (crew_is_live(r, AT_BRIDGE)) {
        sim_wind(r->sim, known ? TL_WIND_KNOWN : TL_WIND_DISAGREE);
        truth_wind(&r->truth, known);
        tell(r, "bridge: wind %s", known ? "known" : "not known");
    }
}

static void
act_bridge(struct recovery *r)
{
    if (!r->truth.wind && r->sim->now_ms >= r->wind_back_ms) {
        crew_say_wind(r, true);
    }
}

static void
say_inbound(struct recovery *r, uint32_t plane, uint32_t type, bool diverted)
{
    const struct aircraft *a = &r->aircraft[plane];
    struct tl_datum datum = {.kind = TL_DATUM_INBOUND, .slot = a->side, .known = true};
    struct truth_inbound inbound = {.pending = true, .type = type, .diverted = diverted};
    datum.as.inbound.side = a->side;
    datum.as.inbound.weight_lb = a->weight_lb;
    datum.as.inbound.diverted = diverted;
    (void)snprintf(datum.as.inbound.type, sizeof datum.as.inbound.type, "%s", TYPE[type]);
    if (say(r, AT_APPROACH, datum, &inbound.sequence)) {
        truth_inbound(&r->truth, a->side % TRUTH_SIDES, inbound);
    }
}

void
crew_say_diverted(struct recovery *r, bool diverted)
{
    if (r->truth.current != 0) {
        uint32_t plane = r->plane_of[r->truth.current];
        say_inbound(r, plane, r->aircraft[plane].type, diverted);
    }
}

static void
act_approach(struct recovery *r)
{
    for (uint32_t i = 0; i < r->aircraft_count; i++) {
        const struct aircraft *a = &r->aircraft[i];
        const struct tl_datum *inbound = own(r, AT_APPROACH, TL_DATUM_INBOUND, a->side);
        if (a->pass == 0) {
            continue;
        }
        if (inbound == NULL) {
            bool slip = slips(r, FAULT_WRONG_TYPE, 4);
            say_inbound(r, i, slip ? 1 + a->type % 3 : a->type, false);
            return;
        }
        if (inbound->as.inbound.diverted || strcmp(inbound->as.inbound.type, TYPE[a->type]) != 0) {
            say_inbound(r, i, a->type, false);
            return;
        }
    }
}

/* ---- all ---- */

void
crew_take_back(struct recovery *r)
{
    static const struct {
        uint32_t place;
        enum tl_datum_kind kind;
    } WORDS[] = {{AT_ENGINE + 1, TL_DATUM_SET},    {AT_ENGINE + 2, TL_DATUM_BATTERY},
                 {AT_DECK, TL_DATUM_DECK},         {AT_PLATFORM, TL_DATUM_CALL},
                 {AT_PLATFORM, TL_DATUM_HOOK},     {AT_PLATFORM, TL_DATUM_DECK},
                 {AT_PRIMARY, TL_DATUM_REPEATER}};
    uint32_t n = draw(&r->mistakes, sizeof WORDS / sizeof WORDS[0]);
    bool dial = WORDS[n].kind == TL_DATUM_REPEATER;
    uint64_t sequence = 0;
    struct truth_word *const WORD[] = {&r->truth.set[1],  &r->truth.battery[2],
                                       &r->truth.deck[0], &r->truth.call,
                                       &r->truth.hook,    &r->truth.deck[TRUTH_PLATFORM],
                                       &r->truth.repeater[3]};
    if (say(r, WORDS[n].place, say_unknown(WORDS[n].kind, dial ? 4 : 0), &sequence)) {
        WORD[n]->known = false;
    }
}

static void
act_at(struct recovery *r, uint32_t place)
{
    switch (place) {
    case AT_DECK:
        act_deck(r);
        break;
    case AT_APPROACH:
        act_approach(r);
        break;
    case AT_PLATFORM:
        act_platform(r);
        break;
    case AT_PRIMARY:
        act_primary(r);
        break;
    case AT_BRIDGE:
        act_bridge(r);
        break;
    default:
        act_engine(r, place - AT_ENGINE);
        break;
    }
}

void
crew_act(struct recovery *r)
{
    for (uint32_t place = 0; place < AT_VALIDATOR; place++) {
        if (!crew_is_live(r, place) || r->sim->now_ms < r->next_act_ms[place]) {
            continue;
        }
        act_at(r, place);
        r->next_act_ms[place] = r->sim->now_ms + THINK_MIN_MS + draw(&r->people, THINK_MS);
        if (slips(r, FAULT_FORGETS, 1)) {
            r->next_act_ms[place] += 4000 + draw(&r->mistakes, 6000);
        } else if (slips(r, FAULT_LATE, 2)) {
            r->next_act_ms[place] += 1000 + draw(&r->mistakes, 2000);
        }
    }
}

void
crew_begin(struct recovery *r)
{
    r->recovery_ms = 5000 + r->seed % 1000;
    r->aircraft_wanted = 3 + draw(&r->people, 2);
    r->aircraft_count = r->faulty ? 12 : r->aircraft_wanted;
    for (uint32_t i = 0; i < AIRCRAFT_MAX; i++) {
        struct aircraft *a = &r->aircraft[i];
        a->side = 100 + i; /* neighbours do not share an entry of the oracle */
        a->type = 1 + draw(&r->people, 3);
        a->weight_lb = TYPE_SETTING_LB[a->type] - 500 + 500 * draw(&r->people, 3);
    }
    for (uint32_t place = 0; place < AT_VALIDATOR; place++) {
        r->next_act_ms[place] = r->sim->now_ms + 300 + draw(&r->people, 500);
    }
    r->ready_needed_ms = 300 + draw(&r->people, DWELL_MS);
}

bool
crew_all_aboard(const struct recovery *r)
{
    for (uint32_t i = 0; i < r->aircraft_wanted; i++) {
        if (!r->aircraft[i].aboard) {
            return false;
        }
    }
    return true;
}
