/* SPDX-License-Identifier: Apache-2.0 */
/* replayer.c - see replayer.h. */
#include "tests/support/replayer.h"

#include <stdlib.h>
#include <string.h>

#include "broker/core/judge/judged.h"
#include "proto/base/require.h"

static size_t
frame_size(const struct tl_envelope *envelope)
{
    size_t head = offsetof(struct tl_envelope, as);
    return head +
           (envelope->body == TL_BODY_BEAT ? sizeof envelope->as.beat : sizeof envelope->as.change);
}

static struct tl_envelope *
copy_frame(const struct tl_envelope *envelope)
{
    size_t size = frame_size(envelope);
    struct tl_envelope *copy = malloc(size);
    TL_REQUIRE(copy != NULL);
    memcpy(copy, envelope, size);
    return copy;
}

static void
keep(struct tl_envelope **place, const struct tl_envelope *envelope)
{
    bool again = *place != NULL && (*place)->incarnation == envelope->incarnation &&
                 (*place)->sequence == envelope->sequence;
    if (!again) { /* the first copy of a change is kept */
        free(*place);
        *place = copy_frame(envelope);
    }
}

static struct replayer_life *
life_of(struct replayer *replayer, const struct tl_envelope *envelope)
{
    for (uint32_t i = 0; i < replayer->life_count; i++) {
        struct replayer_life *life = &replayer->life[i];
        if (life->incarnation == envelope->incarnation &&
            strncmp(life->validator, envelope->node, TL_ID_CAP) == 0) {
            return life;
        }
    }
    TL_REQUIRE(replayer->life_count < REPLAYER_LIVES);
    struct replayer_life *life = &replayer->life[replayer->life_count++];
    memset(life, 0, sizeof *life);
    memcpy(life->validator, envelope->node, TL_ID_CAP);
    life->incarnation = envelope->incarnation;
    return life;
}

static struct tl_envelope *
named_frame(struct replayer *replayer, const struct tl_judged *judged)
{
    bool change = judged->kind == TL_JUDGED_APPLIED || judged->kind == TL_JUDGED_REFUSED;
    for (uint32_t i = 0; i < replayer->sim->count && tl_replay_names_frame(judged->kind); i++) {
        struct replayer_frames *frames = &replayer->frames[i];
        struct tl_envelope *const *kept = change ? frames->change : frames->beat;
        const struct tl_envelope *frame = kept[judged->sequence % REPLAYER_KEPT];
        if (frame != NULL && frame->sequence == judged->sequence &&
            frame->incarnation == judged->incarnation && strcmp(frame->node, judged->node) == 0) {
            return copy_frame(frame);
        }
    }
    return NULL;
}

static void
take_row(struct replayer *replayer, const struct tl_envelope *envelope)
{
    struct replayer_life *life = life_of(replayer, envelope);
    if (life->count == life->cap) {
        life->cap = life->cap == 0 ? 256 : 2 * life->cap;
        life->row = realloc(life->row, life->cap * sizeof *life->row);
        TL_REQUIRE(life->row != NULL);
    }
    life->row[life->count++] =
        (struct replayer_row){.sequence = envelope->sequence,
                              .event = envelope->event,
                              .judged = envelope->as.judged,
                              .frame = named_frame(replayer, &envelope->as.judged)};
}

static void
tap(struct sim *sim, const struct sim_node *from, const struct tl_topic *topic,
    const struct tl_envelope *envelope)
{
    struct replayer *replayer = sim->tap_ctx;
    size_t at = (size_t)(from - sim->node);
    if (topic->kind == TL_TOPIC_CHANGE) {
        keep(&replayer->frames[at].change[envelope->sequence % REPLAYER_KEPT], envelope);
    } else if (topic->kind == TL_TOPIC_BEAT) {
        keep(&replayer->frames[at].beat[envelope->sequence % REPLAYER_KEPT], envelope);
    } else if (topic->kind == TL_TOPIC_JUDGED && !replayer->deaf) {
        take_row(replayer, envelope);
    }
}

struct replayer *
replayer_open(struct sim *sim)
{
    struct replayer *replayer = calloc(1, sizeof *replayer);
    TL_REQUIRE(replayer != NULL);
    replayer->sim = sim;
    sim->tap = tap;
    sim->tap_ctx = replayer;
    return replayer;
}

void
replayer_close(struct replayer **closing)
{
    struct replayer *replayer = *closing;
    for (uint32_t i = 0; i < replayer->life_count; i++) {
        for (uint32_t k = 0; k < replayer->life[i].count; k++) {
            free(replayer->life[i].row[k].frame);
        }
        free(replayer->life[i].row);
    }
    for (uint32_t i = 0; i < SIM_NODES; i++) {
        for (uint32_t k = 0; k < REPLAYER_KEPT; k++) {
            free(replayer->frames[i].change[k]);
            free(replayer->frames[i].beat[k]);
        }
    }
    free(replayer);
    *closing = NULL;
}

void
replayer_beat(struct replayer *replayer)
{
    struct sim *sim = replayer->sim;
    if (replayer->deaf || sim->now_ms - replayer->heard_ms < TL_BEAT_MS) {
        return;
    }
    replayer->heard_ms = sim->now_ms;
    for (uint32_t i = 0; i < sim->count; i++) {
        struct sim_node *node = &sim->node[i];
        if (node->judge != NULL && node->running && !node->stopped) {
            tl_judged_recorder(node->judge, sim_clock(sim, node));
        }
    }
}

struct tl_replay_step
replayer_take(struct tl_replay *replay, const struct replayer_row *row, struct tl_envelope *room)
{
    struct tl_replay_row next = {
        .sequence = row->sequence, .event = row->event, .judged = &row->judged};
    if (row->frame != NULL) {
        memcpy(room, row->frame, frame_size(row->frame));
        next.frame = room;
        next.digest = room->body == TL_BODY_CHANGE ? sim_change_digest(&room->as.change) : 0;
    }
    return tl_replay_take(replay, &next);
}

struct replayer_difference
replayer_life(const struct replayer_life *life, const struct tl_config *config, bool what_if,
              struct replayer_counts *counts)
{
    struct replayer_difference difference = {0};
    struct tl_replay *replay = calloc(1, sizeof *replay);
    struct tl_envelope *room = calloc(1, sizeof *room);
    TL_REQUIRE(replay != NULL && room != NULL);
    tl_replay_init(replay, config, life->validator, life->incarnation);
    replay->what_if = what_if;
    for (uint32_t i = 0; i < life->count; i++) {
        const struct replayer_row *row = &life->row[i];
        struct tl_replay_step step = replayer_take(replay, row, room);
        counts->kind[row->judged.kind]++;
        counts->ready += step.judged && replay->judge.decision.word == TL_WORD_READY ? 1 : 0;
        if (step.checked && step.differs != 0 && !difference.found) {
            difference = (struct replayer_difference){.found = true,
                                                      .sequence = row->sequence,
                                                      .kind = row->judged.kind,
                                                      .differs = step.differs};
            memcpy(difference.validator, life->validator, TL_ID_CAP);
        }
    }
    counts->lives++;
    counts->rows += replay->rows;
    counts->bases += replay->bases;
    counts->checked += replay->checked;
    counts->equal += replay->equal;
    counts->unchecked += replay->unchecked;
    free(room);
    free(replay);
    return difference;
}

struct replayer_difference
replayer_all(const struct replayer *replayer, struct replayer_counts *counts)
{
    struct replayer_difference first = {0};
    for (uint32_t i = 0; i < replayer->life_count; i++) {
        struct replayer_difference one =
            replayer_life(&replayer->life[i], &replayer->sim->config, false, counts);
        first = first.found ? first : one;
    }
    return first;
}
