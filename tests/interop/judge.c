/* SPDX-License-Identifier: Apache-2.0 */
/*
 * judge.c - what the codec says of a frame, for whoever compares it with a codec of his own
 *
 * Reads lines "TOPIC HEX" from standard input, HEX the bytes of an envelope, and writes for each
 * the name of the refusal, or "accepted". There is no signature: this is the reader behind it.
 */
#include <inttypes.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "proto/codec/codec.h"

enum {
    FRAME_CAP = TL_FRAME_MAX + 1,
    LINE_CAP = TL_TOPIC_CAP + 2 * FRAME_CAP + 8
};

struct room {
    struct tl_codec codec;
    struct tl_envelope envelope;
    uint8_t bytes[TL_TOPIC_CAP + TL_SIGNATURE_LEN + FRAME_CAP];
    char line[LINE_CAP];
};

/* The frame of a line, its signature left 0; 0 when the line is none. */
static size_t
lay_out(struct room *room)
{
    size_t topic_len = strcspn(room->line, " ");
    const char *hex = room->line + topic_len + 1;
    size_t len = topic_len + 1 + TL_SIGNATURE_LEN;
    if (room->line[topic_len] != ' ' || topic_len >= TL_TOPIC_CAP) {
        return 0;
    }
    memset(room->bytes, 0, len);
    memcpy(room->bytes, room->line, topic_len);
    while (hex[0] != '\0' && hex[1] != '\0' && len < sizeof room->bytes) {
        const char digits[] = {hex[0], hex[1], '\0'};
        room->bytes[len++] = (uint8_t)strtoul(digits, NULL, 16);
        hex += 2;
    }
    return len;
}

static const char *
judge(struct room *room)
{
    struct tl_frame frame;
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    size_t len = lay_out(room);
    if (len == 0) {
        return "no line";
    }
    if (tl_frame_split(room->bytes, len, &frame, &reason) != TL_OK ||
        tl_frame_decode(&room->codec, &frame, &room->envelope, &reason) != TL_OK) {
        return tl_refusal_name(reason);
    }
    return "accepted";
}

int
main(void)
{
    struct room *room = calloc(1, sizeof *room);
    if (room == NULL) {
        return 1;
    }
    while (fgets(room->line, sizeof room->line, stdin) != NULL) {
        room->line[strcspn(room->line, "\n")] = '\0';
        (void)puts(judge(room));
    }
    free(room);
    return 0;
}
