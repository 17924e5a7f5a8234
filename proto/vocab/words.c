/* SPDX-License-Identifier: Apache-2.0 */
/*
 * words.c - what a datum and a cause are called when a person reads them. See rules.h.
 *
 * One place for wording, so that the line client, the full screen and the record say the same
 * thing. Nothing here comes from another node raw: node and type ids have passed the codec's check.
 */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "proto/vocab/rules.h"

enum {
    SPOKEN_CAP = 40,
    POUNDS_CAP = 32
};

const char *
tl_node_spoken(const char *id, char *dst, size_t cap)
{
    (void)snprintf(dst, cap, "%s", id[0] != '\0' ? id : "all");
    char *dash = strrchr(dst, '-');
    if (dash != NULL && dash[1] >= '0' && dash[1] <= '9') {
        *dash = ' ';
    }
    return dst;
}

const char *
tl_pounds_text(int64_t pounds, char *dst, size_t cap)
{
    if (pounds >= 1000 && pounds < 1000000) {
        (void)snprintf(dst, cap, "%" PRId64 ",%03" PRId64 " lb", pounds / 1000, pounds % 1000);
    } else {
        (void)snprintf(dst, cap, "%" PRId64 " lb", pounds);
    }
    return dst;
}

const char *
tl_foul_reason_text(enum tl_foul_reason reason)
{
    switch (reason) {
    case TL_FOUL_PERSON:
        return "person over the line";
    case TL_FOUL_AIRCRAFT:
        return "aircraft over the line";
    case TL_FOUL_EQUIPMENT:
        return "equipment in the landing area";
    case TL_FOUL_WIRE:
        return "wire";
    case TL_FOUL_OTHER:
        return "other";
    case TL_FOUL_UNKNOWN:
        break;
    }
    return "no reason given";
}

static const char *
deck_text(const struct tl_deck *deck, char *dst, size_t cap)
{
    switch (deck->state) {
    case TL_DECK_CLEAR:
        (void)snprintf(dst, cap, "deck clear");
        break;
    case TL_DECK_NO_FOUL:
        (void)snprintf(dst, cap, "no foul from here");
        break;
    case TL_DECK_FOUL:
        if (deck->expect_s > 0) {
            (void)snprintf(dst, cap, "foul: %s, about %" PRIu32 " s",
                           tl_foul_reason_text(deck->reason), deck->expect_s);
        } else {
            (void)snprintf(dst, cap, "foul: %s", tl_foul_reason_text(deck->reason));
        }
        break;
    case TL_DECK_UNKNOWN:
        (void)snprintf(dst, cap, "deck unknown");
        break;
    }
    return dst;
}

static const char *
result_text(const struct tl_result *result, char *dst, size_t cap)
{
    switch (result->outcome) {
    case TL_OUTCOME_TRAP:
        (void)snprintf(dst, cap, "trap on wire %" PRIu32, result->wire);
        break;
    case TL_OUTCOME_BOLTER:
        (void)snprintf(dst, cap, "bolter");
        break;
    case TL_OUTCOME_WAVE_OFF:
        (void)snprintf(dst, cap, "wave-off");
        break;
    case TL_OUTCOME_UNKNOWN:
        (void)snprintf(dst, cap, "no result");
        break;
    }
    return dst;
}

static const char *
known_text(const struct tl_datum *d, char *dst, size_t cap)
{
    char pounds[POUNDS_CAP];
    switch (d->kind) {
    case TL_DATUM_RECOVERY:
        (void)snprintf(dst, cap, "recovery %s%s",
                       d->as.recovery.state == TL_RECOVERY_OPEN ? "open" : "closed",
                       d->as.recovery.drill ? " (DRILL)" : "");
        break;
    case TL_DATUM_ORDER:
        (void)snprintf(dst, cap, "order %" PRIu32 " %s %s%s", d->as.order.side, d->as.order.type,
                       tl_pounds_text(d->as.order.weight_lb, pounds, sizeof pounds),
                       d->as.order.state == TL_ORDER_CANCELLED ? " cancelled" : "");
        break;
    case TL_DATUM_SET:
        (void)snprintf(dst, cap, "set %s", tl_pounds_text(d->as.set_lb, pounds, sizeof pounds));
        break;
    case TL_DATUM_REPEATER:
        (void)snprintf(dst, cap, "repeater %" PRIu32 " reads %s", d->slot,
                       tl_pounds_text(d->as.repeater_lb, pounds, sizeof pounds));
        break;
    case TL_DATUM_BATTERY:
        (void)snprintf(dst, cap, "%s",
                       d->as.battery == TL_BATTERY_IN ? "in battery" : "not in battery");
        break;
    case TL_DATUM_DECK:
        (void)deck_text(&d->as.deck, dst, cap);
        break;
    case TL_DATUM_CALL:
        (void)snprintf(dst, cap, "pilot calls %" PRIu32 " %s", d->as.call.side, d->as.call.type);
        break;
    case TL_DATUM_HOOK:
        (void)snprintf(dst, cap, "%s", d->as.hook == TL_HOOK_DOWN ? "hook down" : "hook NOT down");
        break;
    case TL_DATUM_RESULT:
        (void)result_text(&d->as.result, dst, cap);
        break;
    case TL_DATUM_INBOUND:
        (void)snprintf(dst, cap, "inbound %" PRIu32 " %s %s", d->as.inbound.side,
                       d->as.inbound.type,
                       tl_pounds_text(d->as.inbound.weight_lb, pounds, sizeof pounds));
        break;
    case TL_DATUM_UNKNOWN:
    case TL_DATUM_KINDS:
        (void)snprintf(dst, cap, "unknown");
        break;
    }
    return dst;
}

const char *
tl_datum_text(const struct tl_datum *datum, char *dst, size_t cap)
{
    if (!datum->known) {
        (void)snprintf(dst, cap, "%s unknown", tl_datum_kind_name(datum->kind));
        return dst;
    }
    return known_text(datum, dst, cap);
}

static void
two_weights(const struct tl_cause *cause, char *dst, size_t cap)
{
    char a[POUNDS_CAP];
    char b[POUNDS_CAP];
    if (cause->reported.known && cause->needed.known) {
        (void)snprintf(dst, cap, ": %s, needed %s%s%s",
                       tl_pounds_text(cause->reported.number, a, sizeof a),
                       tl_pounds_text(cause->needed.number, b, sizeof b),
                       cause->needed.word[0] != '\0' ? " for " : "", cause->needed.word);
    }
}

static void
two_aircraft(const struct tl_cause *cause, char *dst, size_t cap)
{
    if (cause->reported.known && cause->needed.known) {
        (void)snprintf(dst, cap, ": called %" PRId64 " %s, ordered %" PRId64 " %s",
                       cause->reported.number, cause->reported.word, cause->needed.number,
                       cause->needed.word);
    }
}

/* What the cause says before the state is added; "" when the short text alone says it. */
static void
figures_text(const struct tl_cause *cause, char *dst, size_t cap)
{
    dst[0] = '\0';
    switch ((enum tl_rule)cause->rule) {
    case TL_RULE_SETTING_OTHER_AIRCRAFT:
    case TL_RULE_SETTING_NOT_ORDERED:
    case TL_RULE_REPEATER_DIFFERS:
    case TL_RULE_ENGINES_DISAGREE:
        two_weights(cause, dst, cap);
        break;
    case TL_RULE_TYPE_UNKNOWN:
        (void)snprintf(dst, cap, ": %s", cause->reported.word);
        break;
    case TL_RULE_TYPE_CALLED_DIFFERS:
        two_aircraft(cause, dst, cap);
        break;
    case TL_RULE_DECK_FOUL:
    case TL_RULE_LINE_CROSSED:
        if (cause->reported.known) {
            (void)snprintf(dst, cap, ": %s",
                           tl_foul_reason_text((enum tl_foul_reason)cause->reported.number));
        }
        break;
    case TL_RULE_REFUSED_PUBLISHER:
    case TL_RULE_OTHER_BODY:
        (void)snprintf(dst, cap, ": %s", tl_refusal_text(cause->reason));
        break;
    case TL_RULE_NONE:
    case TL_RULE_NO_EVENT:
    case TL_RULE_ORDER_UNKNOWN:
    case TL_RULE_NOT_IN_BATTERY:
    case TL_RULE_HOOK_NOT_DOWN:
    case TL_RULE_FOUL_WORD_MISSING:
    case TL_RULE_WIND_UNKNOWN:
    case TL_RULE_NO_ENGINE:
    case TL_RULE_STATION_LOST:
    case TL_RULE_TWO_WRITERS:
    case TL_RULE_VALIDATORS_DIFFER:
    case TL_RULE_VALIDATOR_LOST:
    case TL_RULE_PRIMARY_RESTARTED:
    case TL_RULE_LIST_NOT_HEARD:
    case TL_RULE_BUS_DEGRADED:
    case TL_RULE_KEYS_DIFFER:
    case TL_RULE_LIMIT_REACHED:
    case TL_RULE_UNPROVEN:
    case TL_RULE_SCREEN_NO_VALIDATOR:
    case TL_RULE_SCREEN_HOLDING:
    case TL_RULE_SCREEN_OTHER_CONFIGURATION:
    case TL_RULE_SCREEN_VALIDATORS_DIFFER:
    case TL_RULES_MAX:
        break;
    }
}

struct pending_words {
    enum tl_rule rule;
    const char *text;
};

/* A pending comparison has not been made, so its fault must not be named as if it were there. */
static const struct pending_words pending_words[] = {
    {TL_RULE_SETTING_OTHER_AIRCRAFT, "weight not yet set for this event"},
    {TL_RULE_SETTING_NOT_ORDERED, "weight not yet set for this event"},
    {TL_RULE_REPEATER_DIFFERS, "repeater not yet read"},
    {TL_RULE_NOT_IN_BATTERY, "battery not yet reported"},
    {TL_RULE_DECK_FOUL, "deck not yet clear"},
    {TL_RULE_LINE_CROSSED, "over the line, not yet clear"},
    {TL_RULE_TYPE_CALLED_DIFFERS, "pilot's call not yet heard"},
    {TL_RULE_HOOK_NOT_DOWN, "hook not yet reported"},
    {TL_RULE_WIND_UNKNOWN, "wind not yet known"},
    {TL_RULE_FOUL_WORD_MISSING, "has not yet said foul or no foul"},
    {TL_RULE_STATION_LOST, "not heard yet"},
};

/* NULL: the rule's own words do for a pending cause too. */
static const char *
pending_text(uint32_t rule)
{
    for (size_t i = 0; i < sizeof pending_words / sizeof pending_words[0]; i++) {
        if ((uint32_t)pending_words[i].rule == rule) {
            return pending_words[i].text;
        }
    }
    return NULL;
}

static const char *
state_suffix(enum tl_cause_state state)
{
    switch (state) {
    case TL_CAUSE_OVERDUE:
        return ", OVERDUE";
    case TL_CAUSE_HOLDING:
        return ", back: held 3 s";
    case TL_CAUSE_WRONG:
    case TL_CAUSE_PENDING:
    case TL_CAUSE_NOTE:
    case TL_CAUSE_UNKNOWN:
        break;
    }
    return "";
}

const char *
tl_cause_text(const struct tl_cause *cause, struct tl_event event, char *dst, size_t cap)
{
    const struct tl_rule_row *row = tl_rule_row(cause->rule);
    const char *what = row != NULL ? row->short_text : "a rule that this program does not know";
    char spoken[SPOKEN_CAP] = "";
    char figures[TL_TEXT_CAP] = "";
    char of[SPOKEN_CAP] = "";
    bool not_stated = (cause->state == TL_CAUSE_PENDING || cause->state == TL_CAUSE_OVERDUE);
    const char *pending = not_stated ? pending_text(cause->rule) : NULL;
    if (pending != NULL) {
        what = pending;
    }
    if (pending == NULL || cause->reported.known) {
        figures_text(cause, figures, sizeof figures);
    }
    if (cause->station[0] != '\0') {
        (void)tl_node_spoken(cause->station, spoken, sizeof spoken);
    }
    if (event.pass != 0 && row != NULL && row->kind == TL_CAUSE_SHIP) {
        (void)snprintf(of, sizeof of, " (event %" PRIu32 ")", event.pass);
    }
    (void)snprintf(dst, cap, "%s%s%s%s%s%s", spoken, spoken[0] != '\0' ? ": " : "", what, figures,
                   state_suffix(cause->state), of);
    return dst;
}
