/* SPDX-License-Identifier: Apache-2.0 */
/* session.c - see session.h; report.c says what changed, upkeep.c keeps the own lists. */
#include "clients/station/session.h"

#include <errno.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "clients/station/bridge/bridge.h"
#include "clients/station/metrics.h"
#include "clients/station/pane.h"
#include "clients/ui/view.h"
#include "proto/base/clock.h"

void
tl_session_say_line(struct tl_session *session, int client, const char *text)
{
    if (client >= 0) {
        tl_local_tell(&session->local.client[client], text);
    } else {
        bool told = fprintf(session->out, "%s\n", text) >= 0 && fflush(session->out) == 0;
        if (!told && (errno == EPIPE || errno == EIO)) {
            session->seat.ended = true;
        }
    }
}

static void
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): whom before what */
end_client(struct tl_session *session, int client, int code)
{
    if (client >= 0) {
        tl_local_end(&session->local.client[client], code);
    } else if (session->joining && session->exit_code == TL_EXIT_OK) {
        session->exit_code = code;
    }
}

/* The same list in every validator's fresh picture. */
static bool
pictures_agree(const struct tl_member *member, uint64_t now_ms)
{
    const struct tl_picture *first = NULL;
    for (uint32_t i = 0; i < member->hear.count; i++) {
        const struct tl_picture *picture = &member->seen[i].picture;
        if (!tl_heard_is_fresh(&member->hear.validator[i], now_ms) ||
            !member->seen[i].has_picture) {
            return false;
        }
        if (!picture->list_heard) {
            continue; /* one that has not heard a list does not count as differing */
        }
        if (first == NULL) {
            first = picture;
        }
        bool same =
            picture->recovery_ms == first->recovery_ms && picture->list_count == first->list_count;
        for (uint32_t k = 0; same && k < first->list_count; k++) {
            same = tl_event_equal(picture->list[k].event, first->list[k].event) &&
                   picture->list[k].ended == first->list[k].ended;
        }
        if (!same) {
            return false;
        }
    }
    return first != NULL;
}

/*
 * A picture that has heard a list, else any. One that is older than the verdict of its validator
 * does not show what that verdict stands on, so nothing is said by it.
 */
static const struct tl_picture *
best_picture(const struct tl_member *member, uint64_t now_ms)
{
    const struct tl_picture *best = NULL;
    for (uint32_t i = 0; i < member->hear.count; i++) {
        const struct tl_picture *picture = tl_member_current_picture(member, i, now_ms);
        bool better = best == NULL || (picture != NULL && !best->list_heard && picture->list_heard);
        if (better) {
            best = picture;
        }
    }
    return best;
}

void
tl_session_asking(struct tl_session *session, struct tl_view *view, struct tl_asking *asking)
{
    uint64_t now_ms = tl_clock_boot_ms();
    struct tl_seat *seat = &session->seat;
    tl_member_view(&seat->member, now_ms, view);
    *asking =
        (struct tl_asking){.config = &seat->join.config,
                           .node = seat->join.node,
                           .as = seat->join.node,
                           .bell = &session->bell,
                           .tallies = session->tallies.config != NULL ? &session->tallies : NULL,
                           .member = &seat->member,
                           .view = view,
                           .picture = best_picture(&seat->member, now_ms),
                           .pictures_agree = pictures_agree(&seat->member, now_ms),
                           .again = session->again,
                           .again_count = session->again_count,
                           .highest_pass = session->highest_pass,
                           .now_ms = now_ms,
                           .wall_ms = tl_clock_wall_ms()};
}

static struct tl_wait *
new_wait(struct tl_session *session, int client, const char *text, uint64_t now_ms)
{
    struct tl_wait *place = &session->wait[0];
    for (size_t i = 0; i < TL_WAITS_MAX; i++) {
        struct tl_wait *wait = &session->wait[i];
        if (!wait->used) {
            place = wait;
            break;
        }
        place = wait->said_ms < place->said_ms ? wait : place;
    }
    if (place->used) {
        end_client(session, place->client, TL_EXIT_UNANSWERED);
    }
    *place = (struct tl_wait){
        .used = true, .client = client, .said_ms = now_ms, .counts = session->joining};
    (void)snprintf(place->text, sizeof place->text, "%s", text);
    return place;
}

static void
remember_pass(struct tl_session *session, const struct tl_datum *datum)
{
    if (datum->kind == TL_DATUM_ORDER && datum->slot > session->highest_pass) {
        session->highest_pass = datum->slot;
    }
}

static const char *
why_not_said(enum tl_err err)
{
    switch (err) {
    case TL_REFUSED:
        return "NOT SAID: no validator is heard; say it by voice";
    case TL_FULL:
        return "NOT SAID: too many words wait for an answer";
    case TL_PERM:
        return "NOT SAID: stations.yaml does not give this station that word";
    case TL_OK:
    case TL_EMPTY:
    case TL_AGAIN:
    case TL_BADARG:
    case TL_MALFORMED:
    case TL_STALE:
    case TL_NOTFOUND:
    case TL_EXISTS:
    case TL_IO:
    case TL_NOMEM:
    case TL_CONFIG:
        break;
    }
    return "NOT SAID";
}

/*
 * A number that a sensor gives is not keyed over it. A word toward safe is, and then stands until it is
 * taken back (tl_dials_yield).
 */
static bool
is_a_sensors(const struct tl_session *session, const struct tl_command *command, uint64_t now_ms)
{
    for (uint32_t i = 0; i < command->count; i++) {
        const struct tl_datum *datum = &command->datum[i];
        if (tl_datum_is_safeward(datum) ||
            tl_dials_yield(tl_outbox_named(&session->seat.member.outbox, datum))) {
            continue;
        }
        if (datum->kind != TL_DATUM_SHEAVE && datum->kind != TL_DATUM_BARRICADE_POWER &&
            tl_dials_speak(&session->dials, datum, now_ms)) {
            return true;
        }
    }
    return false;
}

static void
say_command(struct tl_session *session, const struct tl_command *command, int client)
{
    uint64_t now_ms = tl_clock_boot_ms();
    struct tl_member *member = &session->seat.member;
    struct tl_wait *wait = NULL;
    char line[TL_READBACK_CAP + 96];
    if (is_a_sensors(session, command, now_ms)) {
        (void)snprintf(line, sizeof line, "%s - NOT SAID: a sensor speaks for that", command->text);
        tl_session_say_line(session, client, line);
        end_client(session, client, TL_EXIT_REFUSED);
        return;
    }
    for (uint32_t i = 0; i < command->count; i++) {
        uint64_t sequence = 0;
        enum tl_err err = tl_member_say(member, &command->datum[i], now_ms, &sequence);
        if (err != TL_OK) {
            (void)snprintf(line, sizeof line, "%s - %s", command->text, why_not_said(err));
            tl_session_say_line(session, client, line);
            if (wait == NULL) {
                end_client(session, client, err == TL_PERM ? TL_EXIT_REFUSED : TL_EXIT_UNANSWERED);
            }
            return;
        }
        if (i == 0 && command->forget_list) { /* what was not said takes nothing back */
            tl_session_forget_list(session);
        }
        remember_pass(session, &command->datum[i]);
        tl_tallies_keyed(&session->tallies, &command->datum[i]);
        if (wait == NULL) {
            wait = new_wait(session, client, command->text, now_ms);
            wait->first = sequence;
            wait->safeward = tl_datum_is_safeward(&command->datum[i]);
        }
        wait->first = sequence < wait->first ? sequence : wait->first;
        wait->last = sequence > wait->last ? sequence : wait->last;
    }
}

static void
do_command(struct tl_session *session, const struct tl_command *command, int client)
{
    if (command->kind == TL_COMMAND_WIND) {
        tl_bridge_key_wind(session->bridge, &command->wind, tl_clock_boot_ms());
        tl_session_say_line(session, client, command->text);
        end_client(session, client, TL_EXIT_OK);
        return;
    }
    say_command(session, command, client);
}

/*
 * Toward READY nothing is said for somebody who has been told that nobody answered: a station that
 * stood still, or held the request, reads it late. Toward safe it is said however late.
 */
static bool
is_asked_in_vain(const struct tl_session *session, const struct tl_command *command, int client)
{
    if (client < 0 || !command->needs_confirm) {
        return false;
    }
    const struct tl_local_client *asker = &session->local.client[client];
    return tl_local_gone(asker) || tl_clock_boot_ms() - asker->asked_ms > TL_SAID_MAX_MS;
}

static void
read_back(struct tl_session *session, const struct tl_command *command, bool confirm, int client)
{
    char line[TL_READBACK_CAP + 96];
    if (is_asked_in_vain(session, command, client)) {
        (void)snprintf(line, sizeof line, "%s - NOT SAID: asked too long ago; say it again",
                       command->text);
        tl_session_say_line(session, client, line);
        end_client(session, client, TL_EXIT_UNANSWERED);
        return;
    }
    if (!command->needs_confirm || confirm) {
        do_command(session, command, client);
        return;
    }
    if (client >= 0) {
        (void)snprintf(line, sizeof line, "%s - NOT SAID: read it back, then add --confirm",
                       command->text);
        tl_session_say_line(session, client, line);
        end_client(session, client, TL_EXIT_REFUSED);
        return;
    }
    if (!session->joining && tl_session_typed_ahead(session)) {
        (void)snprintf(line, sizeof line, "%s - NOT SAID: more was typed before it was read back",
                       command->text);
        tl_session_say_line(session, client, line);
        return;
    }
    if (session->pane == NULL) { /* else it stands on the page, with its key */
        (void)snprintf(line, sizeof line, "read back: %s - type 'confirm' within 5 s",
                       command->text);
        tl_session_say_line(session, client, line);
    }
    session->command = *command;
    session->pending = true;
    if (session->joining) {
        session->exit_code = TL_EXIT_REFUSED; /* until the word is typed, it has not been said */
    }
    session->pending_until_ms = tl_clock_boot_ms() + TL_CONFIRM_MS;
}

static void
take_confirm(struct tl_session *session, bool was_pending, int client)
{
    if (client >= 0 || !was_pending) {
        tl_session_say_line(session, client, "nothing waits for a confirm");
        end_client(session, client, TL_EXIT_REFUSED);
        return;
    }
    session->exit_code = TL_EXIT_OK;
    do_command(session, &session->command, client);
}

static void
show_help(struct tl_session *session, int client)
{
    const struct tl_room *room = tl_room_of(session->seat.join.node->station);
    char line[TL_READBACK_CAP];
    const struct tl_room *both[] = {room, &tl_room_people};
    for (size_t k = 0; k < sizeof both / sizeof both[0]; k++) {
        for (size_t i = 0; i < both[k]->count; i++) {
            (void)snprintf(line, sizeof line, "%-42s %s", both[k]->verb[i].syntax,
                           both[k]->verb[i].help);
            tl_session_say_line(session, client, line);
        }
    }
    tl_session_say_line(session, client,
                        "status | alerts | mine | groove | help | quit   what is shown, and the "
                        "way out");
}

static void
show_status(struct tl_session *session, int client)
{
    char *text = NULL;
    size_t size = 0;
    FILE *memory = open_memstream(&text, &size);
    if (memory == NULL) {
        return;
    }
    tl_session_status(session, memory);
    (void)fclose(memory);
    char *rest = text;
    for (char *line = strtok_r(rest, "\n", &rest); line != NULL;
         line = strtok_r(NULL, "\n", &rest)) {
        tl_session_say_line(session, client, line);
    }
    free(text);
}

static void
show_groove(struct tl_session *session, int client)
{
    char line[TL_TEXT_CAP];
    char steady[TL_TEXT_CAP];
    tl_session_say_line(session, client,
                        tl_session_groove(session, line, sizeof line, steady, sizeof steady));
}

void
tl_session_line(struct tl_session *session, const char *line, bool confirm, int client)
{
    struct tl_view view;
    struct tl_asking asking;
    struct tl_command command;
    char scratch[TL_LINE_MAX];
    bool was_pending = session->pending && tl_clock_boot_ms() < session->pending_until_ms;
    tl_session_asking(session, &view, &asking);
    tl_command_read(&asking, line, scratch, &command);
    if (client < 0 && command.kind != TL_COMMAND_NOTHING) {
        session->pending = false;
    }
    if (command.kind == TL_COMMAND_ERROR && command.may_pass && !session->joining &&
        tl_session_hold(session, line, confirm, client)) {
        return;
    }
    tl_session_forget_held(session, client);
    switch (command.kind) {
    case TL_COMMAND_SAY:
    case TL_COMMAND_WIND:
        read_back(session, &command, confirm, client);
        return; /* its outcome ends the client */
    case TL_COMMAND_CONFIRM:
        take_confirm(session, was_pending, client);
        return;
    case TL_COMMAND_ERROR:
        tl_session_say_line(session, client, command.text);
        end_client(session, client, TL_EXIT_USAGE);
        return;
    case TL_COMMAND_STATUS:
        show_status(session, client);
        break;
    case TL_COMMAND_MINE:
        tl_session_mine(session, client);
        break;
    case TL_COMMAND_ALERTS:
        tl_session_alerts(session, client);
        break;
    case TL_COMMAND_GROOVE:
        show_groove(session, client);
        break;
    case TL_COMMAND_WEAR:
        tl_session_wear(session, client);
        break;
    case TL_COMMAND_HELP:
        show_help(session, client);
        break;
    case TL_COMMAND_QUIT:
        session->seat.ended = client < 0;
        break;
    case TL_COMMAND_NOTHING:
        break;
    }
    if (client >= 0) {
        tl_local_end(&session->local.client[client], TL_EXIT_OK);
    }
}

static bool
still_waiting(const struct tl_session *session)
{
    for (size_t i = 0; i < TL_WAITS_MAX; i++) {
        if (session->wait[i].used) {
            return true;
        }
    }
    return false;
}

static void
read_clients(struct tl_session *session, const zmq_pollitem_t *items, const int *index,
             size_t count)
{
    for (size_t i = 0; i < count; i++) {
        char text[TL_LINE_MAX];
        bool confirm = false;
        if (items[i].revents != 0 &&
            tl_local_read(&session->local.client[index[i]], &confirm, text)) {
            tl_session_line(session, text, confirm, index[i]);
        }
    }
}

/* Where the reader of this screen has gone there is nobody to tell: the station is lost. */
static bool
is_unseen(const struct tl_session *session)
{
    struct pollfd screen = {.fd = session->pane != NULL ? STDOUT_FILENO : fileno(session->out)};
    return poll(&screen, 1, 0) > 0 && (screen.revents & POLLERR) != 0;
}

/* The socket, the keyboard, each client, a bridge's feed, sensors. */
static_assert(TL_SEAT_ITEMS_MAX == TL_LOCAL_CLIENTS + 4, "all are waited for in each turn");

/* One turn: wait, read what came, act, report. */
static void
turn(struct tl_session *session)
{
    zmq_pollitem_t items[TL_SEAT_ITEMS_MAX];
    int index[TL_SEAT_ITEMS_MAX];
    size_t count = 0;
    items[count++] = (zmq_pollitem_t){.fd = session->local.fd, .events = ZMQ_POLLIN};
    bool input = !session->input_ended;
    if (input) {
        items[count++] = (zmq_pollitem_t){.fd = STDIN_FILENO, .events = ZMQ_POLLIN};
    }
    size_t first = count;
    for (int i = 0; i < TL_LOCAL_CLIENTS; i++) {
        if (session->local.client[i].fd >= 0) {
            index[count - first] = i;
            items[count++] =
                (zmq_pollitem_t){.fd = session->local.client[i].fd, .events = ZMQ_POLLIN};
        }
    }
    size_t clients = count - first;
    if (session->bridge != NULL && tl_bridge_fd(session->bridge) >= 0) {
        items[count++] =
            (zmq_pollitem_t){.fd = tl_bridge_fd(session->bridge), .events = ZMQ_POLLIN};
    }
    if (tl_dials_fd(&session->dials) >= 0) {
        items[count++] = (zmq_pollitem_t){.fd = tl_dials_fd(&session->dials), .events = ZMQ_POLLIN};
    }
    (void)tl_seat_turn(&session->seat, items, count, TL_CONFIRM_MS);
    session->seat.ended = session->seat.ended || is_unseen(session);
    tl_session_leave_gone(session);
    if (items[0].revents != 0) {
        tl_local_accept(&session->local);
    }
    if (input && items[1].revents != 0 && session->pane != NULL) {
        tl_pane_input(session->pane);
    } else if (input && items[1].revents != 0) {
        tl_session_read_input(session);
    }
    tl_session_try_held(session);
    read_clients(session, &items[first], index, clients);
    uint64_t now_ms = tl_clock_boot_ms(); /* what was just said is not younger than now */
    if (session->bridge != NULL) {
        tl_bridge_tend(session->bridge, &session->seat.member, now_ms);
    }
    tl_dials_tend(&session->dials, &session->seat.member, now_ms);
    tl_hook_tend(&session->hook, now_ms);
    tl_session_upkeep(session, now_ms);
    tl_session_outcomes(session, now_ms);
    tl_session_report(session, now_ms);
    tl_session_tell_metrics(session, now_ms);
    if (session->pane != NULL) {
        tl_pane_paint(session->pane, now_ms);
    }
}

int
tl_session_run(struct tl_session *session)
{
    session->start_ms = tl_clock_boot_ms();
    while (!session->seat.ended) {
        turn(session);
        if (session->pending && tl_clock_boot_ms() >= session->pending_until_ms) {
            session->pending = false;
            tl_session_say_line(session, -1, "not confirmed in 5 s: nothing was said");
        }
        bool feeds = (session->bridge != NULL && tl_bridge_feeding(session->bridge)) ||
                     tl_dials_feeding(&session->dials);
        if (session->input_ended && !still_waiting(session) && !tl_session_holds(session, -1) &&
            !session->stay && !feeds) {
            break;
        }
        if (tl_seat_key_refused(&session->seat) &&
            tl_clock_boot_ms() - session->start_ms > TL_SAID_MAX_MS) {
            tl_session_say_line(session, -1,
                                "every broker refused this station's key; see 'trapline keys'");
            session->exit_code = TL_EXIT_UNANSWERED;
            break;
        }
    }
    tl_session_report_end(session);
    return session->exit_code;
}
