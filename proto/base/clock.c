/* SPDX-License-Identifier: Apache-2.0 */
/*
 * clock - milliseconds from the kernel's clocks
 *
 * CLOCK_BOOTTIME and not CLOCK_MONOTONIC: a station that slept must find its picture old.
 */
#include "proto/base/clock.h"

#include <time.h>

#include "proto/base/require.h"

#define MS_PER_S  1000U
#define NS_PER_MS UINT64_C(1000000)

static uint64_t
read_ms(clockid_t id)
{
    struct timespec now;

    int rc = clock_gettime(id, &now);
    TL_REQUIRE(rc == 0);
    if (now.tv_sec < 0) {
        return 0;
    }
    return (uint64_t)now.tv_sec * MS_PER_S + (uint64_t)now.tv_nsec / NS_PER_MS;
}

uint64_t
tl_clock_span_ns(void)
{
    struct timespec now;

    int rc = clock_gettime(CLOCK_MONOTONIC, &now);
    TL_REQUIRE(rc == 0);
    return (uint64_t)now.tv_sec * (MS_PER_S * NS_PER_MS) + (uint64_t)now.tv_nsec;
}

uint64_t
tl_clock_boot_ms(void)
{
    return read_ms(CLOCK_BOOTTIME);
}

uint64_t
tl_clock_wall_ms(void)
{
    return read_ms(CLOCK_REALTIME);
}
