/* SPDX-License-Identifier: Apache-2.0 */
/*
 * rows.h - tables of hand-made envelopes and what a receiver says to each
 *
 * Every row is signed with the right key on the right topic, so that only its bytes are at fault.
 */
#ifndef TESTS_CODEC_ROWS_H
#define TESTS_CODEC_ROWS_H

#include "tests/codec/support.h"

#define OK TL_REFUSAL_UNKNOWN

struct row {
    const char *name;
    enum tl_body_kind body;
    const char *spec; /* of the whole envelope, see spec.h; from node engine-1 */
    enum tl_refusal want;
};

/* All rows, then one failure that names each that went otherwise. */
void rows_check(struct world *world, const struct row *rows, size_t count);
#define ROWS_CHECK(world, rows) rows_check(world, rows, sizeof(rows) / sizeof(rows)[0])

/* The parts that most envelopes are made of. */
#define HEAD                 "1:1 2:'engine-1' 3:1 4:5 5:7 "
#define EVENT                "1:1764050400000 2:7"
#define DATUM(datum)         HEAD "17:{1:{" datum "}}" /* a change */
#define VALUE(value)         DATUM("1:7 " value)       /* with its sequence */
#define SLOTTED(slot, value) DATUM("1:7 2:" slot " " value)
#define BEAT(beat)           HEAD "16:{1:100 " beat "}" /* with changes up to 100 */
#define WIND(wind)           BEAT("4:{16:{" wind "}}")
#define MOTION(motion)       BEAT("4:{17:{" motion "}}")
#define RECEIPT(receipt)     HEAD "18:{1:5 " receipt "}"
#define DIGESTS              "8:'0123456789abcdef' 9:'fedcba9876543210'"
#define CAUSE                "1:9 3:1"
#define NOT_READY(more)      HEAD "19:{1:1 2:42300 3:1 5:{" CAUSE "} 6:1 " DIGESTS more "}"
#define PICTURE(picture)     HEAD "20:{1:1 " picture "}"
#define STATION              "1:'engine-1' 3:53 6:'01234567'"
#define ALERT(alert)         HEAD "21:{2:{" alert "}}"
#define REFUSAL(refusal)     HEAD "22:{1:{" refusal "}}"
#define JUDGED(judged)       HEAD "23:{" judged "}"

#endif
