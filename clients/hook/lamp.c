/* SPDX-License-Identifier: Apache-2.0 */
/* lamp.c - see lamp.h. */
#include "clients/hook/lamp.h"

#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>
#include <sys/file.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

#include "proto/base/text.h"

enum {
    BITS_A_BYTE = 10, /* start, eight, stop */
    MS_A_SECOND = 1000,
    TEXT_CAP = 96,
    CRC_TAIL = 10 /* blank, eight digits, line feed */
};

static const struct {
    uint32_t baud;
    speed_t speed;
} speeds[] = {{9600, B9600}, {19200, B19200}, {38400, B38400}, {57600, B57600}, {115200, B115200}};

static bool
speed_of(uint32_t baud, speed_t *speed)
{
    for (size_t i = 0; i < sizeof speeds / sizeof speeds[0]; i++) {
        if (speeds[i].baud == baud) {
            *speed = speeds[i].speed;
            return true;
        }
    }
    return false;
}

static enum tl_err
refuse(const char *spec, const char *what, char why[TL_LAMP_WHY_CAP])
{
    char plain[TL_PATH_CAP];
    (void)tl_text_plain(plain, sizeof plain, spec, strlen(spec));
    (void)snprintf(why, TL_LAMP_WHY_CAP, "lamp '%s': %s", plain, what);
    return TL_BADARG;
}

/* The part behind the last '@' is a speed when it is a number; a path may have one of its own. */
static bool
split(const char *spec, struct tl_lamp *lamp)
{
    const char *at = strrchr(spec, '@');
    uint64_t baud = 0;
    size_t len = strlen(spec);
    speed_t speed = B0;
    if (at != NULL && tl_text_number(at + 1, &baud)) {
        len = (size_t)(at - spec);
        lamp->baud = baud <= UINT32_MAX ? (uint32_t)baud : 0;
    }
    if (len == 0 || len >= sizeof lamp->path || !speed_of(lamp->baud, &speed)) {
        return false;
    }
    memcpy(lamp->path, spec, len);
    lamp->path[len] = '\0';
    return true;
}

enum tl_err
tl_lamp_init(struct tl_lamp *lamp, const char *spec, char why[TL_LAMP_WHY_CAP])
{
    struct stat status;
    memset(lamp, 0, sizeof *lamp);
    lamp->fd = -1;
    lamp->baud = speeds[0].baud;
    if (spec == NULL) {
        return TL_OK;
    }
    if (!split(spec, lamp)) {
        lamp->path[0] = '\0';
        return refuse(spec, "give PATH or PATH@BAUD, 9600 19200 38400 57600 or 115200", why);
    }
    if (stat(lamp->path, &status) == 0 && !S_ISCHR(status.st_mode) && !S_ISFIFO(status.st_mode)) {
        lamp->path[0] = '\0';
        return refuse(spec, "neither a terminal line nor a FIFO", why);
    }
    return TL_OK;
}

/* ---- the line ---- */

static void
fail(struct tl_lamp *lamp, const char *what)
{
    char line[TL_LAMP_WHY_CAP];
    if (!lamp->failed_said && lamp->say != NULL) {
        (void)snprintf(line, sizeof line, "lamp %s: %s; tried again", lamp->path, what);
        lamp->say(lamp->ctx, line);
    }
    lamp->failed_said = true;
}

/* Without what it has not sent: a close would wait for it. */
static void
drop_line(struct tl_lamp *lamp)
{
    if (lamp->fd >= 0) {
        (void)tcflush(lamp->fd, TCOFLUSH);
        (void)close(lamp->fd);
    }
    lamp->fd = -1;
    lamp->line_len = 0;
    lamp->line_at = 0;
    lamp->full_since_ms = 0;
}

/* Eight bits, no parity, one stop bit; nothing is translated and no signal of the line is awaited. */
static bool
set_raw(const struct tl_lamp *lamp)
{
    struct termios line;
    speed_t speed = B0;
    if (!speed_of(lamp->baud, &speed) || tcgetattr(lamp->fd, &line) != 0) {
        return false;
    }
    cfmakeraw(&line);
    line.c_cflag |= CLOCAL;
    line.c_cflag &= ~(tcflag_t)(CSTOPB | CRTSCTS | HUPCL);
    return cfsetospeed(&line, speed) == 0 && cfsetispeed(&line, speed) == 0 &&
           tcsetattr(lamp->fd, TCSANOW, &line) == 0;
}

static const char *
take_line(const struct tl_lamp *lamp)
{
    struct stat status;
    if (fstat(lamp->fd, &status) != 0) {
        return strerror(errno);
    }
    if (!S_ISFIFO(status.st_mode) && isatty(lamp->fd) == 0) {
        return "neither a terminal line nor a FIFO";
    }
    if (flock(lamp->fd, LOCK_EX | LOCK_NB) != 0) {
        return "another program writes to it";
    }
    return S_ISFIFO(status.st_mode) || set_raw(lamp) ? NULL : "its speed cannot be set";
}

static void
open_line(struct tl_lamp *lamp, uint64_t now_ms)
{
    if (now_ms < lamp->retry_ms) {
        return;
    }
    lamp->retry_ms = now_ms + TL_LAMP_RETRY_MS;
    lamp->fd = open(lamp->path, O_WRONLY | O_NONBLOCK | O_NOCTTY | O_CLOEXEC);
    const char *what = lamp->fd >= 0 ? take_line(lamp) : strerror(errno);
    if (lamp->fd < 0 && errno == ENXIO) {
        what = "nobody reads it";
    }
    if (what != NULL) {
        fail(lamp, what);
        drop_line(lamp);
    }
}

/*
 * Whether what waits in the line is gone in 200 ms; of a FIFO, whether at most a line waits. A
 * terminal line that does not answer has been pulled: it is closed.
 */
static bool
has_room(struct tl_lamp *lamp)
{
    int waiting = 0;
    if (ioctl(lamp->fd, TIOCOUTQ, &waiting) == 0) {
        return (uint64_t)waiting * BITS_A_BYTE * MS_A_SECOND <=
               (uint64_t)TL_LAMP_AHEAD_MS * lamp->baud;
    }
    if (errno != ENOTTY || ioctl(lamp->fd, FIONREAD, &waiting) != 0) {
        fail(lamp, strerror(errno));
        drop_line(lamp);
        return false;
    }
    return waiting <= TL_LAMP_LINE_CAP;
}

/* Write what the line takes of the one in hand. */
static void
push(struct tl_lamp *lamp)
{
    while (lamp->line_at < lamp->line_len) {
        ssize_t n = write(lamp->fd, lamp->line + lamp->line_at, lamp->line_len - lamp->line_at);
        if (n > 0) {
            lamp->line_at += (size_t)n;
        } else if (n < 0 && errno != EAGAIN && errno != EINTR) {
            fail(lamp, errno == EPIPE ? "its reader has gone" : strerror(errno));
            drop_line(lamp);
            return;
        } else {
            return;
        }
    }
    lamp->failed_said = lamp->failed_said && lamp->line_len == 0;
    lamp->line_len = 0;
    lamp->line_at = 0;
}

/* ---- words ---- */

/* CRC-32 of ISO/IEC/IEEE 8802-3 (Ethernet), the lowest bit first. */
static uint32_t
crc32_of(const char *text, size_t len)
{
    uint32_t crc = UINT32_MAX;
    for (size_t i = 0; i < len; i++) {
        crc ^= (unsigned char)text[i];
        for (int bit = 0; bit < 8; bit++) {
            crc = (crc >> 1) ^ ((crc & 1U) != 0 ? 0xedb88320U : 0U);
        }
    }
    return ~crc;
}

/* Printable ASCII; a word has no blank in it and is never empty. */
static const char *
ascii(char *dst, size_t cap, const char *src, bool word)
{
    (void)snprintf(dst, cap, "%s", src[0] != '\0' ? src : "-");
    for (char *c = dst; *c != '\0'; c++) {
        if (*c < ' ' || *c > '~') {
            *c = '?';
        } else if (word && *c == ' ') {
            *c = '-';
        }
    }
    return dst;
}

struct words {
    const char *word;
    const char *kind; /* severity; "-" of a state */
    const char *rule;
    const char *station;
    const char *text;
};

static void
begin_line(struct tl_lamp *lamp, const struct words *words, uint64_t now_ms)
{
    char kind[TL_ID_CAP];
    char rule[TL_HOOK_RULE_CAP];
    char station[TL_ID_CAP];
    char text[TEXT_CAP];
    int n = snprintf(lamp->line, sizeof lamp->line - CRC_TAIL,
                     "TL1 %" PRIu64 " %" PRIu64 " %" PRIu64 " %s %s %s %s %s", ++lamp->sequence,
                     now_ms, lamp->lost, words->word, ascii(kind, sizeof kind, words->kind, true),
                     ascii(rule, sizeof rule, words->rule, true),
                     ascii(station, sizeof station, words->station, true),
                     ascii(text, sizeof text, words->text, false));
    size_t len = n > 0 ? strlen(lamp->line) : 0;
    n = snprintf(lamp->line + len, sizeof lamp->line - len, " %08" PRIx32 "\n",
                 crc32_of(lamp->line, len));
    lamp->line_len = len + (n > 0 ? (size_t)n : 0);
    lamp->line_at = 0;
}

static void
say_state(struct tl_lamp *lamp, const struct tl_lamp_state *state, uint64_t now_ms)
{
    const char *ready = state->drill ? "DRILL-READY" : "READY";
    struct words words = {.word = state->ready ? ready : "NOT-READY",
                          .kind = state->drill ? "drill" : "-",
                          .rule = state->rule,
                          .station = state->station,
                          .text = "-"};
    lamp->said_ready = state->ready;
    lamp->said_drill = state->drill;
    lamp->said_ms = now_ms;
    begin_line(lamp, &words, now_ms);
}

static void
say_edge(struct tl_lamp *lamp, uint64_t now_ms)
{
    static const char *const words_of[] = {[TL_HOOK_EDGE_UNKNOWN] = "UNKNOWN",
                                           [TL_HOOK_EDGE_RAISED] = "RAISED",
                                           [TL_HOOK_EDGE_AGAIN] = "AGAIN",
                                           [TL_HOOK_EDGE_ACKNOWLEDGED] = "ACKNOWLEDGED",
                                           [TL_HOOK_EDGE_GONE] = "GONE"};
    const struct tl_hook_call *call = &lamp->queue[lamp->first];
    struct words words = {.word = words_of[call->edge],
                          .kind = call->severity,
                          .rule = call->rule,
                          .station = call->station,
                          .text = call->text};
    begin_line(lamp, &words, now_ms);
    lamp->first = (lamp->first + 1) % TL_HOOK_QUEUE;
    lamp->count--;
}

/* ---- what is called ---- */

void
tl_lamp_edge(struct tl_lamp *lamp, enum tl_hook_edge edge, const struct tl_hook_alert *alert)
{
    if (lamp->path[0] == '\0') {
        return;
    }
    if (lamp->count == TL_HOOK_QUEUE) {
        lamp->first = (lamp->first + 1) % TL_HOOK_QUEUE;
        lamp->count--;
        lamp->lost++;
    }
    tl_hook_fill(&lamp->queue[(lamp->first + lamp->count) % TL_HOOK_QUEUE], edge, alert);
    lamp->count++;
}

/*
 * A line that takes nothing for as long as the far end believes READY is as good as none; closed, it
 * forgets what nobody has read.
 */
static void
note_full(struct tl_lamp *lamp, uint64_t now_ms)
{
    if (lamp->fd >= 0 && lamp->full_since_ms == 0) {
        lamp->full_since_ms = now_ms;
    } else if (lamp->fd >= 0 && now_ms - lamp->full_since_ms >= TL_LAMP_DROP_MS) {
        fail(lamp, "what is said is not taken at its other end");
        drop_line(lamp);
    }
}

void
tl_lamp_tend(struct tl_lamp *lamp, const struct tl_lamp_state *state, uint64_t now_ms)
{
    if (lamp->path[0] == '\0') {
        return;
    }
    if (lamp->fd < 0) {
        open_line(lamp, now_ms);
    }
    if (lamp->fd >= 0) {
        push(lamp);
    }
    if (lamp->fd < 0) {
        return;
    }
    if (lamp->line_len > 0 || !has_room(lamp)) {
        note_full(lamp, now_ms);
        return;
    }
    lamp->full_since_ms = 0;
    bool changed = lamp->said_ready != state->ready || lamp->said_drill != state->drill;
    if (changed || lamp->said_ms == 0 || now_ms - lamp->said_ms >= TL_LAMP_SAY_MS) {
        say_state(lamp, state, now_ms);
    } else if (lamp->count > 0) {
        say_edge(lamp, now_ms);
    }
    push(lamp);
}

void
tl_lamp_close(struct tl_lamp *lamp, uint64_t now_ms)
{
    static const struct words end = {"END", "-", "-", "-", "-"};
    if (lamp->path[0] == '\0') {
        return;
    }
    if (lamp->fd >= 0 && lamp->line_len == 0 && has_room(lamp)) {
        begin_line(lamp, &end, now_ms);
        push(lamp);
    } else {
        drop_line(lamp);
    }
    if (lamp->fd >= 0) {
        (void)close(lamp->fd);
        lamp->fd = -1;
    }
    lamp->path[0] = '\0';
}
