/* SPDX-License-Identifier: Apache-2.0 */
/* verify_signed.c - what was signed: the seals of a recorder, the frames of stations. */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "clients/logbook/verify_internal.h"
#include "proto/base/text.h"

/* ---- seals ---- */

static void
read_plain(sqlite3_stmt *row, int column, char *dst, size_t cap)
{
    const unsigned char *text = sqlite3_column_text(row, column);
    const char *plain = text != NULL ? (const char *)text : "";
    (void)tl_text_plain(dst, cap, plain, strlen(plain));
}

/* False: it is no seal. */
static bool
read_seal(sqlite3_stmt *row, struct tl_seal *seal)
{
    memset(seal, 0, sizeof *seal);
    seal->id = (uint64_t)sqlite3_column_int64(row, 0);
    read_plain(row, 1, seal->node, sizeof seal->node);
    seal->key_epoch = (uint32_t)sqlite3_column_int64(row, 2);
    seal->incarnation = (uint64_t)sqlite3_column_int64(row, 3);
    seal->wall_ms = (uint64_t)sqlite3_column_int64(row, 4);
    const uint8_t *heads = sqlite3_column_blob(row, 5);
    const uint8_t *signature = sqlite3_column_blob(row, 6);
    if (signature == NULL || sqlite3_column_bytes(row, 6) != TL_SIGNATURE_LEN ||
        tl_seal_read_heads(heads, (size_t)sqlite3_column_bytes(row, 5), seal) != TL_OK) {
        return false;
    }
    memcpy(seal->signature, signature, TL_SIGNATURE_LEN);
    return true;
}

static void
say_seal(struct tl_verified *out, uint64_t id, const char *what)
{
    if (out->bad_seal == 0) {
        out->bad_seal = id;
        (void)snprintf(out->seal, sizeof out->seal, "%s", what);
    }
}

/* Whether the rows that the seal names are the rows of the file. */
static enum tl_err
check_heads(struct tl_verifying *on, const struct tl_seal *seal, sqlite3_stmt *const *hash_of)
{
    static const uint8_t none[TL_CHAIN_LEN];
    for (uint32_t i = 0; i < seal->head_count && i < TL_TABLES; i++) {
        const struct tl_chain_head *head = &seal->head[i];
        sqlite3_stmt *row = hash_of[i];
        if (head->id == 0) {
            continue;
        }
        (void)sqlite3_bind_int64(row, 1, (sqlite3_int64)head->id);
        int code = sqlite3_step(row);
        const uint8_t *hash = code == SQLITE_ROW ? sqlite3_column_blob(row, 0) : NULL;
        bool long_enough = hash != NULL && sqlite3_column_bytes(row, 0) == TL_CHAIN_LEN;
        bool same = memcmp(long_enough ? hash : none, head->hash, TL_CHAIN_LEN) == 0;
        if (code != SQLITE_ROW || !same) {
            char text[TL_VERIFY_SAID_CAP];
            (void)snprintf(text, sizeof text, "%s row %" PRIu64 " is %s",
                           tl_record_table_name((enum tl_record_table)i), head->id,
                           code == SQLITE_ROW ? "not the one that was sealed" : "gone");
            say_seal(on->out, seal->id, text);
        }
        (void)sqlite3_reset(row);
        if (code != SQLITE_ROW && code != SQLITE_DONE) {
            return TL_IO;
        }
    }
    return TL_OK;
}

static void
check_signature(struct tl_verifying *on, const struct tl_seal *seal)
{
    const struct tl_key *key =
        on->config != NULL ? tl_config_key(on->config, seal->node, seal->key_epoch) : NULL;
    if (key == NULL) {
        on->out->seals_unchecked++;
    } else if (!tl_seal_verify(key->identity, seal)) {
        say_seal(on->out, seal->id, "its signature is not that of its recorder");
    }
}

static enum tl_err
check_seal(struct tl_verifying *on, sqlite3_stmt *row, sqlite3_stmt *const *hash_of)
{
    struct tl_verified *out = on->out;
    struct tl_seal seal;
    uint64_t id = (uint64_t)sqlite3_column_int64(row, 0);
    if (id != out->seals + 1) {
        say_seal(out, out->seals + 1, "is missing");
    }
    if (!read_seal(row, &seal)) {
        say_seal(out, id, "is none");
        out->seals = id;
        return TL_OK;
    }
    for (uint32_t i = 0; i < seal.head_count && i < out->last.head_count; i++) {
        if (seal.head[i].id < out->last.head[i].id) {
            say_seal(out, id, "names fewer rows than the seal before it");
        }
    }
    memcpy(seal.before, out->last.signature, TL_SIGNATURE_LEN);
    check_signature(on, &seal);
    out->seals = id;
    out->last = seal;
    return check_heads(on, &seal, hash_of);
}

static enum tl_err
count_newer(struct tl_verifying *on, enum tl_record_table table)
{
    sqlite3_stmt *row = NULL;
    uint64_t sealed = table < on->out->last.head_count ? on->out->last.head[table].id : 0;
    enum tl_err err = tl_verify_prepare(on, "SELECT count(*) FROM %s WHERE id > ?1", table, &row);
    if (err == TL_OK) {
        (void)sqlite3_bind_int64(row, 1, (sqlite3_int64)sealed);
        err = sqlite3_step(row) == SQLITE_ROW ? TL_OK : TL_IO;
        on->out->table[table].newer = (uint64_t)sqlite3_column_int64(row, 0);
    }
    (void)sqlite3_finalize(row);
    return err;
}

enum tl_err
tl_verify_seals(struct tl_verifying *on)
{
    static const char sql[] = "SELECT id, node, key_epoch, incarnation, wall_ms, heads, signature"
                              " FROM seal ORDER BY id";
    sqlite3_stmt *hash_of[TL_TABLES] = {NULL};
    sqlite3_stmt *row = NULL;
    enum tl_err err = TL_OK;
    for (int i = 0; i < TL_TABLES && err == TL_OK; i++) {
        err = tl_verify_prepare(on, "SELECT hash FROM %s WHERE id = ?1", (enum tl_record_table)i,
                                &hash_of[i]);
    }
    if (err == TL_OK && sqlite3_prepare_v2(on->db, sql, -1, &row, NULL) != SQLITE_OK) {
        err = TL_IO;
    }
    int code = SQLITE_ROW;
    while (err == TL_OK && (code = sqlite3_step(row)) == SQLITE_ROW) {
        err = check_seal(on, row, hash_of);
    }
    if (err == TL_OK && code != SQLITE_DONE) {
        err = TL_IO;
    }
    (void)sqlite3_finalize(row);
    for (int i = 0; i < TL_TABLES; i++) {
        (void)sqlite3_finalize(hash_of[i]);
        err = err == TL_OK ? count_newer(on, (enum tl_record_table)i) : err;
    }
    return err;
}

/* ---- frames ---- */

enum {
    FRAME_ID = 0,
    FRAME_NODE,
    FRAME_INCARNATION,
    FRAME_SEQUENCE,
    FRAME_WALL_MS,
    FRAME_FRAME,
    FRAME_WORD,   /* of a change; the kind of what was judged */
    FRAME_REASON, /* judged only, as the next */
    FRAME_READY
};

static void
say_frame(struct tl_verified *out, sqlite3_stmt *row, enum tl_record_table table, const char *what)
{
    if (out->frames_bad++ == 0) {
        (void)snprintf(out->frame, sizeof out->frame, "%s row %" PRId64 ": %s",
                       tl_record_table_name(table), (int64_t)sqlite3_column_int64(row, FRAME_ID),
                       what);
    }
}

static bool
is_text(sqlite3_stmt *row, int column, const char *text)
{
    const unsigned char *stored = sqlite3_column_text(row, column);
    return stored != NULL && strcmp((const char *)stored, text) == 0;
}

static bool
judged_the_same(sqlite3_stmt *row, const struct tl_judged *judged)
{
    bool refused = judged->kind == TL_JUDGED_REFUSED;
    bool ready = is_text(row, FRAME_READY, "READY");
    return is_text(row, FRAME_WORD, tl_judged_name(judged->kind)) &&
           is_text(row, FRAME_REASON, refused ? tl_refusal_name(judged->reason) : "") &&
           ready == (judged->outcome.word == TL_WORD_READY);
}

/* The columns of a row against what was signed. */
static bool
says_the_same(sqlite3_stmt *row, enum tl_record_table table, const struct tl_envelope *envelope)
{
    char word[TL_TEXT_CAP];
    bool same = is_text(row, FRAME_NODE, envelope->node) &&
                (uint64_t)sqlite3_column_int64(row, FRAME_INCARNATION) == envelope->incarnation &&
                (uint64_t)sqlite3_column_int64(row, FRAME_SEQUENCE) == envelope->sequence &&
                (uint64_t)sqlite3_column_int64(row, FRAME_WALL_MS) == envelope->wall_ms;
    if (same && table == TL_TABLE_CHANGE) {
        const struct tl_datum *datum = &envelope->as.change.datum;
        same = is_text(row, FRAME_WORD, tl_datum_text(datum, word, sizeof word));
    } else if (same && table == TL_TABLE_JUDGED) {
        same = judged_the_same(row, &envelope->as.judged);
    }
    return same;
}

static void
check_frame(struct tl_verifying *on, sqlite3_stmt *row, enum tl_record_table table,
            struct tl_envelope *envelope)
{
    struct tl_frame frame;
    struct tl_claim claim = {0};
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    const uint8_t *bytes = sqlite3_column_blob(row, FRAME_FRAME);
    size_t len = (size_t)sqlite3_column_bytes(row, FRAME_FRAME);
    if (bytes == NULL) {
        on->out->frames_absent++;
        return;
    }
    on->out->frames++;
    enum tl_body_kind body = table == TL_TABLE_CHANGE   ? TL_BODY_CHANGE
                             : table == TL_TABLE_JUDGED ? TL_BODY_JUDGED
                                                        : TL_BODY_BEAT;
    if (tl_frame_split(bytes, len, &frame, &reason) != TL_OK ||
        tl_frame_claim(on->codec, &frame, &claim, &reason) != TL_OK ||
        tl_frame_decode(on->codec, &frame, envelope, &reason) != TL_OK) {
        say_frame(on->out, row, table, tl_refusal_name(reason));
        return;
    }
    const struct tl_key *key =
        on->config != NULL ? tl_config_key(on->config, claim.node, claim.key_epoch) : NULL;
    if (key == NULL) {
        on->out->frames_unchecked++;
    } else if (!tl_frame_verify(&frame, key->identity)) {
        say_frame(on->out, row, table, "the signature is not that of its sender");
        return;
    }
    if (envelope->body != body || !says_the_same(row, table, envelope)) {
        say_frame(on->out, row, table, "the columns say something else than the frame");
    }
}

enum tl_err
tl_verify_frames(struct tl_verifying *on, enum tl_record_table table)
{
    const char *form =
        table == TL_TABLE_CHANGE
            ? "SELECT id, node, incarnation, sequence, wall_ms, frame, word FROM %s ORDER BY id"
        : table == TL_TABLE_JUDGED
            ? "SELECT id, validator, validator_incarnation, sequence, wall_ms, frame, kind,"
              " reason, word FROM %s ORDER BY id"
            : "SELECT id, node, incarnation, sequence, wall_ms, frame FROM %s ORDER BY id";
    sqlite3_stmt *row = NULL;
    struct tl_envelope *envelope = sqlite3_malloc(sizeof *envelope);
    enum tl_err err = envelope == NULL ? TL_NOMEM : tl_verify_prepare(on, form, table, &row);
    int code = SQLITE_ROW;
    while (err == TL_OK && (code = sqlite3_step(row)) == SQLITE_ROW) {
        check_frame(on, row, table, envelope);
    }
    if (err == TL_OK && code != SQLITE_DONE) {
        err = TL_IO;
    }
    (void)sqlite3_finalize(row);
    sqlite3_free(envelope);
    return err;
}
