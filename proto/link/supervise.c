/* SPDX-License-Identifier: Apache-2.0 */
/* supervise.c - see supervise.h. */
#include "proto/link/supervise.h"

void
tl_supervise_init(struct tl_supervise *supervise, uint64_t now_ms)
{
    *supervise = (struct tl_supervise){.state = TL_BUS_CONNECTING,
                                       .built_ms = now_ms,
                                       .untaken_ms = now_ms,
                                       .gap_ms = TL_SUPERVISE_GAP_MIN_MS};
}

static void
want_rebuild(struct tl_supervise *supervise, uint64_t at_ms)
{
    if (supervise->rebuild_at_ms == 0) {
        supervise->rebuild_at_ms = at_ms;
    }
}

static void
begin_anew(struct tl_supervise *supervise, uint64_t now_ms)
{
    supervise->state = TL_BUS_CONNECTING;
    supervise->gap_ms = TL_SUPERVISE_GAP_MIN_MS;
    supervise->rebuild_at_ms = now_ms;
}

/* Since its sockets were built. */
static bool
has_spoken(const struct tl_supervise *supervise)
{
    return supervise->heard_ms != 0 && supervise->heard_ms >= supervise->built_ms;
}

static bool
is_heard(const struct tl_supervise *supervise, uint64_t now_ms)
{
    return has_spoken(supervise) && now_ms - supervise->heard_ms <= TL_SUPERVISE_SILENT_MS;
}

/* Frames come, ours are taken, and no socket was refused for good. */
static void
rise(struct tl_supervise *supervise, uint64_t now_ms)
{
    if (!supervise->refused && supervise->untaken_ms == 0 && is_heard(supervise, now_ms)) {
        supervise->state = TL_BUS_UP;
        supervise->gap_ms = TL_SUPERVISE_GAP_MIN_MS;
        supervise->rebuild_at_ms = 0;
    }
}

void
tl_supervise_event(struct tl_supervise *supervise, enum tl_supervise_event event, uint64_t now_ms)
{
    switch (event) {
    case TL_SUPERVISE_FRAME:
        supervise->heard_ms = now_ms;
        rise(supervise, now_ms);
        break;
    case TL_SUPERVISE_TAKEN:
        supervise->untaken_ms = 0;
        rise(supervise, now_ms);
        break;
    case TL_SUPERVISE_NOT_TAKEN:
        supervise->untaken_ms = supervise->untaken_ms != 0 ? supervise->untaken_ms : now_ms;
        break;
    case TL_SUPERVISE_AUTH_FAILED:
        supervise->state = TL_BUS_KEY_REFUSED;
        supervise->refused = true;
        want_rebuild(supervise, now_ms + supervise->gap_ms);
        break;
    case TL_SUPERVISE_NOT_LISTED:
        supervise->state = TL_BUS_KEY_UNKNOWN;
        supervise->refused = true;
        want_rebuild(supervise, now_ms + supervise->gap_ms);
        break;
    case TL_SUPERVISE_PROTOCOL:
        if (supervise->state != TL_BUS_UP && supervise->state != TL_BUS_KEY_REFUSED &&
            supervise->state != TL_BUS_KEY_UNKNOWN) {
            /* That its frames come says that its key is right: who answers there is another. */
            supervise->state = is_heard(supervise, now_ms) ? TL_BUS_MUTE : TL_BUS_WRONG_KEY;
        }
        want_rebuild(supervise, now_ms + supervise->gap_ms);
        break;
    case TL_SUPERVISE_NO_KEY:
        supervise->state = TL_BUS_NO_KEY;
        break;
    case TL_SUPERVISE_KEYS_CHANGED:
        if (supervise->state != TL_BUS_UP) {
            begin_anew(supervise, now_ms);
        }
        break;
    case TL_SUPERVISE_KEY_GONE:
        begin_anew(supervise, now_ms);
        supervise->refused = true; /* by us: nothing of these sockets calls it up again */
        break;
    case TL_SUPERVISE_REBUILT:
        supervise->state = supervise->state == TL_BUS_NO_KEY ? TL_BUS_CONNECTING : supervise->state;
        supervise->built_ms = now_ms;
        supervise->untaken_ms = now_ms;
        supervise->refused = false;
        supervise->rebuild_at_ms = 0;
        supervise->gap_ms = 2 * supervise->gap_ms < TL_SUPERVISE_GAP_MAX_MS
                                ? 2 * supervise->gap_ms
                                : TL_SUPERVISE_GAP_MAX_MS;
        break;
    }
}

/* Not up any more, and built anew; what a handshake has said of it stays said. */
static void
fall(struct tl_supervise *supervise, enum tl_bus_state state, uint64_t now_ms)
{
    if (supervise->state == TL_BUS_UP || supervise->state == TL_BUS_CONNECTING ||
        supervise->state == TL_BUS_DOWN || supervise->state == TL_BUS_MUTE) {
        supervise->state = state;
    }
    want_rebuild(supervise, now_ms);
}

/* A frame came so long after it took the last of ours: the socket to send with is dead. */
static bool
is_mute(const struct tl_supervise *supervise)
{
    return supervise->untaken_ms != 0 && supervise->heard_ms > supervise->untaken_ms &&
           supervise->heard_ms - supervise->untaken_ms >= TL_SUPERVISE_FIRST_MS + supervise->gap_ms;
}

bool
tl_supervise_tend(struct tl_supervise *supervise, uint64_t now_ms)
{
    uint64_t since_built = now_ms - supervise->built_ms;
    bool spoke = has_spoken(supervise);
    bool fell_silent = spoke && !is_heard(supervise, now_ms);
    bool never_spoke = !spoke && since_built >= TL_SUPERVISE_FIRST_MS + supervise->gap_ms;
    if (fell_silent || never_spoke) {
        fall(supervise, TL_BUS_DOWN, now_ms);
    } else if (is_mute(supervise)) {
        fall(supervise, TL_BUS_MUTE, now_ms);
    } else if (!spoke && since_built >= TL_SUPERVISE_FIRST_MS &&
               supervise->state == TL_BUS_CONNECTING) {
        supervise->state = TL_BUS_DOWN;
    }
    /* A frame may still come to old sockets: those of a living bus are never touched. */
    if (supervise->state == TL_BUS_UP && now_ms - supervise->heard_ms > TL_SUPERVISE_SILENT_MS) {
        supervise->state = TL_BUS_DOWN;
    }
    return supervise->rebuild_at_ms != 0 && now_ms >= supervise->rebuild_at_ms &&
           supervise->state != TL_BUS_UP;
}
