/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_limits - every list is bounded, and what must be sent fits its frame
 *
 * Limits: proto/vocab/limits.h.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/codec/rows.h"
#include "tests/codec/samples.h"
#include "tests/codec/spec.h"

#define ID_23    "abcdefghijklmnopqrstu-9"
#define TYPE_15  "abcdefghijklmno"
#define RECOVERY 1764050400000 /* ms since 1970: 41 bits until 2039 */

enum {
    SPEC_CAP = 64 * 1024
};

struct list_row {
    const char *name;
    enum tl_body_kind body;
    const char *before;
    const char *entry; /* # stands for its number, from 1 */
    const char *after;
    unsigned max;
};

/* before, entry n times, after. */
static void
write_list(const struct list_row *row, unsigned n, char *spec)
{
    size_t len = (size_t)snprintf(spec, SPEC_CAP, "%s", row->before);

    for (unsigned i = 0; i < n; i++) {
        const char *at = row->entry;
        for (; *at != '\0' && len + 16 < SPEC_CAP; at++) {
            if (*at == '#') {
                len += (size_t)snprintf(spec + len, SPEC_CAP - len, "%u", i + 1);
            } else {
                spec[len++] = *at;
            }
        }
    }
    (void)snprintf(spec + len, SPEC_CAP - len, "%s", row->after);
}

static const struct list_row lists[] = {
    {"data of a beat", TL_BODY_BEAT, HEAD "16:{1:100 ", "3:{1:7 2:# 20:{1:5}}", "}", 72},
    {"samples of a beat", TL_BODY_BEAT, HEAD "16:{1:100 ", "4:{1:# 17:{}}", "}", 2},
    {"echoes", TL_BODY_BEAT, HEAD, "7:{1:'v#' 2:1 3:1}", "16:{}", 4},
    {"stated for", TL_BODY_CHANGE, HEAD "17:{1:{1:7 ", "3:{1:9 2:#}", "19:{1:5}}}", 3},
    {"readings", TL_BODY_BEAT, HEAD "16:{4:{16:{", "7:{1:'mast #'}", "}}}", 4},
    {"refused", TL_BODY_RECEIPT, HEAD "18:{1:5 ", "3:{1:# 2:33}", "}", 32},
    {"out of service", TL_BODY_VERDICT, HEAD "19:{1:1 2:42300 3:1 5:{" CAUSE "} 6:1 " DIGESTS,
     " 10:'v#'", "}", 4},
    {"listed", TL_BODY_PICTURE, HEAD "20:{1:1 ", "6:{1:{1:9 2:#}}", "}", 16},
    {"stations", TL_BODY_PICTURE, HEAD "20:{1:1 ", "7:{1:'s#' 3:53 6:'01234567'}", "}", 32},
    {"data of a station", TL_BODY_PICTURE, HEAD "20:{1:1 7:{" STATION, " 7:{1:7 2:# 20:{1:5}}",
     "}}", 72},
    {"samples of a station", TL_BODY_PICTURE, HEAD "20:{1:1 7:{" STATION, " 8:{1:# 17:{}}", "}}",
     2},
    {"causes", TL_BODY_PICTURE, HEAD "20:{1:1 ", "8:{1:9 3:1 5:{1:#}}", "}", 64},
    {"settings computed", TL_BODY_PICTURE, HEAD "20:{1:1 14:{1:{1:9 2:1} 2:'a' 3:1 5:{2:1 3:1 ",
     "5:{1:# 5:1 6:1 7:1 8:1 9:1}", "}}}", 17},
    {"ram travels expected", TL_BODY_PICTURE, HEAD "20:{1:1 ", "15:{1:# 2:{1:9 2:1} 3:1}", "}", 8},
    {"passes that ended", TL_BODY_PICTURE, HEAD "20:{1:1 ", "16:{1:{1:9 2:#} 2:{1:74}}", "}", 16},
    {"pendants and cables", TL_BODY_RECORDED, HEAD "24:{1:1 ", "3:{1:8 4:# 11:1}", "}", 32},
    {"alerts", TL_BODY_ALERTS, HEAD "21:{", "2:{1:{1:9 3:1} 3:2 4:# 5:1}", "}", 64},
    {"refusals", TL_BODY_REFUSALS, HEAD "22:{", "1:{2:4 3:#}", "}", 8},
};

static void
limits_of_every_list(void **state)
{
    struct world *world = *state;
    char *spec = malloc(SPEC_CAP);

    assert_non_null(spec);
    for (size_t i = 0; i < sizeof lists / sizeof lists[0]; i++) {
        struct row row = {.name = lists[i].name, .body = lists[i].body, .spec = spec};
        write_list(&lists[i], lists[i].max, spec);
        row.want = OK;
        rows_check(world, &row, 1);
        write_list(&lists[i], lists[i].max + 1, spec);
        row.want = TL_REFUSAL_TOO_MANY;
        rows_check(world, &row, 1);
    }
    free(spec);
}

/* 2 bytes of a frame take 120 in the arena: it is full before the list is whole. */
static void
limits_a_bomb_of_empty_messages_is_too_many(void **state)
{
    struct world *world = *state;
    struct tl_topic topic = topic_for(TL_BODY_PICTURE, "engine-1");
    uint8_t *bytes = malloc(TL_FRAME_MAX);
    enum {
        INNER = 32000
    };

    assert_non_null(bytes);
    size_t len = spec_write(HEAD, bytes, TL_FRAME_MAX);
    len += spec_write("!a20180fa01", bytes + len, TL_FRAME_MAX - len); /* picture, 32000 bytes */
    for (size_t i = 0; i < INNER; i += 2) {
        bytes[len++] = 0x42; /* cause, 0 bytes */
        bytes[len++] = 0;
    }
    world_frame(world, &topic, bytes, len);
    assert_int_equal(world_receive_watched(world), TL_REFUSAL_TOO_MANY);
    assert_true(world->codec.used <= TL_CODEC_ARENA);
    /* The codec is as good as before. */
    static const struct row after[] = {{"after", TL_BODY_BEAT, HEAD "16:{}", OK}};
    ROWS_CHECK(world, after);
    free(bytes);
}

/* The same with fields that nobody knows. */
static void
limits_a_bomb_of_unknown_fields_is_refused(void **state)
{
    struct world *world = *state;
    struct tl_topic topic = topic_for(TL_BODY_PICTURE, "engine-1");
    uint8_t *bytes = malloc(TL_FRAME_MAX);

    assert_non_null(bytes);
    size_t len = spec_write(HEAD, bytes, TL_FRAME_MAX);
    while (len + 2 < TL_FRAME_MAX - 200) {
        bytes[len++] = 0x60; /* field 12 */
        bytes[len++] = 1;
    }
    world_frame(world, &topic, bytes, len);
    enum tl_refusal reason = world_receive_watched(world);
    assert_true(reason == TL_REFUSAL_TOO_MANY || reason == TL_REFUSAL_NEWER_SCHEMA);
    free(bytes);
}

/* The longest id, another one for each index below 100. */
static void
set_id(char id[TL_ID_CAP], unsigned index)
{
    memset(id, 'a', TL_ID_CAP - 1);
    id[TL_ID_CAP - 3] = (char)('0' + index / 10 % 10);
    id[TL_ID_CAP - 2] = (char)('0' + index % 10);
    id[TL_ID_CAP - 1] = '\0';
}

static struct tl_datum *
add_datum(struct tl_beat *beat, enum tl_datum_kind kind, uint32_t slot)
{
    struct tl_datum *datum = &beat->data[beat->datum_count++];
    datum->kind = kind;
    datum->slot = slot;
    datum->sequence = 1000000; /* 12 days at one a second */
    datum->said_age_ms = UINT32_MAX;
    datum->stated_for_count = 1;
    datum->stated_for[0] = (struct tl_event){RECOVERY, 16383};
    datum->known = true;
    return datum;
}

static void
fill_order(struct tl_order *order)
{
    order->side = 9999;
    (void)snprintf(order->type, sizeof order->type, TYPE_15);
    order->weight_lb = 200000;
    order->place = -100000;
    order->state = TL_ORDER_CANCELLED;
}

static void
fill_head(struct tl_envelope *envelope, enum tl_body_kind body)
{
    memset(envelope, 0, sizeof *envelope);
    envelope->schema = TL_SCHEMA_VERSION;
    (void)snprintf(envelope->node, sizeof envelope->node, ID_23);
    envelope->key_epoch = UINT32_MAX;
    envelope->incarnation = RECOVERY;
    envelope->sequence = UINT32_MAX; /* 27 years at 5 Hz */
    envelope->event = (struct tl_event){RECOVERY, 16383};
    envelope->wall_ms = RECOVERY;
    envelope->body = body;
}

/* Recovery, 16 orders, 8 repeaters and a word on the deck: 26 data, with the longest ids. */
static void
fill_primary_beat(struct tl_envelope *envelope, uint32_t echoes)
{
    struct tl_beat *beat = &envelope->as.beat;

    fill_head(envelope, TL_BODY_BEAT);
    envelope->settled = 1000000;
    envelope->echo_count = echoes;
    for (uint32_t i = 0; i < echoes; i++) {
        set_id(envelope->echo[i].validator, i);
        envelope->echo[i].incarnation = RECOVERY;
        envelope->echo[i].tick = UINT32_MAX;
    }
    beat->last_change = 1000000;
    beat->oldest_held = 1000000;
    struct tl_datum *recovery = add_datum(beat, TL_DATUM_RECOVERY, 0);
    recovery->as.recovery = (struct tl_recovery){RECOVERY, TL_RECOVERY_OPEN, true};
    for (uint32_t i = 0; i < TL_LIST_MAX; i++) {
        fill_order(&add_datum(beat, TL_DATUM_ORDER, 16000 + i)->as.order);
    }
    for (uint32_t i = 0; i < TL_ENGINES_MAX; i++) {
        struct tl_datum *repeater = add_datum(beat, TL_DATUM_REPEATER, i + 1);
        repeater->as.repeater_lb = 200000;
        repeater->stated_for_count = TL_STATED_FOR_MAX;
        repeater->stated_for[1] = (struct tl_event){RECOVERY, 16382};
        repeater->stated_for[2] = (struct tl_event){RECOVERY, 16381};
    }
    add_datum(beat, TL_DATUM_DECK, 0)->as.deck =
        (struct tl_deck){TL_DECK_FOUL, TL_FOUL_OTHER, 86400, true};
}

static void
limits_the_largest_beat_of_primary_fits(void **state)
{
    struct world *world = *state;
    struct tl_topic topic = topic_for(TL_BODY_BEAT, ID_23);

    fill_primary_beat(&world->envelope, TL_VALIDATORS_MAX);
    world_build(world, &topic);
    print_message("largest beat of primary: %zu of %d bytes\n", world->frame.len,
                  TL_FRAME_BEAT_MAX);
    assert_true(world->frame.len <= TL_FRAME_BEAT_MAX);
    assert_int_equal(world_receive(world), OK);
    assert_int_equal(world->envelope.as.beat.datum_count, 26);
}

static void
fill_cause(struct tl_cause *cause)
{
    cause->rule = TL_REFUSAL_NEWER_SCHEMA;
    (void)snprintf(cause->station, sizeof cause->station, ID_23);
    cause->state = TL_CAUSE_OVERDUE;
    (void)snprintf(cause->subject.node, sizeof cause->subject.node, ID_23);
    cause->subject.incarnation = RECOVERY;
    cause->subject.sequence = UINT32_MAX;
    cause->reported = (struct tl_cause_value){true, -200000, TYPE_15};
    cause->needed = (struct tl_cause_value){true, -200000, TYPE_15};
    cause->reason = TL_REFUSAL_NOT_OWNER;
}

/* As long as one can be that passes the check. */
static void
fill_would(struct tl_would *would, uint32_t index)
{
    *would = (struct tl_would){.set_lb = 200000 - TL_WOULDS_MAX + index,
                               .bottoms = true,
                               .parts = true,
                               .end_kt_x10 = 2000,
                               .hook_lbf = 9999999,
                               .tension_percent = 99999,
                               .stroke_in_x10 = 20000,
                               .expect_in_x10 = 20000,
                               .runout_ft_x10 = 20000};
}

static void
fill_predicted(struct tl_predicted *predicted, struct tl_event event)
{
    *predicted = (struct tl_predicted){
        .event = event,
        .type = TYPE_15,
        .weight_lb = 200000,
        .barricade = true,
        .arrest = {true, -2000, 2000, 9999999, -99999, .would_count = TL_WOULDS_MAX},
        .ramp = {true, TYPE_15, 900, 8, 900, -20000, -100000},
        .time = {true, 36000, 36000, 36000, 36000},
    };
    for (uint32_t i = 0; i < TL_WOULDS_MAX; i++) {
        fill_would(&predicted->arrest.would[i], i);
    }
}

/* Every field at its highest, so that no verdict which passes the check can be too large. */
static void
limits_the_largest_verdict_fits(void **state)
{
    struct world *world = *state;
    struct tl_topic topic = topic_for(TL_BODY_VERDICT, ID_23);
    struct tl_verdict *verdict = &world->envelope.as.verdict;

    fill_head(&world->envelope, TL_BODY_VERDICT);
    world->envelope.incarnation = UINT64_MAX;
    world->envelope.sequence = UINT64_MAX;
    world->envelope.wall_ms = UINT64_MAX;
    world->envelope.event = (struct tl_event){UINT64_MAX, UINT32_MAX};
    verdict->tick = UINT64_MAX;
    verdict->is_tick = true;
    verdict->word = TL_WORD_NOT_READY;
    verdict->kind = TL_CAUSE_PICTURE;
    verdict->list_heard = true;
    fill_cause(&verdict->first);
    verdict->first.subject.incarnation = UINT64_MAX;
    verdict->first.subject.sequence = UINT64_MAX;
    verdict->first.reported.number = INT64_MIN;
    verdict->first.needed.number = INT64_MIN;
    verdict->cause_count = 9999;
    verdict->picture = UINT64_MAX;
    memset(verdict->judgement_digest, 0xFF, sizeof verdict->judgement_digest);
    memset(verdict->key_digest, 0xFF, sizeof verdict->key_digest);
    verdict->out_of_service_count = TL_VALIDATORS_MAX;
    for (uint32_t i = 0; i < TL_VALIDATORS_MAX; i++) {
        set_id(verdict->out_of_service[i], i);
    }
    verdict->drill = true;
    world_build(world, &topic);
    print_message("largest verdict: %zu of %d bytes\n", world->frame.len, TL_FRAME_VERDICT_MAX);
    assert_true(world->frame.len <= TL_FRAME_VERDICT_MAX);
    assert_int_equal(world_receive(world), OK);
}

/* One of 32 stations as large as primary, 8 engines, the bridge, and the others with 3 data. */
static void
fill_station(struct tl_station_state *station, uint32_t index)
{
    set_id(station->node, index);
    station->incarnation = RECOVERY;
    station->live = TL_LIVE_NEVER;
    station->age_ms = UINT32_MAX;
    station->applied = UINT32_MAX;
    memset(station->digest, 0xFF, sizeof station->digest);
    for (uint32_t i = 0; i < 3; i++) {
        struct tl_datum *datum = &station->data[station->datum_count++];
        *datum = (struct tl_datum){.kind = TL_DATUM_INBOUND,
                                   .slot = i + 1,
                                   .sequence = UINT32_MAX,
                                   .said_age_ms = UINT32_MAX,
                                   .stated_for_count = 1,
                                   .stated_for = {{RECOVERY, 16383}},
                                   .known = true,
                                   .as.inbound = {i + 1, TYPE_15, 200000, 200000}};
    }
}

static void
fill_picture(struct tl_picture *picture, const struct tl_beat *primary)
{
    picture->number = UINT32_MAX;
    picture->list_heard = true;
    picture->recovery_ms = RECOVERY;
    picture->highest_recovery_ms = RECOVERY;
    picture->list_count = TL_LIST_MAX;
    for (uint32_t i = 0; i < TL_LIST_MAX; i++) {
        picture->list[i] = (struct tl_listed){.event = {RECOVERY, 16000 + i},
                                              .order_known = true,
                                              .result_known = true,
                                              .result = {TL_OUTCOME_TRAP, 8},
                                              .ended = true};
        fill_order(&picture->list[i].order);
    }
    picture->station_count = TL_STATIONS_MAX;
    for (uint32_t i = 0; i < TL_STATIONS_MAX; i++) {
        fill_station(&picture->station[i], i);
    }
    picture->station[0].datum_count = primary->datum_count;
    memcpy(picture->station[0].data, primary->data, sizeof primary->data);
    picture->cause_count = TL_CAUSES_MAX;
    for (uint32_t i = 0; i < TL_CAUSES_MAX; i++) {
        fill_cause(&picture->cause[i]);
        fill_would(&picture->cause[i].would, 0);
    }
    fill_predicted(&picture->predicted, (struct tl_event){RECOVERY, 16383});
    picture->expected_count = TL_ENGINES_MAX;
    for (uint32_t i = 0; i < TL_ENGINES_MAX; i++) {
        picture->expected[i] = (struct tl_expected){i + 1, {RECOVERY, 16383}, 20000};
    }
    picture->ended_count = TL_ENDED_SHOWN;
    for (uint32_t i = 0; i < TL_ENDED_SHOWN; i++) {
        picture->ended[i] = (struct tl_ended){{RECOVERY, 16000 + i}, {TL_OUTCOME_TRAP, 8}, true};
    }
}

static void
limits_a_full_picture_fits(void **state)
{
    struct world *world = *state;
    struct tl_topic topic = topic_for(TL_BODY_PICTURE, ID_23);

    fill_primary_beat(&world->other, 0);
    fill_head(&world->envelope, TL_BODY_PICTURE);
    fill_picture(&world->envelope.as.picture, &world->other.as.beat);
    world_build(world, &topic);
    print_message("full picture of 32 stations: %zu of %d bytes, %zu of %d in the arena\n",
                  world->frame.len, TL_FRAME_LARGE_MAX, world->codec.used, TL_CODEC_ARENA);
    assert_true(world->frame.len <= TL_FRAME_LARGE_MAX);
    assert_int_equal(world_receive(world), OK);
    assert_int_equal(world->envelope.as.picture.station_count, TL_STATIONS_MAX);
    assert_int_equal(world->envelope.as.picture.predicted.arrest.would_count, TL_WOULDS_MAX);
    assert_int_equal(world->envelope.as.picture.expected_count, TL_ENGINES_MAX);
}

static void
limits_a_full_set_of_alerts_fits(void **state)
{
    struct world *world = *state;
    struct tl_topic topic = topic_for(TL_BODY_ALERTS, ID_23);
    struct tl_alert_set *alerts = &world->envelope.as.alerts;

    fill_head(&world->envelope, TL_BODY_ALERTS);
    alerts->picture = UINT32_MAX;
    alerts->alert_count = TL_ALERTS_MAX;
    for (uint32_t i = 0; i < TL_ALERTS_MAX; i++) {
        fill_cause(&alerts->alert[i].cause);
        fill_would(&alerts->alert[i].cause.would, 0);
        alerts->alert[i].event = (struct tl_event){RECOVERY, 16383};
        alerts->alert[i].severity = TL_SEVERITY_CAUTION;
        alerts->alert[i].raised_age_ms = UINT32_MAX;
        alerts->alert[i].state = TL_ALERT_RETURNED;
        alerts->alert[i].owed = UINT32_MAX;
        alerts->alert[i].acknowledged = UINT32_MAX;
        alerts->alert[i].delivered = UINT32_MAX;
    }
    world_build(world, &topic);
    print_message("full set of alerts: %zu of %d bytes\n", world->frame.len, TL_FRAME_LARGE_MAX);
    assert_int_equal(world_receive(world), OK);
}

/* Every field at its highest: the record must get whatever was taken. */
static void
limits_the_largest_judged_fits(void **state)
{
    struct world *world = *state;
    struct tl_topic topic = topic_for(TL_BODY_JUDGED, ID_23);
    struct tl_judged *judged = &world->envelope.as.judged;
    const struct tl_event event = {UINT64_MAX, UINT32_MAX};

    fill_head(&world->envelope, TL_BODY_JUDGED);
    world->envelope.incarnation = UINT64_MAX;
    world->envelope.sequence = UINT64_MAX;
    world->envelope.wall_ms = UINT64_MAX;
    world->envelope.event = event;
    *judged = (struct tl_judged){.now_ms = UINT64_MAX,
                                 .node = ID_23,
                                 .incarnation = UINT64_MAX,
                                 .sequence = UINT64_MAX,
                                 .kind = TL_JUDGED_PREDICTED,
                                 .sea_late_ms = UINT64_MAX};
    fill_predicted(&judged->predicted, event);
    sample_fill_outcome(&judged->outcome);
    memcpy(judged->outcome.station, ID_23, sizeof ID_23);
    world_build(world, &topic);
    print_message("largest judged: %zu of %d bytes\n", world->frame.len, TL_FRAME_SMALL_MAX);
    assert_true(world->frame.len <= TL_FRAME_SMALL_MAX);
    assert_int_equal(world_receive(world), OK);
    assert_int_equal(world->envelope.as.judged.predicted.arrest.would_count, TL_WOULDS_MAX);
}

/* What a program holds beyond the limit is not sent. */
static void
limits_of_what_is_computed_hold_for_the_sender(void **state)
{
    struct world *world = *state;
    struct tl_topic topic = topic_for(TL_BODY_PICTURE, ID_23);
    struct tl_picture *picture = &world->envelope.as.picture;
    enum tl_refusal reason;
    size_t len;

    for (int i = 0; i < 2; i++) {
        fill_head(&world->envelope, TL_BODY_PICTURE);
        picture->number = 1;
        fill_predicted(&picture->predicted, (struct tl_event){RECOVERY, 1});
        picture->predicted.arrest.would_count += i == 0 ? 1 : 0;
        picture->expected_count = i == 1 ? TL_ENGINES_MAX + 1 : 0;
        assert_int_equal(tl_frame_build(&world->codec, &world->signer, &topic, &world->envelope,
                                        world->frame.bytes, sizeof world->frame.bytes, &len,
                                        &reason),
                         TL_BADARG);
        assert_int_equal(reason, TL_REFUSAL_TOO_MANY);
    }
}

static void
limits_a_full_receipt_and_full_refusals_fit(void **state)
{
    struct world *world = *state;
    struct tl_topic topic = topic_for(TL_BODY_RECEIPT, ID_23);
    struct tl_receipt *receipt = &world->envelope.as.receipt;

    fill_head(&world->envelope, TL_BODY_RECEIPT);
    *receipt = (struct tl_receipt){.for_incarnation = UINT64_MAX,
                                   .through = UINT64_MAX,
                                   .refused_count = TL_REFUSED_MAX,
                                   .nonce = UINT64_MAX,
                                   .verdict = UINT64_MAX,
                                   .higher_incarnation = UINT64_MAX};
    for (uint32_t i = 0; i < TL_REFUSED_MAX; i++) {
        receipt->refused[i] = (struct tl_refused){UINT64_MAX, TL_REFUSAL_NOT_OWNER, 63};
    }
    world_build(world, &topic);
    assert_int_equal(world_receive(world), OK);

    struct tl_refusals *refusals = &world->envelope.as.refusals;
    fill_head(&world->envelope, TL_BODY_REFUSALS);
    refusals->count = TL_REFUSALS_MAX;
    for (uint32_t i = 0; i < TL_REFUSALS_MAX; i++) {
        struct tl_refused_publisher *one = &refusals->refusal[i];
        (void)snprintf(one->publisher, sizeof one->publisher, ID_23);
        one->reason = TL_REFUSAL_NOT_OWNER;
        one->count = UINT32_MAX;
        memset(one->topic, 'a', sizeof one->topic - 1);
    }
    topic = topic_for(TL_BODY_REFUSALS, ID_23);
    world_build(world, &topic);
    assert_int_equal(world_receive(world), OK);
}

/* All that the vocabulary can hold: too large for a frame, and still no match for the arena. */
static void
limits_the_arena_holds_the_fullest_picture(void **state)
{
    struct world *world = *state;
    struct tl_topic topic = topic_for(TL_BODY_PICTURE, ID_23);
    struct tl_picture *picture = &world->envelope.as.picture;
    enum tl_refusal reason;
    size_t len;

    fill_primary_beat(&world->other, 0);
    fill_head(&world->envelope, TL_BODY_PICTURE);
    fill_picture(picture, &world->other.as.beat);
    for (uint32_t i = 0; i < TL_STATIONS_MAX; i++) {
        struct tl_station_state *station = &picture->station[i];
        station->datum_count = TL_DATA_MAX;
        for (uint32_t j = 0; j < TL_DATA_MAX; j++) {
            struct tl_datum *datum = &station->data[j];
            *datum = (struct tl_datum){.kind = TL_DATUM_ORDER, .slot = j + 1, .known = true};
            datum->stated_for_count = TL_STATED_FOR_MAX;
            fill_order(&datum->as.order);
        }
        station->sample_count = TL_SAMPLES_MAX;
        for (uint32_t j = 0; j < TL_SAMPLES_MAX; j++) {
            station->samples[j].kind = TL_SAMPLE_WIND;
            station->samples[j].as.wind.true_known = true;
            station->samples[j].as.wind.reading_count = TL_READINGS_MAX;
        }
    }
    assert_int_equal(tl_frame_build(&world->codec, &world->signer, &topic, &world->envelope,
                                    world->frame.bytes, TL_FRAME_MAX + 128, &len, &reason),
                     TL_FULL);
    print_message("fullest picture: %zu of %d bytes of the arena\n", world->codec.used,
                  TL_CODEC_ARENA);
    assert_true(world->codec.used <= TL_CODEC_ARENA);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(limits_of_every_list),
        cmocka_unit_test(limits_a_bomb_of_empty_messages_is_too_many),
        cmocka_unit_test(limits_a_bomb_of_unknown_fields_is_refused),
        cmocka_unit_test(limits_the_largest_beat_of_primary_fits),
        cmocka_unit_test(limits_the_largest_verdict_fits),
        cmocka_unit_test(limits_a_full_picture_fits),
        cmocka_unit_test(limits_a_full_set_of_alerts_fits),
        cmocka_unit_test(limits_the_largest_judged_fits),
        cmocka_unit_test(limits_of_what_is_computed_hold_for_the_sender),
        cmocka_unit_test(limits_a_full_receipt_and_full_refusals_fit),
        cmocka_unit_test(limits_the_arena_holds_the_fullest_picture),
    };
    return cmocka_run_group_tests_name("limits", tests, world_open, world_close);
}
