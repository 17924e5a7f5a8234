/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_figures - what a cause carries: how bad, what was said, what is needed, and the statement
 * that keys its alert
 *
 * A person acts on the figures, and an alert is the same alert as long as its key is.
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

struct row {
    const char *name;
    change_fn *change;
    const char *lines;
};

static struct tl_datum *
datum(struct scene *s, const char *station, enum tl_datum_kind kind, uint32_t slot)
{
    return &scene_held(s, station, kind, slot)->datum;
}

static void
diverted(struct scene *s)
{
    datum(s, "approach", TL_DATUM_INBOUND, SCENE_SIDE)->as.inbound =
        (struct tl_inbound){.side = SCENE_SIDE, .type = "plover", .diverted = true};
}
static void
trouble(struct scene *s)
{
    datum(s, "approach", TL_DATUM_INBOUND, SCENE_SIDE)->as.inbound =
        (struct tl_inbound){.side = SCENE_SIDE, .type = "plover", .trouble = TL_TROUBLE_GEAR};
}
static void
inbound_type(struct scene *s)
{
    datum(s, "approach", TL_DATUM_INBOUND, SCENE_SIDE)->as.inbound =
        (struct tl_inbound){.side = SCENE_SIDE, .type = "dunlin"};
}
static void
order_lost(struct scene *s)
{
    s->fold.list.event[0].order_known = false;
}
static void
type_unknown(struct scene *s)
{
    memcpy(s->fold.list.event[0].order.type, "stint", sizeof "stint");
    memcpy(datum(s, "platform", TL_DATUM_CALL, 0)->as.call.type, "stint", sizeof "stint");
}
static void
call_side(struct scene *s)
{
    datum(s, "platform", TL_DATUM_CALL, 0)->as.call.side = 9;
}
static void
call_unsaid(struct scene *s)
{
    scene_drop(s, "platform", TL_DATUM_CALL, 0);
}
static void
other_aircraft(struct scene *s)
{
    datum(s, "engine-3", TL_DATUM_SET, 0)->as.set_lb = 40000;
}
static void
not_ordered(struct scene *s)
{
    datum(s, "engine-3", TL_DATUM_SET, 0)->as.set_lb = 34900;
}
static void
set_unsaid(struct scene *s)
{
    scene_drop(s, "engine-3", TL_DATUM_SET, 0);
}
static void
not_alike(struct scene *s)
{
    datum(s, "engine-2", TL_DATUM_SET, 0)->as.set_lb = 34500;
    datum(s, "primary", TL_DATUM_REPEATER, 2)->as.repeater_lb = 34500;
}
static void
not_alike_one_out(struct scene *s)
{
    not_alike(s);
    s->config.gear.engine[0].in_service = false;
    datum(s, "wires", TL_DATUM_RIG, 1)->as.rig = TL_RIG_STRIPPED;
    scene_drop(s, "engine-1", TL_DATUM_SET, 0);
}
static void
battery_elsewhere(struct scene *s)
{
    datum(s, "engine-2", TL_DATUM_BATTERY, 0)->stated_for[0].pass = 2;
}
static void
stripped(struct scene *s)
{
    for (uint32_t n = 1; n <= 3; n++) {
        datum(s, "wires", TL_DATUM_RIG, n)->as.rig = TL_RIG_STRIPPED;
    }
    scene_drop(s, "wires", TL_DATUM_PENDANT, 1);
    datum(s, "wires", TL_DATUM_PENDANT, 2)->as.pendant.low_in_x100 = 1;
    datum(s, "wires", TL_DATUM_PENDANT, 3)->as.pendant.state = TL_PENDANT_WORN;
}
static void
words_of_no_wire(struct scene *s)
{
    datum(s, "wires", TL_DATUM_RIG, 0)->as.rig = TL_RIG_RIGGED;
    datum(s, "wires", TL_DATUM_SHEAVE, 0)->as.sheave = (struct tl_sheave){TL_SHEAVE_DOWN, true};
    datum(s, "wires", TL_DATUM_PENDANT, 0)->as.pendant = (struct tl_pendant){TL_PENDANT_WORN, 1, 1};
    datum(s, "gear-officer", TL_DATUM_CABLE, 0)->as.cable.wear.traps = 99;
}
static void
repeater(struct scene *s)
{
    datum(s, "primary", TL_DATUM_REPEATER, 4)->as.repeater_lb = 33000;
}
static void
repeater_unread(struct scene *s)
{
    scene_drop(s, "primary", TL_DATUM_REPEATER, 4);
}
static void
battery_out(struct scene *s)
{
    datum(s, "engine-2", TL_DATUM_BATTERY, 0)->as.battery = TL_BATTERY_OUT;
}
static void
battery_unsaid(struct scene *s)
{
    scene_drop(s, "engine-2", TL_DATUM_BATTERY, 0);
}
static void
rigs_unsaid(struct scene *s)
{
    scene_drop(s, "wires", TL_DATUM_RIG, 2);
    scene_drop(s, "wires", TL_DATUM_RIG, 3);
}
static void
rig_unsaid(struct scene *s)
{
    scene_drop(s, "wires", TL_DATUM_RIG, 3);
}
static void
sheave(struct scene *s)
{
    datum(s, "wires", TL_DATUM_SHEAVE, 2)->as.sheave.state = TL_SHEAVE_DOWN;
}
static void
sheaves_unsaid(struct scene *s)
{
    for (uint32_t n = 1; n <= 4; n++) {
        scene_drop(s, "wires", TL_DATUM_SHEAVE, n);
    }
}
static void
bypass(struct scene *s)
{
    datum(s, "wires", TL_DATUM_SHEAVE, 3)->as.sheave.bypassed = true;
}
static void
low(struct scene *s)
{
    datum(s, "wires", TL_DATUM_PENDANT, 1)->as.pendant.low_in_x100 = 150;
}
static void
high(struct scene *s)
{
    datum(s, "wires", TL_DATUM_PENDANT, 1)->as.pendant.high_in_x100 = 600;
}
static void
pendant_unsaid(struct scene *s)
{
    scene_drop(s, "wires", TL_DATUM_PENDANT, 4);
}
static void
worn(struct scene *s)
{
    datum(s, "wires", TL_DATUM_PENDANT, 4)->as.pendant.state = TL_PENDANT_WORN;
}
static void
inactive(struct scene *s)
{
    s->config.gear.engine[1].in_service = false;
}
static void
inactive_not_rigged(struct scene *s)
{
    s->config.gear.engine[1].in_service = false;
    scene_drop(s, "wires", TL_DATUM_RIG, 2);
}
static void
held(struct scene *s)
{
    datum(s, "wires", TL_DATUM_FREE, 0)->as.free = (struct tl_free){TL_FREE_HELD, 3};
}
static void
held_unnamed(struct scene *s)
{
    datum(s, "wires", TL_DATUM_FREE, 0)->as.free = (struct tl_free){TL_FREE_HELD, 0};
}
static void
free_unsaid(struct scene *s)
{
    scene_drop(s, "wires", TL_DATUM_FREE, 0);
}
static void
running(struct scene *s)
{
    datum(s, "wires", TL_DATUM_RETRACT, 0)->as.retract = (struct tl_retract){TL_RETRACT_RUNNING, 1};
}
static void
retract_elsewhere(struct scene *s)
{
    datum(s, "wires", TL_DATUM_RETRACT, 0)->stated_for[0].pass = 2;
}
static void
psi_low(struct scene *s)
{
    datum(s, "engine-2", TL_DATUM_ACCUMULATOR, 0)->as.accumulator_psi = 300;
}
static void
psi_high(struct scene *s)
{
    datum(s, "engine-2", TL_DATUM_ACCUMULATOR, 0)->as.accumulator_psi = 500;
}
static void
psi_unsaid(struct scene *s)
{
    scene_drop(s, "engine-2", TL_DATUM_ACCUMULATOR, 0);
}
static void
gap(struct scene *s)
{
    datum(s, "engine-1", TL_DATUM_CROSSHEAD, 0)->as.crosshead_in_x100 = 50;
}
static void
cable_due(struct scene *s)
{
    datum(s, "gear-officer", TL_DATUM_CABLE, 2)->as.cable.wear.traps = 55;
}
static void
cable_overdue(struct scene *s)
{
    datum(s, "gear-officer", TL_DATUM_CABLE, 2)->as.cable.wear.traps = 70;
}
static void
cable_unsaid(struct scene *s)
{
    scene_drop(s, "gear-officer", TL_DATUM_CABLE, 2);
}
static void
track(struct scene *s)
{
    datum(s, "tracks", TL_DATUM_TRACK, 2)->as.track = TL_TRACK_SHUTTLE;
}
static void
tracks_unsaid(struct scene *s)
{
    scene_drop(s, "tracks", TL_DATUM_TRACK, 1);
    scene_drop(s, "tracks", TL_DATUM_TRACK, 2);
}
static void
aid_other(struct scene *s)
{
    memcpy(datum(s, "aid", TL_DATUM_AID, 0)->as.aid.type, "curlew", sizeof "curlew");
}
static void
aid_fault(struct scene *s)
{
    datum(s, "aid", TL_DATUM_AID, 0)->as.aid = (struct tl_aid){.state = TL_AID_FAULT};
}
static void
aid_unsaid(struct scene *s)
{
    scene_drop(s, "aid", TL_DATUM_AID, 0);
}
static void
barricade_rigged(struct scene *s)
{
    datum(s, "barricade", TL_DATUM_BARRICADE, 0)->as.barricade.state = TL_BARRICADE_RIGGED;
}
static void
barricade_unsaid(struct scene *s)
{
    scene_drop(s, "barricade", TL_DATUM_BARRICADE, 0);
}
static void
stanchions_up(struct scene *s)
{
    datum(s, "wires", TL_DATUM_STANCHIONS, 0)->as.stanchions = TL_STANCHION_MOVING;
}
static void
stanchions_unsaid(struct scene *s)
{
    scene_drop(s, "wires", TL_DATUM_STANCHIONS, 0);
}
static void
power_low(struct scene *s)
{
    datum(s, "barricade", TL_DATUM_BARRICADE_POWER, 0)->as.barricade_power.pressure_psi = 1200;
}
static void
power_cycles(struct scene *s)
{
    datum(s, "barricade", TL_DATUM_BARRICADE_POWER, 0)->as.barricade_power.cycles = 5;
}
static void
power_unsaid(struct scene *s)
{
    scene_drop(s, "barricade", TL_DATUM_BARRICADE_POWER, 0);
}
static void
stop(struct scene *s)
{
    datum(s, "safety", TL_DATUM_DECK, 0)->as.deck = (struct tl_deck){.state = TL_DECK_STOP};
}
static void
foul(struct scene *s)
{
    datum(s, "platform", TL_DATUM_DECK, 0)->as.deck =
        (struct tl_deck){.state = TL_DECK_FOUL, .reason = TL_FOUL_WIRE};
}
static void
line(struct scene *s)
{
    datum(s, "deck", TL_DATUM_DECK, 0)->as.deck =
        (struct tl_deck){.state = TL_DECK_FOUL, .reason = TL_FOUL_AIRCRAFT, .was_clear = true};
}
static void
no_clear(struct scene *s)
{
    scene_drop(s, "deck", TL_DATUM_DECK, 0);
}
static void
no_foul_word(struct scene *s)
{
    scene_drop(s, "safety", TL_DATUM_DECK, 0);
}
static void
hook(struct scene *s)
{
    datum(s, "platform", TL_DATUM_HOOK, 0)->as.hook = TL_HOOK_NOT_DOWN;
}
static void
hook_unsaid(struct scene *s)
{
    scene_drop(s, "platform", TL_DATUM_HOOK, 0);
}
static void
wind(struct scene *s)
{
    scene_told(s, "bridge")->samples[0].as.wind.state = TL_WIND_DISAGREE;
}
static void
wind_gone(struct scene *s)
{
    scene_told(s, "bridge")->sample_count = 0;
}

/* clang-format off */
static const struct row rows[] = {
    {"diverted", diverted,
     "ordered-diverted:approach wrong said 204/plover key approach inbound 204"},
    {"trouble", trouble,
     "inbound-trouble:approach note said 204/gear trouble key approach inbound 204"},
    {"inbound type", inbound_type,
     "type-called-differs:approach wrong said 204/dunlin needs 204/plover key approach inbound 204"},
    {"order lost", order_lost,
     "order-unknown:primary pending key primary order 1\n"
     "setting-not-ordered:engine-1 pending key primary order 1\n"
     "setting-not-ordered:engine-2 pending key primary order 1\n"
     "setting-not-ordered:engine-3 pending key primary order 1\n"
     "setting-not-ordered:engine-4 pending key primary order 1"},
    {"type unknown", type_unknown,
     "type-unknown wrong said 204/stint key primary order 1\n"
     "type-called-differs:approach wrong said 204/plover needs 204/stint key approach inbound 204"},
    {"call side", call_side,
     "type-called-differs:platform wrong said 9/plover needs 204/plover key platform call 0"},
    {"call unsaid", call_unsaid,
     "type-called-differs:platform pending key primary order 1"},
    {"other aircraft", other_aircraft,
     "setting-other-aircraft:engine-3 wrong said 40000 needs 34000/plover key engine-3 set 0"},
    {"not ordered", not_ordered,
     "setting-not-ordered:engine-3 wrong said 34900 needs 34000 key engine-3 set 0"},
    {"set unsaid", set_unsaid,
     "setting-not-ordered:engine-3 pending key primary order 1"},
    {"not alike", not_alike,
     "engines-disagree wrong said 34500 needs 34000 key primary order 1"},
    {"not alike, one out of service", not_alike_one_out,
     "engines-disagree wrong said 34000 needs 34500 key primary order 1"},
    {"battery for another event", battery_elsewhere,
     "not-in-battery:engine-2 pending key primary order 1"},
    {"a stripped wire owes no pendant", stripped, "too-few-wires wrong said 1 needs 3 key primary order 1\n"
     "aid-not-on-target:aid wrong said 3 needs 4 key aid aid 0"},
    {"words of a wire that is not there", words_of_no_wire, ""},
    {"repeater", repeater,
     "repeater-differs:engine-4 wrong said 33000 needs 34000 key engine-4 set 0"},
    {"repeater unread", repeater_unread,
     "repeater-differs:engine-4 pending key primary order 1"},
    {"battery out", battery_out,
     "not-in-battery:engine-2 pending said 74 key engine-2 battery 0"},
    {"battery unsaid", battery_unsaid,
     "not-in-battery:engine-2 pending key primary order 1"},
    {"rigs unsaid", rigs_unsaid,
     "rig-unknown:wires pending needs 2/and more key primary order 1"},
    {"rig unsaid", rig_unsaid,
     "rig-unknown:wires pending needs 3 key primary order 1"},
    {"sheave", sheave,
     "sheave-down:wires wrong said 2 key wires sheave 2"},
    {"sheaves unsaid", sheaves_unsaid,
     "sheave-down:wires pending needs 1/and more key primary order 1"},
    {"bypass", bypass,
     "bypass-with-pendant:wires wrong said 3 key wires sheave 3"},
    {"low", low,
     "pendant-height:wires wrong said 1 needs 150/low key wires pendant 1"},
    {"high", high,
     "pendant-height:wires wrong said 1 needs 600/high key wires pendant 1"},
    {"pendant unsaid", pendant_unsaid,
     "pendant-height:wires pending needs 4 key primary order 1"},
    {"worn", worn,
     "pendant-worn:wires wrong said 4/worn or damaged key wires pendant 4"},
    {"inactive", inactive,
     "inactive-rigged:wires wrong said 2 key wires rig 2"},
    {"inactive not rigged", inactive_not_rigged,
     "rig-unknown:wires pending needs 2 key primary order 1"},
    {"held", held,
     "wire-not-free:wires pending said 3 key wires free 0"},
    {"held unnamed", held_unnamed,
     "wire-not-free:wires pending said 0 key wires free 0"},
    {"free unsaid", free_unsaid,
     "wire-not-free:wires pending key primary order 1"},
    {"running", running,
     "retract-running:wires pending said 1 key wires retract 0"},
    {"retract elsewhere", retract_elsewhere,
     "retract-running:wires pending key primary order 1"},
    {"psi low", psi_low,
     "accumulator-pressure:engine-2 wrong said 300 needs 380 key engine-2 accumulator 0"},
    {"psi high", psi_high,
     "accumulator-pressure:engine-2 wrong said 500 needs 430 key engine-2 accumulator 0"},
    {"psi unsaid", psi_unsaid,
     "accumulator-pressure:engine-2 pending key primary order 1"},
    {"gap", gap,
     "crosshead-gap:engine-1 wrong said 50 needs 100 key engine-1 crosshead 0"},
    {"cable due", cable_due,
     "detorque-due:gear-officer note said 2 key gear-officer cable 2"},
    {"cable overdue", cable_overdue,
     "detorque-overdue:gear-officer wrong said 2 key gear-officer cable 2"},
    {"cable unsaid", cable_unsaid,
     "detorque-overdue:gear-officer pending needs 2 key primary order 1"},
    {"track", track,
     "track-open:tracks wrong said 2/shuttle in area key tracks track 2"},
    {"tracks unsaid", tracks_unsaid,
     "track-open:tracks pending needs 1/and more key primary order 1"},
    {"aid other", aid_other,
     "aid-not-for-type:aid wrong said 0/curlew needs 0/plover key aid aid 0"},
    {"aid fault", aid_fault,
     "aid-fault:aid wrong said 74 key aid aid 0"},
    {"aid unsaid", aid_unsaid,
     "aid-not-for-type:aid pending key primary order 1"},
    {"barricade rigged", barricade_rigged,
     "barricade-not-stowed:barricade wrong said 0/rigged key barricade barricade 0"},
    {"barricade unsaid", barricade_unsaid,
     "barricade-not-stowed:barricade pending key primary order 1"},
    {"stanchions up", stanchions_up,
     "barricade-not-stowed:wires wrong said 0/stanchions up key wires stanchions 0"},
    {"stanchions unsaid", stanchions_unsaid,
     "barricade-not-stowed:wires pending key primary order 1"},
    {"power low", power_low,
     "barricade-power:barricade wrong said 1200/psi needs 1500 key barricade power 0"},
    {"power cycles", power_cycles,
     "barricade-power:barricade wrong said 5/cycles needs 3 key barricade power 0"},
    {"power unsaid", power_unsaid,
     "barricade-power:barricade pending key primary order 1"},
    {"stop", stop,
     "stop:safety wrong said 19 key safety deck 0"},
    {"foul", foul,
     "deck-foul:platform wrong said 4 key platform deck 0"},
    {"line", line,
     "line-crossed:deck wrong said 2 key deck deck 0"},
    {"no clear", no_clear,
     "deck-foul:deck pending key primary order 1"},
    {"no foul word", no_foul_word,
     "foul-word-missing:safety pending key primary order 1"},
    {"hook", hook,
     "hook-not-down:platform wrong said 74 key platform hook 0"},
    {"hook unsaid", hook_unsaid,
     "hook-not-down:platform pending key primary order 1"},
    {"wind", wind,
     "wind-unknown:bridge wrong key primary order 1"},
    {"wind gone", wind_gone,
     "wind-unknown:bridge pending key primary order 1\n"
     "deck-motion:bridge pending key primary order 1\n"
     "ship-not-steady:bridge pending key primary order 1"},
};
/* clang-format on */

static void
each_cause_carries_its_figures_and_its_key(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct scene *scene = scene_ready_full();
        tell_expect(scene, "before", "");
        assert_int_equal(scene->decision.word, TL_WORD_READY);
        rows[i].change(scene);
        tell_expect(scene, rows[i].name, rows[i].lines);
        free(scene);
    }
}

/* A word that is cut short on a screen is another word. */
static void
every_word_of_a_cause_fits_in_it(void **state)
{
    static const enum tl_track_state tracks[] = {TL_TRACK_SECURED,   TL_TRACK_OPEN,
                                                 TL_TRACK_DEFLECTOR, TL_TRACK_SHUTTLE,
                                                 TL_TRACK_CREW,      TL_TRACK_UNKNOWN};
    static const enum tl_pendant_state pendants[] = {TL_PENDANT_GOOD, TL_PENDANT_WORN,
                                                     TL_PENDANT_SUPPORT, TL_PENDANT_OFF_CENTRE,
                                                     TL_PENDANT_UNKNOWN};
    static const enum tl_barricade_state barricades[] = {TL_BARRICADE_SECURE, TL_BARRICADE_READY,
                                                         TL_BARRICADE_PARTIAL, TL_BARRICADE_RIGGED,
                                                         TL_BARRICADE_UNKNOWN};
    static const enum tl_trouble troubles[] = {TL_TROUBLE_NONE, TL_TROUBLE_HOOK, TL_TROUBLE_GEAR,
                                               TL_TROUBLE_OTHER};

    (void)state;
    for (size_t i = 0; i < sizeof tracks / sizeof tracks[0]; i++) {
        assert_true(strlen(tl_track_word(tracks[i])) < TL_TYPE_CAP);
    }
    for (size_t i = 0; i < sizeof pendants / sizeof pendants[0]; i++) {
        assert_true(strlen(tl_pendant_word(pendants[i])) < TL_TYPE_CAP);
    }
    for (size_t i = 0; i < sizeof barricades / sizeof barricades[0]; i++) {
        assert_true(strlen(tl_barricade_word(barricades[i])) < TL_TYPE_CAP);
    }
    for (size_t i = 0; i < sizeof troubles / sizeof troubles[0]; i++) {
        assert_true(strlen(tl_trouble_word(troubles[i])) < TL_TYPE_CAP);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_cause_carries_its_figures_and_its_key),
        cmocka_unit_test(every_word_of_a_cause_fits_in_it),
    };
    return cmocka_run_group_tests_name("rules_figures", tests, NULL, NULL);
}
