/* SPDX-License-Identifier: Apache-2.0 */
/* store.c - see store.h: rows, seals and commits; store_file.c opens and reads the file. */
#include "broker/recorder/store.h"

#include <stdio.h>
#include <string.h>

#include "broker/recorder/columns.h"
#include "broker/recorder/row.h"
#include "broker/recorder/store_internal.h"

/* ---- rows ---- */

static struct tl_row
row_for(struct tl_store *store, enum tl_record_table table)
{
    struct tl_row row;
    tl_row_begin(&row, store->insert[table], table, &store->head[table]);
    return row;
}

/* Step a statement whose values are bound, in the transaction, which may begin with it. */
static enum tl_err
step(struct tl_store *store, sqlite3_stmt *statement, int bound, const char *what)
{
    enum tl_err err = TL_OK;
    if (!store->began) {
        err = tl_store_exec(store, "BEGIN IMMEDIATE", "cannot begin a transaction");
        store->began = err == TL_OK;
    }
    if (err == TL_OK && (bound != SQLITE_OK || sqlite3_step(statement) != SQLITE_DONE)) {
        err = tl_store_fail(store, what);
    }
    (void)sqlite3_reset(statement); /* repeats the code of the step */
    (void)sqlite3_clear_bindings(statement);
    return err;
}

static enum tl_err
put(struct tl_store *store, struct tl_row *row, const char *what)
{
    struct tl_chain_head next = {.id = store->head[row->table].id + 1};
    int bound = tl_row_end(row, next.hash);
    enum tl_err err = step(store, row->statement, bound, what);
    if (err == TL_OK && sqlite3_changes(store->db) == 1) { /* else it was there already */
        store->head[row->table] = next;
    }
    return err;
}

bool
tl_store_can_hold(const struct tl_envelope *envelope)
{
    const struct tl_beat *beat = &envelope->as.beat;
    const struct tl_judged *judged = &envelope->as.judged;
    bool fits = envelope->incarnation <= INT64_MAX && envelope->sequence <= INT64_MAX;
    if (envelope->body == TL_BODY_BEAT) { /* oldest_held <= last_change, says the check */
        fits = fits && beat->last_change < INT64_MAX && beat->oldest_held <= beat->last_change;
    } else if (envelope->body == TL_BODY_JUDGED) {
        fits = fits && judged->incarnation <= INT64_MAX && judged->sequence <= INT64_MAX;
    }
    return fits;
}

enum tl_err
tl_store_change(struct tl_store *store, const struct tl_envelope *envelope,
                const struct tl_verbatim *frame)
{
    const struct tl_datum *datum = &envelope->as.change.datum;
    struct tl_columns columns;
    char events[TL_EVENTS_CAP];
    char word[TL_TEXT_CAP];
    struct tl_row row = row_for(store, TL_TABLE_CHANGE);
    tl_columns_events(datum, events);
    tl_columns_fill(datum, &columns);
    tl_row_text(&row, envelope->node);
    tl_row_number(&row, envelope->incarnation);
    tl_row_number(&row, envelope->sequence);
    tl_row_number(&row, envelope->wall_ms);
    tl_row_event(&row, envelope->event);
    tl_row_text(&row, tl_datum_kind_name(datum->kind));
    tl_row_number(&row, datum->slot);
    tl_row_text(&row, datum->voice_for);
    tl_row_number(&row, datum->known ? 1 : 0);
    tl_row_text(&row, events);
    tl_row_text(&row, tl_datum_text(datum, word, sizeof word));
    tl_row_column(&row, columns.number);
    tl_row_column(&row, columns.side);
    tl_row_text(&row, columns.type); /* NULL binds NULL */
    tl_row_column(&row, columns.weight_lb);
    tl_row_column(&row, columns.fuel_lb);
    tl_row_column(&row, columns.state);
    tl_row_column(&row, columns.outcome);
    tl_row_column(&row, columns.wire);
    tl_row_blob(&row, frame->bytes, frame->len);
    return put(store, &row, "cannot write a change");
}

enum tl_err
tl_store_beat(struct tl_store *store, const struct tl_claim *claim, uint64_t wall_ms,
              const struct tl_verbatim *frame)
{
    struct tl_row row = row_for(store, TL_TABLE_BEAT);
    tl_row_text(&row, claim->node);
    tl_row_number(&row, claim->incarnation);
    tl_row_number(&row, claim->sequence);
    tl_row_number(&row, wall_ms);
    tl_row_blob(&row, frame->bytes, frame->len);
    return put(store, &row, "cannot write a beat");
}

/* The row of the prediction, and one of each setting in it. */
static enum tl_err
put_predicted(struct tl_store *store, const struct tl_envelope *envelope)
{
    const struct tl_predicted_arrest *arrest = &envelope->as.judged.predicted.arrest;
    struct tl_row row = row_for(store, TL_TABLE_PREDICTED);
    tl_row_predicted(&row, envelope);
    enum tl_err err = put(store, &row, "cannot write a prediction");
    for (uint32_t i = 0; err == TL_OK && arrest->known && i < arrest->would_count; i++) {
        row = row_for(store, TL_TABLE_SETTING);
        tl_row_setting(&row, envelope, &arrest->would[i]);
        err = put(store, &row, "cannot write a predicted setting");
    }
    return err;
}

static enum tl_err
put_expected(struct tl_store *store, const struct tl_envelope *envelope)
{
    struct tl_row row = row_for(store, TL_TABLE_EXPECTED);
    tl_row_expected(&row, envelope);
    return put(store, &row, "cannot write an expected ram travel");
}

static const char *
word_name(enum tl_word word)
{
    switch (word) {
    case TL_WORD_READY:
        return "READY";
    case TL_WORD_NOT_READY:
        return "NOT READY";
    case TL_WORD_UNKNOWN:
        break;
    }
    return "UNKNOWN";
}

static const char *
cause_state_name(enum tl_cause_state state)
{
    static const char *const names[] = {"unknown", "wrong",   "pending",
                                        "overdue", "holding", "note"};
    return (size_t)state < sizeof names / sizeof names[0] ? names[state] : names[0];
}

static const char *
rule_name(uint32_t rule)
{
    const struct tl_rule_row *row = tl_rule_row(rule);
    return row != NULL ? row->name : "";
}

/* NULLs where it was judged together with the next. */
static void
put_outcome(struct tl_row *row, const struct tl_judgement *outcome)
{
    bool told = outcome->word != TL_WORD_UNKNOWN;
    tl_row_text(row, told ? word_name(outcome->word) : NULL);
    tl_row_column(row, told ? (int64_t)outcome->cause_count : -1);
    tl_row_text(row, told && outcome->rule != 0 ? rule_name(outcome->rule) : NULL);
    tl_row_text(row, told && outcome->station[0] != '\0' ? outcome->station : NULL);
}

enum tl_err
tl_store_judged(struct tl_store *store, const struct tl_envelope *envelope,
                const struct tl_verbatim *frame)
{
    const struct tl_judged *judged = &envelope->as.judged;
    struct tl_row row = row_for(store, TL_TABLE_JUDGED);
    bool refused = judged->kind == TL_JUDGED_REFUSED;
    tl_row_text(&row, envelope->node);
    tl_row_number(&row, envelope->incarnation);
    tl_row_number(&row, envelope->sequence);
    tl_row_number(&row, judged->now_ms);
    tl_row_text(&row, judged->node);
    tl_row_number(&row, judged->incarnation);
    tl_row_number(&row, judged->sequence);
    tl_row_text(&row, tl_judged_name(judged->kind));
    tl_row_text(&row, refused ? tl_refusal_name(judged->reason) : "");
    tl_row_number(&row, envelope->wall_ms);
    tl_row_event(&row, envelope->event);
    put_outcome(&row, &judged->outcome);
    tl_row_blob(&row, frame->bytes, frame->len);
    enum tl_err err = put(store, &row, "cannot write what was judged");
    if (err == TL_OK && judged->kind == TL_JUDGED_PREDICTED) {
        err = put_predicted(store, envelope);
    } else if (err == TL_OK && judged->kind == TL_JUDGED_EXPECTED) {
        err = put_expected(store, envelope);
    }
    return err;
}

/* Of advice to wave off, the rule that it is about. */
static uint32_t
rule_of(const struct tl_cause *cause)
{
    bool advice = cause->rule == TL_RULE_WAVE_OFF_ADVISED && cause->reported.known;
    return advice ? (uint32_t)cause->reported.number : cause->rule;
}

enum tl_err
tl_store_verdict(struct tl_store *store, const struct tl_envelope *envelope)
{
    const struct tl_verdict *verdict = &envelope->as.verdict;
    bool has_cause = verdict->first.rule != TL_RULE_NONE;
    char text[TL_TEXT_CAP] = "";
    struct tl_row row = row_for(store, TL_TABLE_VERDICT);
    if (has_cause) {
        (void)tl_cause_text(&verdict->first, envelope->event, text, sizeof text);
    }
    tl_row_text(&row, envelope->node);
    tl_row_number(&row, envelope->incarnation);
    tl_row_number(&row, envelope->sequence);
    tl_row_number(&row, envelope->wall_ms);
    tl_row_event(&row, envelope->event);
    tl_row_number(&row, verdict->tick);
    tl_row_text(&row, word_name(verdict->word));
    tl_row_text(&row, rule_name(rule_of(&verdict->first)));
    tl_row_text(&row, verdict->first.station);
    tl_row_text(&row, has_cause ? cause_state_name(verdict->first.state) : "");
    tl_row_text(&row, text);
    tl_row_number(&row, verdict->drill ? 1 : 0);
    return put(store, &row, "cannot write a verdict");
}

enum tl_err
tl_store_alert(struct tl_store *store, const struct tl_envelope *envelope,
               const struct tl_alert_step *step)
{
    const struct tl_cause *cause = &step->alert.cause;
    struct tl_row row = row_for(store, TL_TABLE_ALERT);
    tl_row_text(&row, envelope->node);
    tl_row_number(&row, envelope->incarnation);
    tl_row_number(&row, envelope->sequence);
    tl_row_number(&row, envelope->wall_ms);
    tl_row_text(&row, step->raised ? "raised" : "gone");
    tl_row_text(&row, rule_name(cause->rule));
    tl_row_text(&row, cause->station);
    tl_row_text(&row, tl_severity_name(step->alert.severity));
    tl_row_event(&row, step->alert.event);
    tl_row_text(&row, cause->subject.node);
    tl_row_number(&row, cause->subject.incarnation);
    tl_row_number(&row, cause->subject.sequence);
    return put(store, &row, "cannot write an alert");
}

enum tl_err
tl_store_gap(struct tl_store *store, const struct tl_watermark *mark, const struct tl_gap *gap,
             uint64_t wall_ms)
{
    struct tl_row row = row_for(store, TL_TABLE_GAP);
    tl_row_text(&row, mark->node);
    tl_row_number(&row, mark->incarnation);
    tl_row_number(&row, gap->first);
    tl_row_number(&row, gap->last);
    tl_row_number(&row, wall_ms);
    return put(store, &row, "cannot write a gap");
}

/* ---- seals and commits ---- */

uint64_t
tl_store_rows(const struct tl_store *store, enum tl_record_table table)
{
    return store->head[table].id;
}

bool
tl_store_is_sealed(const struct tl_store *store)
{
    for (uint32_t i = 0; i < TL_TABLES; i++) {
        bool named = i < store->seal.head_count;
        uint64_t sealed = named ? store->seal.head[i].id : 0;
        if (store->head[i].id != sealed) {
            return false;
        }
    }
    return true;
}

enum tl_err
tl_store_seal(struct tl_store *store, const struct tl_sealer *sealer, uint64_t wall_ms)
{
    sqlite3_stmt *statement = store->insert_seal;
    struct tl_seal next = {.id = store->seal.id + 1,
                           .key_epoch = sealer->identity->epoch,
                           .incarnation = sealer->incarnation,
                           .wall_ms = wall_ms,
                           .head_count = TL_TABLES};
    uint8_t heads[TL_SEAL_HEADS_MAX];
    if (tl_store_is_sealed(store)) {
        return TL_OK;
    }
    memcpy(next.node, sealer->identity->node, TL_ID_CAP);
    memcpy(next.head, store->head, sizeof store->head);
    memcpy(next.before, store->seal.signature, TL_SIGNATURE_LEN);
    tl_seal_sign(&sealer->identity->signer, &next);
    size_t len = tl_seal_write_heads(&next, heads);
    const sqlite3_int64 numbers[] = {(sqlite3_int64)next.key_epoch, (sqlite3_int64)next.incarnation,
                                     (sqlite3_int64)next.wall_ms};
    int code = sqlite3_bind_int64(statement, 1, (sqlite3_int64)next.id);
    code |= sqlite3_bind_text(statement, 2, next.node, -1, SQLITE_STATIC);
    for (int i = 0; i < (int)(sizeof numbers / sizeof numbers[0]); i++) {
        code |= sqlite3_bind_int64(statement, 3 + i, numbers[i]);
    }
    code |= sqlite3_bind_blob(statement, 6, heads, (int)len, SQLITE_STATIC);
    code |= sqlite3_bind_blob(statement, 7, next.signature, TL_SIGNATURE_LEN, SQLITE_STATIC);
    enum tl_err err = step(store, statement, code, "cannot write a seal");
    if (err == TL_OK) {
        store->seal = next;
    }
    return err;
}

enum tl_err
tl_store_commit(struct tl_store *store)
{
    if (!store->began) {
        return TL_OK;
    }
    enum tl_err err = tl_store_exec(store, "COMMIT", "the commit failed, its outcome is not known");
    store->began = err != TL_OK;
    return err == TL_OK ? tl_store_check_place(store) : err;
}
