/* SPDX-License-Identifier: Apache-2.0 */
/* print.c - see print.h: the passes as narrow text. */
#include "clients/logbook/print.h"

#include <inttypes.h>
#include <string.h>

#include "clients/logbook/words.h"

enum {
    COLUMNS = 80,
    INDENT = 10,
    CELL_CAP = 48,
    LIST_CAP = TL_ENGINES_MAX * (TL_ID_CAP + 24) + 32
};

/* ---- words ---- */

static void
write_result(const struct tl_pass *pass, char text[CELL_CAP])
{
    const char *name = tl_pass_result_name(pass);
    const char *corrected = pass->corrected ? " corrected" : "";
    if (name == NULL) {
        (void)snprintf(text, CELL_CAP, "%s", tl_pass_cancelled(pass) ? "cancelled" : "no result");
    } else if (tl_pass_trapped(pass) && pass->result.wire > 0) {
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
    char pounds[TL_NUMBER_CAP];
    bool set = tl_weights_agree(pass->set, pass->set_count, &set_lb);
    bool read = tl_weights_agree(pass->repeater, pass->repeater_count, &repeater_lb);
    *listed = false;
    if (pass->set_count == 0 && pass->repeater_count == 0) {
        (void)snprintf(text, CELL_CAP, "nothing set");
    } else if (set && (pass->repeater_count == 0 || (read && set_lb == repeater_lb))) {
        (void)snprintf(text, CELL_CAP, "set %.12s all", tl_plain_pounds_text(set_lb, pounds));
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
        char pounds[TL_NUMBER_CAP];
        char unit[TL_ID_CAP];
        (void)snprintf(unit, sizeof unit, "%" PRIu32, weights[i].unit);
        int len = snprintf(text + used, LIST_CAP - used, "%s %s %s", i > 0 ? "," : "",
                           weights[i].unit > 0 ? unit : weights[i].station,
                           tl_plain_pounds_text(weights[i].lb, pounds));
        used += len > 0 ? (size_t)len : 0;
    }
}

/* ---- lines ---- */

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
print_cause(const struct tl_pass *pass, FILE *out)
{
    const struct tl_verdict_row *cause = tl_pass_cause(pass);
    char text[LIST_CAP];
    if (cause != NULL) {
        (void)snprintf(text, sizeof text, "not ready: %s",
                       cause->text[0] != '\0' ? cause->text : cause->name);
        print_wrapped(text, out);
    } else if (tl_pass_wave_off(pass) == TL_WAVE_OFF_READY) {
        print_wrapped("READY until then", out);
    }
}

/* What a reader must not overlook: drill, barricade, by voice, overridden. */
static void
print_marks(const struct tl_pass *pass, FILE *out)
{
    char text[LIST_CAP] = "";
    size_t used = 0;
    if (pass->drill) {
        used += (size_t)snprintf(text, sizeof text, "DRILL");
    }
    if (pass->order.barricade) {
        used += (size_t)snprintf(text + used, sizeof text - used, "%sinto the barricade",
                                 used > 0 ? "; " : "");
    }
    if (pass->overrides > 0) {
        used += (size_t)snprintf(text + used, sizeof text - used, "%s%" PRIu32 " OVERRIDDEN",
                                 used > 0 ? "; " : "", pass->overrides);
    }
    for (uint32_t i = 0; i < pass->voiced_count && used < sizeof text; i++) {
        const char *lead = i > 0 ? ", " : (used > 0 ? "; BY VOICE: " : "BY VOICE: ");
        used += (size_t)snprintf(text + used, sizeof text - used, "%s%s", lead, pass->voiced[i]);
    }
    if (text[0] != '\0') {
        print_wrapped(text, out);
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
    print_cause(pass, out);
    print_marks(pass, out);
}

static void
print_pass(const struct tl_pass *pass, FILE *out)
{
    char time[TL_TIME_CAP];
    char result[CELL_CAP];
    char weights[CELL_CAP];
    char ordered[TL_NUMBER_CAP] = "-";
    char side[CELL_CAP] = "-";
    bool listed = false;
    bool has_order = pass->order_stated.sequence != 0;
    write_result(pass, result);
    write_weights(pass, weights, &listed);
    if (has_order) {
        (void)tl_plain_pounds_text(pass->order.weight_lb, ordered);
        (void)snprintf(side, sizeof side, "%" PRIu32, pass->order.side);
    }
    (void)fprintf(out, "%-8.8s %4" PRIu32 " %4.4s %-15.15s %7.7s %-14.14s %.22s\n",
                  tl_clock_text(tl_pass_wall_ms(pass), time), pass->event.pass, side,
                  has_order ? pass->order.type : "-", ordered, weights, result);
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
            char time[TL_TIME_CAP];
            recovery_ms = pass->event.recovery_ms;
            (void)tl_time_text(recovery_ms, time);
            (void)fprintf(out, "recovery %.10s %.8s UTC, weights in lb\n", time,
                          time + TL_CLOCK_AT);
        }
        print_pass(pass, out);
    }
}
