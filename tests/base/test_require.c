/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_require - a bug of ours ends the program, with or without NDEBUG
 */
#define NDEBUG /* as in a release build: TL_REQUIRE must not care */

#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#include "proto/base/require.h"
#include "tests/base/capture.h"

static const int answer = 41;
static const int require_line = __LINE__ + 6; /* of the TL_REQUIRE below */

static void
trip(void)
{
    (void)setrlimit(RLIMIT_CORE, &(struct rlimit){0, 0});
    TL_REQUIRE(answer == 42);
}

static void
trip_in_child(void)
{
    int status = 0;
    pid_t pid = fork();

    if (pid == 0) {
        (void)signal(SIGABRT, SIG_DFL);
        trip();
        _exit(0);
    }
    assert_true(pid > 0);
    assert_int_equal(waitpid(pid, &status, 0), pid);
    assert_true(WIFSIGNALED(status));
    assert_int_equal(WTERMSIG(status), SIGABRT);
}

static void
require_failed_aborts_and_names_file_line_and_text(void **state)
{
    char got[512];
    char want[512];

    (void)state;
    (void)capture_stderr(trip_in_child, got, sizeof got);
    (void)snprintf(want, sizeof want,
                   "tests/base/test_require.c:%d: requirement failed: answer == 42\n",
                   require_line);
    assert_string_equal(got, want);
}

static void
require_held_does_nothing_and_looks_once(void **state)
{
    int looks = 0;

    (void)state;
    TL_REQUIRE(++looks == 1);
    assert_int_equal(looks, 1);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(require_failed_aborts_and_names_file_line_and_text),
        cmocka_unit_test(require_held_does_nothing_and_looks_once),
    };

    return cmocka_run_group_tests_name("require", tests, NULL, NULL);
}
