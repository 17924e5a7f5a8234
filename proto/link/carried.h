/* SPDX-License-Identifier: Apache-2.0 */
/*
 * carried.h - which bus has brought our own changes back: proof that it carried them.
 *
 * Pure. A station hears its own topic of changes. A frame there counts for a bus only when it is,
 * byte for byte, one of the last TL_WINDOW frames that this program sent; the caller compares by
 * keyed hash (dup.h). So no frame of another maker, of an earlier life or of another sequence can
 * stand for a change that never arrived.
 *
 * A change that is sent again is another frame of the same sequence; each copy counts for it.
 */
#ifndef TL_LINK_CARRIED_H
#define TL_LINK_CARRIED_H

#include "proto/link/dup.h"
#include "proto/vocab/limits.h"

struct tl_carried_frame {
    uint8_t hash[TL_DUP_HASH_LEN];
    uint64_t sequence; /* 0 = unused */
};
struct tl_carried {
    struct tl_carried_frame frame[TL_WINDOW]; /* sent, the oldest makes room */
    uint32_t next;
    uint64_t highest[TL_BUSES_MAX]; /* sequence heard back; 0 = none */
    uint64_t sequence[TL_WINDOW];   /* the newest of each place, sequence % TL_WINDOW */
    uint8_t buses[TL_WINDOW];       /* that brought it back, a bit each */
};

/* A change of that sequence (1 or more) is leaving as the frame with that hash. */
void tl_carried_sent(struct tl_carried *carried, uint64_t sequence,
                     const uint8_t hash[TL_DUP_HASH_LEN]);

/* A frame came back on that bus (below TL_BUSES_MAX). False: it is none of ours; nothing counts. */
bool tl_carried_heard(struct tl_carried *carried, uint32_t bus,
                      const uint8_t hash[TL_DUP_HASH_LEN]);

/* The buses that brought the change of that sequence back, bit i for bus i; 0 also when it is not
 * among the last TL_WINDOW sequences: *kept tells. */
uint32_t tl_carried_buses(const struct tl_carried *carried, uint64_t sequence, bool *kept);

#endif
