/* SPDX-License-Identifier: Apache-2.0 */
/* seat.c - see seat.h. */
#include "proto/link/seat.h"

#include <inttypes.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/signalfd.h>
#include <unistd.h>

#include "proto/base/clock.h"
#include "proto/base/log.h"
#include "proto/base/signals.h"
#include "proto/vocab/rules.h"

enum {
    FRAMES_A_TURN = 256,
    TURN_MS = 50,
    SCHEMA_CAP = 80
};

static void
send_message(void *ctx, const struct tl_topic *topic, const struct tl_envelope *envelope)
{
    struct tl_seat *seat = ctx;
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    enum tl_err err = tl_link_send(seat->join.link, topic, envelope, &reason);
    if (err != TL_OK && err != TL_AGAIN) {
        tl_log(TL_LOG_ERROR, "SEA-001", "own message refused: %s, %s", tl_err_text(err),
               tl_refusal_name(reason));
    }
}

enum tl_exit
tl_seat_open(struct tl_join_options *options, struct tl_seat *seat)
{
    static const enum tl_topic_kind listen[] = {TL_TOPIC_VERDICT, TL_TOPIC_PICTURE,  TL_TOPIC_ALERT,
                                                TL_TOPIC_RECEIPT, TL_TOPIC_RECORDED, TL_TOPIC_BUS};
    options->listen = listen;
    options->listen_count = sizeof listen / sizeof listen[0];
    seat->signals = -1;
    seat->terminal = isatty(STDIN_FILENO) != 0; /* one that is gone says that it is none */
    enum tl_exit code = tl_join_configure(options, &seat->join);
    if (code != TL_EXIT_OK) {
        return code;
    }
    seat->signals = tl_signals_open();
    if (seat->signals < 0) {
        tl_log_fault("%s: no signal descriptor; too many open files?", options->program);
        return TL_EXIT_FAILED;
    }
    code = tl_join_open(options, &seat->join);
    if (code != TL_EXIT_OK) {
        return code;
    }
    tl_member_init(&seat->member, &seat->join.config, seat->join.node, seat->join.incarnation,
                   tl_clock_boot_ms());
    seat->member.port = (struct tl_port){.ctx = seat, .send = send_message};
    return TL_EXIT_OK;
}

void
tl_seat_close(struct tl_seat *seat)
{
    tl_join_close(&seat->join);
    if (seat->signals >= 0) {
        (void)close(seat->signals);
        seat->signals = -1;
    }
}

static bool
terminal_is_gone(const struct tl_seat *seat)
{
    struct pollfd input = {.fd = STDIN_FILENO};
    return seat->terminal && poll(&input, 1, 0) > 0 &&
           (input.revents & (POLLHUP | POLLERR | POLLNVAL)) != 0;
}

/* Of a station without a terminal the controlling one is not the screen; a viewer's may be. */
static bool
is_hang_up(const struct tl_seat *seat, const struct signalfd_siginfo *info)
{
    bool screen = seat->terminal || seat->join.node->kind != TL_NODE_STATION;
    return screen && info->ssi_code == SI_KERNEL;
}

static void
take_signals(struct tl_seat *seat)
{
    struct signalfd_siginfo info;
    bool reload = false;
    while (read(seat->signals, &info, sizeof info) == (ssize_t)sizeof info) {
        bool reads = info.ssi_signo == SIGHUP && !is_hang_up(seat, &info);
        reload = reload || reads;
        seat->ended = seat->ended || !reads;
    }
    seat->ended = seat->ended || terminal_is_gone(seat);
    if (reload && !seat->ended) {
        seat->has_news = true;
        tl_err_ignore(tl_join_reload_keys(&seat->join, seat->news), "the line says what is wrong");
    }
}

const char *
tl_seat_news(struct tl_seat *seat)
{
    bool has_news = seat->has_news;
    seat->has_news = false;
    return has_news ? seat->news : NULL;
}

static void
take_frames(struct tl_seat *seat)
{
    for (int i = 0; i < FRAMES_A_TURN; i++) {
        struct tl_topic topic;
        struct tl_drop drop;
        uint32_t bus = 0;
        enum tl_err err = tl_link_receive(seat->join.link, &topic, &seat->envelope, &bus, &drop);
        if (err == TL_OK) {
            tl_member_message(&seat->member, &seat->envelope, tl_clock_boot_ms());
        } else if (err == TL_REFUSED) { /* a drop is the validators' to tell, but of their own */
            (void)tl_newer_heard(&seat->newer, &drop, tl_clock_boot_ms());
        } else {
            return;
        }
    }
}

uint64_t
tl_seat_turn(struct tl_seat *seat, zmq_pollitem_t *items, size_t count, uint32_t wait_ms)
{
    zmq_pollitem_t all[TL_LINK_POLL_MAX + 1 + TL_SEAT_ITEMS_MAX];
    size_t own = count < TL_SEAT_ITEMS_MAX ? count : TL_SEAT_ITEMS_MAX;
    size_t used = tl_link_poll_items(seat->join.link, all, TL_LINK_POLL_MAX);
    all[used++] = (zmq_pollitem_t){.fd = seat->signals, .events = ZMQ_POLLIN};
    size_t first_own = used;
    for (size_t i = 0; i < own; i++) {
        all[used++] = items[i];
    }
    uint32_t due_ms = tl_member_wait_ms(&seat->member, tl_clock_boot_ms());
    wait_ms = wait_ms < TURN_MS ? wait_ms : TURN_MS;
    if (zmq_poll(all, (int)used, wait_ms < due_ms ? (long)wait_ms : (long)due_ms) < 0) {
        for (size_t i = 0; i < used; i++) {
            all[i].revents = 0; /* a signal: everything is looked at again next turn */
        }
    }
    for (size_t i = 0; i < own; i++) {
        items[i].revents = all[first_own + i].revents;
    }
    take_signals(seat);
    take_frames(seat);
    uint64_t now_ms = tl_clock_boot_ms();
    tl_notify_turn(&seat->join.notify, now_ms);
    tl_link_tend(seat->join.link, now_ms);
    tl_member_tend(&seat->member, now_ms);
    return now_ms;
}

bool
tl_seat_key_refused(const struct tl_seat *seat)
{
    uint32_t count = tl_link_bus_count(seat->join.link);
    for (uint32_t i = 0; i < count; i++) {
        if (tl_link_bus(seat->join.link, i)->state != TL_BUS_KEY_REFUSED) {
            return false;
        }
    }
    return count > 0;
}

static bool
bus_trouble(const struct tl_seat *seat, char *dst, size_t cap)
{
    uint32_t count = tl_link_bus_count(seat->join.link);
    size_t used = 0;
    for (uint32_t i = 0; i < count; i++) {
        if (tl_link_bus(seat->join.link, i)->state == TL_BUS_UP) {
            return false;
        }
    }
    for (uint32_t i = 0; i < count && used < cap; i++) {
        const struct tl_bus_health *bus = tl_link_bus(seat->join.link, i);
        int n = snprintf(dst + used, cap - used, "%s%s: %s", used > 0 ? "; " : "no bus: ", bus->id,
                         tl_bus_state_text(bus->state));
        used += n > 0 ? (size_t)n : 0;
    }
    return true;
}

/* The newest schema that it knows, when it says that it refuses us as newer; else 0. */
static uint32_t
known_to_it(const struct tl_seat *seat, uint32_t validator)
{
    const struct tl_picture *picture = &seat->member.seen[validator].picture;
    for (uint32_t i = 0; i < picture->cause_count; i++) {
        const struct tl_cause *cause = &picture->cause[i];
        if (cause->rule == TL_RULE_REFUSED_PUBLISHER && cause->reason == TL_REFUSAL_NEWER_SCHEMA &&
            strncmp(cause->station, seat->join.node->id, TL_ID_CAP) == 0) {
            return cause->needed.known ? (uint32_t)cause->needed.number : 0;
        }
    }
    return 0;
}

/* Why that validator is not heard, when it is for the schema; false when it is not. */
static bool
schema_trouble(const struct tl_seat *seat, uint32_t validator, uint64_t now_ms, char *dst,
               size_t cap)
{
    const char *id = seat->member.hear.validator[validator].id;
    uint32_t its = tl_newer_schema(&seat->newer, id, now_ms);
    uint32_t known = known_to_it(seat, validator);
    if (its != 0) {
        (void)tl_newer_text(id, its, dst, cap);
        return true;
    }
    if (known == 0 || known >= TL_SCHEMA_VERSION) {
        return false;
    }
    (void)snprintf(dst, cap, "%s knows schema %" PRIu32 ", this program speaks %u", id, known,
                   TL_SCHEMA_VERSION);
    return true;
}

/* With what to do, when its operator must. Returns the bytes that it takes. */
static size_t
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): before what, then where */
name_unheard(const struct tl_heard *heard, const char *before, char *dst, size_t cap)
{
    uint64_t older = tl_heard_older(heard);
    int n = older == 0 ? snprintf(dst, cap, "%s%s", before, heard->id)
                       : snprintf(dst, cap,
                                  "%s%s (it runs as incarnation %" PRIu64 ", and %" PRIu64
                                  " was heard: start it with --incarnation-above "
                                  "%" PRIu64 ")",
                                  before, heard->id, older, heard->incarnation, heard->incarnation);
    return n > 0 ? (size_t)n : 0;
}

bool
tl_seat_trouble(struct tl_seat *seat, uint64_t now_ms, char *dst, size_t cap)
{
    struct tl_view view;
    tl_member_view(&seat->member, now_ms, &view);
    if (view.all_verdicts) {
        return false;
    }
    if (bus_trouble(seat, dst, cap)) {
        return true;
    }
    size_t used = 0;
    for (uint32_t i = 0; i < seat->member.hear.count && used < cap; i++) {
        const struct tl_heard *heard = &seat->member.hear.validator[i];
        char schema[SCHEMA_CAP];
        if (!tl_heard_is_fresh(heard, now_ms)) {
            bool other = schema_trouble(seat, i, now_ms, schema, sizeof schema);
            const char *before = used == 0 ? "validator not heard: " : other ? "; " : ", ";
            int n = other ? snprintf(dst + used, cap - used, "%s%s", before, schema) : 0;
            used += other && n > 0 ? (size_t)n : 0;
            used += other ? 0 : name_unheard(heard, before, dst + used, cap - used);
        }
    }
    return true;
}
