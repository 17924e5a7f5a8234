/* SPDX-License-Identifier: Apache-2.0 */
/*
 * target_judge - whoever holds a key says anything that decodes: to a validator, and to a station
 *
 * An input is messages, each the time since the one before it (10 ms), its length (two bytes), its
 * topic, NUL, and its envelope: the frame without its signature. What decodes and may be on that topic
 * is heard by one validator and by primary; what they say to it, and say by themselves meanwhile, must
 * be what every receiver takes. No order of messages stops either of them, and READY is said only when
 * nothing forces and every fact is there (proven.c).
 */
#include <stdlib.h>
#include <string.h>

#include "broker/core/judge/judge.h"
#include "clients/ui/view.h"
#include "proto/codec/codec.h"
#include "proto/link/member.h"
#include "tests/fuzz/fuzz.h"
#include "tests/fuzz/pack.h"
#include "tests/support/ship.h"

enum {
    MESSAGES_MAX = 24,
    STEP_MS = 10,
    START_MS = 100000,
    SHOWN_CAP = 2048
};

struct world {
    struct tl_config config;
    struct tl_codec codec;
    struct tl_judge judge;
    struct tl_member member;
    struct tl_envelope envelope, heard;
    uint8_t bytes_of[TL_FRAME_MAX];
    uint64_t now_ms;
};

const char *const fuzz_name = "judge";

void *
fuzz_open(void)
{
    struct world *w = calloc(1, sizeof *w);
    TL_REQUIRE(w != NULL);
    ship_config_full(&w->config, 2);
    return w;
}

/* What the validator says is heard by the station, as it would be. */
static void
judge_says(void *ctx, const struct tl_topic *topic, const struct tl_envelope *said)
{
    struct world *w = ctx;
    fuzz_pack(topic, said);
    w->heard = *said;
    memcpy(w->heard.node, topic->publisher, sizeof w->heard.node);
    w->heard.incarnation = 1;
    if (topic->addressee[0] == '\0' || strcmp(topic->addressee, w->member.node->id) == 0) {
        tl_member_message(&w->member, &w->heard, w->now_ms);
    }
}

static void
member_says(void *ctx, const struct tl_topic *topic, const struct tl_envelope *said)
{
    (void)ctx;
    fuzz_pack(topic, said);
}

static void
must_be_shown(struct world *w)
{
    struct tl_view view;
    char text[SHOWN_CAP];
    tl_member_view(&w->member, w->now_ms, &view);
    TL_REQUIRE(fuzz_is_sentence(tl_ui_verdict(&view, text, sizeof text)));
}

static void
hear(struct world *w, const struct fuzz_input *message)
{
    struct tl_frame frame;
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    const uint8_t *nul = message->len > 0 ? memchr(message->bytes, 0, message->len) : NULL;

    if (nul == NULL || message->len + TL_SIGNATURE_LEN > sizeof w->bytes_of) {
        return;
    }
    size_t head = (size_t)(nul - message->bytes) + 1;
    memcpy(w->bytes_of, message->bytes, head);
    memset(w->bytes_of + head, 0, TL_SIGNATURE_LEN);
    memcpy(w->bytes_of + head + TL_SIGNATURE_LEN, message->bytes + head, message->len - head);
    if (tl_frame_split(w->bytes_of, message->len + TL_SIGNATURE_LEN, &frame, &reason) != TL_OK) {
        return;
    }
    const struct tl_node *node = tl_config_node(&w->config, frame.topic.publisher);
    if (node == NULL || !tl_config_may_publish(node, &frame.topic) ||
        tl_frame_decode(&w->codec, &frame, &w->envelope, &reason) != TL_OK) {
        return;
    }
    uint64_t digest = w->envelope.body == TL_BODY_CHANGE
                          ? tl_change_digest(&w->codec, &w->envelope.as.change)
                          : 0;
    tl_judge_message(&w->judge, &w->envelope, digest, w->now_ms);
    tl_member_message(&w->member, &w->envelope, w->now_ms);
}

void
fuzz_take(void *world, const uint8_t *bytes, size_t len)
{
    struct world *w = world;
    struct fuzz_input input = {bytes, len};

    w->now_ms = START_MS;
    tl_judge_init(&w->judge, &w->config, "validator-2", 1, w->now_ms);
    w->judge.port = (struct tl_port){.ctx = w, .send = judge_says};
    tl_member_init(&w->member, &w->config, tl_config_node(&w->config, "primary"), 1, w->now_ms);
    w->member.port.send = member_says;
    for (uint32_t i = 0; i < MESSAGES_MAX && input.len > 0; i++) {
        w->now_ms += (uint64_t)fuzz_byte(&input) * STEP_MS;
        size_t size = (size_t)fuzz_number(&input, 2);
        size = size < input.len ? size : input.len;
        const struct fuzz_input message = {input.bytes, size};
        input.bytes += size;
        input.len -= size;
        hear(w, &message);
        tl_judge_tend(&w->judge, w->now_ms);
        tl_member_tend(&w->member, w->now_ms);
        TL_REQUIRE(w->judge.decision.word != TL_WORD_READY ||
                   (w->judge.decision.forcing == 0 &&
                    tl_is_proven(&w->judge.fold, &w->judge.outside, w->now_ms)));
        must_be_shown(w);
    }
}
