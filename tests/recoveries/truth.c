/* SPDX-License-Identifier: Apache-2.0 */
/* truth.c - see truth.h. Rule names in the comments are those of docs/rules.md. */
#include "tests/recoveries/truth.h"

#include <assert.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include "tests/recoveries/figures.h"

static_assert((int)TRUTH_FACTS <= 64, "each is a bit");

void
truth_init(struct truth *truth, const uint32_t *type_setting_lb, const uint32_t *type_tolerance_lb)
{
    memset(truth, 0, sizeof *truth);
    truth->type_setting_lb = type_setting_lb;
    truth->type_tolerance_lb = type_tolerance_lb;
}

struct event_word {
    struct truth_word *word;
    uint32_t node;
};

/*
 * Words for an event that is left are void for good: battery, CLEAR, call, hook. Known gap, see
 * docs/reliability.md: nobody voids the word of a station that is away at that time when one
 * validator has restarted and the other was frozen; so such a word is not held against READY.
 */
static void
leave_event(struct truth *truth, uint32_t pass)
{
    const struct event_word words[] = {
        {&truth->battery[0], 0},
        {&truth->battery[1], 1},
        {&truth->battery[2], 2},
        {&truth->battery[3], 3},
        {&truth->deck[TRUTH_DECK], TRUTH_AT_DECK},
        {&truth->call, TRUTH_AT_PLATFORM},
        {&truth->hook, TRUTH_AT_PLATFORM},
    };
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        struct truth_word *word = words[i].word;
        bool foul = word == &truth->deck[TRUTH_DECK] && word->value != TRUTH_CLEAR;
        if (!word->known || word->pass != pass || foul) {
            continue;
        }
        if (truth->node[words[i].node].down && !truth->order[pass].ended) {
            truth->spared++;
        } else {
            word->known = false;
        }
    }
}

/* The first by place, then by number, that has neither a result nor a cancellation. */
static uint32_t
find_current(const struct truth *truth)
{
    uint32_t found = 0;
    for (uint32_t pass = 1; truth->open && pass < TRUTH_PASSES; pass++) {
        const struct truth_order *order = &truth->order[pass];
        if (order->listed && !order->ended && !order->cancelled &&
            (found == 0 || order->place < truth->order[found].place)) {
            found = pass;
        }
    }
    return found;
}

static void
list_changed(struct truth *truth, uint64_t now_ms)
{
    uint32_t before = truth->current;
    truth->current = find_current(truth);
    if (truth->current != before) {
        truth->event_since_ms = now_ms;
        if (before != 0) {
            leave_event(truth, before);
        }
    }
}

void
truth_recovery(struct truth *truth, uint64_t sequence, uint64_t now_ms)
{
    truth->open = true;
    truth->open_sequence = sequence;
    list_changed(truth, now_ms);
}

void
truth_order(struct truth *truth, uint32_t pass, const struct truth_order *order, uint64_t now_ms)
{
    struct truth_order *mine = &truth->order[pass];
    struct truth_order before = *mine;
    *mine = *order;
    mine->listed = true;
    mine->known = true;
    mine->ended = before.ended;
    mine->accepted = before.accepted;
    /* A new place counts from its acceptance: until then the old one may still be acted on. */
    mine->moving = before.listed && before.place != order->place;
    mine->new_place = order->place;
    mine->place = before.listed ? before.place : order->place;
    if (!before.listed) {
        list_changed(truth, now_ms);
    }
}

void
truth_order_told(struct truth *truth, uint32_t pass, uint64_t sequence, bool accepted,
                 uint64_t now_ms)
{
    struct truth_order *order = &truth->order[pass];
    if (!order->listed || order->sequence != sequence) {
        return;
    }
    if (!accepted) {
        order->known = false;
        order->moving = false;
        return;
    }
    order->accepted = true;
    if (order->moving) {
        order->moving = false;
        order->place = order->new_place;
        list_changed(truth, now_ms);
    }
}

void
truth_cancel(struct truth *truth, uint32_t pass, uint64_t now_ms)
{
    truth->order[pass].cancelled = true;
    list_changed(truth, now_ms);
}

void
truth_result(struct truth *truth, uint32_t pass, uint64_t now_ms)
{
    truth->order[pass].ended = true;
    list_changed(truth, now_ms);
}

void
truth_recovery_taken_back(struct truth *truth, uint64_t sequence)
{
    if (truth->open_sequence == sequence) {
        truth->open = false;
    }
}

void
truth_set(struct truth *truth, uint32_t engine, struct truth_word word)
{
    if (truth->set_last[engine] != word.value) {
        truth->set_changed_ms[engine] = word.said_ms;
        truth->set_last[engine] = word.value;
    }
    truth->set[engine] = word;
}

void
truth_battery(struct truth *truth, uint32_t engine, struct truth_word word)
{
    truth->battery[engine] = word;
}

void
truth_repeater(struct truth *truth, uint32_t engine, struct truth_word word)
{
    truth->repeater[engine] = word;
}

void
truth_deck(struct truth *truth, enum truth_fouler who, struct truth_word word)
{
    truth->deck[who] = word;
}

void
truth_call(struct truth *truth, struct truth_word word)
{
    truth->call = word;
}

void
truth_hook(struct truth *truth, struct truth_word word)
{
    truth->hook = word;
}

/* The strongest headwind that may still be counted on. */
static int32_t
mild_headwind(const struct truth *truth, uint64_t now_ms)
{
    bool counts = now_ms < truth->mild_until_ms && truth->mild_kt > truth->sea.headwind_kt;
    return counts ? truth->mild_kt : truth->sea.headwind_kt;
}

void
truth_wind(struct truth *truth, struct truth_sea sea, uint64_t now_ms)
{
    int32_t before_kt = mild_headwind(truth, now_ms);
    truth->sea = sea;
    if (sea.headwind_kt < before_kt) {
        truth->mild_kt = before_kt;
        truth->mild_until_ms = now_ms + TRUTH_SEA_LATE_MS;
    }
}

void
truth_answered(struct truth *truth, uint32_t validator, const struct truth_answer *answer)
{
    truth->answer[validator] = *answer;
}

void
truth_mechanics_restarted(struct truth *truth, uint32_t validator)
{
    truth->answer[validator].known = false;
}

void
truth_inbound(struct truth *truth, uint32_t side, struct truth_inbound inbound)
{
    truth->inbound[side] = inbound;
}

void
truth_inbound_told(struct truth *truth, uint32_t side, uint64_t sequence, bool accepted)
{
    struct truth_inbound *inbound = &truth->inbound[side];
    if (inbound->sequence == sequence) {
        inbound->pending = false;
        inbound->known = accepted;
    }
}

void
truth_engine_restarted(struct truth *truth, uint32_t engine)
{
    truth->set[engine].known = false;
    truth->battery[engine].known = false;
}

void
truth_deck_restarted(struct truth *truth, enum truth_fouler who)
{
    truth->deck[who].known = false;
}

void
truth_platform_restarted(struct truth *truth)
{
    truth->call.known = false;
    truth->hook.known = false;
    truth_deck_restarted(truth, TRUTH_PLATFORM);
}

/* Its list stands on paper; until it is said again nothing may rest on it. */
void
truth_primary_restarted(struct truth *truth)
{
    for (uint32_t engine = 0; engine < TRUTH_ENGINES; engine++) {
        truth->repeater[engine].known = false;
    }
    for (uint32_t pass = 1; pass < TRUTH_PASSES; pass++) {
        truth->order[pass].known = false;
        truth->order[pass].moving = false;
    }
    truth->open = false;
    truth_deck_restarted(truth, TRUTH_PRIMARY);
}

void
truth_bridge_restarted(struct truth *truth)
{
    truth->sea.known = false;
}

void
truth_approach_restarted(struct truth *truth)
{
    memset(truth->inbound, 0, sizeof truth->inbound);
}

/* station-lost: one that has just come back is held 3.0 s. */
void
truth_node_restarted(struct truth *truth, uint32_t node, uint64_t now_ms)
{
    truth->node[node].hold_until_ms = now_ms + TRUTH_HOLD_MS - TRUTH_HOLD_SLACK_MS;
}

void
truth_node_is(struct truth *truth, uint32_t node, bool up, uint64_t now_ms)
{
    struct truth_node *mine = &truth->node[node];
    if (!up && !mine->down) {
        mine->down_ms = now_ms;
    }
    if (up && mine->down && now_ms - mine->down_ms > TRUTH_LOST_MS) {
        truth_node_restarted(truth, node, now_ms);
    }
    mine->down = !up;
}

static uint64_t
missing(bool there, uint32_t fact)
{
    return there ? 0 : (uint64_t)1 << fact;
}

static uint64_t
judge_nodes(const struct truth *truth, uint64_t now_ms)
{
    uint64_t no = 0;
    for (uint32_t i = 0; i < TRUTH_NODES; i++) {
        const struct truth_node *node = &truth->node[i];
        no |= missing(!node->counts || !node->down, TRUTH_NODE + i);
        no |= missing(!node->counts || now_ms >= node->hold_until_ms, TRUTH_BACK + i);
    }
    return no;
}

static uint32_t
apart(uint32_t a, uint32_t b)
{
    return a > b ? a - b : b - a;
}

static bool
is_for(const struct truth_word *word, uint32_t pass)
{
    return word->known && word->pass == pass;
}

static uint64_t
judge_engine(const struct truth *truth, uint32_t engine, const struct truth_order *order)
{
    const struct truth_word *set = &truth->set[engine];
    const struct truth_word *dial = &truth->repeater[engine];
    const struct truth_word *battery = &truth->battery[engine];
    uint32_t setting = truth->type_setting_lb[order->type];
    /* setting-other-aircraft, setting-not-ordered */
    bool right = is_for(set, truth->current) &&
                 apart(set->value, setting) <= truth->type_tolerance_lb[order->type] &&
                 apart(set->value, order->weight_lb) <= TRUTH_AGREE_LB;
    bool read = is_for(dial, truth->current) && dial->value == set->value &&
                dial->said_ms >= truth->set_changed_ms[engine];
    bool stands = !set->known || truth->selector_lb[engine] == set->value;
    bool in = is_for(battery, truth->current) && battery->value != 0;
    return missing(right, TRUTH_SETTING + engine) | missing(read, TRUTH_REPEATER + engine) |
           missing(stands, TRUTH_SELECTOR + engine) | missing(in, TRUTH_BATTERY + engine);
}

/* engines-disagree */
static uint64_t
judge_alike(const struct truth *truth)
{
    bool alike = true;
    for (uint32_t engine = 1; engine < TRUTH_ENGINES; engine++) {
        alike = alike && truth->set[engine].value == truth->set[0].value;
    }
    return missing(alike, TRUTH_ALIKE);
}

static uint64_t
judge_deck(const struct truth *truth)
{
    uint64_t no = 0;
    for (uint32_t who = 0; who < TRUTH_FOULERS; who++) {
        const struct truth_word *word = &truth->deck[who];
        bool spoken = who == TRUTH_DECK ? is_for(word, truth->current) : word->known;
        no |= missing(spoken && word->value == TRUTH_CLEAR, TRUTH_OF_DECK + who);
    }
    return no;
}

static uint64_t
judge_final(const struct truth *truth, const struct truth_order *order)
{
    const struct truth_inbound *inbound = &truth->inbound[order->side % TRUTH_SIDES];
    bool called = is_for(&truth->call, truth->current) &&
                  truth->call.value == order->side * 256 + order->type;
    bool down = is_for(&truth->hook, truth->current) && truth->hook.value != 0;
    /* compared only when there is one, and once approach has been told that it counts */
    bool differs =
        inbound->known && !inbound->pending && (inbound->type != order->type || inbound->diverted);
    return missing(called, TRUTH_CALL) | missing(down, TRUTH_HOOK) |
           missing(!differs, TRUTH_INBOUND);
}

/* ---- what is computed ---- */

static bool
answer_is_for(const struct truth *truth, const struct truth_answer *answer,
              const struct truth_order *order)
{
    const struct truth_inbound *inbound = &truth->inbound[order->side % TRUTH_SIDES];
    /* until approach has been told, the word before may still be acted on */
    bool weight = inbound->pending || answer->weight_lb == inbound->weight_lb;
    bool all = true;
    for (uint32_t engine = 0; engine < TRUTH_ENGINES; engine++) {
        bool there = !truth->set[engine].known;
        for (uint32_t i = 0; i < answer->setting_count; i++) {
            there = there || answer->setting_lb[i] == truth->set[engine].value;
        }
        all = all && there;
    }
    return answer->known && answer->pass == truth->current && answer->type == order->type &&
           weight && all;
}

static uint64_t
judge_answers(const struct truth *truth, const struct truth_order *order, uint64_t now_ms)
{
    uint64_t no = 0;
    for (uint32_t v = 0; v < TRUTH_VALIDATORS; v++) {
        const struct truth_answer *answer = &truth->answer[v];
        bool counted = !answer->known || answer->headwind_kt <= mild_headwind(truth, now_ms);
        no |= missing(answer_is_for(truth, answer, order), TRUTH_COMPUTED + v) |
              missing(counted, TRUTH_COUNTED + v);
    }
    return no;
}

/* energy-over, stroke-predicted, hook-load */
static uint64_t
judge_figures(const struct truth *truth, const struct truth_order *order, uint64_t now_ms)
{
    const struct truth_inbound *inbound = &truth->inbound[order->side % TRUTH_SIDES];
    struct figures_of of = {.weight_lb = inbound->weight_lb,
                            .headwind_kt = mild_headwind(truth, now_ms)};
    uint64_t no = missing(inbound->known || inbound->pending, TRUTH_WEIGHT);
    if (!inbound->known || inbound->pending || !truth->sea.known) {
        return no;
    }
    for (uint32_t engine = 0; engine < TRUTH_ENGINES; engine++) {
        if (truth->set[engine].known) {
            of.set_lb = truth->set[engine].value;
            struct figures figures = figures_compute(&of);
            uint32_t hook_max_lbf = figures_hook_max_lbf(truth->type_setting_lb[order->type]);
            no |= missing(figures.energy_kftlb <= FIGURES_CAPACITY_KFTLB, TRUTH_ENERGY) |
                  missing(figures.stroke_in_x10 <= FIGURES_TRAVEL_MAX_IN_X10, TRUTH_STROKE) |
                  missing(figures.hook_lbf <= hook_max_lbf, TRUTH_HOOK_LOAD);
        }
    }
    return no;
}

void
truth_judge(struct truth *truth, uint64_t now_ms)
{
    const struct truth_order *order = &truth->order[truth->current];
    uint64_t no = judge_nodes(truth, now_ms) | missing(truth->sea.known, TRUTH_WIND);
    if (truth->current == 0 || !truth->open) {
        no |= missing(false, TRUTH_EVENT);
    } else if (!order->known || truth->type_setting_lb[order->type] == 0) {
        no |= missing(false, TRUTH_ORDER);
    } else {
        for (uint32_t engine = 0; engine < TRUTH_ENGINES; engine++) {
            no |= judge_engine(truth, engine, order);
        }
        no |= judge_alike(truth) | judge_deck(truth) | judge_final(truth, order) |
              judge_answers(truth, order, now_ms) | judge_figures(truth, order, now_ms);
    }
    for (uint32_t fact = 0; fact < TRUTH_FACTS; fact++) {
        if ((no >> fact & 1u) != 0 && (truth->no >> fact & 1u) == 0) {
            truth->no_since_ms[fact] = now_ms;
        }
    }
    truth->no = no;
}

uint64_t
truth_wrong_for_ms(const struct truth *truth, uint32_t pass, uint64_t now_ms)
{
    uint64_t wrong_ms = pass != truth->current ? now_ms - truth->event_since_ms : 0;
    for (uint32_t fact = 0; truth->no != 0 && fact < TRUTH_FACTS; fact++) {
        uint64_t for_ms = (truth->no >> fact & 1u) != 0 ? now_ms - truth->no_since_ms[fact] : 0;
        wrong_ms = for_ms > wrong_ms ? for_ms : wrong_ms;
    }
    return wrong_ms;
}

struct fact_word {
    uint32_t first;
    const char *word;
};

const char *
truth_reasons(uint64_t no, char *dst, uint32_t cap)
{
    static const struct fact_word WORDS[] = {
        {TRUTH_NODE, "node"},         {TRUTH_BACK, "back"},          {TRUTH_EVENT, "event"},
        {TRUTH_ORDER, "order"},       {TRUTH_SETTING, "setting"},    {TRUTH_ALIKE, "alike"},
        {TRUTH_REPEATER, "repeater"}, {TRUTH_SELECTOR, "selector"},  {TRUTH_BATTERY, "battery"},
        {TRUTH_OF_DECK, "deck"},      {TRUTH_CALL, "call"},          {TRUTH_HOOK, "hook"},
        {TRUTH_WIND, "wind"},         {TRUTH_INBOUND, "inbound"},    {TRUTH_WEIGHT, "weight"},
        {TRUTH_ENERGY, "energy"},     {TRUTH_STROKE, "stroke"},      {TRUTH_HOOK_LOAD, "load"},
        {TRUTH_COMPUTED, "computed"}, {TRUTH_COUNTED, "counted-on"},
    };
    size_t used = 0;
    dst[0] = '\0';
    for (uint32_t fact = 0; fact < TRUTH_FACTS && used < cap; fact++) {
        size_t kind = sizeof WORDS / sizeof WORDS[0] - 1;
        while (WORDS[kind].first > fact) {
            kind--;
        }
        if ((no >> fact & 1u) != 0) {
            int n = snprintf(dst + used, cap - used, "%s%s-%u", used > 0 ? " " : "",
                             WORDS[kind].word, fact - WORDS[kind].first + 1);
            used += n > 0 ? (size_t)n : 0;
        }
    }
    return dst;
}
