/* SPDX-License-Identifier: Apache-2.0 */
/* test_json - what the mechanics say as JSON: the keys of docs/json.md, null for what is not known */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "clients/tools/json.h"

static void
expect(json_t *object, const char *want)
{
    assert_non_null(object);
    char *text = json_dumps(object, JSON_PRESERVE_ORDER | JSON_COMPACT | JSON_ENCODE_ANY);
    json_decref(object);
    assert_non_null(text);
    assert_string_equal(text, want);
    free(text);
}

static struct tl_predicted
prediction(void)
{
    return (struct tl_predicted){
        .event = {5000, 7},
        .type = "plover",
        .weight_lb = 33400,
        .arrest = {.known = true,
                   .headwind_kt_x10 = -15,
                   .engaging_kt_x10 = 1040,
                   .energy_kftlb = 17001,
                   .margin_percent = -2,
                   .would_count = 2,
                   .would = {{34000, false, false, 0, 92000, 31, 1745, 1740, 3095},
                             {36000, true, true, 125, 212000, 58, 1830, 1825, 3300}}},
        .ramp = {true, "dunlin", 350, 3, 5, -5, -35},
        .time = {true, 185, 35, 120, 425}};
}

static void
a_prediction_has_every_figure(void **state)
{
    struct tl_predicted predicted = prediction();
    (void)state;
    expect(tl_json_predicted(&predicted),
           "{\"event\":{\"recovery\":5000,\"pass\":7},\"type\":\"plover\",\"weight_lb\":33400,"
           "\"barricade\":false,\"headwind_kt\":-1.5,\"engaging_kt\":104.0,\"energy_kftlb\":17001,"
           "\"energy_margin_percent\":-2,\"settings\":["
           "{\"set_lb\":34000,\"bottoms\":false,\"parts\":false,\"end_kt\":0.0,\"hook_lbf\":92000,"
           "\"tension_percent\":31,\"stroke_in\":174.5,\"expect_in\":174.0,\"runout_ft\":309.5},"
           "{\"set_lb\":36000,\"bottoms\":true,\"parts\":true,\"end_kt\":12.5,\"hook_lbf\":212000,"
           "\"tension_percent\":58,\"stroke_in\":183.0,\"expect_in\":182.5,\"runout_ft\":330.0}],"
           "\"ramp\":{\"aid_type\":\"dunlin\",\"angle_deg\":3.5,\"target_wire\":3,"
           "\"pitch_deg\":0.5,\"clearance_ft\":-0.5,\"touchdown_off_ft\":-3.5},"
           "\"time\":{\"ramp_s\":18.5,\"wave_off_gear_s\":3.5,\"wave_off_people_s\":12.0,"
           "\"reset_s\":42.5}}");
}

static void
what_is_not_known_is_null_and_never_0(void **state)
{
    struct tl_predicted predicted = prediction();
    (void)state;
    predicted.type[0] = '\0';
    predicted.weight_lb = 0;
    predicted.barricade = true;
    predicted.arrest.known = false;
    predicted.ramp.known = false;
    predicted.time.known = false;
    expect(tl_json_predicted(&predicted),
           "{\"event\":{\"recovery\":5000,\"pass\":7},\"type\":null,\"weight_lb\":null,"
           "\"barricade\":true,\"headwind_kt\":null,\"engaging_kt\":null,\"energy_kftlb\":null,"
           "\"energy_margin_percent\":null,\"settings\":null,\"ramp\":null,\"time\":null}");
    predicted.ramp = (struct tl_predicted_ramp){true, "dunlin", 350, 0, 0, 0, 0};
    predicted.time = (struct tl_predicted_time){.known = true};
    json_t *object = tl_json_predicted(&predicted);
    expect(json_incref(json_object_get(object, "ramp")),
           "{\"aid_type\":\"dunlin\",\"angle_deg\":3.5,\"target_wire\":null,\"pitch_deg\":0.0,"
           "\"clearance_ft\":0.0,\"touchdown_off_ft\":0.0}");
    expect(json_incref(json_object_get(object, "time")),
           "{\"ramp_s\":null,\"wave_off_gear_s\":null,\"wave_off_people_s\":null,"
           "\"reset_s\":null}");
    json_decref(object);
    predicted.event.pass = 0;
    expect(tl_json_predicted(&predicted), "null");
}

static void
a_cause_has_its_consequence_or_null(void **state)
{
    struct tl_cause cause = {.rule = TL_RULE_SETTING_NOT_ORDERED,
                             .station = "engine-3",
                             .state = TL_CAUSE_WRONG,
                             .would = {36000, true, false, 121, 212000, 58, 1830, 1829, 3300}};
    (void)state;
    json_t *object = tl_json_cause(&cause, (struct tl_event){5000, 7});
    expect(json_incref(json_object_get(object, "consequence")),
           "\"ram bottoms with 13 kn left, hook load to 212,000 lbf\"");
    json_decref(object);
    cause.would.set_lb = 0;
    object = tl_json_cause(&cause, (struct tl_event){5000, 7});
    expect(json_incref(json_object_get(object, "consequence")), "null");
    json_decref(object);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_prediction_has_every_figure),
        cmocka_unit_test(what_is_not_known_is_null_and_never_0),
        cmocka_unit_test(a_cause_has_its_consequence_or_null),
    };
    return cmocka_run_group_tests_name("tools_json", tests, NULL, NULL);
}
