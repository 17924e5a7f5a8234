/* SPDX-License-Identifier: Apache-2.0 */
/*
 * computed.c - what is computed for a pass, and the rules that are off, as fields of a picture.
 *
 * Figures are read from the text of the value, so that what is set and what is described are one.
 */
#include "tests/oracle/computed.h"

#include <stdlib.h>
#include <string.h>

#include "tests/oracle/table.h"

/* Every setting that an engine has in some picture; rising. */
static const uint32_t settings_lb[] = {32000, 32999, 33000, 33499, 33500, 34000,
                                       34500, 34501, 35000, 35001, 44000};

/* The number that the text begins with, its point left out: 25.0 is 250. */
static int32_t
number(const struct field_setting *to)
{
    const char *at = to->text + (to->text[0] == '-' ? 1 : 0);
    int32_t n = 0;
    for (; (*at >= '0' && *at <= '9') || *at == '.'; at++) {
        n = *at == '.' ? n : 10 * n + (*at - '0');
    }
    return to->text[0] == '-' ? -n : n;
}

static bool
is(const struct field_setting *to, const char *text)
{
    return strcmp(to->text, text) == 0;
}

static void
copy_type(char *dst, const char *type)
{
    memset(dst, 0, TL_TYPE_CAP);
    memcpy(dst, type, strlen(type));
}

/* ---- what it was computed for ---- */

void
set_for_pass(struct scene *scene, const struct field_setting *to)
{
    static const struct tl_event passes[] = {{5000, 1}, {0, 0}, {5000, 2}, {4000, 1}};
    scene->outside.predicted.event = passes[to->value];
}

void
set_for_type(struct scene *scene, const struct field_setting *to)
{
    copy_type(scene->outside.predicted.type, to->text);
}

void
set_for_barricade(struct scene *scene, const struct field_setting *to)
{
    scene->outside.predicted.barricade = is(to, "into the barricade");
}

void
set_for_weight(struct scene *scene, const struct field_setting *to)
{
    scene->outside.predicted.weight_lb = (uint32_t)number(to);
}

/* ---- arrest ---- */

void
set_arrest_known(struct scene *scene, const struct field_setting *to)
{
    scene->outside.predicted.arrest.known = is(to, "computed");
}

void
set_counted_wind(struct scene *scene, const struct field_setting *to)
{
    scene->outside.predicted.arrest.headwind_kt_x10 = number(to);
}

void
set_energy(struct scene *scene, const struct field_setting *to)
{
    scene->outside.predicted.arrest.energy_kftlb = (uint32_t)number(to);
}

void
set_margin(struct scene *scene, const struct field_setting *to)
{
    scene->outside.predicted.arrest.margin_percent = number(to);
}

static void
drop_outcome(struct tl_predicted_arrest *arrest, uint32_t set_lb)
{
    uint32_t kept = 0;
    for (uint32_t i = 0; i < arrest->would_count; i++) {
        if (arrest->would[i].set_lb != set_lb) {
            arrest->would[kept++] = arrest->would[i];
        }
    }
    arrest->would_count = kept;
}

/* Rising, as the mechanics give them. */
static void
put_outcome(struct tl_predicted_arrest *arrest, const struct tl_would *would)
{
    uint32_t at = arrest->would_count++;
    for (; at > 0 && arrest->would[at - 1].set_lb > would->set_lb; at--) {
        arrest->would[at] = arrest->would[at - 1];
    }
    arrest->would[at] = *would;
}

static void
set_one_outcome(struct scene *scene, uint32_t set_lb, const struct field_setting *to)
{
    struct tl_predicted_arrest *arrest = &scene->outside.predicted.arrest;
    struct tl_would would = {.set_lb = set_lb,
                             .bottoms = strstr(to->text, "bottoms") != NULL,
                             .parts = strstr(to->text, "parts") != NULL,
                             .hook_lbf = strstr(to->text, "hook") != NULL ? 90001 : 90000,
                             .tension_percent = 40,
                             .stroke_in_x10 = strstr(to->text, "ram") != NULL ? 1901 : 1900,
                             .expect_in_x10 = 1800,
                             .runout_ft_x10 = 3300};
    would.end_kt_x10 = would.bottoms || would.parts ? 100 : 0;
    drop_outcome(arrest, set_lb);
    if (!is(to, "not computed")) {
        put_outcome(arrest, &would);
    }
}

/* Of the setting in the slot; slot 0: of every setting that has no field of its own. */
void
set_outcome(struct scene *scene, const struct field_setting *to)
{
    for (size_t i = 0; i < sizeof settings_lb / sizeof settings_lb[0]; i++) {
        uint32_t lb = settings_lb[i];
        bool own = lb == 34000 || lb == 33500 || lb == 32000;
        if (to->slot == lb || (to->slot == 0 && !own)) {
            set_one_outcome(scene, lb, to);
        }
    }
}

/* ---- ramp, times, sea ---- */

void
set_ramp_known(struct scene *scene, const struct field_setting *to)
{
    scene->outside.predicted.ramp.known = is(to, "computed");
}

void
set_ramp_type(struct scene *scene, const struct field_setting *to)
{
    copy_type(scene->outside.predicted.ramp.aid_type, to->text);
}

void
set_ramp_angle(struct scene *scene, const struct field_setting *to)
{
    scene->outside.predicted.ramp.angle_deg_x100 = (uint32_t)number(to);
}

void
set_ramp_wire(struct scene *scene, const struct field_setting *to)
{
    scene->outside.predicted.ramp.target_wire = (uint32_t)number(to);
}

void
set_ramp_pitch(struct scene *scene, const struct field_setting *to)
{
    scene->outside.predicted.ramp.pitch_deg_x10 = (uint32_t)number(to);
}

void
set_clearance(struct scene *scene, const struct field_setting *to)
{
    scene->outside.predicted.ramp.clearance_ft_x10 = number(to);
}

void
set_touchdown(struct scene *scene, const struct field_setting *to)
{
    scene->outside.predicted.ramp.touchdown_ft_x10 = number(to);
}

void
set_times_known(struct scene *scene, const struct field_setting *to)
{
    scene->outside.predicted.time.known = is(to, "computed");
}

void
set_ramp_s(struct scene *scene, const struct field_setting *to)
{
    scene->outside.predicted.time.ramp_s_x10 = (uint32_t)number(to);
}

void
set_reset(struct scene *scene, const struct field_setting *to)
{
    scene->outside.predicted.time.reset_s_x10 = (uint32_t)number(to);
}

void
set_wave_off(struct scene *scene, const struct field_setting *to)
{
    scene->outside.predicted.time.wave_off_people_s_x10 = (uint32_t)number(to);
}

void
set_sea_late(struct scene *scene, const struct field_setting *to)
{
    bool none = is(to, "no time kept");
    scene->outside.sea_late_ms = none ? 0 : SCENE_NOW_MS - (uint64_t)number(to);
}

/* ---- passes before this one ---- */

void
set_expected(struct scene *scene, const struct field_setting *to)
{
    static const struct tl_expected expected[] = {
        {0, {0, 0}, 0},       {0, {5000, 3}, 2000}, {0, {5000, 3}, 2001}, {0, {5000, 3}, 1800},
        {0, {5000, 3}, 1799}, {0, {5000, 3}, 1850}, {0, {5000, 2}, 1850}, {0, {4000, 3}, 1800}};
    struct tl_outside *outside = &scene->outside;
    uint32_t kept = 0;
    for (uint32_t i = 0; i < outside->expected_count; i++) {
        if (outside->expected[i].unit != to->slot) {
            outside->expected[kept++] = outside->expected[i];
        }
    }
    if (to->value != 0) {
        outside->expected[kept] = expected[to->value];
        outside->expected[kept++].unit = to->slot;
    }
    outside->expected_count = kept;
}

void
set_last(struct scene *scene, const struct field_setting *to)
{
    struct tl_list *list = &scene->fold.list;
    const char *digits = to->text + strcspn(to->text, "0123456789");
    bool trap = strncmp(to->text, "trap", strlen("trap")) == 0;
    bool bolter = strncmp(to->text, "bolter", strlen("bolter")) == 0;
    enum tl_outcome otherwise = bolter ? TL_OUTCOME_BOLTER : TL_OUTCOME_WAVE_OFF;
    list->last_known = to->value != 0;
    list->last_ms = SCENE_NOW_MS - strtoull(digits, NULL, 10);
    list->last =
        (struct tl_listed_event){.event = {5000, 3},
                                 .order_known = true,
                                 .order = list->event[0].order,
                                 .result_known = true,
                                 .result = {trap ? TL_OUTCOME_TRAP : otherwise, trap ? 2 : 0},
                                 .ended = true};
}

/* ---- rules that are off ---- */

/* Those that the text lists, and no other of that kind. */
static void
switch_off(struct scene *scene, const struct field_setting *to, bool computed)
{
    bool *off = scene->config.ship.rule_off;
    const char *at = is(to, "none") ? "" : to->text;
    for (uint32_t rule = 1; rule < TL_RULES_MAX; rule++) {
        const struct tl_rule_row *row = tl_rule_row(rule);
        off[rule] = off[rule] && row != NULL && row->computed != computed;
    }
    while (*at != '\0') {
        char *end = NULL;
        off[strtoul(at, &end, 10)] = true;
        at = end;
    }
}

void
set_computed_off(struct scene *scene, const struct field_setting *to)
{
    switch_off(scene, to, true);
}

void
set_others_off(struct scene *scene, const struct field_setting *to)
{
    switch_off(scene, to, false);
}

/* ---- the good one ---- */

void
computed_open(struct scene *scene)
{
    scene_compute(scene); /* the bounds; what is computed is set below, one field after the other */
    scene->outside.predicted = (struct tl_predicted){0};
    scene->outside.expected_count = 0;
    memset(scene->outside.expected, 0xA5, sizeof scene->outside.expected);
    for (size_t i = 0; i < computed_fields_number; i++) {
        const struct field *field = &computed_fields[i];
        field->set(scene,
                   &(struct field_setting){0, field->slot, field->station, field->value[0].text});
    }
}
