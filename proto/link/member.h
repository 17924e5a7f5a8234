/* SPDX-License-Identifier: Apache-2.0 */
/*
 * member.h - the machine of every text client on the bus: a station, or a viewer that only looks.
 *
 * Pure: messages and the time come in, messages go out through a port. It beats on ticks, says
 * changes and resends them until receipted, keeps the newest picture and alerts of each validator,
 * combines the verdicts, and makes its own words UNKNOWN when they no longer hold:
 *
 *   the current event changed      every accepted READY-ward event word for an event that no
 *                                  validator names any more
 *   no validator for 10 s          every READY-ward word of event cadence
 *   refused, void, not confirmed   that word (see outbox.h)
 *
 * Invariants: a viewer never says anything; a change leaves before the beat that covers it.
 */
#ifndef TL_LINK_MEMBER_H
#define TL_LINK_MEMBER_H

#include "proto/link/outbox.h"
#include "proto/link/screen.h"

struct tl_member_seen {
    uint64_t incarnation;
    uint64_t picture_sequence;
    bool has_picture;
    struct tl_picture picture;
    uint64_t alerts_sequence;
    bool has_alerts;
    struct tl_alert_set alerts;
    uint64_t alerts_shown; /* sequence of the newest set that was shown to people here */
};

/* What a recorder counts of the pendants and cables, as it last told this station. */
struct tl_member_worn {
    char recorder[TL_ID_CAP];
    uint64_t heard_ms;
    uint64_t incarnation;
    uint64_t sequence;
    uint32_t count;
    struct tl_worn worn[TL_WORN_MAX];
};

struct tl_member {
    const struct tl_config *config;
    const struct tl_node *node;
    struct tl_port port;
    uint64_t incarnation;
    struct tl_hear hear;
    struct tl_outbox outbox;
    struct tl_screen screen;
    struct tl_member_seen seen[TL_VALIDATORS_MAX]; /* in the order of hear */
    uint32_t worn_count;
    struct tl_member_worn worn[TL_RECORDERS_MAX]; /* by recorder, as they were first heard */
    uint64_t beat_sequence;
    uint64_t last_beat_ms;
    bool beat_wanted;
    bool ever_beat;
    uint64_t latest_ms;     /* time never runs backwards here, whoever calls with an older one */
    uint64_t last_heard_ms; /* some validator heard, or the start */
    bool heard_before;
    uint64_t higher_incarnation; /* set when an old incarnation is told so */
    uint32_t sample_count;
    struct tl_sample sample[TL_SAMPLES_MAX];
    struct tl_envelope scratch;
};

/*
 * `config` and `node` (a station or a viewer of it) are borrowed for the machine's life. The
 * structure is large: allocate it once.
 */
void tl_member_init(struct tl_member *member, const struct tl_config *config,
                    const struct tl_node *node, uint64_t incarnation, uint64_t now_ms);

/* A verified, decoded message of another node. Others than a validator's are ignored. */
void tl_member_message(struct tl_member *member, const struct tl_envelope *envelope,
                       uint64_t now_ms);

/* The own timer: call at least every 50 ms, and after each batch of messages. */
void tl_member_tend(struct tl_member *member, uint64_t now_ms);
/* How long nothing of its own is due, ms: a beat that waits for its turn goes on time. */
uint32_t tl_member_wait_ms(const struct tl_member *member, uint64_t now_ms);

/*
 * Say a datum: the change leaves at once, the beat after it. A setting or a repeater that changes
 * its value for a queued event is the value of the thing at once: the current event, when it is
 * known, is added to those it is stated for (in front; the last makes room). TL_REFUSED: no
 * validator is heard (toward READY). TL_FULL: see outbox. TL_PERM: this station may not state it.
 */
TL_MUST_USE enum tl_err tl_member_say(struct tl_member *member, const struct tl_datum *datum,
                                      uint64_t now_ms, uint64_t *sequence);

/* Samples of the next beats (bridge); count at most TL_SAMPLES_MAX. */
void tl_member_samples(struct tl_member *member, const struct tl_sample *sample, uint32_t count);

void tl_member_view(struct tl_member *member, uint64_t now_ms, struct tl_view *view);

/*
 * The picture that explains a view: the newest of the validator it comes from. *old is set when it
 * is older than the one the verdict stands on. NULL when there is none.
 */
const struct tl_picture *tl_member_picture(const struct tl_member *member,
                                           const struct tl_view *view, bool *old);

/*
 * What a fresh verdict of that validator (index in hear) stands on, or something newer: NULL when
 * there is no fresh verdict or its picture has not come.
 */
const struct tl_picture *tl_member_current_picture(const struct tl_member *member,
                                                   uint32_t validator, uint64_t now_ms);

/*
 * What tl_member_alerts gave at that time has been shown to people: the validators whose sets it is
 * made of are told so by the next beats.
 */
void tl_member_alerts_shown(struct tl_member *member, uint64_t now_ms);

/*
 * All alerts of all validators that are fresh, each instance once, in the order of the first; of
 * two validators' words on one, an active one counts before a returned one, and who has shown or
 * acknowledged it to either has done so. Returns how many were written (at most cap).
 */
uint32_t tl_member_alerts(const struct tl_member *member, uint64_t now_ms, struct tl_alert *out,
                          uint32_t cap);

#endif
