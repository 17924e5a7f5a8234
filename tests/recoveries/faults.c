/* SPDX-License-Identifier: Apache-2.0 */
/*
 * faults.c - what goes wrong: on the network, in the machines, and on deck at the worst moment.
 *
 * Faults of the machines begin at random and last for a while, several at a time. What happens on
 * deck is timed by the screens: shortly after READY has come, and often together with the crash of
 * the station that says it, of a validator, or of a broker.
 */
#include "tests/recoveries/recovery.h"

enum {
    MOMENT_PERCENT = 70, /* of the READY periods have something happen in them */
    COMBINED_PERCENT = 40
};

const char *
fault_name(enum fault kind)
{
    static const char *const NAMES[FAULT_KINDS] = {
        [FAULT_LOSS] = "loss",
        [FAULT_DELAY] = "delay",
        [FAULT_REORDER] = "reordering",
        [FAULT_DUPLICATE] = "duplication",
        [FAULT_BUS_CRASH] = "bus-crash",
        [FAULT_STATION_CRASH] = "station-crash",
        [FAULT_VALIDATOR_CRASH] = "validator-crash",
        [FAULT_STATION_FREEZE] = "station-freeze",
        [FAULT_VALIDATOR_FREEZE] = "validator-freeze",
        [FAULT_CUT] = "cut-off",
        [FAULT_SLOW_NODE] = "slow-node",
        [FAULT_HANG] = "mechanics-hang",
        [FAULT_LATE_ANSWERS] = "late-answers",
        [FAULT_CLOCK_SKEW] = "clock-skew",
        [FAULT_WRONG_WEIGHT] = "wrong-weight",
        [FAULT_WRONG_SELECTOR] = "wrong-selector",
        [FAULT_WRONG_TYPE] = "wrong-type",
        [FAULT_WRONG_ORDER] = "wrong-order",
        [FAULT_WRONG_ACTUAL] = "wrong-actual-weight",
        [FAULT_MISREAD] = "misread-repeater",
        [FAULT_FORGETS] = "forgets",
        [FAULT_LATE] = "late",
        [FAULT_FOUL] = "foul",
        [FAULT_STOP] = "stop",
        [FAULT_BATTERY_OUT] = "battery-out",
        [FAULT_HOOK_UP] = "hook-up",
        [FAULT_WIND_LOST] = "wind-lost",
        [FAULT_NEW_WEIGHT] = "new-weight",
        [FAULT_DIVERTED] = "diverted",
        [FAULT_TAKEN_BACK] = "taken-back",
        [FAULT_TURNED] = "turned-on-final",
        [FAULT_LITTLE_WIND] = "little-wind",
        [FAULT_WEIGHS_OTHER] = "weighs-other",
    };
    return NAMES[kind];
}

void
count_fault(struct recovery *r, enum fault kind)
{
    r->counts->fault[kind]++;
    tell(r, "FAULT %s", fault_name(kind));
}

static uint32_t
among(struct recovery *r, uint32_t below)
{
    return draw(&r->trouble, below);
}

/* ---- crashes ---- */

static void
forget_words(struct recovery *r, uint32_t place)
{
    struct truth *truth = &r->truth;
    if (place < AT_DECK) {
        truth_engine_restarted(truth, place);
    } else if (place == AT_DECK) {
        truth_deck_restarted(truth, TRUTH_DECK);
    } else if (place == AT_APPROACH) {
        truth_approach_restarted(truth);
    } else if (place == AT_PLATFORM) {
        truth_platform_restarted(truth);
    } else if (place == AT_PRIMARY) {
        truth_primary_restarted(truth);
        r->primary_resumes = true;
    } else if (place == AT_BRIDGE) {
        truth_bridge_restarted(truth);
    }
}

static void
crash(struct recovery *r, uint32_t place)
{
    sim_kill(r->sim, r->sim->node[place].id);
    forget_words(r, place);
    tell(r, "%s dies", r->sim->node[place].id);
}

static void
start_again(struct recovery *r, uint32_t place)
{
    sim_start(r->sim, r->sim->node[place].id);
    truth_node_restarted(&r->truth, place, r->sim->now_ms);
    if (place == AT_VALIDATOR || place == AT_VALIDATOR + 1) {
        mechanics_connect(r, place - AT_VALIDATOR);
    }
    r->silent_until_ms[place] = r->sim->now_ms + (among(r, 2) == 0 ? 4000 + among(r, 3000) : 0);
    tell(r, "%s starts", r->sim->node[place].id);
}

/* ---- one fault ---- */

static void
for_each_bus(struct recovery *r, const struct active_fault *fault, uint64_t value)
{
    for (uint32_t bus = 0; bus < SIM_BUSES; bus++) {
        if (fault->bus != bus && fault->bus != SIM_BUSES) {
            continue;
        }
        if (fault->kind == FAULT_LOSS) {
            r->sim->loss_percent[bus] = (uint32_t)value;
        } else if (fault->kind == FAULT_DELAY) {
            r->sim->bus_delay_ms[bus] = 1 + bus + value;
        } else if (fault->kind == FAULT_REORDER) {
            r->sim->jitter_ms[bus] = value;
        } else if (fault->kind == FAULT_DUPLICATE) {
            r->sim->again_percent[bus] = (uint32_t)value;
        } else {
            sim_bus(r->sim, bus, value == 0);
        }
    }
}

static void
cut(struct recovery *r, const struct active_fault *fault, bool on)
{
    struct sim_node *node = &r->sim->node[fault->node];
    for (uint32_t bus = 0; bus < SIM_BUSES; bus++) {
        node->out_cut[bus] = on && fault->bus != 1; /* both ways, only in, only out */
        node->in_cut[bus] = on && fault->bus != 2;
    }
}

static void
slow(struct recovery *r, const struct active_fault *fault, bool on)
{
    struct sim_node *node = &r->sim->node[fault->node];
    uint64_t most_ms = among(r, 3) == 0 ? 2500 : 500; /* more than an age may be, or not */
    for (uint32_t bus = 0; bus < SIM_BUSES; bus++) {
        node->out_delay_ms[bus] = on && fault->bus != 1 ? 50 + among(r, (uint32_t)most_ms) : 0;
        node->in_delay_ms[bus] = on && fault->bus != 2 ? 50 + among(r, (uint32_t)most_ms) : 0;
    }
}

static bool
is_of_mechanics(enum fault kind)
{
    return kind == FAULT_HANG || kind == FAULT_LATE_ANSWERS;
}

static void
trouble_mechanics(struct recovery *r, const struct active_fault *fault, bool on)
{
    struct mechanics *mechanics = &r->mechanics[fault->node - AT_VALIDATOR];
    bool *trouble = fault->kind == FAULT_HANG ? &mechanics->hangs : &mechanics->slow;
    *trouble = on;
}

/* Never two of one kind: the end of the first would be that of the second. */
static bool
is_active(const struct recovery *r, enum fault kind)
{
    for (uint32_t i = 0; i < r->active_count; i++) {
        if (r->active[i].kind == kind) {
            return true;
        }
    }
    return false;
}

static bool
begin_on_node(struct recovery *r, struct active_fault *fault)
{
    bool validator = fault->kind == FAULT_VALIDATOR_CRASH ||
                     fault->kind == FAULT_VALIDATOR_FREEZE || is_of_mechanics(fault->kind);
    /* A slow station is lost to all; only a viewer can be slow and see READY. */
    uint32_t viewer_in = fault->kind == FAULT_SLOW_NODE ? 2 : 8;
    bool viewer = among(r, viewer_in) == 0;
    fault->node = validator ? AT_VALIDATOR + among(r, 2)
                  : viewer  ? (uint32_t)AT_VIEWER
                            : among(r, AT_VALIDATOR);
    if (fault->kind == FAULT_CUT && among(r, 4) == 0) {
        fault->node = AT_VALIDATOR + among(r, 2);
    }
    if (!crew_is_live(r, fault->node)) {
        return false;
    }
    tell(r, "on %s", r->sim->node[fault->node].id);
    if (fault->kind == FAULT_STATION_CRASH || fault->kind == FAULT_VALIDATOR_CRASH) {
        crash(r, fault->node);
    } else if (fault->kind == FAULT_CUT) {
        cut(r, fault, true);
    } else if (fault->kind == FAULT_SLOW_NODE) {
        slow(r, fault, true);
    } else if (is_of_mechanics(fault->kind)) {
        trouble_mechanics(r, fault, true);
    } else {
        sim_stop(r->sim, r->sim->node[fault->node].id, true);
    }
    return true;
}

static bool
begin_on_bus(struct recovery *r, struct active_fault *fault)
{
    uint64_t value = 1;
    fault->bus = among(r, 3); /* one, the other, both */
    if (fault->kind == FAULT_LOSS) {
        value = 5 + among(r, 45);
    } else if (fault->kind == FAULT_DELAY) {
        value = 20 + among(r, among(r, 4) == 0 ? 1500 : 350);
    } else if (fault->kind == FAULT_REORDER) {
        value = 20 + among(r, 400);
    } else if (fault->kind == FAULT_DUPLICATE) {
        value = 5 + among(r, 40);
    }
    tell(r, "on bus %u: %llu", fault->bus, (unsigned long long)value);
    for_each_bus(r, fault, value);
    return true;
}

static uint64_t
lasts_ms(struct recovery *r, enum fault kind)
{
    if (kind <= FAULT_DUPLICATE) {
        return 500 + among(r, 5000);
    }
    if (kind == FAULT_SLOW_NODE || is_of_mechanics(kind)) {
        return 500 + among(r, 8000);
    }
    bool crash = kind == FAULT_STATION_CRASH || kind == FAULT_VALIDATOR_CRASH;
    return crash ? 20 + among(r, 1500) : 100 + among(r, 2400);
}

static void
begin(struct recovery *r, enum fault kind)
{
    struct active_fault fault = {.kind = kind};
    bool on_bus = kind <= FAULT_BUS_CRASH;
    if (kind == FAULT_CLOCK_SKEW || r->active_count == ACTIVE_FAULTS || is_active(r, kind)) {
        return;
    }
    fault.bus = among(r, 3);
    if (on_bus ? begin_on_bus(r, &fault) : begin_on_node(r, &fault)) {
        fault.until_ms = r->sim->now_ms + lasts_ms(r, kind);
        r->active[r->active_count++] = fault;
        count_fault(r, kind);
    }
}

static void
end(struct recovery *r, const struct active_fault *fault)
{
    tell(r, "end of %s", fault_name(fault->kind));
    if (fault->kind == FAULT_STATION_CRASH || fault->kind == FAULT_VALIDATOR_CRASH) {
        start_again(r, fault->node);
    } else if (fault->kind == FAULT_STATION_FREEZE || fault->kind == FAULT_VALIDATOR_FREEZE) {
        if (r->sim->node[fault->node].stopped) {
            sim_stop(r->sim, r->sim->node[fault->node].id, false);
        }
    } else if (fault->kind == FAULT_CUT) {
        cut(r, fault, false);
    } else if (fault->kind == FAULT_SLOW_NODE) {
        slow(r, fault, false);
    } else if (is_of_mechanics(fault->kind)) {
        trouble_mechanics(r, fault, false);
    } else {
        for_each_bus(r, fault, 0);
    }
}

/* ---- what happens on deck ---- */

/* Half the time what is said next by that station is lost at first. */
static void
cut_for_an_instant(struct recovery *r, uint32_t place)
{
    struct active_fault fault = {.kind = FAULT_CUT, .node = place};
    if (among(r, 2) == 0 || is_active(r, FAULT_CUT) || r->active_count == ACTIVE_FAULTS) {
        return;
    }
    cut(r, &fault, true);
    fault.until_ms = r->sim->now_ms + 60 + among(r, 300);
    r->active[r->active_count++] = fault;
    count_fault(r, FAULT_CUT);
}

static enum fault
happens_on_deck(struct recovery *r, uint32_t *place)
{
    uint32_t engine = draw(&r->mistakes, TRUTH_ENGINES);
    uint64_t back_ms = r->sim->now_ms + 300 + draw(&r->mistakes, 2000);
    enum truth_fouler who = (enum truth_fouler)draw(&r->mistakes, TRUTH_FOULERS);
    *place = who == TRUTH_DECK ? AT_DECK : who == TRUTH_PLATFORM ? AT_PLATFORM : AT_PRIMARY;
    switch (draw(&r->mistakes, 13)) {
    case 0:
    case 1:
    case 2:
        crew_foul(r, who, TRUTH_FOUL);
        return FAULT_FOUL;
    case 3:
        *place = AT_PRIMARY;
        crew_foul(r, TRUTH_PRIMARY, TRUTH_STOP);
        return FAULT_STOP;
    case 4:
        *place = AT_ENGINE + engine;
        cut_for_an_instant(r, *place);
        r->battery_back_ms[engine] = back_ms;
        crew_say_battery(r, engine, false);
        return FAULT_BATTERY_OUT;
    case 5:
        *place = AT_PLATFORM;
        r->hook_back_ms = back_ms;
        crew_say_hook(r, false);
        return FAULT_HOOK_UP;
    case 6:
        *place = AT_BRIDGE;
        r->wind_back_ms = back_ms;
        crew_say_wind(r, false);
        return FAULT_WIND_LOST;
    case 7:
        *place = AT_PRIMARY;
        crew_say_new_weight(r);
        return FAULT_NEW_WEIGHT;
    case 8:
        *place = AT_APPROACH;
        crew_say_diverted(r, true);
        return FAULT_DIVERTED;
    case 9:
        *place = AT_ENGINE + engine;
        cut_for_an_instant(r, *place);
        crew_turn_selector(r, engine);
        return FAULT_TURNED;
    case 10:
        *place = AT_BRIDGE;
        r->wind_back_ms = back_ms;
        crew_little_wind(r);
        return FAULT_LITTLE_WIND;
    case 11:
        *place = AT_APPROACH;
        crew_weighs_other(r);
        return FAULT_WEIGHS_OTHER;
    default:
        crew_take_back(r);
        return FAULT_TAKEN_BACK;
    }
}

/*
 * Together with it, or just before it has left: the station, a validator or a broker dies, or a
 * validator computes nothing.
 */
static void
combine(struct recovery *r, uint32_t place)
{
    struct active_fault fault = {.kind = FAULT_STATION_CRASH, .node = place};
    switch (among(r, 5)) {
    case 0:
    case 1:
        if (is_active(r, FAULT_STATION_CRASH) || r->active_count == ACTIVE_FAULTS ||
            !crew_is_live(r, place)) {
            return;
        }
        crash(r, place);
        fault.until_ms = r->sim->now_ms + 20 + among(r, 1200);
        r->active[r->active_count++] = fault;
        count_fault(r, FAULT_STATION_CRASH);
        return;
    case 2:
        begin(r, FAULT_VALIDATOR_CRASH);
        return;
    case 3:
        begin(r, FAULT_HANG);
        return;
    default:
        begin(r, FAULT_BUS_CRASH);
        return;
    }
}

static void
tend_moment(struct recovery *r)
{
    if (r->viewer_pass == 0) {
        r->moment_ms = 0;
    } else if (r->moment_ms == 0) {
        bool will = chance(&r->mistakes, MOMENT_PERCENT);
        r->moment_ms = will ? r->sim->now_ms + 20 + draw(&r->mistakes, 900) : UINT64_MAX;
    }
    if (r->moment_ms != 0 && r->sim->now_ms >= r->moment_ms) {
        uint32_t place = 0;
        r->moment_ms = UINT64_MAX;
        enum fault kind = happens_on_deck(r, &place);
        count_fault(r, kind);
        if (kind == FAULT_WEIGHS_OTHER && chance(&r->mistakes, 50)) {
            begin(r, FAULT_HANG);
        } else if (chance(&r->mistakes, COMBINED_PERCENT)) {
            combine(r, place);
        }
    }
}

/* ---- all ---- */

void
faults_begin(struct recovery *r)
{
    if (!r->faulty) {
        return;
    }
    r->faults_end_ms = r->sim->now_ms + 14000 + among(r, 8000);
    r->next_fault_ms = r->sim->now_ms + 1000 + among(r, 4000);
    if (among(r, 2) == 0) {
        for (uint32_t place = 0; place < PLACES; place++) {
            r->sim->node[place].clock_ppm = (int64_t)among(r, 1001) - 500;
        }
        count_fault(r, FAULT_CLOCK_SKEW);
    }
}

void
faults_tend(struct recovery *r)
{
    uint64_t now_ms = r->sim->now_ms;
    if (!r->faulty || now_ms >= r->faults_end_ms) {
        return;
    }
    for (uint32_t i = 0; i < r->active_count;) {
        struct active_fault fault = r->active[i];
        if (now_ms >= fault.until_ms) {
            r->active[i] = r->active[--r->active_count];
            end(r, &fault);
        } else {
            i++;
        }
    }
    if (now_ms >= r->next_fault_ms) {
        static const uint32_t GAP_MS[] = {1200, 2500, 5000};
        begin(r, (enum fault)among(r, FAULT_CLOCK_SKEW));
        r->next_fault_ms = now_ms + 100 + among(r, 2 * GAP_MS[r->seed % 3]);
    }
    tend_moment(r);
}

void
faults_end(struct recovery *r)
{
    while (r->active_count > 0) {
        struct active_fault fault = r->active[--r->active_count];
        end(r, &fault);
    }
    r->moment_ms = 0;
}
