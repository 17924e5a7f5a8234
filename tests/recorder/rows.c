/* SPDX-License-Identifier: Apache-2.0 */
/* rows.c - see rows.h. */
#include "tests/recorder/rows.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "proto/vocab/rules.h"

#define VALIDATOR "validator-1"

enum {
    TAIL_CAP = 128
};

const char *const row_select[ROW_TABLES] = {
    [ROW_CHANGE] = "SELECT node, incarnation, sequence, wall_ms, event_recovery_ms, event_pass,"
                   " kind, slot, voice_for, known, stated_for, word, number, side, type, weight_lb,"
                   " fuel_lb, state, outcome, wire, CAST(frame AS TEXT) FROM change",
    [ROW_JUDGED] = "SELECT validator, validator_incarnation, sequence, now_ms, node, incarnation,"
                   " change_sequence, kind, reason FROM judged",
    [ROW_PREDICTED] =
        "SELECT validator, validator_incarnation, sequence, event_recovery_ms, event_pass, type,"
        " weight_lb, barricade, headwind_kt_x10, engaging_kt_x10, energy_kftlb, margin_percent,"
        " aid_type, angle_deg_x100, target_wire, pitch_deg_x10, clearance_ft_x10, touchdown_ft_x10,"
        " ramp_s_x10, wave_off_gear_s_x10, wave_off_people_s_x10, reset_s_x10 FROM predicted",
    [ROW_SETTING] = "SELECT validator, validator_incarnation, sequence, set_lb, bottoms, parts,"
                    " end_kt_x10, hook_lbf, tension_percent, stroke_in_x10, expect_in_x10,"
                    " runout_ft_x10 FROM predicted_setting",
    [ROW_EXPECTED] = "SELECT validator, validator_incarnation, sequence, unit, event_recovery_ms,"
                     " event_pass, ram_in_x10 FROM expected",
    [ROW_VERDICT] = "SELECT validator, validator_incarnation, sequence, wall_ms, event_recovery_ms,"
                    " event_pass, tick, word, rule, station, state, drill FROM verdict",
    [ROW_ALERT] = "SELECT validator, validator_incarnation, sequence, wall_ms, step, rule, station,"
                  " severity, event_recovery_ms, event_pass, subject_node, subject_incarnation,"
                  " subject_sequence FROM alert",
    [ROW_GAP] = "SELECT node, incarnation, first, last, wall_ms FROM gap",
    [ROW_BEAT] = "SELECT node, incarnation, sequence, wall_ms, CAST(frame AS TEXT) FROM beat",
    [ROW_SEAL] = "SELECT node, key_epoch, incarnation, wall_ms FROM seal",
};

const char *const row_stations[ROW_STATIONS] = {"engine-1", "engine-2", "platform", "primary"};

__attribute__((format(printf, 3, 4))) static void
say(struct row *row, enum row_table table, const char *fmt, ...)
{
    va_list values;
    row->table = table;
    va_start(values, fmt);
    (void)vsnprintf(row->text, sizeof row->text, fmt, values);
    va_end(values);
}

static void
start(struct tl_envelope *envelope, const char *node, uint64_t incarnation, uint64_t sequence)
{
    memset(envelope, 0, sizeof *envelope);
    (void)snprintf(envelope->node, sizeof envelope->node, "%s", node);
    envelope->incarnation = incarnation;
    envelope->sequence = sequence;
    envelope->wall_ms = ROW_INCARNATION + 1000 * sequence;
    envelope->event =
        (struct tl_event){ROW_INCARNATION + sequence % 2, 1 + (uint32_t)(sequence % 97)};
}

/* What the row has behind `word`, or "" before it: number to wire. */
static void
fill_datum(struct tl_datum *datum, uint32_t mixed, char tail[TAIL_CAP])
{
    uint32_t lb = 30000 + 50 * (mixed % 400);
    datum->known = true;
    switch (mixed % 4) {
    case 0:
        datum->kind = TL_DATUM_ORDER;
        datum->as.order =
            (struct tl_order){100 + mixed % 900, "plover", lb, 0, TL_ORDER_ORDERED, false};
        (void)snprintf(tail, TAIL_CAP, "-|%u|plover|%u|-|53|-|-", 100 + mixed % 900, lb);
        return;
    case 1:
        datum->kind = TL_DATUM_RESULT;
        datum->as.result = (struct tl_result){TL_OUTCOME_TRAP, 1 + mixed % 3};
        (void)snprintf(tail, TAIL_CAP, "-|-|-|-|-|-|53|%u", 1 + mixed % 3);
        return;
    case 2:
        datum->kind = TL_DATUM_SET;
        datum->known = false;
        (void)snprintf(tail, TAIL_CAP, "-|-|-|-|-|-|-|-");
        return;
    default:
        datum->kind = TL_DATUM_SET;
        datum->as.set_lb = lb;
        (void)snprintf(tail, TAIL_CAP, "%u|-|-|-|-|-|-|-", lb);
        return;
    }
}

size_t
row_frame(struct row_key key, char frame[ROW_FRAME_CAP])
{
    size_t len = 120 + 37 * key.sequence % (ROW_FRAME_CAP - 120);
    int used = snprintf(frame, ROW_FRAME_CAP, "%s %u %u ", row_stations[key.station], key.life,
                        key.sequence);
    for (size_t i = (size_t)used; i < len; i++) {
        frame[i] = (char)('a' + (i * 7 + key.sequence) % 26);
    }
    frame[len] = '\0';
    return len;
}

void
row_beat(struct row_key key, uint64_t wall_ms, struct row *row)
{
    char frame[ROW_FRAME_CAP];
    (void)row_frame(key, frame);
    say(row, ROW_BEAT, "%s|%" PRIu64 "|%u|%" PRIu64 "|%s", row_stations[key.station],
        (uint64_t)ROW_INCARNATION + key.life, key.sequence, wall_ms, frame);
}

void
row_seal(const char *node, uint64_t incarnation, uint64_t wall_ms, struct row *row)
{
    say(row, ROW_SEAL, "%s|1|%" PRIu64 "|%" PRIu64, node, incarnation, wall_ms);
}

void
row_change(struct row_key key, struct tl_envelope *envelope, struct row *row)
{
    struct tl_datum *datum = &envelope->as.change.datum;
    const char *node = row_stations[key.station];
    char tail[TAIL_CAP];
    char word[TL_TEXT_CAP];
    char events[TAIL_CAP] = "";
    char frame[ROW_FRAME_CAP];
    (void)row_frame(key, frame);
    start(envelope, node, ROW_INCARNATION + key.life, key.sequence);
    envelope->body = TL_BODY_CHANGE;
    fill_datum(datum, key.station * 7919 + key.life * 104729 + key.sequence * 31, tail);
    datum->sequence = key.sequence;
    datum->slot = key.station;
    datum->stated_for_count = datum->known ? 1 + key.sequence % TL_STATED_FOR_MAX : 0;
    for (uint32_t i = 0; i < datum->stated_for_count; i++) {
        size_t used = strlen(events);
        datum->stated_for[i] = (struct tl_event){ROW_INCARNATION, i + 1};
        (void)snprintf(events + used, sizeof events - used, "%s%" PRIu64 ":%u", i > 0 ? "," : "",
                       (uint64_t)ROW_INCARNATION, i + 1);
    }
    say(row, ROW_CHANGE, "%s|%" PRIu64 "|%u|%" PRIu64 "|%" PRIu64 "|%u|%s|%u||%d|%s|%s|%s|%s", node,
        envelope->incarnation, key.sequence, envelope->wall_ms, envelope->event.recovery_ms,
        envelope->event.pass, tl_datum_kind_name(datum->kind), datum->slot, datum->known ? 1 : 0,
        events, tl_datum_text(datum, word, sizeof word), tail, frame);
}

static uint32_t
predict(uint64_t sequence, const struct tl_envelope *envelope, struct tl_predicted *predicted,
        struct row *rows)
{
    uint32_t n = (uint32_t)sequence;
    *predicted = (struct tl_predicted){
        .event = envelope->event,
        .type = "plover",
        .weight_lb = 33000 + n,
        .arrest = {true, -15, 1040 + n, 17001 + n, -2, 1 + n % ROW_SETTINGS_MAX, {{0}}},
        .ramp = {true, "dunlin", 350, 3, 8, -4, -35},
        .time = {true, 181, 37, 120, 425}};
    say(&rows[0], ROW_PREDICTED,
        VALIDATOR "|%" PRIu64 "|%u|%" PRIu64 "|%u|plover|%u|0|-15|%u|%u|-2|dunlin|350|3|8|-4|-35|"
                  "181|37|120|425",
        envelope->incarnation, n, envelope->event.recovery_ms, envelope->event.pass, 33000 + n,
        1040 + n, 17001 + n);
    for (uint32_t i = 0; i < predicted->arrest.would_count; i++) {
        predicted->arrest.would[i] = (struct tl_would){
            34000 + 1000 * i, i > 0, false, 12 * i, 92000 + n, 31 + i, 1741, 1740, 3095};
        say(&rows[1 + i], ROW_SETTING, VALIDATOR "|%" PRIu64 "|%u|%u|%d|0|%u|%u|%u|1741|1740|3095",
            envelope->incarnation, n, 34000 + 1000 * i, i > 0 ? 1 : 0, 12 * i, 92000 + n, 31 + i);
    }
    return 1 + predicted->arrest.would_count;
}

uint32_t
row_judged(enum tl_judged_kind kind, uint64_t sequence, struct tl_envelope *envelope,
           struct row rows[2 + ROW_SETTINGS_MAX])
{
    struct tl_judged *judged = &envelope->as.judged;
    const char *node = row_stations[sequence % ROW_STATIONS];
    bool refused = kind == TL_JUDGED_REFUSED;
    const char *name = refused                       ? "refused"
                       : kind == TL_JUDGED_PREDICTED ? "predicted"
                       : kind == TL_JUDGED_EXPECTED  ? "expected"
                                                     : "applied";
    start(envelope, VALIDATOR, ROW_INCARNATION, sequence);
    envelope->body = TL_BODY_JUDGED;
    *judged = (struct tl_judged){.now_ms = 500 + sequence,
                                 .incarnation = ROW_INCARNATION,
                                 .sequence = sequence % 64,
                                 .kind = kind,
                                 .reason = refused ? TL_REFUSAL_LATE : TL_REFUSAL_UNKNOWN};
    (void)snprintf(judged->node, sizeof judged->node, "%s", node);
    say(&rows[0], ROW_JUDGED,
        VALIDATOR "|%" PRIu64 "|%" PRIu64 "|%" PRIu64 "|%s|%" PRIu64 "|%" PRIu64 "|%s|%s",
        envelope->incarnation, sequence, 500 + sequence, node, judged->incarnation, sequence % 64,
        name, refused ? "late" : "");
    if (kind == TL_JUDGED_PREDICTED) {
        return 1 + predict(sequence, envelope, &judged->predicted, &rows[1]);
    }
    if (kind == TL_JUDGED_EXPECTED) {
        judged->expected = (struct tl_expected){3, envelope->event, 1700 + (uint32_t)sequence};
        say(&rows[1], ROW_EXPECTED, VALIDATOR "|%" PRIu64 "|%" PRIu64 "|3|%" PRIu64 "|%u|%u",
            envelope->incarnation, sequence, envelope->event.recovery_ms, envelope->event.pass,
            1700 + (uint32_t)sequence);
        return 2;
    }
    return 1;
}

void
row_verdict(uint64_t sequence, struct tl_envelope *envelope, struct row *row)
{
    struct tl_verdict *verdict = &envelope->as.verdict;
    start(envelope, VALIDATOR, ROW_INCARNATION, sequence);
    envelope->body = TL_BODY_VERDICT;
    verdict->tick = sequence + 5;
    verdict->word = TL_WORD_NOT_READY;
    verdict->first =
        (struct tl_cause){.rule = TL_RULE_DECK_FOUL, .station = "deck", .state = TL_CAUSE_WRONG};
    say(row, ROW_VERDICT,
        VALIDATOR "|%" PRIu64 "|%" PRIu64 "|%" PRIu64 "|%" PRIu64 "|%u|%" PRIu64
                  "|NOT READY|deck-foul|deck|wrong|0",
        envelope->incarnation, sequence, envelope->wall_ms, envelope->event.recovery_ms,
        envelope->event.pass, sequence + 5);
}

void
row_alert(uint64_t sequence, struct tl_envelope *envelope, struct tl_alert *alert, struct row *row)
{
    start(envelope, VALIDATOR, ROW_INCARNATION, sequence);
    envelope->body = TL_BODY_ALERTS;
    *alert = (struct tl_alert){.cause = {.rule = TL_RULE_STATION_LOST,
                                         .station = "engine-2",
                                         .subject = {"engine-2", ROW_INCARNATION, sequence % 64}},
                               .event = envelope->event,
                               .severity = TL_SEVERITY_ALARM};
    say(row, ROW_ALERT,
        VALIDATOR "|%" PRIu64 "|%" PRIu64 "|%" PRIu64 "|raised|station-lost|engine-2|alarm|%" PRIu64
                  "|%u|engine-2|%" PRIu64 "|%" PRIu64,
        envelope->incarnation, sequence, envelope->wall_ms, envelope->event.recovery_ms,
        envelope->event.pass, (uint64_t)ROW_INCARNATION, sequence % 64);
}

void
row_gap(struct row_key first, uint64_t last, uint64_t wall_ms, struct row *row)
{
    say(row, ROW_GAP, "%s|%" PRIu64 "|%u|%" PRIu64 "|%" PRIu64, row_stations[first.station],
        (uint64_t)ROW_INCARNATION + first.life, first.sequence, last, wall_ms);
}
