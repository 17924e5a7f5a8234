/* SPDX-License-Identifier: Apache-2.0 */
/* carried.c - see carried.h. */
#include "proto/link/carried.h"

#include <assert.h>
#include <string.h>

static_assert(TL_BUSES_MAX <= 8, "the buses of a change are the bits of a byte");

void
tl_carried_sent(struct tl_carried *carried, uint64_t sequence, const uint8_t hash[TL_DUP_HASH_LEN])
{
    struct tl_carried_frame *frame = &carried->frame[carried->next++ % TL_WINDOW];
    uint64_t place = sequence % TL_WINDOW;
    memcpy(frame->hash, hash, TL_DUP_HASH_LEN);
    frame->sequence = sequence;
    if (sequence > carried->sequence[place]) {
        carried->sequence[place] = sequence;
        carried->buses[place] = 0;
    }
}

static const struct tl_carried_frame *
find_frame(const struct tl_carried *carried, const uint8_t hash[TL_DUP_HASH_LEN])
{
    for (uint32_t i = 0; i < TL_WINDOW; i++) {
        const struct tl_carried_frame *frame = &carried->frame[i];
        if (frame->sequence != 0 && memcmp(frame->hash, hash, TL_DUP_HASH_LEN) == 0) {
            return frame;
        }
    }
    return NULL;
}

bool
tl_carried_heard(struct tl_carried *carried, uint32_t bus, const uint8_t hash[TL_DUP_HASH_LEN])
{
    const struct tl_carried_frame *frame = find_frame(carried, hash);
    if (frame == NULL) {
        return false;
    }
    uint64_t place = frame->sequence % TL_WINDOW;
    if (frame->sequence > carried->highest[bus]) {
        carried->highest[bus] = frame->sequence;
    }
    if (frame->sequence == carried->sequence[place]) {
        carried->buses[place] = (uint8_t)(carried->buses[place] | 1u << bus);
    }
    return true;
}

uint32_t
tl_carried_buses(const struct tl_carried *carried, uint64_t sequence, bool *kept)
{
    uint64_t place = sequence % TL_WINDOW;
    *kept = sequence != 0 && carried->sequence[place] == sequence;
    return *kept ? carried->buses[place] : 0;
}
