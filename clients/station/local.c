/* SPDX-License-Identifier: Apache-2.0 */
/* local.c - see local.h. */
#include "clients/station/local.h"

#include <errno.h>
#include <inttypes.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include "proto/base/clock.h"
#include "proto/link/join.h"

enum {
    BACKLOG = 8,
    ANSWER_MS = 8000
};

static enum tl_err
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): folder before name */
socket_address(const char *run_dir, const char *node, struct sockaddr_un *address, char *why,
               size_t cap)
{
    memset(address, 0, sizeof *address);
    address->sun_family = AF_UNIX;
    int n = snprintf(address->sun_path, sizeof address->sun_path, "%s/%s.sock", run_dir, node);
    if (n < 0 || (size_t)n >= sizeof address->sun_path) {
        (void)snprintf(why, cap,
                       "run folder %.200s is too long for a socket; set a shorter run_dir in "
                       "bus.yaml",
                       run_dir);
        return TL_FULL;
    }
    return TL_OK;
}

static bool
answers(const struct sockaddr_un *address)
{
    int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
    bool yes = fd >= 0 && connect(fd, (const struct sockaddr *)address, sizeof *address) == 0;
    if (fd >= 0) {
        (void)close(fd);
    }
    return yes;
}

static enum tl_err
listen_at(const struct sockaddr_un *address, int *out)
{
    int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
    if (fd < 0) {
        return TL_IO;
    }
    mode_t mask = umask(0177);
    int bound = bind(fd, (const struct sockaddr *)address, sizeof *address);
    (void)umask(mask);
    if (bound != 0 || listen(fd, BACKLOG) != 0) {
        enum tl_err err = errno == EACCES ? TL_PERM : TL_IO;
        (void)close(fd);
        return err;
    }
    *out = fd;
    return TL_OK;
}

enum tl_err
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): folder before name */
tl_local_open(const char *run_dir, const char *node, struct tl_local *local, char *why, size_t cap)
{
    struct sockaddr_un address;
    memset(local, 0, sizeof *local);
    local->fd = -1;
    for (size_t i = 0; i < TL_LOCAL_CLIENTS; i++) {
        local->client[i].fd = -1;
    }
    if (mkdir(run_dir, 0700) != 0 && errno != EEXIST) {
        (void)snprintf(why, cap, "cannot make run folder %.200s: %s", run_dir, strerror(errno));
        return errno == EACCES ? TL_PERM : TL_IO;
    }
    enum tl_err err = socket_address(run_dir, node, &address, why, cap);
    if (err != TL_OK) {
        return err;
    }
    if (answers(&address)) {
        (void)snprintf(why, cap, "another process is station %s on this host; use --do", node);
        return TL_EXISTS;
    }
    (void)unlink(address.sun_path); /* left by a process that was killed */
    err = listen_at(&address, &local->fd);
    if (err != TL_OK) {
        (void)snprintf(why, cap, "cannot listen on %s: %s; is the folder writable?",
                       address.sun_path, tl_err_text(err));
        return err;
    }
    (void)snprintf(local->path, sizeof local->path, "%s", address.sun_path);
    return TL_OK;
}

static void
close_client(struct tl_local_client *client)
{
    if (client->fd >= 0) {
        (void)close(client->fd);
        client->fd = -1;
    }
    client->used = 0;
}

void
tl_local_close(struct tl_local *local)
{
    for (size_t i = 0; i < TL_LOCAL_CLIENTS; i++) {
        close_client(&local->client[i]);
    }
    if (local->fd >= 0) {
        (void)close(local->fd);
        (void)unlink(local->path);
        local->fd = -1;
    }
}

void
tl_local_accept(struct tl_local *local)
{
    int fd = -1;
    while ((fd = accept4(local->fd, NULL, NULL, SOCK_CLOEXEC | SOCK_NONBLOCK)) >= 0) {
        struct tl_local_client *place = NULL;
        for (size_t i = 0; i < TL_LOCAL_CLIENTS && place == NULL; i++) {
            place = local->client[i].fd < 0 ? &local->client[i] : NULL;
        }
        if (place == NULL) {
            (void)close(fd);
            continue;
        }
        place->fd = fd;
        place->used = 0;
    }
}

static bool
take_request(struct tl_local_client *client, bool *confirm, char *text)
{
    static const char confirmed[] = "do confirm ";
    static const char plain[] = "do plain ";
    const char *line = client->line;
    char *end = NULL;
    if (strncmp(line, confirmed, sizeof confirmed - 1) == 0) {
        *confirm = true;
        line += sizeof confirmed - 1;
    } else if (strncmp(line, plain, sizeof plain - 1) == 0) {
        *confirm = false;
        line += sizeof plain - 1;
    } else {
        return false;
    }
    client->asked_ms = strtoull(line, &end, 10);
    if (end == line || *end != ' ') {
        return false;
    }
    line = end + 1;
    size_t length = strnlen(line, TL_LINE_MAX - 1);
    memcpy(text, line, length);
    text[length] = '\0';
    client->used = 0;
    return true;
}

bool
tl_local_gone(const struct tl_local_client *client)
{
    char next = 0;
    return client->fd < 0 || recv(client->fd, &next, 1, MSG_PEEK | MSG_DONTWAIT) == 0;
}

bool
tl_local_read(struct tl_local_client *client, bool *confirm, char *text)
{
    for (;;) {
        char c = 0;
        ssize_t n = read(client->fd, &c, 1);
        if (n < 0 && (errno == EAGAIN || errno == EINTR)) {
            return false;
        }
        if (n <= 0 || client->used == sizeof client->line - 1) {
            close_client(client);
            return false;
        }
        if (c != '\n') {
            client->line[client->used++] = c;
            continue;
        }
        client->line[client->used] = '\0';
        if (!take_request(client, confirm, text)) {
            close_client(client);
            return false;
        }
        return true;
    }
}

void
tl_local_tell(struct tl_local_client *client, const char *line)
{
    char out[TL_READBACK_CAP + 64];
    int n = snprintf(out, sizeof out, "%s\n", line);
    if (client->fd >= 0 && n > 0) {
        /* A client that does not read its few lines loses them; the station never waits. */
        (void)!send(client->fd, out, (size_t)n < sizeof out ? (size_t)n : sizeof out - 1,
                    MSG_NOSIGNAL | MSG_DONTWAIT);
    }
}

void
tl_local_end(struct tl_local_client *client, int code)
{
    char line[16];
    (void)snprintf(line, sizeof line, "exit %d", code);
    tl_local_tell(client, line);
    close_client(client);
}

/* Print what comes until "exit N"; the code, or -1 when the station went away. */
static int
print_answer(FILE *stream, int fd)
{
    char line[TL_READBACK_CAP + 64];
    uint64_t until_ms = tl_clock_boot_ms() + ANSWER_MS;
    for (;;) {
        struct pollfd wait = {.fd = fd, .events = POLLIN};
        uint64_t now_ms = tl_clock_boot_ms();
        if (now_ms >= until_ms || poll(&wait, 1, (int)(until_ms - now_ms)) <= 0) {
            return -1;
        }
        if (fgets(line, sizeof line, stream) == NULL) {
            return -1;
        }
        if (strncmp(line, "exit ", 5) == 0) {
            return (int)strtol(line + 5, NULL, 10);
        }
        (void)fputs(line, stdout);
    }
}

/* False when the station has hung up: it is ending, or has no place for one more. */
static bool
ask(int fd, const char *text, bool confirm)
{
    char line[TL_REQUEST_CAP];
    int n = snprintf(line, sizeof line, "do %s %" PRIu64 " %s\n", confirm ? "confirm" : "plain",
                     tl_clock_boot_ms(), text);
    return n > 0 && (size_t)n < sizeof line && send(fd, line, (size_t)n, MSG_NOSIGNAL) == n;
}

int
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): folder, node, text, as on the command line */
tl_local_do(const char *run_dir, const char *node, const char *text, bool confirm)
{
    struct sockaddr_un address;
    char why[TL_PATH_CAP];
    if (strpbrk(text, "\r\n") != NULL || strlen(text) >= TL_LINE_MAX) {
        (void)fprintf(stderr, "trapline: a command is one line of at most %d characters\n",
                      TL_LINE_MAX - 1);
        return TL_EXIT_USAGE;
    }
    if (socket_address(run_dir, node, &address, why, sizeof why) != TL_OK) {
        (void)fprintf(stderr, "trapline: %s\n", why);
        return TL_EXIT_FAILED;
    }
    int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
    if (fd < 0 || connect(fd, (const struct sockaddr *)&address, sizeof address) != 0) {
        (void)fprintf(stderr,
                      "trapline: no station %s runs on this host; start it, or use --join\n", node);
        if (fd >= 0) {
            (void)close(fd);
        }
        return TL_EXIT_UNANSWERED;
    }
    FILE *stream = fdopen(fd, "r");
    if (stream == NULL) {
        (void)close(fd);
        return TL_EXIT_FAILED;
    }
    int code = ask(fd, text, confirm) ? print_answer(stream, fd) : -1;
    (void)fclose(stream);
    if (code < 0) {
        (void)fprintf(stderr, "trapline: station %s did not answer; say it by voice\n", node);
        return TL_EXIT_UNANSWERED;
    }
    return code;
}
