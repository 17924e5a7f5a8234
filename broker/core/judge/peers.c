/* SPDX-License-Identifier: Apache-2.0 */
/* peers.c - see peers.h. */
#include "broker/core/judge/peers.h"

#include <string.h>

void
tl_peers_init(struct tl_peers *peers, struct tl_outside *outside, const struct tl_config *config,
              const char *me, uint64_t now_ms)
{
    memset(peers, 0, sizeof *peers);
    for (uint32_t i = 0; i < config->node_count && peers->count < TL_VALIDATORS_MAX; i++) {
        const struct tl_node *node = &config->node[i];
        if (node->kind == TL_NODE_VALIDATOR && strncmp(node->id, me, TL_ID_CAP) != 0) {
            memcpy(outside->peer[peers->count].id, node->id, TL_ID_CAP);
            peers->peer[peers->count].tick_ms = now_ms;
            memcpy(peers->peer[peers->count++].id, node->id, TL_ID_CAP);
        }
    }
    outside->peer_count = peers->count;
}

static struct tl_peer_station *
place_station(struct tl_peer *peer, const char *node)
{
    for (uint32_t i = 0; i < peer->station_count; i++) {
        if (strncmp(peer->station[i].node, node, TL_ID_CAP) == 0) {
            return &peer->station[i];
        }
    }
    if (peer->station_count == TL_STATIONS_MAX) {
        return NULL;
    }
    struct tl_peer_station *station = &peer->station[peer->station_count++];
    memset(station, 0, sizeof *station);
    memcpy(station->node, node, TL_ID_CAP);
    return station;
}

static void
take_picture(struct tl_peer *peer, const struct tl_envelope *envelope, uint64_t now_ms)
{
    if (envelope->sequence <= peer->picture_sequence) {
        return;
    }
    peer->picture_sequence = envelope->sequence;
    peer->picture_ms = now_ms;
    const struct tl_picture *picture = &envelope->as.picture;
    for (uint32_t i = 0; i < picture->station_count; i++) {
        const struct tl_station_state *state = &picture->station[i];
        struct tl_peer_station *station = place_station(peer, state->node);
        if (station != NULL) {
            station->incarnation = state->incarnation;
            station->live = state->live == TL_LIVE_LIVE;
            station->applied = state->applied;
            memcpy(station->digest, state->digest, sizeof station->digest);
        }
    }
}

static void
take_verdict(struct tl_peer *peer, struct tl_peer_state *state, const struct tl_config *config,
             const struct tl_envelope *envelope, uint64_t now_ms)
{
    const struct tl_verdict *verdict = &envelope->as.verdict;
    if (envelope->sequence <= peer->verdict_sequence) {
        return;
    }
    peer->verdict_sequence = envelope->sequence;
    if (verdict->is_tick && verdict->tick > peer->tick) {
        peer->tick = verdict->tick;
        peer->tick_ms = now_ms;
    }
    state->keys_differ = memcmp(verdict->key_digest, config->key_digest, TL_DIGEST_LEN) != 0;
}

void
tl_peers_message(struct tl_peers *peers, struct tl_outside *outside, const struct tl_config *config,
                 const struct tl_envelope *envelope, uint64_t now_ms)
{
    for (uint32_t i = 0; i < peers->count; i++) {
        struct tl_peer *peer = &peers->peer[i];
        if (strncmp(peer->id, envelope->node, TL_ID_CAP) != 0 ||
            envelope->incarnation < peer->incarnation) {
            continue;
        }
        if (envelope->incarnation > peer->incarnation) {
            peer->incarnation = envelope->incarnation;
            outside->peer[i].incarnation = envelope->incarnation;
            peer->verdict_sequence = 0;
            peer->picture_sequence = 0;
            peer->tick = 0;
            peer->station_count = 0;
        }
        if (envelope->body == TL_BODY_VERDICT) {
            take_verdict(peer, &outside->peer[i], config, envelope, now_ms);
        } else if (envelope->body == TL_BODY_PICTURE) {
            take_picture(peer, envelope, now_ms);
        }
    }
}

static void
forget_waits(struct tl_peer_station *station)
{
    station->behind_since_ms = 0;
    station->digest_since_ms = 0;
    station->differs = false;
}

/* One side has applied more: the other must reach that number in time. */
static bool
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): own and other, told apart by their users */
stays_behind(struct tl_peer_station *station, uint64_t ours, uint64_t picture_ms, uint64_t now_ms)
{
    uint64_t theirs = station->applied;
    if (station->behind_since_ms != 0) {
        uint64_t lower = station->we_are_behind ? ours : theirs;
        if (lower >= station->behind_target) {
            station->behind_since_ms = 0;
        }
    }
    if (station->behind_since_ms == 0 && ours != theirs) {
        station->behind_since_ms = now_ms;
        station->we_are_behind = ours < theirs;
        station->behind_target = ours < theirs ? theirs : ours;
    }
    uint64_t seen_ms = station->we_are_behind ? now_ms : picture_ms;
    return station->behind_since_ms != 0 && seen_ms >= station->behind_since_ms + TL_DIFFER_MS;
}

static bool
stays_other(struct tl_peer_station *station, const struct tl_told *told, uint64_t picture_ms,
            uint64_t now_ms)
{
    uint8_t ours[TL_DATA_DIGEST_LEN];
    tl_told_digest(told, ours);
    if (told->applied != station->applied || memcmp(ours, station->digest, sizeof ours) == 0) {
        station->digest_since_ms = 0;
        return false;
    }
    if (station->digest_since_ms == 0 || station->digest_applied != told->applied) {
        station->digest_since_ms = now_ms;
        station->digest_applied = told->applied;
    }
    return picture_ms >= station->digest_since_ms + TL_DIFFER_MS;
}

static bool
compare_station(struct tl_peer_station *station, const struct tl_fold *fold, uint64_t picture_ms,
                uint64_t now_ms)
{
    const struct tl_told *told = tl_fold_told_const(fold, station->node);
    if (told == NULL || !told->live || !station->live ||
        told->incarnation != station->incarnation) {
        forget_waits(station); /* "station lost" says it already, here or there */
        return false;
    }
    bool behind = stays_behind(station, told->applied, picture_ms, now_ms);
    bool other = stays_other(station, told, picture_ms, now_ms);
    station->differs = behind || other;
    return station->differs;
}

bool
tl_peers_compare(struct tl_peers *peers, struct tl_outside *outside, const struct tl_fold *fold,
                 uint64_t now_ms)
{
    bool changed = false;
    for (uint32_t i = 0; i < peers->count; i++) {
        struct tl_peer *peer = &peers->peer[i];
        struct tl_peer_state *state = &outside->peer[i];
        bool lost = now_ms - peer->tick_ms > TL_LOST_MS;
        bool differ = false;
        for (uint32_t k = 0; k < peer->station_count; k++) {
            if (lost) {
                forget_waits(&peer->station[k]);
            } else {
                differ =
                    compare_station(&peer->station[k], fold, peer->picture_ms, now_ms) || differ;
            }
        }
        if (state->differ && !differ) {
            state->differ_back_ms = now_ms;
        }
        changed = changed || state->lost != lost || state->differ != differ;
        state->lost = lost;
        state->differ = differ;
    }
    return changed;
}
