/* SPDX-License-Identifier: Apache-2.0 */
/*
 * notify - tell the service manager how this program stands
 *
 * The datagram protocol of sd_notify(3): lines "NAME=value" to the socket that $NOTIFY_SOCKET names,
 * and the watchdog of sd_watchdog_enabled(3). No library is needed for that.
 *
 *     opened --ready--> serving --turn, turn, ...--> stopping --close
 *
 * 1. Without $NOTIFY_SOCKET nothing happens at all.
 * 2. READY=1 goes out once, when the program serves; WATCHDOG=1 only from a turn of its loop, so
 *    that a loop that stands still is ended and started again.
 * 3. Nothing here waits, and no failure reaches the caller: what the manager does not take is told
 *    again at a later turn.
 */
#ifndef PROTO_BASE_NOTIFY_H
#define PROTO_BASE_NOTIFY_H

#include <stdbool.h>
#include <stdint.h>
#include <sys/socket.h>
#include <sys/un.h>

enum {
    TL_NOTIFY_STATUS_CAP = 200 /* with NUL; a longer status is cut */
};

/* All zero is one that tells nobody. */
struct tl_notify {
    bool is_open;
    bool is_ready;
    bool ready_taken;
    bool status_taken;
    int fd;
    struct sockaddr_un to;
    socklen_t to_len;
    uint64_t feed_every_ms; /* 0 = no watchdog */
    uint64_t fed_ms;
    char status[TL_NOTIFY_STATUS_CAP]; /* what to tell, or as it was last told */
};

/*
 * Find the manager in the environment, and take its names off it, so that no child takes itself for
 * this program. Call it before any thread exists. A socket's name that cannot be used is none.
 */
void tl_notify_open(struct tl_notify *notify);

/* Say that the program serves: after its self-test, with all that it binds. status: see below. */
void tl_notify_ready(struct tl_notify *notify, const char *status);

/* Say in one line for people how it stands; made plain here. Nothing is sent when it is as before. */
void tl_notify_status(struct tl_notify *notify, const char *status);

/*
 * A turn of the loop: feed the watchdog when it is due, which is three times in its period or more
 * when the loop turns so often. now_ms: of tl_clock_boot_ms.
 */
void tl_notify_turn(struct tl_notify *notify, uint64_t now_ms);

/* Say that the program ends, and tell nothing more. Allowed at any stage and twice. */
void tl_notify_close(struct tl_notify *notify);

#endif
