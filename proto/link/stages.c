/* SPDX-License-Identifier: Apache-2.0 */
/* stages.c - see stages.h. */
#include "proto/link/stages.h"

#include <inttypes.h>
#include <stdio.h>

#include "proto/base/clock.h"

enum {
    NS_PER_US = 1000,
    HALF = 50,
    MOST = 99,
    HUNDRED = 100
};

static const char *const names[TL_STAGES] = {
    [TL_STAGE_TAKE] = "take",   [TL_STAGE_VERIFY] = "verify", [TL_STAGE_DECODE] = "decode",
    [TL_STAGE_JUDGE] = "judge", [TL_STAGE_TEND] = "tend",     [TL_STAGE_WRITE] = "write",
    [TL_STAGE_PASS] = "pass",
};

struct tl_stage_begun
tl_stage_begin(const struct tl_stages *stages)
{
    struct tl_stage_begun begun = {0};
    if (stages != NULL) {
        begun.inner_ns = stages->inner_ns;
        begun.at_ns = tl_clock_span_ns();
    }
    return begun;
}

void
tl_stage_add(struct tl_stages *stages, enum tl_stage stage, struct tl_stage_begun begun,
             uint64_t now_ns)
{
    struct tl_stage_times *times = &stages->stage[stage];
    uint64_t whole_ns = now_ns - begun.at_ns;
    uint64_t inner_ns = stages->inner_ns - begun.inner_ns;
    uint64_t own_ns = whole_ns > inner_ns ? whole_ns - inner_ns : 0;
    uint32_t step = 0;
    while (step < TL_STAGE_STEPS - 1 && own_ns >> (step + 1) != 0) {
        step++;
    }
    times->count++;
    times->total_ns += own_ns;
    times->worst_ns = own_ns > times->worst_ns ? own_ns : times->worst_ns;
    times->within[step]++;
    stages->inner_ns = begun.inner_ns + whole_ns; /* what is around it takes all of it off */
}

void
tl_stage_end(struct tl_stages *stages, enum tl_stage stage, struct tl_stage_begun begun)
{
    if (stages != NULL) {
        tl_stage_add(stages, stage, begun, tl_clock_span_ns());
    }
}

/* The upper end of the step that has that call of a hundred. */
static double
until_us(const struct tl_stage_times *times, uint64_t of_hundred)
{
    uint64_t seen = 0;
    for (uint32_t step = 0; step < TL_STAGE_STEPS; step++) {
        seen += times->within[step];
        if (seen * HUNDRED >= times->count * of_hundred) {
            return (double)(1ull << (step + 1)) / NS_PER_US;
        }
    }
    return 0;
}

const char *
tl_stage_text(const struct tl_stages *stages, enum tl_stage stage, char dst[TL_STAGE_LINE_CAP])
{
    const struct tl_stage_times *times = &stages->stage[stage];
    dst[0] = '\0';
    if (times->count > 0) {
        (void)snprintf(
            dst, TL_STAGE_LINE_CAP,
            "%s: %" PRIu64 " calls, %.1f us on average, half in %.1f, 99 of 100 in "
            "%.1f, worst %.1f us",
            names[stage], times->count, (double)times->total_ns / (double)times->count / NS_PER_US,
            until_us(times, HALF), until_us(times, MOST), (double)times->worst_ns / NS_PER_US);
    }
    return dst;
}
