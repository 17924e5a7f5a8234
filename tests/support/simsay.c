/* SPDX-License-Identifier: Apache-2.0 */
/* simsay.c - what people say and see on the simulated bus. See simbus.h. */
#include <stdio.h>
#include <string.h>

#include "proto/base/require.h"
#include "tests/support/simbus.h"

enum tl_err
sim_try(struct sim *sim, const char *id, struct tl_datum datum, uint64_t *sequence)
{
    struct sim_node *node = sim_node(sim, id);
    return tl_member_say(node->member, &datum, sim_clock(sim, node), sequence);
}

uint64_t
sim_say(struct sim *sim, const char *id, struct tl_datum datum)
{
    uint64_t sequence = 0;
    enum tl_err err = sim_try(sim, id, datum, &sequence);
    if (err != TL_OK) {
        (void)fprintf(stderr, "seed %llu: %s cannot say %s: %s\n", (unsigned long long)sim->seed,
                      id, tl_datum_kind_name(datum.kind), tl_err_text(err));
    }
    TL_REQUIRE(err == TL_OK);
    return sequence;
}

static struct tl_datum
datum_for(enum tl_datum_kind kind, uint32_t slot, struct tl_event event)
{
    struct tl_datum datum = {.kind = kind, .slot = slot, .known = true};
    if (tl_event_is(event)) {
        datum.stated_for_count = 1;
        datum.stated_for[0] = event;
    }
    return datum;
}

struct tl_datum
say_recovery(uint64_t recovery_ms, bool open)
{
    struct tl_datum datum = {.kind = TL_DATUM_RECOVERY, .known = true};
    datum.as.recovery.recovery_ms = recovery_ms;
    datum.as.recovery.state = open ? TL_RECOVERY_OPEN : TL_RECOVERY_CLOSED;
    return datum;
}

struct tl_datum
say_order(struct tl_event event, uint32_t side, const char *type, uint32_t weight_lb, int32_t place)
{
    struct tl_datum datum = datum_for(TL_DATUM_ORDER, event.pass, event);
    datum.as.order = (struct tl_order){
        .side = side, .weight_lb = weight_lb, .place = place, .state = TL_ORDER_ORDERED};
    (void)snprintf(datum.as.order.type, TL_TYPE_CAP, "%s", type);
    return datum;
}

struct tl_datum
say_set(uint32_t weight_lb, struct tl_event event)
{
    struct tl_datum datum = datum_for(TL_DATUM_SET, 0, event);
    datum.as.set_lb = weight_lb;
    return datum;
}

struct tl_datum
say_repeater(uint32_t unit, uint32_t weight_lb, struct tl_event event)
{
    struct tl_datum datum = datum_for(TL_DATUM_REPEATER, unit, event);
    datum.as.repeater_lb = weight_lb;
    return datum;
}

struct tl_datum
say_battery(bool in, struct tl_event event)
{
    struct tl_datum datum = datum_for(TL_DATUM_BATTERY, 0, event);
    datum.as.battery = in ? TL_BATTERY_IN : TL_BATTERY_OUT;
    return datum;
}

struct tl_datum
say_deck(enum tl_deck_state state, enum tl_foul_reason reason, struct tl_event event)
{
    struct tl_datum datum = datum_for(TL_DATUM_DECK, 0, event);
    datum.as.deck.state = state;
    datum.as.deck.reason = reason;
    return datum;
}

struct tl_datum
say_call(uint32_t side, const char *type, struct tl_event event)
{
    struct tl_datum datum = datum_for(TL_DATUM_CALL, 0, event);
    datum.as.call.side = side;
    (void)snprintf(datum.as.call.type, TL_TYPE_CAP, "%s", type);
    return datum;
}

struct tl_datum
say_hook(bool down, struct tl_event event)
{
    struct tl_datum datum = datum_for(TL_DATUM_HOOK, 0, event);
    datum.as.hook = down ? TL_HOOK_DOWN : TL_HOOK_NOT_DOWN;
    return datum;
}

struct tl_datum
say_result(struct tl_event event, enum tl_outcome outcome, uint32_t wire)
{
    struct tl_datum datum = datum_for(TL_DATUM_RESULT, event.pass, event);
    datum.as.result = (struct tl_result){.outcome = outcome, .wire = wire};
    return datum;
}

struct tl_datum
say_unknown(enum tl_datum_kind kind, uint32_t slot)
{
    return (struct tl_datum){.kind = kind, .slot = slot};
}

void
sim_wind(struct sim *sim, enum tl_wind_state state)
{
    struct tl_sample sample = {.kind = TL_SAMPLE_WIND};
    sample.as.wind.state = state;
    sample.as.wind.headwind_kt_x10 = 270;
    tl_member_samples(sim_node(sim, "bridge")->member, &sample, 1);
}

void
sim_open(struct sim *sim, uint64_t recovery_ms)
{
    (void)sim_say(sim, "primary", say_recovery(recovery_ms, true));
    (void)sim_say(sim, "primary", say_deck(TL_DECK_NO_FOUL, TL_FOUL_UNKNOWN, (struct tl_event){0}));
    (void)sim_say(sim, "platform",
                  say_deck(TL_DECK_NO_FOUL, TL_FOUL_UNKNOWN, (struct tl_event){0}));
    sim_wind(sim, TL_WIND_KNOWN);
    sim_run(sim, 300);
}

void
sim_words_for(struct sim *sim, struct tl_event event, uint32_t side, const char *type,
              uint32_t weight_lb)
{
    for (uint32_t unit = 1; unit <= 4; unit++) {
        char id[TL_ID_CAP];
        (void)snprintf(id, sizeof id, "engine-%u", unit);
        (void)sim_say(sim, id, say_set(weight_lb, event));
        (void)sim_say(sim, id, say_battery(true, event));
    }
    sim_run(sim, 200);
    for (uint32_t unit = 1; unit <= 4; unit++) {
        (void)sim_say(sim, "primary", say_repeater(unit, weight_lb, event));
    }
    (void)sim_say(sim, "deck", say_deck(TL_DECK_CLEAR, TL_FOUL_UNKNOWN, event));
    (void)sim_say(sim, "platform", say_call(side, type, event));
    (void)sim_say(sim, "platform", say_hook(true, event));
    sim_run(sim, 300);
}

void
sim_view(struct sim *sim, const char *id, struct tl_view *view)
{
    struct sim_node *node = sim_node(sim, id);
    tl_member_view(node->member, sim_clock(sim, node), view);
}

enum tl_word
sim_word(struct sim *sim, const char *id)
{
    struct tl_view view;
    sim_view(sim, id, &view);
    return view.word;
}

bool
sim_all_show(struct sim *sim, enum tl_word word)
{
    for (uint32_t i = 0; i < sim->count; i++) {
        struct sim_node *node = &sim->node[i];
        struct tl_view view;
        if (node->member == NULL || !node->running || node->stopped) {
            continue;
        }
        tl_member_view(node->member, sim_clock(sim, node), &view);
        if (view.word != word) {
            return false;
        }
    }
    return true;
}

const char *
sim_causes(struct sim *sim, const char *validator, char *dst, size_t cap)
{
    const struct tl_decision *decision = &sim_node(sim, validator)->judge->decision;
    size_t used = 0;
    dst[0] = '\0';
    for (uint32_t i = 0; i < decision->cause_count && used < cap; i++) {
        const struct tl_cause *cause = &decision->cause[i];
        const struct tl_rule_row *row = tl_rule_row(cause->rule);
        if (cause->state == TL_CAUSE_NOTE) {
            continue;
        }
        int n = snprintf(dst + used, cap - used, "%s%s%s%s%s", used > 0 ? " " : "", row->name,
                         cause->station[0] != '\0' ? ":" : "", cause->station,
                         cause->state == TL_CAUSE_PENDING   ? "?"
                         : cause->state == TL_CAUSE_HOLDING ? "~"
                         : cause->state == TL_CAUSE_OVERDUE ? "!"
                                                            : "");
        used += n > 0 ? (size_t)n : 0;
    }
    return dst;
}
