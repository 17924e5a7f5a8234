/* SPDX-License-Identifier: Apache-2.0 */
/* why_print.c - causes in full as lines of text. See why.h. */
#include <inttypes.h>
#include <string.h>

#include "clients/ui/why.h"
#include "proto/vocab/rules_why.h"

enum {
    INDENT = 14,
    WIDTH = 80,
    LINE_CAP = 2 * TL_TEXT_CAP
};

void
tl_ui_print_wrapped(const char *label, const char *text, FILE *out)
{
    int column = fprintf(out, "  %-*s", INDENT - 2, label);
    const char *at = text;
    while (*at != '\0') {
        size_t length = strcspn(at, " ");
        if (column > INDENT && column + 1 + (int)length > WIDTH) {
            column = fprintf(out, "\n%*s", INDENT, "") - 1;
        }
        column += fprintf(out, "%s%.*s", column > INDENT ? " " : "", (int)length, at);
        at += length;
        at += strspn(at, " ");
    }
    (void)fprintf(out, "\n");
}

static void
print_reported(const struct tl_why *why, FILE *out)
{
    char line[LINE_CAP];
    if (!why->last_word) {
        tl_ui_print_wrapped("reported", why->reported[0] != '\0' ? why->reported : "not told", out);
        return;
    }
    (void)snprintf(line, sizeof line, "nothing that counts for this event%s%s",
                   why->reported[0] != '\0' ? "; the last word: " : "", why->reported);
    tl_ui_print_wrapped("reported", line, out);
}

static void
print_needed(const struct tl_why *why, FILE *out)
{
    char line[2 * LINE_CAP];
    if (why->needed[0] != '\0') {
        tl_ui_print_wrapped("needed", why->needed, out);
    } else if (why->rule_needs != NULL) {
        (void)snprintf(line, sizeof line, "no figure told; the rule asks for: %s", why->rule_needs);
        tl_ui_print_wrapped("needed", line, out);
    } else {
        tl_ui_print_wrapped("needed", "not told", out);
    }
}

static void
print_would(const struct tl_would *would, FILE *out)
{
    char line[LINE_CAP];
    char pounds[TL_TEXT_CAP / 4];
    char text[TL_TEXT_CAP];
    if (would->set_lb != 0) {
        (void)snprintf(line, sizeof line, "at %s: %s",
                       tl_pounds_text(would->set_lb, pounds, sizeof pounds),
                       tl_would_text(would, text, sizeof text));
        tl_ui_print_wrapped("would", line, out);
    }
}

static void
print_who(const struct tl_why *why, FILE *out)
{
    static const char *const ways[] = {
        [TL_WHY_NOT_TOLD] = "",
        [TL_WHY_KEYED] = ", keyed",
        [TL_WHY_SENSOR] = ", read by a sensor",
        [TL_WHY_BY_VOICE] = ", by voice",
    };
    const struct tl_rule_row *row = tl_rule_row(why->cause->rule);
    char said[TL_ID_CAP];
    char other[TL_ID_CAP];
    char line[LINE_CAP];
    if (why->said_by[0] == '\0') {
        bool tool = row != NULL && row->kind == TL_CAUSE_PICTURE;
        tl_ui_print_wrapped("said by", tool ? "nobody: seen by the tool itself" : "not told", out);
        return;
    }
    (void)snprintf(line, sizeof line, "%s%s%s%s", tl_node_spoken(why->said_by, said, sizeof said),
                   ways[why->how], why->confirmed_by[0] != '\0' ? ", confirmed by " : "",
                   why->confirmed_by[0] != '\0'
                       ? tl_node_spoken(why->confirmed_by, other, sizeof other)
                       : (why->how == TL_WHY_BY_VOICE ? ", NOT CONFIRMED" : ""));
    tl_ui_print_wrapped("said by", line, out);
}

static void
print_ages(const struct tl_why *why, FILE *out)
{
    char line[LINE_CAP];
    if (why->said_known) {
        (void)snprintf(line, sizeof line, "%" PRIu64 ".%" PRIu64 " s ago", why->said_age_ms / 1000,
                       why->said_age_ms % 1000 / 100);
    }
    tl_ui_print_wrapped("said", why->said_known ? line : "not told", out);
    if (why->heard_known) {
        (void)snprintf(line, sizeof line, "its station %" PRIu64 ".%" PRIu64 " s ago%s%s",
                       why->heard_age_ms / 1000, why->heard_age_ms % 1000 / 100,
                       why->live == TL_LIVE_LOST ? ", LOST" : "",
                       why->said_known ? "; this word for the first time: not told" : "");
    }
    tl_ui_print_wrapped("heard", why->heard_known ? line : "not told", out);
}

static void
print_one(const struct tl_ui_state *state, const struct tl_cause *cause, uint32_t number, FILE *out)
{
    struct tl_why why;
    char text[LINE_CAP];
    const struct tl_rule_why *words = tl_rule_why(cause->rule);
    bool old = state->picture_old && state->view->from_known;
    tl_ui_why(state, cause, &why);
    (void)fprintf(out, "%2" PRIu32 " %s %s%s\n", number, tl_ui_cause_word(cause->state),
                  tl_cause_text(cause, (struct tl_event){0}, text, TL_TEXT_CAP),
                  old ? " (old)" : "");
    print_reported(&why, out);
    print_needed(&why, out);
    print_would(&cause->would, out);
    print_who(&why, out);
    print_ages(&why, out);
    (void)tl_places_text(state->config, why.acts, text, sizeof text);
    tl_ui_print_wrapped("acts", text[0] != '\0' ? text : "nobody", out);
    if (words != NULL) {
        tl_ui_print_wrapped("do", words->act, out);
    }
    tl_ui_print_wrapped("rule", why.rule, out);
}

void
tl_ui_print_why(const struct tl_ui_state *state, FILE *out)
{
    char text[TL_TEXT_CAP + 32];
    const struct tl_cause *cause = NULL;
    (void)fprintf(out, "%s\n", tl_ui_verdict(state->view, text, sizeof text));
    for (uint32_t i = 0; (cause = tl_ui_cause_at(state, i)) != NULL; i++) {
        print_one(state, cause, i + 1, out);
    }
    if (state->picture == NULL) {
        (void)fprintf(out, "no picture heard\n");
    }
}
