/* SPDX-License-Identifier: Apache-2.0 */
/*
 * nmea - find IEC 61162-1 (NMEA 0183) sentences in a stream of bytes
 *
 * Bytes may arrive in any split: half a sentence, several in one datagram, a TAG block before one,
 * rubbish between. Each sentence is taken whole or not at all, and each one that is not taken is
 * named by a reason and counted. What a sentence says is read by sentence.h.
 *
 * 1. No checksum, no use: a sentence without a right checksum is never looked into.
 * 2. A damaged TAG block takes its sentence with it: whose reading it is cannot be known. One that
 *    ends with its line takes the next sentence, unless that has a TAG block of its own.
 * 3. '$', '!' and the backslash are reserved: inside a sentence they can only mean that its end was
 *    lost, so reading starts anew there and a damaged sentence never costs the next.
 * 4. An encapsulated sentence ('!') is refused as unknown.
 * 5. No heap, no clock, no I/O; a reader is a plain struct of its caller.
 */
#ifndef CLIENTS_STATION_BRIDGE_NMEA_H
#define CLIENTS_STATION_BRIDGE_NMEA_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "clients/station/bridge/sentence.h"
#include "proto/vocab/limits.h"

/*
 * Bytes of a sentence from '$' to the last checksum digit. The standard allows 82 with CR LF; real
 * senders of many XDR measures go over, so more is taken up to here and refused beyond.
 */
#define TL_NMEA_SENTENCE_MAX 120
/* Bytes between the two backslashes of a TAG block. */
#define TL_NMEA_TAG_MAX 100

enum tl_nmea_event_kind {
    TL_NMEA_NOTHING = 0, /* the bytes given did not finish anything */
    TL_NMEA_REFUSED,     /* not taken: reason; sentence is all zero */
    TL_NMEA_NO_DATA,     /* whole and right, says that it has no data: reason; sentence names who */
    TL_NMEA_TAKEN        /* sentence holds data */
};
struct tl_nmea_event {
    enum tl_nmea_event_kind kind;
    enum tl_nmea_reason reason;
    /* "WIMWV" when five such characters were there, else "". Not verified if the checksum is not. */
    char address[TL_NMEA_ADDRESS_LEN + 1];
    struct tl_nmea_sentence sentence;
};

enum tl_nmea_place {
    TL_NMEA_BETWEEN = 0,
    TL_NMEA_IN_TAG,
    TL_NMEA_AFTER_TAG,
    TL_NMEA_IN_SENTENCE
};
/* Private but for the counters; the caller owns the memory and makes it with tl_nmea_init. */
struct tl_nmea_reader {
    uint64_t taken;
    uint64_t refused[TL_NMEA_REASONS]; /* by reason; [TL_NMEA_FINE] stays 0 */
    uint64_t noise_bytes;
    char source[TL_SOURCE_CAP];
    char tag_source[TL_SOURCE_CAP];
    enum tl_nmea_place place;
    enum tl_nmea_reason spoiled; /* why the line being read can no longer be taken */
    bool tag_bad;
    bool in_noise;
    uint8_t header_len; /* bytes matched of a datagram header; past its size: not looked for */
    size_t tag_len;
    size_t line_len;
    char tag[TL_NMEA_TAG_MAX];
    char line[TL_NMEA_SENTENCE_MAX];
};

/*
 * Make a reader at the start of a stream, counters zero.
 *
 * r: taken. source: borrowed; name given to sentences without a TAG source, such as the name of the
 *    feed; "" for none; cut at TL_SOURCE_CAP - 1.
 */
void tl_nmea_init(struct tl_nmea_reader *r, const char *source);

/*
 * Read bytes up to the first thing worth telling.
 *
 * Call again with the rest until all is used; each call either uses a byte or tells an event.
 *
 *   for (size_t at = 0; at < len;) {
 *       at += tl_nmea_feed(&r, bytes + at, len - at, &event);
 *       ...
 *   }
 *
 * r:     changed. bytes: borrowed, len of them, any values.
 * event: always written; kind NOTHING when all bytes are used and nothing came of them.
 * Returns the bytes used, 0..len.
 */
size_t tl_nmea_feed(struct tl_nmea_reader *r, const uint8_t *bytes, size_t len,
                    struct tl_nmea_event *event);

/*
 * End a unit: a datagram, a file. What is unfinished never joins with what comes next.
 *
 * A sentence that is whole but for its line end is taken: its checksum vouches for it, and some
 * senders of datagrams leave CR LF away.
 *
 * r: changed. event: always written, as in tl_nmea_feed.
 */
void tl_nmea_end_unit(struct tl_nmea_reader *r, struct tl_nmea_event *event);

/*
 * Exclusive-or of the characters, as a sentence and a TAG block carry it after '*'.
 *
 * text: borrowed, len bytes: what stands between '$' (or the backslash) and '*', both left out.
 */
uint8_t tl_nmea_checksum(const char *text, size_t len);

#endif
