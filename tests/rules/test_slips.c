/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_slips - one digit keyed wrong, two digits keyed in the other order, in each weight that a
 * person keys: somebody else's word, or the table of types, stands against it.
 *
 * The slips are those of a keyboard (substitution and transposition, the commonest of typing): each
 * digit for each other one in its place, each pair of neighbours that differ. Common practice, no
 * source; the count of nine for each place is all there are.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/rules/scene.h"

enum {
    DIGITS = 5,
    SLIPS_MAX = DIGITS * 9 + DIGITS - 1,
    INBOUND_LB = 33500
};

static uint32_t
slips_of(uint32_t weight_lb, uint32_t slips[SLIPS_MAX])
{
    char digits[DIGITS + 1];
    uint32_t count = 0;
    (void)snprintf(digits, sizeof digits, "%u", weight_lb);
    for (int place = 0; place < DIGITS; place++) {
        const char right = digits[place];
        for (int wrong = 0; wrong <= 9; wrong++) {
            digits[place] = "0123456789"[wrong];
            if (digits[place] != right) {
                slips[count++] = (uint32_t)strtoul(digits, NULL, 10);
            }
        }
        digits[place] = right;
    }
    for (int place = 0; place + 1 < DIGITS; place++) {
        const char left = digits[place];
        digits[place] = digits[place + 1];
        digits[place + 1] = left;
        if (digits[place] != left) {
            slips[count++] = (uint32_t)strtoul(digits, NULL, 10);
        }
        digits[place + 1] = digits[place];
        digits[place] = left;
    }
    return count;
}

static void
order(struct scene *scene, uint32_t weight_lb)
{
    scene_held(scene, "primary", TL_DATUM_ORDER, 1)->datum.as.order.weight_lb = weight_lb;
    scene->fold.list.event[0].order.weight_lb = weight_lb;
}

static void
set(struct scene *scene, uint32_t unit, uint32_t weight_lb)
{
    char id[TL_ID_CAP];
    (void)snprintf(id, sizeof id, "engine-%u", unit);
    scene_held(scene, id, TL_DATUM_SET, 0)->datum.as.set_lb = weight_lb;
}

static void
repeat(struct scene *scene, uint32_t unit, uint32_t weight_lb)
{
    scene_held(scene, "primary", TL_DATUM_REPEATER, unit)->datum.as.repeater_lb = weight_lb;
}

/* Everyone does as primary has said. */
static void
obey(struct scene *scene, uint32_t weight_lb)
{
    order(scene, weight_lb);
    for (uint32_t unit = 1; unit <= 4; unit++) {
        set(scene, unit, weight_lb);
        repeat(scene, unit, weight_lb);
    }
}

typedef void key_fn(struct scene *scene, uint32_t weight_lb);

static void
key_first_engine(struct scene *scene, uint32_t weight_lb)
{
    set(scene, 1, weight_lb);
}

static void
key_last_engine(struct scene *scene, uint32_t weight_lb)
{
    set(scene, 4, weight_lb);
}

static void
key_dial(struct scene *scene, uint32_t weight_lb)
{
    repeat(scene, 2, weight_lb);
}

/* The same slip by the operator and by the one who reads the dial. */
static void
key_engine_and_dial(struct scene *scene, uint32_t weight_lb)
{
    set(scene, 3, weight_lb);
    repeat(scene, 3, weight_lb);
}

static void
key_inbound(struct scene *scene, uint32_t weight_lb)
{
    scene_held(scene, "approach", TL_DATUM_INBOUND, SCENE_SIDE)->datum.as.inbound.weight_lb =
        weight_lb;
}

/* Within the tolerance of the type it is a setting for that type. */
static bool
is_harmless(const struct scene *scene, uint32_t weight_lb)
{
    const struct tl_aircraft_type *type = tl_config_type(&scene->config, "plover");
    uint32_t apart = weight_lb > SCENE_LB ? weight_lb - SCENE_LB : SCENE_LB - weight_lb;
    return apart <= type->setting_tolerance_lb;
}

static void
every_slip_in_a_setting_is_against_somebody_elses_word(void **state)
{
    (void)state;
    static const struct {
        const char *what;
        key_fn *key;
    } ways[] = {
        {"the order alone", order},       {"the order, and everyone does as it says", obey},
        {"one engine", key_first_engine}, {"another engine", key_last_engine},
        {"one dial", key_dial},           {"an engine and its dial alike", key_engine_and_dial},
    };
    struct scene *scene = scene_ready_full();
    uint32_t slips[SLIPS_MAX];
    uint32_t tried = 0;
    const uint32_t count = slips_of(SCENE_LB, slips);
    assert_int_equal(count, DIGITS * 9 + 2); /* of 34000 two pairs of neighbours differ */
    scene_expect(scene, "before", "");
    for (size_t way = 0; way < sizeof ways / sizeof ways[0]; way++) {
        for (uint32_t i = 0; i < count; i++) {
            char causes[1024];
            ways[way].key(scene, slips[i]);
            (void)scene_causes(scene, causes, sizeof causes);
            if (causes[0] == '\0' && !is_harmless(scene, slips[i])) {
                fail_msg("%s: %u for %u is READY", ways[way].what, slips[i], SCENE_LB);
            }
            obey(scene, SCENE_LB);
            tried++;
        }
        scene_expect(scene, ways[way].what, "");
    }
    print_message("%u slips tried\n", tried);
    free(scene);
}

/*
 * Too heavy is against the table of types. Too light makes nothing heavier than it is: the engines are
 * set by the type, for the most that it may weigh; what is computed from it is then too good, which no
 * second word stands against, and the picture shows the weight in the row of the aircraft.
 */
static void
a_slip_in_the_actual_weight_is_caught_when_it_is_too_heavy(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    uint32_t slips[SLIPS_MAX];
    uint32_t heavy = 0;
    const uint32_t count = slips_of(INBOUND_LB, slips);
    scene_expect(scene, "before", "");
    for (uint32_t i = 0; i < count; i++) {
        char causes[1024];
        key_inbound(scene, slips[i]);
        (void)scene_causes(scene, causes, sizeof causes);
        if (slips[i] > SCENE_LB) {
            assert_non_null(strstr(causes, "over-trap-weight"));
            heavy++;
        }
        key_inbound(scene, INBOUND_LB);
    }
    assert_true(heavy > 10);
    scene_expect(scene, "after", "");
    free(scene);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_slip_in_a_setting_is_against_somebody_elses_word),
        cmocka_unit_test(a_slip_in_the_actual_weight_is_caught_when_it_is_too_heavy),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
