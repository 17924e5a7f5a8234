/* SPDX-License-Identifier: Apache-2.0 */
/* datum_row.c - see datum_row.h. */
#include "clients/logbook/datum_row.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "proto/vocab/rules.h"

enum {
    SECONDS_A_MINUTE = 60
};

static uint32_t
small(int64_t value)
{
    return value < 0 ? 0 : (value > UINT32_MAX ? UINT32_MAX : (uint32_t)value);
}

void
tl_datum_row_events(const char *text, struct tl_datum *datum)
{
    while (*text >= '0' && *text <= '9' && datum->stated_for_count < TL_STATED_FOR_MAX) {
        char *end = NULL;
        struct tl_event event = {.recovery_ms = strtoull(text, &end, 10)};
        if (*end != ':') {
            return;
        }
        text = end + 1;
        event.pass = (uint32_t)strtoul(text, &end, 10);
        if (end == text || !tl_event_is(event)) {
            return;
        }
        datum->stated_for[datum->stated_for_count++] = event;
        text = end + (*end == ',' ? 1 : 0);
    }
}

/* The text behind a beginning, or NULL. */
static const char *
after(const char *text, const char *beginning)
{
    size_t len = strlen(beginning);
    return text != NULL && strncmp(text, beginning, len) == 0 ? text + len : NULL;
}

/* Digits at *text, which moves behind them; false when there are none or too many. */
static bool
take_number(const char **text, uint32_t *number)
{
    char *end = NULL;
    if (*text == NULL || **text < '0' || **text > '9') {
        return false;
    }
    unsigned long value = strtoul(*text, &end, 10);
    *text = end;
    *number = (uint32_t)value;
    return value <= UINT32_MAX;
}

/* "27.5" as 275. */
static bool
take_tenths(const char **text, uint32_t *x10)
{
    uint32_t whole = 0;
    uint32_t tenth = 0;
    if (!take_number(text, &whole) || whole > UINT32_MAX / 10 - 1) {
        return false;
    }
    *text = after(*text, ".");
    if (!take_number(text, &tenth) || tenth > 9) {
        return false;
    }
    *x10 = 10 * whole + tenth;
    return true;
}

/* "pass 3: ram 95.0 in, off centre 2.0 ft, sides apart 0.0 in, ran back 0.0 ft" */
static void
read_arrest(const char *word, struct tl_event event, struct tl_arrest *arrest)
{
    struct tl_arrest read = {.event.recovery_ms = event.recovery_ms};
    const char *at = after(word, "pass ");
    uint32_t *const figure[] = {&read.ram_in_x10, &read.off_centre_ft_x10, &read.apart_in_x10,
                                &read.walk_back_ft_x10};
    static const char *const before[] = {": ram ", " in, off centre ", " ft, sides apart ",
                                         " in, ran back "};
    bool good = take_number(&at, &read.event.pass);
    for (size_t i = 0; i < sizeof figure / sizeof figure[0] && good; i++) {
        at = after(at, before[i]);
        good = take_tenths(&at, figure[i]);
    }
    if (good) {
        *arrest = read;
    }
}

/* "override RULE at STATION for 5 min: REASON"; the station may be missing. */
static void
read_override(const char *word, uint32_t rule, struct tl_override *override)
{
    const struct tl_rule_row *row = tl_rule_row(rule);
    const char *at = after(word, "override ");
    uint32_t minutes = 0;
    override->rule = rule;
    at = after(at, row != NULL ? row->name : "?");
    const char *station = after(at, " at ");
    if (station != NULL) {
        size_t len = strcspn(station, " ");
        (void)snprintf(override->station, sizeof override->station, "%.*s", (int)len, station);
        at = station + len;
    }
    at = after(at, " for ");
    if (take_number(&at, &minutes) && minutes <= UINT32_MAX / SECONDS_A_MINUTE) {
        const char *reason = after(at, " min: ");
        override->valid_s = minutes * SECONDS_A_MINUTE;
        (void)snprintf(override->reason, sizeof override->reason, "%.*s",
                       (int)sizeof override->reason - 1, reason != NULL ? reason : "");
    }
}

static void
read_name(const char *text, char *name, size_t cap)
{
    (void)snprintf(name, cap, "%.*s", (int)cap - 1, text != NULL ? text : "");
}

/* What primary and the platform say. */
static bool
read_flight(const struct tl_datum_row *row, struct tl_datum *datum)
{
    switch ((int)datum->kind) {
    case TL_DATUM_RECOVERY:
        datum->as.recovery.recovery_ms = row->number > 0 ? (uint64_t)row->number : 0;
        datum->as.recovery.state = (enum tl_recovery_state)small(row->state);
        datum->as.recovery.drill = strstr(row->word, "(DRILL)") != NULL;
        return true;
    case TL_DATUM_ORDER:
        datum->as.order.side = small(row->side);
        datum->as.order.weight_lb = small(row->weight_lb);
        datum->as.order.state = (enum tl_order_state)small(row->state);
        datum->as.order.barricade = strstr(row->word, "into the BARRICADE") != NULL;
        memcpy(datum->as.order.type, row->type, sizeof row->type);
        return true;
    case TL_DATUM_CALL:
        datum->as.call.side = small(row->side);
        datum->as.call.fuel_lb = small(row->fuel_lb);
        memcpy(datum->as.call.type, row->type, sizeof row->type);
        return true;
    case TL_DATUM_HOOK:
        datum->as.hook = (enum tl_hook_state)small(row->state);
        return true;
    case TL_DATUM_RESULT:
        datum->as.result.outcome = (enum tl_outcome)small(row->outcome);
        datum->as.result.wire = small(row->wire);
        return true;
    case TL_DATUM_INBOUND:
        datum->as.inbound.side = small(row->side);
        datum->as.inbound.weight_lb = small(row->weight_lb);
        datum->as.inbound.fuel_lb = small(row->fuel_lb);
        datum->as.inbound.diverted = strstr(row->word, ", DIVERTED") != NULL;
        memcpy(datum->as.inbound.type, row->type, sizeof row->type);
        return true;
    default:
        return false;
    }
}

/* What the deck edge, the deck, the tracks and the aid say. */
static bool
read_deck(const struct tl_datum_row *row, struct tl_datum *datum)
{
    switch ((int)datum->kind) {
    case TL_DATUM_DECK:
        datum->as.deck.state = (enum tl_deck_state)small(row->state);
        datum->as.deck.reason = (enum tl_foul_reason)small(row->number);
        return true;
    case TL_DATUM_RIG:
        datum->as.rig = (enum tl_rig_state)small(row->state);
        return true;
    case TL_DATUM_SHEAVE:
        datum->as.sheave.state = (enum tl_sheave_state)small(row->state);
        datum->as.sheave.bypassed = row->number > 0;
        return true;
    case TL_DATUM_PENDANT:
        datum->as.pendant.state = (enum tl_pendant_state)small(row->state);
        datum->as.pendant.low_in_x100 = small(row->number);
        return true;
    case TL_DATUM_FREE:
        datum->as.free.state = (enum tl_free_state)small(row->state);
        datum->as.free.wire = small(row->wire);
        return true;
    case TL_DATUM_RETRACT:
        datum->as.retract.state = (enum tl_retract_state)small(row->state);
        datum->as.retract.wire = small(row->wire);
        return true;
    case TL_DATUM_STANCHIONS:
        datum->as.stanchions = (enum tl_stanchion_state)small(row->state);
        return true;
    case TL_DATUM_TRACK:
        datum->as.track = (enum tl_track_state)small(row->state);
        return true;
    case TL_DATUM_AID:
        datum->as.aid.state = (enum tl_aid_state)small(row->state);
        memcpy(datum->as.aid.type, row->type, sizeof row->type);
        return true;
    default:
        return false;
    }
}

/* What an engine room and the gear officer say. */
static bool
read_gear(const struct tl_datum_row *row, struct tl_event event, struct tl_datum *datum)
{
    switch ((int)datum->kind) {
    case TL_DATUM_SET:
        datum->as.set_lb = small(row->number);
        return true;
    case TL_DATUM_REPEATER:
        datum->as.repeater_lb = small(row->number);
        return true;
    case TL_DATUM_BATTERY:
        datum->as.battery = (enum tl_battery_state)small(row->state);
        return true;
    case TL_DATUM_ACCUMULATOR:
        datum->as.accumulator_psi = small(row->number);
        return true;
    case TL_DATUM_BARRICADE:
        datum->as.barricade.state = (enum tl_barricade_state)small(row->state);
        return true;
    case TL_DATUM_SERVICE:
        datum->as.service.state = (enum tl_service_state)small(row->state);
        datum->as.service.job = small(row->number);
        return true;
    case TL_DATUM_FLUID:
        datum->as.fluid = (enum tl_fluid_state)small(row->state);
        return true;
    case TL_DATUM_FAULT:
        datum->as.fault.state = (enum tl_fault_state)small(row->state);
        datum->as.fault.code = small(row->number);
        return true;
    case TL_DATUM_ARREST:
        read_arrest(row->word, event, &datum->as.arrest);
        return true;
    case TL_DATUM_INSPECTED:
        datum->as.inspected.state = (enum tl_inspection_state)small(row->state);
        return true;
    default:
        return false;
    }
}

void
tl_datum_row_read(const struct tl_datum_row *row, struct tl_event event, struct tl_datum *datum)
{
    /* a word by voice begins with whom it is said for */
    const char *said = tl_datum_is_voice(datum) ? strstr(row->word, ": ") : NULL;
    struct tl_datum_row own = *row;
    own.word = said != NULL ? said + 2 : row->word;
    if (!datum->known || read_flight(&own, datum) || read_deck(&own, datum) ||
        read_gear(&own, event, datum)) {
        return;
    }
    if (datum->kind == TL_DATUM_WATCH) {
        read_name(after(own.word, "watch: "), datum->as.watch, sizeof datum->as.watch);
    } else if (datum->kind == TL_DATUM_ACKNOWLEDGED) {
        datum->as.instance = own.number > 0 ? (uint64_t)own.number : 0;
    } else if (datum->kind == TL_DATUM_OVERRIDE) {
        read_override(own.word, small(own.number), &datum->as.override);
    } else if (datum->kind == TL_DATUM_OUT_OF_SERVICE) {
        char *tail = NULL;
        read_name(own.word, datum->as.out_of_service, sizeof datum->as.out_of_service);
        tail = strchr(datum->as.out_of_service, ' ');
        if (tail != NULL) {
            *tail = '\0';
        }
    }
}
