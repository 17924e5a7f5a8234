/* SPDX-License-Identifier: Apache-2.0 */
/*
 * state_io.h - one walk over fields that digests, writes or reads them; used by state.c alone.
 *
 * The same functions name the fields for all three, so that none of them can forget one. Numbers
 * are written with seven bits a byte, lowest first; texts with their length.
 */
#ifndef TL_CORE_JUDGE_STATE_IO_H
#define TL_CORE_JUDGE_STATE_IO_H

#include "proto/vocab/message.h"

enum tl_state_mode {
    TL_STATE_DIGEST,
    TL_STATE_WRITE,
    TL_STATE_READ
};

struct tl_state_io {
    enum tl_state_mode mode;
    uint64_t digest;
    size_t at;
    union {
        struct {
            uint8_t *bytes; /* gets what is written from `from` on */
            size_t from;
            size_t cap;
        } out;
        struct {
            const uint8_t *bytes;
            size_t len;
        } in;
    } as;
    bool bad; /* READ: it ends too early, or holds what cannot be */
};

void tl_io_u64(struct tl_state_io *io, uint64_t *value);
void tl_io_u32(struct tl_state_io *io, uint32_t *value);
/* A number that must not be above max. */
void tl_io_max(struct tl_state_io *io, uint32_t *value, uint32_t max);
void tl_io_i64(struct tl_state_io *io, int64_t *value);
void tl_io_i32(struct tl_state_io *io, int32_t *value);
void tl_io_flag(struct tl_state_io *io, bool *value);
/* Text in an array of cap bytes, without bytes that a terminal obeys. */
void tl_io_text(struct tl_state_io *io, char *text, size_t cap);
/* An enum of the size of an int, 0..max. */
void tl_io_enum(struct tl_state_io *io, void *value, uint32_t max);
#define TL_IO_ENUM(io, field, max)                                                                 \
    do {                                                                                           \
        static_assert(sizeof(field) == sizeof(uint32_t), "an enum is an int");                     \
        tl_io_enum((io), &(field), (uint32_t)(max));                                               \
    } while (0)

void tl_io_event(struct tl_state_io *io, struct tl_event *event);
void tl_io_order(struct tl_state_io *io, struct tl_order *order);
void tl_io_result(struct tl_state_io *io, struct tl_result *result);
void tl_io_datum(struct tl_state_io *io, struct tl_datum *datum);
/* The figures of a cause swing with a reading: they are written, not digested. */
void tl_io_cause(struct tl_state_io *io, struct tl_cause *cause);
void tl_io_predicted(struct tl_state_io *io, struct tl_predicted *predicted);
void tl_io_sample(struct tl_state_io *io, struct tl_sample *sample);

#endif
