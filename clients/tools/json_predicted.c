/* SPDX-License-Identifier: Apache-2.0 */
/* json_predicted.c - what the mechanics say as JSON. What is not known is null. See json.h. */
#include "clients/tools/json.h"

static json_t *
tenths(bool known, int64_t x10)
{
    return known ? json_real((double)x10 / 10.0) : json_null();
}

static json_t *
whole(bool known, int64_t number)
{
    return known ? json_integer((json_int_t)number) : json_null();
}

static json_t *
text_json(const char *text)
{
    return text[0] != '\0' ? json_string(text) : json_null();
}

static json_t *
setting_json(const struct tl_would *would)
{
    return json_pack("{s:I,s:b,s:b,s:o,s:I,s:I,s:o,s:o,s:o}", "set_lb", (json_int_t)would->set_lb,
                     "bottoms", would->bottoms, "parts", would->parts, "end_kt",
                     tenths(true, would->end_kt_x10), "hook_lbf", (json_int_t)would->hook_lbf,
                     "tension_percent", (json_int_t)would->tension_percent, "stroke_in",
                     tenths(true, would->stroke_in_x10), "expect_in",
                     tenths(true, would->expect_in_x10), "runout_ft",
                     tenths(true, would->runout_ft_x10));
}

static json_t *
settings_json(const struct tl_predicted_arrest *arrest)
{
    if (!arrest->known) {
        return json_null();
    }
    json_t *settings = json_array();
    for (uint32_t i = 0; i < arrest->would_count && i < TL_WOULDS_MAX; i++) {
        (void)json_array_append_new(settings, setting_json(&arrest->would[i]));
    }
    return settings;
}

static json_t *
ramp_json(const struct tl_predicted_ramp *ramp)
{
    if (!ramp->known) {
        return json_null();
    }
    return json_pack("{s:s,s:f,s:o,s:o,s:o,s:o}", "aid_type", ramp->aid_type, "angle_deg",
                     ramp->angle_deg_x100 / 100.0, "target_wire",
                     whole(ramp->target_wire != 0, ramp->target_wire), "pitch_deg",
                     tenths(true, ramp->pitch_deg_x10), "clearance_ft",
                     tenths(true, ramp->clearance_ft_x10), "touchdown_off_ft",
                     tenths(true, ramp->touchdown_ft_x10));
}

static json_t *
time_json(const struct tl_predicted_time *time)
{
    if (!time->known) {
        return json_null();
    }
    return json_pack(
        "{s:o,s:o,s:o,s:o}", "ramp_s", tenths(time->ramp_s_x10 != 0, time->ramp_s_x10),
        "wave_off_gear_s", tenths(time->wave_off_gear_s_x10 != 0, time->wave_off_gear_s_x10),
        "wave_off_people_s", tenths(time->wave_off_people_s_x10 != 0, time->wave_off_people_s_x10),
        "reset_s", tenths(time->reset_s_x10 != 0, time->reset_s_x10));
}

json_t *
tl_json_predicted(const struct tl_predicted *predicted)
{
    if (!tl_event_is(predicted->event)) {
        return json_null();
    }
    const struct tl_predicted_arrest *arrest = &predicted->arrest;
    return json_pack(
        "{s:{s:I,s:I},s:o,s:o,s:b,s:o,s:o,s:o,s:o,s:o,s:o,s:o}", "event", "recovery",
        (json_int_t)predicted->event.recovery_ms, "pass", (json_int_t)predicted->event.pass, "type",
        text_json(predicted->type), "weight_lb",
        whole(predicted->weight_lb != 0, predicted->weight_lb), "barricade", predicted->barricade,
        "headwind_kt", tenths(arrest->known, arrest->headwind_kt_x10), "engaging_kt",
        tenths(arrest->known, arrest->engaging_kt_x10), "energy_kftlb",
        whole(arrest->known, arrest->energy_kftlb), "energy_margin_percent",
        whole(arrest->known, arrest->margin_percent), "settings", settings_json(arrest), "ramp",
        ramp_json(&predicted->ramp), "time", time_json(&predicted->time));
}
