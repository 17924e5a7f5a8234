/* SPDX-License-Identifier: Apache-2.0 */
/*
 * Where sentences come from: a file at its pace, a pipe, a UDP port on loopback. Time is the test's;
 * a datagram is waited for with poll.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
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

#include "clients/station/feed/feed.h"

enum {
    NOW_MS = 1000,
    LINE_MS = 1000 / TL_FEED_LINES_PER_S,
    WAIT_MS = 5000,
    SMALL = 32
};

struct got {
    enum tl_err err;
    bool unit;
    size_t len;
    char bytes[TL_FEED_UNIT_MAX + 1];
};

static struct got
read_some(struct tl_feed *feed, uint64_t now_ms, uint16_t cap)
{
    struct got got = {.len = 77};

    got.err = tl_feed_read(feed, now_ms, (uint8_t *)got.bytes, cap, &got.len, &got.unit);
    got.bytes[got.err == TL_OK ? got.len : 0] = '\0';
    return got;
}

static void
expect(struct got got, const char *bytes, bool unit)
{
    assert_int_equal(got.err, TL_OK);
    assert_string_equal(got.bytes, bytes);
    assert_int_equal(got.unit, unit);
}

/* ---- files ---- */

static void
make_file(char path[64], const char *text)
{
    (void)snprintf(path, 64, "/tmp/tl-feed-XXXXXX");
    int fd = mkstemp(path);

    assert_true(fd >= 0);
    assert_int_equal(write(fd, text, strlen(text)), strlen(text));
    assert_int_equal(close(fd), 0);
}

static void
feed_file_gives_a_line_when_it_is_due(void **state)
{
    char path[64];
    char why[128] = "";
    struct tl_feed feed;

    (void)state;
    make_file(path, "one\r\ntwo\n\nlast");
    assert_int_equal(tl_feed_open(path, &feed, why, sizeof why), TL_OK);
    assert_int_equal(tl_feed_fd(&feed), -1); /* paced by time */
    expect(read_some(&feed, NOW_MS, SMALL), "one\r\n", false);
    assert_int_equal(read_some(&feed, NOW_MS, SMALL).err, TL_EMPTY);
    assert_int_equal(read_some(&feed, NOW_MS + LINE_MS - 1, SMALL).err, TL_EMPTY);
    expect(read_some(&feed, NOW_MS + LINE_MS, SMALL), "two\n", false);
    expect(read_some(&feed, NOW_MS + 2 * LINE_MS, SMALL), "\n", false);
    /* nothing can follow the last line: it is a unit */
    expect(read_some(&feed, NOW_MS + 3 * LINE_MS, SMALL), "last", true);
    assert_int_equal(read_some(&feed, NOW_MS + 4 * LINE_MS, SMALL).err, TL_NOTFOUND);
    assert_int_equal(read_some(&feed, NOW_MS + 5 * LINE_MS, SMALL).err, TL_NOTFOUND);
    tl_feed_close(&feed);
    assert_int_equal(unlink(path), 0);
}

static void
feed_file_gives_a_long_line_in_parts(void **state)
{
    char path[64];
    char why[128] = "";
    struct tl_feed feed;

    (void)state;
    make_file(path, "abcdefgh\n");
    assert_int_equal(tl_feed_open(path, &feed, why, sizeof why), TL_OK);
    expect(read_some(&feed, NOW_MS, 4), "abcd", false);
    expect(read_some(&feed, NOW_MS + LINE_MS, 4), "efgh", false);
    expect(read_some(&feed, NOW_MS + 2 * LINE_MS, 4), "\n", false);
    assert_int_equal(read_some(&feed, NOW_MS + 3 * LINE_MS, 4).err, TL_NOTFOUND);
    tl_feed_close(&feed);
    tl_feed_close(&feed); /* twice does no harm */
    assert_int_equal(unlink(path), 0);
}

static void
feed_pipe_gives_what_is_there_and_then_its_end(void **state)
{
    char path[64];
    char why[128] = "";
    struct tl_feed feed;

    (void)state;
    (void)snprintf(path, sizeof path, "/tmp/tl-feed-%d", (int)getpid());
    assert_int_equal(mkfifo(path, 0600), 0);
    assert_int_equal(tl_feed_open(path, &feed, why, sizeof why), TL_OK);
    assert_int_equal(read_some(&feed, NOW_MS, SMALL).err, TL_EMPTY); /* no writer yet */
    int writer = open(path, O_WRONLY | O_CLOEXEC);
    assert_true(writer >= 0);
    assert_int_equal(read_some(&feed, NOW_MS, SMALL).err, TL_EMPTY);
    assert_int_equal(write(writer, "$WIM", 4), 4);
    expect(read_some(&feed, NOW_MS, SMALL), "$WIM", false);
    assert_int_equal(read_some(&feed, NOW_MS, SMALL).err, TL_EMPTY);
    assert_int_equal(close(writer), 0);
    assert_int_equal(read_some(&feed, NOW_MS, SMALL).err, TL_NOTFOUND);
    assert_int_equal(tl_feed_fd(&feed), -1);
    assert_int_equal(unlink(path), 0);
}

/* Standard input is put back: the test's own must outlive it. */
static void
feed_standard_input_is_paced_only_if_it_is_a_file(void **state)
{
    char path[64];
    char why[128] = "";
    struct tl_feed feed;
    int kept = dup(STDIN_FILENO);
    int ends[2];

    (void)state;
    make_file(path, "one\ntwo\n");
    int file = open(path, O_RDONLY | O_CLOEXEC);
    assert_true(file >= 0 && dup2(file, STDIN_FILENO) == STDIN_FILENO);
    assert_int_equal(tl_feed_open("-", &feed, why, sizeof why), TL_OK);
    expect(read_some(&feed, NOW_MS, SMALL), "one\n", false);
    assert_int_equal(read_some(&feed, NOW_MS, SMALL).err, TL_EMPTY);
    tl_feed_close(&feed);
    assert_true(fcntl(STDIN_FILENO, F_GETFD) >= 0); /* it is not ours to close */

    assert_int_equal(pipe(ends), 0);
    assert_int_equal(dup2(ends[0], STDIN_FILENO), STDIN_FILENO);
    assert_int_equal(write(ends[1], "one\ntwo\n", 8), 8);
    assert_int_equal(tl_feed_open("-", &feed, why, sizeof why), TL_OK);
    assert_int_equal(tl_feed_fd(&feed), STDIN_FILENO);
    expect(read_some(&feed, NOW_MS, SMALL), "one\ntwo\n", false);
    assert_int_equal(read_some(&feed, NOW_MS, SMALL).err, TL_EMPTY); /* and it did not block */
    tl_feed_close(&feed);
    if (kept >= 0) {
        assert_int_equal(dup2(kept, STDIN_FILENO), STDIN_FILENO);
        assert_int_equal(close(kept), 0);
    }
    assert_int_equal(close(file) + close(ends[0]) + close(ends[1]), 0);
    assert_int_equal(unlink(path), 0);
}

/* ---- UDP ---- */

/* A free port of loopback: bound, asked for, let go. */
static uint16_t
free_port(void)
{
    struct sockaddr_in a = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    socklen_t len = sizeof a;
    int fd = socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC, 0);

    assert_true(fd >= 0);
    assert_int_equal(bind(fd, (const struct sockaddr *)&a, sizeof a), 0);
    assert_int_equal(getsockname(fd, (struct sockaddr *)&a, &len), 0);
    assert_int_equal(close(fd), 0);
    return ntohs(a.sin_port);
}

static int
connect_to(uint16_t port)
{
    struct sockaddr_in a = {
        .sin_family = AF_INET, .sin_port = htons(port), .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    int fd = socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC, 0);

    assert_true(fd >= 0);
    assert_int_equal(connect(fd, (const struct sockaddr *)&a, sizeof a), 0);
    return fd;
}

static void
await(const struct tl_feed *feed)
{
    struct pollfd wait = {.fd = tl_feed_fd(feed), .events = POLLIN};

    assert_int_equal(poll(&wait, 1, WAIT_MS), 1);
}

static void
feed_udp_gives_each_datagram_as_a_unit(void **state)
{
    char spec[64];
    char why[128] = "";
    struct tl_feed feed;
    uint16_t port = free_port();

    (void)state;
    (void)snprintf(spec, sizeof spec, "udp://127.0.0.1:%u", port);
    assert_int_equal(tl_feed_open(spec, &feed, why, sizeof why), TL_OK);
    assert_int_equal(read_some(&feed, NOW_MS, SMALL).err, TL_EMPTY);
    int sender = connect_to(port);
    assert_int_equal(send(sender, "$WIMWV,0", 8, 0), 8);
    assert_int_equal(send(sender, ".0,R\r\n", 6, 0), 6);
    await(&feed);
    expect(read_some(&feed, NOW_MS, SMALL), "$WIMWV,0", true);
    await(&feed);
    expect(read_some(&feed, NOW_MS, SMALL), ".0,R\r\n", true);
    assert_int_equal(read_some(&feed, NOW_MS, SMALL).err, TL_EMPTY);
    assert_int_equal(close(sender), 0);
    tl_feed_close(&feed);
    assert_int_equal(tl_feed_fd(&feed), -1);
}

static void
feed_udp_drops_a_datagram_that_does_not_fit(void **state)
{
    static const char big[SMALL + 1] = "123456789012345678901234567890123";
    char spec[64];
    char why[128] = "";
    struct tl_feed feed;
    uint16_t port = free_port();

    (void)state;
    (void)snprintf(spec, sizeof spec, "udp://127.0.0.1:%u", port);
    assert_int_equal(tl_feed_open(spec, &feed, why, sizeof why), TL_OK);
    int sender = connect_to(port);
    assert_int_equal(send(sender, big, SMALL + 1, 0), SMALL + 1);
    assert_int_equal(send(sender, big, SMALL, 0), SMALL);
    await(&feed);
    struct got got = read_some(&feed, NOW_MS, SMALL);
    assert_int_equal(got.err, TL_OK);
    assert_int_equal(got.len, SMALL);
    assert_int_equal(feed.dropped, 1);
    assert_int_equal(send(sender, "", 0, 0), 0); /* an empty one says nothing and ends nothing */
    await(&feed);
    assert_int_equal(read_some(&feed, NOW_MS, SMALL).err, TL_EMPTY);
    assert_int_equal(send(sender, "a", 1, 0), 1);
    await(&feed);
    expect(read_some(&feed, NOW_MS, SMALL), "a", true);
    assert_int_equal(close(sender), 0);
    tl_feed_close(&feed);
}

/* ---- refusals ---- */

static void
feed_that_cannot_be_opened_says_why(void **state)
{
    static const struct {
        const char *spec;
        enum tl_err err;
    } rows[] = {
        {"", TL_BADARG},
        {"/tmp", TL_BADARG},
        {"/nonexistent/feed", TL_NOTFOUND},
        {"tcp://127.0.0.1:4000", TL_BADARG},
        {"udp://", TL_BADARG},
        {"udp://127.0.0.1", TL_BADARG},
        {"udp://127.0.0.1:", TL_BADARG},
        {"udp://:4000", TL_BADARG},
        {"udp://127.0.0.1:0", TL_BADARG},
        {"udp://127.0.0.1:65536", TL_BADARG},
        {"udp://127.0.0.1:99999999999999999999", TL_BADARG},
        {"udp://127.0.0.1:-1", TL_BADARG},
        {"udp://127.0.0.1:+1", TL_BADARG},
        {"udp://127.0.0.1: 1", TL_BADARG},
        {"udp://127.0.0.1:4000x", TL_BADARG},
        {"udp://localhost:4000", TL_BADARG}, /* numeric only: no name is looked up */
        {"udp://127.1:4000", TL_BADARG},
        {"udp://256.0.0.1:4000", TL_BADARG},
        {"udp://127.000.000.001.001:4000", TL_BADARG},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_feed feed = {.fd = 4711};
        char why[128] = "";
        enum tl_err err = tl_feed_open(rows[i].spec, &feed, why, sizeof why);

        if (err != rows[i].err || why[0] == '\0' || strchr(why, '\n') != NULL || feed.fd != 4711) {
            fail_msg("'%s': %s, '%s'", rows[i].spec, tl_err_text(err), why);
        }
    }
}

static void
feed_port_that_is_taken_is_an_error(void **state)
{
    char spec[64];
    char why[128] = "";
    struct tl_feed one;
    struct tl_feed two = {.fd = 4711};

    (void)state;
    (void)snprintf(spec, sizeof spec, "udp://127.0.0.1:%u", free_port());
    assert_int_equal(tl_feed_open(spec, &one, why, sizeof why), TL_OK);
    assert_int_equal(tl_feed_open(spec, &two, why, sizeof why), TL_IO);
    assert_int_equal(two.fd, 4711);
    assert_non_null(strstr(why, strerror(EADDRINUSE)));
    tl_feed_close(&one);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(feed_file_gives_a_line_when_it_is_due),
        cmocka_unit_test(feed_file_gives_a_long_line_in_parts),
        cmocka_unit_test(feed_pipe_gives_what_is_there_and_then_its_end),
        cmocka_unit_test(feed_standard_input_is_paced_only_if_it_is_a_file),
        cmocka_unit_test(feed_udp_gives_each_datagram_as_a_unit),
        cmocka_unit_test(feed_udp_drops_a_datagram_that_does_not_fit),
        cmocka_unit_test(feed_that_cannot_be_opened_says_why),
        cmocka_unit_test(feed_port_that_is_taken_is_an_error),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
