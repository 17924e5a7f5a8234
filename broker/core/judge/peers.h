/* SPDX-License-Identifier: Apache-2.0 */
/*
 * peers.h - the other validators: are they there, and do they hold the same reports?
 *
 * Pure. A validator's verdict never depends on another's; it hears the others only to say
 * "validator lost" and "validators differ". What is compared is what stations reported (their
 * incarnation, applied sequence, digest of their data), station by station, from the other's
 * pictures; never ages, beats, wind samples or verdicts.
 *
 *   same sequence, another digest for 600 ms                    -> differ
 *   a sequence that stays below what the other had 600 ms ago   -> differ
 *
 * What the other holds is known only from its pictures, and one may be lost: it is held against it
 * only by a picture that came when the time was over.
 */
#ifndef TL_CORE_JUDGE_PEERS_H
#define TL_CORE_JUDGE_PEERS_H

#include "broker/core/rules/decide.h"

struct tl_peer_station {
    char node[TL_ID_CAP];
    uint64_t incarnation;
    bool live;
    uint64_t applied;
    uint8_t digest[TL_DATA_DIGEST_LEN];
    /* what is waited for; 0 = nothing */
    uint64_t behind_since_ms;
    uint64_t behind_target; /* the lower side must reach it */
    bool we_are_behind;
    uint64_t digest_since_ms;
    uint64_t digest_applied;
    bool differs;
};
struct tl_peer {
    char id[TL_ID_CAP];
    uint64_t incarnation;
    uint64_t verdict_sequence;
    uint64_t tick;
    uint64_t tick_ms; /* when its newest tick came */
    uint64_t picture_sequence;
    uint64_t picture_ms; /* when its newest picture came */
    uint32_t station_count;
    struct tl_peer_station station[TL_STATIONS_MAX];
};
struct tl_peers {
    uint32_t count;
    struct tl_peer peer[TL_VALIDATORS_MAX];
};

/* All validators of the configuration but this one; outside->peer gets the same order. */
void tl_peers_init(struct tl_peers *peers, struct tl_outside *outside,
                   const struct tl_config *config, const char *me, uint64_t now_ms);

/* A verified verdict or picture of another validator; others are ignored. */
void tl_peers_message(struct tl_peers *peers, struct tl_outside *outside,
                      const struct tl_config *config, const struct tl_envelope *envelope,
                      uint64_t now_ms);

/* Compare with what is held here, and notice who is lost. Returns true when something changed. */
bool tl_peers_compare(struct tl_peers *peers, struct tl_outside *outside,
                      const struct tl_fold *fold, uint64_t now_ms);

#endif
