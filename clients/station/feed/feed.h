/* SPDX-License-Identifier: Apache-2.0 */
/*
 * feed - where what sensors say comes from: a file, standard input, or a UDP port
 *
 * A datagram is a unit of its own: a line cut off at its end does not join the next one. A
 * regular file, standard input too if it is one, is played back at TL_FEED_LINES_PER_S lines a
 * second, because it has no pace of its own. Nothing here blocks. A serial port must have been set
 * up before; a named pipe ends when its last writer leaves.
 */
#ifndef CLIENTS_STATION_FEED_FEED_H
#define CLIENTS_STATION_FEED_FEED_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "proto/base/err.h"

enum {
    TL_FEED_LINES_PER_S = 20,
    TL_FEED_UNIT_MAX = 2048,
    TL_FEED_DROPS_MAX = 64
};

enum tl_feed_kind {
    TL_FEED_NONE = 0,
    TL_FEED_STREAM,
    TL_FEED_FILE,
    TL_FEED_UDP
};

struct tl_feed {
    enum tl_feed_kind kind;
    int fd; /* -1 = closed or ended */
    bool owned;
    uint64_t next_ms; /* regular file: when the next line is due */
    uint64_t dropped; /* datagrams too large to be taken whole */
};

/*
 * Open "FILE", "-" or "udp://ADDR:PORT" (numeric IPv4 address, port 1..65535).
 * TL_BADARG: not of these forms. TL_NOTFOUND, TL_PERM, TL_IO: the system's word. `why` gets one
 * sentence. *feed is untouched on error.
 */
TL_MUST_USE enum tl_err tl_feed_open(const char *spec, struct tl_feed *feed, char *why, size_t cap);
void tl_feed_close(struct tl_feed *feed);

/*
 * Read what is there: at most `cap` bytes, 1 or more. Of a regular file it is one line, when it is
 * due; of UDP one datagram, and one larger than `cap` is dropped whole and counted.
 * *len and *unit are written on TL_OK only. *unit: what comes later does not join these bytes (a
 * datagram, or the last line of a regular file that has no newline).
 * TL_EMPTY: nothing now. TL_NOTFOUND: the feed has ended (and is closed). TL_IO: so too, by a fault.
 */
TL_MUST_USE enum tl_err tl_feed_read(struct tl_feed *feed, uint64_t now_ms, uint8_t *bytes,
                                     size_t cap, size_t *len, bool *unit);

/* To wait on; -1 when it is paced by time, closed or ended. */
int tl_feed_fd(const struct tl_feed *feed);

#endif
