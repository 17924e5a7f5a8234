/* SPDX-License-Identifier: Apache-2.0 */
/* work.c - see work.h. */
#include "tests/recorder/work.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>
#include <sodium.h>

enum {
    OPENINGS_MAX = 12,
    FRAMES_A_TURN = 8,
    CLOSES_EVERY = 11, /* turns */
    DIES_EVERY = 7,
    SEALS_EVERY = 3,
    NUMBERS_A_TURN = 16 /* of a validator */
};

static uint32_t
now(const struct work *work)
{
    return work->clock != NULL ? *work->clock : 0;
}

/* ---- rows ---- */

static uint32_t
add_row(struct work *work, const struct row *row)
{
    assert_true(work->row_count < WORK_ROWS_MAX);
    work->row[work->row_count] = (struct work_row){*row, work->turn, false, now(work), WORK_NEVER};
    return work->row_count++;
}

static void
put_into_turn(struct work *work, uint32_t row)
{
    assert_true(work->in_turn_count < WORK_ROWS_MAX);
    work->in_turn[work->in_turn_count++] = row;
}

static void
add_rows(struct work *work, const struct row *rows, uint32_t count)
{
    for (uint32_t i = 0; i < count; i++) {
        put_into_turn(work, add_row(work, &rows[i]));
    }
}

/* As record_change in node.c. */
static enum tl_err
bring(struct work *work, struct row_key key)
{
    struct work_station *station = &work->station[key.station];
    struct tl_watermark *mark = tl_watermark_of(&work->marks, row_stations[key.station]);
    uint32_t *index = &station->row[key.life][key.sequence];
    struct tl_envelope envelope;
    struct row row;
    row_change(key, &envelope, &row);
    station->said[key.life][key.sequence] = WORK_SAID;
    if (*index == 0) {
        *index = 1 + add_row(work, &row);
    } else if (work->row[*index - 1].turn != work->turn) {
        work->row[*index - 1].again = true;
    }
    put_into_turn(work, *index - 1);
    bool behind = envelope.incarnation == mark->incarnation && envelope.sequence <= mark->through;
    char bytes[ROW_FRAME_CAP];
    size_t len = row_frame(key, bytes);
    const struct tl_verbatim frame = {(const uint8_t *)bytes, len};
    enum tl_err err = tl_store_change(work->store, &envelope, &frame);
    if (err == TL_OK && !behind) {
        (void)tl_watermark_take(mark, envelope.incarnation, envelope.sequence);
    }
    return err;
}

static uint64_t
next_number(const struct work *work, uint32_t frame)
{
    return (uint64_t)NUMBERS_A_TURN * (work->turn + 1) + frame;
}

static enum tl_err
put_judged(struct work *work, uint32_t frame)
{
    static const enum tl_judged_kind kinds[] = {TL_JUDGED_APPLIED, TL_JUDGED_REFUSED,
                                                TL_JUDGED_PREDICTED, TL_JUDGED_EXPECTED};
    struct tl_envelope envelope;
    struct row rows[2 + ROW_SETTINGS_MAX];
    enum tl_judged_kind kind = kinds[work->judged++ % (sizeof kinds / sizeof kinds[0])];
    add_rows(work, rows, row_judged(kind, next_number(work, frame), &envelope, rows));
    return tl_store_judged(work->store, &envelope, &(struct tl_verbatim){NULL, 0});
}

static enum tl_err
put_verdict(struct work *work, uint32_t frame)
{
    struct tl_envelope envelope;
    struct row row;
    row_verdict(next_number(work, frame), &envelope, &row);
    add_rows(work, &row, 1);
    return tl_store_verdict(work->store, &envelope);
}

static enum tl_err
put_alert(struct work *work, uint32_t frame)
{
    struct tl_envelope envelope;
    struct tl_alert_step step = {.raised = true};
    struct row row;
    row_alert(next_number(work, frame), &envelope, &step.alert, &row);
    add_rows(work, &row, 1);
    return tl_store_alert(work->store, &envelope, &step);
}

/* A beat that a validator has named. */
static enum tl_err
put_beat(struct work *work, uint32_t frame, uint32_t number)
{
    struct row_key key = {number, 0, (uint32_t)next_number(work, frame)};
    uint64_t wall_ms = ROW_INCARNATION + UINT64_C(100) * work->turn;
    struct tl_claim claim = {.incarnation = ROW_INCARNATION, .sequence = key.sequence};
    char bytes[ROW_FRAME_CAP];
    size_t len = row_frame(key, bytes);
    const struct tl_verbatim verbatim = {(const uint8_t *)bytes, len};
    struct row row;
    memcpy(claim.node, row_stations[number], strlen(row_stations[number]));
    row_beat(key, wall_ms, &row);
    add_rows(work, &row, 1);
    return tl_store_beat(work->store, &claim, wall_ms, &verbatim);
}

static enum tl_err
put_seal(struct work *work)
{
    struct tl_sealer sealer = {&work->identity, ROW_INCARNATION};
    uint64_t wall_ms = ROW_INCARNATION + UINT64_C(100) * work->turn;
    struct row row;
    if (tl_store_is_sealed(work->store)) {
        return TL_OK;
    }
    row_seal(work->identity.node, sealer.incarnation, wall_ms, &row);
    add_rows(work, &row, 1);
    return tl_store_seal(work->store, &sealer, wall_ms);
}

/* As record_gaps in node.c. */
static enum tl_err
put_gaps(struct work *work, uint32_t number, const struct tl_held_range *held)
{
    struct tl_watermark *mark = tl_watermark_of(&work->marks, row_stations[number]);
    struct tl_gap gap;
    enum tl_err err = TL_OK;
    while (err == TL_OK && tl_watermark_gap(mark, held, &gap)) {
        struct row_key first = {number, work->station[number].life, (uint32_t)gap.first};
        struct row row;
        row_gap(first, gap.last, ROW_INCARNATION + work->turn, &row);
        add_rows(work, &row, 1);
        err = tl_store_gap(work->store, mark, &gap, ROW_INCARNATION + work->turn);
    }
    return err;
}

/* ---- frames ---- */

/* All that is said and not lost, of that life, beyond `through`. */
static enum tl_err
bring_all(struct work *work, uint32_t number, uint64_t through)
{
    const struct work_station *station = &work->station[number];
    enum tl_err err = TL_OK;
    for (uint32_t s = 1; s <= station->last && err == TL_OK; s++) {
        if (s > through && station->said[station->life][s] != WORK_LOST) {
            err = bring(work, (struct row_key){number, station->life, s});
        }
    }
    return err;
}

static enum tl_err
say_one(struct work *work, uint32_t number)
{
    struct work_station *station = &work->station[number];
    if (station->life == 0 || (one_in(&work->chance, 24) && station->life + 1 < WORK_LIVES)) {
        station->life++;
        station->last = 0;
    }
    assert_true(station->last + 1 < WORK_SEQUENCES);
    struct row_key key = {number, station->life, ++station->last};
    uint32_t fate = draw(&work->chance, 10);
    if (fate < 2) {
        station->said[key.life][key.sequence] = WORK_LATE;
    } else if (fate < 4) {
        station->said[key.life][key.sequence] = WORK_LOST;
    } else {
        return bring(work, key);
    }
    return TL_OK;
}

/* One that is late, of whatever life, or one that was brought already. */
static enum tl_err
bring_another(struct work *work, uint32_t number)
{
    const struct work_station *station = &work->station[number];
    uint32_t life = 1 + draw(&work->chance, station->life + 1);
    uint32_t begin = draw(&work->chance, WORK_SEQUENCES);
    for (uint32_t i = 0; i < WORK_SEQUENCES && life < WORK_LIVES; i++) {
        uint32_t s = (begin + i) % WORK_SEQUENCES;
        enum work_said said = station->said[life][s];
        if (said == WORK_LATE || said == WORK_SAID) {
            return bring(work, (struct row_key){number, life, s});
        }
    }
    return TL_OK;
}

/* A beat that says what is no longer held; what can be given was given. */
static enum tl_err
beat_of(struct work *work, uint32_t number)
{
    const struct work_station *station = &work->station[number];
    uint32_t oldest = draw(&work->chance, station->last + 1);
    struct tl_held_range held = {ROW_INCARNATION + station->life, station->last, oldest};
    if (station->last == 0) {
        return TL_OK;
    }
    const struct tl_watermark *mark = tl_watermark_of(&work->marks, row_stations[number]);
    bool newer = held.incarnation > mark->incarnation;
    enum tl_err err = bring_all(work, number, newer ? 0 : mark->through);
    return err == TL_OK ? put_gaps(work, number, &held) : err;
}

static enum tl_err
take_frame(struct work *work, uint32_t frame)
{
    uint32_t number = draw(&work->chance, ROW_STATIONS);
    switch (draw(&work->chance, 16)) {
    case 0:
    case 8:
    case 9:
        return put_judged(work, frame);
    case 1:
        return put_verdict(work, frame);
    case 2:
        return put_alert(work, frame);
    case 3:
    case 4:
        return bring_another(work, number);
    case 5:
    case 6:
        return beat_of(work, number);
    case 7:
        return put_beat(work, frame, number);
    default:
        return say_one(work, number);
    }
}

/* ---- commit, open ---- */

/* As tell_marks in node.c, each time that it moved. */
static void
tell_marks(struct work *work)
{
    for (uint32_t i = 0; i < ROW_STATIONS; i++) {
        const struct tl_watermark *mark = tl_watermark_of(&work->marks, row_stations[i]);
        if (mark->through > 0) {
            assert_true(work->told_count < WORK_TELLS_MAX);
            work->told[work->told_count++] = (struct work_told){
                now(work), i, (uint32_t)(mark->incarnation - ROW_INCARNATION), mark->through};
        }
    }
}

static enum tl_err
commit(struct work *work)
{
    enum tl_err err = tl_store_commit(work->store);
    for (uint32_t i = 0; i < work->in_turn_count && err == TL_OK; i++) {
        struct work_row *row = &work->row[work->in_turn[i]];
        row->due = row->due == WORK_NEVER ? now(work) : row->due;
    }
    work->in_turn_count = 0;
    if (err == TL_OK) {
        tell_marks(work);
    }
    return err;
}

static enum tl_err
open_once(struct work *work)
{
    work->in_turn_count = 0;
    enum tl_err err = tl_store_open(work->path, &work->store, work->why, sizeof work->why);
    if (err != TL_OK) {
        return err;
    }
    if (work->opened != NULL) {
        work->opened();
    }
    tl_watermarks_init(&work->marks, &work->config);
    err = tl_store_load(work->store, &work->marks);
    if (err != TL_OK) {
        return err;
    }
    tell_marks(work);
    work->turn++; /* what comes now is a transaction of its own */
    for (uint32_t i = 0; i < ROW_STATIONS && err == TL_OK; i++) {
        const struct tl_watermark *mark = tl_watermark_of(&work->marks, row_stations[i]);
        bool newer = ROW_INCARNATION + work->station[i].life > mark->incarnation;
        err = bring_all(work, i, newer ? 0 : mark->through);
    }
    return err == TL_OK ? commit(work) : err;
}

static void
lose(struct work *work)
{
    work->errors++;
    if (work->dies_of_errors) {
        work_die(work);
    } else {
        work_close(work);
    }
}

void
work_open(struct work *work)
{
    uint32_t tries = 0;
    while (open_once(work) != TL_OK) {
        lose(work);
        if (++tries == OPENINGS_MAX) {
            fail_msg("not to be opened: %s", work->why);
        }
    }
}

void
work_init(struct work *work, uint64_t seed, const char *path)
{
    memset(work, 0, sizeof *work);
    work->chance = chance_of(seed);
    (void)snprintf(work->path, sizeof work->path, "%s", path);
    const uint8_t secret[crypto_sign_SEEDBYTES] = {53};
    assert_true(sodium_init() >= 0);
    assert_int_equal(
        crypto_sign_seed_keypair(work->identity.identity, work->identity.signer.secret, secret), 0);
    (void)snprintf(work->identity.node, sizeof work->identity.node, "recorder-1");
    work->identity.epoch = 1;
    for (uint32_t i = 0; i < ROW_STATIONS; i++) {
        struct tl_node *node = &work->config.node[work->config.node_count++];
        (void)snprintf(node->id, sizeof node->id, "%s", row_stations[i]);
        node->kind = TL_NODE_STATION;
    }
}

void
work_turn(struct work *work)
{
    uint32_t count = 1 + draw(&work->chance, FRAMES_A_TURN);
    enum tl_err err = TL_OK;
    work->turn++;
    for (uint32_t i = 0; i < count && err == TL_OK; i++) {
        err = take_frame(work, i);
    }
    if (err == TL_OK && one_in(&work->chance, SEALS_EVERY)) {
        err = put_seal(work);
    }
    err = err == TL_OK ? commit(work) : err;
    if (err != TL_OK) {
        lose(work);
        work_open(work);
    } else if (one_in(&work->chance, CLOSES_EVERY)) {
        work_close(work);
        work_open(work);
    } else if (one_in(&work->chance, DIES_EVERY)) {
        work_die(work);
        work_open(work);
    }
}

void
work_close(struct work *work)
{
    work->in_turn_count = 0;
    tl_store_close(&work->store);
    if (work->dead != NULL) { /* whether it was before or has died of its closing */
        *work->dead = false;
    }
}

void
work_die(struct work *work)
{
    if (work->dead != NULL) {
        *work->dead = true;
    }
    work_close(work);
}
