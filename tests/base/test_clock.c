/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_clock - the clocks are the ones promised, in milliseconds
 *
 * Compared with the kernel's own /proc/uptime, which is the boot clock in seconds
 * (proc(5), "/proc/uptime": "the uptime of the system (including time spent in suspend)"), and with
 * time(2).
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include <cmocka.h>

#include "proto/base/clock.h"

/* /proc/uptime counts hundredths, cut off; the rest is the time between two readings. */
#define UPTIME_STEP_MS 10U

static uint64_t
read_uptime_ms(void)
{
    char line[64] = "";
    FILE *file = fopen("/proc/uptime", "r");

    assert_non_null(file);
    assert_non_null(fgets(line, sizeof line, file));
    (void)fclose(file);
    return (uint64_t)(strtod(line, NULL) * 1000.0 + 0.5);
}

static void
clock_boot_is_the_uptime_of_the_host(void **state)
{
    uint64_t before = read_uptime_ms();
    uint64_t now = tl_clock_boot_ms();
    uint64_t after = read_uptime_ms();

    (void)state;
    assert_in_range(now, before, after + UPTIME_STEP_MS);
}

static void
clock_boot_never_goes_back(void **state)
{
    uint64_t last = tl_clock_boot_ms();

    (void)state;
    for (int i = 0; i < 100000; i++) {
        uint64_t now = tl_clock_boot_ms();
        assert_true(now >= last);
        last = now;
    }
}

static void
clock_wall_is_utc_since_1970(void **state)
{
    uint64_t before_s = (uint64_t)time(NULL);
    uint64_t now_ms = tl_clock_wall_ms();
    uint64_t after_s = (uint64_t)time(NULL);

    (void)state;
    /* time() may read the clock of the last tick, so one second either way. */
    assert_in_range(now_ms / 1000, before_s - 1, after_s + 1);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(clock_boot_is_the_uptime_of_the_host),
        cmocka_unit_test(clock_boot_never_goes_back),
        cmocka_unit_test(clock_wall_is_utc_since_1970),
    };

    return cmocka_run_group_tests_name("clock", tests, NULL, NULL);
}
