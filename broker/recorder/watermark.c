/* SPDX-License-Identifier: Apache-2.0 */
/* watermark.c - see watermark.h. */
#include "broker/recorder/watermark.h"

#include <string.h>

void
tl_watermarks_init(struct tl_watermarks *marks, const struct tl_config *config)
{
    memset(marks, 0, sizeof *marks);
    for (uint32_t i = 0; i < config->node_count && marks->count < TL_STATIONS_MAX; i++) {
        if (config->node[i].kind == TL_NODE_STATION) {
            memcpy(marks->mark[marks->count++].node, config->node[i].id, TL_ID_CAP);
        }
    }
}

struct tl_watermark *
tl_watermark_of(struct tl_watermarks *marks, const char *node)
{
    for (uint32_t i = 0; i < marks->count; i++) {
        if (strncmp(marks->mark[i].node, node, TL_ID_CAP) == 0) {
            return &marks->mark[i];
        }
    }
    return NULL;
}

static uint64_t *
word_of(struct tl_watermark *mark, uint64_t sequence)
{
    return &mark->later[sequence % TL_WINDOW / 64];
}

static uint64_t
bit_of(uint64_t sequence)
{
    return (uint64_t)1 << (sequence % 64);
}

static bool
is_taken(struct tl_watermark *mark, uint64_t sequence)
{
    return (*word_of(mark, sequence) & bit_of(sequence)) != 0;
}

/* True when it moved. */
static bool
advance(struct tl_watermark *mark)
{
    bool moved = false;
    while (mark->through < UINT64_MAX && is_taken(mark, mark->through + 1)) {
        mark->through++;
        *word_of(mark, mark->through) &= ~bit_of(mark->through);
        moved = true;
    }
    return moved;
}

/* False when it is of an older life of the node. */
static bool
enter(struct tl_watermark *mark, uint64_t incarnation, bool *new)
{
    *new = incarnation > mark->incarnation;
    if (*new) {
        mark->incarnation = incarnation;
        mark->through = 0;
        memset(mark->later, 0, sizeof mark->later);
    }
    return incarnation == mark->incarnation;
}

/* Everything up to `last` is behind us: taken, or named as missing. */
static void
pass_over(struct tl_watermark *mark, uint64_t last)
{
    if (last <= mark->through) {
        return;
    }
    if (last - mark->through >= TL_WINDOW) {
        memset(mark->later, 0, sizeof mark->later);
    } else {
        for (uint64_t sequence = mark->through + 1; sequence <= last; sequence++) {
            *word_of(mark, sequence) &= ~bit_of(sequence);
        }
    }
    mark->through = last;
    (void)advance(mark);
}

bool
tl_watermark_take(struct tl_watermark *mark, uint64_t incarnation, uint64_t sequence)
{
    bool new = false;
    if (!enter(mark, incarnation, &new) || sequence <= mark->through ||
        sequence - mark->through > TL_WINDOW) {
        return new;
    }
    *word_of(mark, sequence) |= bit_of(sequence);
    return advance(mark) || new;
}

bool
tl_watermark_gap(struct tl_watermark *mark, const struct tl_held_range *held, struct tl_gap *gap)
{
    bool new = false;
    if (!enter(mark, held->incarnation, &new)) {
        return false;
    }
    uint64_t gone = held->oldest_held > 0 ? held->oldest_held - 1 : held->last_change;
    if (gone <= mark->through) {
        return false;
    }
    gap->first = mark->through + 1;
    gap->last = gap->first; /* never taken itself: through would be there */
    while (gap->last < gone && gap->last - mark->through < TL_WINDOW &&
           !is_taken(mark, gap->last + 1)) {
        gap->last++;
    }
    if (gap->last - mark->through == TL_WINDOW) {
        gap->last = gone; /* nothing is remembered from here on */
    }
    pass_over(mark, gap->last);
    return true;
}

void
tl_watermark_take_gap(struct tl_watermark *mark, uint64_t incarnation, const struct tl_gap *gap)
{
    bool new = false;
    if (enter(mark, incarnation, &new) && gap->first <= mark->through + 1) {
        pass_over(mark, gap->last);
    }
}
