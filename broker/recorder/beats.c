/* SPDX-License-Identifier: Apache-2.0 */
/* beats.c - see beats.h. */
#include "broker/recorder/beats.h"

#include <stdlib.h>
#include <string.h>

enum {
    BEAT_CAP = TL_FRAME_BEAT_MAX + TL_TOPIC_CAP + TL_SIGNATURE_LEN
};

struct kept {
    uint64_t incarnation, sequence; /* sequence 0 = empty */
    uint64_t wall_ms;
    size_t len;
    uint8_t bytes[BEAT_CAP];
};

struct speaker {
    char node[TL_ID_CAP];
    uint32_t next;
    struct kept kept[TL_BEATS_KEPT];
};

struct tl_beats {
    uint32_t wanted_next;
    struct tl_claim wanted[TL_BEATS_WANTED];
    uint32_t count;
    struct speaker speaker[];
};

enum tl_err
tl_beats_open(const struct tl_config *config, struct tl_beats **out)
{
    struct tl_beats *beats =
        calloc(1, sizeof *beats + config->node_count * sizeof beats->speaker[0]);
    if (beats == NULL) {
        return TL_NOMEM;
    }
    for (uint32_t i = 0; i < config->node_count; i++) {
        if (config->node[i].kind == TL_NODE_STATION) {
            memcpy(beats->speaker[beats->count++].node, config->node[i].id, TL_ID_CAP);
        }
    }
    *out = beats;
    return TL_OK;
}

void
tl_beats_close(struct tl_beats **beats)
{
    free(*beats);
    *beats = NULL;
}

static struct speaker *
speaker_of(struct tl_beats *beats, const char *node)
{
    for (uint32_t i = 0; i < beats->count; i++) {
        if (strncmp(beats->speaker[i].node, node, TL_ID_CAP) == 0) {
            return &beats->speaker[i];
        }
    }
    return NULL;
}

static bool
is_named(const struct tl_claim *claim, const struct tl_envelope *envelope)
{
    return claim->incarnation == envelope->incarnation && claim->sequence == envelope->sequence &&
           strncmp(claim->node, envelope->node, TL_ID_CAP) == 0;
}

/* True when it was waited for; it is no longer. */
static bool
take_wanted(struct tl_beats *beats, const struct tl_envelope *envelope)
{
    bool found = false;
    for (uint32_t i = 0; i < TL_BEATS_WANTED; i++) {
        if (is_named(&beats->wanted[i], envelope)) {
            beats->wanted[i] = (struct tl_claim){0};
            found = true;
        }
    }
    return found;
}

bool
tl_beats_keep(struct tl_beats *beats, const struct tl_envelope *envelope,
              const struct tl_verbatim *frame)
{
    struct speaker *speaker = speaker_of(beats, envelope->node);
    if (speaker == NULL || frame->len > BEAT_CAP) {
        return false;
    }
    struct kept *kept = &speaker->kept[speaker->next++ % TL_BEATS_KEPT];
    kept->incarnation = envelope->incarnation;
    kept->sequence = envelope->sequence;
    kept->wall_ms = envelope->wall_ms;
    kept->len = frame->len;
    memcpy(kept->bytes, frame->bytes, frame->len);
    return take_wanted(beats, envelope);
}

bool
tl_beats_name(struct tl_beats *beats, const struct tl_claim *claim, struct tl_verbatim *frame,
              uint64_t *wall_ms)
{
    struct speaker *speaker = speaker_of(beats, claim->node);
    for (uint32_t i = 0; speaker != NULL && i < TL_BEATS_KEPT; i++) {
        const struct kept *kept = &speaker->kept[i];
        if (kept->sequence == claim->sequence && kept->incarnation == claim->incarnation) {
            *frame = (struct tl_verbatim){kept->bytes, kept->len};
            *wall_ms = kept->wall_ms;
            return true;
        }
    }
    if (speaker != NULL) {
        beats->wanted[beats->wanted_next++ % TL_BEATS_WANTED] = *claim;
    }
    return false;
}
