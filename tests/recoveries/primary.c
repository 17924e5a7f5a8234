/* SPDX-License-Identifier: Apache-2.0 */
/* primary.c - the people of primary flight control: the recovery, the orders, the repeaters. */
#include <stdio.h>
#include <string.h>

#include "tests/recoveries/crew.h"

enum {
    WAITING = 2 /* aircraft on the list at a time */
};

static void
say_one_order(struct recovery *r, uint32_t pass, struct tl_order as)
{
    struct tl_datum datum =
        say_order(crew_event(r, pass), as.side, as.type, as.weight_lb, as.place);
    struct truth_order order = {.side = as.side, .weight_lb = as.weight_lb, .place = as.place};
    for (uint32_t type = 1; type < CREW_TYPES; type++) {
        order.type = strcmp(as.type, CREW_TYPE[type]) == 0 ? type : order.type;
    }
    if (crew_say(r, AT_PRIMARY, datum, &order.sequence)) {
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
    bool slip = crew_slips(r, FAULT_WRONG_ORDER, 4);
    (void)snprintf(order.type, sizeof order.type, "%s",
                   CREW_TYPE[slip ? 1 + a->type % 3 : a->type]);
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
    if (crew_own(r, AT_PRIMARY, TL_DATUM_RECOVERY, 0) != NULL) {
        return false;
    }
    uint64_t sequence = 0;
    for (uint32_t i = 0; r->primary_resumes && i < r->aircraft_count; i++) {
        uint32_t pass = r->aircraft[i].pass;
        if (pass != 0 && crew_own(r, AT_PRIMARY, TL_DATUM_ORDER, pass) == NULL) {
            order_plane(r, i, pass, paper_place(r, pass));
        }
    }
    if (crew_say(r, AT_PRIMARY, say_recovery(r->recovery_ms, true), &sequence)) {
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
        say_order(crew_event(r, pass), r->aircraft[plane].side, CREW_TYPE[1], 10000, (int32_t)pass);
    uint64_t sequence = 0;
    datum.as.order.state = TL_ORDER_CANCELLED;
    if (crew_say(r, AT_PRIMARY, datum, &sequence)) {
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
            a->pass != 0 ? crew_own(r, AT_PRIMARY, TL_DATUM_ORDER, a->pass) : NULL;
        if (a->pass == 0) {
            continue;
        }
        if (order == NULL && r->order_refused[a->pass]) {
            renumber(r, i, a->pass);
            return true;
        }
        bool wrong = order != NULL && (strcmp(order->as.order.type, CREW_TYPE[a->type]) != 0 ||
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
    uint32_t pass = crew_pass(r, AT_PRIMARY);
    for (uint32_t engine = 0; pass != 0 && engine < TRUTH_ENGINES; engine++) {
        const struct tl_datum *read = crew_own(r, AT_PRIMARY, TL_DATUM_REPEATER, engine + 1);
        const struct truth_word *set = &r->truth.set[engine];
        uint32_t dial_lb = r->truth.selector_lb[engine];
        uint64_t sequence = 0;
        /* He reads when he has heard that it is set for this event. */
        if (!set->known || set->pass != pass ||
            (crew_own_for(r, read, pass) && read->as.repeater_lb == dial_lb)) {
            continue;
        }
        bool slip = dial_lb == set->value && crew_slips(r, FAULT_MISREAD, 1);
        uint32_t read_lb = slip ? crew_other_weight(r, dial_lb) : dial_lb;
        if (crew_say(r, AT_PRIMARY, say_repeater(engine + 1, read_lb, crew_event(r, pass)),
                     &sequence)) {
            truth_repeater(&r->truth, engine, crew_word(r, sequence, pass, read_lb));
            tell(r, "  repeater %u reads %u", engine + 1, read_lb);
        }
    }
}

void
crew_act_primary(struct recovery *r)
{
    if (act_recovery(r) || crew_act_fouler(r, TRUTH_PRIMARY)) {
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
