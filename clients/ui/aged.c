/* SPDX-License-Identifier: Apache-2.0 */
/* aged.c - see aged.h. */
#include "clients/ui/aged.h"

static uint64_t
age_ms(struct tl_ui_aged *aged, const struct tl_member *member, const struct tl_picture *picture,
       uint64_t now_ms)
{
    for (uint32_t i = 0; i < member->hear.count; i++) {
        const struct tl_member_seen *seen = &member->seen[i];
        if (&seen->picture != picture) {
            continue;
        }
        if (aged->from != i || aged->sequence != seen->picture_sequence) {
            aged->from = i;
            aged->sequence = seen->picture_sequence;
            aged->since_ms = now_ms;
        }
        return now_ms - aged->since_ms;
    }
    return 0;
}

void
tl_ui_take(struct tl_ui_aged *aged, struct tl_member *member, uint64_t now_ms, struct tl_view *view,
           struct tl_ui_state *state)
{
    tl_member_view(member, now_ms, view);
    *state = (struct tl_ui_state){.config = member->config, .view = view};
    state->picture = tl_member_picture(member, view, &state->picture_old);
    state->picture_age_ms = age_ms(aged, member, state->picture, now_ms);
    if (!state->picture_old) {
        aged->old_since_ms = 0;
    } else if (aged->old_since_ms == 0) {
        aged->old_since_ms = now_ms;
    }
    state->picture_old_ms = state->picture_old ? now_ms - aged->old_since_ms : 0;
}
