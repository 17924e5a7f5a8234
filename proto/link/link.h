/* SPDX-License-Identifier: Apache-2.0 */
/*
 * link.h - the sockets of a node: join every configured bus, stay joined, send and receive.
 *
 * For each bus one publishing and one subscribing socket, CURVE always, each with a monitor that
 * is drained here. A connecting socket can die in silence for ever while sending still succeeds,
 * so each bus is supervised: no broker message for 2 s, or a monitor event that ends retrying,
 * rebuilds both sockets of that bus with back-off.
 *
 * Reading does everything that a receiver owes: split, byte-equal duplicate (the other bus), key
 * and signature end to end, revocation, authority of node over topic, decode and semantic check.
 * What fails is counted by reason and handed out as a drop, never as a message.
 *
 * A station also hears its own changes come back from each bus; they are counted by bus, before
 * copies are discarded, and never handed out. See carried.h.
 *
 * Invariants:
 *  1. Nothing here blocks; sending never waits for a bus.
 *  2. A message is handed out once, whichever buses bring it.
 *  3. One thread. The context is closed by tl_link_close, with no linger beyond 200 ms.
 */
#ifndef TL_LINK_LINK_H
#define TL_LINK_LINK_H

#include <poll.h>
#include <zmq.h>

#include "proto/codec/codec.h"
#include "proto/link/counts.h"
#include "proto/link/identity.h"
#include "proto/link/stages.h"
#include "proto/vocab/config.h"

struct tl_link;

struct tl_link_options {
    const struct tl_config *config;     /* borrowed */
    const struct tl_identity *identity; /* borrowed */
    uint64_t incarnation;
    /* topic kinds to subscribe; receipts and recorded are subscribed for own address only */
    const enum tl_topic_kind *listen;
    size_t listen_count;
};

enum tl_bus_state {
    TL_BUS_UNKNOWN = 0,
    TL_BUS_CONNECTING,
    TL_BUS_UP,          /* the broker takes our messages and its own are fresh */
    TL_BUS_DOWN,        /* no message of the broker for 2 s */
    TL_BUS_KEY_REFUSED, /* the broker refused our key */
    TL_BUS_KEY_UNKNOWN, /* the broker's list does not have our key */
    TL_BUS_WRONG_KEY,   /* the broker is not who the configuration says */
    TL_BUS_NO_KEY,      /* keys.yaml has no key of the broker that may be believed */
    TL_BUS_MUTE         /* its messages come, and it takes none of ours */
};
struct tl_bus_health {
    char id[TL_ID_CAP];
    enum tl_bus_state state;
    bool can_send;          /* the broker has subscribed to us */
    uint64_t last_heard_ms; /* any verified frame from that bus; 0 = never */
    uint64_t lag_ms;        /* how far it is behind the quickest bus, smoothed worst of 2 s */
    uint64_t rebuilt;       /* times the sockets were built anew */
    uint64_t received, duplicates;
};

struct tl_drop {
    enum tl_refusal reason;
    char publisher[TL_ID_CAP]; /* from the topic when it is well formed, else empty: NOT proven */
    bool signed_by_publisher;  /* the signature was good: the claim is proven */
    uint32_t schema;           /* that its envelope says it is of; 0 = not read so far */
    uint32_t bus;
};

/*
 * TL_CONFIG: no bus, or none whose broker has a key that may be believed; a bus without one beside
 * others is NO_KEY until keys change. TL_NOMEM, TL_IO: sockets. `why` gets one sentence.
 */
TL_MUST_USE enum tl_err tl_link_open(const struct tl_link_options *options, struct tl_link **out,
                                     char *why, size_t why_cap);
/* Accepts NULL; sets the caller's pointer to NULL. */
void tl_link_close(struct tl_link **link);

/* Sockets to wait on: fills items, returns how many (at most 4 a bus). */
size_t tl_link_poll_items(const struct tl_link *link, zmq_pollitem_t *items, size_t cap);
enum {
    TL_LINK_POLL_MAX = 4 * TL_BUSES_MAX
};

/*
 * Complete (node, key epoch, incarnation, schema, wall clock), sign and send on every bus that
 * can take it. TL_BADARG with *reason when our own message does not pass the check.
 * TL_AGAIN when no bus could take it (it is not queued).
 */
TL_MUST_USE enum tl_err tl_link_send(struct tl_link *link, const struct tl_topic *topic,
                                     const struct tl_envelope *envelope, enum tl_refusal *reason);

/*
 * The next message. TL_OK: *topic, *envelope. TL_EMPTY: nothing more now. TL_REFUSED: a frame was
 * dropped, *drop says why; go on reading. Reads at most one frame a call.
 */
TL_MUST_USE enum tl_err tl_link_receive(struct tl_link *link, struct tl_topic *topic,
                                        struct tl_envelope *envelope, uint32_t *bus,
                                        struct tl_drop *drop);

/*
 * The frame of the message handed out last, as it came, signature and all; valid until the next
 * call of tl_link_receive. *len is 0 when the last call gave no message.
 */
const uint8_t *tl_link_frame(struct tl_link *link, size_t *len);

/* Monitors, supervision, rebuilding. Call at least every 100 ms. */
void tl_link_tend(struct tl_link *link, uint64_t now_ms);

uint32_t tl_link_bus_count(const struct tl_link *link);
const struct tl_bus_health *tl_link_bus(const struct tl_link *link, uint32_t bus);
const char *tl_bus_state_text(enum tl_bus_state state);

/*
 * The highest sequence among the own changes of this incarnation that came back on that bus, each
 * equal byte for byte to what was sent; 0 = none. Always 0 for a node that is no station.
 */
uint64_t tl_link_own_heard(const struct tl_link *link, uint32_t bus);
/*
 * The buses on which the own change of that sequence came back, bit i for bus i. *kept is false when
 * it is not among the last TL_WINDOW that were sent: then nothing is known of it any more.
 */
uint32_t tl_link_own_carried(const struct tl_link *link, uint64_t sequence, bool *kept);

/* From now on each stage of a message is timed there (stages.h); borrowed. NULL = no more. */
void tl_link_measure(struct tl_link *link, struct tl_stages *stages);

/* What has passed through since the start. */
const struct tl_counts *tl_link_counts(const struct tl_link *link);

/*
 * Keys were re-read: revocation acts on the next frame. A bus whose broker's key in use is not
 * believed any more is left, and joined anew with one that is; what was refused is tried at once.
 */
void tl_link_keys_changed(struct tl_link *link);

#endif
