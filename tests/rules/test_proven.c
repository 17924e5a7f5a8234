/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_proven - the second barrier alone: each fact that READY rests on, and each rule that is off
 *
 * The rules are not asked here. A fact that is not there keeps READY away; when the rule that asks
 * for it is off, it is not needed.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "tests/rules/tell.h"

typedef void change_fn(struct scene *scene);

static struct tl_datum *
datum(struct scene *s, const char *station, enum tl_datum_kind kind, uint32_t slot)
{
    return &scene_held(s, station, kind, slot)->datum;
}

static void
out_of_service(struct scene *s)
{
    s->config.gear.engine[1].in_service = false;
}
static void
no_engine(struct scene *s)
{
    for (uint32_t i = 0; i < 4; i++) {
        s->config.gear.engine[i].in_service = false;
        datum(s, "wires", TL_DATUM_RIG, i + 1)->as.rig = TL_RIG_STRIPPED;
    }
}
static void
not_echoed(struct scene *s)
{
    scene_told(s, "aid")->echoed = false;
}
static void
not_based(struct scene *s)
{
    scene_told(s, "aid")->based = false;
}
static void
not_live(struct scene *s)
{
    scene_told(s, "aid")->live = false;
}
static void
twin(struct scene *s)
{
    scene_told(s, "aid")->twin = true;
}
static void
echo_at_its_end(struct scene *s)
{
    scene_told(s, "aid")->echo_sent_ms = SCENE_NOW_MS - TL_LOST_MS;
}
static void
echo_too_old(struct scene *s)
{
    scene_told(s, "aid")->echo_sent_ms = SCENE_NOW_MS - TL_LOST_MS - 1;
}
static void
held_back(struct scene *s)
{
    scene_told(s, "aid")->back_ms = SCENE_NOW_MS - TL_HOLD_MS + 1;
}
static void
held_long_enough(struct scene *s)
{
    scene_told(s, "aid")->back_ms = SCENE_NOW_MS - TL_HOLD_MS;
}
static void
nobody(struct scene *s)
{
    s->fold.told_count = 0;
}
static void
set_at_type_bound(struct scene *s)
{
    s->config.gear.agree_tolerance_lb = 1000;
    datum(s, "engine-1", TL_DATUM_SET, 0)->as.set_lb = 35000;
    datum(s, "primary", TL_DATUM_REPEATER, 1)->as.repeater_lb = 35000;
}
static void
set_past_type_bound(struct scene *s)
{
    s->config.gear.agree_tolerance_lb = 1001;
    datum(s, "engine-1", TL_DATUM_SET, 0)->as.set_lb = 35001;
    datum(s, "primary", TL_DATUM_REPEATER, 1)->as.repeater_lb = 35001;
}
static void
set_at_order_bound(struct scene *s)
{
    datum(s, "engine-1", TL_DATUM_SET, 0)->as.set_lb = 33500;
    datum(s, "primary", TL_DATUM_REPEATER, 1)->as.repeater_lb = 33500;
}
static void
set_past_order_bound(struct scene *s)
{
    datum(s, "engine-1", TL_DATUM_SET, 0)->as.set_lb = 33499;
    datum(s, "primary", TL_DATUM_REPEATER, 1)->as.repeater_lb = 33499;
}
static void
battery_out(struct scene *s)
{
    datum(s, "engine-1", TL_DATUM_BATTERY, 0)->as.battery = TL_BATTERY_OUT;
}
static void
battery_unsaid(struct scene *s)
{
    scene_drop(s, "engine-1", TL_DATUM_BATTERY, 0);
}
static void
dial_other(struct scene *s)
{
    datum(s, "primary", TL_DATUM_REPEATER, 1)->as.repeater_lb = 33999;
}
static void
dial_unread(struct scene *s)
{
    scene_drop(s, "primary", TL_DATUM_REPEATER, 1);
}
static void
psi_low(struct scene *s)
{
    datum(s, "engine-1", TL_DATUM_ACCUMULATOR, 0)->as.accumulator_psi = 379;
}
static void
psi_high(struct scene *s)
{
    datum(s, "engine-1", TL_DATUM_ACCUMULATOR, 0)->as.accumulator_psi = 431;
}
static void
gap_small(struct scene *s)
{
    datum(s, "engine-1", TL_DATUM_CROSSHEAD, 0)->as.crosshead_in_x100 = 99;
}
static void
gap_unsaid(struct scene *s)
{
    scene_drop(s, "engine-1", TL_DATUM_CROSSHEAD, 0);
}
static void
rig_unsaid(struct scene *s)
{
    scene_drop(s, "wires", TL_DATUM_RIG, 1);
}
static void
sheave_down(struct scene *s)
{
    datum(s, "wires", TL_DATUM_SHEAVE, 1)->as.sheave.state = TL_SHEAVE_DOWN;
}
static void
sheave_unsaid(struct scene *s)
{
    scene_drop(s, "wires", TL_DATUM_SHEAVE, 1);
}
static void
bypassed(struct scene *s)
{
    datum(s, "wires", TL_DATUM_SHEAVE, 1)->as.sheave.bypassed = true;
}
static void
inactive_stripped(struct scene *s)
{
    out_of_service(s);
    datum(s, "wires", TL_DATUM_RIG, 2)->as.rig = TL_RIG_STRIPPED;
}
static void
stripped(struct scene *s)
{
    datum(s, "wires", TL_DATUM_RIG, 1)->as.rig = TL_RIG_STRIPPED;
    scene_drop(s, "wires", TL_DATUM_PENDANT, 1);
}
static void
pendant_unsaid(struct scene *s)
{
    scene_drop(s, "wires", TL_DATUM_PENDANT, 1);
}
static void
neither_rigged_nor_stripped(struct scene *s)
{
    datum(s, "wires", TL_DATUM_RIG, 1)->as.rig = TL_RIG_UNKNOWN;
    scene_drop(s, "wires", TL_DATUM_PENDANT, 1);
}
static void
pendant_low(struct scene *s)
{
    datum(s, "wires", TL_DATUM_PENDANT, 1)->as.pendant.low_in_x100 = 199;
}
static void
pendant_high(struct scene *s)
{
    datum(s, "wires", TL_DATUM_PENDANT, 1)->as.pendant.high_in_x100 = 551;
}
static void
pendant_high_unsaid(struct scene *s)
{
    datum(s, "wires", TL_DATUM_PENDANT, 1)->as.pendant.high_in_x100 = 0;
}
static void
pendant_worn(struct scene *s)
{
    datum(s, "wires", TL_DATUM_PENDANT, 1)->as.pendant.state = TL_PENDANT_WORN;
}
static void
wire_held(struct scene *s)
{
    datum(s, "wires", TL_DATUM_FREE, 0)->as.free.state = TL_FREE_HELD;
}
static void
retract_running(struct scene *s)
{
    datum(s, "wires", TL_DATUM_RETRACT, 0)->as.retract.state = TL_RETRACT_RUNNING;
}
static void
track_open(struct scene *s)
{
    datum(s, "tracks", TL_DATUM_TRACK, 2)->as.track = TL_TRACK_OPEN;
}
static void
track_1_open(struct scene *s)
{
    datum(s, "tracks", TL_DATUM_TRACK, 1)->as.track = TL_TRACK_OPEN;
}
static void
no_track(struct scene *s)
{
    s->config.ship.track_count = 0;
}
static void
aid_fault(struct scene *s)
{
    datum(s, "aid", TL_DATUM_AID, 0)->as.aid.state = TL_AID_FAULT;
}
static void
aid_other(struct scene *s)
{
    memcpy(datum(s, "aid", TL_DATUM_AID, 0)->as.aid.type, "curlew", sizeof "curlew");
}
static void
aid_no_distance(struct scene *s)
{
    for (uint32_t i = 0; i < s->config.type_count; i++) {
        s->config.type[i].hook_to_eye_ft_x100 = 0;
    }
}
static void
barricade_rigged(struct scene *s)
{
    datum(s, "barricade", TL_DATUM_BARRICADE, 0)->as.barricade.state = TL_BARRICADE_RIGGED;
}
static void
barricade_secure(struct scene *s)
{
    datum(s, "barricade", TL_DATUM_BARRICADE, 0)->as.barricade.state = TL_BARRICADE_SECURE;
}
static void
stanchions_up(struct scene *s)
{
    datum(s, "wires", TL_DATUM_STANCHIONS, 0)->as.stanchions = TL_STANCHION_RAISED;
}
static void
wires_off(struct scene *s)
{
    static const enum tl_rule rules[] = {TL_RULE_RIG_UNKNOWN,         TL_RULE_SHEAVE_DOWN,
                                         TL_RULE_BYPASS_WITH_PENDANT, TL_RULE_PENDANT_HEIGHT,
                                         TL_RULE_PENDANT_WORN,        TL_RULE_WIRE_NOT_FREE,
                                         TL_RULE_RETRACT_RUNNING};
    for (size_t i = 0; i < sizeof rules / sizeof rules[0]; i++) {
        s->config.ship.rule_off[rules[i]] = true;
    }
}
static void
no_wires(struct scene *s)
{
    wires_off(s);
    tell_remove(s, "wires");
}
static void
wires_off_stanchions_unsaid(struct scene *s)
{
    wires_off(s);
    scene_drop(s, "wires", TL_DATUM_STANCHIONS, 0);
}
static void
no_clear(struct scene *s)
{
    scene_drop(s, "deck", TL_DATUM_DECK, 0);
}
static void
owner_says_no_foul_only(struct scene *s)
{
    datum(s, "deck", TL_DATUM_DECK, 0)->as.deck.state = TL_DECK_NO_FOUL;
}
static void
foul_elsewhere(struct scene *s)
{
    datum(s, "platform", TL_DATUM_DECK, 0)->as.deck.state = TL_DECK_FOUL;
}
static void
stop_only_right(struct scene *s)
{
    scene_drop(s, "safety", TL_DATUM_DECK, 0);
    for (uint32_t i = 0; i < s->config.node_count; i++) {
        s->config.node[i].may_foul = false;
    }
}
static void
voice(struct scene *s, enum tl_datum_kind kind, enum tl_deck_state state)
{
    s->fold.voice_count = 1;
    s->fold.voice[0].told = scene_told(s, "platform");
    s->fold.voice[0].held.datum.kind = kind;
    s->fold.voice[0].held.datum.known = true;
    if (kind == TL_DATUM_DECK) {
        s->fold.voice[0].held.datum.as.deck.state = state;
    } else {
        s->fold.voice[0].held.datum.as.hook = TL_HOOK_NOT_DOWN;
    }
}
static void
foul_by_voice(struct scene *s)
{
    voice(s, TL_DATUM_DECK, TL_DECK_FOUL);
}
static void
no_foul_by_voice(struct scene *s)
{
    voice(s, TL_DATUM_DECK, TL_DECK_NO_FOUL);
}
static void
hook_by_voice(struct scene *s)
{
    voice(s, TL_DATUM_HOOK, TL_DECK_UNKNOWN);
}
static void
call_side(struct scene *s)
{
    datum(s, "platform", TL_DATUM_CALL, 0)->as.call.side = 1;
}
static void
call_type(struct scene *s)
{
    memcpy(datum(s, "platform", TL_DATUM_CALL, 0)->as.call.type, "dunlin", sizeof "dunlin");
}
static void
hook_up(struct scene *s)
{
    datum(s, "platform", TL_DATUM_HOOK, 0)->as.hook = TL_HOOK_NOT_DOWN;
}
static void
no_event(struct scene *s)
{
    s->fold.list.current.pass = 0;
}
static void
order_unknown(struct scene *s)
{
    s->fold.list.event[0].order_known = false;
}
static void
ended(struct scene *s)
{
    s->fold.list.event[0].ended = true;
}
static void
cancelled(struct scene *s)
{
    s->fold.list.event[0].order.state = TL_ORDER_CANCELLED;
}
static void
not_heard(struct scene *s)
{
    s->fold.list.heard = false;
}
static void
not_open(struct scene *s)
{
    s->fold.list.open = false;
}
static void
restarted(struct scene *s)
{
    s->fold.list.restarted = true;
}
static void
type_unknown(struct scene *s)
{
    memcpy(s->fold.list.event[0].order.type, "stint", sizeof "stint");
    memcpy(datum(s, "platform", TL_DATUM_CALL, 0)->as.call.type, "stint", sizeof "stint");
}
static void
wind_gone(struct scene *s)
{
    scene_told(s, "bridge")->sample_count = 0;
}

/* What is changed; whether that alone leaves it proven; the rule that is off for it to be proven. */
static const struct {
    const char *name;
    change_fn *change;
    bool proven;
    enum tl_rule rule;
} rows[] = {
    {"no engine", no_engine, false, TL_RULE_NONE},
    {"not echoed", not_echoed, false, TL_RULE_NONE},
    {"not based", not_based, false, TL_RULE_NONE},
    {"not live", not_live, false, TL_RULE_NONE},
    {"two writers", twin, false, TL_RULE_NONE},
    {"echo at its end", echo_at_its_end, true, TL_RULE_NONE},
    {"echo too old", echo_too_old, false, TL_RULE_NONE},
    {"held", held_back, false, TL_RULE_NONE},
    {"held long enough", held_long_enough, true, TL_RULE_NONE},
    {"nobody", nobody, false, TL_RULE_NONE},
    {"at the bound of the type", set_at_type_bound, true, TL_RULE_NONE},
    {"past the bound of the type", set_past_type_bound, false, TL_RULE_NONE},
    {"at the bound of the order", set_at_order_bound, true, TL_RULE_NONE},
    {"past the bound of the order", set_past_order_bound, false, TL_RULE_NONE},
    {"battery out", battery_out, false, TL_RULE_NOT_IN_BATTERY},
    {"battery unsaid", battery_unsaid, false, TL_RULE_NOT_IN_BATTERY},
    {"repeater", dial_other, false, TL_RULE_REPEATER_DIFFERS},
    {"repeater unread", dial_unread, false, TL_RULE_REPEATER_DIFFERS},
    {"pressure low", psi_low, false, TL_RULE_ACCUMULATOR},
    {"pressure high", psi_high, false, TL_RULE_ACCUMULATOR},
    {"gap small", gap_small, false, TL_RULE_CROSSHEAD_GAP},
    {"gap unsaid", gap_unsaid, false, TL_RULE_CROSSHEAD_GAP},
    {"sheave down", sheave_down, false, TL_RULE_SHEAVE_DOWN},
    {"bypassed", bypassed, false, TL_RULE_BYPASS_WITH_PENDANT},
    {"rigged out of service", out_of_service, false, TL_RULE_INACTIVE_RIGGED},
    {"stripped out of service", inactive_stripped, true, TL_RULE_NONE},
    {"rig unsaid", rig_unsaid, false, TL_RULE_RIG_UNKNOWN},
    {"sheave unsaid", sheave_unsaid, false, TL_RULE_NONE},
    {"stripped", stripped, true, TL_RULE_NONE},
    {"pendant unsaid", pendant_unsaid, false, TL_RULE_NONE},
    {"neither rigged nor stripped, pendant unsaid", neither_rigged_nor_stripped, false,
     TL_RULE_NONE},
    {"pendant low", pendant_low, false, TL_RULE_PENDANT_HEIGHT},
    {"pendant high", pendant_high, false, TL_RULE_PENDANT_HEIGHT},
    {"pendant's highest point unsaid", pendant_high_unsaid, false, TL_RULE_PENDANT_HEIGHT},
    {"pendant worn", pendant_worn, false, TL_RULE_PENDANT_WORN},
    {"wire held", wire_held, false, TL_RULE_WIRE_NOT_FREE},
    {"retract running", retract_running, false, TL_RULE_RETRACT_RUNNING},
    {"track 1", track_1_open, false, TL_RULE_TRACK_OPEN},
    {"track 2", track_open, false, TL_RULE_TRACK_OPEN},
    {"no track", no_track, false, TL_RULE_TRACK_OPEN},
    {"aid at fault", aid_fault, false, TL_RULE_AID_FAULT},
    {"aid for another", aid_other, false, TL_RULE_AID_NOT_FOR_TYPE},
    {"no distance given", aid_no_distance, false, TL_RULE_AID_NOT_FOR_TYPE},
    {"barricade rigged", barricade_rigged, false, TL_RULE_BARRICADE_NOT_STOWED},
    {"barricade secure", barricade_secure, true, TL_RULE_NONE},
    {"stanchions up", stanchions_up, false, TL_RULE_BARRICADE_NOT_STOWED},
    {"no wires on the ship", no_wires, true, TL_RULE_NONE},
    {"no wires asked for, stanchions unsaid", wires_off_stanchions_unsaid, false,
     TL_RULE_BARRICADE_NOT_STOWED},
    {"no clear", no_clear, false, TL_RULE_DECK_FOUL},
    {"the owner says no foul only", owner_says_no_foul_only, false, TL_RULE_DECK_FOUL},
    {"foul elsewhere", foul_elsewhere, false, TL_RULE_DECK_FOUL},
    {"no word of one who may stop only", stop_only_right, false, TL_RULE_DECK_FOUL},
    {"foul by voice", foul_by_voice, false, TL_RULE_DECK_FOUL},
    {"no foul by voice", no_foul_by_voice, true, TL_RULE_NONE},
    {"another word by voice", hook_by_voice, true, TL_RULE_NONE},
    {"call of another side", call_side, false, TL_RULE_TYPE_CALLED_DIFFERS},
    {"call of another type", call_type, false, TL_RULE_TYPE_CALLED_DIFFERS},
    {"hook not down", hook_up, false, TL_RULE_HOOK_NOT_DOWN},
    {"no event", no_event, false, TL_RULE_NONE},
    {"order unknown", order_unknown, false, TL_RULE_NONE},
    {"ended", ended, false, TL_RULE_NONE},
    {"cancelled", cancelled, false, TL_RULE_NONE},
    {"list not heard", not_heard, false, TL_RULE_NONE},
    {"no recovery open", not_open, false, TL_RULE_NONE},
    {"primary restarted", restarted, false, TL_RULE_NONE},
    {"type not in the table", type_unknown, false, TL_RULE_NONE},
    {"no wind", wind_gone, false, TL_RULE_NONE},
};

static void
each_fact_is_asked_for(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct scene *scene = scene_ready_full();
        assert_true(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
        rows[i].change(scene);
        if (tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS) != rows[i].proven) {
            fail_msg("%s: proven %d", rows[i].name, !rows[i].proven);
        }
        if (rows[i].rule != TL_RULE_NONE) {
            scene->config.ship.rule_off[rows[i].rule] = true;
            if (!tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS)) {
                fail_msg("%s: not proven with its rule off", rows[i].name);
            }
        }
        free(scene);
    }
}

/* Each rule that is off takes away its own question and no other: one row without its own rule. */
static void
a_rule_that_is_off_excuses_nothing_else(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        for (uint32_t rule = 1; rule < TL_RULES_MAX && !rows[i].proven; rule++) {
            struct scene *scene = scene_ready_full();
            scene->config.ship.rule_off[rule] = true;
            assert_true(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
            rows[i].change(scene);
            bool own = rule == (uint32_t)rows[i].rule;
            if (tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS) != own) {
                fail_msg("%s: rule %u off", rows[i].name, rule);
            }
            free(scene);
        }
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_fact_is_asked_for),
        cmocka_unit_test(a_rule_that_is_off_excuses_nothing_else),
    };
    return cmocka_run_group_tests_name("rules_proven", tests, NULL, NULL);
}
