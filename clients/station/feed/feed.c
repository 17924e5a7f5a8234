/* SPDX-License-Identifier: Apache-2.0 */
/* feed.c - see feed.h. */
#include "clients/station/feed/feed.h"

#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <unistd.h>

/* Where the words of a failure go. */
struct reason {
    char *why;
    size_t cap;
    const char *spec;
};

static enum tl_err
fail(const struct reason *reason, enum tl_err err, const char *what)
{
    (void)snprintf(reason->why, reason->cap, "%.120s: %s", reason->spec, what);
    return err;
}

static enum tl_err
system_error(const struct reason *reason)
{
    int number = errno;
    (void)fail(reason, TL_IO, strerror(number));
    return number == ENOENT ? TL_NOTFOUND : (number == EACCES ? TL_PERM : TL_IO);
}

static bool
read_address(const char *text, struct sockaddr_in *address)
{
    char host[INET_ADDRSTRLEN];
    char *end = NULL;
    const char *colon = strrchr(text, ':');
    if (colon == NULL || colon == text || (size_t)(colon - text) >= sizeof host || colon[1] < '0' ||
        colon[1] > '9') {
        return false;
    }
    memcpy(host, text, (size_t)(colon - text));
    host[colon - text] = '\0';
    unsigned long port = strtoul(colon + 1, &end, 10);
    memset(address, 0, sizeof *address);
    address->sin_family = AF_INET;
    address->sin_port = htons((uint16_t)port);
    return *end == '\0' && port >= 1 && port <= 65535 &&
           inet_pton(AF_INET, host, &address->sin_addr) == 1;
}

static enum tl_err
open_udp(const struct reason *reason, const char *where, struct tl_feed *feed)
{
    struct sockaddr_in address;
    if (!read_address(where, &address)) {
        return fail(reason, TL_BADARG, "give udp://ADDR:PORT with a numeric IPv4 address");
    }
    int fd = socket(AF_INET, SOCK_DGRAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
    if (fd < 0 || bind(fd, (const struct sockaddr *)&address, sizeof address) != 0) {
        enum tl_err err = system_error(reason);
        if (fd >= 0) {
            (void)close(fd);
        }
        return err;
    }
    *feed = (struct tl_feed){.kind = TL_FEED_UDP, .fd = fd, .owned = true};
    return TL_OK;
}

/* Standard input may be a regular file too ("< log"): it has no pace of its own either. */
static enum tl_err
open_input(struct tl_feed *feed)
{
    struct stat status;
    bool regular = fstat(STDIN_FILENO, &status) == 0 && S_ISREG(status.st_mode);
    *feed = (struct tl_feed){.kind = regular ? TL_FEED_FILE : TL_FEED_STREAM, .fd = STDIN_FILENO};
    return TL_OK;
}

static enum tl_err
open_path(const struct reason *reason, struct tl_feed *feed)
{
    struct stat status;
    int fd = open(reason->spec, O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
    if (fd < 0) {
        return system_error(reason);
    }
    if (fstat(fd, &status) != 0 || S_ISDIR(status.st_mode)) {
        (void)close(fd);
        return fail(reason, TL_BADARG, "is a folder; give a file");
    }
    *feed = (struct tl_feed){
        .kind = S_ISREG(status.st_mode) ? TL_FEED_FILE : TL_FEED_STREAM, .fd = fd, .owned = true};
    return TL_OK;
}

enum tl_err
tl_feed_open(const char *spec, struct tl_feed *feed, char *why, size_t cap)
{
    static const char udp[] = "udp://";
    struct reason reason = {.cap = cap, .spec = spec};
    reason.why = why;
    if (strncmp(spec, udp, sizeof udp - 1) == 0) {
        return open_udp(&reason, spec + sizeof udp - 1, feed);
    }
    if (strstr(spec, "://") != NULL || spec[0] == '\0') {
        return fail(&reason, TL_BADARG, "give FILE, - or udp://ADDR:PORT");
    }
    return strcmp(spec, "-") == 0 ? open_input(feed) : open_path(&reason, feed);
}

void
tl_feed_close(struct tl_feed *feed)
{
    if (feed->owned && feed->fd >= 0) {
        (void)close(feed->fd);
    }
    feed->fd = -1;
    feed->owned = false;
}

/* What one read gives. */
struct piece {
    uint8_t *bytes;
    size_t cap;
    size_t len;
    bool whole; /* what comes later does not join it */
};

static enum tl_err
end_or_again(struct tl_feed *feed, ssize_t got)
{
    if (got < 0 && (errno == EAGAIN || errno == EINTR)) {
        return TL_EMPTY;
    }
    if (got == 0 && feed->kind == TL_FEED_UDP) {
        return TL_EMPTY; /* an empty datagram says nothing */
    }
    tl_feed_close(feed);
    return got == 0 ? TL_NOTFOUND : TL_IO;
}

/*
 * One line of a regular file, when it is due. A last line without its newline is a unit: nothing
 * can follow that would complete it.
 */
static enum tl_err
read_line(struct tl_feed *feed, uint64_t now_ms, struct piece *piece)
{
    ssize_t got = 1;
    if (now_ms < feed->next_ms) {
        return TL_EMPTY;
    }
    while (piece->len < piece->cap && (piece->len == 0 || piece->bytes[piece->len - 1] != '\n')) {
        got = read(feed->fd, &piece->bytes[piece->len], 1);
        if (got != 1) {
            break;
        }
        piece->len++;
    }
    if (piece->len == 0) {
        return end_or_again(feed, got);
    }
    piece->whole = got == 0;
    feed->next_ms = now_ms + 1000 / TL_FEED_LINES_PER_S;
    return TL_OK;
}

/*
 * The next datagram that fits. One that does not is dropped whole: its end is lost, and what of it
 * came is not what was sent. At most TL_FEED_DROPS_MAX of them in one call, so that a flood does
 * not hold the caller.
 */
static enum tl_err
read_datagram(struct tl_feed *feed, struct piece *piece)
{
    for (int i = 0; i < TL_FEED_DROPS_MAX; i++) {
        ssize_t got = recv(feed->fd, piece->bytes, piece->cap, MSG_DONTWAIT | MSG_TRUNC);
        if (got <= 0) {
            return end_or_again(feed, got);
        }
        if ((size_t)got <= piece->cap) {
            piece->len = (size_t)got;
            piece->whole = true;
            return TL_OK;
        }
        feed->dropped++;
    }
    return TL_EMPTY;
}

/* Standard input is not set non-blocking, since other programs share it. */
static bool
has_input(const struct tl_feed *feed)
{
    struct pollfd wait = {.fd = feed->fd, .events = POLLIN};
    return poll(&wait, 1, 0) > 0;
}

static enum tl_err
read_stream(struct tl_feed *feed, struct piece *piece)
{
    if (!has_input(feed)) {
        return TL_EMPTY;
    }
    ssize_t got = read(feed->fd, piece->bytes, piece->cap);
    if (got <= 0) {
        return end_or_again(feed, got);
    }
    piece->len = (size_t)got;
    return TL_OK;
}

enum tl_err
tl_feed_read(struct tl_feed *feed, uint64_t now_ms, uint8_t *bytes, size_t cap, size_t *len,
             bool *unit)
{
    struct piece piece = {.cap = cap};
    enum tl_err err = TL_NOTFOUND;
    piece.bytes = bytes;
    if (feed->fd < 0) {
        return err;
    }
    switch (feed->kind) {
    case TL_FEED_FILE:
        err = read_line(feed, now_ms, &piece);
        break;
    case TL_FEED_UDP:
        err = read_datagram(feed, &piece);
        break;
    case TL_FEED_STREAM:
        err = read_stream(feed, &piece);
        break;
    case TL_FEED_NONE:
        break;
    }
    if (err == TL_OK) {
        *len = piece.len;
        *unit = piece.whole;
    }
    return err;
}

int
tl_feed_fd(const struct tl_feed *feed)
{
    return feed->kind == TL_FEED_FILE ? -1 : feed->fd;
}
