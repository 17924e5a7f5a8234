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
    POUNDS_CAP = 32,
    FIGURES_CAP = 96,
    WOULD_CAP = 80
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
    if (pounds >= 0 && pounds < 1000000) {
        return tl_grouped_text((uint32_t)pounds, "lb", dst, cap);
    }
    (void)snprintf(dst, cap, "%" PRId64 " lb", pounds); /* no weight */
    return dst;
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

/* "wire 3", and what is told of it; or how many are missing when none of it has been said. */
static void
one_of_several(const struct tl_cause *cause, const char *thing, char *dst, size_t cap)
{
    if (!cause->reported.known) {
        if (cause->needed.known) {
            (void)snprintf(dst, cap, ": %s %" PRId64 "%s%s", thing, cause->needed.number,
                           cause->needed.word[0] != '\0' ? " " : "", cause->needed.word);
        }
        return;
    }
    if (cause->reported.number == 0) {
        return;
    }
    (void)snprintf(dst, cap, ": %s %" PRId64 "%s%s", thing, cause->reported.number,
                   cause->reported.word[0] != '\0' ? ", " : "", cause->reported.word);
}

static void
number_and_bound(const struct tl_cause *cause, const char *unit, char *dst, size_t cap)
{
    if (cause->reported.known && cause->needed.known) {
        (void)snprintf(dst, cap, ": %" PRId64 " %s, needed %" PRId64 " %s", cause->reported.number,
                       unit, cause->needed.number, unit);
    }
}

static void
hundredths_and_bound(const struct tl_cause *cause, char *dst, size_t cap)
{
    if (cause->reported.known && cause->needed.known) {
        (void)snprintf(dst, cap,
                       ": %" PRId64 ".%02" PRId64 " in, needed %" PRId64 ".%02" PRId64 " in",
                       cause->reported.number / 100, cause->reported.number % 100,
                       cause->needed.number / 100, cause->needed.number % 100);
    }
}

static void
height_figures(const struct tl_cause *cause, char *dst, size_t cap)
{
    if (!cause->reported.known) {
        one_of_several(cause, "wire", dst, cap);
        return;
    }
    (void)snprintf(dst, cap, ": wire %" PRId64 ", %s %" PRId64 ".%02" PRId64 " in",
                   cause->reported.number, cause->needed.word, cause->needed.number / 100,
                   cause->needed.number % 100);
}

/* 1234 tenths -> "123.4 in, needed 120.0 in". */
static void
tenths_and_bound(const struct tl_cause *cause, const char *unit, char *dst, size_t cap)
{
    if (cause->reported.known && cause->needed.known) {
        const int64_t a = cause->reported.number;
        const int64_t b = cause->needed.number;
        (void)snprintf(dst, cap,
                       ": %s%s%s%" PRId64 ".%" PRId64 " %s, needed %s%" PRId64 ".%" PRId64 " %s",
                       cause->reported.word, cause->reported.word[0] != '\0' ? " " : "",
                       a < 0 ? "-" : "", (a < 0 ? -a : a) / 10, (a < 0 ? -a : a) % 10, unit,
                       b < 0 ? "-" : "", (b < 0 ? -b : b) / 10, (b < 0 ? -b : b) % 10, unit);
    }
}

static void
angle_figures(const struct tl_cause *cause, char *dst, size_t cap)
{
    if (cause->reported.known && cause->needed.known) {
        (void)snprintf(dst, cap,
                       ": %" PRId64 ".%02" PRId64 " deg, needed %" PRId64 ".%02" PRId64 " deg",
                       cause->reported.number / 100, cause->reported.number % 100,
                       cause->needed.number / 100, cause->needed.number % 100);
    }
}

/* The rule that the cause speaks of. */
static void
rule_figures(const struct tl_cause *cause, char *dst, size_t cap)
{
    const struct tl_rule_row *row =
        cause->reported.known ? tl_rule_row((uint32_t)cause->reported.number) : NULL;
    if (row != NULL) {
        (void)snprintf(dst, cap, ": %s", row->short_text);
    }
}

static void
one_number(const struct tl_cause *cause, const char *thing, char *dst, size_t cap)
{
    if (cause->reported.known) {
        (void)snprintf(dst, cap, ": %s %" PRId64, thing, cause->reported.number);
    }
}

/* Of pendants by their book. */
static void
life_figures(const struct tl_cause *cause, char *dst, size_t cap)
{
    if (!cause->reported.known) {
        one_of_several(cause, "wire", dst, cap);
        return;
    }
    (void)snprintf(dst, cap, ": wire %" PRId64 ", %" PRId64 " traps", cause->reported.number,
                   cause->needed.number);
}

/* After an arrest, of the wires that are left, the wind and the ship. */
static void
reading_figures(const struct tl_cause *cause, char *dst, size_t cap)
{
    switch ((int)cause->rule) {
    case TL_RULE_RAM_TRAVEL:
    case TL_RULE_SIDES_UNEQUAL:
    case TL_RULE_STROKE_PREDICTED:
    case TL_RULE_TRAVEL_DISAGREES:
        tenths_and_bound(cause, "in", dst, cap);
        break;
    case TL_RULE_OFF_CENTRE:
    case TL_RULE_WALK_BACK:
    case TL_RULE_RAMP_CLEARANCE:
    case TL_RULE_TOUCHDOWN_OFF:
        tenths_and_bound(cause, "ft", dst, cap);
        break;
    case TL_RULE_WIND_LOW:
    case TL_RULE_CROSSWIND_OVER:
        tenths_and_bound(cause, "kn", dst, cap);
        break;
    case TL_RULE_SHIP_NOT_STEADY:
    case TL_RULE_DECK_MOTION:
        tenths_and_bound(cause, cause->needed.word, dst, cap);
        break;
    case TL_RULE_AID_ANGLE:
        angle_figures(cause, dst, cap);
        break;
    case TL_RULE_AID_NOT_ON_TARGET:
        if (cause->reported.known && cause->needed.known) {
            (void)snprintf(dst, cap, ": wire %" PRId64 ", needed wire %" PRId64,
                           cause->reported.number, cause->needed.number);
        }
        break;
    case TL_RULE_TOO_FEW_WIRES:
        number_and_bound(cause, "wires", dst, cap);
        break;
    case TL_RULE_HOOK_LOAD:
        number_and_bound(cause, "lbf", dst, cap);
        break;
    case TL_RULE_ENERGY_OVER:
        number_and_bound(cause, "thousand ft-lbf", dst, cap);
        break;
    case TL_RULE_ENERGY_THIN:
        number_and_bound(cause, "%", dst, cap);
        break;
    case TL_RULE_INTERVAL_SHORT:
        number_and_bound(cause, "s", dst, cap);
        break;
    case TL_RULE_WAVE_OFF_ADVISED:
    case TL_RULE_PICTURE_LOST:
        rule_figures(cause, dst, cap);
        break;
    default:
        if (cause->reported.known && cause->reported.word[0] != '\0') {
            (void)snprintf(dst, cap, ": %s", cause->reported.word);
        }
        break;
    }
}

/* Of the gear, the tracks, the aid and the barricade. */
static void
gear_figures(const struct tl_cause *cause, char *dst, size_t cap)
{
    switch ((int)cause->rule) {
    case TL_RULE_PENDANT_HEIGHT:
        height_figures(cause, dst, cap);
        break;
    case TL_RULE_SHEAVE_DOWN:
    case TL_RULE_BYPASS_WITH_PENDANT:
    case TL_RULE_PENDANT_WORN:
    case TL_RULE_RIG_UNKNOWN:
    case TL_RULE_INACTIVE_RIGGED:
    case TL_RULE_RETRACT_RUNNING:
    case TL_RULE_WIRE_NOT_FREE:
        one_of_several(cause, "wire", dst, cap);
        break;
    case TL_RULE_OVERRIDE_LIVE:
        if (tl_rule_row((uint32_t)cause->reported.number) != NULL) {
            (void)snprintf(dst, cap, ": %s", tl_rule_row((uint32_t)cause->reported.number)->name);
        }
        break;
    case TL_RULE_TRACK_OPEN:
        one_of_several(cause, "track", dst, cap);
        break;
    case TL_RULE_DETORQUE_DUE:
    case TL_RULE_DETORQUE_OVERDUE:
        one_of_several(cause, "engine", dst, cap);
        break;
    case TL_RULE_AID_NOT_FOR_TYPE:
        if (cause->reported.known && cause->needed.known) {
            (void)snprintf(dst, cap, ": set for %s, needed %s", cause->reported.word,
                           cause->needed.word);
        }
        break;
    case TL_RULE_ACCUMULATOR:
    case TL_RULE_BARRICADE_POWER:
        number_and_bound(cause, cause->reported.word[0] != '\0' ? cause->reported.word : "psi", dst,
                         cap);
        break;
    case TL_RULE_CROSSHEAD_GAP:
        hundredths_and_bound(cause, dst, cap);
        break;
    case TL_RULE_BARRICADE_WIRES:
        one_of_several(cause, "wire", dst, cap);
        break;
    case TL_RULE_ENGINE_FAULT:
        one_number(cause, "code", dst, cap);
        break;
    case TL_RULE_NOT_SIGNED_OFF:
        one_number(cause, "job", dst, cap);
        break;
    case TL_RULE_INSPECTION_OVERDUE:
        one_of_several(cause, "engine", dst, cap);
        break;
    case TL_RULE_PENDANT_LIFE:
    case TL_RULE_PENDANT_LIFE_NEAR:
        life_figures(cause, dst, cap);
        break;
    default:
        reading_figures(cause, dst, cap);
        break;
    }
}

const char *
tl_cause_refusal_text(const struct tl_cause *cause, char *dst, size_t cap)
{
    const char *text = tl_refusal_text(cause->reason);
    if (cause->reason == TL_REFUSAL_NEWER_SCHEMA && cause->reported.known && cause->needed.known) {
        (void)snprintf(dst, cap, "%s: %" PRId64 ", known is %" PRId64, text, cause->reported.number,
                       cause->needed.number);
    } else {
        (void)snprintf(dst, cap, "%s", text);
    }
    return dst;
}

/* What the cause says before the state is added; "" when the short text alone says it. */
static void
figures_text(const struct tl_cause *cause, char *dst, size_t cap)
{
    dst[0] = '\0';
    switch ((int)cause->rule) {
    case TL_RULE_SETTING_OTHER_AIRCRAFT:
    case TL_RULE_SETTING_NOT_ORDERED:
    case TL_RULE_REPEATER_DIFFERS:
    case TL_RULE_ENGINES_DISAGREE:
    case TL_RULE_SETTING_LIGHT:
    case TL_RULE_OVER_TRAP_WEIGHT:
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
        (void)tl_cause_refusal_text(cause, dst + 2, cap - 2);
        memcpy(dst, ": ", 2);
        break;
    default:
        gear_figures(cause, dst, cap);
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
    {TL_RULE_RIG_UNKNOWN, "not yet said whether rigged"},
    {TL_RULE_SHEAVE_DOWN, "sheave not yet reported"},
    {TL_RULE_PENDANT_HEIGHT, "pendant height not yet reported"},
    {TL_RULE_RETRACT_RUNNING, "retract not yet reported"},
    {TL_RULE_WIRE_NOT_FREE, "wires not yet reported free"},
    {TL_RULE_TRACK_OPEN, "track not yet reported"},
    {TL_RULE_AID_NOT_FOR_TYPE, "aid not yet set for this event"},
    {TL_RULE_ACCUMULATOR, "accumulator not yet reported"},
    {TL_RULE_CROSSHEAD_GAP, "crosshead gap not yet reported"},
    {TL_RULE_DETORQUE_OVERDUE, "cable count not yet reported"},
    {TL_RULE_BARRICADE_NOT_STOWED, "barricade not yet reported"},
    {TL_RULE_BARRICADE_POWER, "stanchion pressure not yet reported"},
    {TL_RULE_OVER_TRAP_WEIGHT, "actual weight not yet known"},
    {TL_RULE_FLUID_LEVEL, "fluid level not yet reported"},
    {TL_RULE_ENGINE_FAULT, "fault codes not yet read"},
    {TL_RULE_SERVICE_UNKNOWN, "has not yet said in or out of service"},
    {TL_RULE_INSPECTION_OVERDUE, "engine inspection not yet reported"},
    {TL_RULE_PENDANT_LIFE, "traps of the pendant not yet said"},
    {TL_RULE_ARREST_UNREAD, "last arrest not yet read"},
    {TL_RULE_AID_NOT_ON_TARGET, "target wire not yet said"},
    {TL_RULE_AID_ANGLE, "basic angle not yet said"},
    {TL_RULE_SHIP_NOT_STEADY, "ship's motion not yet known"},
    {TL_RULE_DECK_MOTION, "deck's motion not yet known"},
    {TL_RULE_BARRICADE_NOT_RIGGED, "barricade not yet rigged"},
    {TL_RULE_BARRICADE_WIRES, "pendants not yet stripped for the barricade"},
    {TL_RULE_NOT_MANNED, "has not yet said who has the watch"},
    {TL_RULE_HOOK_LOAD, "hook load not yet computed"},
    {TL_RULE_ENERGY_OVER, "energy not yet computed"},
    {TL_RULE_ENERGY_THIN, "energy margin not yet computed"},
    {TL_RULE_STROKE_PREDICTED, "ram travel not yet computed"},
    {TL_RULE_TRAVEL_DISAGREES, "ram travel not yet computed"},
    {TL_RULE_RAMP_CLEARANCE, "ramp clearance not yet computed"},
    {TL_RULE_TOUCHDOWN_OFF, "touchdown not yet computed"},
    {TL_RULE_INTERVAL_SHORT, "interval not yet computed"},
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
    case TL_CAUSE_OVERRIDDEN:
        return ", OVERRIDDEN";
    case TL_CAUSE_WRONG:
    case TL_CAUSE_PENDING:
    case TL_CAUSE_NOTE:
    case TL_CAUSE_UNKNOWN:
        break;
    }
    return "";
}

/* NULL: it has been said, or the rule's own words do for a pending cause too. */
static const char *
unstated_text(const struct tl_cause *cause)
{
    bool not_stated = cause->state == TL_CAUSE_PENDING || cause->state == TL_CAUSE_OVERDUE;
    return not_stated ? pending_text(cause->rule) : NULL;
}

struct weights_words {
    const char *before, *between; /* the two weights of the cause */
};

/* Nulls: the rule is not about the weight of a setting. */
static struct weights_words
weights_words_of(uint32_t rule)
{
    switch ((int)rule) {
    case TL_RULE_SETTING_OTHER_AIRCRAFT:
        return (struct weights_words){"set for another aircraft: ", " for "};
    case TL_RULE_SETTING_NOT_ORDERED:
        return (struct weights_words){"set not as ordered: ", " for "};
    case TL_RULE_SETTING_LIGHT:
        return (struct weights_words){"set too light: ", " for "};
    case TL_RULE_REPEATER_DIFFERS:
        return (struct weights_words){"repeater ", ", set "};
    default:
        return (struct weights_words){NULL, NULL};
    }
}

/*
 * "set too light: 40,000 lb for 50,000 lb: ram bottoms with 12 kn left, ...": one line has no room
 * for all the words of the rule too, and these say it. False where the consequence is not that of the weight
 * that the cause reports; dst is then untouched.
 */
static bool
weights_and_would(const struct tl_cause *cause, char *dst, size_t cap)
{
    const struct weights_words words = weights_words_of(cause->rule);
    char a[POUNDS_CAP];
    char b[POUNDS_CAP];
    char would[WOULD_CAP];
    if (words.before == NULL || unstated_text(cause) != NULL || cause->would.set_lb == 0 ||
        !cause->reported.known || !cause->needed.known ||
        cause->reported.number != (int64_t)cause->would.set_lb) {
        return false;
    }
    (void)snprintf(dst, cap, "%s%s%s%s: %s", words.before,
                   tl_pounds_text(cause->reported.number, a, sizeof a), words.between,
                   tl_pounds_text(cause->needed.number, b, sizeof b),
                   tl_would_text(&cause->would, would, sizeof would));
    return true;
}

/* What the rule says, with its figures; with a consequence only those that leave room for it. */
static void
rule_and_would(const struct tl_cause *cause, char *dst, size_t cap)
{
    const struct tl_rule_row *row = tl_rule_row(cause->rule);
    const char *what = row != NULL ? row->short_text : "a rule that this program does not know";
    const char *pending = unstated_text(cause);
    char figures[FIGURES_CAP] = "";
    char would[WOULD_CAP] = "";
    what = pending != NULL ? pending : what;
    if (pending == NULL || cause->reported.known || cause->needed.known) {
        figures_text(cause, figures, sizeof figures);
    }
    if (cause->would.set_lb == 0) {
        (void)snprintf(dst, cap, "%s%s", what, figures);
    } else if (pending != NULL || weights_words_of(cause->rule).before != NULL) {
        (void)snprintf(dst, cap, "%s; at %s: %s", what,
                       tl_pounds_text(cause->would.set_lb, figures, sizeof figures),
                       pending != NULL ? tl_would_text(&cause->would, would, sizeof would)
                                       : tl_would_end_text(&cause->would, would, sizeof would));
    } else {
        (void)snprintf(dst, cap, "%s%s; %s", what, figures,
                       tl_would_end_text(&cause->would, would, sizeof would));
    }
}

const char *
tl_cause_text(const struct tl_cause *cause, struct tl_event event, char *dst, size_t cap)
{
    const struct tl_rule_row *row = tl_rule_row(cause->rule);
    const char *joint = " ";
    char spoken[SPOKEN_CAP] = "";
    char said[TL_TEXT_CAP];
    char of[SPOKEN_CAP] = "";
    if (!weights_and_would(cause, said, sizeof said)) {
        rule_and_would(cause, said, sizeof said);
        joint = ": ";
    }
    if (cause->station[0] != '\0') {
        (void)tl_node_spoken(cause->station, spoken, sizeof spoken);
    }
    if (event.pass != 0 && row != NULL && row->kind == TL_CAUSE_SHIP) {
        (void)snprintf(of, sizeof of, " (event %" PRIu32 ")", event.pass);
    }
    (void)snprintf(dst, cap, "%s%s%s%s%s", spoken, spoken[0] != '\0' ? joint : "", said,
                   state_suffix(cause->state), of);
    return dst;
}
