/* SPDX-License-Identifier: Apache-2.0 */
/*
 * record_maker - a record of many invented passes, made through the store of the recorder
 *
 *   record_maker -C DIR --node RECORDER PASSES
 *
 * DIR is a configuration folder of the demo's stations with the keys of all of them on this host. The
 * rows of a pass are as many as a recovery of clients/demo gives (docs/record.md, "Growth"): reports
 * are signed, judged by two validators, with verdicts, alerts and predictions; twelve passes a
 * recovery, one recovery each four hours, a new life of every station each day. Sealed and committed
 * each pass.
 */
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "broker/recorder/store.h"
#include "proto/base/conf.h"
#include "tests/bench/need.h"

enum {
    CHANGES_A_PASS = 48,
    BEATS_A_PASS = 2,
    VERDICTS_A_PASS = 8, /* of each validator */
    ALERTS_A_PASS = 5,
    PREDICTIONS_A_PASS = 3,
    SETTINGS = 2,
    PASSES_A_RECOVERY = 12,
    PASSES_A_LIFE = 72,
    VALIDATORS = 2,
    SPEAKERS_MAX = 16,
    PASS_MS = 60000
};
static const uint64_t first_ms = 1900000000000; /* 2030 */
static const uint64_t recovery_every_ms = 4ull * 3600 * 1000;

struct speaker {
    const struct tl_node *node;
    struct tl_identity identity;
    uint64_t sequence;
};

struct maker {
    struct tl_config config;
    struct tl_codec codec;
    struct tl_envelope envelope;
    struct tl_identity recorder;
    uint32_t speaker_count;
    struct speaker speaker[SPEAKERS_MAX];
    uint64_t validator_sequence[VALIDATORS];
    uint64_t beat_sequence;
    struct tl_store *store;
    /* of the pass that is made */
    uint64_t life, wall_ms;
    struct tl_event event;
};

static struct tl_envelope *
start(struct maker *maker, const char *node, enum tl_body_kind body, uint64_t sequence)
{
    struct tl_envelope *envelope = &maker->envelope;
    memset(envelope, 0, sizeof *envelope);
    (void)snprintf(envelope->node, sizeof envelope->node, "%s", node);
    envelope->schema = 1;
    envelope->key_epoch = 1;
    envelope->incarnation = maker->life;
    envelope->sequence = sequence;
    envelope->wall_ms = maker->wall_ms;
    envelope->event = maker->event;
    envelope->body = body;
    return envelope;
}

/* What that station may say, a different value each time. */
static struct tl_datum
datum_of(const struct speaker *speaker, const struct maker *maker, uint32_t turn)
{
    struct tl_datum datum = {.known = true, .stated_for_count = 1};
    datum.stated_for[0] = maker->event;
    datum.sequence = speaker->sequence;
    switch ((int)speaker->node->station) {
    case TL_STATION_ENGINE:
        datum.kind = turn % 2 == 0 ? TL_DATUM_SET : TL_DATUM_BATTERY;
        if (datum.kind == TL_DATUM_SET) {
            datum.as.set_lb = 30000 + 500 * (maker->event.pass % 20);
        } else {
            datum.as.battery = TL_BATTERY_IN;
        }
        break;
    case TL_STATION_PRIMARY:
        datum.kind = TL_DATUM_ORDER;
        datum.slot = maker->event.pass;
        datum.as.order = (struct tl_order){
            200 + maker->event.pass % 40, "plover", 34000, 0, TL_ORDER_ORDERED, false};
        break;
    case TL_STATION_PLATFORM:
        datum.kind = TL_DATUM_RESULT;
        datum.slot = maker->event.pass;
        datum.as.result = (struct tl_result){TL_OUTCOME_TRAP, 1 + maker->event.pass % 4};
        break;
    default:
        datum.kind = TL_DATUM_DECK;
        datum.as.deck.state = turn % 2 == 0 ? TL_DECK_CLEAR : TL_DECK_FOUL;
        datum.as.deck.reason = turn % 2 == 0 ? TL_FOUL_UNKNOWN : TL_FOUL_PERSON;
        break;
    }
    return datum;
}

static void
make_judged(struct maker *maker, uint32_t validator, const struct tl_judged *judged)
{
    char id[TL_ID_CAP];
    (void)snprintf(id, sizeof id, "validator-%u", validator + 1);
    struct tl_envelope *envelope =
        start(maker, id, TL_BODY_JUDGED, ++maker->validator_sequence[validator]);
    envelope->as.judged = *judged;
    need(tl_store_judged(maker->store, envelope, &(struct tl_verbatim){0}) == TL_OK,
         tl_store_why(maker->store));
}

static void
judge(struct maker *maker, const char *node, uint64_t sequence)
{
    struct tl_judged judged = {
        .now_ms = maker->wall_ms - first_ms, .incarnation = maker->life, .sequence = sequence};
    (void)snprintf(judged.node, sizeof judged.node, "%s", node);
    judged.kind = TL_JUDGED_APPLIED;
    for (uint32_t i = 0; i < VALIDATORS; i++) {
        make_judged(maker, i, &judged);
    }
}

static void
make_report(struct maker *maker, uint32_t turn)
{
    static uint8_t frame[TL_FRAME_MAX + 128];
    const uint32_t speakers = maker->speaker_count > 0 ? maker->speaker_count : 1;
    struct speaker *speaker = &maker->speaker[turn % speakers];
    struct tl_topic topic = {.kind = TL_TOPIC_CHANGE};
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    size_t len = 0;
    struct tl_envelope *envelope =
        start(maker, speaker->node->id, TL_BODY_CHANGE, ++speaker->sequence);
    (void)snprintf(topic.publisher, sizeof topic.publisher, "%s", speaker->node->id);
    envelope->as.change.datum = datum_of(speaker, maker, turn / maker->speaker_count);
    need(tl_frame_build(&maker->codec, &speaker->identity.signer, &topic, envelope, frame,
                        sizeof frame, &len, &reason) == TL_OK,
         tl_refusal_name(reason));
    struct tl_verbatim verbatim = {frame, len};
    need(tl_store_change(maker->store, envelope, &verbatim) == TL_OK, tl_store_why(maker->store));
    judge(maker, speaker->node->id, speaker->sequence);
}

static void
make_verdicts(struct maker *maker, uint32_t validator)
{
    char id[TL_ID_CAP];
    (void)snprintf(id, sizeof id, "validator-%u", validator + 1);
    for (uint32_t i = 0; i < VERDICTS_A_PASS; i++) {
        struct tl_envelope *envelope =
            start(maker, id, TL_BODY_VERDICT, ++maker->validator_sequence[validator]);
        bool ready = i == VERDICTS_A_PASS - 1;
        envelope->as.verdict.word = ready ? TL_WORD_READY : TL_WORD_NOT_READY;
        envelope->as.verdict.first.rule = ready ? TL_RULE_NONE : TL_RULE_DECK_FOUL;
        need(tl_store_verdict(maker->store, envelope) == TL_OK, tl_store_why(maker->store));
    }
    for (uint32_t i = 0; i < ALERTS_A_PASS; i++) {
        struct tl_alert_step step = {.raised = i % 2 == 0,
                                     .alert = {.cause = {.rule = TL_RULE_DECK_FOUL}}};
        struct tl_envelope *envelope =
            start(maker, id, TL_BODY_ALERTS, ++maker->validator_sequence[validator]);
        need(tl_store_alert(maker->store, envelope, &step) == TL_OK, tl_store_why(maker->store));
    }
    struct tl_judged judged = {.kind = TL_JUDGED_PREDICTED,
                               .predicted = {.event = maker->event, .weight_lb = 33000}};
    judged.predicted.arrest.known = true;
    judged.predicted.arrest.would_count = SETTINGS;
    for (uint32_t i = 0; i < SETTINGS; i++) {
        judged.predicted.arrest.would[i].set_lb = 34000 + 1000 * i;
    }
    for (uint32_t i = 0; i < PREDICTIONS_A_PASS; i++) {
        make_judged(maker, validator, &judged);
    }
}

static void
make_beat(struct maker *maker)
{
    static uint8_t frame[TL_FRAME_MAX + 128];
    struct speaker *speaker = &maker->speaker[0];
    struct tl_topic topic = {.kind = TL_TOPIC_BEAT};
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    size_t len = 0;
    struct tl_envelope *envelope =
        start(maker, speaker->node->id, TL_BODY_BEAT, ++maker->beat_sequence);
    envelope->as.beat.last_change = speaker->sequence;
    (void)snprintf(topic.publisher, sizeof topic.publisher, "%s", speaker->node->id);
    need(tl_frame_build(&maker->codec, &speaker->identity.signer, &topic, envelope, frame,
                        sizeof frame, &len, &reason) == TL_OK,
         tl_refusal_name(reason));
    struct tl_claim claim = {.incarnation = maker->life, .sequence = maker->beat_sequence};
    memcpy(claim.node, speaker->node->id, TL_ID_CAP);
    need(tl_store_beat(maker->store, &claim, maker->wall_ms, &(struct tl_verbatim){frame, len}) ==
             TL_OK,
         tl_store_why(maker->store));
}

static void
make_pass(struct maker *maker, uint64_t number)
{
    const struct tl_sealer sealer = {&maker->recorder, 1};
    uint64_t recovery = number / PASSES_A_RECOVERY;
    uint64_t life = first_ms + number / PASSES_A_LIFE;
    if (life != maker->life) {
        maker->life = life;
        for (uint32_t i = 0; i < maker->speaker_count; i++) {
            maker->speaker[i].sequence = 0;
        }
    }
    maker->event.recovery_ms = first_ms + recovery * recovery_every_ms;
    maker->event.pass = 1 + (uint32_t)(number % PASSES_A_RECOVERY);
    maker->wall_ms = maker->event.recovery_ms + (uint64_t)maker->event.pass * PASS_MS;
    for (uint32_t i = 0; i < CHANGES_A_PASS; i++) {
        maker->wall_ms += PASS_MS / CHANGES_A_PASS / 2;
        make_report(maker, i);
    }
    for (uint32_t i = 0; i < BEATS_A_PASS; i++) {
        make_beat(maker);
    }
    for (uint32_t i = 0; i < VALIDATORS; i++) {
        make_verdicts(maker, i);
    }
    need(tl_store_seal(maker->store, &sealer, maker->wall_ms) == TL_OK &&
             tl_store_commit(maker->store) == TL_OK,
         tl_store_why(maker->store));
}

static void
open_speakers(struct maker *maker)
{
    char why[TL_PATH_CAP];
    for (uint32_t i = 0; i < maker->config.node_count && maker->speaker_count < SPEAKERS_MAX; i++) {
        const struct tl_node *node = &maker->config.node[i];
        bool speaks = node->kind == TL_NODE_STATION &&
                      (node->station == TL_STATION_ENGINE || node->station == TL_STATION_PRIMARY ||
                       node->station == TL_STATION_PLATFORM || node->station == TL_STATION_DECK);
        if (speaks) {
            struct speaker *speaker = &maker->speaker[maker->speaker_count++];
            speaker->node = node;
            need(tl_identity_open(&maker->config, node->id, 0, &speaker->identity, why,
                                  sizeof why) == TL_OK,
                 why);
        }
    }
    need(maker->speaker_count > 0, "no station speaks");
}

int
main(int argc, char **argv)
{
    char why[2 * TL_PATH_CAP];
    char path[TL_PATH_CAP];
    struct tl_conf_fault fault;
    struct maker *maker = calloc(1, sizeof *maker);
    need(argc == 6 && maker != NULL && sodium_init() >= 0,
         "usage: record_maker -C DIR --node RECORDER PASSES");
    const char *recorder = argv[4];
    uint64_t passes = strtoull(argv[5], NULL, 10);
    if (tl_conf_load(argv[2], &maker->config, &fault) != TL_OK) {
        tl_conf_print_fault(&fault);
        return 1;
    }
    need(tl_identity_open(&maker->config, recorder, 0, &maker->recorder, why, sizeof why) == TL_OK,
         why);
    open_speakers(maker);
    need(tl_store_path(&maker->config, recorder, path) == TL_OK, "the path is too long");
    need(tl_store_open(path, &maker->store, why, sizeof why) == TL_OK, why);
    for (uint64_t i = 0; i < passes; i++) {
        make_pass(maker, i);
    }
    (void)printf("%s: %llu passes, %llu reports\n", path, (unsigned long long)passes,
                 (unsigned long long)tl_store_rows(maker->store, TL_TABLE_CHANGE));
    tl_store_close(&maker->store);
    free(maker);
    return 0;
}
