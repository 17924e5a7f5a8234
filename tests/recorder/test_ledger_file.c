/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_ledger_file - what a recorder counts while it writes is what its file gives when it is read
 *
 * Seeded records through the store: rows twice, words that are refused, taken back, or of before.
 * TL_SEED=n repeats a run.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <sodium.h>

#include "broker/recorder/ledger_file.h"
#include "tests/recorder/paper.h"
#include "tests/support/ship.h"

enum {
    STEPS = 400
};

struct room {
    struct paper *paper;
    struct tl_config config;
    struct tl_codec codec;
    struct tl_signer signer;
    struct tl_envelope envelope;
    uint8_t frame[TL_FRAME_MAX + 128];
    struct tl_ledger counted; /* as rows are written */
    struct tl_ledger read;
    uint64_t random;
    uint64_t wall_ms;
    uint64_t sequence;
    uint64_t judged;
    uint32_t pass; /* the next one */
};

static int
set_up(void **state)
{
    struct room *room = calloc(1, sizeof *room);
    void *paper = NULL;
    assert_non_null(room);
    assert_true(sodium_init() >= 0);
    assert_int_equal(paper_setup(&paper), 0);
    room->paper = paper;
    ship_config_full(&room->config, 2);
    room->config.wear = (struct tl_wear_figures){5, 33, 40};
    unsigned char public[crypto_sign_PUBLICKEYBYTES];
    (void)crypto_sign_keypair(public, room->signer.secret);
    tl_ledger_init(&room->counted, &room->config);
    room->wall_ms = PAPER_RECOVERY;
    room->pass = 1;
    *state = room;
    return 0;
}

static int
tear_down(void **state)
{
    struct room *room = *state;
    void *paper = room->paper;
    assert_int_equal(paper_teardown(&paper), 0);
    free(room);
    return 0;
}

static uint32_t
below(struct room *room, uint32_t bound)
{
    room->random = room->random * 6364136223846793005ull + 1442695040888963407ull;
    return (uint32_t)(room->random >> 33) % bound;
}

/* ---- rows, as a recorder writes them ---- */

static void
write_change(struct room *room, const char *node, struct tl_datum datum, uint64_t sequence)
{
    struct tl_envelope *envelope = &room->envelope;
    struct tl_topic topic = {.kind = TL_TOPIC_CHANGE};
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    size_t len = 0;
    memset(envelope, 0, sizeof *envelope);
    envelope->schema = TL_SCHEMA_VERSION;
    envelope->key_epoch = 1;
    envelope->body = TL_BODY_CHANGE;
    envelope->incarnation = PAPER_LIFE;
    envelope->sequence = sequence;
    envelope->wall_ms = room->wall_ms;
    envelope->as.change.datum = datum;
    envelope->as.change.datum.sequence = sequence;
    memcpy(envelope->node, node, strlen(node));
    memcpy(topic.publisher, node, strlen(node));
    if (tl_frame_build(&room->codec, &room->signer, &topic, envelope, room->frame,
                       sizeof room->frame, &len, &reason) != TL_OK) {
        fail_msg("%s: %s", tl_datum_kind_name(datum.kind), tl_refusal_name(reason));
    }
    uint64_t rows = tl_store_change_rows(room->paper->store);
    const struct tl_verbatim frame = {room->frame, len};
    assert_int_equal(tl_store_change(room->paper->store, envelope, &frame), TL_OK);
    if (tl_store_change_rows(room->paper->store) != rows) {
        struct tl_entry entry = {.incarnation = envelope->incarnation,
                                 .sequence = sequence,
                                 .wall_ms = room->wall_ms,
                                 .datum = &envelope->as.change.datum};
        memcpy(entry.node, envelope->node, TL_ID_CAP);
        tl_ledger_change(&room->counted, &entry);
    }
}

/* Sometimes the other bus brings it too. */
static void
say(struct room *room, const char *node, struct tl_datum datum)
{
    room->wall_ms += 1000 + below(room, 20000);
    room->sequence++;
    write_change(room, node, datum, room->sequence);
    if (below(room, 3) == 0) {
        write_change(room, node, datum, room->sequence);
    }
}

static struct tl_judged *
new_judged(struct room *room, const char *node)
{
    struct tl_envelope *envelope = &room->envelope;
    memset(envelope, 0, sizeof *envelope);
    envelope->body = TL_BODY_JUDGED;
    envelope->incarnation = 1;
    envelope->sequence = ++room->judged;
    envelope->wall_ms = room->wall_ms;
    memcpy(envelope->node, "validator-1", sizeof "validator-1");
    memcpy(envelope->as.judged.node, node, strlen(node));
    return &envelope->as.judged;
}

static void
judge(struct room *room, const char *node, enum tl_judged_kind kind)
{
    struct tl_judged *judged = new_judged(room, node);
    judged->incarnation = PAPER_LIFE;
    judged->sequence = room->sequence;
    judged->kind = kind;
    judged->reason = kind == TL_JUDGED_REFUSED ? TL_REFUSAL_LOWER_COUNT : TL_REFUSAL_UNKNOWN;
    assert_int_equal(tl_store_judged(room->paper->store, &room->envelope, &(struct tl_verbatim){0}),
                     TL_OK);
    tl_ledger_judged(&room->counted, judged);
}

static void
predict(struct room *room, uint32_t pass)
{
    struct tl_judged *judged = new_judged(room, "validator-1");
    judged->kind = TL_JUDGED_PREDICTED;
    judged->incarnation = 1;
    judged->sequence = room->envelope.sequence;
    judged->predicted.event = paper_event(pass);
    struct tl_predicted_arrest *arrest = &judged->predicted.arrest;
    arrest->known = true;
    arrest->would_count = 2;
    for (uint32_t i = 0; i < 2; i++) {
        arrest->would[i] =
            (struct tl_would){.set_lb = 30000 + 1000 * i, .tension_percent = 20 + below(room, 30)};
    }
    assert_int_equal(tl_store_judged(room->paper->store, &room->envelope, &(struct tl_verbatim){0}),
                     TL_OK);
    tl_ledger_predicted(&room->counted, &judged->predicted);
}

/* ---- what is said ---- */

static void
say_pass(struct room *room)
{
    static const char *const rooms[] = {"engine-1", "engine-2", "engine-3", "engine-4"};
    uint32_t again = room->pass > 6 && below(room, 3) == 0 ? 1 + below(room, 6) : 0;
    uint32_t pass = again != 0 ? room->pass - again : room->pass++;
    struct tl_datum set = {.kind = TL_DATUM_SET, .known = true};
    set.as.set_lb = 30000 + 1000 * below(room, 2);
    set.stated_for_count = 1;
    set.stated_for[0] = paper_event(pass);
    say(room, rooms[below(room, 4)], set);
    if (again == 0 && below(room, 4) != 0) {
        predict(room, pass);
    }
    bool trap = below(room, 4) != 0;
    struct tl_datum result = paper_datum(TL_DATUM_RESULT, pass, pass);
    result.as.result = (struct tl_result){trap ? TL_OUTCOME_TRAP : TL_OUTCOME_BOLTER,
                                          trap ? 1 + below(room, 4) : 0};
    say(room, "platform", result);
    if (again == 0 && below(room, 8) == 0) {
        predict(room, pass); /* an answer that came late */
    }
}

static void
say_count(struct room *room)
{
    bool cable = below(room, 2) == 0;
    uint32_t slot = 1 + below(room, 4);
    struct tl_datum datum = {
        .kind = cable ? TL_DATUM_CABLE : TL_DATUM_PENDANT_LIFE, .slot = slot, .known = true};
    struct tl_wear *wear = tl_datum_wear_of(&datum);
    wear->traps = below(room, 60);
    wear->counted.last = room->pass > 1 ? paper_event(room->pass - 1) : (struct tl_event){0};
    wear->moved = below(room, 3) == 0;
    if (below(room, 2) == 0) {
        (void)snprintf(wear->serial, sizeof wear->serial, "S-%u", below(room, 12));
    }
    say(room, "gear-officer", datum);
    switch (below(room, 8)) {
    case 0:
        judge(room, "gear-officer", TL_JUDGED_REFUSED);
        break;
    case 1: /* taken back, nobody having answered */
    case 2: /* or with an answer that came too late for the station */
        if (below(room, 2) == 0) {
            judge(room, "gear-officer", TL_JUDGED_APPLIED);
        }
        datum = (struct tl_datum){.kind = datum.kind, .slot = slot};
        say(room, "gear-officer", datum);
        break;
    default:
        judge(room, "gear-officer", TL_JUDGED_APPLIED);
        break;
    }
}

static void
say_inspected(struct room *room)
{
    struct tl_datum datum = {.kind = TL_DATUM_INSPECTED, .slot = 1 + below(room, 4), .known = true};
    datum.as.inspected.state = TL_INSPECTION_GOOD;
    (void)snprintf(datum.as.inspected.name, sizeof datum.as.inspected.name, "Knot");
    say(room, "gear-officer", datum);
}

/* In pieces, as the recorder does at its start. */
static void
read_file(struct room *room)
{
    struct tl_ledger_reader reader;
    enum tl_err err = TL_OK;
    tl_ledger_init(&room->read, &room->config);
    assert_int_equal(tl_store_open_ledger(room->paper->store, &room->read, &reader), TL_OK);
    while (err == TL_OK) {
        err = tl_store_read_ledger(room->paper->store, &reader, 1 + below(room, 9));
    }
    assert_int_equal(err, TL_EMPTY);
    tl_ledger_reader_close(&reader);
}

static void
compare(struct room *room)
{
    struct tl_worn counted[TL_WORN_MAX];
    struct tl_worn read[TL_WORN_MAX];
    assert_int_equal(tl_store_commit(room->paper->store), TL_OK);
    read_file(room);
    uint32_t count = tl_ledger_worn(&room->counted, counted);
    assert_int_equal(tl_ledger_worn(&room->read, read), count);
    for (uint32_t i = 0; i < count; i++) {
        const struct tl_worn *a = &counted[i];
        const struct tl_worn *b = &read[i];
        bool same = a->wire == b->wire && a->engine == b->engine &&
                    a->wear.traps == b->wear.traps && strcmp(a->wear.serial, b->wear.serial) == 0 &&
                    tl_event_equal(a->wear.counted.last, b->wear.counted.last) &&
                    a->wear.counted.without == b->wear.counted.without &&
                    a->detorqued_at == b->detorqued_at && a->weighted_x1000 == b->weighted_x1000 &&
                    a->not_weighed == b->not_weighed && a->inspect == b->inspect &&
                    a->removed == b->removed;
        if (!same) {
            fail_msg("%s of %u: counted %u traps %u weight, %u not weighed; read %s %u %u %u",
                     a->wear.serial, count, a->wear.traps, a->weighted_x1000, a->not_weighed,
                     b->wear.serial, b->wear.traps, b->weighted_x1000, b->not_weighed);
        }
    }
    for (uint32_t i = 0; i < room->counted.fit_count; i++) {
        uint32_t a = 0;
        uint32_t b = 0;
        bool said = tl_fit_stated_traps(&room->counted, &room->counted.fit[i], &a);
        assert_int_equal(tl_fit_stated_traps(&room->read, &room->read.fit[i], &b), said);
        assert_int_equal(a, b);
    }
}

static void
the_file_gives_what_was_counted(void **state)
{
    struct room *room = *state;
    const char *given = getenv("TL_SEED");
    room->random = given != NULL ? strtoull(given, NULL, 10) : 1;
    print_message("TL_SEED=%llu\n", (unsigned long long)room->random);
    struct tl_datum open = {.kind = TL_DATUM_RECOVERY, .known = true};
    open.as.recovery = (struct tl_recovery){PAPER_RECOVERY, TL_RECOVERY_OPEN, false};
    say(room, "primary", open);
    for (uint32_t i = 0; i < STEPS; i++) {
        uint32_t which = below(room, 10);
        if (which < 6) {
            say_pass(room);
        } else if (which < 9) {
            say_count(room);
        } else {
            say_inspected(room);
        }
        if (i % 10 == 0) {
            compare(room);
        }
    }
    compare(room);
    assert_true(room->counted.removed_count > 0);
}

/* Of before schema 3: no frame, and so no serial; the row is left out. */
static void
a_row_without_a_frame_is_left_out(void **state)
{
    struct room *room = *state;
    struct tl_datum datum = {.kind = TL_DATUM_PENDANT_LIFE, .slot = 2, .known = true};
    datum.as.pendant_life.traps = 40;
    paper_change(room->paper, "gear-officer", 1, datum);
    paper_commit(room->paper);
    read_file(room);
    struct tl_worn worn[TL_WORN_MAX];
    assert_int_equal(tl_ledger_worn(&room->read, worn), 0);
}

/* Bytes that are no frame are not counted, and nothing else is lost for them. */
static void
a_frame_that_is_none_is_left_out(void **state)
{
    struct room *room = *state;
    static const uint8_t noise[] = {1, 2, 3, 4, 5};
    const struct tl_verbatim frame = {noise, sizeof noise};
    struct tl_datum datum = {.kind = TL_DATUM_PENDANT_LIFE, .slot = 2, .known = true};
    datum.as.pendant_life.traps = 40;
    say(room, "gear-officer", datum);
    room->envelope.sequence = 900;
    assert_int_equal(tl_store_change(room->paper->store, &room->envelope, &frame), TL_OK);
    compare(room);
    struct tl_worn worn[TL_WORN_MAX];
    assert_int_equal(tl_ledger_worn(&room->read, worn), 1);
    assert_int_equal(worn[0].wear.traps, 40);
}

int
main(void)
{
#define IN_ROOM(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        IN_ROOM(the_file_gives_what_was_counted),
        IN_ROOM(a_row_without_a_frame_is_left_out),
        IN_ROOM(a_frame_that_is_none_is_left_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
