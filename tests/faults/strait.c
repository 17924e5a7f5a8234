/* SPDX-License-Identifier: Apache-2.0 */
/*
 * strait.c - a TCP relay with bad weather.
 *
 * It passes bytes between nodes and brokers and knows nothing of what is in them. A line is one
 * listening port and the port behind it; each direction of a line has a weather of its own:
 *
 *   delay MS, jitter MS   bytes come later, in order: nothing overtakes, nothing is missing
 *   rate BYTES            so many a second
 *   hold 1                nothing comes out, nobody is told; with 0 all of it comes, late
 *   swallow 1             read and thrown away, as by a peer that vanished without a word; with 0
 *                         the connection is reset, since a stream with a hole is of no use
 *   flip N                one bit in N bytes on average is turned round; 0 = none
 *
 * Commands, a line each on standard input; NAMES is a pattern of fnmatch(3), DIR is up, down (from
 * the broker) or both:
 *
 *   listen NAME PORT HOST:PORT    weather NAMES DIR KEY VALUE    calm NAMES
 *   cut NAMES (FIN)    reset NAMES (RST)    refuse NAMES 0|1 (new connections are reset)
 *
 * Each is answered by "ok N", N lines of the strait or connections that it was for, or "error ...".
 * Chance comes from the seed on the command line and from nothing else. It ends with its input.
 */
#include <errno.h>
#include <fcntl.h>
#include <fnmatch.h>
#include <inttypes.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#include <arpa/inet.h>

#include "tests/support/splitmix.h"

enum {
    LINES_MAX = 256,
    PASSAGES_MAX = 1024,
    NAME_CAP = 48,
    CHUNK_MAX = 16384,
    CHUNK_THIN = 512, /* at a limited rate */
    QUEUE_MAX = 8 << 20,
    COMMAND_CAP = 256
};

enum {
    UP,
    DOWN,
    WAYS
};

struct weather {
    uint32_t delay_ms;
    uint32_t jitter_ms;
    uint32_t rate;
    uint32_t hold;
    uint32_t swallow;
    uint32_t flip;
};

struct line {
    char name[NAME_CAP];
    int listener;
    struct sockaddr_in target;
    struct weather way[WAYS];
    bool refuses;
};

struct chunk {
    struct chunk *next;
    uint64_t due_us;
    size_t len; /* 0: the end of the stream */
    size_t at;
    unsigned char bytes[];
};

struct stream {
    struct chunk *first;
    struct chunk *last;
    size_t held;
    uint64_t last_due_us;
    bool ended; /* no more is read */
    bool holed; /* something was swallowed */
};

/* Bytes that go up are read from end[UP], the node's, and written to end[DOWN], the broker's. */
struct passage {
    bool open;
    struct line *line;
    int end[WAYS];
    struct stream way[WAYS];
};

struct strait {
    struct line line[LINES_MAX];
    size_t lines;
    struct passage passage[PASSAGES_MAX];
    uint64_t chance;
    char command[COMMAND_CAP];
    size_t typed;
};

static uint64_t
now_us(void)
{
    struct timespec at;
    (void)clock_gettime(CLOCK_MONOTONIC, &at);
    return (uint64_t)at.tv_sec * 1000000 + (uint64_t)at.tv_nsec / 1000;
}

static uint64_t
draw(struct strait *strait)
{
    return splitmix(&strait->chance);
}

static void
forget(struct stream *stream)
{
    while (stream->first != NULL) {
        struct chunk *gone = stream->first;
        stream->first = gone->next;
        free(gone);
    }
    *stream = (struct stream){0};
}

static void
close_passage(struct passage *passage, bool with_reset)
{
    struct linger now = {.l_onoff = 1, .l_linger = 0};
    for (int i = 0; i < WAYS; i++) {
        if (with_reset) {
            (void)setsockopt(passage->end[i], SOL_SOCKET, SO_LINGER, &now, sizeof now);
        }
        (void)close(passage->end[i]);
        forget(&passage->way[i]);
    }
    passage->open = false;
}

static void
set_ways(int fd)
{
    int on = 1;
    (void)fcntl(fd, F_SETFL, fcntl(fd, F_GETFL) | O_NONBLOCK);
    (void)setsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
}

static void
refuse(int fd)
{
    struct linger now = {.l_onoff = 1, .l_linger = 0};
    (void)setsockopt(fd, SOL_SOCKET, SO_LINGER, &now, sizeof now);
    (void)close(fd);
}

static void
take_in(struct strait *strait, struct line *line)
{
    int node = accept(line->listener, NULL, NULL);
    struct passage *free_one = NULL;
    if (node < 0) {
        return;
    }
    for (size_t i = 0; i < PASSAGES_MAX && free_one == NULL; i++) {
        free_one = strait->passage[i].open ? NULL : &strait->passage[i];
    }
    int broker = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    if (broker < 0 || free_one == NULL || line->refuses ||
        connect(broker, (const struct sockaddr *)&line->target, sizeof line->target) != 0) {
        if (broker >= 0) {
            (void)close(broker);
        }
        refuse(node);
        return;
    }
    set_ways(node);
    set_ways(broker);
    *free_one = (struct passage){.open = true, .line = line, .end = {node, broker}};
}

static void
append(struct stream *stream, struct chunk *chunk)
{
    if (stream->last == NULL) {
        stream->first = chunk;
    } else {
        stream->last->next = chunk;
    }
    stream->last = chunk;
    stream->held += chunk->len;
}

static uint64_t
due_of(struct strait *strait, const struct stream *stream, const struct weather *weather,
       size_t len)
{
    uint64_t due = now_us() + 1000 * (uint64_t)weather->delay_ms;
    if (weather->jitter_ms > 0) {
        due += draw(strait) % (1000 * (uint64_t)weather->jitter_ms);
    }
    if (due < stream->last_due_us) {
        due = stream->last_due_us;
    }
    return weather->rate > 0 ? due + len * 1000000 / weather->rate : due;
}

static void
spoil(struct strait *strait, struct chunk *chunk, uint32_t one_in)
{
    for (size_t i = 0; i < chunk->len; i++) {
        if (draw(strait) % one_in == 0) {
            chunk->bytes[i] ^= (unsigned char)(1u << (draw(strait) % 8));
        }
    }
}

static void
read_from(struct strait *strait, struct passage *passage, int way)
{
    const struct weather *weather = &passage->line->way[way];
    struct stream *stream = &passage->way[way];
    unsigned char bytes[CHUNK_MAX];
    ssize_t got = recv(passage->end[way], bytes, weather->rate > 0 ? CHUNK_THIN : CHUNK_MAX, 0);
    if (got < 0 && (errno == EAGAIN || errno == EINTR)) {
        return;
    }
    size_t len = got > 0 ? (size_t)got : 0;
    stream->ended = len == 0;
    if (weather->swallow != 0) {
        stream->holed = true;
        return;
    }
    struct chunk *chunk = malloc(sizeof *chunk + len);
    if (chunk == NULL) {
        abort();
    }
    *chunk = (struct chunk){.due_us = due_of(strait, stream, weather, len), .len = len};
    memcpy(chunk->bytes, bytes, len);
    if (weather->flip > 0) {
        spoil(strait, chunk, weather->flip);
    }
    stream->last_due_us = chunk->due_us;
    append(stream, chunk);
}

/* False when the passage is closed. */
static bool
write_to(struct passage *passage, int way)
{
    struct stream *stream = &passage->way[way];
    while (stream->first != NULL && stream->first->due_us <= now_us()) {
        struct chunk *chunk = stream->first;
        ssize_t sent = chunk->len == 0 ? -1
                                       : send(passage->end[1 - way], chunk->bytes + chunk->at,
                                              chunk->len - chunk->at, MSG_NOSIGNAL);
        if (chunk->len != 0 && sent < 0 && (errno == EAGAIN || errno == EINTR)) {
            return true;
        }
        if (sent < 0) {
            close_passage(passage, false);
            return false;
        }
        chunk->at += (size_t)sent;
        if (chunk->at < chunk->len) {
            return true;
        }
        stream->held -= chunk->len;
        stream->first = chunk->next;
        stream->last = chunk->next == NULL ? NULL : stream->last;
        free(chunk);
    }
    return true;
}

/* When the relay must look again though nobody sends, ms. */
static int
patience(const struct strait *strait)
{
    uint64_t now = now_us();
    uint64_t next = now + 1000000;
    for (size_t i = 0; i < PASSAGES_MAX; i++) {
        const struct passage *passage = &strait->passage[i];
        for (int way = 0; passage->open && way < WAYS; way++) {
            const struct chunk *first = passage->way[way].first;
            if (first != NULL && passage->line->way[way].hold == 0 && first->due_us < next) {
                next = first->due_us;
            }
        }
    }
    return next <= now ? 0 : (int)((next - now + 999) / 1000);
}

static void
move_all(struct strait *strait)
{
    for (size_t i = 0; i < PASSAGES_MAX; i++) {
        struct passage *passage = &strait->passage[i];
        for (int way = 0; passage->open && way < WAYS; way++) {
            if (passage->line->way[way].hold == 0 && !write_to(passage, way)) {
                break;
            }
        }
    }
}

/* ---- commands ---- */

static int
open_line(struct strait *strait, const char *name, uint16_t port, const char *target)
{
    char host[NAME_CAP];
    unsigned behind = 0;
    int on = 1;
    if (strait->lines == LINES_MAX || strlen(name) >= NAME_CAP ||
        /* NOLINTNEXTLINE(cert-err34-c): the count of what was read is looked at */
        sscanf(target, "%47[0-9.]:%5u", host, &behind) != 2 || behind > UINT16_MAX) {
        return -1;
    }
    struct line *line = &strait->line[strait->lines];
    struct sockaddr_in own = {.sin_family = AF_INET, .sin_port = htons(port)};
    own.sin_addr.s_addr = htonl(INADDR_ANY);
    *line = (struct line){.listener = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)};
    line->target = (struct sockaddr_in){.sin_family = AF_INET, .sin_port = htons((uint16_t)behind)};
    memcpy(line->name, name, strlen(name) + 1);
    if (line->listener < 0 || inet_pton(AF_INET, host, &line->target.sin_addr) != 1 ||
        setsockopt(line->listener, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on) != 0 ||
        bind(line->listener, (const struct sockaddr *)&own, sizeof own) != 0 ||
        listen(line->listener, 64) != 0) {
        return -1;
    }
    strait->lines++;
    return 1;
}

/* A hold that ends lets all of it out now; what was swallowed ends the connection. */
static void
mend(struct strait *strait)
{
    for (size_t i = 0; i < PASSAGES_MAX; i++) {
        struct passage *passage = &strait->passage[i];
        for (int way = 0; passage->open && way < WAYS; way++) {
            if (passage->way[way].holed && passage->line->way[way].swallow == 0) {
                close_passage(passage, true);
            }
        }
    }
}

static int
set_weather(struct strait *strait, const char *names, const char *dir, const char *key,
            uint32_t value)
{
    int count = 0;
    for (size_t i = 0; i < strait->lines; i++) {
        struct line *line = &strait->line[i];
        for (int way = 0; way < WAYS; way++) {
            struct weather *at = &line->way[way];
            const struct {
                const char *key;
                uint32_t *value;
            } keys[] = {{"delay", &at->delay_ms}, {"jitter", &at->jitter_ms}, {"rate", &at->rate},
                        {"hold", &at->hold},      {"swallow", &at->swallow},  {"flip", &at->flip}};
            bool wanted = strcmp(dir, "both") == 0 || strcmp(dir, way == UP ? "up" : "down") == 0;
            if (!wanted || fnmatch(names, line->name, 0) != 0) {
                continue;
            }
            for (size_t k = 0; k < sizeof keys / sizeof keys[0]; k++) {
                if (strcmp(keys[k].key, key) == 0) {
                    *keys[k].value = value;
                    count++;
                }
            }
        }
    }
    mend(strait);
    return count;
}

static int
calm(struct strait *strait, const char *names)
{
    int count = 0;
    for (size_t i = 0; i < strait->lines; i++) {
        if (fnmatch(names, strait->line[i].name, 0) == 0) {
            memset(strait->line[i].way, 0, sizeof strait->line[i].way);
            strait->line[i].refuses = false;
            count++;
        }
    }
    mend(strait);
    return count;
}

static int
close_all(struct strait *strait, const char *names, bool with_reset)
{
    int count = 0;
    for (size_t i = 0; i < PASSAGES_MAX; i++) {
        struct passage *passage = &strait->passage[i];
        if (passage->open && fnmatch(names, passage->line->name, 0) == 0) {
            close_passage(passage, with_reset);
            count++;
        }
    }
    return count;
}

static int
set_refusal(struct strait *strait, const char *names, bool refuses)
{
    int count = 0;
    for (size_t i = 0; i < strait->lines; i++) {
        if (fnmatch(names, strait->line[i].name, 0) == 0) {
            strait->line[i].refuses = refuses;
            count++;
        }
    }
    return count;
}

static int
obey(struct strait *strait, char *text)
{
    char *save = NULL;
    char *word[5] = {0};
    for (size_t i = 0; i < 5; i++) {
        word[i] = strtok_r(i == 0 ? text : NULL, " ", &save);
    }
    if (word[1] == NULL) {
        return -1;
    }
    if (strcmp(word[0], "listen") == 0 && word[3] != NULL) {
        return open_line(strait, word[1], (uint16_t)strtoul(word[2], NULL, 10), word[3]);
    }
    if (strcmp(word[0], "weather") == 0 && word[4] != NULL) {
        uint32_t value = (uint32_t)strtoul(word[4], NULL, 10);
        return set_weather(strait, word[1], word[2], word[3], value);
    }
    if (strcmp(word[0], "refuse") == 0 && word[2] != NULL) {
        return set_refusal(strait, word[1], word[2][0] == '1');
    }
    if (strcmp(word[0], "calm") == 0) {
        return calm(strait, word[1]);
    }
    if (strcmp(word[0], "cut") == 0 || strcmp(word[0], "reset") == 0) {
        return close_all(strait, word[1], word[0][0] == 'r');
    }
    return -1;
}

/* False at the end of the input. */
static bool
read_commands(struct strait *strait)
{
    char bytes[COMMAND_CAP];
    ssize_t got = read(STDIN_FILENO, bytes, sizeof bytes);
    for (ssize_t i = 0; i < got; i++) {
        if (bytes[i] != '\n') {
            strait->command[strait->typed] = bytes[i];
            strait->typed += strait->typed + 1 < COMMAND_CAP ? 1 : 0;
            continue;
        }
        strait->command[strait->typed] = '\0';
        strait->typed = 0;
        int count = obey(strait, strait->command);
        (void)printf(count < 0 ? "error: not understood or not possible\n" : "ok %d\n", count);
        (void)fflush(stdout);
    }
    return got > 0 || (got < 0 && errno == EINTR);
}

/* ---- the loop ---- */

struct watched {
    struct pollfd poll[1 + LINES_MAX + WAYS * PASSAGES_MAX];
    struct passage *passage[1 + LINES_MAX + WAYS * PASSAGES_MAX];
    nfds_t count;
};

static void
watch_all(struct strait *strait, struct watched *watched)
{
    watched->count = 0;
    watched->poll[watched->count++] = (struct pollfd){.fd = STDIN_FILENO, .events = POLLIN};
    for (size_t i = 0; i < strait->lines; i++) {
        watched->poll[watched->count++] =
            (struct pollfd){.fd = strait->line[i].listener, .events = POLLIN};
    }
    for (size_t i = 0; i < PASSAGES_MAX; i++) {
        struct passage *passage = &strait->passage[i];
        for (int way = 0; passage->open && way < WAYS; way++) {
            const struct stream *in = &passage->way[way];
            const struct chunk *out = passage->way[1 - way].first;
            short events = !in->ended && in->held < QUEUE_MAX ? POLLIN : 0;
            if (out != NULL && out->at > 0) {
                events |= POLLOUT; /* the end could not take all of it */
            }
            watched->passage[watched->count] = passage;
            /* One that has ended says so again and again: it is no longer asked. */
            watched->poll[watched->count++] =
                (struct pollfd){.fd = events != 0 ? passage->end[way] : -1, .events = events};
        }
    }
}

static bool
turn(struct strait *strait, struct watched *watched)
{
    watch_all(strait, watched);
    if (poll(watched->poll, watched->count, patience(strait)) > 0) {
        for (nfds_t i = 1 + strait->lines; i < watched->count; i++) {
            struct passage *passage = watched->passage[i];
            int way = passage->end[UP] == watched->poll[i].fd ? UP : DOWN;
            if ((watched->poll[i].revents & (POLLIN | POLLHUP | POLLERR)) != 0 && passage->open &&
                !passage->way[way].ended) {
                read_from(strait, passage, way);
            }
        }
        for (nfds_t i = 1; i < 1 + strait->lines; i++) {
            if (watched->poll[i].revents != 0) {
                take_in(strait, &strait->line[i - 1]);
            }
        }
        if (watched->poll[0].revents != 0 && !read_commands(strait)) {
            return false;
        }
    }
    move_all(strait);
    return true;
}

int
main(int argc, char **argv)
{
    static struct strait strait;
    static struct watched watched;
    strait.chance = argc > 1 ? strtoull(argv[1], NULL, 10) : 1;
    while (turn(&strait, &watched)) {
    }
    for (size_t i = 0; i < PASSAGES_MAX; i++) {
        if (strait.passage[i].open) {
            close_passage(&strait.passage[i], false);
        }
    }
    return 0;
}
