/* SPDX-License-Identifier: Apache-2.0 */
/* hook.c - see hook.h. */
#include "clients/hook/hook.h"

#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <signal.h>
#include <spawn.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "proto/base/text.h"

enum {
    LINE_CAP = TL_PATH_CAP + 96
};

const char *
tl_hook_edge_name(enum tl_hook_edge edge)
{
    switch (edge) {
    case TL_HOOK_EDGE_RAISED:
        return "raised";
    case TL_HOOK_EDGE_AGAIN:
        return "again";
    case TL_HOOK_EDGE_ACKNOWLEDGED:
        return "acknowledged";
    case TL_HOOK_EDGE_GONE:
        return "gone";
    case TL_HOOK_EDGE_UNKNOWN:
        break;
    }
    return "unknown";
}

void
tl_hook_init(struct tl_hook *hook, const char *command)
{
    memset(hook, 0, sizeof *hook);
    hook->command = command;
}

enum tl_err
tl_hook_check(const char *command)
{
    struct stat status;
    if (stat(command, &status) != 0) {
        return tl_err_of_errno(errno);
    }
    if (!S_ISREG(status.st_mode)) {
        return TL_BADARG;
    }
    return access(command, X_OK) == 0 ? TL_OK : tl_err_of_errno(errno);
}

static void
say(const struct tl_hook *hook, const char *what)
{
    char line[LINE_CAP];
    if (hook->say != NULL) {
        (void)snprintf(line, sizeof line, "alert command %.*s: %s", TL_PATH_CAP, hook->command,
                       what);
        hook->say(hook->ctx, line);
    }
}

static void
fail(struct tl_hook *hook, const char *what)
{
    if (!hook->failed_said) {
        hook->failed_said = true;
        say(hook, what);
    }
}

/* The stations block signals and ignore SIGPIPE; both would be inherited. */
static int
set_attributes(posix_spawnattr_t *attributes)
{
    sigset_t none;
    sigset_t usual;
    (void)sigemptyset(&none);
    (void)sigemptyset(&usual);
    (void)sigaddset(&usual, SIGPIPE);
    int error = posix_spawnattr_setflags(
        attributes, POSIX_SPAWN_SETPGROUP | POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF);
    error = error != 0 ? error : posix_spawnattr_setpgroup(attributes, 0);
    error = error != 0 ? error : posix_spawnattr_setsigmask(attributes, &none);
    return error != 0 ? error : posix_spawnattr_setsigdefault(attributes, &usual);
}

static int
set_descriptors(posix_spawn_file_actions_t *actions)
{
    int error = posix_spawn_file_actions_addopen(actions, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
    error = error != 0 ? error
                       : posix_spawn_file_actions_addopen(actions, STDOUT_FILENO, "/dev/null",
                                                          O_WRONLY, 0);
    return error != 0 ? error
                      : posix_spawn_file_actions_addclosefrom_np(actions, STDERR_FILENO + 1);
}

/* 0, or the system's number for what went wrong. */
static int
spawn(const char *command, struct tl_hook_call *call, pid_t *pid)
{
    char path[TL_PATH_CAP];
    char edge[TL_ID_CAP];
    char *const argv[] = {path, edge, call->severity, call->rule, call->station, call->text, NULL};
    posix_spawnattr_t attributes;
    posix_spawn_file_actions_t actions;
    (void)snprintf(path, sizeof path, "%s", command);
    (void)snprintf(edge, sizeof edge, "%s", tl_hook_edge_name(call->edge));
    int error = posix_spawnattr_init(&attributes);
    if (error != 0) {
        return error;
    }
    error = posix_spawn_file_actions_init(&actions);
    if (error == 0) {
        error = set_attributes(&attributes);
        error = error != 0 ? error : set_descriptors(&actions);
        error =
            error != 0 ? error : posix_spawn(pid, command, &actions, &attributes, argv, environ);
        (void)posix_spawn_file_actions_destroy(&actions);
    }
    (void)posix_spawnattr_destroy(&attributes);
    return error;
}

/* Start the oldest that waits; one that cannot be started is over. */
static void
start_next(struct tl_hook *hook, uint64_t now_ms)
{
    while (hook->pid == 0 && hook->count > 0) {
        struct tl_hook_call *call = &hook->queue[hook->first];
        pid_t pid = 0;
        int error = spawn(hook->command, call, &pid);
        hook->first = (hook->first + 1) % TL_HOOK_QUEUE;
        hook->count--;
        if (error == 0) {
            hook->pid = pid;
            hook->started_ms = now_ms;
            hook->killed = false;
        } else {
            fail(hook, strerror(error));
        }
    }
    if (hook->count == 0) {
        hook->dropped_said = false;
    }
}

static void
judge_end(struct tl_hook *hook, int status)
{
    char what[LINE_CAP];
    if (hook->killed) {
        return; /* said when it was killed */
    }
    if (WIFEXITED(status) && WEXITSTATUS(status) == 0) {
        hook->failed_said = false;
    } else if (WIFEXITED(status)) {
        (void)snprintf(what, sizeof what, "ended with %d", WEXITSTATUS(status));
        fail(hook, what);
    } else {
        (void)snprintf(what, sizeof what, "ended by signal %d", WTERMSIG(status));
        fail(hook, what);
    }
}

static void
reap(struct tl_hook *hook)
{
    int status = 0;
    pid_t got = hook->pid != 0 ? waitpid(hook->pid, &status, WNOHANG) : 0;
    if (got == hook->pid && got != 0) {
        hook->pid = 0;
        judge_end(hook, status);
    } else if (got < 0 && errno == ECHILD) {
        hook->pid = 0; /* somebody ignores SIGCHLD for us: how it ended is not known */
    }
}

/* Until it is reaped nobody else can have its number. */
static void
limit_time(struct tl_hook *hook, uint64_t now_ms)
{
    if (hook->pid == 0 || hook->killed || now_ms - hook->started_ms < TL_HOOK_LIMIT_MS) {
        return;
    }
    hook->killed = true;
    (void)kill(-hook->pid, SIGKILL);
    fail(hook, "did not end in 10 s and was stopped");
}

void
tl_hook_tend(struct tl_hook *hook, uint64_t now_ms)
{
    if (hook->command == NULL) {
        return;
    }
    reap(hook);
    limit_time(hook, now_ms);
    start_next(hook, now_ms);
}

static void
copy_plain(char *dst, size_t cap, const char *src)
{
    (void)tl_text_plain(dst, cap, src, strlen(src));
}

static void
drop_oldest(struct tl_hook *hook)
{
    hook->first = (hook->first + 1) % TL_HOOK_QUEUE;
    hook->count--;
    hook->dropped++;
    if (!hook->dropped_said) {
        hook->dropped_said = true;
        say(hook, "too slow: the oldest of the alerts that wait for it are left out");
    }
}

void
tl_hook_fill(struct tl_hook_call *call, enum tl_hook_edge edge, const struct tl_hook_alert *alert)
{
    call->edge = edge;
    copy_plain(call->severity, sizeof call->severity, alert->severity);
    copy_plain(call->rule, sizeof call->rule, alert->rule);
    copy_plain(call->station, sizeof call->station, alert->station);
    copy_plain(call->text, sizeof call->text, alert->text);
}

void
tl_hook_edge(struct tl_hook *hook, enum tl_hook_edge edge, const struct tl_hook_alert *alert,
             uint64_t now_ms)
{
    if (hook->command == NULL) {
        return;
    }
    if (hook->count == TL_HOOK_QUEUE) {
        drop_oldest(hook);
    }
    tl_hook_fill(&hook->queue[(hook->first + hook->count) % TL_HOOK_QUEUE], edge, alert);
    hook->count++;
    tl_hook_tend(hook, now_ms);
}

void
tl_hook_close(struct tl_hook *hook)
{
    reap(hook);
    if (hook->pid != 0) {
        (void)kill(-hook->pid, SIGKILL);
        (void)waitpid(hook->pid, NULL, WNOHANG); /* else the system's first process reaps it */
        hook->pid = 0;
    }
    hook->count = 0;
    hook->command = NULL;
}
