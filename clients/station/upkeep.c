/* SPDX-License-Identifier: Apache-2.0 */
/*
 * upkeep.c - what a station does by itself with its own lists. See session.h.
 *
 * Primary drops an ended or cancelled order, and the platform a result, only on fresh pictures
 * that say so from every validator; a platform that starts takes the results of listed events from
 * a fresh picture, so that a validator which restarts later finds them.
 */
#include <string.h>

#include "clients/station/session.h"

/* Calls of `holds` for each validator; true when all are fresh with a picture, and all hold. */
typedef bool picture_fn(const struct tl_picture *picture, const struct tl_datum *datum);

static bool
every_picture(const struct tl_session *session, uint64_t now_ms, picture_fn *holds,
              const struct tl_datum *datum)
{
    const struct tl_member *member = &session->seat.member;
    for (uint32_t i = 0; i < member->hear.count; i++) {
        const struct tl_picture *picture = tl_member_current_picture(member, i, now_ms);
        if (picture == NULL || !holds(picture, datum)) {
            return false;
        }
    }
    return member->hear.count > 0;
}

static const struct tl_listed *
listed_of(const struct tl_picture *picture, const struct tl_datum *datum)
{
    for (uint32_t i = 0; i < picture->list_count; i++) {
        if (datum->stated_for_count > 0 &&
            tl_event_equal(picture->list[i].event, datum->stated_for[0])) {
            return &picture->list[i];
        }
    }
    return NULL;
}

static bool
is_over(const struct tl_picture *picture, const struct tl_datum *datum)
{
    const struct tl_listed *listed = listed_of(picture, datum);
    return picture->list_heard && listed != NULL && !tl_listed_is_open(listed);
}

static bool
is_not_listed(const struct tl_picture *picture, const struct tl_datum *datum)
{
    return picture->list_heard && picture->recovery_ms != 0 && listed_of(picture, datum) == NULL;
}

/* A bolter or wave-off: that aircraft may be ordered again with one word. */
static void
offer_again(struct tl_session *session, const struct tl_listed *listed)
{
    for (uint32_t i = 0; i < TL_AGAIN_MAX; i++) {
        if (tl_event_equal(session->again_seen[i], listed->event)) {
            return;
        }
    }
    session->again_seen[session->again_next++ % TL_AGAIN_MAX] = listed->event;
    if (session->again_count == TL_AGAIN_MAX) {
        memmove(&session->again[0], &session->again[1],
                (TL_AGAIN_MAX - 1) * sizeof session->again[0]);
        session->again_count--;
    }
    struct tl_again *again = &session->again[session->again_count++];
    char line[TL_TEXT_CAP];
    again->side = listed->order.side;
    again->weight_lb = listed->order.weight_lb;
    memcpy(again->type, listed->order.type, TL_TYPE_CAP);
    (void)snprintf(line, sizeof line, "%u %s has no event now: 'again %u' orders it again",
                   listed->order.side, listed->order.type, listed->order.side);
    tl_session_say_line(session, -1, line);
}

static void
tend_primary(struct tl_session *session, uint64_t now_ms)
{
    struct tl_member *member = &session->seat.member;
    for (uint32_t i = 0; i < member->hear.count; i++) {
        const struct tl_picture *picture = &member->seen[i].picture;
        for (uint32_t k = 0; member->seen[i].has_picture && k < picture->list_count; k++) {
            const struct tl_listed *listed = &picture->list[k];
            bool again = listed->ended && listed->result_known && listed->order_known &&
                         listed->result.outcome != TL_OUTCOME_TRAP;
            if (again) {
                offer_again(session, listed);
            }
        }
    }
    for (uint32_t i = 0; i < member->outbox.own_count;) {
        struct tl_datum datum = member->outbox.own[i].datum;
        uint32_t before = member->outbox.own_count;
        if (datum.kind == TL_DATUM_ORDER && every_picture(session, now_ms, is_over, &datum)) {
            tl_outbox_drop(&member->outbox, &datum);
        }
        i += member->outbox.own_count == before ? 1 : 0;
    }
}

void
tl_session_forget_list(struct tl_session *session)
{
    struct tl_outbox *box = &session->seat.member.outbox;
    for (uint32_t i = 0; i < box->own_count;) {
        uint32_t before = box->own_count;
        if (box->own[i].datum.kind == TL_DATUM_ORDER) {
            tl_outbox_drop(box, &box->own[i].datum);
        }
        i += box->own_count == before ? 1 : 0;
    }
    session->again_count = 0;
    session->highest_pass = 0;
}

static void
restore_results(struct tl_session *session, uint64_t now_ms)
{
    struct tl_member *member = &session->seat.member;
    for (uint32_t i = 0; i < member->hear.count; i++) {
        const struct tl_picture *picture = &member->seen[i].picture;
        if (!member->seen[i].has_picture || !picture->list_heard ||
            !tl_heard_is_fresh(&member->hear.validator[i], now_ms)) {
            continue;
        }
        for (uint32_t k = 0; k < picture->list_count; k++) {
            const struct tl_listed *listed = &picture->list[k];
            struct tl_datum datum = {.kind = TL_DATUM_RESULT,
                                     .slot = listed->event.pass,
                                     .known = true,
                                     .stated_for_count = 1,
                                     .stated_for = {listed->event}};
            uint64_t sequence = 0;
            datum.as.result = listed->result;
            if (listed->ended && listed->result_known) {
                tl_err_ignore(tl_member_say(member, &datum, now_ms, &sequence),
                              "toward safe; a full outbox keeps it in the beat");
            }
        }
        session->results_restored = true;
        return;
    }
}

static void
tend_platform(struct tl_session *session, uint64_t now_ms)
{
    struct tl_member *member = &session->seat.member;
    if (!session->results_restored) {
        restore_results(session, now_ms);
    }
    for (uint32_t i = 0; i < member->outbox.own_count;) {
        struct tl_datum datum = member->outbox.own[i].datum;
        uint32_t before = member->outbox.own_count;
        if (datum.kind == TL_DATUM_RESULT &&
            every_picture(session, now_ms, is_not_listed, &datum)) {
            tl_outbox_drop(&member->outbox, &datum);
        }
        i += member->outbox.own_count == before ? 1 : 0;
    }
}

/* An inbound aircraft that is gone leaves the beat once that is settled. */
static void
tend_approach(struct tl_session *session)
{
    struct tl_outbox *box = &session->seat.member.outbox;
    for (uint32_t i = 0; i < box->own_count;) {
        uint32_t before = box->own_count;
        if (box->own[i].datum.kind == TL_DATUM_INBOUND && !box->own[i].datum.known) {
            tl_outbox_drop(box, &box->own[i].datum);
        }
        i += box->own_count == before ? 1 : 0;
    }
}

static bool
lists_instance(const struct tl_alert_set *set, uint64_t instance)
{
    for (uint32_t i = 0; i < set->alert_count; i++) {
        if (tl_alert_instance(&set->alert[i]) == instance) {
            return true;
        }
    }
    return false;
}

/* Every validator is fresh, its alerts are of its newest picture, and none lists the instance. */
static bool
has_lapsed(const struct tl_member *member, uint64_t instance, uint64_t now_ms)
{
    for (uint32_t i = 0; i < member->hear.count; i++) {
        const struct tl_member_seen *seen = &member->seen[i];
        if (tl_member_current_picture(member, i, now_ms) == NULL || !seen->has_alerts ||
            seen->alerts.picture < member->hear.validator[i].verdict.picture ||
            lists_instance(&seen->alerts, instance)) {
            return false;
        }
    }
    return member->hear.count > 0;
}

/*
 * An acknowledgement leaves the beat when its alert is listed no more; so do words taken back
 * under names that may not come again.
 */
static void
tend_people(struct tl_session *session, uint64_t now_ms)
{
    struct tl_member *member = &session->seat.member;
    for (uint32_t i = 0; i < member->outbox.own_count;) {
        const struct tl_datum datum = member->outbox.own[i].datum;
        uint32_t before = member->outbox.own_count;
        bool lapsed = datum.kind == TL_DATUM_ACKNOWLEDGED && datum.known &&
                      has_lapsed(member, datum.as.instance, now_ms);
        bool empty = !datum.known &&
                     (tl_datum_is_voice(&datum) || datum.kind == TL_DATUM_OVERRIDE ||
                      datum.kind == TL_DATUM_OUT_OF_SERVICE || datum.kind == TL_DATUM_ACKNOWLEDGED);
        if (lapsed || empty) {
            tl_outbox_drop(&member->outbox, &datum);
        }
        i += member->outbox.own_count == before ? 1 : 0;
    }
}

void
tl_session_upkeep(struct tl_session *session, uint64_t now_ms)
{
    tend_people(session, now_ms);
    switch (session->seat.join.node->station) {
    case TL_STATION_PRIMARY:
        tend_primary(session, now_ms);
        break;
    case TL_STATION_PLATFORM:
        tend_platform(session, now_ms);
        break;
    case TL_STATION_APPROACH:
        tend_approach(session);
        break;
    case TL_STATION_GEAR_OFFICER:
        tl_tallies_tend(&session->tallies, &session->seat.member, now_ms);
        break;
    case TL_STATION_ENGINE:
    case TL_STATION_DECK:
    case TL_STATION_BRIDGE:
    case TL_STATION_WIRES:
    case TL_STATION_TRACKS:
    case TL_STATION_AID:
    case TL_STATION_BARRICADE:
    case TL_STATION_SAFETY:
    case TL_STATION_UNKNOWN:
    case TL_STATION_KINDS:
        break;
    }
}
