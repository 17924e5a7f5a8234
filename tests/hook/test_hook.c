/* SPDX-License-Identifier: Apache-2.0 */
/*
 * A command at each change of an alert: real scripts in a folder of the test. What they say comes
 * through a FIFO, and their end is waited for without reaping; the time is the test's.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "clients/hook/hook.h"

enum {
    NOW_MS = 5000,
    WAIT_MS = 20000,
    PATH_CAP = 96,
    TEXT_CAP = 1024,
    SCRIPT_CAP = 1024,
    STRAY_FD = 57
};

struct place {
    char dir[48];
    char script[PATH_CAP];
    char fifo[PATH_CAP];
    int fd;   /* read end of the FIFO; non-blocking */
    int kept; /* a writer of the test's own, so that the FIFO has no end; -1 = closed */
    struct tl_hook hook;
    int said;
    char line[TEXT_CAP]; /* the last one said */
};

static const struct tl_hook_alert FOUL = {
    .severity = "alarm", .rule = "deck-foul", .station = "deck", .text = "deck: foul; $(x) 'q'"};

static void
take_line(void *ctx, const char *line)
{
    struct place *place = ctx;

    place->said++;
    (void)snprintf(place->line, sizeof place->line, "%s", line);
}

static int
set_up(void **state)
{
    struct place *place = calloc(1, sizeof *place);

    assert_non_null(place);
    (void)snprintf(place->dir, sizeof place->dir, "/tmp/tl-hook-XXXXXX");
    assert_non_null(mkdtemp(place->dir));
    (void)snprintf(place->script, sizeof place->script, "%s/run it", place->dir);
    (void)snprintf(place->fifo, sizeof place->fifo, "%s/said", place->dir);
    assert_int_equal(mkfifo(place->fifo, 0600), 0);
    place->fd = open(place->fifo, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    place->kept = open(place->fifo, O_WRONLY | O_CLOEXEC);
    assert_true(place->fd >= 0 && place->kept >= 0);
    tl_hook_init(&place->hook, place->script);
    place->hook.say = take_line;
    place->hook.ctx = place;
    *state = place;
    return 0;
}

static int
tear_down(void **state)
{
    struct place *place = *state;

    tl_hook_close(&place->hook);
    (void)close(place->fd);
    if (place->kept >= 0) {
        (void)close(place->kept);
    }
    (void)unlink(place->script);
    (void)unlink(place->fifo);
    (void)rmdir(place->dir);
    free(place);
    return 0;
}

/* A script whose body may use $said, the path of the FIFO. Other shells clear the signal mask. */
static void
write_script(const struct place *place, const char *body, mode_t mode)
{
    char text[SCRIPT_CAP];
    int len = snprintf(text, sizeof text, "#!/bin/bash\nsaid='%s'\n%s\n", place->fifo, body);
    int fd = open(place->script, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, mode);

    assert_true(fd >= 0 && len > 0 && (size_t)len < sizeof text);
    assert_int_equal(write(fd, text, (size_t)len), len);
    assert_int_equal(close(fd), 0);
}

static void
edge(struct place *place, enum tl_hook_edge which, const char *text)
{
    struct tl_hook_alert alert = FOUL;

    alert.text = text;
    tl_hook_edge(&place->hook, which, &alert, NOW_MS);
}

/* So many lines; their writers may still be there. */
static void
hear(const struct place *place, int lines, char text[TEXT_CAP])
{
    struct pollfd wait = {.fd = place->fd, .events = POLLIN};
    size_t used = 0;

    while (lines > 0) {
        assert_int_equal(poll(&wait, 1, WAIT_MS), 1);
        assert_int_equal(read(place->fd, text + used, 1), 1);
        lines -= text[used] == '\n' ? 1 : 0;
        used++;
        assert_true(used < TEXT_CAP);
    }
    text[used] = '\0';
}

/* From here on the FIFO ends when the last script that has it open is gone. */
static void
let_it_end(struct place *place)
{
    assert_int_equal(close(place->kept), 0);
    place->kept = -1;
}

static void
await_silence(const struct place *place)
{
    struct pollfd wait = {.fd = place->fd, .events = POLLIN};
    char byte;

    assert_int_equal(poll(&wait, 1, WAIT_MS), 1);
    assert_int_equal(read(place->fd, &byte, 1), 0);
}

/* The running command has ended; it is left for the hook to reap. */
static void
await_end(const struct place *place)
{
    siginfo_t info;

    assert_true(place->hook.pid > 0);
    assert_int_equal(waitid(P_PID, (id_t)place->hook.pid, &info, WEXITED | WNOWAIT), 0);
}

static void
run_all(struct place *place)
{
    while (place->hook.pid != 0) {
        await_end(place);
        tl_hook_tend(&place->hook, NOW_MS);
    }
}

static void
hook_command_gets_the_words_as_they_are(void **state)
{
    struct place *place = *state;
    char text[TEXT_CAP];

    write_script(place, "printf '%s\\n' \"$#\" \"$@\" > \"$said\"", 0700);
    tl_hook_edge(&place->hook, TL_HOOK_EDGE_RAISED, &FOUL, NOW_MS);
    hear(place, 6, text);
    assert_string_equal(text, "5\nraised\nalarm\ndeck-foul\ndeck\ndeck: foul; $(x) 'q'\n");
    await_end(place);
    tl_hook_tend(&place->hook, NOW_MS);
    assert_int_equal(place->hook.pid, 0);
    assert_int_equal(place->said, 0);
}

static void
hook_edges_come_one_after_another_in_their_order(void **state)
{
    struct place *place = *state;
    char text[TEXT_CAP];

    write_script(place, "echo \"$1 $5\" > \"$said\"", 0700);
    edge(place, TL_HOOK_EDGE_RAISED, "1");
    edge(place, TL_HOOK_EDGE_AGAIN, "2");
    edge(place, TL_HOOK_EDGE_ACKNOWLEDGED, "3");
    edge(place, TL_HOOK_EDGE_GONE, "4");
    run_all(place);
    hear(place, 4, text);
    assert_string_equal(text, "raised 1\nagain 2\nacknowledged 3\ngone 4\n");
    assert_int_equal(place->said, 0);
}

static void
hook_control_bytes_do_not_reach_the_command(void **state)
{
    struct place *place = *state;
    char text[TEXT_CAP];

    write_script(place, "echo \"$5\" > \"$said\"", 0700);
    edge(place, TL_HOOK_EDGE_RAISED, "a\033[2Jb\nc");
    hear(place, 1, text);
    assert_string_equal(text, "a?[2Jb?c\n");
}

/* The shell reads its own script through a descriptor; only the stray one is asked for. */
static void
hook_command_inherits_nothing_but_standard_error(void **state)
{
    struct place *place = *state;
    char text[TEXT_CAP];
    sigset_t some;
    sigset_t before;
    int stray = dup2(place->fd, STRAY_FD); /* not closed on exec */

    assert_int_equal(stray, STRAY_FD);
    (void)sigemptyset(&some);
    (void)sigaddset(&some, SIGTERM);
    (void)sigaddset(&some, SIGHUP);
    assert_int_equal(sigprocmask(SIG_BLOCK, &some, &before), 0);
    void (*was)(int) = signal(SIGPIPE, SIG_IGN);
    write_script(
        place,
        "{ [ -e /proc/$$/fd/57 ] && echo stray; readlink /proc/$$/fd/0 /proc/$$/fd/1;\n"
        "while read -r key value; do case $key in NSpgid:) [ $value = $$ ] && echo own;;\n"
        "SigBlk:) echo $value;;\n"
        "SigIgn:) echo $((0x$value >> 12 & 1));; esac; done < /proc/$$/status; } > \"$said\"",
        0700);
    edge(place, TL_HOOK_EDGE_RAISED, "x");
    (void)signal(SIGPIPE, was);
    assert_int_equal(sigprocmask(SIG_SETMASK, &before, NULL), 0);
    assert_int_equal(close(stray), 0);
    hear(place, 5, text);
    /* The block's own output is the FIFO: $$ is the shell, whose descriptor 1 it is meanwhile. */
    char want[TEXT_CAP];
    (void)snprintf(want, sizeof want, "/dev/null\n%s\nown\n0000000000000000\n0\n", place->fifo);
    assert_string_equal(text, want);
}

/* Descriptor 1 as it is at the start: what is written there is lost, and is no error. */
static void
hook_command_has_nowhere_to_write(void **state)
{
    struct place *place = *state;
    char text[TEXT_CAP];

    write_script(place, "echo lost && { read -r x || echo end > \"$said\"; }", 0700);
    edge(place, TL_HOOK_EDGE_RAISED, "x");
    hear(place, 1, text);
    assert_string_equal(text, "end\n");
    run_all(place);
    assert_int_equal(place->said, 0);
}

static void
hook_command_over_time_is_killed_with_all_it_started(void **state)
{
    struct place *place = *state;
    char text[TEXT_CAP];

    write_script(place, "exec 3> \"$said\"\nsleep 600 &\necho $$ >&3\nsleep 600", 0700);
    edge(place, TL_HOOK_EDGE_RAISED, "x");
    hear(place, 1, text);
    assert_int_equal(strtol(text, NULL, 10), place->hook.pid);
    let_it_end(place);
    tl_hook_tend(&place->hook, NOW_MS + TL_HOOK_LIMIT_MS - 1);
    assert_false(place->hook.killed);
    assert_int_equal(place->said, 0);
    tl_hook_tend(&place->hook, NOW_MS + TL_HOOK_LIMIT_MS);
    await_silence(place); /* both sleepers had it open */
    assert_int_equal(place->said, 1);
    assert_non_null(strstr(place->line, "did not end in 10 s"));
    await_end(place);
    write_script(place, "exit 0", 0700);
    edge(place, TL_HOOK_EDGE_GONE, "y");
    run_all(place); /* the next one has its turn */
    assert_false(place->hook.failed_said);
}

static void
hook_queue_is_bounded_and_the_oldest_goes(void **state)
{
    struct place *place = *state;
    char text[TEXT_CAP];
    char number[16];

    write_script(place, "echo $5 > \"$said\"\nread -r x < \"$said.go\"", 0700);
    char go[PATH_CAP + 8];
    (void)snprintf(go, sizeof go, "%s.go", place->fifo);
    assert_int_equal(mkfifo(go, 0600), 0);
    edge(place, TL_HOOK_EDGE_RAISED, "first"); /* runs until it is told to go on */
    hear(place, 1, text);
    for (int i = 1; i <= TL_HOOK_QUEUE + 3; i++) {
        (void)snprintf(number, sizeof number, "%d", i);
        edge(place, TL_HOOK_EDGE_RAISED, number);
    }
    assert_int_equal(place->hook.count, TL_HOOK_QUEUE);
    assert_int_equal(place->hook.dropped, 3);
    assert_int_equal(place->said, 1);
    assert_non_null(strstr(place->line, "too slow"));
    write_script(place, "echo $5 > \"$said\"", 0700);
    int fd = open(go, O_WRONLY | O_CLOEXEC);
    assert_true(fd >= 0);
    assert_int_equal(write(fd, "\n", 1), 1);
    assert_int_equal(close(fd), 0);
    for (int i = 4; i <= TL_HOOK_QUEUE + 3; i++) {
        await_end(place);
        tl_hook_tend(&place->hook, NOW_MS);
        hear(place, 1, text);
        assert_int_equal(strtol(text, NULL, 10), i);
    }
    assert_int_equal(unlink(go), 0);
}

static void
hook_command_that_cannot_start_is_said_once_until_it_runs_again(void **state)
{
    struct place *place = *state;

    edge(place, TL_HOOK_EDGE_RAISED, "x"); /* no such file */
    edge(place, TL_HOOK_EDGE_GONE, "x");
    assert_int_equal(place->said, 1);
    assert_non_null(strstr(place->line, strerror(ENOENT)));
    assert_int_equal(place->hook.count, 0);
    write_script(place, "exit 0", 0600);
    edge(place, TL_HOOK_EDGE_RAISED, "x"); /* not executable: the same trouble */
    assert_int_equal(place->said, 1);
    assert_int_equal(chmod(place->script, 0700), 0);
    edge(place, TL_HOOK_EDGE_RAISED, "x");
    run_all(place);
    assert_int_equal(unlink(place->script), 0);
    edge(place, TL_HOOK_EDGE_RAISED, "x");
    assert_int_equal(place->said, 2);
}

static void
hook_bad_end_is_said(void **state)
{
    struct place *place = *state;

    write_script(place, "exit 7", 0700);
    edge(place, TL_HOOK_EDGE_RAISED, "x");
    run_all(place);
    edge(place, TL_HOOK_EDGE_GONE, "x");
    run_all(place);
    assert_int_equal(place->said, 1);
    assert_non_null(strstr(place->line, "ended with 7"));
    write_script(place, "exit 0", 0700);
    edge(place, TL_HOOK_EDGE_RAISED, "x");
    run_all(place);
    write_script(place, "kill -9 $$", 0700);
    edge(place, TL_HOOK_EDGE_RAISED, "x");
    run_all(place);
    assert_int_equal(place->said, 2);
    assert_non_null(strstr(place->line, "ended by signal 9"));
}

/* A child of somebody else in this program keeps its end. */
static void
hook_reaps_its_own_child_only(void **state)
{
    struct place *place = *state;
    int status = 0;
    siginfo_t info;
    pid_t other = fork();

    if (other == 0) {
        _exit(42);
    }
    assert_true(other > 0);
    assert_int_equal(waitid(P_PID, (id_t)other, &info, WEXITED | WNOWAIT), 0);
    write_script(place, "exit 0", 0700);
    edge(place, TL_HOOK_EDGE_RAISED, "x");
    run_all(place);
    tl_hook_tend(&place->hook, NOW_MS);
    assert_int_equal(waitpid(other, &status, WNOHANG), other);
    assert_int_equal(WEXITSTATUS(status), 42);
}

static void
hook_close_ends_what_runs(void **state)
{
    struct place *place = *state;
    char text[TEXT_CAP];

    write_script(place, "exec 3> \"$said\"\necho up >&3\nsleep 600", 0700);
    edge(place, TL_HOOK_EDGE_RAISED, "x");
    edge(place, TL_HOOK_EDGE_GONE, "x");
    hear(place, 1, text);
    let_it_end(place);
    tl_hook_close(&place->hook);
    await_silence(place);
    tl_hook_tend(&place->hook, NOW_MS);
    assert_int_equal(place->hook.pid, 0);
}

static void
hook_without_a_command_does_nothing(void **state)
{
    struct tl_hook hook;

    (void)state;
    tl_hook_init(&hook, NULL);
    tl_hook_edge(&hook, TL_HOOK_EDGE_RAISED, &FOUL, NOW_MS);
    tl_hook_tend(&hook, NOW_MS);
    assert_int_equal(hook.count, 0);
    assert_int_equal(hook.pid, 0);
    tl_hook_close(&hook);
}

static void
hook_check_tells_a_program_from_what_is_none(void **state)
{
    struct place *place = *state;

    assert_int_equal(tl_hook_check(place->script), TL_NOTFOUND);
    assert_int_equal(tl_hook_check(place->dir), TL_BADARG);
    write_script(place, "exit 0", 0600);
    assert_int_equal(tl_hook_check(place->script), TL_PERM);
    assert_int_equal(chmod(place->script, 0700), 0);
    assert_int_equal(tl_hook_check(place->script), TL_OK);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
#define ROW(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
        ROW(hook_command_gets_the_words_as_they_are),
        ROW(hook_edges_come_one_after_another_in_their_order),
        ROW(hook_control_bytes_do_not_reach_the_command),
        ROW(hook_command_inherits_nothing_but_standard_error),
        ROW(hook_command_has_nowhere_to_write),
        ROW(hook_command_over_time_is_killed_with_all_it_started),
        ROW(hook_queue_is_bounded_and_the_oldest_goes),
        ROW(hook_command_that_cannot_start_is_said_once_until_it_runs_again),
        ROW(hook_bad_end_is_said),
        ROW(hook_reaps_its_own_child_only),
        ROW(hook_close_ends_what_runs),
        ROW(hook_without_a_command_does_nothing),
        ROW(hook_check_tells_a_program_from_what_is_none),
#undef ROW
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
