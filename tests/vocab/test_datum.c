/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_datum - what is toward safe and what toward READY, and how long a word lasts
 *
 * The one table that the whole bus goes by: toward safe acts at once, whatever its age.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "proto/vocab/datum.h"

#define IS(what, ...)                                                                              \
    {                                                                                              \
        .kind = TL_DATUM_##what, .known = true, .as = { __VA_ARGS__ }                              \
    }

/* clang-format off */
static const struct tl_datum toward_safe[] = {
    IS(RECOVERY, .recovery = {.state = TL_RECOVERY_CLOSED}),
    IS(ORDER, .order = {.state = TL_ORDER_CANCELLED}),
    IS(BATTERY, .battery = TL_BATTERY_OUT),
    IS(DECK, .deck = {.state = TL_DECK_FOUL}),
    IS(DECK, .deck = {.state = TL_DECK_STOP}),
    IS(HOOK, .hook = TL_HOOK_NOT_DOWN),
    IS(RESULT, .result = {TL_OUTCOME_TRAP, 2}),
    IS(INBOUND, .inbound = {.diverted = true}),
    IS(SHEAVE, .sheave = {TL_SHEAVE_DOWN, false}),
    IS(PENDANT, .pendant = {TL_PENDANT_WORN, 275, 490}),
    IS(PENDANT, .pendant = {TL_PENDANT_SUPPORT, 0, 0}),
    IS(PENDANT, .pendant = {TL_PENDANT_OFF_CENTRE, 0, 0}),
    IS(FREE, .free = {TL_FREE_HELD, 3}),
    IS(RETRACT, .retract = {TL_RETRACT_RUNNING, 3}),
    IS(STANCHIONS, .stanchions = TL_STANCHION_MOVING),
    IS(TRACK, .track = TL_TRACK_OPEN),
    IS(TRACK, .track = TL_TRACK_CREW),
    IS(AID, .aid = {.state = TL_AID_FAULT}),
    IS(BARRICADE, .barricade = {TL_BARRICADE_PARTIAL, false}),
    IS(FLUID, .fluid = TL_FLUID_LOW),
    IS(FLUID, .fluid = TL_FLUID_HIGH),
    IS(FAULT, .fault = {TL_FAULT_STATE_ACTIVE, 31}),
    IS(INSPECTED, .inspected = {TL_INSPECTION_FOUND, "Rowan"}),
    IS(WATCH, .watch = "Ash"),
    IS(ACKNOWLEDGED, .instance = 1),
};
static const struct tl_datum toward_ready[] = {
    IS(RECOVERY, .recovery = {.state = TL_RECOVERY_OPEN}),
    IS(ORDER, .order = {.state = TL_ORDER_ORDERED}),
    IS(SET, .set_lb = 34000),
    IS(REPEATER, .repeater_lb = 34000),
    IS(BATTERY, .battery = TL_BATTERY_IN),
    IS(DECK, .deck = {.state = TL_DECK_CLEAR}),
    IS(DECK, .deck = {.state = TL_DECK_NO_FOUL}),
    IS(CALL, .call = {204, "plover", 0}),
    IS(HOOK, .hook = TL_HOOK_DOWN),
    IS(INBOUND, .inbound = {.side = 204, .trouble = TL_TROUBLE_HOOK}),
    IS(RIG, .rig = TL_RIG_RIGGED),
    IS(RIG, .rig = TL_RIG_STRIPPED),
    IS(SHEAVE, .sheave = {TL_SHEAVE_UP, false}),
    IS(SHEAVE, .sheave = {TL_SHEAVE_DOWN, true}),
    IS(PENDANT, .pendant = {TL_PENDANT_GOOD, 275, 490}),
    IS(FREE, .free = {TL_FREE_FREE, 0}),
    IS(RETRACT, .retract = {TL_RETRACT_RETRACTED, 0}),
    IS(STANCHIONS, .stanchions = TL_STANCHION_LOWERED),
    IS(STANCHIONS, .stanchions = TL_STANCHION_RAISED),
    IS(TRACK, .track = TL_TRACK_SECURED),
    IS(AID, .aid = {.state = TL_AID_WORKING}),
    IS(ACCUMULATOR, .accumulator_psi = 1),
    IS(CROSSHEAD, .crosshead_in_x100 = 1),
    IS(CABLE, .cable = {.wear.traps = 500}),
    IS(BARRICADE, .barricade = {TL_BARRICADE_SECURE, false}),
    IS(BARRICADE, .barricade = {TL_BARRICADE_READY, false}),
    IS(BARRICADE, .barricade = {TL_BARRICADE_RIGGED, false}),
    IS(BARRICADE_POWER, .barricade_power = {1, 9}),
    IS(OVERRIDE, .override = {.rule = 45}),
    IS(OUT_OF_SERVICE, .out_of_service = "validator-2"),
    IS(SERVICE, .service = {TL_SERVICE_IN, 0}),
    IS(SERVICE, .service = {TL_SERVICE_OUT, 0}),
    IS(FLUID, .fluid = TL_FLUID_BATTERY),
    IS(FAULT, .fault = {TL_FAULT_STATE_NONE, 0}),
    IS(ARREST, .arrest = {.ram_in_x10 = 9999}),
    IS(FREED, .freed = {.name = "Rowan"}),
    IS(SIGNED_OFF, .signed_off = {12, "Rowan"}),
    IS(INSPECTED, .inspected = {TL_INSPECTION_GOOD, "Rowan"}),
    IS(PENDANT_LIFE, .pendant_life = {.traps = 999}),
};
/* clang-format on */

enum {
    SAFE_COUNT = sizeof toward_safe / sizeof toward_safe[0],
    READY_COUNT = sizeof toward_ready / sizeof toward_ready[0]
};

static void
each_word_is_toward_safe_or_toward_ready(void **state)
{
    (void)state;
    for (size_t i = 0; i < SAFE_COUNT; i++) {
        assert_true(tl_datum_is_safeward(&toward_safe[i]));
        assert_false(tl_datum_needs_confirm(&toward_safe[i]));
    }
    for (size_t i = 0; i < READY_COUNT; i++) {
        if (tl_datum_is_safeward(&toward_ready[i])) {
            fail_msg("row %zu, %s", i, tl_datum_kind_name(toward_ready[i].kind));
        }
        assert_true(tl_datum_needs_confirm(&toward_ready[i]));
    }
}

static void
unknown_is_toward_safe_and_every_kind_has_a_row(void **state)
{
    (void)state;
    bool seen[TL_DATUM_KINDS] = {false};
    for (size_t i = 0; i < SAFE_COUNT; i++) {
        seen[toward_safe[i].kind] = true;
    }
    for (size_t i = 0; i < READY_COUNT; i++) {
        seen[toward_ready[i].kind] = true;
        struct tl_datum unknown = toward_ready[i];
        unknown.known = false;
        assert_true(tl_datum_is_safeward(&unknown));
    }
    for (int kind = TL_DATUM_RECOVERY; kind < TL_DATUM_KINDS; kind++) {
        assert_true(seen[kind]);
        assert_int_not_equal(tl_datum_cadence((enum tl_datum_kind)kind), TL_CADENCE_UNKNOWN);
        assert_int_equal(tl_datum_kind_by_name(tl_datum_kind_name((enum tl_datum_kind)kind)), kind);
    }
}

/* What dies with its event; everything else stands, or is carried to the next. */
static void
a_word_of_the_event_is_one_toward_ready_of_these_kinds(void **state)
{
    (void)state;
    for (size_t i = 0; i < READY_COUNT; i++) {
        const struct tl_datum *d = &toward_ready[i];
        bool of_event = d->kind == TL_DATUM_BATTERY || d->kind == TL_DATUM_CALL ||
                        d->kind == TL_DATUM_HOOK || d->kind == TL_DATUM_FREE ||
                        d->kind == TL_DATUM_RETRACT || d->kind == TL_DATUM_TRACK ||
                        (d->kind == TL_DATUM_DECK && d->as.deck.state == TL_DECK_CLEAR);
        assert_int_equal(tl_datum_is_event_word(d), of_event);
    }
    for (size_t i = 0; i < SAFE_COUNT; i++) {
        assert_false(tl_datum_is_event_word(&toward_safe[i]));
    }
}

/* Any two rows are other words, and each is like itself. */
static void
two_values_are_the_same_only_when_nothing_differs(void **state)
{
    (void)state;
    for (size_t i = 0; i < READY_COUNT; i++) {
        assert_true(tl_datum_same_value(&toward_ready[i], &toward_ready[i]));
        for (size_t k = 0; k < READY_COUNT; k++) {
            assert_int_equal(tl_datum_equal(&toward_ready[i], &toward_ready[k]), i == k);
        }
        for (size_t k = 0; k < SAFE_COUNT; k++) {
            assert_false(tl_datum_equal(&toward_ready[i], &toward_safe[k]));
        }
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_word_is_toward_safe_or_toward_ready),
        cmocka_unit_test(unknown_is_toward_safe_and_every_kind_has_a_row),
        cmocka_unit_test(a_word_of_the_event_is_one_toward_ready_of_these_kinds),
        cmocka_unit_test(two_values_are_the_same_only_when_nothing_differs),
    };
    return cmocka_run_group_tests_name("vocab_datum", tests, NULL, NULL);
}
