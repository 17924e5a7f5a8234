/* SPDX-License-Identifier: Apache-2.0 */
/* newer.c - see newer.h. */
#include "proto/link/newer.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

enum {
    TELL_AGAIN_MS = 60000,
    TELL_OTHER_MS = 1000, /* whoever has a key may say any number, five times a second */
    HEARD_MS = 2000
};

/* NULL when it has not been heard. */
static const struct tl_newer_node *
find_node(const struct tl_newer *newer, const char *id)
{
    for (uint32_t i = 0; i < newer->count; i++) {
        if (strncmp(newer->node[i].id, id, TL_ID_CAP) == 0) {
            return &newer->node[i];
        }
    }
    return NULL;
}

bool
tl_newer_heard(struct tl_newer *newer, const struct tl_drop *drop, uint64_t now_ms)
{
    if (drop->reason != TL_REFUSAL_NEWER_SCHEMA || !drop->signed_by_publisher) {
        return false;
    }
    const struct tl_newer_node *known = find_node(newer, drop->publisher);
    if (known == NULL && newer->count == TL_NODES_MAX) {
        return false; /* keys.yaml has no more nodes than that */
    }
    struct tl_newer_node *node =
        known != NULL ? &newer->node[known - newer->node] : &newer->node[newer->count++];
    uint64_t told_ago_ms = now_ms - node->told_ms;
    bool tell = known == NULL || told_ago_ms >= TELL_AGAIN_MS ||
                (node->told_schema != drop->schema && told_ago_ms >= TELL_OTHER_MS);
    memcpy(node->id, drop->publisher, TL_ID_CAP);
    node->schema = drop->schema;
    node->heard_ms = now_ms;
    if (tell) {
        node->told_schema = drop->schema;
        node->told_ms = now_ms;
    }
    return tell;
}

uint32_t
tl_newer_schema(const struct tl_newer *newer, const char *id, uint64_t now_ms)
{
    const struct tl_newer_node *node = find_node(newer, id);
    return node != NULL && now_ms - node->heard_ms <= HEARD_MS ? node->schema : 0;
}

const char *
tl_newer_text(const char *id, uint32_t schema, char *dst, size_t cap)
{
    (void)snprintf(dst, cap, "%s speaks schema %" PRIu32 ", known here is %u", id, schema,
                   TL_SCHEMA_VERSION);
    return dst;
}
