/* SPDX-License-Identifier: Apache-2.0 */
/* passes_json.c - the passes as JSON. See print.h; docs/json.md lists the keys. */
#include <inttypes.h>

#include "clients/logbook/json.h"
#include "clients/logbook/print.h"
#include "clients/logbook/words.h"

enum {
    INTERVAL_DIGITS = 3 /* ms as s */
};

/* An object that grows; memory that is out is remembered. */
struct growing {
    json_t *object;
    bool failed;
};

/* Takes the value. */
static void
put(struct growing *growing, const char *key, json_t *value)
{
    growing->failed = json_object_set_new(growing->object, key, value) != 0 || growing->failed;
}

static void
put_text(struct growing *growing, const char *key, const char *text)
{
    put(growing, key, text != NULL && text[0] != '\0' ? json_string(text) : json_null());
}

static void
put_time(struct growing *growing, const char *key, uint64_t wall_ms)
{
    char time[TL_TIME_CAP];
    put_text(growing, key, wall_ms != 0 ? tl_time_text(wall_ms, time) : NULL);
}

static void
put_figure(struct growing *growing, const char *key, struct tl_figure_read read, int digits)
{
    put(growing, key, read.known ? tl_scaled_json(read.value, digits) : json_null());
}

static struct tl_figure_read
known(bool is, int64_t value)
{
    return (struct tl_figure_read){is, value};
}

static json_t *
close_object(struct growing *growing)
{
    if (growing->failed) {
        json_decref(growing->object);
        growing->object = NULL;
    }
    return growing->object;
}

static json_t *
weights_json(const struct tl_weight *weights, uint32_t count)
{
    struct growing growing = {json_object(), false};
    for (uint32_t i = 0; i < count; i++) {
        char unit[TL_ID_CAP];
        (void)snprintf(unit, sizeof unit, "%" PRIu32, weights[i].unit);
        put(&growing, weights[i].unit > 0 ? unit : weights[i].station, json_integer(weights[i].lb));
    }
    return close_object(&growing);
}

static json_t *
voiced_json(const struct tl_pass *pass)
{
    json_t *list = json_array();
    for (uint32_t i = 0; i < pass->voiced_count && list != NULL; i++) {
        if (json_array_append_new(list, json_string(pass->voiced[i])) != 0) {
            json_decref(list);
            list = NULL;
        }
    }
    return list;
}

static json_t *
cause_json(const struct tl_pass *pass)
{
    char acts[TL_TEXT_CAP];
    struct growing growing = {NULL, false};
    const struct tl_verdict_row *cause = tl_pass_cause(pass);
    if (cause == NULL) {
        return json_null();
    }
    growing.object = json_object();
    put_text(&growing, "rule", cause->name);
    put_text(&growing, "station", cause->station);
    put_text(&growing, "acts", tl_acts_text(cause->rule, cause->station, acts, sizeof acts));
    put(&growing, "text", json_string(cause->text));
    return close_object(&growing);
}

/* Everything of the mechanics stands in here. */
static json_t *
predicted_json(const struct tl_pass *pass)
{
    const struct tl_predicted_row *row = pass->predicted;
    const struct tl_predicted_row *at = pass->predicted_set;
    const struct tl_figure_read none = {false, 0};
    struct growing growing = {NULL, false};
    if (row == NULL) {
        return json_null();
    }
    growing.object = json_object();
    put_figure(&growing, "engaging_kt", row->engaging_kt_x10, 1);
    put_figure(&growing, "headwind_kt", row->headwind_kt_x10, 1);
    put_figure(&growing, "energy_kftlb", row->energy_kftlb, 0);
    put_figure(&growing, "energy_margin_percent", row->margin_percent, 0);
    put_figure(&growing, "set_lb", at != NULL ? known(true, at->set_lb) : none, 0);
    put_figure(&growing, "ram_in", at != NULL ? at->expect_in_x10 : none, 1);
    put_figure(&growing, "runout_ft", at != NULL ? at->runout_ft_x10 : none, 1);
    return close_object(&growing);
}

static void
put_order(struct growing *growing, const struct tl_pass *pass)
{
    bool ordered = pass->order_stated.sequence != 0;
    put_time(growing, "time", tl_pass_wall_ms(pass));
    put(growing, "recovery", json_integer((json_int_t)pass->event.recovery_ms));
    put(growing, "pass", json_integer((json_int_t)pass->event.pass));
    put_figure(growing, "side", known(ordered, pass->order.side), 0);
    put_text(growing, "type", ordered ? pass->order.type : NULL);
    put_figure(growing, "weight_lb", known(pass->inbound.weight_lb > 0, pass->inbound.weight_lb),
               0);
    put_figure(growing, "ordered_lb", known(ordered, pass->order.weight_lb), 0);
    put(growing, "set", weights_json(pass->set, pass->set_count));
    put(growing, "repeater", weights_json(pass->repeater, pass->repeater_count));
    put(growing, "barricade", ordered ? json_boolean(pass->order.barricade) : json_null());
    put_time(growing, "ordered_at", pass->order_stated.wall_ms);
    put_time(growing, "called_at", pass->call_stated.wall_ms);
}

static void
put_result(struct growing *growing, const struct tl_pass *pass)
{
    enum tl_wave_off wave_off = tl_pass_wave_off(pass);
    const char *judged = wave_off == TL_WAVE_OFF_READY       ? "READY"
                         : wave_off == TL_WAVE_OFF_NOT_READY ? "NOT READY"
                                                             : NULL;
    put_text(growing, "result", tl_pass_result_name(pass));
    put_figure(growing, "wire",
               known(tl_pass_trapped(pass) && pass->result.wire > 0, pass->result.wire), 0);
    put_figure(growing, "interval_s", known(pass->has_interval, (int64_t)pass->interval_ms),
               INTERVAL_DIGITS);
    put(growing, "corrected", json_boolean(pass->corrected));
    put(growing, "cancelled", json_boolean(tl_pass_cancelled(pass)));
    put(growing, "cause", cause_json(pass));
    put_text(growing, "wave_off_while", judged);
    put(growing, "by_voice", voiced_json(pass));
    put_figure(growing, "overrides", known(tl_pass_ended(pass), pass->overrides), 0);
    put(growing, "drill", json_boolean(pass->drill));
}

static void
put_arrest(struct growing *growing, const struct tl_pass *pass)
{
    const struct tl_wind_row *wind = pass->wind;
    const struct tl_figure_read none = {false, 0};
    bool is = pass->arrest_known;
    put_text(growing, "engine", pass->engine);
    put_figure(growing, "ram_in", known(is, pass->arrest.ram_in_x10), 1);
    put_figure(growing, "off_centre_ft", known(is, pass->arrest.off_centre_ft_x10), 1);
    put_figure(growing, "sides_apart_in", known(is, pass->arrest.apart_in_x10), 1);
    put_figure(growing, "walk_back_ft", known(is, pass->arrest.walk_back_ft_x10), 1);
    put_figure(growing, "accumulator_before_psi", pass->before_psi, 0);
    put_figure(growing, "accumulator_after_psi", pass->after_psi, 0);
    put_figure(growing, "wind_along_kt", wind != NULL ? known(true, wind->headwind_kt_x10) : none,
               1);
    put_figure(growing, "wind_across_kt", wind != NULL ? known(true, wind->crosswind_kt_x10) : none,
               1);
    put(growing, "predicted", predicted_json(pass));
}

static json_t *
pass_json(const struct tl_pass *pass)
{
    struct growing growing = {json_object(), false};
    put_order(&growing, pass);
    put_result(&growing, pass);
    put_arrest(&growing, pass);
    return close_object(&growing);
}

json_t *
tl_passes_json(const struct tl_passes *passes)
{
    json_t *list = json_array();
    for (size_t i = 0; i < passes->count && list != NULL; i++) {
        if (json_array_append_new(list, pass_json(&passes->pass[i])) != 0) {
            json_decref(list);
            list = NULL;
        }
    }
    return list != NULL ? json_pack("{s:o}", "passes", list) : NULL;
}
