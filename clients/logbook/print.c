/* SPDX-License-Identifier: Apache-2.0 */
/* print.c - see print.h. */
#include "clients/logbook/print.h"

#include <inttypes.h>
#include <jansson.h>
#include <string.h>
#include <time.h>

#include "proto/vocab/rules.h"

enum {
    COLUMNS = 80,
    INDENT = 10,
    TIME_CAP = 32,
    CELL_CAP = 48,
    LIST_CAP = TL_ENGINES_MAX * (TL_ID_CAP + 24) + 32
};

/* ---- words ---- */

static const char no_time[] = "----------T--:--:--Z";
enum {
    CLOCK_AT = 11 /* where the time of day begins */
};

/* "2031-04-05T06:07:08Z" */
static void
write_time(uint64_t wall_ms, char text[TIME_CAP])
{
    time_t seconds = (time_t)(wall_ms / 1000);
    struct tm utc;
    if (wall_ms == 0 || gmtime_r(&seconds, &utc) == NULL ||
        strftime(text, TIME_CAP, "%Y-%m-%dT%H:%M:%SZ", &utc) == 0) {
        (void)snprintf(text, TIME_CAP, "%s", no_time);
    }
}

/* 34000 -> "34,000"; the heading says lb. */
static void
write_pounds(uint32_t pounds, char text[CELL_CAP])
{
    (void)tl_pounds_text(pounds, text, CELL_CAP);
    char *unit = strstr(text, " lb");
    if (unit != NULL) {
        *unit = '\0';
    }
}

static const char *
outcome_name(const struct tl_pass *pass)
{
    if (pass->result_stated.sequence == 0) {
        return NULL;
    }
    switch (pass->result.outcome) {
    case TL_OUTCOME_TRAP:
        return "trap";
    case TL_OUTCOME_BOLTER:
        return "bolter";
    case TL_OUTCOME_WAVE_OFF:
        return "wave-off";
    case TL_OUTCOME_UNKNOWN:
        break;
    }
    return "unknown";
}

static bool
is_cancelled(const struct tl_pass *pass)
{
    return pass->order_stated.sequence != 0 && pass->order.state == TL_ORDER_CANCELLED;
}

static void
write_result(const struct tl_pass *pass, char text[CELL_CAP])
{
    const char *name = outcome_name(pass);
    const char *corrected = pass->corrected ? " corrected" : "";
    if (name == NULL) {
        (void)snprintf(text, CELL_CAP, "%s", is_cancelled(pass) ? "cancelled" : "no result");
    } else if (pass->result.outcome == TL_OUTCOME_TRAP && pass->result.wire > 0) {
        (void)snprintf(text, CELL_CAP, "trap wire %" PRIu32 "%s", pass->result.wire, corrected);
    } else {
        (void)snprintf(text, CELL_CAP, "%s%s", name, corrected);
    }
}

/* "set 34,000 all" when every setting and every repeater that was said is the same. */
static void
write_weights(const struct tl_pass *pass, char text[CELL_CAP], bool *listed)
{
    uint32_t set_lb = 0;
    uint32_t repeater_lb = 0;
    char pounds[CELL_CAP];
    bool set = tl_weights_agree(pass->set, pass->set_count, &set_lb);
    bool read = tl_weights_agree(pass->repeater, pass->repeater_count, &repeater_lb);
    *listed = false;
    if (pass->set_count == 0 && pass->repeater_count == 0) {
        (void)snprintf(text, CELL_CAP, "nothing set");
    } else if (set && (pass->repeater_count == 0 || (read && set_lb == repeater_lb))) {
        write_pounds(set_lb, pounds);
        (void)snprintf(text, CELL_CAP, "set %.12s all", pounds);
    } else {
        *listed = true;
        (void)snprintf(text, CELL_CAP, "see below");
    }
}

static void
write_list(const char *what, const struct tl_weight *weights, uint32_t count, char text[LIST_CAP])
{
    size_t used = (size_t)snprintf(text, LIST_CAP, "%s", what);
    for (uint32_t i = 0; i < count && used < LIST_CAP; i++) {
        char pounds[CELL_CAP];
        char unit[TL_ID_CAP];
        write_pounds(weights[i].lb, pounds);
        (void)snprintf(unit, sizeof unit, "%" PRIu32, weights[i].unit);
        int len = snprintf(text + used, LIST_CAP - used, "%s %s %s", i > 0 ? "," : "",
                           weights[i].unit > 0 ? unit : weights[i].stated.node, pounds);
        used += len > 0 ? (size_t)len : 0;
    }
}

/* ---- table ---- */

/* Indented lines of at most COLUMNS, broken at blanks. */
static void
print_wrapped(const char *text, FILE *out)
{
    size_t room = COLUMNS - INDENT;
    size_t left = strlen(text);
    while (left > 0) {
        size_t len = left;
        if (left > room) {
            len = room;
            while (len > 0 && text[len] != ' ') {
                len--;
            }
            len = len == 0 ? room : len;
        }
        (void)fprintf(out, "%*s%.*s\n", INDENT, "", (int)len, text);
        text += len;
        left -= len;
        while (*text == ' ') {
            text++;
            left--;
        }
    }
}

static void
print_below(const struct tl_pass *pass, bool listed, FILE *out)
{
    char text[LIST_CAP];
    if (listed && pass->set_count > 0) {
        write_list("set", pass->set, pass->set_count, text);
        print_wrapped(text, out);
    }
    if (listed && pass->repeater_count > 0) {
        write_list("repeater", pass->repeater, pass->repeater_count, text);
        print_wrapped(text, out);
    }
    if (tl_pass_has_cause(pass)) {
        bool told = pass->verdict.text[0] != '\0';
        (void)snprintf(text, sizeof text, "not ready: %s",
                       told ? pass->verdict.text : pass->verdict.rule);
        print_wrapped(text, out);
    } else if (pass->result.outcome == TL_OUTCOME_WAVE_OFF && pass->verdict.ready) {
        print_wrapped("READY until then", out);
    }
}

static void
print_pass(const struct tl_pass *pass, FILE *out)
{
    char time[TIME_CAP];
    char result[CELL_CAP];
    char weights[CELL_CAP];
    char ordered[CELL_CAP] = "-";
    char side[CELL_CAP] = "-";
    bool listed = false;
    bool has_order = pass->order_stated.sequence != 0;
    write_time(tl_pass_wall_ms(pass), time);
    write_result(pass, result);
    write_weights(pass, weights, &listed);
    if (has_order) {
        write_pounds(pass->order.weight_lb, ordered);
        (void)snprintf(side, sizeof side, "%" PRIu32, pass->order.side);
    }
    (void)fprintf(out, "%-8.8s %4" PRIu32 " %4.4s %-15.15s %7.7s %-14.14s %.22s\n", time + CLOCK_AT,
                  pass->event.pass, side, has_order ? pass->order.type : "-", ordered, weights,
                  result);
    print_below(pass, listed, out);
}

void
tl_passes_print(const struct tl_passes *passes, FILE *out)
{
    uint64_t recovery_ms = 0;
    (void)fprintf(out, "%-8s %4s %4s %-15s %7s %-14s %s\n", "TIME UTC", "PASS", "SIDE", "TYPE",
                  "ORDERED", "SET, REPEATER", "RESULT");
    for (size_t i = 0; i < passes->count; i++) {
        const struct tl_pass *pass = &passes->pass[i];
        if (pass->event.recovery_ms != recovery_ms) {
            char time[TIME_CAP];
            recovery_ms = pass->event.recovery_ms;
            write_time(recovery_ms, time);
            (void)fprintf(out, "recovery %.10s %.8s UTC, weights in lb\n", time, time + CLOCK_AT);
        }
        print_pass(pass, out);
    }
}

/* ---- JSON ---- */

static json_t *
weights_json(const struct tl_weight *weights, uint32_t count)
{
    json_t *object = json_object();
    for (uint32_t i = 0; i < count && object != NULL; i++) {
        char unit[TL_ID_CAP];
        (void)snprintf(unit, sizeof unit, "%" PRIu32, weights[i].unit);
        if (json_object_set_new(object, weights[i].unit > 0 ? unit : weights[i].stated.node,
                                json_integer(weights[i].lb)) != 0) {
            json_decref(object);
            object = NULL;
        }
    }
    return object;
}

static json_t *
cause_json(const struct tl_pass *pass)
{
    const struct tl_recorded_verdict *verdict = &pass->verdict;
    const char *station = verdict->station[0] != '\0' ? verdict->station : NULL;
    return tl_pass_has_cause(pass) ? json_pack("{s:s,s:s?,s:s}", "rule", verdict->rule, "station",
                                               station, "text", verdict->text)
                                   : json_null();
}

static json_t *
number_or_null(bool known, uint32_t number)
{
    return known ? json_integer((json_int_t)number) : json_null();
}

static json_t *
pass_json(const struct tl_pass *pass)
{
    char time[TIME_CAP];
    bool ordered = pass->order_stated.sequence != 0;
    bool wire = pass->result.outcome == TL_OUTCOME_TRAP && pass->result.wire > 0;
    write_time(tl_pass_wall_ms(pass), time);
    return json_pack(
        "{s:s,s:I,s:I,s:o,s:s?,s:o,s:o,s:o,s:s?,s:o,s:b,s:b,s:o}", "time", time, "recovery",
        (json_int_t)pass->event.recovery_ms, "pass", (json_int_t)pass->event.pass, "side",
        number_or_null(ordered, pass->order.side), "type", ordered ? pass->order.type : NULL,
        "ordered_lb", number_or_null(ordered, pass->order.weight_lb), "set",
        weights_json(pass->set, pass->set_count), "repeater",
        weights_json(pass->repeater, pass->repeater_count), "result", outcome_name(pass), "wire",
        number_or_null(wire, pass->result.wire), "corrected", pass->corrected ? 1 : 0, "cancelled",
        is_cancelled(pass) ? 1 : 0, "cause", cause_json(pass));
}

bool
tl_passes_print_json(const struct tl_passes *passes, FILE *out)
{
    json_t *list = json_array();
    bool good = list != NULL;
    for (size_t i = 0; i < passes->count && good; i++) {
        good = json_array_append_new(list, pass_json(&passes->pass[i])) == 0;
    }
    json_t *object = good ? json_pack("{s:O}", "passes", list) : NULL;
    good = object != NULL && json_dumpf(object, out, JSON_PRESERVE_ORDER | JSON_COMPACT) == 0 &&
           fputc('\n', out) != EOF;
    json_decref(object);
    json_decref(list);
    return good;
}
