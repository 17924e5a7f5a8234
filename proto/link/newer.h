/* SPDX-License-Identifier: Apache-2.0 */
/*
 * newer.h - who on the bus speaks a newer schema than this program knows.
 *
 * What such a node says is refused whole, so whoever runs this program must be told which node it
 * is and both versions, or all that is seen is silence. Only a frame that its publisher has signed
 * counts here: a stranger cannot make one node look like another version.
 */
#ifndef TL_LINK_NEWER_H
#define TL_LINK_NEWER_H

#include "proto/link/link.h"

struct tl_newer_node {
    char id[TL_ID_CAP];
    uint32_t schema;
    uint64_t heard_ms;
    uint32_t told_schema;
    uint64_t told_ms;
};
/* All zero is nobody. */
struct tl_newer {
    uint32_t count;
    struct tl_newer_node node[TL_NODES_MAX];
};

/*
 * A frame was dropped. True when it is of a newer schema and people are to be told now: it is the
 * first of that node, or the last telling is a minute ago, or a second and it was another schema.
 */
bool tl_newer_heard(struct tl_newer *newer, const struct tl_drop *drop, uint64_t now_ms);

/* The schema that this node spoke within the last 2 s and that is not known here; 0 = none. */
uint32_t tl_newer_schema(const struct tl_newer *newer, const char *id, uint64_t now_ms);

/* "engine-4 speaks schema 2, known here is 1". Returns dst. */
const char *tl_newer_text(const char *id, uint32_t schema, char *dst, size_t cap);

#endif
