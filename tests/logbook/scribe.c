/* SPDX-License-Identifier: Apache-2.0 */
/*
 * scribe - write a record of known content, through the recorder's own store
 *
 * usage: scribe FILE [frames] <LINES
 *
 * A line is one row, words with blanks between; "-" is none. With `frames` changes are kept as they
 * would be signed, else only their columns. EVENT is RECOVERY:PASS.
 *
 *   change WALL NODE LIFE SEQUENCE EVENT KIND SLOT VOICE-FOR EVENT,EVENT VALUE...
 *   judged WALL VALIDATOR LIFE SEQUENCE NOW NODE LIFE CHANGE applied|refused|lost|heard [REASON]
 *   predicted VALIDATOR LIFE SEQUENCE NOW EVENT HEADWIND ENGAGING ENERGY MARGIN
 *             SET:RUNOUT:RAM[:TENSION]...
 *   verdict WALL VALIDATOR LIFE SEQUENCE EVENT ready|not RULE STATION [drill]
 *   alert WALL VALIDATOR LIFE SEQUENCE raised|gone RULE STATION EVENT NODE LIFE SEQUENCE
 *   gap WALL NODE LIFE FIRST LAST
 *   wind WALL NODE LIFE SEQUENCE HEADWIND CROSSWIND
 */
#include <inttypes.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "broker/recorder/store.h"
#include "proto/vocab/wear.h"

enum {
    WORDS_MAX = 40,
    LINE_CAP = 1024
};

struct line {
    int count;
    char *word[WORDS_MAX];
    char text[LINE_CAP];
};

struct scribe {
    struct tl_store *store;
    bool frames;
    struct tl_codec codec;
    struct tl_signer signer;
    struct tl_envelope envelope;
    uint8_t frame[TL_FRAME_MAX + 128];
};

_Noreturn static void
fail(const struct line *line, const char *what)
{
    (void)fprintf(stderr, "scribe: %s:", what);
    for (int i = 0; i < line->count; i++) {
        (void)fprintf(stderr, " %s", line->word[i]);
    }
    (void)fputc('\n', stderr);
    exit(1);
}

static const char *
word(const struct line *line, int i)
{
    if (i >= line->count) {
        fail(line, "a word is missing");
    }
    return strcmp(line->word[i], "-") == 0 ? "" : line->word[i];
}

static uint64_t
number(const struct line *line, int i)
{
    return strtoull(word(line, i), NULL, 10);
}

static uint32_t
small(const struct line *line, int i)
{
    return (uint32_t)number(line, i);
}

static bool
is(const struct line *line, int i, const char *text)
{
    return i < line->count && strcmp(line->word[i], text) == 0;
}

static struct tl_event
event_of(const char *text)
{
    struct tl_event event = {0};
    char *end = NULL;
    event.recovery_ms = strtoull(text, &end, 10);
    event.pass = *end == ':' ? (uint32_t)strtoul(end + 1, NULL, 10) : 0;
    return event;
}

static void
copy(char *dst, size_t cap, const char *text)
{
    (void)snprintf(dst, cap, "%s", text);
}

/* ---- values ---- */

static void
read_flight(const struct line *line, int at, struct tl_datum *datum)
{
    switch ((int)datum->kind) {
    case TL_DATUM_RECOVERY:
        datum->as.recovery = (struct tl_recovery){
            number(line, at), is(line, at + 1, "open") ? TL_RECOVERY_OPEN : TL_RECOVERY_CLOSED,
            is(line, at + 2, "drill")};
        break;
    case TL_DATUM_ORDER:
        datum->as.order.side = small(line, at);
        copy(datum->as.order.type, TL_TYPE_CAP, word(line, at + 1));
        datum->as.order.weight_lb = small(line, at + 2);
        datum->as.order.state =
            is(line, at + 3, "cancelled") ? TL_ORDER_CANCELLED : TL_ORDER_ORDERED;
        datum->as.order.barricade = is(line, at + 3, "barricade");
        break;
    case TL_DATUM_CALL:
        datum->as.call.side = small(line, at);
        copy(datum->as.call.type, TL_TYPE_CAP, word(line, at + 1));
        break;
    case TL_DATUM_HOOK:
        datum->as.hook = is(line, at, "down") ? TL_HOOK_DOWN : TL_HOOK_NOT_DOWN;
        break;
    case TL_DATUM_RESULT:
        datum->as.result.outcome = is(line, at, "trap")     ? TL_OUTCOME_TRAP
                                   : is(line, at, "bolter") ? TL_OUTCOME_BOLTER
                                                            : TL_OUTCOME_WAVE_OFF;
        datum->as.result.wire = is(line, at, "trap") ? small(line, at + 1) : 0;
        break;
    case TL_DATUM_INBOUND:
        datum->as.inbound.side = small(line, at);
        copy(datum->as.inbound.type, TL_TYPE_CAP, word(line, at + 1));
        datum->as.inbound.weight_lb = small(line, at + 2);
        break;
    default:
        fail(line, "kind without a value here");
    }
}

static void
read_gear(const struct line *line, int at, struct tl_datum *datum)
{
    switch ((int)datum->kind) {
    case TL_DATUM_SET:
        datum->as.set_lb = small(line, at);
        break;
    case TL_DATUM_REPEATER:
        datum->as.repeater_lb = small(line, at);
        break;
    case TL_DATUM_BATTERY:
        datum->as.battery = is(line, at, "in") ? TL_BATTERY_IN : TL_BATTERY_OUT;
        break;
    case TL_DATUM_ACCUMULATOR:
        datum->as.accumulator_psi = small(line, at);
        break;
    case TL_DATUM_ARREST:
        datum->as.arrest =
            (struct tl_arrest){event_of(word(line, at)), small(line, at + 1), small(line, at + 2),
                               small(line, at + 3), small(line, at + 4)};
        break;
    case TL_DATUM_DECK:
        datum->as.deck.state = is(line, at, "clear")     ? TL_DECK_CLEAR
                               : is(line, at, "no-foul") ? TL_DECK_NO_FOUL
                                                         : TL_DECK_FOUL;
        datum->as.deck.reason = is(line, at, "foul") ? TL_FOUL_PERSON : TL_FOUL_UNKNOWN;
        break;
    default:
        read_flight(line, at, datum);
        break;
    }
}

/* TRAPS SERIAL EVENT WITHOUT, then of a cable the count at its last detorque */
static void
read_wear(const struct line *line, int at, struct tl_datum *datum)
{
    struct tl_wear *wear = tl_datum_wear_of(datum);
    wear->traps = small(line, at);
    copy(wear->serial, TL_SERIAL_CAP, word(line, at + 1));
    wear->counted.last = event_of(word(line, at + 2));
    wear->counted.without = small(line, at + 3);
    if (datum->kind == TL_DATUM_CABLE) {
        datum->as.cable.detorqued_at = small(line, at + 4);
    }
}

static void
read_override(const struct line *line, int at, struct tl_datum *datum)
{
    struct tl_override *override = &datum->as.override;
    override->rule = tl_rule_by_name(word(line, at));
    copy(override->station, TL_ID_CAP, word(line, at + 1));
    override->valid_s = small(line, at + 2);
    for (int i = at + 3; i < line->count; i++) {
        size_t used = strlen(override->reason);
        (void)snprintf(override->reason + used, sizeof override->reason - used, "%s%s",
                       used > 0 ? " " : "", line->word[i]);
    }
}

static struct tl_alert
alert_of(const struct line *line, int at)
{
    struct tl_alert alert = {.event = event_of(word(line, at + 2))};
    alert.cause.rule = tl_rule_by_name(word(line, at));
    copy(alert.cause.station, TL_ID_CAP, word(line, at + 1));
    copy(alert.cause.subject.node, TL_ID_CAP, word(line, at + 3));
    alert.cause.subject.incarnation = number(line, at + 4);
    alert.cause.subject.sequence = number(line, at + 5);
    const struct tl_rule_row *row = tl_rule_row(alert.cause.rule);
    if (row == NULL) {
        fail(line, "no such rule");
    }
    alert.severity = row->severity;
    return alert;
}

static void
read_value(const struct line *line, int at, struct tl_datum *datum)
{
    datum->known = !is(line, at, "unknown");
    if (!datum->known) {
        return;
    }
    if (datum->kind == TL_DATUM_WATCH) {
        copy(datum->as.watch, TL_NAME_CAP, word(line, at));
    } else if (datum->kind == TL_DATUM_OVERRIDE) {
        read_override(line, at, datum);
    } else if (tl_datum_wear_of(datum) != NULL) {
        read_wear(line, at, datum);
    } else if (datum->kind == TL_DATUM_INSPECTED) {
        datum->as.inspected.state = is(line, at, "good") ? TL_INSPECTION_GOOD : TL_INSPECTION_FOUND;
        copy(datum->as.inspected.name, TL_NAME_CAP, word(line, at + 1));
    } else if (datum->kind == TL_DATUM_ACKNOWLEDGED) {
        struct tl_alert alert = alert_of(line, at);
        datum->as.instance = tl_alert_instance(&alert);
        datum->slot = tl_acknowledged_slot(datum->as.instance);
    } else {
        read_gear(line, at, datum);
    }
}

/* ---- rows ---- */

static struct tl_envelope *
begin(struct scribe *scribe, const char *node, enum tl_body_kind body)
{
    memset(&scribe->envelope, 0, sizeof scribe->envelope);
    scribe->envelope.schema = TL_SCHEMA_VERSION;
    scribe->envelope.key_epoch = 1;
    scribe->envelope.body = body;
    copy(scribe->envelope.node, TL_ID_CAP, node);
    return &scribe->envelope;
}

static struct tl_verbatim
build(struct scribe *scribe, const struct line *line, enum tl_topic_kind kind)
{
    struct tl_topic topic = {.kind = kind};
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    size_t len = 0;
    copy(topic.publisher, TL_ID_CAP, scribe->envelope.node);
    if (tl_frame_build(&scribe->codec, &scribe->signer, &topic, &scribe->envelope, scribe->frame,
                       sizeof scribe->frame, &len, &reason) != TL_OK) {
        fail(line, tl_refusal_name(reason));
    }
    return (struct tl_verbatim){scribe->frame, len};
}

static enum tl_err
put_change(struct scribe *scribe, const struct line *line)
{
    struct tl_envelope *envelope = begin(scribe, word(line, 2), TL_BODY_CHANGE);
    struct tl_datum *datum = &envelope->as.change.datum;
    char events[LINE_CAP];
    char *rest = events;
    envelope->wall_ms = number(line, 1);
    envelope->incarnation = number(line, 3);
    envelope->sequence = number(line, 4);
    envelope->event = event_of(word(line, 5));
    datum->kind = tl_datum_kind_by_name(word(line, 6));
    datum->slot = small(line, 7);
    datum->sequence = envelope->sequence;
    copy(datum->voice_for, TL_ID_CAP, word(line, 8));
    copy(events, sizeof events, word(line, 9));
    for (char *one = strtok_r(events, ",", &rest); one != NULL; one = strtok_r(NULL, ",", &rest)) {
        datum->stated_for[datum->stated_for_count++] = event_of(one);
    }
    if (datum->kind == TL_DATUM_UNKNOWN) {
        fail(line, "no such kind");
    }
    read_value(line, 10, datum);
    struct tl_verbatim frame = {NULL, 0};
    if (scribe->frames) {
        frame = build(scribe, line, TL_TOPIC_CHANGE);
    }
    return tl_store_change(scribe->store, envelope, &frame);
}

static enum tl_err
put_wind(struct scribe *scribe, const struct line *line)
{
    struct tl_envelope *envelope = begin(scribe, word(line, 2), TL_BODY_BEAT);
    struct tl_sample *sample = &envelope->as.beat.samples[0];
    struct tl_claim claim = {.key_epoch = 1};
    envelope->wall_ms = number(line, 1);
    envelope->incarnation = number(line, 3);
    envelope->sequence = number(line, 4);
    envelope->as.beat.sample_count = 1;
    sample->kind = TL_SAMPLE_WIND;
    sample->as.wind.state = TL_WIND_KNOWN;
    sample->as.wind.headwind_kt_x10 = (int32_t)strtol(word(line, 5), NULL, 10);
    sample->as.wind.crosswind_kt_x10 = (int32_t)strtol(word(line, 6), NULL, 10);
    sample->as.wind.keyed = true;
    copy(claim.node, TL_ID_CAP, envelope->node);
    claim.incarnation = envelope->incarnation;
    claim.sequence = envelope->sequence;
    struct tl_verbatim frame = build(scribe, line, TL_TOPIC_BEAT);
    return tl_store_beat(scribe->store, &claim, envelope->wall_ms, &frame);
}

static enum tl_err
put_judged(struct scribe *scribe, const struct line *line)
{
    struct tl_envelope *envelope = begin(scribe, word(line, 2), TL_BODY_JUDGED);
    struct tl_judged *judged = &envelope->as.judged;
    envelope->wall_ms = number(line, 1);
    envelope->incarnation = number(line, 3);
    envelope->sequence = number(line, 4);
    judged->now_ms = number(line, 5);
    copy(judged->node, TL_ID_CAP, word(line, 6));
    judged->incarnation = number(line, 7);
    judged->sequence = number(line, 8);
    judged->kind = is(line, 9, "applied")   ? TL_JUDGED_APPLIED
                   : is(line, 9, "refused") ? TL_JUDGED_REFUSED
                   : is(line, 9, "lost")    ? TL_JUDGED_LOST
                                            : TL_JUDGED_HEARD;
    judged->reason = is(line, 9, "refused") ? (enum tl_refusal)small(line, 10) : TL_REFUSAL_UNKNOWN;
    return tl_store_judged(scribe->store, envelope, &(struct tl_verbatim){0});
}

static enum tl_err
put_predicted(struct scribe *scribe, const struct line *line)
{
    struct tl_envelope *envelope = begin(scribe, word(line, 1), TL_BODY_JUDGED);
    struct tl_judged *judged = &envelope->as.judged;
    struct tl_predicted_arrest *arrest = &judged->predicted.arrest;
    envelope->incarnation = number(line, 2);
    envelope->sequence = number(line, 3);
    judged->now_ms = number(line, 4);
    judged->kind = TL_JUDGED_PREDICTED;
    copy(judged->node, TL_ID_CAP, envelope->node);
    judged->predicted.event = event_of(word(line, 5));
    arrest->known = true;
    arrest->headwind_kt_x10 = (int32_t)small(line, 6);
    arrest->engaging_kt_x10 = small(line, 7);
    arrest->energy_kftlb = small(line, 8);
    arrest->margin_percent = (int32_t)small(line, 9);
    for (int i = 10; i < line->count && arrest->would_count < TL_WOULDS_MAX; i++) {
        struct tl_would *would = &arrest->would[arrest->would_count++];
        char *end = NULL;
        would->set_lb = (uint32_t)strtoul(line->word[i], &end, 10);
        would->runout_ft_x10 = (uint32_t)strtoul(end + 1, &end, 10);
        would->expect_in_x10 = (uint32_t)strtoul(end + 1, &end, 10);
        would->tension_percent = *end == ':' ? (uint32_t)strtoul(end + 1, &end, 10) : 0;
    }
    return tl_store_judged(scribe->store, envelope, &(struct tl_verbatim){0});
}

static enum tl_err
put_verdict(struct scribe *scribe, const struct line *line)
{
    struct tl_envelope *envelope = begin(scribe, word(line, 2), TL_BODY_VERDICT);
    struct tl_verdict *verdict = &envelope->as.verdict;
    envelope->wall_ms = number(line, 1);
    envelope->incarnation = number(line, 3);
    envelope->sequence = number(line, 4);
    envelope->event = event_of(word(line, 5));
    verdict->word = is(line, 6, "ready") ? TL_WORD_READY : TL_WORD_NOT_READY;
    verdict->first.rule = tl_rule_by_name(word(line, 7));
    verdict->first.state = is(line, 6, "ready") ? TL_CAUSE_UNKNOWN : TL_CAUSE_WRONG;
    copy(verdict->first.station, TL_ID_CAP, word(line, 8));
    verdict->drill = is(line, 9, "drill");
    return tl_store_verdict(scribe->store, envelope);
}

static enum tl_err
put_alert(struct scribe *scribe, const struct line *line)
{
    struct tl_envelope *envelope = begin(scribe, word(line, 2), TL_BODY_ALERTS);
    struct tl_alert_step step = {is(line, 5, "raised"), alert_of(line, 6)};
    envelope->wall_ms = number(line, 1);
    envelope->incarnation = number(line, 3);
    envelope->sequence = number(line, 4);
    return tl_store_alert(scribe->store, envelope, &step);
}

static enum tl_err
put_gap(struct scribe *scribe, const struct line *line)
{
    struct tl_watermark mark = {.incarnation = number(line, 3)};
    struct tl_gap gap = {number(line, 4), number(line, 5)};
    copy(mark.node, TL_ID_CAP, word(line, 2));
    return tl_store_gap(scribe->store, &mark, &gap, number(line, 1));
}

static enum tl_err
put(struct scribe *scribe, const struct line *line)
{
    static const struct {
        const char *name;
        enum tl_err (*put)(struct scribe *scribe, const struct line *line);
    } rows[] = {{"change", put_change},   {"judged", put_judged}, {"predicted", put_predicted},
                {"verdict", put_verdict}, {"alert", put_alert},   {"gap", put_gap},
                {"wind", put_wind}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (is(line, 0, rows[i].name)) {
            return rows[i].put(scribe, line);
        }
    }
    fail(line, "no such row");
}

static bool
next_line(struct line *line)
{
    char *rest = NULL;
    line->count = 0;
    if (fgets(line->text, sizeof line->text, stdin) == NULL) {
        return false;
    }
    for (char *one = strtok_r(line->text, " \n", &rest); one != NULL && line->count < WORDS_MAX;
         one = strtok_r(NULL, " \n", &rest)) {
        line->word[line->count++] = one;
    }
    return true;
}

int
main(int argc, char **argv)
{
    struct scribe *scribe = calloc(1, sizeof *scribe);
    char why[2 * TL_PATH_CAP];
    uint8_t seed[crypto_sign_SEEDBYTES] = {1};
    uint8_t identity[crypto_sign_PUBLICKEYBYTES];
    struct line line;
    if (scribe == NULL) {
        return 1;
    }
    if (argc < 2 || sodium_init() < 0 ||
        crypto_sign_seed_keypair(identity, scribe->signer.secret, seed) != 0) {
        free(scribe);
        return 64;
    }
    scribe->frames = argc > 2 && strcmp(argv[2], "frames") == 0;
    if (tl_store_open(argv[1], &scribe->store, why, sizeof why) != TL_OK) {
        (void)fprintf(stderr, "scribe: %s\n", why);
        free(scribe);
        return 1;
    }
    while (next_line(&line)) {
        if (line.count > 0 && put(scribe, &line) != TL_OK) {
            fail(&line, tl_store_why(scribe->store));
        }
    }
    enum tl_err err = tl_store_commit(scribe->store);
    tl_store_close(&scribe->store);
    free(scribe);
    return err == TL_OK ? 0 : 1;
}
