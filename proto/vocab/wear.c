/* SPDX-License-Identifier: Apache-2.0 */
/* wear.c - see wear.h. */
#include "proto/vocab/wear.h"

#include <string.h>

enum {
    WITHOUT_BITS = 32
};

bool
tl_event_after(struct tl_event a, struct tl_event b)
{
    return a.recovery_ms > b.recovery_ms || (a.recovery_ms == b.recovery_ms && a.pass > b.pass);
}

bool
tl_serial_is_wellformed(const char *serial)
{
    size_t length = strnlen(serial, TL_SERIAL_CAP);
    bool good = length > 0 && length < TL_SERIAL_CAP && serial[0] >= 'A' && serial[0] <= 'Z';
    for (size_t i = 1; good && i < length; i++) {
        good = (serial[i] >= 'A' && serial[i] <= 'Z') || (serial[i] >= '0' && serial[i] <= '9') ||
               serial[i] == '-';
    }
    return good;
}

bool
tl_wear_same_serial(const struct tl_wear *a, const struct tl_wear *b)
{
    return strncmp(a->serial, b->serial, TL_SERIAL_CAP) == 0;
}

bool
tl_ended_same(const struct tl_ended *a, const struct tl_ended *b)
{
    return a->result.outcome == b->result.outcome && a->result.wire == b->result.wire &&
           a->barricade == b->barricade;
}

struct tl_wear *
tl_datum_wear_of(struct tl_datum *datum)
{
    if (datum->kind == TL_DATUM_PENDANT_LIFE) {
        return &datum->as.pendant_life;
    }
    return datum->kind == TL_DATUM_CABLE ? &datum->as.cable.wear : NULL;
}

const struct tl_wear *
tl_datum_wear(const struct tl_datum *datum)
{
    if (!datum->known) {
        return NULL;
    }
    if (datum->kind == TL_DATUM_PENDANT_LIFE) {
        return &datum->as.pendant_life;
    }
    return datum->kind == TL_DATUM_CABLE ? &datum->as.cable.wear : NULL;
}

bool
tl_counted_has(const struct tl_counted *counted, struct tl_event event)
{
    if (tl_event_after(event, counted->last)) {
        return false;
    }
    uint32_t before = counted->last.pass - event.pass;
    return event.recovery_ms != counted->last.recovery_ms || before >= WITHOUT_BITS ||
           (counted->without >> before & 1u) == 0;
}

/* ---- what an end did to the gear ---- */

static const struct tl_engine_gear *
engine_at(const struct tl_gear *gear, enum tl_datum_kind kind, uint32_t slot)
{
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        const struct tl_engine_gear *engine = &gear->engine[i];
        if ((kind == TL_DATUM_CABLE ? engine->unit : engine->wire) == slot) {
            return engine;
        }
    }
    return NULL;
}

static bool
is_off_for_barricade(const struct tl_gear *gear, uint32_t wire)
{
    return gear->barricade.unit != 0 && (gear->barricade.strip >> wire & 1u) != 0;
}

bool
tl_ended_loads(const struct tl_gear *gear, const struct tl_ended *ended, enum tl_datum_kind kind,
               uint32_t slot)
{
    const struct tl_engine_gear *engine = engine_at(gear, kind, slot);
    if (engine == NULL || ended->result.outcome != TL_OUTCOME_TRAP) {
        return false;
    }
    if (kind == TL_DATUM_PENDANT_LIFE && ended->barricade &&
        is_off_for_barricade(gear, engine->wire)) {
        return false;
    }
    return ended->result.wire == engine->wire || !tl_gear_has_wire(gear, ended->result.wire);
}

/* ---- the ends ---- */

/* Place of that event, or where it belongs. */
static uint32_t
place_of(const struct tl_ends *ends, struct tl_event event)
{
    uint32_t at = ends->count;
    while (at > 0 && !tl_event_after(event, ends->end[at - 1].ended.event)) {
        at--;
    }
    return at;
}

const struct tl_end *
tl_ends_find(const struct tl_ends *ends, struct tl_event event)
{
    uint32_t at = place_of(ends, event);
    bool there = at < ends->count && tl_event_equal(ends->end[at].ended.event, event);
    return there ? &ends->end[at] : NULL;
}

/* A trap on a wire that the ship does not have was on each. */
static uint32_t
wires_of(const struct tl_gear *gear, const struct tl_ended *ended)
{
    uint32_t wires = 0;
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        uint32_t wire = gear->engine[i].wire;
        bool on = tl_ended_loads(gear, ended, TL_DATUM_CABLE, gear->engine[i].unit);
        wires |= on ? 1u << wire : 0;
    }
    return wires;
}

static void
let_go(struct tl_ends *ends, const struct tl_gear *gear, const struct tl_ended *gone)
{
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        const struct tl_engine_gear *engine = &gear->engine[i];
        if (tl_ended_loads(gear, gone, TL_DATUM_PENDANT_LIFE, engine->wire)) {
            ends->gone_pendant[i] = gone->event;
        }
        if (tl_ended_loads(gear, gone, TL_DATUM_CABLE, engine->unit)) {
            ends->gone_cable[i] = gone->event;
        }
    }
    ends->below = gone->event;
}

/* There is no such end, and it is not too low. */
static void
insert(struct tl_ends *ends, const struct tl_gear *gear, const struct tl_ended *ended,
       struct tl_ended *gone)
{
    uint32_t at = place_of(ends, ended->event);
    if (ends->count == TL_ENDED_MAX) {
        *gone = at == 0 ? *ended : ends->end[0].ended;
        let_go(ends, gear, gone);
        if (at == 0) {
            return;
        }
        at--;
        ends->count--;
        memmove(&ends->end[0], &ends->end[1], ends->count * sizeof ends->end[0]);
    }
    memmove(&ends->end[at + 1], &ends->end[at], (ends->count - at) * sizeof ends->end[0]);
    ends->end[at] = (struct tl_end){.ended = *ended};
    ends->count++;
}

bool
tl_ends_take(struct tl_ends *ends, const struct tl_gear *gear, const struct tl_ended *ended,
             struct tl_ended *gone)
{
    uint32_t at = place_of(ends, ended->event);
    *gone = (struct tl_ended){0};
    if (at < ends->count && tl_event_equal(ends->end[at].ended.event, ended->event)) {
        struct tl_end *end = &ends->end[at];
        if (tl_ended_same(&end->ended, ended)) {
            return false;
        }
        end->wires_before |= wires_of(gear, &end->ended);
        end->ended = *ended;
        return true;
    }
    if (!tl_event_after(ended->event, ends->below)) {
        return false;
    }
    insert(ends, gear, ended, gone);
    return true;
}

void
tl_ends_drop_recovery(struct tl_ends *ends, uint64_t recovery_ms)
{
    uint32_t kept = 0;
    for (uint32_t i = 0; i < ends->count; i++) {
        if (ends->end[i].ended.event.recovery_ms != recovery_ms) {
            ends->end[kept++] = ends->end[i];
        }
    }
    ends->count = kept;
}

uint32_t
tl_ends_not_in(const struct tl_ends *ends, const struct tl_gear *gear, enum tl_datum_kind kind,
               uint32_t slot, const struct tl_counted *counted)
{
    uint32_t loads = 0;
    for (uint32_t i = 0; i < ends->count; i++) {
        const struct tl_ended *ended = &ends->end[i].ended;
        bool more =
            !tl_counted_has(counted, ended->event) && tl_ended_loads(gear, ended, kind, slot);
        loads += more ? 1 : 0;
    }
    return loads;
}

uint32_t
tl_ends_corrected(const struct tl_ends *ends, const struct tl_gear *gear, enum tl_datum_kind kind,
                  uint32_t slot, const struct tl_counted *counted)
{
    const struct tl_engine_gear *engine = engine_at(gear, kind, slot);
    uint32_t corrected = 0;
    for (uint32_t i = 0; engine != NULL && i < ends->count; i++) {
        const struct tl_end *end = &ends->end[i];
        bool was = (end->wires_before >> engine->wire & 1u) != 0;
        bool less = was && tl_counted_has(counted, end->ended.event) &&
                    !tl_ended_loads(gear, &end->ended, kind, slot);
        corrected += less ? 1 : 0;
    }
    return corrected;
}

bool
tl_ends_suffice(const struct tl_ends *ends, const struct tl_gear *gear, enum tl_datum_kind kind,
                uint32_t slot, const struct tl_counted *counted)
{
    const struct tl_engine_gear *engine = engine_at(gear, kind, slot);
    struct tl_event gone = {0};
    if (engine != NULL) {
        size_t at = (size_t)(engine - gear->engine);
        gone = kind == TL_DATUM_CABLE ? ends->gone_cable[at] : ends->gone_pendant[at];
    }
    return !tl_event_is(gone) || tl_counted_has(counted, gone);
}

struct tl_counted
tl_ends_counted(const struct tl_ends *ends, const struct tl_gear *gear, enum tl_datum_kind kind,
                uint32_t slot, const struct tl_counted *base)
{
    struct tl_counted counted = {.last = base->last};
    if (ends->count > 0 && tl_event_after(ends->end[ends->count - 1].ended.event, base->last)) {
        counted.last = ends->end[ends->count - 1].ended.event;
    }
    for (uint32_t n = 0; n < WITHOUT_BITS && n < counted.last.pass; n++) {
        struct tl_event event = {counted.last.recovery_ms, counted.last.pass - n};
        const struct tl_end *end = tl_ends_find(ends, event);
        bool in = tl_counted_has(base, event) || !tl_event_after(event, ends->below) ||
                  (end != NULL && tl_ended_loads(gear, &end->ended, kind, slot));
        counted.without |= in ? 0 : 1u << n;
    }
    return counted;
}

void
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): due comes before the last */
tl_detorque_bounds(const struct tl_gear_limits *limits, uint32_t detorqued_at, uint32_t *due,
                   uint32_t *last)
{
    bool first = detorqued_at == 0;
    *due = first ? limits->detorque_first : detorqued_at + limits->detorque_every;
    *last = first ? limits->detorque_first_limit : *due;
}

uint32_t
tl_tally_traps(const struct tl_tally *tally, const struct tl_ends *ends, const struct tl_gear *gear,
               enum tl_datum_kind kind, uint32_t slot)
{
    return tally->known
               ? tally->base.traps + tl_ends_not_in(ends, gear, kind, slot, &tally->base.counted)
               : 0;
}

void
tl_tally_let_go(struct tl_tally *tally, const struct tl_gear *gear, enum tl_datum_kind kind,
                uint32_t slot, const struct tl_ended *gone)
{
    bool load = tally->known && tl_event_is(gone->event) &&
                !tl_counted_has(&tally->base.counted, gone->event) &&
                tl_ended_loads(gear, gone, kind, slot);
    tally->base.traps += load ? 1 : 0;
}
