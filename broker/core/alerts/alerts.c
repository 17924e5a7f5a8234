/* SPDX-License-Identifier: Apache-2.0 */
/* alerts.c - see alerts.h. */
#include "broker/core/alerts/alerts.h"

#include <string.h>

/* One update of the book: what it looks at. */
struct book_turn {
    const struct tl_alert_book *before;
    const struct tl_decision *decision;
    const struct tl_fold *fold;
    uint64_t now_ms;
    uint32_t acknowledge; /* places of the stations that acknowledge anything */
    struct tl_rule_index rows;
};

void
tl_alert_book_init(struct tl_alert_book *book)
{
    memset(book, 0, sizeof *book);
}

static bool
is_told(const struct tl_cause *cause)
{
    return cause->state == TL_CAUSE_WRONG || cause->state == TL_CAUSE_OVERDUE ||
           cause->state == TL_CAUSE_NOTE || cause->state == TL_CAUSE_OVERRIDDEN;
}

static unsigned
acts_bit(enum tl_station_kind kind)
{
    static const unsigned BITS[TL_STATION_KINDS] = {
        [TL_STATION_ENGINE] = TL_ACTS_ENGINES,
        [TL_STATION_DECK] = TL_ACTS_DECK,
        [TL_STATION_APPROACH] = TL_ACTS_APPROACH,
        [TL_STATION_PLATFORM] = TL_ACTS_PLATFORM,
        [TL_STATION_PRIMARY] = TL_ACTS_PRIMARY,
        [TL_STATION_BRIDGE] = TL_ACTS_BRIDGE,
        [TL_STATION_WIRES] = TL_ACTS_WIRES,
        [TL_STATION_TRACKS] = TL_ACTS_TRACKS,
        [TL_STATION_AID] = TL_ACTS_AID,
        [TL_STATION_BARRICADE] = TL_ACTS_BARRICADE,
        [TL_STATION_GEAR_OFFICER] = TL_ACTS_GEAR_OFFICER,
        [TL_STATION_SAFETY] = TL_ACTS_SAFETY,
    };
    return (unsigned)kind < TL_STATION_KINDS ? BITS[kind] : 0;
}

/* Places of the stations that owe an acknowledgement of this cause. */
static uint32_t
who_owes(const struct tl_fold *fold, const struct tl_cause *cause, const struct tl_rule_row *row)
{
    uint32_t owed = 0;
    for (uint32_t i = 0; i < fold->told_count; i++) {
        const struct tl_node *node = fold->told[i].node;
        bool named =
            (row->owes & TL_ACTS_NAMED) != 0 && strncmp(cause->station, node->id, TL_ID_CAP) == 0;
        if (named || (row->owes & acts_bit(node->station)) != 0) {
            owed |= 1u << i;
        }
    }
    return owed;
}

/* Places of the stations that acknowledge anything. */
static uint32_t
who_acknowledges(const struct tl_fold *fold)
{
    uint32_t places = 0;
    for (uint32_t i = 0; i < fold->told_count; i++) {
        const struct tl_told *told = &fold->told[i];
        for (uint32_t k = 0; k < told->held_count; k++) {
            places |= told->held[k].datum.kind == TL_DATUM_ACKNOWLEDGED ? 1u << i : 0u;
        }
    }
    return places;
}

static uint32_t
who_acknowledged(const struct book_turn *turn, const struct tl_alert *alert)
{
    if (turn->acknowledge == 0) {
        return 0;
    }
    const struct tl_fold *fold = turn->fold;
    uint64_t instance = tl_alert_instance(alert);
    uint32_t slot = tl_acknowledged_slot(instance);
    uint32_t places = 0;
    for (uint32_t i = 0; i < fold->told_count; i++) {
        const struct tl_held *held = (turn->acknowledge >> i & 1u) != 0
                                         ? tl_told_held(&fold->told[i], TL_DATUM_ACKNOWLEDGED, slot)
                                         : NULL;
        if (held != NULL && held->datum.known && held->datum.as.instance == instance) {
            places |= 1u << i;
        }
    }
    return places;
}

static uint32_t
who_shows(const struct tl_fold *fold, uint64_t set)
{
    uint32_t places = 0;
    for (uint32_t i = 0; set != 0 && i < fold->told_count; i++) {
        if (fold->told[i].live && fold->told[i].alerts_shown >= set) {
            places |= 1u << i;
        }
    }
    return places;
}

static const struct tl_active_alert *
find(const struct tl_alert_book *book, const struct tl_alert *alert)
{
    for (uint32_t i = 0; i < book->count; i++) {
        if (tl_alert_same_instance(&book->active[i].alert, alert)) {
            return &book->active[i];
        }
    }
    return NULL;
}

static enum tl_severity
severity_now(const struct tl_rule_row *row, const struct tl_active_alert *active, uint64_t now_ms)
{
    bool escalated = row->severity == TL_SEVERITY_WARNING &&
                     active->alert.state == TL_ALERT_UNACKNOWLEDGED &&
                     now_ms - active->raised_ms >= TL_ESCALATE_MS;
    return escalated ? TL_SEVERITY_ALARM : row->severity;
}

static void
look_at_people(const struct book_turn *turn, struct tl_active_alert *active)
{
    struct tl_alert *alert = &active->alert;
    alert->acknowledged = who_acknowledged(turn, alert);
    alert->delivered = who_shows(turn->fold, active->set);
    bool all = (alert->owed & ~alert->acknowledged) == 0;
    alert->state = all ? TL_ALERT_ACKNOWLEDGED : TL_ALERT_UNACKNOWLEDGED;
}

static void
count_owed(struct tl_alert_book *book, uint32_t owed, uint64_t now_ms)
{
    for (uint32_t place = 0; place < TL_STATIONS_MAX; place++) {
        if ((owed >> place & 1u) != 0) {
            book->owed_ms[place][book->owed_count[place]++ % (TL_FLOOD_ALERTS + 1)] = now_ms;
        }
    }
}

uint32_t
tl_alert_book_flood(const struct tl_alert_book *book, uint64_t now_ms)
{
    uint32_t places = 0;
    for (uint32_t place = 0; place < TL_STATIONS_MAX; place++) {
        uint32_t count = book->owed_count[place];
        /* The ring holds one more than is allowed: the next to be written is the oldest. */
        uint64_t oldest_ms = book->owed_ms[place][count % (TL_FLOOD_ALERTS + 1)];
        if (count > TL_FLOOD_ALERTS && now_ms - oldest_ms < TL_FLOOD_MS) {
            places |= 1u << place;
        }
    }
    return places;
}

/* The part of the decision that people are told of. */
static void
take_causes(struct tl_alert_book *next, const struct book_turn *turn)
{
    const struct tl_decision *decision = turn->decision;
    for (uint32_t i = 0; i < decision->cause_count && next->count < TL_ALERTS_MAX; i++) {
        const struct tl_cause *cause = &decision->cause[i];
        const struct tl_rule_row *row = tl_rule_row_in(&turn->rows, cause->rule);
        if (!is_told(cause) || row == NULL) {
            continue;
        }
        struct tl_active_alert *active = &next->active[next->count];
        memset(active, 0, sizeof *active);
        active->alert.cause = *cause;
        active->alert.owed = who_owes(turn->fold, cause, row);
        if (tl_rule_is_of_event(row)) {
            active->alert.event = turn->fold->list.current;
        }
        if (find(next, &active->alert) != NULL) {
            continue; /* one situation, one alert */
        }
        const struct tl_active_alert *before = find(turn->before, &active->alert);
        if (before == NULL) {
            next->raised++;
            count_owed(next, active->alert.owed, turn->now_ms);
        }
        active->raised_ms = before != NULL ? before->raised_ms : turn->now_ms;
        active->set = before != NULL ? before->set : 0;
        look_at_people(turn, active);
        active->alert.severity = severity_now(row, active, turn->now_ms);
        next->count++;
    }
}

/* A station that is lost cannot acknowledge, and is not waited for. */
static uint32_t
who_is_waited_for(const struct tl_fold *fold, const struct tl_alert *alert)
{
    uint32_t live = 0;
    for (uint32_t i = 0; i < fold->told_count; i++) {
        live |= fold->told[i].live ? 1u << i : 0u;
    }
    return alert->owed & ~alert->acknowledged & live;
}

static bool
is_measured(const struct tl_rule_index *rows, const struct tl_alert *alert)
{
    const struct tl_rule_row *row = tl_rule_row_in(rows, alert->cause.rule);
    return row != NULL && tl_rule_is_measured(row);
}

static void
keep_returned(struct tl_alert_book *next, const struct book_turn *turn)
{
    const struct tl_alert_book *book = turn->before;
    for (uint32_t i = 0; i < book->count && next->count < TL_ALERTS_MAX; i++) {
        if (find(next, &book->active[i].alert) != NULL) {
            continue;
        }
        struct tl_active_alert left = book->active[i];
        bool first = left.alert.state != TL_ALERT_RETURNED;
        left.returned_ms = first ? turn->now_ms : left.returned_ms;
        look_at_people(turn, &left);
        left.alert.state = TL_ALERT_RETURNED;
        uint64_t gone_ms = turn->now_ms - left.returned_ms;
        bool waited = who_is_waited_for(turn->fold, &left.alert) != 0 && gone_ms < TL_RETURNED_MS;
        if (waited || (is_measured(&turn->rows, &left.alert) && gone_ms < TL_SETTLE_MS)) {
            next->active[next->count++] = left;
        }
    }
}

static bool
same_to_people(const struct tl_alert_book *a, const struct tl_alert_book *b)
{
    bool same = a->count == b->count;
    for (uint32_t i = 0; same && i < a->count; i++) {
        const struct tl_alert *x = &a->active[i].alert;
        const struct tl_alert *y = &b->active[i].alert;
        same = tl_alert_same_instance(x, y) && x->state == y->state && x->severity == y->severity &&
               x->owed == y->owed && x->acknowledged == y->acknowledged &&
               x->delivered == y->delivered;
    }
    return same;
}

/* All but what is listed. */
static void
copy_counts(struct tl_alert_book *to, const struct tl_alert_book *from)
{
    to->raised = from->raised;
    memcpy(to->owed_ms, from->owed_ms, sizeof to->owed_ms);
    memcpy(to->owed_count, from->owed_count, sizeof to->owed_count);
}

bool
tl_alert_book_update(struct tl_alert_book *book, const struct tl_decision *decision,
                     const struct tl_fold *fold, uint64_t now_ms)
{
    struct book_turn turn = {.before = book,
                             .decision = decision,
                             .fold = fold,
                             .now_ms = now_ms,
                             .acknowledge = who_acknowledges(fold)};
    struct tl_alert_book next;
    tl_rule_index_fill(&turn.rows);
    next.count = 0;
    copy_counts(&next, book);
    take_causes(&next, &turn);
    keep_returned(&next, &turn);
    bool changed = !same_to_people(book, &next);
    copy_counts(book, &next);
    book->count = next.count; /* of what is listed no more than that: most of a book is empty */
    memcpy(book->active, next.active, next.count * sizeof next.active[0]);
    return changed;
}

void
tl_alert_book_fill(struct tl_alert_book *book, uint64_t number, uint64_t now_ms,
                   struct tl_alert_set *set)
{
    set->alert_count = book->count;
    for (uint32_t i = 0; i < book->count; i++) {
        struct tl_active_alert *active = &book->active[i];
        uint64_t age_ms = now_ms - active->raised_ms;
        active->set = active->set != 0 ? active->set : number;
        set->alert[i] = active->alert;
        set->alert[i].raised_age_ms = age_ms > UINT32_MAX ? UINT32_MAX : (uint32_t)age_ms;
    }
}
