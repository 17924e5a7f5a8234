/* SPDX-License-Identifier: Apache-2.0 */
/*
 * seat.h - a text client at its place on the bus: sockets and clock around the pure member.
 *
 * Stations and viewers share it. The owner's loop calls tl_seat_turn, which waits for frames and
 * for the owner's own descriptors, feeds the member, and tends it; beats are therefore made by the
 * loop that reads keys and paints.
 *
 * SIGHUP from somebody asks for keys.yaml to be read again; from the system it says that the terminal
 * has hung up. A shell that loses its terminal sends it too: so whether the terminal is still there is
 * looked at by itself in each turn.
 */
#ifndef TL_LINK_SEAT_H
#define TL_LINK_SEAT_H

#include "proto/link/join.h"
#include "proto/link/member.h"
#include "proto/link/newer.h"

struct tl_seat {
    struct tl_join join;
    struct tl_member member;
    struct tl_newer newer;
    struct tl_envelope envelope;
    int signals;
    bool ended;    /* a signal asked to end, or nobody can see this screen any more */
    bool terminal; /* standard input was one at the start: its hang-up ends the program */
    bool has_news;
    char news[TL_REKEY_CAP]; /* what a SIGHUP came to */
};

enum {
    TL_SEAT_ITEMS_MAX = 12
};

/*
 * Join as that node. options->listen is set here. The seat is large: allocate it once, zeroed.
 * Returns an exit code; on another than TL_EXIT_OK one line has been printed.
 */
enum tl_exit tl_seat_open(struct tl_join_options *options, struct tl_seat *seat);
void tl_seat_close(struct tl_seat *seat);

/*
 * One turn of the loop: wait at most `wait_ms` (capped at 50) for frames or for `items` (the
 * owner's descriptors, at most TL_SEAT_ITEMS_MAX; revents are filled), then read and tend.
 * Returns the time after the turn, ms.
 */
uint64_t tl_seat_turn(struct tl_seat *seat, zmq_pollitem_t *items, size_t count, uint32_t wait_ms);

/*
 * Why there is no verdict, in one sentence: no bus, key refused, wrong key, validators absent,
 * or of a newer schema than the other side knows, with both versions.
 * False when every configured validator's verdict is fresh. `dst` takes TL_TEXT_CAP bytes or more.
 */
bool tl_seat_trouble(struct tl_seat *seat, uint64_t now_ms, char *dst, size_t cap);

/*
 * What became of the keys that a SIGHUP asked to be read again, once: one line, or NULL when there is
 * nothing to say. Borrowed until the next turn.
 */
const char *tl_seat_news(struct tl_seat *seat);

/* Every bus refused our key: trying again makes no sense until keys are changed. */
bool tl_seat_key_refused(const struct tl_seat *seat);

#endif
