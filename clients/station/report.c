/* SPDX-License-Identifier: Apache-2.0 */
/* report.c - the lines a station prints about what changed. See session.h. */
#include <inttypes.h>
#include <string.h>
#include <unistd.h>

#include "clients/station/pane.h"
#include "clients/ui/view.h"
#include "proto/base/clock.h"

enum {
    TROUBLE_MS = 1500,
    LATE_SAFEWARD_MS = 2000,
    BUS_DOWN_MS = 4000, /* two rebuildings of its sockets */
    REPORT_CAP = TL_READBACK_CAP + 256
};

static void
finish_wait(struct tl_session *session, struct tl_wait *wait, int code)
{
    if (wait->client >= 0) {
        tl_local_end(&session->local.client[wait->client], code);
    } else if (wait->counts && session->exit_code == TL_EXIT_OK) {
        session->exit_code = code;
    }
    wait->used = false;
}

static void
names_of_heard(const struct tl_session *session, uint64_t now_ms, char *dst, size_t cap)
{
    const struct tl_hear *hear = &session->seat.member.hear;
    size_t used = 0;
    dst[0] = '\0';
    for (uint32_t i = 0; i < hear->count && used < cap; i++) {
        if (tl_heard_is(&hear->validator[i], now_ms)) {
            int n = snprintf(dst + used, cap - used, "%s%s", used > 0 ? ", " : "",
                             hear->validator[i].id);
            used += n > 0 ? (size_t)n : 0;
        }
    }
}

static struct tl_wait *
wait_of(struct tl_session *session, uint64_t sequence)
{
    for (size_t i = 0; i < TL_WAITS_MAX; i++) {
        struct tl_wait *wait = &session->wait[i];
        if (wait->used && sequence >= wait->first && sequence <= wait->last) {
            return wait;
        }
    }
    return NULL;
}

static void
spoken_refusal(const struct tl_said_outcome *outcome, char *dst, size_t cap)
{
    const struct tl_rule_row *row = tl_rule_row(outcome->rule);
    (void)snprintf(dst, cap, "%s%s%s%s", tl_refusal_text(outcome->reason), row != NULL ? " (" : "",
                   row != NULL ? row->short_text : "", row != NULL ? ")" : "");
}

static void
tell_outcome(struct tl_session *session, const struct tl_said_outcome *outcome, uint64_t now_ms)
{
    struct tl_wait *wait = wait_of(session, outcome->sequence);
    char unit[TL_ID_CAP];
    char said[TL_READBACK_CAP];
    char detail[TL_TEXT_CAP];
    char line[REPORT_CAP];
    int client = wait != NULL ? wait->client : -1;
    if (wait != NULL) {
        (void)snprintf(said, sizeof said, "%s", wait->text);
    } else {
        char value[TL_TEXT_CAP];
        (void)snprintf(said, sizeof said, "%s: %s",
                       tl_node_spoken(session->seat.join.node->id, unit, sizeof unit),
                       tl_datum_text(&outcome->datum, value, sizeof value));
    }
    switch (outcome->kind) {
    case TL_SAID_ACCEPTED:
        if (wait == NULL || outcome->sequence != wait->last || wait->refused) {
            break;
        }
        names_of_heard(session, now_ms, detail, sizeof detail);
        (void)snprintf(line, sizeof line, "%s - accepted by %s", said, detail);
        tl_session_say_line(session, client, line);
        finish_wait(session, wait, TL_EXIT_OK);
        break;
    case TL_SAID_REFUSED:
        spoken_refusal(outcome, detail, sizeof detail);
        (void)snprintf(line, sizeof line, "%s - REFUSED by %s: %s", said, outcome->validator,
                       detail);
        tl_session_say_line(session, client, line);
        if (wait != NULL) {
            finish_wait(session, wait, TL_EXIT_REFUSED);
        }
        break;
    case TL_SAID_WITHDRAWN:
        (void)snprintf(line, sizeof line,
                       "%s - NOT CONFIRMED in 2 s: withdrawn, it will not take effect later; say "
                       "it again or by voice",
                       said);
        tl_session_say_line(session, client, line);
        if (wait != NULL) {
            finish_wait(session, wait, TL_EXIT_UNANSWERED);
        }
        break;
    case TL_SAID_VOID:
        (void)snprintf(line, sizeof line, "%s - %s", said, tl_refusal_text(outcome->reason));
        tl_session_say_line(session, client, line);
        break;
    case TL_OUTCOME_NONE:
        break;
    }
}

/* Already settled when it was said (a repetition), or toward safe and not receipted in time. */
static void
tend_waits(struct tl_session *session, uint64_t now_ms)
{
    const struct tl_outbox *box = &session->seat.member.outbox;
    char line[REPORT_CAP];
    for (size_t i = 0; i < TL_WAITS_MAX; i++) {
        struct tl_wait *wait = &session->wait[i];
        if (!wait->used) {
            continue;
        }
        if (wait->last <= box->settled) {
            (void)snprintf(line, sizeof line, "%s - stands as said before", wait->text);
            tl_session_say_line(session, wait->client, line);
            finish_wait(session, wait, TL_EXIT_OK);
        } else if (wait->safeward && now_ms - wait->said_ms > LATE_SAFEWARD_MS) {
            (void)snprintf(line, sizeof line,
                           "%s - NOT CONFIRMED in 2 s: it stays said and is sent again; say it by "
                           "voice too",
                           wait->text);
            tl_session_say_line(session, wait->client, line);
            finish_wait(session, wait, TL_EXIT_UNANSWERED);
        }
    }
}

void
tl_session_outcomes(struct tl_session *session, uint64_t now_ms)
{
    struct tl_said_outcome outcome;
    while (tl_outbox_outcome(&session->seat.member.outbox, &outcome)) {
        tell_outcome(session, &outcome, now_ms);
        tl_tallies_outcome(&session->tallies, &outcome);
    }
    tend_waits(session, now_ms);
}

static void
report_verdict(struct tl_session *session, uint64_t now_ms)
{
    struct tl_view view;
    char line[REPORT_CAP];
    tl_member_view(&session->seat.member, now_ms, &view);
    if (view.word == session->shown_word && view.first.rule == session->shown_rule &&
        view.first.state == session->shown_state &&
        strncmp(view.first.station, session->shown_station, TL_ID_CAP) == 0) {
        return;
    }
    session->shown_word = view.word;
    session->shown_rule = view.first.rule;
    session->shown_state = view.first.state;
    memcpy(session->shown_station, view.first.station, TL_ID_CAP);
    tl_session_say_line(session, -1, tl_ui_verdict(&view, line, sizeof line));
}

static void
report_edge(void *ctx, enum tl_bell_edge edge, const struct tl_belled *entry)
{
    struct tl_session *session = ctx;
    const struct tl_config *config = &session->seat.join.config;
    char line[TL_UI_LINE_CAP];
    tl_session_say_line(session, -1,
                        tl_ui_edge(config, edge, entry, session->bell.place, line, sizeof line));
    bool sounds = edge == TL_BELL_RAISED || edge == TL_BELL_AGAIN || edge == TL_BELL_GRAVER;
    bool owed = tl_alert_waits_for_place(&entry->alert, session->bell.place);
    if (sounds && owed && session->pane != NULL) {
        session->pane->ring = true;
    } else if (sounds && owed && isatty(fileno(session->out))) {
        (void)fputs("\a", session->out);
        (void)fflush(session->out);
    }
    tl_ui_sound(&session->hook, edge, &entry->alert, tl_clock_boot_ms());
}

void
tl_session_listen(struct tl_session *session)
{
    int place = tl_config_place(&session->seat.join.config, session->seat.join.node->id);
    tl_bell_init(&session->bell, place, report_edge, session);
}

/* With no fresh validator the alerts are not gone, only not heard: they stay as they were. */
static void
report_alerts(struct tl_session *session, uint64_t now_ms)
{
    struct tl_alert now[TL_ALERTS_MAX];
    struct tl_view view;
    struct tl_member *member = &session->seat.member;
    tl_member_view(member, now_ms, &view);
    if (!view.any_verdict) {
        return;
    }
    uint32_t count = tl_member_alerts(member, now_ms, now, TL_ALERTS_MAX);
    tl_bell_take(&session->bell, now, count, now_ms);
    if (session->pane == NULL) { /* else when they stand on it: tl_pane_paint */
        tl_member_alerts_shown(member, now_ms);
    }
}

/* How the last pass ended is a state that every station is told. */
static void
report_last_pass(struct tl_session *session, const struct tl_picture *picture)
{
    const struct tl_listed *last = &picture->last;
    char line[REPORT_CAP];
    char text[TL_TEXT_CAP];
    if (!picture->last_known || !last->result_known ||
        (tl_event_equal(last->event, session->shown_result) &&
         last->result.outcome == session->shown_ended.outcome &&
         last->result.wire == session->shown_ended.wire)) {
        return;
    }
    struct tl_datum result = {.kind = TL_DATUM_RESULT, .known = true};
    result.as.result = last->result;
    session->shown_result = last->event;
    session->shown_ended = last->result;
    bool waved = last->result.outcome == TL_OUTCOME_WAVE_OFF;
    (void)snprintf(line, sizeof line, "%s event %" PRIu32 ": %" PRIu32 " %s - %s",
                   waved ? "WAVE-OFF" : "pass ended,", last->event.pass, last->order.side,
                   last->order_known ? last->order.type : "",
                   tl_datum_text(&result, text, sizeof text));
    tl_session_say_line(session, -1, line);
}

/* Lines that are new in a block of text since it was last told; the block is then the told one. */
static void
tell_news(struct tl_session *session, char told[TL_PEOPLE_CAP], const char *block)
{
    char before[TL_PEOPLE_CAP];
    char lines[TL_PEOPLE_CAP];
    char *rest = NULL;
    if (strncmp(block, told, TL_PEOPLE_CAP) == 0) {
        return;
    }
    memcpy(before, told, sizeof before);
    (void)snprintf(told, TL_PEOPLE_CAP, "%s", block);
    (void)snprintf(lines, sizeof lines, "%s", block);
    for (char *line = strtok_r(lines, "\n", &rest); line != NULL;
         line = strtok_r(NULL, "\n", &rest)) {
        if (strstr(before, line) == NULL) {
            tl_session_say_line(session, -1, line);
        }
    }
}

/* By voice and overrides, told when they change (not when only their time runs). */
static void
report_people(struct tl_session *session, const struct tl_picture *picture)
{
    char now[TL_PEOPLE_CAP] = "";
    size_t used = 0;
    char text[TL_TEXT_CAP];
    for (uint32_t i = 0; i < picture->voiced_count && used < sizeof now; i++) {
        const struct tl_voiced *v = &picture->voiced[i];
        int n = snprintf(now + used, sizeof now - used, "BY VOICE %s: %s (%s, %s)\n", v->station,
                         tl_datum_text(&v->datum, text, sizeof text), v->said_by,
                         v->confirmed_by[0] != '\0' ? v->confirmed_by : "NOT CONFIRMED");
        used += n > 0 ? (size_t)n : 0;
    }
    for (uint32_t i = 0; i < picture->override_count && used < sizeof now; i++) {
        const struct tl_override_live *o = &picture->override[i];
        struct tl_datum datum = {.kind = TL_DATUM_OVERRIDE, .known = true};
        datum.as.override = o->override;
        int n = snprintf(now + used, sizeof now - used, "OVERRIDE %s (%s, %s)\n",
                         tl_datum_text(&datum, text, sizeof text), o->said_by,
                         o->confirmed_by[0] != '\0' ? o->confirmed_by : "NOT CONFIRMED");
        used += n > 0 ? (size_t)n : 0;
    }
    bool ended = session->shown_people[0] != '\0' && now[0] == '\0';
    tell_news(session, session->shown_people, now);
    if (ended) {
        tl_session_say_line(session, -1, "nothing by voice and no override any more");
    }
}

/* Primary and the platform are told what approach changes: low fuel, trouble, diverted. */
static void
report_inbound(struct tl_session *session, const struct tl_picture *picture)
{
    enum tl_station_kind kind = session->seat.join.node->station;
    const struct tl_config *config = &session->seat.join.config;
    const struct tl_node *approach = tl_config_station(config, TL_STATION_APPROACH, 0);
    const struct tl_station_state *station =
        approach != NULL ? tl_ui_station(picture, approach->id) : NULL;
    char now[TL_PEOPLE_CAP] = "";
    size_t used = 0;
    char text[TL_TEXT_CAP];
    if (station == NULL || (kind != TL_STATION_PRIMARY && kind != TL_STATION_PLATFORM)) {
        return;
    }
    for (uint32_t i = 0; i < station->datum_count && used < sizeof now; i++) {
        const struct tl_datum *datum = &station->data[i];
        if (datum->kind == TL_DATUM_INBOUND && datum->known) {
            int n = snprintf(now + used, sizeof now - used, "approach: %s\n",
                             tl_datum_text(datum, text, sizeof text));
            used += n > 0 ? (size_t)n : 0;
        }
    }
    tell_news(session, session->shown_inbound, now);
}

const char *
tl_session_groove(struct tl_session *session, char *dst, size_t cap, char *steady,
                  size_t steady_cap)
{
    struct tl_view view;
    struct tl_ui_state state = {.config = &session->seat.join.config, .view = &view};
    tl_member_view(&session->seat.member, tl_clock_boot_ms(), &view);
    state.picture = tl_member_picture(&session->seat.member, &view, &state.picture_old);
    return tl_ui_groove(&state, dst, cap, steady, steady_cap);
}

static void
report_groove(struct tl_session *session)
{
    char line[TL_TEXT_CAP];
    char steady[TL_TEXT_CAP];
    if (session->seat.join.node->station != TL_STATION_PLATFORM) {
        return;
    }
    (void)tl_session_groove(session, line, sizeof line, steady, sizeof steady);
    if (strcmp(steady, session->shown_groove) != 0) {
        memcpy(session->shown_groove, steady, sizeof session->shown_groove);
        tl_session_say_line(session, -1, line);
    }
}

/* From a picture that is not older than the verdict it explains. */
static void
report_picture(struct tl_session *session, uint64_t now_ms)
{
    struct tl_view view;
    bool old = false;
    tl_member_view(&session->seat.member, now_ms, &view);
    const struct tl_picture *picture = tl_member_picture(&session->seat.member, &view, &old);
    if (picture == NULL || old || !view.any_verdict) {
        return;
    }
    report_last_pass(session, picture);
    report_people(session, picture);
    report_inbound(session, picture);
    report_groove(session);
}

static void
report_trouble(struct tl_session *session, uint64_t now_ms)
{
    char text[REPORT_CAP];
    bool trouble = tl_seat_trouble(&session->seat, now_ms, text, sizeof text);
    tl_notify_status(&session->seat.join.notify, trouble ? text : "every validator is heard");
    if (trouble && session->trouble_since_ms == 0) {
        session->trouble_since_ms = now_ms;
    }
    /* What is known of it may change: a bus refuses, a validator runs on with a lower life. */
    bool news = !session->trouble_said || strcmp(text, session->trouble_text) != 0;
    if (trouble && news && now_ms - session->trouble_since_ms >= TROUBLE_MS) {
        session->trouble_said = true;
        session->trouble_since_ms = now_ms;
        (void)snprintf(session->trouble_text, sizeof session->trouble_text, "%s", text);
        tl_session_say_line(session, -1, text);
    }
    if (!trouble) {
        if (session->trouble_said) {
            tl_session_say_line(session, -1, "every validator is heard");
        }
        session->trouble_said = false;
        session->trouble_since_ms = 0;
    }
}

/* A newer life of this station is known: only its operator may decide to go above it. */
static void
report_incarnation(struct tl_session *session)
{
    uint64_t higher = session->seat.member.higher_incarnation;
    char line[REPORT_CAP];
    if (higher == 0 || higher == session->higher_said) {
        return;
    }
    session->higher_said = higher;
    (void)snprintf(line, sizeof line,
                   "REFUSED: this station runs as incarnation %" PRIu64
                   ", and a newer one, %" PRIu64
                   ", is known. If no other program is this station, stop and start with "
                   "--incarnation-above %" PRIu64,
                   session->seat.join.incarnation, higher, higher);
    tl_session_say_line(session, -1, line);
}

/* A bus that only this station has lost is nobody else's to tell; while all are gone it is trouble. */
static void
report_buses(struct tl_session *session, uint64_t now_ms)
{
    const struct tl_link *link = session->seat.join.link;
    char line[REPORT_CAP];
    for (uint32_t i = 0; i < tl_link_bus_count(link); i++) {
        const struct tl_bus_health *bus = tl_link_bus(link, i);
        bool up = bus->state == TL_BUS_UP;
        if (up || session->bus_since_ms[i] == 0) {
            session->bus_since_ms[i] = now_ms;
        }
        bool told = session->bus_told_down[i];
        bool down = !up && now_ms - session->bus_since_ms[i] >= BUS_DOWN_MS;
        if ((down && !told && !session->trouble_said) || (up && told)) {
            session->bus_told_down[i] = down;
            (void)snprintf(line, sizeof line, "%s: %s", bus->id, tl_bus_state_text(bus->state));
            tl_session_say_line(session, -1, line);
        }
    }
}

static void
report_keys(struct tl_session *session)
{
    const char *news = tl_seat_news(&session->seat);
    if (news != NULL) {
        tl_session_say_line(session, -1, news);
    }
}

void
tl_session_report(struct tl_session *session, uint64_t now_ms)
{
    /* The verdict waits for the first answer; trouble says what is missing until then. */
    struct tl_view view;
    tl_member_view(&session->seat.member, now_ms, &view);
    session->telling_news = true;
    if (view.any_verdict || session->shown_word != TL_WORD_UNKNOWN) {
        report_verdict(session, now_ms);
    }
    report_alerts(session, now_ms);
    report_picture(session, now_ms);
    report_trouble(session, now_ms);
    report_buses(session, now_ms);
    session->telling_news = false;
    report_keys(session);
    report_incarnation(session);
}

void
tl_session_status(struct tl_session *session, FILE *out)
{
    struct tl_view view;
    uint64_t now_ms = tl_clock_boot_ms();
    char text[REPORT_CAP];
    bool old = false;
    tl_member_view(&session->seat.member, now_ms, &view);
    const struct tl_picture *picture = tl_member_picture(&session->seat.member, &view, &old);
    (void)fprintf(out, "%s\n", tl_ui_verdict(&view, text, sizeof text));
    for (uint32_t i = 0; picture != NULL && view.from_known && i < picture->cause_count; i++) {
        (void)fprintf(out, "  %s%s\n",
                      tl_cause_text(&picture->cause[i], view.event, text, sizeof text),
                      old ? " (old)" : "");
    }
    for (uint32_t i = 0; picture != NULL && i < picture->list_count; i++) {
        const struct tl_listed *listed = &picture->list[i];
        char pounds[32];
        (void)fprintf(out, "  event %" PRIu32 ": %" PRIu32 " %s %s%s\n", listed->event.pass,
                      listed->order.side, listed->order_known ? listed->order.type : "(unknown)",
                      tl_pounds_text(listed->order.weight_lb, pounds, sizeof pounds),
                      listed->ended
                          ? ", ended"
                          : (tl_event_equal(listed->event, view.event) ? ", CURRENT" : ""));
    }
}

void
tl_session_report_end(struct tl_session *session)
{
    if (session->shown_word == TL_WORD_READY) {
        tl_session_say_line(session, -1, TL_UI_ENDED);
    }
}
