/* SPDX-License-Identifier: Apache-2.0 */
/*
 * mine.c - what this station has said, how far each word has come, and what it counts. See session.h.
 *
 *   sent, bus-a, bus-b, accepted, recorded
 *
 * "sent": this program gave it to its sockets. A bus: it brought the change back here. "accepted":
 * all validators that are heard have it. "recorded": a recorder has it, when the ship has one.
 */
#include <inttypes.h>

#include "clients/station/session.h"
#include "clients/ui/view.h"

struct text {
    char *dst;
    size_t cap;
    size_t used;
};

static void
append(struct text *text, const char *words)
{
    if (text->used < text->cap) {
        int n = snprintf(text->dst + text->used, text->cap - text->used, "%s", words);
        text->used += n > 0 ? (size_t)n : 0;
    }
}

static void
append_step(struct text *text, const char *step)
{
    append(text, ", ");
    append(text, step);
}

static void
append_buses(const struct tl_link *link, uint64_t sequence, struct text *text)
{
    bool kept = false;
    uint32_t buses = tl_link_own_carried(link, sequence, &kept);
    if (!kept) {
        append_step(text, "bus no longer known");
    }
    for (uint32_t i = 0; i < tl_link_bus_count(link); i++) {
        if ((buses >> i & 1u) != 0) {
            append_step(text, tl_link_bus(link, i)->id);
        }
    }
}

static void
write_way(const struct tl_seat *seat, const struct tl_own *own, struct text *text)
{
    const struct tl_outbox *box = &seat->member.outbox;
    uint64_t sequence = own->datum.sequence;
    if (own->needs_change) {
        append(text, "in the beats only, until there is room for its change");
        return;
    }
    append(text, "sent");
    append_buses(seat->join.link, sequence, text);
    if (own->refused) {
        append_step(text, "refused");
    } else if (sequence <= box->settled) {
        append_step(text, "accepted");
    }
    if (box->recorder && sequence <= box->recorded) {
        append_step(text, "recorded");
    }
}

void
tl_session_last_way(const struct tl_session *session, char *dst, size_t cap)
{
    const struct tl_outbox *box = &session->seat.member.outbox;
    const struct tl_own *last = NULL;
    char value[TL_TEXT_CAP];
    struct text text = {.dst = dst, .cap = cap};
    dst[0] = '\0';
    for (uint32_t i = 0; i < box->own_count; i++) {
        if (last == NULL || box->own[i].datum.sequence > last->datum.sequence) {
            last = &box->own[i];
        }
    }
    if (last != NULL) {
        append(&text, "last said: ");
        append(&text, tl_datum_text(&last->datum, value, sizeof value));
        append(&text, " - ");
        write_way(&session->seat, last, &text);
    }
}

void
tl_session_mine(struct tl_session *session, int client)
{
    const struct tl_outbox *box = &session->seat.member.outbox;
    char line[2 * TL_TEXT_CAP + TL_BUSES_MAX * TL_ID_CAP];
    char value[TL_TEXT_CAP];
    char number[TL_ID_CAP];
    for (uint32_t i = 0; i < box->own_count; i++) {
        const struct tl_own *own = &box->own[i];
        struct text text = {.cap = sizeof line};
        text.dst = line;
        (void)snprintf(number, sizeof number, "%3" PRIu64 " ", own->datum.sequence);
        append(&text, number);
        append(&text, tl_datum_text(&own->datum, value, sizeof value));
        append(&text, " - ");
        write_way(&session->seat, own, &text);
        tl_session_say_line(session, client, line);
    }
    if (box->own_count == 0) {
        tl_session_say_line(session, client, "this station has said nothing yet");
    }
}

/* "; 34 left of 125", "; detorque due at 250" */
static void
append_bound(const struct tl_gear_limits *limits, const struct tl_datum *datum, uint32_t traps,
             struct text *text)
{
    char words[64] = "";
    uint32_t due = 0;
    uint32_t last = 0;
    if (datum->kind == TL_DATUM_CABLE && limits->given) {
        tl_detorque_bounds(limits, datum->as.cable.detorqued_at, &due, &last);
        (void)snprintf(words, sizeof words, "; detorque due at %" PRIu32, due);
    } else if (datum->kind == TL_DATUM_PENDANT_LIFE && limits->pendant_life != 0) {
        uint32_t life = limits->pendant_life;
        (void)snprintf(words, sizeof words, "; %" PRIu32 " left of %" PRIu32,
                       life > traps ? life - traps : 0, life);
    }
    append(text, words);
}

/* "; recorder-1 has 91, by load 92.412; INSPECTION DUE" */
static void
append_record(struct tl_session *session, const struct tl_tallied *item, struct text *text)
{
    char words[2 * TL_TEXT_CAP];
    const char *recorder = NULL;
    const struct tl_worn *worn = tl_tallies_recorded(&session->tallies, &session->seat.member,
                                                     item->kind, item->slot, &recorder);
    if (worn == NULL) {
        append(text, session->seat.member.worn_count > 0
                         ? "; no recorder that is heard has it, or they differ"
                         : "");
        return;
    }
    struct tl_datum datum = tl_worn_datum(worn);
    (void)snprintf(words, sizeof words, "; %s has %" PRIu32 "%s%s", recorder,
                   tl_tallies_traps(&session->tallies, &datum),
                   worn->wear.serial[0] != '\0' ? " on " : "", worn->wear.serial);
    append(text, words);
    if (worn->weighted_x1000 != 0) {
        (void)snprintf(words, sizeof words, ", by load %" PRIu32 ".%03" PRIu32,
                       worn->weighted_x1000 / 1000, worn->weighted_x1000 % 1000);
        append(text, words);
    }
    append(text, worn->inspect ? "; INSPECTION DUE" : "");
}

void
tl_session_wear(struct tl_session *session, int client)
{
    const struct tl_tallies *tallies = &session->tallies;
    char line[4 * TL_TEXT_CAP];
    for (uint32_t i = 0; i < tallies->count; i++) {
        const struct tl_tallied *item = &tallies->item[i];
        const struct tl_own *own =
            tl_outbox_own(&session->seat.member.outbox, item->kind, item->slot);
        struct text text = {.dst = line, .cap = sizeof line};
        char value[TL_TEXT_CAP];
        struct tl_datum unknown = {.kind = item->kind, .slot = item->slot};
        bool known = own != NULL && own->datum.known;
        append(&text, tl_datum_text(known ? &own->datum : &unknown, value, sizeof value));
        if (known) {
            append_bound(&tallies->config->gear.limits, &own->datum,
                         tl_tallies_traps(tallies, &own->datum), &text);
        }
        append_record(session, item, &text);
        tl_session_say_line(session, client, line);
    }
}

void
tl_session_alerts(struct tl_session *session, int client)
{
    char line[TL_UI_LINE_CAP];
    char text[TL_TEXT_CAP];
    char people[TL_TEXT_CAP];
    for (uint32_t i = 0; i < session->bell.count; i++) {
        const struct tl_belled *entry = &session->bell.entry[i];
        const struct tl_alert *alert = &entry->alert;
        (void)tl_ui_acknowledged(&session->seat.join.config, alert, people, sizeof people);
        (void)snprintf(line, sizeof line, "%3u %s%s: %s%s%s", entry->number,
                       tl_alert_is_active(alert) ? "" : "gone, ", tl_severity_name(alert->severity),
                       tl_cause_text(&alert->cause, alert->event, text, sizeof text),
                       people[0] != '\0' ? " - " : "", people);
        tl_session_say_line(session, client, line);
    }
    if (session->bell.count == 0) {
        tl_session_say_line(session, client, "no alert");
    }
}
