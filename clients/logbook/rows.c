/* SPDX-License-Identifier: Apache-2.0 */
/* rows.c - see rows.h. */
#include "clients/logbook/rows.h"

#include <stdlib.h>
#include <string.h>

#include "clients/logbook/datum_row.h"
#include "proto/base/text.h"

/*
 * ?1 and ?2: from and to; a clock that is further off than they reach is left out. Rows are found
 * by the index of their time, and by their ids read in the order of arrival: sorting whole rows
 * would cost more than all else when everything is asked for.
 */
#define IN_TIME(table) "id IN (SELECT id FROM " table " WHERE wall_ms BETWEEN ?1 AND ?2)"
#define WORDS_SQL(frame)                                                                           \
    "SELECT c.node, c.incarnation, c.sequence, c.wall_ms, c.event_recovery_ms, c.event_pass,"      \
    " c.kind, c.slot, c.voice_for, c.known, c.stated_for, c.word, c.number, c.side, c.type,"       \
    " c.weight_lb, c.fuel_lb, c.state, c.outcome, c.wire, j.reason, j.validator, " frame           \
    " FROM change AS c LEFT JOIN judged AS j ON j.id = (SELECT min(id) FROM judged"                \
    " WHERE node = c.node AND incarnation = c.incarnation AND change_sequence = c.sequence"        \
    " AND kind = 'refused') WHERE c." IN_TIME("change") " ORDER BY c.id"
static const char words_sql[] = WORDS_SQL("NULL");
static const char words_with_frames_sql[] =
    WORDS_SQL("CASE WHEN c.kind IN ('arrest', 'override') THEN c.frame END");
enum word_column {
    WORD_NODE = 0,
    WORD_INCARNATION,
    WORD_SEQUENCE,
    WORD_WALL_MS,
    WORD_EVENT_RECOVERY,
    WORD_EVENT_PASS,
    WORD_KIND,
    WORD_SLOT,
    WORD_VOICE_FOR,
    WORD_KNOWN,
    WORD_STATED_FOR,
    WORD_WORD,
    WORD_NUMBER,
    WORD_SIDE,
    WORD_TYPE,
    WORD_WEIGHT_LB,
    WORD_FUEL_LB,
    WORD_STATE,
    WORD_OUTCOME,
    WORD_WIRE,
    WORD_REFUSED,
    WORD_REFUSED_BY,
    WORD_FRAME
};

/* Those of the bridge carry the wind. */
static const char beats_sql[] = "SELECT node, incarnation, sequence, wall_ms, frame FROM beat"
                                " WHERE " IN_TIME("beat") " ORDER BY id";

static const char verdicts_sql[] =
    "SELECT validator, validator_incarnation, sequence, wall_ms, event_recovery_ms, event_pass,"
    " word, rule, station, state, text, drill FROM verdict WHERE " IN_TIME(
        "verdict") " ORDER BY id";

static const char alerts_sql[] =
    "SELECT validator, validator_incarnation, sequence, wall_ms, step, rule, station, severity,"
    " event_recovery_ms, event_pass, subject_node, subject_incarnation, subject_sequence"
    " FROM alert WHERE " IN_TIME("alert") " ORDER BY id";

/*
 * Before schema 3 a loss is dated by the validator's boot clock alone. A word was taken after it
 * was said, so the largest difference is the nearest to the stations' clocks. undated, life:
 * which rows have no other time, and which lives have such.
 */
#define OLD_LOSSES_SQL(undated, life)                                                              \
    "SELECT j.validator, j.validator_incarnation, j.sequence, j.now_ms + o.ahead, j.node, j.kind"  \
    " FROM judged AS j JOIN (SELECT a.validator AS validator, a.validator_incarnation AS life,"    \
    " max(c.wall_ms - a.now_ms) AS ahead FROM judged AS a JOIN change AS c ON c.node = a.node"     \
    " AND c.incarnation = a.incarnation AND c.sequence = a.change_sequence"                        \
    " WHERE a.kind = 'applied'" life " GROUP BY a.validator, a.validator_incarnation) AS o"        \
    " ON o.validator = j.validator AND o.life = j.validator_incarnation"                           \
    " WHERE j.kind IN ('lost', 'heard')" undated                                                   \
    " AND j.now_ms + o.ahead BETWEEN ?1 AND ?2 ORDER BY j.id"
static const char losses_before_3_sql[] = OLD_LOSSES_SQL("", "");
/* Rows that were there when the file was given schema 3; all others come after them. */
static const char losses_undated_sql[] = OLD_LOSSES_SQL(
    " AND j.wall_ms IS NULL", " AND (a.validator, a.validator_incarnation) IN (SELECT validator,"
                              " validator_incarnation FROM judged WHERE kind IN ('lost', 'heard')"
                              " AND wall_ms IS NULL)");
static const char losses_sql[] =
    "SELECT validator, validator_incarnation, sequence, wall_ms, node, kind FROM judged"
    " WHERE kind IN ('lost', 'heard') AND wall_ms BETWEEN ?1 AND ?2 ORDER BY id";

static const char gaps_sql[] = "SELECT node, incarnation, first, last, wall_ms FROM gap"
                               " WHERE " IN_TIME("gap") " ORDER BY id";

/* What was predicted last of each event that has an arrest, with a row for each setting of it. */
static const char predicted_sql[] =
    "SELECT p.event_recovery_ms, p.event_pass, p.headwind_kt_x10, p.engaging_kt_x10,"
    " p.energy_kftlb, p.margin_percent, s.set_lb, s.runout_ft_x10, s.expect_in_x10, s.end_kt_x10"
    " FROM predicted AS p LEFT JOIN predicted_setting AS s ON s.validator = p.validator"
    " AND s.validator_incarnation = p.validator_incarnation AND s.sequence = p.sequence"
    " WHERE p.id IN (SELECT max(id) FROM predicted WHERE engaging_kt_x10 IS NOT NULL"
    " AND event_recovery_ms BETWEEN ?1 AND ?2 GROUP BY event_recovery_ms, event_pass)"
    " ORDER BY p.id, s.set_lb";

/* A file may come from anywhere: what is read from it is made fit for a terminal. */
static void
read_text(sqlite3_stmt *row, int column, char *dst, size_t cap)
{
    const unsigned char *text = sqlite3_column_text(row, column);
    int len = sqlite3_column_bytes(row, column);
    (void)tl_text_plain(dst, cap, (const char *)text, text != NULL && len > 0 ? (size_t)len : 0);
}

static uint64_t
read_number(sqlite3_stmt *row, int column)
{
    sqlite3_int64 value = sqlite3_column_int64(row, column);
    return value > 0 ? (uint64_t)value : 0;
}

static uint32_t
read_small(sqlite3_stmt *row, int column)
{
    uint64_t value = read_number(row, column);
    return value > UINT32_MAX ? UINT32_MAX : (uint32_t)value;
}

/* -1 when there is none. */
static int64_t
read_column(sqlite3_stmt *row, int column)
{
    bool null = sqlite3_column_type(row, column) == SQLITE_NULL;
    return null ? -1 : sqlite3_column_int64(row, column);
}

static struct tl_figure_read
read_figure(sqlite3_stmt *row, int column)
{
    bool null = sqlite3_column_type(row, column) == SQLITE_NULL;
    return (struct tl_figure_read){!null, null ? 0 : sqlite3_column_int64(row, column)};
}

static struct tl_event
read_event(sqlite3_stmt *row, int column)
{
    return (struct tl_event){read_number(row, column), read_small(row, column + 1)};
}

/* The first four columns of most queries. */
static void
read_stated(sqlite3_stmt *row, struct tl_stated *stated)
{
    read_text(row, 0, stated->node, sizeof stated->node);
    stated->incarnation = read_number(row, 1);
    stated->sequence = read_number(row, 2);
    stated->wall_ms = read_number(row, 3);
}

/* A frame as it was signed; false when there is none, or it is not the one of that row. */
static bool
read_frame(sqlite3_stmt *row, int column, const struct tl_stated *stated,
           struct tl_reading *reading)
{
    const void *bytes = sqlite3_column_blob(row, column);
    int len = sqlite3_column_bytes(row, column);
    struct tl_frame frame;
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    return bytes != NULL && len > 0 &&
           tl_frame_split(bytes, (size_t)len, &frame, &reason) == TL_OK &&
           tl_frame_decode(reading->codec, &frame, reading->envelope, &reason) == TL_OK &&
           strncmp(reading->envelope->node, stated->node, TL_ID_CAP) == 0 &&
           reading->envelope->incarnation == stated->incarnation &&
           reading->envelope->sequence == stated->sequence;
}

static void
read_datum(sqlite3_stmt *row, const char *text, struct tl_word_row *word)
{
    struct tl_datum *datum = &word->datum;
    struct tl_datum_row columns = {.number = read_column(row, WORD_NUMBER),
                                   .side = read_column(row, WORD_SIDE),
                                   .weight_lb = read_column(row, WORD_WEIGHT_LB),
                                   .fuel_lb = read_column(row, WORD_FUEL_LB),
                                   .state = read_column(row, WORD_STATE),
                                   .outcome = read_column(row, WORD_OUTCOME),
                                   .wire = read_column(row, WORD_WIRE),
                                   .word = text};
    char field[TL_TEXT_CAP];
    read_text(row, WORD_TYPE, columns.type, sizeof columns.type);
    read_text(row, WORD_KIND, field, sizeof field);
    datum->kind = tl_datum_kind_by_name(field);
    datum->slot = read_small(row, WORD_SLOT);
    datum->sequence = word->stated.sequence;
    datum->known = read_number(row, WORD_KNOWN) == 1;
    read_text(row, WORD_VOICE_FOR, datum->voice_for, sizeof datum->voice_for);
    read_text(row, WORD_STATED_FOR, field, sizeof field);
    tl_datum_row_events(field, datum);
    tl_datum_row_read(&columns, word->event, datum);
}

static enum tl_err
take_word(sqlite3_stmt *row, struct tl_reading *reading)
{
    enum tl_err err = TL_OK;
    char text[TL_TEXT_CAP];
    struct tl_word_row *word = tl_book_word(reading->book, &err);
    if (word == NULL) {
        return err;
    }
    read_text(row, WORD_WORD, text, sizeof text);
    word->text = strdup(text);
    if (word->text == NULL) {
        return TL_NOMEM;
    }
    read_stated(row, &word->stated);
    word->event = read_event(row, WORD_EVENT_RECOVERY);
    read_datum(row, text, word);
    if (read_frame(row, WORD_FRAME, &word->stated, reading) &&
        reading->envelope->body == TL_BODY_CHANGE &&
        reading->envelope->as.change.datum.kind == word->datum.kind) {
        word->datum = reading->envelope->as.change.datum; /* all its figures, not the first alone */
    }
    read_text(row, WORD_REFUSED, word->refused, sizeof word->refused);
    read_text(row, WORD_REFUSED_BY, word->refused_by, sizeof word->refused_by);
    return TL_OK;
}

static enum tl_err
take_verdict(sqlite3_stmt *row, struct tl_reading *reading)
{
    enum tl_err err = TL_OK;
    char text[TL_STATE_NAME_CAP];
    struct tl_verdict_row *verdict = tl_book_verdict(reading->book, &err);
    if (verdict == NULL) {
        return err;
    }
    read_stated(row, &verdict->stated);
    verdict->event = read_event(row, 4);
    read_text(row, 6, text, sizeof text);
    verdict->ready = strcmp(text, "READY") == 0;
    read_text(row, 7, verdict->name, sizeof verdict->name);
    verdict->rule = tl_rule_by_name(verdict->name);
    read_text(row, 8, verdict->station, sizeof verdict->station);
    read_text(row, 9, verdict->state, sizeof verdict->state);
    read_text(row, 10, verdict->text, sizeof verdict->text);
    verdict->drill = read_number(row, 11) == 1;
    return TL_OK;
}

static enum tl_err
take_alert(sqlite3_stmt *row, struct tl_reading *reading)
{
    enum tl_err err = TL_OK;
    char text[TL_STATE_NAME_CAP];
    struct tl_alert_row *alert = tl_book_alert(reading->book, &err);
    if (alert == NULL) {
        return err;
    }
    read_stated(row, &alert->stated);
    read_text(row, 4, text, sizeof text);
    alert->raised = strcmp(text, "raised") == 0;
    read_text(row, 5, alert->name, sizeof alert->name);
    alert->rule = tl_rule_by_name(alert->name);
    read_text(row, 6, alert->station, sizeof alert->station);
    read_text(row, 7, alert->severity, sizeof alert->severity);
    alert->event = read_event(row, 8);
    read_text(row, 10, alert->subject.node, sizeof alert->subject.node);
    alert->subject.incarnation = read_number(row, 11);
    alert->subject.sequence = read_number(row, 12);
    return TL_OK;
}

static enum tl_err
take_loss(sqlite3_stmt *row, struct tl_reading *reading)
{
    enum tl_err err = TL_OK;
    char text[TL_STATE_NAME_CAP];
    struct tl_loss_row *loss = tl_book_loss(reading->book, &err);
    if (loss == NULL) {
        return err;
    }
    read_stated(row, &loss->stated);
    read_text(row, 4, loss->node, sizeof loss->node);
    read_text(row, 5, text, sizeof text);
    loss->lost = strcmp(text, "lost") == 0;
    return TL_OK;
}

static enum tl_err
take_gap(sqlite3_stmt *row, struct tl_reading *reading)
{
    enum tl_err err = TL_OK;
    struct tl_gap_row *gap = tl_book_gap(reading->book, &err);
    if (gap == NULL) {
        return err;
    }
    read_text(row, 0, gap->node, sizeof gap->node);
    gap->incarnation = read_number(row, 1);
    gap->first = read_number(row, 2);
    gap->last = read_number(row, 3);
    gap->wall_ms = read_number(row, 4);
    return TL_OK;
}

static enum tl_err
take_beat(sqlite3_stmt *row, struct tl_reading *reading)
{
    enum tl_err err = TL_OK;
    struct tl_stated stated = {0};
    read_stated(row, &stated);
    if (!read_frame(row, 4, &stated, reading) || reading->envelope->body != TL_BODY_BEAT) {
        return TL_OK;
    }
    const struct tl_beat *beat = &reading->envelope->as.beat;
    for (uint32_t i = 0; i < beat->sample_count; i++) {
        const struct tl_wind *wind = &beat->samples[i].as.wind;
        if (beat->samples[i].kind != TL_SAMPLE_WIND || wind->state != TL_WIND_KNOWN) {
            continue;
        }
        struct tl_wind_row *told = tl_book_wind(reading->book, &err);
        if (told == NULL) {
            return err;
        }
        told->stated = stated;
        told->headwind_kt_x10 = wind->headwind_kt_x10;
        told->crosswind_kt_x10 = wind->crosswind_kt_x10;
    }
    return TL_OK;
}

static enum tl_err
take_predicted(sqlite3_stmt *row, struct tl_reading *reading)
{
    enum tl_err err = TL_OK;
    struct tl_predicted_row *predicted = tl_book_predicted(reading->book, &err);
    if (predicted == NULL) {
        return err;
    }
    predicted->event = read_event(row, 0);
    predicted->headwind_kt_x10 = read_figure(row, 2);
    predicted->engaging_kt_x10 = read_figure(row, 3);
    predicted->energy_kftlb = read_figure(row, 4);
    predicted->margin_percent = read_figure(row, 5);
    predicted->set_lb = read_small(row, 6);
    predicted->runout_ft_x10 = read_figure(row, 7);
    predicted->expect_in_x10 = read_figure(row, 8);
    predicted->end_kt_x10 = read_figure(row, 9);
    return TL_OK;
}

enum {
    ANY_SCHEMA = 99
};
static const struct tl_rows all[] = {
    {1, 2, words_sql, take_word},
    {3, ANY_SCHEMA, words_with_frames_sql, take_word},
    {1, ANY_SCHEMA, verdicts_sql, take_verdict},
    {1, ANY_SCHEMA, alerts_sql, take_alert},
    {1, 2, losses_before_3_sql, take_loss},
    {3, ANY_SCHEMA, losses_undated_sql, take_loss},
    {3, ANY_SCHEMA, losses_sql, take_loss},
    {1, ANY_SCHEMA, gaps_sql, take_gap},
    {2, ANY_SCHEMA, predicted_sql, take_predicted},
    {3, ANY_SCHEMA, beats_sql, take_beat},
};

const struct tl_rows *
tl_rows_all(size_t *count)
{
    *count = sizeof all / sizeof all[0];
    return all;
}
