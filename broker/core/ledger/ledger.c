/* SPDX-License-Identifier: Apache-2.0 */
/* ledger.c - see ledger.h: what each change of the record does; loads.c weighs and sums. */
#include "broker/core/ledger/ledger.h"

#include <string.h>

#include "broker/core/ledger/ledger_internal.h"

void
tl_ledger_init(struct tl_ledger *ledger, const struct tl_config *config)
{
    memset(ledger, 0, sizeof *ledger);
    ledger->config = config;
    for (uint32_t i = 0; i < config->gear.engine_count; i++) {
        ledger->fit[ledger->fit_count++] =
            (struct tl_fit){.kind = TL_DATUM_PENDANT_LIFE, .slot = config->gear.engine[i].wire};
    }
    for (uint32_t i = 0; i < config->gear.engine_count; i++) {
        ledger->fit[ledger->fit_count++] =
            (struct tl_fit){.kind = TL_DATUM_CABLE, .slot = config->gear.engine[i].unit};
    }
}

/* ---- recoveries, orders, settings ---- */

static bool
is_drill(const struct tl_ledger *ledger, uint64_t recovery_ms)
{
    for (uint32_t i = 0; i < TL_LEDGER_RECOVERIES; i++) {
        if (ledger->recovery[i].recovery_ms == recovery_ms) {
            return ledger->recovery[i].drill;
        }
    }
    return false;
}

static void
take_recovery(struct tl_ledger *ledger, const struct tl_recovery *recovery)
{
    struct tl_ledger_recovery *place = NULL;
    for (uint32_t i = 0; i < TL_LEDGER_RECOVERIES; i++) {
        if (ledger->recovery[i].recovery_ms == recovery->recovery_ms) {
            place = &ledger->recovery[i];
        }
    }
    if (place == NULL) {
        place = &ledger->recovery[ledger->recovery_next++ % (uint32_t)TL_LEDGER_RECOVERIES];
    }
    *place = (struct tl_ledger_recovery){recovery->recovery_ms, recovery->drill,
                                         recovery->state == TL_RECOVERY_CLOSED};
    if (recovery->recovery_ms > ledger->newest_recovery_ms) {
        ledger->newest_recovery_ms = recovery->recovery_ms;
    }
    if (recovery->drill) { /* its results may have come before this word */
        tl_ends_drop_recovery(&ledger->ends, recovery->recovery_ms);
    }
}

static struct tl_event *
barricade_of(struct tl_ledger *ledger, struct tl_event event)
{
    for (uint32_t i = 0; i < TL_ENDED_MAX; i++) {
        if (tl_event_equal(ledger->barricade[i], event)) {
            return &ledger->barricade[i];
        }
    }
    return NULL;
}

static void
take_end(struct tl_ledger *ledger, const struct tl_ended *ended)
{
    struct tl_ended gone;
    (void)tl_ends_take(&ledger->ends, &ledger->config->gear, ended, &gone);
    if (tl_event_is(gone.event)) {
        tl_ledger_let_go(ledger, &gone);
    }
}

static void
take_order(struct tl_ledger *ledger, struct tl_event event, const struct tl_order *order)
{
    struct tl_event *place = barricade_of(ledger, event);
    const struct tl_end *end = tl_ends_find(&ledger->ends, event);
    if (order->barricade && place == NULL) {
        place = &ledger->barricade[ledger->barricade_next++ % (uint32_t)TL_ENDED_MAX];
    }
    if (place != NULL) {
        *place = order->barricade ? event : (struct tl_event){0};
    }
    if (end != NULL) {
        struct tl_ended ended = end->ended;
        ended.barricade = order->barricade;
        take_end(ledger, &ended);
    }
}

/* Said before another word of the same station that is known. */
static bool
is_older(const struct tl_entry *entry, uint64_t incarnation, uint64_t sequence)
{
    return entry->incarnation < incarnation ||
           (entry->incarnation == incarnation && entry->sequence <= sequence);
}

static void
take_set(struct tl_ledger *ledger, const struct tl_node *room, const struct tl_entry *entry)
{
    const struct tl_gear *gear = &ledger->config->gear;
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        struct tl_ledger_set *set = &ledger->set[i];
        bool older = strncmp(set->node, entry->node, TL_ID_CAP) == 0 &&
                     is_older(entry, set->incarnation, set->sequence);
        if (gear->engine[i].unit == room->unit && !older) {
            set->lb = entry->datum->known ? entry->datum->as.set_lb : 0;
            memcpy(set->node, entry->node, TL_ID_CAP);
            set->incarnation = entry->incarnation;
            set->sequence = entry->sequence;
        }
    }
}

static void
take_inspected(struct tl_ledger *ledger, const struct tl_entry *entry)
{
    const struct tl_datum *datum = entry->datum;
    const struct tl_engine_gear *engine = tl_config_engine(ledger->config, datum->slot);
    const struct tl_counted none = {0};
    for (uint32_t i = 0; i < ledger->fit_count; i++) {
        struct tl_fit *fit = &ledger->fit[i];
        uint32_t slot = fit->kind == TL_DATUM_CABLE ? engine->unit : engine->wire;
        bool older = is_older(entry, fit->inspected_incarnation, fit->inspected_sequence);
        if (fit->slot == slot && datum->as.inspected.state == TL_INSPECTION_GOOD && !older) {
            fit->inspected =
                tl_ends_counted(&ledger->ends, &ledger->config->gear, fit->kind, fit->slot, &none);
            fit->inspected_incarnation = entry->incarnation;
            fit->inspected_sequence = entry->sequence;
            fit->inspected_once = true;
            fit->uninspected_gone = false;
        }
    }
}

/* ---- how passes ended ---- */

/* The platform's own word goes before one by voice, and its later word before an earlier one. */
static bool
is_newest_word(struct tl_ledger *ledger, struct tl_event event, const struct tl_entry *entry)
{
    bool voice = tl_datum_is_voice(entry->datum);
    struct tl_end_stated *place = NULL;
    for (uint32_t i = 0; i < TL_ENDED_MAX; i++) {
        if (tl_event_equal(ledger->stated[i].event, event)) {
            place = &ledger->stated[i];
        }
    }
    if (place == NULL) {
        place = &ledger->stated[ledger->stated_next++ % (uint32_t)TL_ENDED_MAX];
    } else if (voice != place->voice) {
        if (voice) {
            return false;
        }
    } else if (!voice && is_older(entry, place->incarnation, place->sequence)) {
        return false;
    }
    *place = (struct tl_end_stated){event, voice, entry->incarnation, entry->sequence};
    return true;
}

static void
take_result(struct tl_ledger *ledger, const struct tl_entry *entry)
{
    struct tl_event event = entry->datum->stated_for[0];
    bool of_its_event = entry->datum->stated_for_count == 1 && event.pass == entry->datum->slot;
    if (!of_its_event || is_drill(ledger, event.recovery_ms) ||
        !is_newest_word(ledger, event, entry)) {
        return;
    }
    struct tl_ended ended = {.event = event,
                             .result = entry->datum->as.result,
                             .barricade = barricade_of(ledger, event) != NULL};
    tl_ledger_note_loads(ledger, event);
    take_end(ledger, &ended);
}

/* ---- what was keyed of a pendant or a cable ---- */

static const struct tl_fit *
removed_with(const struct tl_ledger *ledger, enum tl_datum_kind kind, const struct tl_wear *wear)
{
    for (uint32_t i = ledger->removed_count; wear->serial[0] != '\0' && i > 0; i--) {
        const struct tl_fit *fit = &ledger->removed[i - 1];
        if (fit->kind == kind && tl_wear_same_serial(&fit->tally.base, wear)) {
            return fit;
        }
    }
    return NULL;
}

/* The fit is over: what it had comes to a number. */
static void
end_fit(struct tl_ledger *ledger, const struct tl_fit *fit, uint64_t wall_ms)
{
    struct tl_fit over = *fit;
    over.tally.base.traps = tl_fit_traps(ledger, fit);
    over.base_ppm = tl_fit_weighted_ppm(ledger, fit);
    over.base_unweighed = tl_fit_unweighed(ledger, fit);
    over.removed_ms = wall_ms != 0 ? wall_ms : 1;
    if (ledger->removed_count == TL_LEDGER_REMOVED) {
        memmove(&ledger->removed[0], &ledger->removed[1],
                (TL_LEDGER_REMOVED - 1) * sizeof ledger->removed[0]);
        ledger->removed_count--;
    }
    ledger->removed[ledger->removed_count++] = over;
    if (ledger->ended != NULL) {
        ledger->ended(ledger->ctx, &over);
    }
}

static uint32_t
traps_of_word(const struct tl_ledger *ledger, const struct tl_fit *fit, const struct tl_wear *wear)
{
    return wear->traps + tl_ends_not_in(&ledger->ends, &ledger->config->gear, fit->kind, fit->slot,
                                        &wear->counted);
}

/* Another one is there from now on; one that was there before has not lost its traps meanwhile. */
static void
begin_fit(struct tl_ledger *ledger, struct tl_fit *fit, const struct tl_wear *wear,
          uint64_t wall_ms)
{
    const struct tl_fit *was = removed_with(ledger, fit->kind, wear);
    bool replaces = fit->tally.known; /* what is there now has not been inspected */
    struct tl_fit next = {.kind = fit->kind,
                          .slot = fit->slot,
                          .tally = {.known = true, .base = *wear},
                          .fitted_ms = replaces || wear->traps == 0 ? wall_ms : 0,
                          .inspected = fit->inspected,
                          .inspected_once = fit->inspected_once && !replaces,
                          .inspected_incarnation = fit->inspected_incarnation,
                          .inspected_sequence = fit->inspected_sequence,
                          .stated = fit->stated,
                          .said = fit->said,
                          .said_ms = fit->said_ms,
                          .said_incarnation = fit->said_incarnation,
                          .said_sequence = fit->said_sequence};
    uint32_t known = was != NULL ? was->tally.base.traps : 0;
    uint32_t more = wear->traps > known ? wear->traps - known : 0;
    next.tally.base.traps = known + more;
    next.base_ppm = (was != NULL ? was->base_ppm : 0) + 1000000ull * more;
    next.base_unweighed = (was != NULL ? was->base_unweighed : 0) + more;
    if (replaces) {
        end_fit(ledger, fit, wall_ms);
    }
    *fit = next;
}

/* The book again, of what is there: what it has more than was counted is traps of unknown load. */
static void
rebase(struct tl_ledger *ledger, struct tl_fit *fit, const struct tl_wear *wear)
{
    uint32_t counted = tl_fit_traps(ledger, fit);
    uint32_t says = traps_of_word(ledger, fit, wear);
    struct tl_sum since_base = tl_ledger_sum(ledger, fit, &fit->tally.base.counted);
    struct tl_sum since_word = tl_ledger_sum(ledger, fit, &wear->counted);
    uint32_t more = says > counted ? says - counted : 0;
    uint64_t ppm = fit->base_ppm + since_base.ppm + 1000000ull * more;
    uint32_t unweighed = fit->base_unweighed + since_base.unweighed + more;
    char serial[TL_SERIAL_CAP];
    memcpy(serial, wear->serial[0] != '\0' ? wear->serial : fit->tally.base.serial, TL_SERIAL_CAP);
    fit->base_ppm = ppm > since_word.ppm ? ppm - since_word.ppm : 0;
    fit->base_unweighed = unweighed > since_word.unweighed ? unweighed - since_word.unweighed : 0;
    fit->tally.base = *wear;
    memcpy(fit->tally.base.serial, serial, TL_SERIAL_CAP);
}

/* A serial that is another one than that of the fit: not the first name of what is there. */
static bool
is_of_another(const struct tl_ledger *ledger, const struct tl_fit *fit, const struct tl_wear *wear)
{
    if (wear->serial[0] == '\0' || tl_wear_same_serial(wear, &fit->tally.base)) {
        return false;
    }
    bool first_name = fit->tally.base.serial[0] == '\0';
    return !first_name || traps_of_word(ledger, fit, wear) < tl_fit_traps(ledger, fit);
}

enum keyed {
    KEYED_LOWER = 0, /* and no base */
    KEYED_BASE,
    KEYED_ANOTHER /* it is of another fit */
};

static enum keyed
take_keyed(struct tl_ledger *ledger, struct tl_fit *fit, const struct tl_wear *said,
           uint64_t wall_ms)
{
    struct tl_wear wear = *said;
    const struct tl_counted none = {0};
    wear.moved = false;
    if (!tl_event_is(wear.counted.last)) { /* it says nothing of passes: of all that are known */
        wear.counted =
            tl_ends_counted(&ledger->ends, &ledger->config->gear, fit->kind, fit->slot, &none);
    }
    if (!fit->tally.known || is_of_another(ledger, fit, &wear)) {
        bool another = fit->tally.known;
        begin_fit(ledger, fit, &wear, wall_ms);
        return another ? KEYED_ANOTHER : KEYED_BASE;
    }
    if (traps_of_word(ledger, fit, &wear) < tl_fit_traps(ledger, fit)) {
        return KEYED_LOWER;
    }
    rebase(ledger, fit, &wear);
    return KEYED_BASE;
}

/* The newest of that place that was taken off is there again; others may have been since. */
static void
put_back(struct tl_ledger *ledger, const struct tl_fit *fit)
{
    for (uint32_t i = ledger->removed_count; i > 0; i--) {
        struct tl_fit *removed = &ledger->removed[i - 1];
        if (removed->kind == fit->kind && removed->slot == fit->slot) {
            ledger->removed_count--;
            memmove(removed, removed + 1, (ledger->removed_count - (i - 1)) * sizeof *removed);
            break;
        }
    }
    if (ledger->goes_on != NULL) {
        ledger->goes_on(ledger->ctx, fit);
    }
}

static void
undo(struct tl_ledger *ledger, uint32_t place)
{
    struct tl_undo *undo = &ledger->undo[place];
    struct tl_fit *fit = &ledger->fit[place];
    if (undo->replaced) {
        put_back(ledger, &undo->before);
    }
    undo->before.said = fit->said;
    undo->before.said_ms = fit->said_ms;
    undo->before.said_incarnation = fit->said_incarnation;
    undo->before.said_sequence = fit->said_sequence;
    undo->before.stated = false;
    undo->before.inspected = fit->inspected;
    undo->before.inspected_once = fit->inspected_once || undo->before.inspected_once;
    undo->before.inspected_incarnation = fit->inspected_incarnation;
    undo->before.inspected_sequence = fit->inspected_sequence;
    *fit = undo->before;
    undo->open = false;
}

/* Taken back before any validator is known to have applied it: it was not answered in time. */
static void
take_unknown(struct tl_ledger *ledger, uint32_t place, const struct tl_entry *entry)
{
    struct tl_undo *last = &ledger->undo[place];
    ledger->fit[place].stated = false;
    if (last->open && !last->applied && entry->incarnation == last->incarnation &&
        entry->sequence > last->sequence &&
        entry->wall_ms <= last->wall_ms + TL_LEDGER_WITHDRAWN_MS) {
        undo(ledger, place);
    }
    last->open = false;
}

static void
take_word(struct tl_ledger *ledger, uint32_t place, const struct tl_entry *entry)
{
    struct tl_fit *fit = &ledger->fit[place];
    const struct tl_wear *wear = tl_datum_wear(entry->datum);
    bool voice = tl_datum_is_voice(entry->datum);
    if (!voice && is_older(entry, fit->said_incarnation, fit->said_sequence)) {
        return; /* taken from another record, or the slower bus brought it */
    }
    if (!voice) {
        fit->said_incarnation = entry->incarnation;
        fit->said_sequence = entry->sequence;
    }
    if (wear == NULL) {
        take_unknown(ledger, place, entry);
        return;
    }
    struct tl_undo saved = {.open = true,
                            .applied = entry->applied,
                            .incarnation = entry->incarnation,
                            .sequence = entry->sequence,
                            .wall_ms = entry->wall_ms,
                            .before = *fit};
    memcpy(saved.node, entry->node, TL_ID_CAP);
    bool other = wear->serial[0] != '\0' && !tl_wear_same_serial(wear, &fit->tally.base);
    fit->stated = true;
    fit->said = *wear;
    fit->said_ms = entry->wall_ms;
    if (wear->moved && fit->tally.known && !other) {
        return;
    }
    enum keyed keyed = take_keyed(ledger, fit, wear, entry->wall_ms);
    if (keyed == KEYED_LOWER) {
        return;
    }
    saved.replaced = keyed == KEYED_ANOTHER;
    if (fit->kind == TL_DATUM_CABLE) {
        fit->detorqued_at = entry->datum->as.cable.detorqued_at;
    }
    ledger->undo[place] = saved;
}

/* By voice it counts when a second station has said the same. */
static void
take_voice(struct tl_ledger *ledger, uint32_t place, const struct tl_entry *entry)
{
    struct tl_signed_wear *first = &ledger->signed_by_one[place];
    bool second = first->said_by[0] != '\0' &&
                  strncmp(first->said_by, entry->node, TL_ID_CAP) != 0 &&
                  tl_datum_same_value(&first->datum, entry->datum);
    if (entry->refused) {
        return;
    }
    if (second) {
        struct tl_entry both = *entry;
        both.applied = true;
        take_word(ledger, place, &both);
        first->said_by[0] = '\0';
    } else if (entry->datum->known) {
        first->datum = *entry->datum;
        memcpy(first->said_by, entry->node, TL_ID_CAP);
    } else if (strncmp(first->said_by, entry->node, TL_ID_CAP) == 0) {
        first->said_by[0] = '\0';
    }
}

static bool
is_word_of(const struct tl_undo *last, const char *node, uint64_t incarnation, uint64_t sequence)
{
    return strncmp(last->node, node, TL_ID_CAP) == 0 && last->incarnation == incarnation &&
           last->sequence == sequence;
}

/*
 * It stands no longer; what it did is undone, when it did anything. `its`: the station that keeps
 * the counts said it, else another by voice.
 */
static void
refuse(struct tl_ledger *ledger, const struct tl_judged *judged, bool its)
{
    for (uint32_t i = 0; i < ledger->fit_count; i++) {
        struct tl_fit *fit = &ledger->fit[i];
        struct tl_signed_wear *first = &ledger->signed_by_one[i];
        if (its && fit->said_incarnation == judged->incarnation &&
            fit->said_sequence == judged->sequence) {
            fit->stated = false;
        }
        if (strncmp(first->said_by, judged->node, TL_ID_CAP) == 0 &&
            first->datum.sequence == judged->sequence) {
            first->said_by[0] = '\0';
        }
        if (ledger->undo[i].open &&
            is_word_of(&ledger->undo[i], judged->node, judged->incarnation, judged->sequence)) {
            undo(ledger, i);
        }
    }
}

static void
take_wear(struct tl_ledger *ledger, const struct tl_entry *entry)
{
    for (uint32_t i = 0; i < ledger->fit_count; i++) {
        if (ledger->fit[i].kind != entry->datum->kind ||
            ledger->fit[i].slot != entry->datum->slot) {
            continue;
        }
        if (tl_datum_is_voice(entry->datum)) {
            take_voice(ledger, i, entry);
        } else {
            take_word(ledger, i, entry);
        }
    }
    if (entry->refused && !tl_datum_is_voice(entry->datum)) {
        struct tl_judged judged = {.incarnation = entry->incarnation, .sequence = entry->sequence};
        memcpy(judged.node, entry->node, TL_ID_CAP);
        refuse(ledger, &judged, true);
    }
}

void
tl_ledger_change(struct tl_ledger *ledger, const struct tl_entry *entry)
{
    const struct tl_datum *datum = entry->datum;
    const struct tl_node *node = tl_config_node(ledger->config, entry->node);
    const struct tl_node *of =
        tl_datum_is_voice(datum) ? tl_config_node(ledger->config, datum->voice_for) : node;
    if (node == NULL || !tl_config_may_state(ledger->config, node, datum)) {
        return;
    }
    switch ((int)datum->kind) {
    case TL_DATUM_RECOVERY:
        if (datum->known) {
            take_recovery(ledger, &datum->as.recovery);
        }
        break;
    case TL_DATUM_ORDER:
        if (datum->known && datum->stated_for_count == 1) {
            take_order(ledger, datum->stated_for[0], &datum->as.order);
        }
        break;
    case TL_DATUM_SET:
        take_set(ledger, of, entry);
        break;
    case TL_DATUM_RESULT:
        if (datum->known) {
            take_result(ledger, entry);
        }
        break;
    case TL_DATUM_INSPECTED:
        if (datum->known) {
            take_inspected(ledger, entry);
        }
        break;
    case TL_DATUM_PENDANT_LIFE:
    case TL_DATUM_CABLE:
        take_wear(ledger, entry);
        break;
    default:
        break;
    }
}

void
tl_ledger_judged(struct tl_ledger *ledger, const struct tl_judged *judged)
{
    const struct tl_node *officer = tl_config_station(ledger->config, TL_STATION_GEAR_OFFICER, 0);
    bool its = officer != NULL && strncmp(officer->id, judged->node, TL_ID_CAP) == 0;
    if (judged->kind == TL_JUDGED_REFUSED) {
        refuse(ledger, judged, its);
    }
    for (uint32_t i = 0; its && judged->kind == TL_JUDGED_APPLIED && i < ledger->fit_count; i++) {
        struct tl_undo *last = &ledger->undo[i];
        if (is_word_of(last, judged->node, judged->incarnation, judged->sequence)) {
            last->applied = true;
        }
    }
}
