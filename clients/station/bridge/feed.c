/* SPDX-License-Identifier: Apache-2.0 */
/* feed.c - see feed.h. */
#include "clients/station/bridge/feed.h"

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

static enum tl_err
fail(enum tl_err err, char *why, size_t cap, const char *spec, const char *what)
{
    (void)snprintf(why, cap, "--nmea %.120s: %s", spec, what);
    return err;
}

static enum tl_err
system_error(char *why, size_t cap, const char *spec)
{
    int number = errno;
    (void)fail(TL_IO, why, cap, spec, strerror(number));
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
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): the whole and its part */
open_udp(const char *spec, const char *where, struct tl_feed *feed, char *why, size_t cap)
{
    struct sockaddr_in address;
    if (!read_address(where, &address)) {
        return fail(TL_BADARG, why, cap, spec, "give udp://ADDR:PORT with a numeric IPv4 address");
    }
    int fd = socket(AF_INET, SOCK_DGRAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
    if (fd < 0 || bind(fd, (const struct sockaddr *)&address, sizeof address) != 0) {
        enum tl_err err = system_error(why, cap, spec);
        if (fd >= 0) {
            (void)close(fd);
        }
        return err;
    }
    *feed = (struct tl_feed){.kind = TL_FEED_UDP, .fd = fd, .owned = true};
    return TL_OK;
}

static enum tl_err
open_path(const char *spec, struct tl_feed *feed, char *why, size_t cap)
{
    struct stat status;
    int fd = open(spec, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (fd < 0) {
        return system_error(why, cap, spec);
    }
    if (fstat(fd, &status) != 0 || S_ISDIR(status.st_mode)) {
        (void)close(fd);
        return fail(TL_BADARG, why, cap, spec, "is a folder; give a file");
    }
    *feed = (struct tl_feed){
        .kind = S_ISREG(status.st_mode) ? TL_FEED_FILE : TL_FEED_STREAM, .fd = fd, .owned = true};
    return TL_OK;
}

enum tl_err
tl_feed_open(const char *spec, struct tl_feed *feed, char *why, size_t cap)
{
    static const char udp[] = "udp://";
    if (strncmp(spec, udp, sizeof udp - 1) == 0) {
        return open_udp(spec, spec + sizeof udp - 1, feed, why, cap);
    }
    if (strstr(spec, "://") != NULL || spec[0] == '\0') {
        return fail(TL_BADARG, why, cap, spec, "give FILE, - or udp://ADDR:PORT");
    }
    if (strcmp(spec, "-") == 0) {
        *feed = (struct tl_feed){.kind = TL_FEED_STREAM, .fd = STDIN_FILENO};
        return TL_OK;
    }
    return open_path(spec, feed, why, cap);
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

/* One line of a regular file, when it is due. */
static enum tl_err
read_line(struct tl_feed *feed, uint64_t now_ms, uint8_t *bytes, size_t cap, size_t *len)
{
    size_t used = 0;
    if (now_ms < feed->next_ms) {
        return TL_EMPTY;
    }
    while (used < cap) {
        ssize_t got = read(feed->fd, &bytes[used], 1);
        if (got != 1) {
            if (used > 0) {
                break; /* the last line has no newline */
            }
            return end_or_again(feed, got);
        }
        if (bytes[used++] == '\n') {
            break;
        }
    }
    feed->next_ms = now_ms + 1000 / TL_FEED_LINES_PER_S;
    *len = used;
    return TL_OK;
}

/* Standard input is not set non-blocking, since other programs share it. */
static bool
has_input(const struct tl_feed *feed)
{
    struct pollfd wait = {.fd = feed->fd, .events = POLLIN};
    return poll(&wait, 1, 0) > 0;
}

enum tl_err
tl_feed_read(struct tl_feed *feed, uint64_t now_ms, uint8_t *bytes, size_t cap, size_t *len,
             bool *unit)
{
    *unit = feed->kind == TL_FEED_UDP;
    if (feed->fd < 0) {
        return TL_NOTFOUND;
    }
    if (feed->kind == TL_FEED_FILE) {
        return read_line(feed, now_ms, bytes, cap, len);
    }
    if (feed->kind == TL_FEED_STREAM && !has_input(feed)) {
        return TL_EMPTY;
    }
    ssize_t got = feed->kind == TL_FEED_UDP ? recv(feed->fd, bytes, cap, MSG_DONTWAIT)
                                            : read(feed->fd, bytes, cap);
    if (got <= 0) {
        return end_or_again(feed, got);
    }
    *len = (size_t)got;
    return TL_OK;
}

int
tl_feed_fd(const struct tl_feed *feed)
{
    return feed->kind == TL_FEED_FILE ? -1 : feed->fd;
}
