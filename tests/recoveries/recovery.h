/* SPDX-License-Identifier: Apache-2.0 */
/*
 * recovery.h - one simulated recovery: the ship, its people, what goes wrong, and what is counted.
 *
 * One seed is one recovery. People draw from one stream of random numbers, their mistakes and what
 * happens on deck from another, faults of the machines from a third, so that each can be left out;
 * the sea and the time that the mechanics take are two more.
 * crew.c is the people, faults.c what goes wrong, recovery.c the clock and the judge of it all.
 */
#ifndef TESTS_RECOVERIES_RECOVERY_H
#define TESTS_RECOVERIES_RECOVERY_H

#include "tests/recoveries/mechanics.h"
#include "tests/recoveries/truth.h"
#include "tests/support/replayer.h"

enum {
    STEP_MS = 20,
    AIRCRAFT_MAX = 24,
    ACTIVE_FAULTS = 12,
    PASS_LIMIT_MS = 20000,    /* without faults each pass is READY in this time */
    RECOVER_LIMIT_MS = 25000, /* after the faults ended it is READY again in this time */
    FREE_LIMIT_MS = 120000,   /* without faults all aircraft are aboard in this time */
    DEADLINE_MS = 1000        /* NOT READY on every live screen */
};

/* The nodes, in the order in which the simulated ship has them. */
enum place {
    AT_ENGINE = 0,
    AT_DECK = 4,
    AT_APPROACH,
    AT_PLATFORM,
    AT_PRIMARY,
    AT_BRIDGE,
    AT_VALIDATOR,
    AT_VIEWER = AT_VALIDATOR + 2,
    PLACES
};
static_assert((int)PLACES == (int)TRUTH_NODES, "one entry of the oracle for each node");
static_assert((int)AT_DECK == (int)TRUTH_AT_DECK, "in the same order");
static_assert((int)AT_PLATFORM == (int)TRUTH_AT_PLATFORM, "in the same order");

enum fault {
    /* of the machines */
    FAULT_LOSS,
    FAULT_DELAY,
    FAULT_REORDER,
    FAULT_DUPLICATE,
    FAULT_BUS_CRASH,
    FAULT_STATION_CRASH,
    FAULT_VALIDATOR_CRASH,
    FAULT_STATION_FREEZE,
    FAULT_VALIDATOR_FREEZE,
    FAULT_CUT,
    FAULT_SLOW_NODE,
    FAULT_HANG,         /* the mechanics of a validator answer nothing */
    FAULT_LATE_ANSWERS, /* or late, to what was asked before */
    FAULT_CLOCK_SKEW,
    FAULT_MACHINES, /* so many */
    /* of people */
    FAULT_WRONG_WEIGHT = FAULT_MACHINES,
    FAULT_WRONG_SELECTOR,
    FAULT_WRONG_TYPE,
    FAULT_WRONG_ORDER,
    FAULT_WRONG_ACTUAL, /* approach says another weight */
    FAULT_MISREAD,
    FAULT_FORGETS,
    FAULT_LATE,
    /* on deck, when it suits least */
    FAULT_FOUL,
    FAULT_STOP,
    FAULT_BATTERY_OUT,
    FAULT_HOOK_UP,
    FAULT_WIND_LOST,
    FAULT_NEW_WEIGHT,
    FAULT_DIVERTED,
    FAULT_TAKEN_BACK,
    FAULT_TURNED,
    FAULT_LITTLE_WIND,
    FAULT_WEIGHS_OTHER, /* approach hears another weight */
    FAULT_KINDS
};

/* What happens on every flight deck, with faults or without. */
enum happening {
    HAPPENS_TRAP,
    HAPPENS_BOLTER,
    HAPPENS_WAVE_OFF,
    HAPPENS_RE_ORDER,
    HAPPENING_KINDS
};

struct counts {
    uint64_t recoveries;
    uint64_t passes;
    uint64_t ready_periods;
    uint64_t fault[FAULT_KINDS];
    uint64_t happening[HAPPENING_KINDS];
    uint64_t judged;        /* screens looked at */
    uint64_t ready_screens; /* of them READY */
    uint64_t late_max_ms;   /* longest READY without right */
    uint64_t late_max_seed;
    uint64_t recover_max_ms; /* from the end of the faults to READY */
    uint64_t pass_max_ms;    /* without faults, from current to READY */
    uint64_t simulated_ms;
    uint64_t alerts;      /* without faults */
    uint64_t spared;      /* see truth.h */
    uint64_t answers;     /* of the mechanics */
    uint64_t old_answers; /* of them for words that had changed meanwhile */
    uint64_t digest;      /* over all that the screens showed */
    struct replayer_counts replayed;
};

struct aircraft {
    uint32_t side, type, weight_lb;
    uint32_t pass; /* 0 = none now */
    bool aboard;
};

struct active_fault {
    enum fault kind;
    uint64_t until_ms;
    uint32_t node;
    uint32_t bus;
};

struct recovery {
    struct sim *sim;
    struct truth truth;
    struct counts *counts;
    bool faulty;
    bool trace;
    bool failed;
    struct replayer *replayer; /* NULL: nothing is recorded */
    uint64_t seed;
    uint64_t people, mistakes, trouble, sea, sums; /* streams of random numbers */
    uint64_t recovery_ms;
    /* what people know */
    uint32_t aircraft_count, aircraft_wanted;
    struct aircraft aircraft[AIRCRAFT_MAX];
    uint32_t highest_pass;
    uint32_t plane_of[TRUTH_PASSES]; /* aircraft, by pass */
    enum tl_outcome outcome[TRUTH_PASSES];
    bool order_refused[TRUTH_PASSES];
    bool primary_resumes;
    uint64_t next_act_ms[PLACES];
    uint64_t ready_since_ms; /* on the platform's own screen */
    uint64_t ready_needed_ms;
    uint64_t clear_at_ms;
    uint64_t foul_until_ms[TRUTH_FOULERS];
    uint32_t foul_state[TRUTH_FOULERS];
    uint64_t silent_until_ms[PLACES]; /* after a start nobody thinks of the deck */
    uint64_t retake_ms;               /* primary takes back a re-order then; 0 = no */
    int32_t headwind_kt;
    uint64_t next_wind_ms;
    uint32_t weighs_lb; /* what approach has heard instead of the weight; 0 = nothing */
    uint64_t weighs_until_ms;
    uint64_t wind_back_ms, hook_back_ms, battery_back_ms[TRUTH_ENGINES];
    /* what goes wrong */
    uint64_t faults_end_ms;
    uint64_t next_fault_ms;
    uint64_t moment_ms; /* something happens on deck then; 0 = nothing planned */
    struct active_fault active[ACTIVE_FAULTS];
    uint32_t active_count;
    struct mechanics mechanics[MECHANICS];
    /* what the screens showed */
    uint32_t all_ready_pass;
    uint64_t all_ready_ms;
    uint32_t viewer_pass; /* READY for it; 0 = NOT READY */
    enum tl_word shown[PLACES];
};

/* A number below `below`, from one of the streams. */
uint32_t draw(uint64_t *stream, uint32_t below);
/* `percent` times in a hundred. */
bool chance(uint64_t *stream, uint32_t percent);

void tell(const struct recovery *r, const char *format, ...) __attribute__((format(printf, 2, 3)));

struct how {
    bool faulty;
    bool trace;
    bool replay; /* record what the validators judge, and judge it again */
};

/* Run the recovery of that seed; false when something did not hold, which has been printed. */
bool recovery_run(uint64_t seed, const struct how *how, struct counts *counts);

/* crew.c */
extern const uint32_t TYPE_SETTING_LB[];
extern const uint32_t TYPE_TOLERANCE_LB[];
void crew_begin(struct recovery *r);
void crew_act(struct recovery *r);
/* What the stations tell their operators since the last time. */
void crew_listen(struct recovery *r);
bool crew_is_live(const struct recovery *r, uint32_t place);
/* Said now, without thinking. */
void crew_foul(struct recovery *r, enum truth_fouler who, enum truth_deck state);
void crew_say_battery(struct recovery *r, uint32_t engine, bool in);
void crew_say_hook(struct recovery *r, bool down);
void crew_say_wind(struct recovery *r, bool known);
void crew_little_wind(struct recovery *r);
void crew_weighs_other(struct recovery *r);
void crew_say_new_weight(struct recovery *r);
void crew_say_diverted(struct recovery *r, bool diverted);
void crew_take_back(struct recovery *r);
void crew_turn_selector(struct recovery *r, uint32_t engine);
bool crew_all_aboard(const struct recovery *r);

/* faults.c */
void faults_begin(struct recovery *r);
void faults_tend(struct recovery *r);
void faults_end(struct recovery *r);
void count_fault(struct recovery *r, enum fault kind);
const char *fault_name(enum fault kind);

#endif
