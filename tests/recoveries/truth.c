/* SPDX-License-Identifier: Apache-2.0 */
/* truth.c - see truth.h. Rule names in the comments are those of docs/rules.md. */
#include "tests/recoveries/truth.h"

#include <stddef.h>
#include <stdio.h>
#include <string.h>

void
truth_init(struct truth *truth, const uint32_t *type_setting_lb, const uint32_t *type_tolerance_lb)
{
    memset(truth, 0, sizeof *truth);
    truth->type_setting_lb = type_setting_lb;
    truth->type_tolerance_lb = type_tolerance_lb;
}

/* Words for an event that is left are void for good: battery, CLEAR, call, hook. */
static void
leave_event(struct truth *truth, uint32_t pass)
{
    struct truth_word *const words[] = {&truth->battery[0],      &truth->battery[1],
                                        &truth->battery[2],      &truth->battery[3],
                                        &truth->deck[TRUTH_DECK], &truth->call,
                                        &truth->hook};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        bool foul = words[i] == &truth->deck[TRUTH_DECK] && words[i]->value != TRUTH_CLEAR;
        if (words[i]->pass == pass && !foul) {
            words[i]->known = false;
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
        leave_event(truth, before);
    }
}

void
truth_recovery(struct truth *truth, bool open, uint64_t sequence)
{
    truth->open = open;
    truth->open_sequence = sequence;
    truth->current = find_current(truth);
}

void
truth_order(struct truth *truth, uint32_t pass, const struct truth_order *order)
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
        truth->current = find_current(truth);
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

void
truth_wind(struct truth *truth, bool known)
{
    truth->wind = known;
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
    truth->wind = false;
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

static bool
nodes_stand(const struct truth *truth, uint64_t now_ms)
{
    for (uint32_t i = 0; i < TRUTH_NODES; i++) {
        const struct truth_node *node = &truth->node[i];
        if (node->counts && (node->down || now_ms < node->hold_until_ms)) {
            return false;
        }
    }
    return true;
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

static uint32_t
judge_engine(const struct truth *truth, uint32_t engine, const struct truth_order *order)
{
    const struct truth_word *set = &truth->set[engine];
    const struct truth_word *dial = &truth->repeater[engine];
    uint32_t setting = truth->type_setting_lb[order->type];
    uint32_t no = 0;
    /* setting-other-aircraft, setting-not-ordered, engines-disagree */
    if (!is_for(set, truth->current) ||
        apart(set->value, setting) > truth->type_tolerance_lb[order->type] ||
        apart(set->value, order->weight_lb) > TRUTH_AGREE_LB ||
        set->value != truth->set[0].value) {
        no |= TRUTH_NO_SETTING;
    }
    if (!is_for(dial, truth->current) || dial->value != set->value ||
        dial->said_ms < truth->set_changed_ms[engine]) {
        no |= TRUTH_NO_REPEATER;
    }
    if (set->known && truth->selector_lb[engine] != set->value) {
        no |= TRUTH_NO_SELECTOR;
    }
    if (!is_for(&truth->battery[engine], truth->current) || truth->battery[engine].value == 0) {
        no |= TRUTH_NO_BATTERY;
    }
    return no;
}

static uint32_t
judge_deck(const struct truth *truth)
{
    uint32_t no = 0;
    if (!is_for(&truth->deck[TRUTH_DECK], truth->current) ||
        truth->deck[TRUTH_DECK].value != TRUTH_CLEAR) {
        no |= TRUTH_NO_CLEAR;
    }
    for (uint32_t who = TRUTH_PLATFORM; who < TRUTH_FOULERS; who++) {
        if (!truth->deck[who].known || truth->deck[who].value != TRUTH_CLEAR) {
            no |= TRUTH_NO_LIFT;
        }
    }
    return no;
}

static uint32_t
judge_final(const struct truth *truth, const struct truth_order *order)
{
    const struct truth_inbound *inbound = &truth->inbound[order->side % TRUTH_SIDES];
    uint32_t no = 0;
    if (!is_for(&truth->call, truth->current) ||
        truth->call.value != order->side * 256 + order->type) {
        no |= TRUTH_NO_CALL;
    }
    if (!is_for(&truth->hook, truth->current) || truth->hook.value == 0) {
        no |= TRUTH_NO_HOOK;
    }
    /* compared only when there is one, and once approach has been told that it counts */
    if (inbound->known && !inbound->pending && (inbound->type != order->type || inbound->diverted)) {
        no |= TRUTH_NO_INBOUND;
    }
    return no;
}

void
truth_judge(struct truth *truth, uint64_t now_ms)
{
    uint32_t no = nodes_stand(truth, now_ms) ? 0 : TRUTH_NO_NODE;
    const struct truth_order *order = &truth->order[truth->current];
    if (truth->current == 0 || !truth->open) {
        no |= TRUTH_NO_EVENT;
    } else if (!order->known || truth->type_setting_lb[order->type] == 0) {
        no |= TRUTH_NO_ORDER;
    } else {
        for (uint32_t engine = 0; engine < TRUTH_ENGINES; engine++) {
            no |= judge_engine(truth, engine, order);
        }
        no |= judge_deck(truth) | judge_final(truth, order);
    }
    no |= truth->wind ? 0 : TRUTH_NO_WIND;
    if (no != 0 && truth->no == 0) {
        truth->no_since_ms = now_ms;
    }
    truth->no = no;
}

uint64_t
truth_wrong_for_ms(const struct truth *truth, uint32_t pass, uint64_t now_ms)
{
    uint64_t wrong_ms = truth->no != 0 ? now_ms - truth->no_since_ms : 0;
    if (pass != truth->current && now_ms - truth->event_since_ms > wrong_ms) {
        wrong_ms = now_ms - truth->event_since_ms;
    }
    return wrong_ms;
}

const char *
truth_reasons(uint32_t no, char *dst, uint32_t cap)
{
    static const char *const WORDS[TRUTH_NO_BITS] = {
        "node",  "event", "order", "setting", "repeater", "selector", "battery",
        "clear", "lift",  "call",  "hook",    "wind",     "inbound"};
    size_t used = 0;
    dst[0] = '\0';
    for (uint32_t bit = 0; bit < TRUTH_NO_BITS && used < cap; bit++) {
        if ((no >> bit & 1u) != 0) {
            int n = snprintf(dst + used, cap - used, "%s%s", used > 0 ? " " : "", WORDS[bit]);
            used += n > 0 ? (size_t)n : 0;
        }
    }
    return dst;
}
