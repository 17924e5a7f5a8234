/* SPDX-License-Identifier: Apache-2.0 */
/*
 * map.h - generated structs <-> those of proto/vocab
 *
 * tl_map_x_out makes a generated struct in the arena of a writer. A value of ours that has no form
 * on the wire (an enum not in its table, more entries than the limit, text without its NUL) sets
 * the writer's fault, and the result then must not be sent. The arena cannot run out: the largest
 * message within the limits fits it (a test builds them), so that would be a bug of ours.
 *
 * tl_map_x_in fills a struct of ours from a generated one that tl_check_message has passed. It
 * cannot fail, clears what the wire does not say, and writes within its arrays whatever it is given.
 */
#ifndef TL_CODEC_MAP_H
#define TL_CODEC_MAP_H

#include "proto/codec/arena.h"
#include "proto/codec/enums.h"
#include "proto/codec/unpack.h"
#include "proto/codec/wire.h"

struct tl_writer {
    struct tl_arena *arena;
    enum tl_refusal fault; /* the first one */
};

/* An initialised message of that type. */
void *tl_writer_message(struct tl_writer *writer, const ProtobufCMessageDescriptor *descriptor);
/* A copy of text, which ends within cap bytes; RANGE if not. */
char *tl_writer_text(struct tl_writer *writer, const char *text, size_t cap);
ProtobufCBinaryData tl_writer_bytes(struct tl_writer *writer, const uint8_t *bytes, size_t len);
/* The same of `count` bytes in an array of `max`; TOO_MANY, and none, above it. */
ProtobufCBinaryData tl_writer_some_bytes(struct tl_writer *writer, const uint8_t *bytes,
                                         size_t count, size_t max);
/* Array of *n = count pointers for the caller to fill; TOO_MANY, and *n = 0, above max. */
void *tl_writer_list(struct tl_writer *writer, size_t count, size_t *n, size_t max);
/* ENUM, and 0, for a value that is not in the table. */
uint32_t tl_writer_enum(struct tl_writer *writer, enum tl_enum id, uint32_t ours);

/* Copy text that fits; cut to cap - 1 bytes. */
void tl_map_text_in(char *dst, size_t cap, const char *src);
/* Copy exactly len bytes; zeros if there are not so many. */
void tl_map_bytes_in(uint8_t *dst, size_t len, ProtobufCBinaryData src);
uint32_t tl_map_count_in(size_t n, uint32_t max);

/* map_datum.c */
wire_event *tl_map_event_out(struct tl_writer *writer, struct tl_event event);
wire_order *tl_map_order_out(struct tl_writer *writer, const struct tl_order *order);
wire_result *tl_map_result_out(struct tl_writer *writer, const struct tl_result *result);
wire_datum *tl_map_datum_out(struct tl_writer *writer, const struct tl_datum *datum);
struct tl_event tl_map_event_in(const wire_event *wire); /* NULL gives none */
void tl_map_order_in(const wire_order *wire, struct tl_order *order);
void tl_map_result_in(const wire_result *wire, struct tl_result *result);
void tl_map_datum_in(const wire_datum *wire, struct tl_datum *datum);
wire_datum **tl_map_data_out(struct tl_writer *writer, const struct tl_datum *data, uint32_t count,
                             size_t *n);
uint32_t tl_map_data_in(wire_datum *const *wire, size_t n, struct tl_datum data[TL_DATA_MAX]);

/* map_station.c */
wire_beat *tl_map_beat_out(struct tl_writer *writer, const struct tl_beat *beat);
wire_change *tl_map_change_out(struct tl_writer *writer, const struct tl_change *change);
void tl_map_beat_in(const wire_beat *wire, struct tl_beat *beat);
void tl_map_change_in(const wire_change *wire, struct tl_change *change);
wire_sample **tl_map_samples_out(struct tl_writer *writer, const struct tl_sample *samples,
                                 uint32_t count, size_t *n);
uint32_t tl_map_samples_in(wire_sample *const *wire, size_t n,
                           struct tl_sample samples[TL_SAMPLES_MAX]);

/* map_wear.c */
wire_ended *tl_map_ended_out(struct tl_writer *writer, const struct tl_ended *ended);
void tl_map_ended_in(const wire_ended *wire, struct tl_ended *ended);
wire_worn *tl_map_worn_out(struct tl_writer *writer, const struct tl_worn *worn);
void tl_map_worn_in(const wire_worn *wire, struct tl_worn *worn);

/* map_predicted.c */
wire_would *tl_map_would_out(struct tl_writer *writer, const struct tl_would *would);
wire_predicted *tl_map_predicted_out(struct tl_writer *writer,
                                     const struct tl_predicted *predicted);
wire_expected *tl_map_expected_out(struct tl_writer *writer, const struct tl_expected *expected);
void tl_map_would_in(const wire_would *wire, struct tl_would *would);
void tl_map_predicted_in(const wire_predicted *wire, struct tl_predicted *predicted);
void tl_map_expected_in(const wire_expected *wire, struct tl_expected *expected);

/* map_validator.c */
wire_receipt *tl_map_receipt_out(struct tl_writer *writer, const struct tl_receipt *receipt);
wire_cause *tl_map_cause_out(struct tl_writer *writer, const struct tl_cause *cause);
wire_verdict *tl_map_verdict_out(struct tl_writer *writer, const struct tl_verdict *verdict);
void tl_map_receipt_in(const wire_receipt *wire, struct tl_receipt *receipt);
void tl_map_cause_in(const wire_cause *wire, struct tl_cause *cause);
void tl_map_verdict_in(const wire_verdict *wire, struct tl_verdict *verdict);

/* map_judged.c */
wire_judged *tl_map_judged_out(struct tl_writer *writer, const struct tl_judged *judged);
void tl_map_judged_in(const wire_judged *wire, struct tl_judged *judged);

/* map_picture.c */
wire_picture *tl_map_picture_out(struct tl_writer *writer, const struct tl_picture *picture);
wire_alert_set *tl_map_alerts_out(struct tl_writer *writer, const struct tl_alert_set *alerts);
void tl_map_picture_in(const wire_picture *wire, struct tl_picture *picture);
void tl_map_alerts_in(const wire_alert_set *wire, struct tl_alert_set *alerts);

/* map_envelope.c: the whole, and what recorders and brokers say */
wire_envelope *tl_map_envelope_out(struct tl_writer *writer, const struct tl_envelope *envelope);
void tl_map_envelope_in(const wire_envelope *wire, struct tl_envelope *envelope);
enum tl_body_kind tl_map_body_kind_in(const wire_envelope *wire);

#endif
