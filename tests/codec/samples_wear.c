/* SPDX-License-Identifier: Apache-2.0 */
/* samples_wear.c - what pendants and cables have taken, and how passes ended, for samples.h */

#include "tests/codec/samples.h"

#define RECOVERY 1764050400000 /* ms since 1970 */

/* Pass 7 is the last in it; 5 and 4 had not ended. */
void
sample_fill_cable(struct tl_cable *cable)
{
    *cable = (struct tl_cable){.wear = {.traps = 250,
                                        .serial = "C-88",
                                        .counted = {.last = {RECOVERY, 7}, .without = 6},
                                        .moved = true},
                               .detorqued_at = 50};
}

void
sample_fill_pendant(struct tl_wear *wear)
{
    *wear = (struct tl_wear){.traps = 124,
                             .serial = "P-0412",
                             .counted = {.last = {RECOVERY, 6}, .without = 1},
                             .moved = true};
}

void
sample_fill_ended(struct tl_picture *picture)
{
    picture->ended_count = 2;
    picture->ended[0] = (struct tl_ended){{RECOVERY - 1, 9}, {TL_OUTCOME_TRAP, 3}, true};
    picture->ended[1] = (struct tl_ended){{RECOVERY, 6}, {TL_OUTCOME_BOLTER, 0}, false};
}

void
sample_fill_recorded(struct tl_recorded *recorded)
{
    *recorded =
        (struct tl_recorded){.for_incarnation = 1764050340000,
                             .through = 119,
                             .worn_count = 2,
                             .worn = {{.wire = 3,
                                       .wear = {.traps = 91,
                                                .serial = "P-0412",
                                                .counted = {.last = {RECOVERY, 7}, .without = 2}},
                                       .weighted_x1000 = 92412,
                                       .not_weighed = 80,
                                       .inspect = true},
                                      {.engine = 2,
                                       .wear = {.traps = 61, .serial = "C-7"},
                                       .detorqued_at = 52,
                                       .removed = true}}};
}
