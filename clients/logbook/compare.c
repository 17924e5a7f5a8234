/* SPDX-License-Identifier: Apache-2.0 */
/* compare.c - see compare.h: a walk through both files side by side. */
#include "clients/logbook/compare.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/logbook/opened.h"
#include "proto/base/text.h"
#include "proto/codec/codec.h"

enum {
    SCHEMA_FRAMES = 3 /* from here on rows have their frames */
};

/* One of the two files, and the row at which it stands. */
struct side {
    sqlite3 *db;
    sqlite3_stmt *row;
    bool more;
    char node[TL_ID_CAP];
    uint64_t incarnation, sequence;
};

struct comparing {
    struct side side[2];
    struct tl_codec codec;
    struct tl_envelope envelope;
    struct tl_compared *out;
};

/* ---- one side ---- */

static enum tl_err
next(struct side *side)
{
    int code = sqlite3_step(side->row);
    side->more = code == SQLITE_ROW;
    if (side->more) {
        const unsigned char *node = sqlite3_column_text(side->row, 0);
        const char *text = node != NULL ? (const char *)node : "";
        (void)tl_text_plain(side->node, sizeof side->node, text, strlen(text));
        side->incarnation = (uint64_t)sqlite3_column_int64(side->row, 1);
        side->sequence = (uint64_t)sqlite3_column_int64(side->row, 2);
    }
    return side->more || code == SQLITE_DONE ? TL_OK : TL_IO;
}

static enum tl_err
begin(struct side *side, const char *path, char *why, size_t why_cap)
{
    static const char with[] = "SELECT node, incarnation, sequence, word, stated_for, frame"
                               " FROM change ORDER BY node, incarnation, sequence";
    static const char without[] = "SELECT node, incarnation, sequence, word, stated_for, NULL"
                                  " FROM change ORDER BY node, incarnation, sequence";
    int schema = 0;
    enum tl_err err = tl_record_open(path, &side->db, &schema, why, why_cap);
    if (err == TL_NOTFOUND) {
        return err;
    }
    if (err == TL_OK && (schema < 1 || schema > TL_RECORD_SCHEMA_LAST)) {
        (void)snprintf(why, why_cap, "record %s has schema %d, this program knows %d", path, schema,
                       TL_RECORD_SCHEMA_LAST);
        return TL_REFUSED;
    }
    if (err == TL_OK && sqlite3_prepare_v2(side->db, schema >= SCHEMA_FRAMES ? with : without, -1,
                                           &side->row, NULL) != SQLITE_OK) {
        err = TL_IO;
    }
    err = err == TL_OK ? next(side) : err;
    if (err != TL_OK) {
        (void)snprintf(why, why_cap, "record %s cannot be read: %.120s", path,
                       side->db != NULL ? sqlite3_errmsg(side->db) : tl_err_text(err));
    }
    return err;
}

/* ---- both ---- */

static struct tl_compared_station *
station_of(struct tl_compared *out, const char *node)
{
    struct tl_compared_station *last = out->count > 0 ? &out->station[out->count - 1] : NULL;
    if (last != NULL && strncmp(last->node, node, TL_ID_CAP) == 0) {
        return last; /* rows come in the order of their stations */
    }
    if (out->count == TL_COMPARED_MAX) {
        return NULL;
    }
    last = &out->station[out->count++];
    memset(last, 0, sizeof *last);
    (void)snprintf(last->node, sizeof last->node, "%s", node);
    return last;
}

static void
note_first(struct tl_compared_station *station, const struct side *side)
{
    if (station->sequence == 0) {
        station->incarnation = side->incarnation;
        station->sequence = side->sequence;
    }
}

/* What was said, as the validators compare it; 0 when the row has no frame that can be read. */
static uint64_t
digest_of(struct comparing *on, const struct side *side)
{
    struct tl_frame frame;
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    const uint8_t *bytes = sqlite3_column_blob(side->row, 5);
    size_t len = (size_t)sqlite3_column_bytes(side->row, 5);
    if (bytes == NULL || tl_frame_split(bytes, len, &frame, &reason) != TL_OK ||
        tl_frame_decode(&on->codec, &frame, &on->envelope, &reason) != TL_OK ||
        on->envelope.body != TL_BODY_CHANGE) {
        return 0;
    }
    return tl_change_digest(&on->codec, &on->envelope.as.change);
}

static bool
same_text(const struct comparing *on, int column)
{
    const unsigned char *a = sqlite3_column_text(on->side[0].row, column);
    const unsigned char *b = sqlite3_column_text(on->side[1].row, column);
    return a != NULL && b != NULL && strcmp((const char *)a, (const char *)b) == 0;
}

static bool
same_report(struct comparing *on)
{
    uint64_t first = digest_of(on, &on->side[0]);
    uint64_t second = digest_of(on, &on->side[1]);
    bool digests = first == 0 || second == 0 || first == second;
    return digests && same_text(on, 3) && same_text(on, 4);
}

/* Below 0: the first file has it alone; above 0: the second. */
static int
order_of(const struct side *a, const struct side *b)
{
    if (!a->more || !b->more) {
        return a->more ? -1 : 1;
    }
    int order = strncmp(a->node, b->node, TL_ID_CAP);
    if (order == 0 && a->incarnation != b->incarnation) {
        order = a->incarnation < b->incarnation ? -1 : 1;
    }
    if (order == 0 && a->sequence != b->sequence) {
        order = a->sequence < b->sequence ? -1 : 1;
    }
    return order;
}

static enum tl_err
step(struct comparing *on)
{
    struct side *first = &on->side[0];
    struct side *second = &on->side[1];
    int order = order_of(first, second);
    const struct side *at = order <= 0 ? first : second;
    struct tl_compared_station *station = station_of(on->out, at->node);
    if (station == NULL) {
        return TL_FULL;
    }
    bool both = order == 0;
    bool differ = both && !same_report(on);
    station->both += both ? 1 : 0;
    station->differ += differ ? 1 : 0;
    station->only_first += order < 0 ? 1 : 0;
    station->only_second += order > 0 ? 1 : 0;
    if (!both || differ) {
        note_first(station, at);
    }
    enum tl_err err = order <= 0 ? next(first) : TL_OK;
    return err == TL_OK && order >= 0 ? next(second) : err;
}

enum tl_err
tl_compare(const char *const paths[2], struct tl_compared *compared, char *why, size_t why_cap)
{
    struct comparing *on = calloc(1, sizeof *on);
    memset(compared, 0, sizeof *compared);
    if (on == NULL) {
        (void)snprintf(why, why_cap, "out of memory");
        return TL_NOMEM;
    }
    on->out = compared;
    enum tl_err err = begin(&on->side[0], paths[0], why, why_cap);
    err = err == TL_OK ? begin(&on->side[1], paths[1], why, why_cap) : err;
    if (err == TL_OK) {
        while (err == TL_OK && (on->side[0].more || on->side[1].more)) {
            err = step(on);
        }
        if (err != TL_OK) {
            (void)snprintf(why, why_cap, "the records cannot be compared: %s", tl_err_text(err));
        }
    }
    for (size_t i = 0; i < 2; i++) {
        (void)sqlite3_finalize(on->side[i].row);
        (void)sqlite3_close(on->side[i].db);
    }
    free(on);
    return err;
}
