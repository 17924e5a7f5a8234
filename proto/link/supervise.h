/* SPDX-License-Identifier: Apache-2.0 */
/*
 * supervise.h - is this bus alive, and when must its sockets be built anew?
 *
 * Pure. A connecting ZeroMQ socket can go silent for ever after a refused key, a mechanism
 * mismatch or an oversize message, while sending still succeeds. So a bus is believed only while
 * frames of its broker come, and its sockets are built anew with back-off when none do.
 *
 *   CONNECTING --frame, and the broker takes ours--> UP --2 s of silence--> DOWN --frame--> UP
 *       |  1.5 s without                          rebuilt each 200 ms .. 2 s while not UP
 *       +--> DOWN, or KEY_REFUSED / KEY_UNKNOWN / WRONG_KEY when the handshake said so
 *   UP, CONNECTING, DOWN --a frame 1.5 s and the back-off after it took the last of ours--> MUTE
 *
 * A broker may have two keys that are believed, the old one and the next: each rebuilding tries the
 * other one (bus.c). UP --its key is revoked--> CONNECTING, with new sockets at once.
 */
#ifndef TL_LINK_SUPERVISE_H
#define TL_LINK_SUPERVISE_H

#include <stdint.h>

#include "proto/link/link.h"

enum {
    TL_SUPERVISE_SILENT_MS = 2000, /* the broker speaks once a second */
    TL_SUPERVISE_FIRST_MS = 1500,  /* a new socket is given so long */
    TL_SUPERVISE_GAP_MIN_MS = 200,
    TL_SUPERVISE_GAP_MAX_MS = 2000
};

enum tl_supervise_event {
    TL_SUPERVISE_FRAME,       /* a verified frame came from this bus */
    TL_SUPERVISE_TAKEN,       /* the broker has subscribed to us: it takes what is sent */
    TL_SUPERVISE_NOT_TAKEN,   /* and does so no more */
    TL_SUPERVISE_AUTH_FAILED, /* the broker answered the handshake with a refusal */
    TL_SUPERVISE_NOT_LISTED,  /* the broker answered that its list does not have our key */
    TL_SUPERVISE_PROTOCOL,    /* the handshake could not be read: another key, or no CURVE there */
    TL_SUPERVISE_REBUILT,
    TL_SUPERVISE_NO_KEY,       /* no key of the broker may be believed: nothing could be built */
    TL_SUPERVISE_KEYS_CHANGED, /* keys.yaml was read again: what was refused is tried at once */
    TL_SUPERVISE_KEY_GONE /* and the key of the broker that is in use is not believed any more */
};

struct tl_supervise {
    enum tl_bus_state state;
    uint64_t built_ms;
    uint64_t heard_ms;   /* 0 = never */
    uint64_t untaken_ms; /* since when the broker takes nothing of ours; 0 = it does */
    uint64_t gap_ms;
    uint64_t rebuild_at_ms; /* 0 = not wanted */
    /* One of the sockets was, and the library never tries it again; or the broker's key is believed no
       more: they are built anew though frames come. */
    bool refused;
};

void tl_supervise_init(struct tl_supervise *supervise, uint64_t now_ms);
void tl_supervise_event(struct tl_supervise *supervise, enum tl_supervise_event event,
                        uint64_t now_ms);
/* Let time pass. True when the sockets must be built anew now. */
bool tl_supervise_tend(struct tl_supervise *supervise, uint64_t now_ms);

#endif
