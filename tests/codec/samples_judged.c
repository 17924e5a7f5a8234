/* SPDX-License-Identifier: Apache-2.0 */
/* samples_judged.c - messages of ours about what was judged. See samples.h. */
#include <string.h>

#include "proto/vocab/rules.h"
#include "tests/codec/samples.h"

static void
fill_digest(uint8_t *bytes, size_t len, uint8_t first)
{
    for (size_t i = 0; i < len; i++) {
        bytes[i] = (uint8_t)(first + i);
    }
}

void
sample_fill_outcome(struct tl_judgement *outcome)
{
    *outcome = (struct tl_judgement){.word = TL_WORD_NOT_READY,
                                     .cause_count = 3,
                                     .rule = TL_RULE_STATION_LOST,
                                     .station = "engine-2"};
    fill_digest(outcome->causes, sizeof outcome->causes, 0x30);
    fill_digest(outcome->inputs, sizeof outcome->inputs, 0x40);
    fill_digest(outcome->held, sizeof outcome->held, 0x50);
}

void
sample_fill_judged_seen(struct tl_judged *judged)
{
    *judged = (struct tl_judged){.now_ms = 86400126,
                                 .node = "validator-1",
                                 .incarnation = 1764050340000,
                                 .kind = TL_JUDGED_SEEN,
                                 .seen = {.rule = TL_RULE_REFUSED_PUBLISHER,
                                          .node = "deck",
                                          .incarnation = 1764050340001,
                                          .reason = TL_REFUSAL_SIGNATURE,
                                          .gone = true}};
    sample_fill_outcome(&judged->outcome);
}

void
sample_fill_judged_base(struct tl_judged *judged)
{
    *judged = (struct tl_judged){.now_ms = 86400127,
                                 .node = "validator-1",
                                 .incarnation = 1764050340000,
                                 .kind = TL_JUDGED_BASE,
                                 .base = {.part = 1, .parts = 2, .len = 5}};
    fill_digest(judged->base.judgement_digest, sizeof judged->base.judgement_digest, 0x61);
    fill_digest(judged->base.bytes, judged->base.len, 0x31);
}
