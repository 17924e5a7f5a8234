/* SPDX-License-Identifier: Apache-2.0 */
/* ledger_file.c - see ledger_file.h. */
#include "broker/recorder/ledger_file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "broker/core/ledger/ledger_sql.h"
#include "broker/recorder/store_internal.h"

struct reading {
    struct tl_ledger *ledger;
    struct tl_codec *codec;
    struct tl_envelope *envelope;
    sqlite3_stmt *changes;
    sqlite3_stmt *loads;
    bool more_loads; /* the row of `loads` has not been taken */
};

static struct tl_event
event_at(sqlite3_stmt *row)
{
    return (struct tl_event){(uint64_t)sqlite3_column_int64(row, 0),
                             (uint32_t)sqlite3_column_int64(row, 1)};
}

/* What was computed up to that event, before how it ended is counted. */
static int
foresee_to(struct reading *reading, struct tl_event event)
{
    int code = SQLITE_ROW;
    while (reading->more_loads && !tl_event_after(event_at(reading->loads), event)) {
        struct tl_would would = {.set_lb = (uint32_t)sqlite3_column_int64(reading->loads, 2),
                                 .tension_percent =
                                     (uint32_t)sqlite3_column_int64(reading->loads, 3)};
        tl_ledger_foresee(reading->ledger, event_at(reading->loads), &would);
        code = sqlite3_step(reading->loads);
        reading->more_loads = code == SQLITE_ROW;
    }
    return code == SQLITE_DONE ? SQLITE_ROW : code;
}

/* A frame that does not decode was not ours to write: it is left out. */
static int
take_change(struct reading *reading)
{
    const uint8_t *bytes = sqlite3_column_blob(reading->changes, 4);
    int len = sqlite3_column_bytes(reading->changes, 4);
    struct tl_frame frame;
    enum tl_refusal reason;
    struct tl_envelope *envelope = reading->envelope;
    if (bytes == NULL || len <= 0 || tl_frame_split(bytes, (size_t)len, &frame, &reason) != TL_OK ||
        tl_frame_decode(reading->codec, &frame, envelope, &reason) != TL_OK ||
        envelope->body != TL_BODY_CHANGE) {
        return SQLITE_ROW;
    }
    const struct tl_datum *datum = &envelope->as.change.datum;
    struct tl_entry entry = {.incarnation = envelope->incarnation,
                             .sequence = envelope->sequence,
                             .wall_ms = (uint64_t)sqlite3_column_int64(reading->changes, 3),
                             .applied = sqlite3_column_int(reading->changes, 5) != 0,
                             .refused = sqlite3_column_int(reading->changes, 6) != 0,
                             .datum = datum};
    memcpy(entry.node, envelope->node, TL_ID_CAP);
    int code = SQLITE_ROW;
    if (datum->kind == TL_DATUM_RESULT && datum->stated_for_count > 0) {
        code = foresee_to(reading, datum->stated_for[0]);
    }
    tl_ledger_change(reading->ledger, &entry);
    return code;
}

static enum tl_err
read_rows(struct tl_store *store, struct reading *reading)
{
    int code = sqlite3_prepare_v2(store->db, TL_LEDGER_LOADS_SQL, -1, &reading->loads, NULL);
    code = code == SQLITE_OK ? sqlite3_step(reading->loads) : code;
    reading->more_loads = code == SQLITE_ROW;
    if (code == SQLITE_ROW || code == SQLITE_DONE) {
        code = sqlite3_prepare_v2(store->db, TL_LEDGER_CHANGES_SQL, -1, &reading->changes, NULL);
        code = code == SQLITE_OK ? SQLITE_ROW : code;
    }
    while (code == SQLITE_ROW) {
        code = sqlite3_step(reading->changes);
        code = code == SQLITE_ROW ? take_change(reading) : code;
    }
    return code == SQLITE_DONE ? TL_OK : tl_store_fail(store, "its counts cannot be read");
}

enum tl_err
tl_store_load_ledger(struct tl_store *store, struct tl_ledger *ledger)
{
    struct reading reading = {.ledger = ledger,
                              .codec = malloc(sizeof *reading.codec),
                              .envelope = malloc(sizeof *reading.envelope)};
    enum tl_err err = TL_NOMEM;
    if (reading.codec != NULL && reading.envelope != NULL) {
        err = read_rows(store, &reading);
    } else {
        (void)snprintf(store->why, sizeof store->why, "record %s: out of memory", store->path);
    }
    (void)sqlite3_finalize(reading.changes);
    (void)sqlite3_finalize(reading.loads);
    free(reading.codec);
    free(reading.envelope);
    return err;
}

uint64_t
tl_store_change_rows(const struct tl_store *store)
{
    return store->head[TL_TABLE_CHANGE].id;
}
