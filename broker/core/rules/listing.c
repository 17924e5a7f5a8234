/* SPDX-License-Identifier: Apache-2.0 */
/* listing.c - see listing.h. */
#include "broker/core/rules/listing.h"

#include <string.h>

enum {
    LAST = 4
};

/* What must be seen first: a fault before a hold, a hold before what is only not yet said. */
static unsigned
urgency(enum tl_cause_state state)
{
    switch (state) {
    case TL_CAUSE_WRONG:
    case TL_CAUSE_OVERDUE:
    case TL_CAUSE_UNKNOWN:
        return 0;
    case TL_CAUSE_HOLDING:
        return 1;
    case TL_CAUSE_PENDING:
        return 2;
    case TL_CAUSE_OVERRIDDEN:
        return 3;
    case TL_CAUSE_NOTE:
        break;
    }
    return LAST;
}

/* What falls off first is worth least: 0.. */
static unsigned
worth(const struct tl_found *found, uint32_t at)
{
    const struct tl_cause *cause = &found->cause[at];
    bool repeats = false;
    for (uint32_t i = 0; i < at && !repeats; i++) {
        repeats = found->cause[i].rule == cause->rule && found->cause[i].state == cause->state;
    }
    unsigned certain = 0;
    if (cause->state == TL_CAUSE_WRONG) {
        certain = 2;
    } else if (cause->state == TL_CAUSE_OVERDUE) {
        certain = 1;
    }
    return 2 * (LAST - urgency(cause->state) + certain) + (repeats ? 0 : 1);
}

/* Take out what is worth least, from the end, until all but one place are enough. */
static void
take_out(struct tl_found *found)
{
    unsigned worth_of[TL_FOUND_MAX];
    for (uint32_t i = 0; i < found->count; i++) {
        worth_of[i] = worth(found, i);
    }
    uint32_t left = found->count;
    for (unsigned least = 0; left >= TL_CAUSES_MAX; least++) {
        for (uint32_t i = found->count; i-- > 0 && left >= TL_CAUSES_MAX;) {
            if (worth_of[i] == least) {
                found->cause[i].rule = TL_RULE_NONE;
                left--;
            }
        }
    }
    uint32_t kept = 0;
    for (uint32_t i = 0; i < found->count; i++) {
        if (found->cause[i].rule != TL_RULE_NONE) {
            found->cause[kept++] = found->cause[i];
        }
    }
    struct tl_cause *limit = &found->cause[kept++];
    memset(limit, 0, sizeof *limit);
    limit->rule = TL_RULE_LIMIT_REACHED;
    limit->state = TL_CAUSE_WRONG;
    found->forcing++;
    found->count = kept;
}

static unsigned
place_of(const struct tl_cause *cause)
{
    return cause->rule == TL_RULE_WAVE_OFF_ADVISED ? 0 : 1 + urgency(cause->state);
}

void
tl_causes_list(struct tl_found *found, struct tl_decision *out)
{
    if (found->count > TL_CAUSES_MAX) { /* so also when some had no place */
        take_out(found);
    }
    for (unsigned place = 0; out->cause_count < found->count; place++) {
        for (uint32_t i = 0; i < found->count; i++) {
            if (place_of(&found->cause[i]) == place) {
                out->cause[out->cause_count++] = found->cause[i];
            }
        }
    }
    out->forcing = found->forcing;
}
