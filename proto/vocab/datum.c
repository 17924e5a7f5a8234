/* SPDX-License-Identifier: Apache-2.0 */
/* datum.c - see datum.h. */
#include "proto/vocab/datum.h"

#include <string.h>

bool
tl_event_equal(struct tl_event a, struct tl_event b)
{
    return a.recovery_ms == b.recovery_ms && a.pass == b.pass;
}

bool
tl_event_is(struct tl_event event)
{
    return event.pass != 0;
}

const char *
tl_datum_kind_name(enum tl_datum_kind kind)
{
    static const char *const NAMES[TL_DATUM_KINDS] = {
        [TL_DATUM_UNKNOWN] = "nothing",   [TL_DATUM_RECOVERY] = "recovery",
        [TL_DATUM_ORDER] = "order",       [TL_DATUM_SET] = "set",
        [TL_DATUM_REPEATER] = "repeater", [TL_DATUM_BATTERY] = "battery",
        [TL_DATUM_DECK] = "deck",         [TL_DATUM_CALL] = "call",
        [TL_DATUM_HOOK] = "hook",         [TL_DATUM_RESULT] = "result",
        [TL_DATUM_INBOUND] = "inbound",
    };
    return (unsigned)kind < TL_DATUM_KINDS ? NAMES[kind] : NAMES[TL_DATUM_UNKNOWN];
}

enum tl_cadence
tl_datum_cadence(enum tl_datum_kind kind)
{
    switch (kind) {
    case TL_DATUM_BATTERY:
    case TL_DATUM_CALL:
    case TL_DATUM_HOOK:
        return TL_CADENCE_EVENT;
    case TL_DATUM_SET:
    case TL_DATUM_REPEATER:
        return TL_CADENCE_EVENT_CARRIED;
    case TL_DATUM_DECK: /* CLEAR only, see tl_datum_is_event_word */
        return TL_CADENCE_EVENT;
    case TL_DATUM_RECOVERY:
    case TL_DATUM_ORDER:
    case TL_DATUM_RESULT:
    case TL_DATUM_INBOUND:
        return TL_CADENCE_UNTIL_CHANGED;
    case TL_DATUM_UNKNOWN:
    case TL_DATUM_KINDS:
        break;
    }
    return TL_CADENCE_UNKNOWN;
}

bool
tl_datum_is_safeward(const struct tl_datum *datum)
{
    if (!datum->known) {
        return true;
    }
    switch (datum->kind) {
    case TL_DATUM_RECOVERY:
        return datum->as.recovery.state != TL_RECOVERY_OPEN;
    case TL_DATUM_ORDER:
        return datum->as.order.state != TL_ORDER_ORDERED;
    case TL_DATUM_BATTERY:
        return datum->as.battery != TL_BATTERY_IN;
    case TL_DATUM_DECK:
        return datum->as.deck.state != TL_DECK_CLEAR && datum->as.deck.state != TL_DECK_NO_FOUL;
    case TL_DATUM_HOOK:
        return datum->as.hook != TL_HOOK_DOWN;
    case TL_DATUM_RESULT:
        return true;
    case TL_DATUM_SET:
    case TL_DATUM_REPEATER:
    case TL_DATUM_CALL:
    case TL_DATUM_INBOUND:
        return false;
    case TL_DATUM_UNKNOWN:
    case TL_DATUM_KINDS:
        break;
    }
    return true;
}

bool
tl_datum_is_event_word(const struct tl_datum *datum)
{
    return datum->known && tl_datum_cadence(datum->kind) == TL_CADENCE_EVENT &&
           !tl_datum_is_safeward(datum) &&
           !(datum->kind == TL_DATUM_DECK && datum->as.deck.state == TL_DECK_NO_FOUL);
}

bool
tl_datum_needs_confirm(const struct tl_datum *datum)
{
    return !tl_datum_is_safeward(datum);
}

bool
tl_datum_same_name(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->kind == b->kind && a->slot == b->slot;
}

static bool
same_type(const char *a, const char *b)
{
    return strncmp(a, b, TL_TYPE_CAP) == 0;
}

static bool
same_value(const struct tl_datum *a, const struct tl_datum *b)
{
    switch (a->kind) {
    case TL_DATUM_RECOVERY:
        return a->as.recovery.recovery_ms == b->as.recovery.recovery_ms &&
               a->as.recovery.state == b->as.recovery.state &&
               a->as.recovery.drill == b->as.recovery.drill;
    case TL_DATUM_ORDER:
        return a->as.order.side == b->as.order.side &&
               same_type(a->as.order.type, b->as.order.type) &&
               a->as.order.weight_lb == b->as.order.weight_lb &&
               a->as.order.place == b->as.order.place && a->as.order.state == b->as.order.state;
    case TL_DATUM_SET:
        return a->as.set_lb == b->as.set_lb;
    case TL_DATUM_REPEATER:
        return a->as.repeater_lb == b->as.repeater_lb;
    case TL_DATUM_BATTERY:
        return a->as.battery == b->as.battery;
    case TL_DATUM_DECK:
        return a->as.deck.state == b->as.deck.state && a->as.deck.reason == b->as.deck.reason &&
               a->as.deck.expect_s == b->as.deck.expect_s &&
               a->as.deck.was_clear == b->as.deck.was_clear;
    case TL_DATUM_CALL:
        return a->as.call.side == b->as.call.side && same_type(a->as.call.type, b->as.call.type) &&
               a->as.call.fuel_lb == b->as.call.fuel_lb;
    case TL_DATUM_HOOK:
        return a->as.hook == b->as.hook;
    case TL_DATUM_RESULT:
        return a->as.result.outcome == b->as.result.outcome &&
               a->as.result.wire == b->as.result.wire;
    case TL_DATUM_INBOUND:
        return a->as.inbound.side == b->as.inbound.side &&
               same_type(a->as.inbound.type, b->as.inbound.type) &&
               a->as.inbound.weight_lb == b->as.inbound.weight_lb &&
               a->as.inbound.fuel_lb == b->as.inbound.fuel_lb;
    case TL_DATUM_UNKNOWN:
    case TL_DATUM_KINDS:
        break;
    }
    return false;
}

bool
tl_datum_equal(const struct tl_datum *a, const struct tl_datum *b)
{
    if (!tl_datum_same_name(a, b) || a->known != b->known ||
        a->stated_for_count != b->stated_for_count) {
        return false;
    }
    for (uint32_t i = 0; i < a->stated_for_count; i++) {
        if (!tl_event_equal(a->stated_for[i], b->stated_for[i])) {
            return false;
        }
    }
    return !a->known || same_value(a, b);
}

bool
tl_datum_same_value(const struct tl_datum *a, const struct tl_datum *b)
{
    return tl_datum_same_name(a, b) && a->known && b->known && same_value(a, b);
}

bool
tl_datum_is_for(const struct tl_datum *datum, struct tl_event event)
{
    for (uint32_t i = 0; i < datum->stated_for_count; i++) {
        if (tl_event_equal(datum->stated_for[i], event)) {
            return true;
        }
    }
    return false;
}

void
tl_datum_make_unknown(struct tl_datum *datum, uint64_t sequence)
{
    enum tl_datum_kind kind = datum->kind;
    uint32_t slot = datum->slot;
    memset(datum, 0, sizeof *datum);
    datum->kind = kind;
    datum->slot = slot;
    datum->sequence = sequence;
}

const struct tl_datum *
tl_data_find_const(const struct tl_datum *data, size_t count, enum tl_datum_kind kind,
                   uint32_t slot)
{
    for (size_t i = 0; i < count; i++) {
        if (data[i].kind == kind && data[i].slot == slot) {
            return &data[i];
        }
    }
    return NULL;
}

struct tl_datum *
tl_data_find(struct tl_datum *data, size_t count, enum tl_datum_kind kind, uint32_t slot)
{
    for (size_t i = 0; i < count; i++) {
        if (data[i].kind == kind && data[i].slot == slot) {
            return &data[i];
        }
    }
    return NULL;
}
