/* SPDX-License-Identifier: Apache-2.0 */
/* merge.c - see merge.h. */
#include "broker/recorder/merge.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include <sqlite3.h>

#include "broker/ledger/foreign.h"
#include "broker/recorder/store.h"
#include "proto/base/clock.h"
#include "proto/base/text.h"

enum {
    WHY_CAP = TL_PATH_CAP + 256,
    SAID_CAP = 121,
    BUSY_MS = 2000,
    SCHEMA_FIRST = 3 /* the first with frames */
};

struct merging {
    const struct tl_join *join;
    char path[TL_PATH_CAP]; /* own record */
    const char *from_path;
    struct tl_store *store;
    sqlite3 *from;
    struct tl_codec codec;
    struct tl_envelope envelope;
    uint64_t seen, added, refused, without;
    char first[WHY_CAP]; /* refusal */
    char why[WHY_CAP];
};

static enum tl_err
fail_from(struct merging *on)
{
    char said[SAID_CAP]; /* it may name what whoever made the file has named */
    const char *words = on->from != NULL ? sqlite3_errmsg(on->from) : "out of memory";
    (void)tl_text_plain(said, sizeof said, words, strlen(words));
    (void)snprintf(on->why, sizeof on->why, "record %s cannot be read: %s", on->from_path, said);
    return TL_IO;
}

static enum tl_err
open_from(struct merging *on)
{
    const char *path = on->from_path;
    struct stat there;
    struct stat here;
    sqlite3_stmt *row = NULL;
    if (stat(path, &there) != 0) {
        (void)snprintf(on->why, sizeof on->why, "no record at %s", path);
        return TL_NOTFOUND;
    }
    if (stat(on->path, &here) == 0 && here.st_dev == there.st_dev && here.st_ino == there.st_ino) {
        (void)snprintf(on->why, sizeof on->why, "%s is the record of this recorder itself", path);
        return TL_BADARG;
    }
    if (sqlite3_open_v2(path, &on->from, SQLITE_OPEN_READONLY | SQLITE_OPEN_NOMUTEX, NULL) !=
        SQLITE_OK) {
        return fail_from(on);
    }
    (void)sqlite3_busy_timeout(on->from, BUSY_MS);
    bool read = tl_foreign_guard(on->from) == TL_OK &&
                sqlite3_exec(on->from, "BEGIN", NULL, NULL, NULL) == SQLITE_OK &&
                sqlite3_prepare_v2(on->from, "PRAGMA user_version", -1, &row, NULL) == SQLITE_OK &&
                sqlite3_step(row) == SQLITE_ROW;
    int schema = read ? sqlite3_column_int(row, 0) : 0;
    (void)sqlite3_finalize(row);
    if (read && (schema < SCHEMA_FIRST || schema > TL_STORE_SCHEMA)) {
        (void)snprintf(on->why, sizeof on->why,
                       "record %s has schema %d, whose reports are not signed or not known here",
                       path, schema);
        return TL_REFUSED;
    }
    return read ? TL_OK : fail_from(on);
}

/* NULL when its station signed it and it is whole; else what is wrong. */
static const char *
fault_of(struct merging *on, const struct tl_verbatim *bytes, enum tl_body_kind body,
         struct tl_claim *claim)
{
    const struct tl_config *config = &on->join->config;
    struct tl_frame frame;
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    if (tl_frame_split(bytes->bytes, bytes->len, &frame, &reason) != TL_OK ||
        tl_frame_claim(&on->codec, &frame, claim, &reason) != TL_OK) {
        return tl_refusal_name(reason);
    }
    const struct tl_node *node = tl_config_node(config, claim->node);
    const struct tl_key *key = tl_config_key(config, claim->node, claim->key_epoch);
    if (node == NULL || key == NULL) {
        return "its station or key is not in this configuration";
    }
    if (!tl_frame_verify(&frame, key->identity)) {
        return "the signature is not that of its station";
    }
    if (!tl_config_may_publish(node, &frame.topic)) {
        return tl_refusal_name(TL_REFUSAL_NOT_YOUR_TOPIC);
    }
    if (tl_frame_decode(&on->codec, &frame, &on->envelope, &reason) != TL_OK) {
        return tl_refusal_name(reason);
    }
    return on->envelope.body == body && tl_store_can_hold(&on->envelope) ? NULL
                                                                         : "it is no such message";
}

static void
refuse(struct merging *on, enum tl_record_table table, int64_t id, const char *what)
{
    if (on->refused++ == 0) {
        (void)snprintf(on->first, sizeof on->first, "%s row %" PRId64 ": %s",
                       tl_record_table_name(table), id, what);
    }
}

static enum tl_err
take_row(struct merging *on, sqlite3_stmt *row, enum tl_record_table table)
{
    struct tl_claim claim = {0};
    struct tl_verbatim bytes = {sqlite3_column_blob(row, 1), (size_t)sqlite3_column_bytes(row, 1)};
    enum tl_body_kind body = table == TL_TABLE_CHANGE ? TL_BODY_CHANGE : TL_BODY_BEAT;
    on->seen++;
    if (bytes.bytes == NULL) {
        on->without++;
        return TL_OK;
    }
    const char *fault = fault_of(on, &bytes, body, &claim);
    if (fault != NULL) {
        refuse(on, table, sqlite3_column_int64(row, 0), fault);
        return TL_OK;
    }
    uint64_t before = tl_store_rows(on->store, table);
    enum tl_err err = table == TL_TABLE_CHANGE
                          ? tl_store_change(on->store, &on->envelope, &bytes)
                          : tl_store_beat(on->store, &claim, on->envelope.wall_ms, &bytes);
    on->added += err == TL_OK ? tl_store_rows(on->store, table) - before : 0;
    return err;
}

static enum tl_err
take_table(struct merging *on, enum tl_record_table table)
{
    const char *sql = table == TL_TABLE_CHANGE ? "SELECT id, frame FROM change ORDER BY id"
                                               : "SELECT id, frame FROM beat ORDER BY id";
    sqlite3_stmt *row = NULL;
    int code = sqlite3_prepare_v2(on->from, sql, -1, &row, NULL);
    enum tl_err err = TL_OK;
    code = code == SQLITE_OK ? SQLITE_ROW : code;
    while (code == SQLITE_ROW && err == TL_OK) {
        code = sqlite3_step(row);
        if (code == SQLITE_ROW) {
            err = take_row(on, row, table);
        }
    }
    if (err != TL_OK) {
        (void)snprintf(on->why, sizeof on->why, "%s", tl_store_why(on->store));
    } else if (code != SQLITE_DONE) {
        err = fail_from(on);
    }
    (void)sqlite3_finalize(row);
    return err;
}

static enum tl_err
merge(struct merging *on)
{
    const struct tl_sealer sealer = {&on->join->identity, on->join->incarnation};
    enum tl_err err = tl_store_path(&on->join->config, on->join->node->id, on->path);
    err = err == TL_OK ? open_from(on) : err;
    if (err == TL_OK) {
        err = tl_store_open(on->path, &on->store, on->why, sizeof on->why);
    }
    if (err != TL_OK) {
        return err;
    }
    err = take_table(on, TL_TABLE_CHANGE);
    err = err == TL_OK ? take_table(on, TL_TABLE_BEAT) : err;
    if (err == TL_OK) {
        err = tl_store_seal(on->store, &sealer, tl_clock_wall_ms());
        err = err == TL_OK ? tl_store_commit(on->store) : err;
        if (err != TL_OK) {
            (void)snprintf(on->why, sizeof on->why, "%s", tl_store_why(on->store));
        }
    }
    return err;
}

static void
tell(const struct merging *on)
{
    (void)printf("%s: %" PRIu64 " of %" PRIu64 " reports of %s added", on->path, on->added,
                 on->seen, on->from_path);
    if (on->without > 0) {
        (void)printf(", %" PRIu64 " left out: no signed frame", on->without);
    }
    if (on->refused > 0) {
        (void)printf(", %" PRIu64 " REFUSED, the first %s", on->refused, on->first);
    }
    (void)printf("\n");
}

int
tl_merge_run(const struct tl_join *join, const char *from)
{
    struct merging *on = calloc(1, sizeof *on);
    if (on == NULL) {
        (void)fprintf(stderr, "trapline-recorder: out of memory\n");
        return TL_EXIT_FAILED;
    }
    on->join = join;
    on->from_path = from;
    enum tl_err err = merge(on);
    if (err == TL_OK) {
        tell(on);
    } else {
        (void)fprintf(stderr, "trapline-recorder: nothing was added: %s\n", on->why);
    }
    int code = err == TL_OK && on->refused == 0 ? TL_EXIT_OK
               : err == TL_NOTFOUND             ? TL_EXIT_UNANSWERED
                                                : TL_EXIT_FAILED;
    tl_store_close(&on->store);
    (void)sqlite3_close(on->from);
    free(on);
    return code;
}
