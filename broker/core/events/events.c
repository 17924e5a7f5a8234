/* SPDX-License-Identifier: Apache-2.0 */
/* events.c - see events.h. */
#include "broker/core/events/events.h"

#include <assert.h>
#include <string.h>

#include "broker/core/picture/fold_internal.h"
#include "broker/core/picture/wear.h"

static_assert(TL_ENDED_MAX <= 64, "sets of ends are 64 bits");

const struct tl_listed_event *
tl_events_find(const struct tl_list *list, struct tl_event event)
{
    for (uint32_t i = 0; i < list->count; i++) {
        if (tl_event_equal(list->event[i].event, event)) {
            return &list->event[i];
        }
    }
    return NULL;
}

const struct tl_listed_event *
tl_events_current(const struct tl_list *list)
{
    return tl_event_is(list->current) ? tl_events_find(list, list->current) : NULL;
}

/* A datum of primary: a known order of this recovery is taken, an unknown one keeps its place. */
static void
take_order(const struct tl_list *old, struct tl_list *list, const struct tl_held *held)
{
    const struct tl_datum *datum = &held->datum;
    struct tl_event event = {list->recovery_ms, datum->slot};
    const struct tl_listed_event *before = tl_events_find(old, event);
    bool known = datum->known && tl_datum_is_for(datum, event);
    if (datum->slot > list->highest_pass && known) {
        list->highest_pass = datum->slot;
    }
    if ((!known && before == NULL) || list->count == TL_LIST_MAX) {
        return;
    }
    struct tl_listed_event *listed = &list->event[list->count++];
    if (before != NULL) {
        *listed = *before;
    } else {
        memset(listed, 0, sizeof *listed);
        listed->event = event;
    }
    listed->order_known = known;
    listed->order_sequence = datum->sequence;
    if (known) {
        listed->order = datum->as.order;
    }
}

static void
sort_by_place(struct tl_list *list)
{
    for (uint32_t i = 1; i < list->count; i++) {
        struct tl_listed_event moving = list->event[i];
        uint32_t j = i;
        while (j > 0 && (list->event[j - 1].order.place > moving.order.place ||
                         (list->event[j - 1].order.place == moving.order.place &&
                          list->event[j - 1].event.pass > moving.event.pass))) {
            list->event[j] = list->event[j - 1];
            j--;
        }
        list->event[j] = moving;
    }
}

static void
read_list(const struct tl_told *primary, const struct tl_recovery *recovery, struct tl_list *list)
{
    struct tl_list old = *list;
    list->heard = true;
    list->restarted = false;
    list->open = recovery->state == TL_RECOVERY_OPEN;
    list->drill = recovery->drill;
    if (list->recovery_ms != recovery->recovery_ms) {
        list->recovery_ms = recovery->recovery_ms;
        list->highest_pass = 0;
        list->last_known = false;
        old.count = 0;
    }
    if (recovery->recovery_ms > list->highest_recovery_ms) {
        list->highest_recovery_ms = recovery->recovery_ms;
    }
    list->count = 0;
    for (uint32_t i = 0; i < primary->held_count; i++) {
        if (primary->held[i].datum.kind == TL_DATUM_ORDER) {
            take_order(&old, list, &primary->held[i]);
        }
    }
    sort_by_place(list);
}

static void
update_list(const struct tl_fold *fold, struct tl_list *list)
{
    const struct tl_told *primary = tl_told_of(fold, TL_STATION_PRIMARY, 0);
    const struct tl_held *recovery =
        primary != NULL ? tl_told_held(primary, TL_DATUM_RECOVERY, 0) : NULL;
    if (recovery != NULL && recovery->datum.known) {
        read_list(primary, &recovery->datum.as.recovery, list);
    } else if (list->heard) {
        list->restarted = true; /* a new life, or a word taken back: the list is only kept */
    }
}

/* Said by one signer for a platform that is lost: a result acts at once. */
static const struct tl_held *
result_by_voice(const struct tl_fold *fold, const struct tl_told *platform, struct tl_event event)
{
    for (uint32_t i = 0; i < fold->told_count; i++) {
        for (uint32_t k = 0; k < fold->told[i].held_count; k++) {
            const struct tl_held *held = &fold->told[i].held[k];
            if (held->datum.kind == TL_DATUM_RESULT && held->datum.known &&
                held->datum.slot == event.pass && tl_datum_is_voice(&held->datum) &&
                strncmp(held->datum.voice_for, platform->node->id, TL_ID_CAP) == 0) {
                return held;
            }
        }
    }
    return NULL;
}

/*
 * Which engine has an arrest to be read: the one of the wire, and no other for that pass. Of a wire
 * that the ship does not have it may have been any.
 */
static void
take_trap(const struct tl_gear *gear, struct tl_list *list, struct tl_event event,
          const struct tl_result *result)
{
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        if (tl_event_equal(list->trap[i], event)) {
            list->trap[i] = (struct tl_event){0};
        }
        bool its_wire =
            result->outcome == TL_OUTCOME_TRAP &&
            (result->wire == gear->engine[i].wire || !tl_gear_has_wire(gear, result->wire));
        if (its_wire && tl_event_after(event, list->trap[i])) {
            list->trap[i] = event;
        }
    }
}

static void
take_result(const struct tl_gear *gear, struct tl_list *list, struct tl_listed_event *listed,
            const struct tl_result *result, uint64_t now_ms)
{
    bool news = !listed->result_known || listed->result.outcome != result->outcome ||
                listed->result.wire != result->wire;
    if (!listed->result_known) {
        list->last_ms = now_ms; /* one that is corrected later ended then all the same */
    }
    listed->result_known = true;
    listed->result = *result;
    listed->ended = true;
    if (news) {
        list->last_known = true;
        list->last = *listed;
        take_trap(gear, list, listed->event, result);
        tl_wear_ended(gear, list, listed);
    }
}

/* What the platform says of that event, or who speaks for it; NULL = nothing. */
static const struct tl_result *
result_of(const struct tl_fold *fold, const struct tl_told *platform, struct tl_event event)
{
    const struct tl_held *held = tl_told_held(platform, TL_DATUM_RESULT, event.pass);
    if (held == NULL || !held->datum.known) {
        held = result_by_voice(fold, platform, event);
    }
    bool said = held != NULL && held->datum.known && tl_datum_is_for(&held->datum, event);
    return said ? &held->datum.as.result : NULL;
}

static void
update_results(const struct tl_fold *fold, struct tl_list *list, uint64_t now_ms)
{
    const struct tl_told *platform = tl_told_of(fold, TL_STATION_PLATFORM, 0);
    list->results_heard = list->results_heard || platform == NULL || platform->based;
    for (uint32_t i = 0; platform != NULL && i < list->count; i++) {
        struct tl_listed_event *listed = &list->event[i];
        const struct tl_result *result = result_of(fold, platform, listed->event);
        if (result != NULL) {
            take_result(&fold->config->gear, list, listed, result, now_ms);
        }
    }
}

/* The ends that a result is said of, bits by their place: of most nobody says anything any more. */
static uint64_t
ends_with_words(const struct tl_fold *fold, const struct tl_ends *ends)
{
    uint64_t said = 0;
    for (uint32_t i = 0; i < fold->told_count; i++) {
        for (uint32_t k = 0; k < fold->told[i].held_count; k++) {
            const struct tl_datum *datum = &fold->told[i].held[k].datum;
            bool result = datum->kind == TL_DATUM_RESULT;
            for (uint32_t n = 0; result && n < datum->stated_for_count; n++) {
                const struct tl_end *end = tl_ends_find(ends, datum->stated_for[n]);
                said |= end != NULL ? 1ull << (end - ends->end) : 0;
            }
        }
    }
    return said;
}

/*
 * Primary lets an event go soon after its end, and a result may be corrected later than that: how
 * the last passes ended is kept. Returns true when one was.
 */
static bool
correct_ended(const struct tl_fold *fold, struct tl_list *list)
{
    const struct tl_told *platform = tl_told_of(fold, TL_STATION_PLATFORM, 0);
    uint64_t said = platform != NULL ? ends_with_words(fold, &list->ends) : 0;
    bool corrected = false;
    for (uint32_t i = 0; i < list->ends.count; i++) {
        struct tl_ended ended = list->ends.end[i].ended;
        struct tl_ended gone;
        const struct tl_result *result =
            (said >> i & 1u) != 0 ? result_of(fold, platform, ended.event) : NULL;
        ended.result = result != NULL ? *result : ended.result;
        if (result == NULL || !tl_ends_take(&list->ends, &fold->config->gear, &ended, &gone)) {
            continue;
        }
        corrected = true;
        take_trap(&fold->config->gear, list, ended.event, &ended.result);
        if (tl_event_equal(list->last.event, ended.event)) {
            list->last.result = ended.result;
        }
    }
    return corrected;
}

static struct tl_event
first_open_event(const struct tl_list *list)
{
    for (uint32_t i = 0; list->open && list->results_heard && i < list->count; i++) {
        const struct tl_listed_event *listed = &list->event[i];
        if (!listed->ended && listed->order.state != TL_ORDER_CANCELLED) {
            return listed->event;
        }
    }
    return (struct tl_event){0};
}

static void
void_words_for(struct tl_fold *fold, struct tl_event left)
{
    for (uint32_t i = 0; i < fold->told_count; i++) {
        struct tl_told *told = &fold->told[i];
        for (uint32_t k = 0; k < told->held_count; k++) {
            struct tl_held *held = &told->held[k];
            if (tl_datum_is_event_word(&held->datum) && tl_datum_is_for(&held->datum, left)) {
                tl_told_void(told, held, TL_REFUSAL_EVENT_LEFT);
            }
        }
    }
}

static bool
same_listed(const struct tl_listed_event *a, const struct tl_listed_event *b)
{
    return tl_event_equal(a->event, b->event) && a->order_known == b->order_known &&
           a->order_sequence == b->order_sequence && a->result_known == b->result_known &&
           a->result.outcome == b->result.outcome && a->result.wire == b->result.wire &&
           a->ended == b->ended;
}

static bool
same_list(const struct tl_list *a, const struct tl_list *b)
{
    bool same =
        a->heard == b->heard && a->results_heard == b->results_heard && a->open == b->open &&
        a->drill == b->drill && a->restarted == b->restarted && a->recovery_ms == b->recovery_ms &&
        a->highest_recovery_ms == b->highest_recovery_ms && a->highest_pass == b->highest_pass &&
        a->count == b->count && tl_event_equal(a->current, b->current);
    for (uint32_t i = 0; same && i < a->count; i++) {
        same = same_listed(&a->event[i], &b->event[i]);
    }
    return same;
}

bool
tl_events_update(struct tl_fold *fold, uint64_t now_ms)
{
    struct tl_list before = fold->list;
    update_list(fold, &fold->list);
    update_results(fold, &fold->list, now_ms);
    bool corrected = correct_ended(fold, &fold->list);
    struct tl_event current = first_open_event(&fold->list);
    if (!tl_event_equal(current, before.current)) {
        fold->list.current = current;
        fold->list.current_since_ms = now_ms;
        if (tl_event_is(before.current)) {
            void_words_for(fold, before.current);
        }
    }
    bool changed = corrected || !same_list(&before, &fold->list);
    if (changed) {
        fold->changes++;
    }
    return changed;
}

static bool
is_over(const struct tl_list *list, const struct tl_listed_event *listed)
{
    return !list->open || listed->ended || listed->order.state == TL_ORDER_CANCELLED;
}

/* UNKNOWN = may be named. */
static enum tl_refusal
check_one_event(const struct tl_list *list, struct tl_event event, bool current_only, bool *wait)
{
    const struct tl_listed_event *listed = tl_events_find(list, event);
    if (listed != NULL && is_over(list, listed)) {
        return TL_REFUSAL_LATE;
    }
    if (listed != NULL) {
        bool allowed = !current_only || tl_event_equal(event, list->current);
        return allowed ? TL_REFUSAL_UNKNOWN : TL_REFUSAL_NOT_CURRENT;
    }
    bool newer = event.recovery_ms > list->recovery_ms ||
                 (event.recovery_ms == list->recovery_ms && event.pass > list->highest_pass);
    if (newer || !list->heard) {
        *wait = true; /* the order may be on its way */
        return TL_REFUSAL_UNKNOWN;
    }
    return TL_REFUSAL_NOT_LISTED;
}

/*
 * Primary's own beat has brought an order of that number, and it was never refused here: a
 * correction that was in flight when this validator started. Its number is not being used again.
 */
static bool
is_in_flight(const struct tl_fold *fold, uint32_t pass)
{
    const struct tl_told *primary = tl_told_of(fold, TL_STATION_PRIMARY, 0);
    const struct tl_held *held =
        primary != NULL ? tl_told_held(primary, TL_DATUM_ORDER, pass) : NULL;
    return held != NULL && !held->by_change && held->barred == 0;
}

static enum tl_refusal
check_order(const struct tl_fold *fold, const struct tl_datum *datum)
{
    const struct tl_list *list = &fold->list;
    struct tl_event event = datum->stated_for[0];
    if (datum->stated_for_count != 1 || event.pass != datum->slot) {
        return TL_REFUSAL_NOT_LISTED;
    }
    if (event.recovery_ms < list->recovery_ms) {
        return TL_REFUSAL_LATE;
    }
    if (event.recovery_ms > list->recovery_ms) {
        return TL_REFUSAL_UNKNOWN; /* resuming: the orders come before the recovery they are of */
    }
    const struct tl_listed_event *listed = tl_events_find(list, event);
    if (listed != NULL) {
        return listed->ended ? TL_REFUSAL_LATE : TL_REFUSAL_UNKNOWN;
    }
    if (list->count == TL_LIST_MAX && !list->restarted) {
        return TL_REFUSAL_FULL;
    }
    bool is_new = event.pass > list->highest_pass || list->restarted;
    return is_new || is_in_flight(fold, event.pass) ? TL_REFUSAL_UNKNOWN : TL_REFUSAL_LATE;
}

static enum tl_refusal
check_recovery(const struct tl_list *list, const struct tl_datum *datum)
{
    uint64_t recovery_ms = datum->as.recovery.recovery_ms;
    bool same = recovery_ms == list->recovery_ms && recovery_ms == list->highest_recovery_ms;
    return recovery_ms > list->highest_recovery_ms || same ? TL_REFUSAL_UNKNOWN
                                                           : TL_REFUSAL_RECOVERY_OLD;
}

static enum tl_refusal
check_stated_for(const struct tl_list *list, const struct tl_datum *datum, bool *wait)
{
    bool current_only = tl_datum_is_event_word(datum);
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    bool any = false;
    if (datum->stated_for_count == 0) {
        return current_only ? TL_REFUSAL_NOT_CURRENT : TL_REFUSAL_UNKNOWN;
    }
    for (uint32_t i = 0; i < datum->stated_for_count; i++) {
        bool wait_one = false;
        enum tl_refusal one = check_one_event(list, datum->stated_for[i], current_only, &wait_one);
        any = any || (one == TL_REFUSAL_UNKNOWN && !wait_one);
        *wait = *wait || wait_one;
        reason = one != TL_REFUSAL_UNKNOWN ? one : reason;
    }
    if (any && !current_only) {
        *wait = false; /* a carried word counts when one of its events is still open */
        return TL_REFUSAL_UNKNOWN;
    }
    *wait = *wait && reason == TL_REFUSAL_UNKNOWN;
    return reason;
}

enum tl_refusal
tl_events_check(const struct tl_fold *fold, const struct tl_datum *datum, bool *wait)
{
    *wait = false;
    if (datum->kind == TL_DATUM_RECOVERY) {
        return check_recovery(&fold->list, datum);
    }
    if (datum->kind == TL_DATUM_ORDER) {
        return check_order(fold, datum);
    }
    bool no_foul = datum->kind == TL_DATUM_DECK && datum->as.deck.state != TL_DECK_CLEAR;
    enum tl_cadence cadence = tl_datum_cadence(datum->kind);
    bool of_event = cadence == TL_CADENCE_EVENT || cadence == TL_CADENCE_EVENT_CARRIED;
    return of_event && !no_foul ? check_stated_for(&fold->list, datum, wait) : TL_REFUSAL_UNKNOWN;
}
