/* SPDX-License-Identifier: Apache-2.0 */
/*
 * samples.h - messages of ours that are also written, by hand, as golden/NAME.txtpb
 *
 * The bytes in golden/NAME.hex are what protoc makes of the text (golden.sh compares them), and
 * what tl_frame_build must make of the sample. Together they set every field of the schema.
 */
#ifndef TESTS_CODEC_SAMPLES_H
#define TESTS_CODEC_SAMPLES_H

#include "proto/vocab/message.h"

struct sample {
    const char *name;
    enum tl_body_kind body;
    const char *node;
    void (*fill)(struct tl_envelope *envelope); /* of a cleared one; all but schema, node, body */
};

/* samples_computed.c: what the mechanics say */
void sample_fill_computed(struct tl_picture *picture);
void sample_fill_judged_predicted(struct tl_judged *judged);
void sample_fill_judged_expected(struct tl_judged *judged);
/* samples_judged.c: what was judged by what */
void sample_fill_outcome(struct tl_judgement *outcome);
void sample_fill_judged_seen(struct tl_judged *judged);
void sample_fill_judged_base(struct tl_judged *judged);

/* samples_wear.c: pendants and cables, and how passes ended */
void sample_fill_cable(struct tl_cable *cable);
void sample_fill_pendant(struct tl_wear *wear);
void sample_fill_ended(struct tl_picture *picture);
void sample_fill_recorded(struct tl_recorded *recorded);

const struct sample *samples_all(size_t *count);

/* Clear and fill the whole envelope. */
void sample_fill(const struct sample *sample, struct tl_envelope *envelope);

#endif
