/* SPDX-License-Identifier: Apache-2.0 */
/* probe - see probe.h */
#include "tests/mechanics/probe.h"

#include <setjmp.h>
#include <stdarg.h>

#include <cmocka.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const unsigned char untouched = 0xA5;

union room {
    max_align_t align;
    unsigned char bytes[PROBE_BYTES_MAX];
};

void
near(const char *row, double got, double wanted, double tolerance)
{
    if (!(fabs(got - wanted) <= tolerance)) {
        fail_msg("%s: got %.9g, wanted %.9g", row, got, wanted);
    }
}

static void
try_value(const struct probe *probe, const struct edge *edge, double value, bool taken)
{
    union room in;
    union room out;

    assert_true(probe->in_size <= sizeof in && probe->out_size <= sizeof out);
    assert_true(edge->at + sizeof value <= probe->in_size);
    memcpy(in.bytes, probe->sound, probe->in_size);
    memcpy(in.bytes + edge->at, &value, sizeof value);
    memset(out.bytes, untouched, sizeof out.bytes);

    enum tl_err err = probe->call(&in, &out);

    if (taken ? err != TL_OK && err != TL_REFUSED : err != TL_BADARG) {
        fail_msg("%s = %.17g: %s", edge->name, value, tl_err_text(err));
    }
    for (size_t i = err == TL_OK ? probe->out_size : 0; i < sizeof out.bytes; i++) {
        if (out.bytes[i] != untouched) {
            fail_msg("%s = %.17g: byte %zu of the output was written", edge->name, value, i);
        }
    }
}

void
takes_its_ranges_only(const struct probe *probe, const struct edge *edges, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const struct edge *e = &edges[i];
        double step = (e->most - e->least) * 1e-6;

        try_value(probe, e, e->above ? e->least + step : e->least, true);
        try_value(probe, e, e->most, true);
        try_value(probe, e, e->above ? e->least : nextafter(e->least, -HUGE_VAL), false);
        try_value(probe, e, nextafter(e->most, HUGE_VAL), false);
        try_value(probe, e, (double)NAN, false);
        try_value(probe, e, (double)INFINITY, false);
        try_value(probe, e, -(double)INFINITY, false);
    }
}

uint64_t
first_seed(uint64_t seed)
{
    const char *given = getenv("TL_TEST_SEED");

    seed = given != NULL ? strtoull(given, NULL, 0) : seed;
    (void)printf("           seed %llu\n", (unsigned long long)seed);
    return seed;
}

double
draw(uint64_t *seed, struct span span)
{
    *seed = *seed * 6364136223846793005U + 1442695040888963407U;
    return span.from + (span.to - span.from) * (double)(*seed >> 33) / (double)(1U << 31);
}
