/* SPDX-License-Identifier: Apache-2.0 */
/*
 * truth.h - the oracle: what is really so on the simulated ship, and whether READY may be shown.
 *
 * Written from docs/rules.md and docs/protocol.md, and from nothing else: it includes no file of
 * the product, so that a mistake there is not repeated here. It is told what every operator says
 * at the moment of saying, where the selectors really stand, which processes run and which of them
 * can be reached. Nothing of what travels on the bus reaches it, with one exception: what a station
 * tells its own operator about a word (accepted, taken back), because that changes what a person
 * knows. Of what a validator's mechanics have answered it is told what was asked, at the moment of
 * the answer; whether a figure is within its bound it computes itself, from what is said now.
 *
 * It states necessary conditions only: while one of them does not hold, no screen may show READY
 * for longer than the deadline. It never says that READY must be shown.
 *
 * Words of one life of a station end with that life; a recovery's events and results do not.
 */
#ifndef TESTS_RECOVERIES_TRUTH_H
#define TESTS_RECOVERIES_TRUTH_H

#include <stdbool.h>
#include <stdint.h>

enum {
    TRUTH_ENGINES = 4,
    TRUTH_PASSES = 48,
    TRUTH_NODES = 12, /* nine stations, two validators, a viewer */
    TRUTH_SIDES = 16,
    TRUTH_AT_DECK = 4, /* node of the deck; the engines are the first */
    TRUTH_AT_PLATFORM = 6,
    TRUTH_LOST_MS = 1000, /* nobody may count on who is away for longer */
    TRUTH_HOLD_MS = 3000,
    TRUTH_VALIDATORS = 2,
    TRUTH_SETTINGS = 32,
    TRUTH_SEA_LATE_MS = 500,  /* with less wind than before, what was computed before counts */
    TRUTH_HOLD_SLACK_MS = 40, /* clocks that differ, and two steps of the simulation */
    TRUTH_AGREE_LB = 500      /* agree_tolerance_lb of the ship */
};

/* Who can foul the deck. */
enum truth_fouler {
    TRUTH_DECK,
    TRUTH_PLATFORM,
    TRUTH_PRIMARY,
    TRUTH_FOULERS
};

enum truth_deck {
    TRUTH_SILENT, /* nothing said in this life, or taken back */
    TRUTH_CLEAR,  /* of the owner: CLEAR; of another: no foul */
    TRUTH_FOUL,
    TRUTH_STOP
};

/* What READY rests on; several of one kind have as many places. Each is a bit of `no`. */
enum truth_fact {
    TRUTH_NODE = 0,                         /* a station or validator is up and can be reached */
    TRUTH_BACK = TRUTH_NODE + TRUTH_NODES,  /* and has been for 3.0 s */
    TRUTH_EVENT = TRUTH_BACK + TRUTH_NODES, /* a recovery, and an aircraft that waits */
    TRUTH_ORDER,                            /* its order, of a known type */
    TRUTH_SETTING, /* an engine has said the right setting for this event */
    TRUTH_ALIKE = TRUTH_SETTING + TRUTH_ENGINES,     /* all engines are set alike */
    TRUTH_REPEATER,                                  /* read since it changed, and the same */
    TRUTH_SELECTOR = TRUTH_REPEATER + TRUTH_ENGINES, /* and it really stands there */
    TRUTH_BATTERY = TRUTH_SELECTOR + TRUTH_ENGINES,
    TRUTH_OF_DECK = TRUTH_BATTERY + TRUTH_ENGINES, /* CLEAR of the owner; others: no FOUL, STOP */
    TRUTH_CALL = TRUTH_OF_DECK + TRUTH_FOULERS,
    TRUTH_HOOK,
    TRUTH_WIND,
    TRUTH_INBOUND, /* approach says no other type for the ordered side, nor diverted */
    TRUTH_WEIGHT,  /* approach says what the aircraft weighs */
    TRUTH_ENERGY,  /* computed for what is said now, by the wind that blows, it is within bounds */
    TRUTH_STROKE,  /* likewise, every engine as it is set */
    TRUTH_HOOK_LOAD, /* likewise */
    TRUTH_COMPUTED,  /* a validator's mechanics have answered for the words of now */
    TRUTH_COUNTED = TRUTH_COMPUTED + TRUTH_VALIDATORS, /* and count on no more wind than blows */
    TRUTH_FACTS = TRUTH_COUNTED + TRUTH_VALIDATORS
};

/* A word of one station. */
struct truth_word {
    bool known;
    uint64_t said_ms;
    uint64_t sequence; /* the number by which the station speaks of it to its operator */
    uint32_t pass;     /* stated for that event */
    uint32_t value;
};

struct truth_order {
    bool listed; /* said once at least */
    bool known;
    bool ended;
    bool cancelled;
    bool accepted; /* once */
    uint32_t side, type, weight_lb;
    int32_t place;
    uint64_t sequence;
    /* another place, said and not yet accepted */
    bool moving;
    int32_t new_place;
};

struct truth_inbound {
    bool known;
    bool pending;
    uint32_t type;
    uint32_t weight_lb;
    bool diverted;
    uint64_t sequence;
};

struct truth_sea {
    bool known;
    int32_t headwind_kt; /* rounded down */
};

/* What the newest answer of a validator's mechanics was computed for. */
struct truth_answer {
    bool known;
    uint32_t pass;
    uint32_t type;
    uint32_t weight_lb;
    int32_t headwind_kt;
    uint32_t setting_count;
    uint32_t setting_lb[TRUTH_SETTINGS];
};

struct truth_node {
    bool counts; /* READY needs it */
    bool down;
    bool seen;
    uint64_t down_ms;
    uint64_t hold_until_ms;
};

struct truth {
    const uint32_t *type_setting_lb; /* by type, 0 = no such type */
    const uint32_t *type_tolerance_lb;
    struct truth_node node[TRUTH_NODES];
    bool open;
    uint64_t open_sequence;
    struct truth_order order[TRUTH_PASSES]; /* by pass */
    uint32_t current;                       /* pass; 0 = none */
    struct truth_word set[TRUTH_ENGINES];
    uint64_t set_changed_ms[TRUTH_ENGINES];
    uint32_t set_last[TRUTH_ENGINES];
    uint32_t selector_lb[TRUTH_ENGINES];
    struct truth_word battery[TRUTH_ENGINES];
    struct truth_word repeater[TRUTH_ENGINES];
    struct truth_word deck[TRUTH_FOULERS];
    struct truth_word call; /* value = side * 256 + type */
    struct truth_word hook;
    struct truth_sea sea;
    /* before the wind grew less, and how long that counts */
    int32_t mild_kt;
    uint64_t mild_until_ms;
    struct truth_inbound inbound[TRUTH_SIDES];
    struct truth_answer answer[TRUTH_VALIDATORS];
    /* result of truth_judge */
    uint64_t no; /* the facts that are not there */
    uint64_t no_since_ms[TRUTH_FACTS];
    uint64_t event_since_ms;
    /* words that outlive a leave and return of their event: their station was away (an open gap) */
    uint64_t spared;
};

void truth_init(struct truth *truth, const uint32_t *type_setting_lb,
                const uint32_t *type_tolerance_lb);

/* What people say, at the moment of saying. */
void truth_recovery(struct truth *truth, uint64_t sequence, uint64_t now_ms);
void truth_order(struct truth *truth, uint32_t pass, const struct truth_order *order,
                 uint64_t now_ms);
void truth_cancel(struct truth *truth, uint32_t pass, uint64_t now_ms);
void truth_set(struct truth *truth, uint32_t engine, struct truth_word word);
void truth_battery(struct truth *truth, uint32_t engine, struct truth_word word);
void truth_repeater(struct truth *truth, uint32_t engine, struct truth_word word);
void truth_deck(struct truth *truth, enum truth_fouler who, struct truth_word word);
void truth_call(struct truth *truth, struct truth_word word);
void truth_hook(struct truth *truth, struct truth_word word);
void truth_result(struct truth *truth, uint32_t pass, uint64_t now_ms);
void truth_wind(struct truth *truth, struct truth_sea sea, uint64_t now_ms);
void truth_inbound(struct truth *truth, uint32_t side, struct truth_inbound inbound);

/* What a station tells its own operator of an order, the recovery or an inbound aircraft. */
void truth_order_told(struct truth *truth, uint32_t pass, uint64_t sequence, bool accepted,
                      uint64_t now_ms);
void truth_recovery_taken_back(struct truth *truth, uint64_t sequence);
void truth_inbound_told(struct truth *truth, uint32_t side, uint64_t sequence, bool accepted);

/* The mechanics of that validator have answered now, what was computed counts at once. */
void truth_answered(struct truth *truth, uint32_t validator, const struct truth_answer *answer);
/* They know nothing. */
void truth_mechanics_restarted(struct truth *truth, uint32_t validator);

/* A new life of a station: what it had said is gone. */
void truth_engine_restarted(struct truth *truth, uint32_t engine);
void truth_deck_restarted(struct truth *truth, enum truth_fouler who);
void truth_platform_restarted(struct truth *truth);
void truth_primary_restarted(struct truth *truth);
void truth_bridge_restarted(struct truth *truth);
void truth_approach_restarted(struct truth *truth);
void truth_node_restarted(struct truth *truth, uint32_t node, uint64_t now_ms);

/* Running, not frozen and reachable now. */
void truth_node_is(struct truth *truth, uint32_t node, bool up, uint64_t now_ms);

/* Judge this moment: fills `no` and since when. */
void truth_judge(struct truth *truth, uint64_t now_ms);

/*
 * How long a screen that shows READY for that event has had no right to: the longest time for which
 * one fact has been missing without a break. 0 = it may.
 */
uint64_t truth_wrong_for_ms(const struct truth *truth, uint32_t pass, uint64_t now_ms);

/* What is missing, as words. */
const char *truth_reasons(uint64_t no, char *dst, uint32_t cap);

#endif
