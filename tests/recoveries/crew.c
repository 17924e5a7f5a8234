/* SPDX-License-Identifier: Apache-2.0 */
/*
 * crew.c - the people: each looks at the screen of his own station, thinks, and says what is next.
 *
 * They know what they hear by voice (who is next, with which weight; what is set) and what their
 * own station tells them of their words. What they say is told to the oracle at that moment.
 */
#include <stdio.h>
#include <string.h>

#include "tests/recoveries/crew.h"
#include "tests/recoveries/figures.h"

enum {
    THINK_MIN_MS = 160,
    THINK_MS = 500,
    DWELL_MS = 900,
    WAVE_OFF_AFTER_MS = 9000
};

const char *const CREW_TYPE[CREW_TYPES] = {"", "dunlin", "plover", "curlew"};
const uint32_t TYPE_SETTING_LB[CREW_TYPES] = {0, 14500, 34000, 44000};
const uint32_t TYPE_TOLERANCE_LB[CREW_TYPES] = {0, 1000, 1000, 1000};

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

struct tl_event
crew_event(const struct recovery *r, uint32_t pass)
{
    return (struct tl_event){r->recovery_ms, pass};
}

const struct tl_datum *
crew_own(const struct recovery *r, uint32_t place, enum tl_datum_kind kind, uint32_t slot)
{
    const struct tl_own *word = tl_outbox_own(&node_at(r, place)->member->outbox, kind, slot);
    return word != NULL && word->datum.known ? &word->datum : NULL;
}

bool
crew_own_for(const struct recovery *r, const struct tl_datum *word, uint32_t pass)
{
    return word != NULL && tl_datum_is_for(word, crew_event(r, pass));
}

bool
crew_say(struct recovery *r, uint32_t place, struct tl_datum datum, uint64_t *sequence)
{
    const char *id = node_at(r, place)->id;
    if (!crew_is_live(r, place) || sim_try(r->sim, id, datum, sequence) != TL_OK) {
        return false;
    }
    tell(r, "#%llu %s says %s %s%u", (unsigned long long)*sequence, id,
         tl_datum_kind_name(datum.kind), datum.known ? "" : "unknown ",
         datum.stated_for_count > 0 ? datum.stated_for[0].pass : datum.slot);
    return true;
}

struct truth_word
crew_word(const struct recovery *r, uint64_t sequence, uint32_t pass, uint32_t value)
{
    return (struct truth_word){.known = true,
                               .said_ms = r->sim->now_ms,
                               .sequence = sequence,
                               .pass = pass,
                               .value = value};
}

uint32_t
crew_pass(const struct recovery *r, uint32_t place)
{
    struct tl_view view;
    sim_view(r->sim, node_at(r, place)->id, &view);
    bool known = view.event_known && view.event.recovery_ms == r->recovery_ms &&
                 view.event.pass < TRUTH_PASSES && r->truth.order[view.event.pass].listed;
    return known ? view.event.pass : 0;
}

bool
crew_slips(struct recovery *r, enum fault kind, uint32_t percent)
{
    bool slip = r->faulty && r->sim->now_ms < r->faults_end_ms && chance(&r->mistakes, percent);
    if (slip) {
        count_fault(r, kind);
    }
    return slip;
}

/* ---- engines ---- */

uint32_t
crew_other_weight(struct recovery *r, uint32_t weight_lb)
{
    uint32_t wrong_lb = TYPE_SETTING_LB[1 + draw(&r->mistakes, 3)];
    return wrong_lb != weight_lb ? wrong_lb : weight_lb + 1500;
}

static void
say_setting(struct recovery *r, uint32_t engine, uint32_t pass, uint32_t weight_lb)
{
    uint64_t sequence = 0;
    if (!crew_say(r, AT_ENGINE + engine, say_set(weight_lb, crew_event(r, pass)), &sequence)) {
        return;
    }
    /* He turns the selector only when it is to stand elsewhere. */
    if (r->truth.set_last[engine] != weight_lb) {
        bool slip = crew_slips(r, FAULT_WRONG_SELECTOR, 3);
        r->truth.selector_lb[engine] = slip ? crew_other_weight(r, weight_lb) : weight_lb;
    }
    truth_set(&r->truth, engine, crew_word(r, sequence, pass, weight_lb));
    tell(r, "  set %u, selector %u", weight_lb, r->truth.selector_lb[engine]);
}

/* Turned and said for another weight, under the aircraft on final; he soon sees it. */
void
crew_turn_selector(struct recovery *r, uint32_t engine)
{
    uint32_t pass = crew_pass(r, AT_ENGINE + engine);
    if (pass != 0 && r->truth.order[pass].known) {
        say_setting(r, engine, pass, crew_other_weight(r, r->truth.order[pass].weight_lb));
        bool soon = chance(&r->mistakes, 50);
        r->next_act_ms[AT_ENGINE + engine] = r->sim->now_ms + (soon ? 40 : 500);
    }
}

void
crew_say_battery(struct recovery *r, uint32_t engine, bool in)
{
    uint64_t sequence = 0;
    uint32_t pass = crew_pass(r, AT_ENGINE + engine);
    if (pass != 0 &&
        crew_say(r, AT_ENGINE + engine, say_battery(in, crew_event(r, pass)), &sequence)) {
        truth_battery(&r->truth, engine, crew_word(r, sequence, pass, in ? 1 : 0));
    }
}

static void
act_engine(struct recovery *r, uint32_t engine)
{
    uint32_t pass = crew_pass(r, AT_ENGINE + engine);
    if (pass == 0 || !r->truth.order[pass].known) {
        return;
    }
    uint32_t weight_lb = r->truth.order[pass].weight_lb;
    const struct tl_datum *set = crew_own(r, AT_ENGINE + engine, TL_DATUM_SET, 0);
    const struct tl_datum *battery = crew_own(r, AT_ENGINE + engine, TL_DATUM_BATTERY, 0);
    if (!crew_own_for(r, set, pass)) {
        bool slip = crew_slips(r, FAULT_WRONG_WEIGHT, 4);
        say_setting(r, engine, pass, slip ? crew_other_weight(r, weight_lb) : weight_lb);
    } else if (set->as.set_lb != weight_lb && chance(&r->people, 60)) {
        say_setting(r, engine, pass, weight_lb);
    } else if (r->truth.selector_lb[engine] != set->as.set_lb && chance(&r->people, 50)) {
        r->truth.selector_lb[engine] = set->as.set_lb; /* the alarm shows him what he has done */
    }
    bool in = crew_own_for(r, battery, pass) && battery->as.battery == TL_BATTERY_IN;
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
    struct tl_event event = clear ? crew_event(r, pass) : (struct tl_event){0};
    enum tl_deck_state said = state == TRUTH_FOUL   ? TL_DECK_FOUL
                              : state == TRUTH_STOP ? TL_DECK_STOP
                              : clear               ? TL_DECK_CLEAR
                                                    : TL_DECK_NO_FOUL;
    uint64_t sequence = 0;
    if (crew_say(r, place_of(who),
                 say_deck(said, state == TRUTH_FOUL ? TL_FOUL_PERSON : TL_FOUL_UNKNOWN, event),
                 &sequence)) {
        truth_deck(&r->truth, who, crew_word(r, sequence, clear ? pass : 0, (uint32_t)state));
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

bool
crew_act_fouler(struct recovery *r, enum truth_fouler who)
{
    const struct tl_datum *deck = crew_own(r, place_of(who), TL_DATUM_DECK, 0);
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
    uint32_t pass = crew_pass(r, AT_DECK);
    const struct tl_datum *deck = crew_own(r, AT_DECK, TL_DATUM_DECK, 0);
    bool clear = crew_own_for(r, deck, pass) && deck->as.deck.state == TL_DECK_CLEAR;
    if (!crew_act_fouler(r, TRUTH_DECK) && pass != 0 && !clear &&
        r->sim->now_ms >= r->clear_at_ms) {
        say_on_deck(r, TRUTH_DECK, TRUTH_CLEAR, pass);
    }
}

/* ---- the platform ---- */

static void
say_pilots_call(struct recovery *r, uint32_t pass, uint32_t type)
{
    uint32_t side = r->aircraft[r->plane_of[pass]].side;
    uint64_t sequence = 0;
    if (crew_say(r, AT_PLATFORM, say_call(side, CREW_TYPE[type], crew_event(r, pass)), &sequence)) {
        truth_call(&r->truth, crew_word(r, sequence, pass, side * 256 + type));
        tell(r, "  %u %s", side, CREW_TYPE[type]);
    }
}

void
crew_say_hook(struct recovery *r, bool down)
{
    uint64_t sequence = 0;
    uint32_t pass = crew_pass(r, AT_PLATFORM);
    if (pass != 0 && crew_say(r, AT_PLATFORM, say_hook(down, crew_event(r, pass)), &sequence)) {
        truth_hook(&r->truth, crew_word(r, sequence, pass, down ? 1 : 0));
    }
}

static void
end_pass(struct recovery *r, uint32_t pass, enum tl_outcome outcome)
{
    struct aircraft *plane = &r->aircraft[r->plane_of[pass]];
    uint64_t sequence = 0;
    uint32_t wire = outcome == TL_OUTCOME_TRAP ? 3 : 0;
    if (!crew_say(r, AT_PLATFORM, say_result(crew_event(r, pass), outcome, wire), &sequence)) {
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
            crew_own(r, AT_PLATFORM, TL_DATUM_RESULT, pass) == NULL) {
            (void)crew_say(r, AT_PLATFORM,
                           say_result(crew_event(r, pass), r->outcome[pass],
                                      r->outcome[pass] == TL_OUTCOME_TRAP ? 3 : 0),
                           &sequence);
        }
    }
}

static void
act_on_final(struct recovery *r, uint32_t pass)
{
    const struct tl_datum *call = crew_own(r, AT_PLATFORM, TL_DATUM_CALL, 0);
    const struct tl_datum *hook = crew_own(r, AT_PLATFORM, TL_DATUM_HOOK, 0);
    uint32_t type = r->aircraft[r->plane_of[pass]].type;
    bool down = crew_own_for(r, hook, pass) && hook->as.hook == TL_HOOK_DOWN;
    if (!crew_own_for(r, call, pass)) {
        bool slip = crew_slips(r, FAULT_WRONG_TYPE, 4);
        say_pilots_call(r, pass, slip ? 1 + type % 3 : type);
    } else if (strcmp(call->as.call.type, CREW_TYPE[type]) != 0) {
        say_pilots_call(r, pass, type);
    }
    if (!down && r->sim->now_ms >= r->hook_back_ms) {
        crew_say_hook(r, true);
    }
}

static void
act_platform(struct recovery *r)
{
    uint32_t pass = crew_pass(r, AT_PLATFORM);
    uint64_t now_ms = r->sim->now_ms;
    say_old_results(r);
    if (crew_act_fouler(r, TRUTH_PLATFORM) || pass == 0 || r->truth.order[pass].ended) {
        return;
    }
    bool long_enough = r->ready_since_ms != 0 && now_ms - r->ready_since_ms >= r->ready_needed_ms &&
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

/* ---- bridge and approach ---- */

void
crew_say_wind(struct recovery *r, bool known)
{
    if (crew_is_live(r, AT_BRIDGE)) {
        struct tl_sample sample = {.kind = TL_SAMPLE_WIND};
        sample.as.wind.state = known ? TL_WIND_KNOWN : TL_WIND_DISAGREE;
        sample.as.wind.headwind_kt_x10 = 10 * r->headwind_kt + (int32_t)draw(&r->sea, 10);
        tl_member_samples(node_at(r, AT_BRIDGE)->member, &sample, 1);
        truth_wind(&r->truth, (struct truth_sea){known, r->headwind_kt}, r->sim->now_ms);
        tell(r, "bridge: wind %s, %d kn", known ? "known" : "not known", r->headwind_kt);
    }
}

static void
draw_wind(struct recovery *r)
{
    r->headwind_kt = FIGURES_WIND_LEAST_KT + (int32_t)draw(&r->sea, 9);
    r->next_wind_ms = r->sim->now_ms + 3000 + draw(&r->sea, 9000);
}

/* So little that it is not enough for every aircraft. */
void
crew_little_wind(struct recovery *r)
{
    if (crew_is_live(r, AT_BRIDGE)) {
        r->headwind_kt = 12 + (int32_t)draw(&r->mistakes, FIGURES_WIND_LEAST_KT - 12);
        crew_say_wind(r, true);
    }
}

static void
act_bridge(struct recovery *r)
{
    bool little = r->headwind_kt < FIGURES_WIND_LEAST_KT;
    bool other = little || r->sim->now_ms >= r->next_wind_ms;
    if (r->sim->now_ms >= r->wind_back_ms && (!r->truth.sea.known || other)) {
        if (other) {
            draw_wind(r);
        }
        crew_say_wind(r, true);
    }
}

/* By approach; the aircraft on final may be heard to have another weight than it has. */
static uint32_t
heard_lb(const struct recovery *r, const struct aircraft *a)
{
    bool other = a->pass != 0 && a->pass == r->truth.current && r->weighs_lb != 0 &&
                 r->sim->now_ms < r->weighs_until_ms;
    return other ? r->weighs_lb : a->weight_lb;
}

static void
say_inbound(struct recovery *r, uint32_t plane, uint32_t type, bool diverted)
{
    const struct aircraft *a = &r->aircraft[plane];
    bool slip = !diverted && crew_slips(r, FAULT_WRONG_ACTUAL, 4);
    struct tl_datum datum = {.kind = TL_DATUM_INBOUND, .slot = a->side, .known = true};
    struct truth_inbound inbound = {.pending = true, .type = type, .diverted = diverted};
    inbound.weight_lb = slip ? a->weight_lb + 500 + 500 * draw(&r->mistakes, 7) : heard_lb(r, a);
    datum.as.inbound.side = a->side;
    datum.as.inbound.weight_lb = inbound.weight_lb;
    datum.as.inbound.diverted = diverted;
    (void)snprintf(datum.as.inbound.type, sizeof datum.as.inbound.type, "%s", CREW_TYPE[type]);
    if (crew_say(r, AT_APPROACH, datum, &inbound.sequence)) {
        truth_inbound(&r->truth, a->side % TRUTH_SIDES, inbound);
        tell(r, "  weighs %u lb", inbound.weight_lb);
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

/* A step more or less, within every bound, or so much more that it is beyond one. */
void
crew_weighs_other(struct recovery *r)
{
    if (r->truth.current == 0) {
        return;
    }
    uint32_t plane = r->plane_of[r->truth.current];
    const struct aircraft *a = &r->aircraft[plane];
    bool step = chance(&r->mistakes, 60);
    bool book = a->weight_lb <= TYPE_SETTING_LB[a->type];
    r->weighs_lb = !step  ? a->weight_lb + 1500 + 500 * draw(&r->mistakes, 5)
                   : book ? a->weight_lb + 500
                          : a->weight_lb - 500;
    r->weighs_until_ms = r->sim->now_ms + 2000 + draw(&r->mistakes, 4000);
    say_inbound(r, plane, a->type, false);
}

static void
act_approach(struct recovery *r)
{
    for (uint32_t i = 0; i < r->aircraft_count; i++) {
        const struct aircraft *a = &r->aircraft[i];
        const struct tl_datum *inbound = crew_own(r, AT_APPROACH, TL_DATUM_INBOUND, a->side);
        if (a->pass == 0) {
            continue;
        }
        if (inbound == NULL) {
            bool slip = crew_slips(r, FAULT_WRONG_TYPE, 4);
            say_inbound(r, i, slip ? 1 + a->type % 3 : a->type, false);
            return;
        }
        if (inbound->as.inbound.diverted || inbound->as.inbound.weight_lb != heard_lb(r, a) ||
            strcmp(inbound->as.inbound.type, CREW_TYPE[a->type]) != 0) {
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
    } WORDS[] = {{AT_ENGINE + 1, TL_DATUM_SET},  {AT_ENGINE + 2, TL_DATUM_BATTERY},
                 {AT_DECK, TL_DATUM_DECK},       {AT_PLATFORM, TL_DATUM_CALL},
                 {AT_PLATFORM, TL_DATUM_HOOK},   {AT_PLATFORM, TL_DATUM_DECK},
                 {AT_PRIMARY, TL_DATUM_REPEATER}};
    uint32_t n = draw(&r->mistakes, sizeof WORDS / sizeof WORDS[0]);
    bool dial = WORDS[n].kind == TL_DATUM_REPEATER;
    uint64_t sequence = 0;
    struct truth_word *const words[] = {
        &r->truth.set[1], &r->truth.battery[2],           &r->truth.deck[0],    &r->truth.call,
        &r->truth.hook,   &r->truth.deck[TRUTH_PLATFORM], &r->truth.repeater[3]};
    if (crew_say(r, WORDS[n].place, say_unknown(WORDS[n].kind, dial ? 4 : 0), &sequence)) {
        words[n]->known = false;
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
        crew_act_primary(r);
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
        if (crew_slips(r, FAULT_FORGETS, 1)) {
            r->next_act_ms[place] += 4000 + draw(&r->mistakes, 6000);
        } else if (crew_slips(r, FAULT_LATE, 2)) {
            r->next_act_ms[place] += 1000 + draw(&r->mistakes, 2000);
        }
    }
}

void
crew_begin(struct recovery *r)
{
    r->recovery_ms = 5000 + r->seed % 1000;
    draw_wind(r);
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
