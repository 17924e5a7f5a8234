/* SPDX-License-Identifier: Apache-2.0 */
/* passes_json.c - the passes as JSON. See print.h; docs/json.md lists the keys. */
#include <inttypes.h>

#include "clients/logbook/json.h"
#include "clients/logbook/print.h"
#include "clients/logbook/words.h"

enum {
    INTERVAL_DIGITS = 3 /* ms as s */
};

static json_t *
figure(struct tl_figure_read read, int digits)
{
    return read.known ? tl_scaled_json(read.value, digits) : json_null();
}

static json_t *
known(bool is, int64_t value, int digits)
{
    return figure((struct tl_figure_read){is, value}, digits);
}

static json_t *
time_or_null(uint64_t wall_ms)
{
    char text[TL_TIME_CAP];
    return wall_ms != 0 ? json_string(tl_time_text(wall_ms, text)) : json_null();
}

static json_t *
weights_json(const struct tl_weight *weights, uint32_t count)
{
    json_t *object = json_object();
    for (uint32_t i = 0; i < count && object != NULL; i++) {
        char unit[TL_ID_CAP];
        (void)snprintf(unit, sizeof unit, "%" PRIu32, weights[i].unit);
        if (json_object_set_new(object, weights[i].unit > 0 ? unit : weights[i].station,
                                json_integer(weights[i].lb)) != 0) {
            json_decref(object);
            object = NULL;
        }
    }
    return object;
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
    const struct tl_verdict_row *cause = tl_pass_cause(pass);
    if (cause == NULL) {
        return json_null();
    }
    (void)tl_acts_text(cause->rule, cause->station, acts, sizeof acts);
    return json_pack("{s:s,s:s?,s:s?,s:s}", "rule", cause->name, "station",
                     cause->station[0] != '\0' ? cause->station : NULL, "acts",
                     acts[0] != '\0' ? acts : NULL, "text", cause->text);
}

static json_t *
arrest_json(const struct tl_pass *pass)
{
    bool is = pass->arrest_known;
    return json_pack("{s:s?,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o}", "engine",
                     pass->engine[0] != '\0' ? pass->engine : NULL, "ram_in",
                     known(is, pass->arrest.ram_in_x10, 1), "off_centre_ft",
                     known(is, pass->arrest.off_centre_ft_x10, 1), "sides_apart_in",
                     known(is, pass->arrest.apart_in_x10, 1), "walk_back_ft",
                     known(is, pass->arrest.walk_back_ft_x10, 1), "accumulator_before_psi",
                     figure(pass->before_psi, 0), "accumulator_after_psi",
                     figure(pass->after_psi, 0));
}

/* Everything of the mechanics stands in here. */
static json_t *
predicted_json(const struct tl_pass *pass)
{
    const struct tl_predicted_row *row = pass->predicted;
    const struct tl_predicted_row *at = pass->predicted_set;
    const struct tl_figure_read none = {false, 0};
    if (row == NULL) {
        return json_null();
    }
    return json_pack("{s:o,s:o,s:o,s:o,s:o,s:o,s:o}", "engaging_kt",
                     figure(row->engaging_kt_x10, 1), "headwind_kt",
                     figure(row->headwind_kt_x10, 1), "energy_kftlb", figure(row->energy_kftlb, 0),
                     "energy_margin_percent", figure(row->margin_percent, 0), "set_lb",
                     known(at != NULL, at != NULL ? at->set_lb : 0, 0), "ram_in",
                     figure(at != NULL ? at->expect_in_x10 : none, 1), "runout_ft",
                     figure(at != NULL ? at->runout_ft_x10 : none, 1));
}

static json_t *
order_json(const struct tl_pass *pass)
{
    bool ordered = pass->order_stated.sequence != 0;
    char time[TL_TIME_CAP];
    return json_pack(
        "{s:s,s:I,s:I,s:o,s:s?,s:o,s:o,s:o,s:o}", "time", tl_time_text(tl_pass_wall_ms(pass), time),
        "recovery", (json_int_t)pass->event.recovery_ms, "pass", (json_int_t)pass->event.pass,
        "side", known(ordered, pass->order.side, 0), "type", ordered ? pass->order.type : NULL,
        "weight_lb", known(pass->inbound.weight_lb > 0, pass->inbound.weight_lb, 0), "ordered_lb",
        known(ordered, pass->order.weight_lb, 0), "set", weights_json(pass->set, pass->set_count),
        "repeater", weights_json(pass->repeater, pass->repeater_count));
}

static json_t *
result_json(const struct tl_pass *pass)
{
    bool wire = tl_pass_trapped(pass) && pass->result.wire > 0;
    enum tl_wave_off wave_off = tl_pass_wave_off(pass);
    const char *judged = wave_off == TL_WAVE_OFF_READY       ? "READY"
                         : wave_off == TL_WAVE_OFF_NOT_READY ? "NOT READY"
                                                             : NULL;
    return json_pack(
        "{s:s?,s:o,s:o,s:b,s:b,s:o,s:s?,s:o,s:o,s:o,s:b,s:o,s:o}", "result",
        tl_pass_result_name(pass), "wire", known(wire, pass->result.wire, 0), "interval_s",
        known(pass->has_interval, (int64_t)pass->interval_ms, INTERVAL_DIGITS), "corrected",
        pass->corrected ? 1 : 0, "cancelled", tl_pass_cancelled(pass) ? 1 : 0, "cause",
        cause_json(pass), "wave_off_while", judged, "by_voice", voiced_json(pass), "overrides",
        known(tl_pass_ended(pass), pass->overrides, 0), "barricade",
        pass->order_stated.sequence != 0 ? json_boolean(pass->order.barricade) : json_null(),
        "drill", pass->drill ? 1 : 0, "ordered_at", time_or_null(pass->order_stated.wall_ms),
        "called_at", time_or_null(pass->call_stated.wall_ms));
}

static json_t *
pass_json(const struct tl_pass *pass)
{
    json_t *whole = order_json(pass);
    json_t *result = result_json(pass);
    json_t *arrest = arrest_json(pass);
    json_t *predicted = predicted_json(pass);
    bool good = whole != NULL && result != NULL && arrest != NULL && predicted != NULL &&
                json_object_update(whole, result) == 0 && json_object_update(whole, arrest) == 0 &&
                json_object_set(whole, "predicted", predicted) == 0;
    json_decref(result);
    json_decref(arrest);
    json_decref(predicted);
    if (!good) {
        json_decref(whole);
        return NULL;
    }
    return whole;
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
