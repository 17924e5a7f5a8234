/* SPDX-License-Identifier: Apache-2.0 */
/* command.c - see command.h. */
#include "clients/plan/command.h"

#include <stdarg.h>
#include <string.h>

#include "broker/core/mechanics/setup.h"
#include "proto/base/text.h"

enum {
    SHOWN_CAP = 33,
    LIST_CAP = 240
};

enum tl_exit
tl_plan_refuse(struct tl_plan *plan, enum tl_exit code, const char *fmt, ...)
{
    va_list arguments;
    va_start(arguments, fmt);
    (void)vsnprintf(plan->why, sizeof plan->why, fmt, arguments);
    va_end(arguments);
    return code;
}

bool
tl_plan_given(const struct tl_plan *plan, size_t option)
{
    return option < TL_PLAN_NO_OPTION && plan->option[option].given;
}

enum tl_exit
tl_plan_need(struct tl_plan *plan, size_t option)
{
    const struct tl_option_row *row = &plan->row[option];
    if (tl_plan_given(plan, option)) {
        return TL_EXIT_OK;
    }
    return tl_plan_refuse(plan, TL_EXIT_USAGE, "%s is missing; give the %s, %s %s", row->name,
                          row->help, row->name, row->kind == TL_OPTION_WORD ? row->unit : "N");
}

enum tl_exit
tl_plan_not_both(struct tl_plan *plan, size_t a, size_t b)
{
    if (tl_plan_given(plan, a) && tl_plan_given(plan, b)) {
        return tl_plan_refuse(plan, TL_EXIT_USAGE, "%s and %s do not go together; give one of them",
                              plan->row[a].name, plan->row[b].name);
    }
    return TL_EXIT_OK;
}

enum tl_exit
tl_plan_need_config(struct tl_plan *plan, const char *what)
{
    if (plan->config != NULL) {
        return TL_EXIT_OK;
    }
    return tl_plan_refuse(plan, TL_EXIT_USAGE,
                          "no configuration folder, and %s is needed; name it with -C DIR", what);
}

enum tl_exit
tl_plan_lacks(struct tl_plan *plan, const char *figure)
{
    const struct tl_figure_row *row = tl_figure_by_name(figure);
    bool of_gear = row != NULL && row->file == TL_FIGURE_OF_GEAR;
    return tl_plan_refuse(plan, TL_EXIT_CONFIG,
                          "%s does not give %s (%s); add it to figures, with its source",
                          of_gear ? "gear.yaml" : "ship.yaml", figure,
                          row != NULL ? row->what : "a figure of the ship");
}

enum tl_exit
tl_plan_figure(struct tl_plan *plan, size_t option, enum tl_figure figure, double *out)
{
    const char *missing = NULL;
    if (tl_plan_given(plan, option)) {
        *out = plan->option[option].number;
        return TL_EXIT_OK;
    }
    if (plan->config == NULL) {
        size_t count = 0;
        return tl_plan_need_config(plan, tl_figure_rows(&count)[(size_t)figure - 1].name);
    }
    if (tl_setup_figure(plan->config, figure, out, &missing) != TL_OK) {
        return tl_plan_lacks(plan, missing);
    }
    return TL_EXIT_OK;
}

enum tl_exit
tl_plan_type(struct tl_plan *plan, size_t option, const struct tl_aircraft_type **out)
{
    const char *word = plan->option[option].word;
    char text[SHOWN_CAP];
    char list[LIST_CAP] = "";
    enum tl_exit code = tl_plan_need_config(plan, "its table of types");
    if (code != TL_EXIT_OK) {
        return code;
    }
    const struct tl_aircraft_type *type = tl_config_type(plan->config, word);
    if (type != NULL) {
        *out = type;
        return TL_EXIT_OK;
    }
    for (uint32_t i = 0; i < plan->config->type_count; i++) {
        size_t used = strlen(list);
        (void)snprintf(list + used, sizeof list - used, "%s%s", i > 0 ? ", " : "",
                       plan->config->type[i].id);
    }
    (void)tl_text_plain(text, sizeof text, word, strlen(word));
    return tl_plan_refuse(plan, TL_EXIT_USAGE, "%s '%s' is not in aircraft.yaml; it has %s",
                          plan->row[option].name, text, list);
}

enum tl_exit
tl_plan_type_measure(struct tl_plan *plan, const struct tl_aircraft_type *type, const char *name,
                     uint32_t value)
{
    if (value > 0) {
        return TL_EXIT_OK;
    }
    return tl_plan_refuse(plan, TL_EXIT_CONFIG,
                          "aircraft.yaml does not give %s of %s; add it there", name, type->id);
}

enum tl_exit
tl_plan_air(struct tl_plan *plan, struct tl_plan_air_options options, struct tl_air *out)
{
    enum tl_exit code =
        tl_plan_figure(plan, options.temperature, TL_FIGURE_AIR_TEMPERATURE_C, &out->temperature_c);
    if (code == TL_EXIT_OK) {
        code =
            tl_plan_figure(plan, options.pressure, TL_FIGURE_AIR_PRESSURE_HPA, &out->pressure_hpa);
    }
    return code;
}

enum tl_exit
tl_plan_angle(struct tl_plan *plan, size_t option, double wind_kt, double *angle_deg)
{
    if (tl_plan_given(plan, option)) {
        *angle_deg = plan->option[option].number;
        return TL_EXIT_OK;
    }
    enum tl_exit code = tl_plan_need_config(plan, "the basic angle of the landing aid");
    if (code != TL_EXIT_OK) {
        return code;
    }
    const struct tl_ship *ship = &plan->config->ship;
    if (ship->aid_angle_count == 0) {
        return tl_plan_refuse(plan, TL_EXIT_CONFIG,
                              "ship.yaml does not give aid_angles (basic angles by the wind); add "
                              "them");
    }
    *angle_deg = ship->aid_angle[0].angle_deg_x100 / 100.0;
    for (uint32_t i = 1; i < ship->aid_angle_count; i++) {
        if (wind_kt >= ship->aid_angle[i].from_kt_x10 / 10.0) {
            *angle_deg = ship->aid_angle[i].angle_deg_x100 / 100.0;
        }
    }
    return TL_EXIT_OK;
}

enum tl_exit
tl_plan_approach(struct tl_plan *plan, const struct tl_aircraft_type *type, double weight_lb,
                 double *approach_kt)
{
    enum tl_exit code = tl_plan_type_measure(plan, type, "approach_kt", type->approach_kt_x10);
    if (code != TL_EXIT_OK) {
        return code;
    }
    if (tl_setup_approach(type, weight_lb, approach_kt) != TL_OK) {
        return tl_plan_refuse(
            plan, TL_EXIT_USAGE,
            "no approach speed of %s at %.0f lb: the weight is not one it flies at", type->id,
            weight_lb);
    }
    return TL_EXIT_OK;
}

enum tl_exit
tl_plan_machine(struct tl_plan *plan, struct tl_arrest_gear *gear,
                struct tl_arrest_machine **machine)
{
    const char *why = NULL;
    enum tl_exit code = tl_plan_need_config(plan, "the gear");
    if (code != TL_EXIT_OK) {
        return code;
    }
    if (tl_setup_gear(plan->config, gear, &why) != TL_OK) {
        return tl_plan_lacks(plan, why);
    }
    enum tl_err err = tl_arrest_open(gear, machine, &why);
    if (err == TL_OK) {
        return TL_EXIT_OK;
    }
    return err == TL_NOMEM ? tl_plan_refuse(plan, TL_EXIT_FAILED, "out of memory")
                           : tl_plan_refuse(plan, TL_EXIT_CONFIG,
                                            "the figures of gear.yaml cannot be used: %s", why);
}
