/* SPDX-License-Identifier: Apache-2.0 */
/* samples.c - see samples.h. Every value is invented; the types are named after shore birds. */
#include "tests/codec/samples.h"

#include <stdio.h>
#include <string.h>

#define RECOVERY 1764050400000 /* ms since 1970 */

static void
set_text(char *dst, size_t cap, const char *text)
{
    (void)snprintf(dst, cap, "%s", text);
}
#define SET_TEXT(array, text) set_text(array, sizeof(array), text)

static void
fill_head(struct tl_envelope *envelope, uint64_t sequence)
{
    envelope->key_epoch = 2;
    envelope->incarnation = RECOVERY - 60000;
    envelope->sequence = sequence;
    envelope->event = (struct tl_event){RECOVERY, 7};
    envelope->wall_ms = RECOVERY + 90000;
}

static void
fill_echoes(struct tl_envelope *envelope)
{
    envelope->echo_count = 2;
    SET_TEXT(envelope->echo[0].validator, "validator-1");
    envelope->echo[0].incarnation = 1764050300001;
    envelope->echo[0].tick = 12345;
    SET_TEXT(envelope->echo[1].validator, "validator-2");
    envelope->echo[1].incarnation = 1764050300002;
    envelope->echo[1].tick = 54321;
}

static struct tl_datum *
add_datum(struct tl_beat *beat, enum tl_datum_kind kind, uint32_t slot)
{
    struct tl_datum *datum = &beat->data[beat->datum_count];

    datum->kind = kind;
    datum->slot = slot;
    datum->sequence = 100 + beat->datum_count++;
    datum->said_age_ms = 5000;
    datum->stated_for_count = 1;
    datum->stated_for[0] = (struct tl_event){RECOVERY, 7};
    datum->known = true;
    return datum;
}

static void
fill_orders(struct tl_beat *beat)
{
    struct tl_order *order = &add_datum(beat, TL_DATUM_ORDER, 7)->as.order;
    order->side = 204;
    SET_TEXT(order->type, "plover");
    order->weight_lb = 34000;
    order->place = -3;
    order->state = TL_ORDER_ORDERED;
    order = &add_datum(beat, TL_DATUM_ORDER, 8)->as.order;
    order->side = 311;
    SET_TEXT(order->type, "curlew");
    order->weight_lb = 41500;
    order->place = 12;
    order->state = TL_ORDER_CANCELLED;
}

static void
fill_words(struct tl_beat *beat)
{
    struct tl_call *call = &add_datum(beat, TL_DATUM_CALL, 0)->as.call;
    call->side = 204;
    SET_TEXT(call->type, "plover");
    call->fuel_lb = 3200;
    add_datum(beat, TL_DATUM_HOOK, 0)->as.hook = TL_HOOK_DOWN;
    struct tl_result *result = &add_datum(beat, TL_DATUM_RESULT, 5)->as.result;
    result->outcome = TL_OUTCOME_TRAP;
    result->wire = 3;
    add_datum(beat, TL_DATUM_RESULT, 6)->as.result.outcome = TL_OUTCOME_WAVE_OFF;
    struct tl_inbound *inbound = &add_datum(beat, TL_DATUM_INBOUND, 311)->as.inbound;
    inbound->side = 311;
    SET_TEXT(inbound->type, "curlew");
    inbound->weight_lb = 41400;
    inbound->fuel_lb = 4100;
    struct tl_datum *unknown = add_datum(beat, TL_DATUM_ORDER, 9);
    unknown->known = false;
    unknown->stated_for_count = 0;
}

static void
fill_beat(struct tl_envelope *envelope)
{
    struct tl_beat *beat = &envelope->as.beat;

    fill_head(envelope, 4001);
    fill_echoes(envelope);
    envelope->settled = 110;
    beat->last_change = 120;
    beat->oldest_held = 98;
    struct tl_recovery *recovery = &add_datum(beat, TL_DATUM_RECOVERY, 0)->as.recovery;
    recovery->recovery_ms = RECOVERY;
    recovery->state = TL_RECOVERY_OPEN;
    recovery->drill = true;
    fill_orders(beat);
    struct tl_datum *set = add_datum(beat, TL_DATUM_SET, 0);
    set->as.set_lb = 36000;
    set->stated_for_count = 3;
    set->stated_for[1] = (struct tl_event){RECOVERY, 8};
    set->stated_for[2] = (struct tl_event){RECOVERY, 300};
    add_datum(beat, TL_DATUM_REPEATER, 3)->as.repeater_lb = 40000;
    add_datum(beat, TL_DATUM_BATTERY, 0)->as.battery = TL_BATTERY_IN;
    add_datum(beat, TL_DATUM_DECK, 0)->as.deck.state = TL_DECK_NO_FOUL;
    fill_words(beat);
}

static void
fill_wind(struct tl_wind *wind)
{
    wind->state = TL_WIND_DISAGREE;
    wind->headwind_kt_x10 = 278;
    wind->crosswind_kt_x10 = -15;
    wind->deck_speed_kt_x10 = 280;
    wind->deck_from_deg_x10 = 3590;
    wind->true_known = true;
    wind->true_speed_kt_x10 = 101;
    wind->true_from_deg_x10 = 2250;
    wind->reading_count = 2;
    SET_TEXT(wind->reading[0].source, "port mast");
    wind->reading[0].age_ms = 240;
    wind->reading[0].speed_kt_x10 = 280;
    wind->reading[0].from_deg_x10 = 3590;
    SET_TEXT(wind->reading[1].source, "m\xC3\xA2t tribord");
    wind->reading[1].age_ms = 260;
    wind->reading[1].speed_kt_x10 = 340;
    wind->reading[1].from_deg_x10 = 30;
    wind->keyed = true;
}

static void
fill_bridge(struct tl_envelope *envelope)
{
    struct tl_beat *beat = &envelope->as.beat;

    fill_head(envelope, 4002);
    fill_echoes(envelope);
    beat->sample_count = 2;
    beat->samples[0].kind = TL_SAMPLE_WIND;
    beat->samples[0].age_ms = 150;
    fill_wind(&beat->samples[0].as.wind);
    beat->samples[1].kind = TL_SAMPLE_MOTION;
    beat->samples[1].age_ms = 90;
    beat->samples[1].as.motion = (struct tl_motion){.pitch_deg_x10 = {true, -12},
                                                    .roll_deg_x10 = {true, 31},
                                                    .heave_m_x100 = {true, 0},
                                                    .turn_deg_min_x10 = {true, -5},
                                                    .heading_deg_x10 = {true, 3599},
                                                    .course_deg_x10 = {true, 1},
                                                    .speed_kt_x10 = {true, 180}};
}

static void
fill_viewer(struct tl_envelope *envelope)
{
    envelope->key_epoch = 1;
    envelope->incarnation = 1;
    envelope->sequence = 1;
}

static void
fill_change(struct tl_envelope *envelope)
{
    struct tl_datum *datum = &envelope->as.change.datum;

    fill_head(envelope, 121);
    fill_echoes(envelope);
    envelope->settled = 120;
    envelope->said_age_ms = 340;
    datum->kind = TL_DATUM_SET;
    datum->sequence = 121;
    datum->stated_for_count = 2;
    datum->stated_for[0] = (struct tl_event){RECOVERY, 7};
    datum->stated_for[1] = (struct tl_event){RECOVERY, 8};
    datum->known = true;
    datum->as.set_lb = 40000;
}

static void
fill_foul(struct tl_envelope *envelope)
{
    struct tl_datum *datum = &envelope->as.change.datum;

    fill_head(envelope, 122);
    datum->kind = TL_DATUM_DECK;
    datum->sequence = 122;
    datum->known = true;
    datum->as.deck = (struct tl_deck){
        .state = TL_DECK_FOUL, .reason = TL_FOUL_AIRCRAFT, .expect_s = 90, .was_clear = true};
}

static void
fill_receipt(struct tl_envelope *envelope)
{
    struct tl_receipt *receipt = &envelope->as.receipt;

    fill_head(envelope, 8001);
    receipt->for_incarnation = 1764050340000;
    receipt->through = 120;
    receipt->refused_count = 2;
    receipt->refused[0] = (struct tl_refused){118, TL_REFUSAL_RULE_FORCES_FOUL, 9};
    receipt->refused[1] = (struct tl_refused){119, TL_REFUSAL_TOO_OLD, 0};
    receipt->nonce = 4001;
    receipt->verdict = 70007;
    receipt->higher_incarnation = 1764050340001;
    receipt->oldest_ms = 212;
}

static void
fill_verdict_ready(struct tl_envelope *envelope)
{
    struct tl_verdict *verdict = &envelope->as.verdict;

    fill_head(envelope, 70008);
    verdict->tick = 12346;
    verdict->is_tick = true;
    verdict->word = TL_WORD_READY;
    verdict->list_heard = true;
    verdict->picture = 555;
    memset(verdict->judgement_digest, 0x11, sizeof verdict->judgement_digest);
    memset(verdict->key_digest, 0x22, sizeof verdict->key_digest);
}

static void
fill_cause(struct tl_cause *cause)
{
    cause->rule = 5;
    SET_TEXT(cause->station, "engine-3");
    cause->state = TL_CAUSE_OVERDUE;
    SET_TEXT(cause->subject.node, "primary");
    cause->subject.incarnation = 1764050340003;
    cause->subject.sequence = 101;
    cause->reported.known = true;
    cause->reported.number = -36000;
    SET_TEXT(cause->reported.word, "plover");
    cause->needed.known = true;
    cause->needed.number = 34000;
    SET_TEXT(cause->needed.word, "curlew");
}

static void
fill_verdict(struct tl_envelope *envelope)
{
    struct tl_verdict *verdict = &envelope->as.verdict;

    fill_head(envelope, 70009);
    verdict->tick = 12346;
    verdict->word = TL_WORD_NOT_READY;
    verdict->kind = TL_CAUSE_SHIP;
    fill_cause(&verdict->first);
    verdict->cause_count = 3;
    verdict->picture = 556;
    memset(verdict->judgement_digest, 0x33, sizeof verdict->judgement_digest);
    memset(verdict->key_digest, 0x44, sizeof verdict->key_digest);
    verdict->out_of_service_count = 2;
    SET_TEXT(verdict->out_of_service[0], "validator-2");
    SET_TEXT(verdict->out_of_service[1], "validator-3");
    verdict->drill = true;
}

static void
fill_stations(struct tl_picture *picture)
{
    picture->station_count = 2;
    struct tl_station_state *station = &picture->station[0];
    SET_TEXT(station->node, "engine-3");
    station->incarnation = 1764050340005;
    station->live = TL_LIVE_LOST;
    station->age_ms = 950;
    station->applied = 77;
    memset(station->digest, 0x55, sizeof station->digest);
    station->datum_count = 1;
    station->data[0].kind = TL_DATUM_BATTERY;
    station->data[0].sequence = 77;
    station->data[0].said_age_ms = 60000;
    station->data[0].known = true;
    station->data[0].as.battery = TL_BATTERY_OUT;
    station->sample_count = 2;
    station->samples[0].kind = TL_SAMPLE_WIND;
    station->samples[0].as.wind.state = TL_WIND_KNOWN;
    station->samples[1].kind = TL_SAMPLE_MOTION; /* all but one not known */
    station->samples[1].as.motion.heading_deg_x10 = (struct tl_maybe){true, 450};
    station = &picture->station[1];
    SET_TEXT(station->node, "platform");
    station->live = TL_LIVE_NEVER;
}

static void
fill_people(struct tl_picture *picture)
{
    picture->last_known = true;
    picture->last = picture->list[0];
    picture->station[0].by_voice = true;
    picture->voiced_count = 1;
    struct tl_voiced *voiced = &picture->voiced[0];
    SET_TEXT(voiced->station, "engine-3");
    voiced->datum.kind = TL_DATUM_SET;
    voiced->datum.sequence = 31;
    voiced->datum.said_age_ms = 4000;
    voiced->datum.known = true;
    voiced->datum.as.set_lb = 34000;
    SET_TEXT(voiced->said_by, "primary");
    SET_TEXT(voiced->confirmed_by, "deck");
    picture->override_count = 1;
    struct tl_override_live *live = &picture->override[0];
    live->override = (struct tl_override){
        .rule = 45, .station = "gear-officer", .reason = "cable ordered, one pass", .valid_s = 600};
    SET_TEXT(live->said_by, "primary");
    SET_TEXT(live->confirmed_by, "safety");
    live->left_s = 540;
}

static void
fill_picture(struct tl_envelope *envelope)
{
    struct tl_picture *picture = &envelope->as.picture;

    fill_head(envelope, 901);
    picture->number = 556;
    picture->list_heard = true;
    picture->recovery_ms = RECOVERY;
    picture->open = true;
    picture->drill = true;
    picture->list_count = 2;
    picture->list[0].event = (struct tl_event){RECOVERY, 6};
    picture->list[0].order_known = true;
    picture->list[0].order = (struct tl_order){
        .side = 12, .type = "dunlin", .weight_lb = 21000, .place = 1, .state = TL_ORDER_ORDERED};
    picture->list[0].result_known = true;
    picture->list[0].result.outcome = TL_OUTCOME_BOLTER;
    picture->list[0].ended = true;
    picture->list[1].event = (struct tl_event){RECOVERY, 7};
    fill_stations(picture);
    picture->cause_count = 2;
    fill_cause(&picture->cause[0]);
    picture->cause[1].rule = 26;
    picture->cause[1].state = TL_CAUSE_NOTE;
    picture->cause[1].reason = TL_REFUSAL_NEWER_SCHEMA;
    picture->highest_pass = 9;
    picture->highest_recovery_ms = RECOVERY + 1;
    fill_people(picture);
    sample_fill_computed(picture);
    sample_fill_ended(picture);
}

static void
fill_alerts(struct tl_envelope *envelope)
{
    struct tl_alert_set *alerts = &envelope->as.alerts;

    fill_head(envelope, 601);
    alerts->picture = 556;
    alerts->alert_count = 2;
    fill_cause(&alerts->alert[0].cause);
    alerts->alert[0].event = (struct tl_event){RECOVERY, 7};
    alerts->alert[0].severity = TL_SEVERITY_ALARM;
    alerts->alert[0].raised_age_ms = 1500;
    alerts->alert[0].state = TL_ALERT_UNACKNOWLEDGED;
    alerts->alert[0].owed = 0x808;
    alerts->alert[0].acknowledged = 0x008;
    alerts->alert[0].delivered = 0x80F;
    alerts->alert[1].cause.rule = 20;
    alerts->alert[1].cause.state = TL_CAUSE_HOLDING;
    alerts->alert[1].severity = TL_SEVERITY_CAUTION;
    alerts->alert[1].state = TL_ALERT_RETURNED;
}

static void
fill_refusals(struct tl_envelope *envelope)
{
    struct tl_refusals *refusals = &envelope->as.refusals;

    fill_head(envelope, 31);
    refusals->count = 2;
    SET_TEXT(refusals->refusal[0].publisher, "engine-2");
    refusals->refusal[0].reason = TL_REFUSAL_NOT_YOUR_TOPIC;
    refusals->refusal[0].count = 17;
    SET_TEXT(refusals->refusal[0].topic, "verdict/engine-2/");
    refusals->refusal[1].reason = TL_REFUSAL_UNKNOWN_USER;
    refusals->refusal[1].count = 1;
}

static void
fill_judged(struct tl_envelope *envelope)
{
    fill_head(envelope, 991);
    envelope->as.judged = (struct tl_judged){.now_ms = 86400123,
                                             .node = "engine-1",
                                             .incarnation = 1764050340000,
                                             .sequence = 121,
                                             .kind = TL_JUDGED_REFUSED,
                                             .reason = TL_REFUSAL_TOO_OLD,
                                             .said_age_ms = 2345};
    sample_fill_outcome(&envelope->as.judged.outcome);
}

static void
fill_judged_seen(struct tl_envelope *envelope)
{
    fill_head(envelope, 994);
    sample_fill_judged_seen(&envelope->as.judged);
}

static void
fill_judged_base(struct tl_envelope *envelope)
{
    fill_head(envelope, 995);
    sample_fill_judged_base(&envelope->as.judged);
}

static void
fill_judged_predicted(struct tl_envelope *envelope)
{
    fill_head(envelope, 992);
    sample_fill_judged_predicted(&envelope->as.judged);
}

static void
fill_judged_expected(struct tl_envelope *envelope)
{
    fill_head(envelope, 993);
    sample_fill_judged_expected(&envelope->as.judged);
}

static void
fill_recorded(struct tl_envelope *envelope)
{
    fill_head(envelope, 44);
    sample_fill_recorded(&envelope->as.recorded);
}

static void
fill_counters(struct tl_envelope *envelope)
{
    fill_head(envelope, 32);
    envelope->as.counters = (struct tl_counters){.forwarded = 18446744073709551615U,
                                                 .refused = 18,
                                                 .handshakes_refused = 2,
                                                 .connections = 14,
                                                 .subscriptions = 57,
                                                 .uptime_ms = 3600000};
}

/* Every kind that fill_beat leaves out, and a word by voice. No one station may say them all. */
static void
fill_gear(struct tl_envelope *envelope)
{
    struct tl_beat *beat = &envelope->as.beat;

    fill_head(envelope, 4003);
    fill_echoes(envelope);
    envelope->echo[0].alerts = 601;
    envelope->settled = 130;
    beat->last_change = 140;
    add_datum(beat, TL_DATUM_RIG, 1)->as.rig = TL_RIG_STRIPPED;
    add_datum(beat, TL_DATUM_SHEAVE, 1)->as.sheave = (struct tl_sheave){TL_SHEAVE_DOWN, true};
    add_datum(beat, TL_DATUM_PENDANT, 2)->as.pendant =
        (struct tl_pendant){TL_PENDANT_OFF_CENTRE, 275, 490};
    add_datum(beat, TL_DATUM_FREE, 0)->as.free = (struct tl_free){TL_FREE_HELD, 3};
    add_datum(beat, TL_DATUM_RETRACT, 0)->as.retract = (struct tl_retract){TL_RETRACT_RUNNING, 3};
    add_datum(beat, TL_DATUM_STANCHIONS, 0)->as.stanchions = TL_STANCHION_MOVING;
    add_datum(beat, TL_DATUM_TRACK, 2)->as.track = TL_TRACK_CREW;
    add_datum(beat, TL_DATUM_AID, 0)->as.aid = (struct tl_aid){TL_AID_WORKING, "plover", 350, 0};
    struct tl_datum *psi = add_datum(beat, TL_DATUM_ACCUMULATOR, 0);
    psi->as.accumulator_psi = 405;
    psi->sensor = true;
    add_datum(beat, TL_DATUM_CROSSHEAD, 0)->as.crosshead_in_x100 = 650;
    sample_fill_cable(&add_datum(beat, TL_DATUM_CABLE, 4)->as.cable);
    add_datum(beat, TL_DATUM_BARRICADE, 0)->as.barricade =
        (struct tl_barricade){TL_BARRICADE_READY, false};
    add_datum(beat, TL_DATUM_BARRICADE_POWER, 0)->as.barricade_power =
        (struct tl_barricade_power){1500, 3};
    SET_TEXT(add_datum(beat, TL_DATUM_WATCH, 0)->as.watch, "Reed");
    add_datum(beat, TL_DATUM_ACKNOWLEDGED, 77)->as.instance = 18446744073709551615U;
    add_datum(beat, TL_DATUM_OVERRIDE, 2887)->as.override = (struct tl_override){
        .rule = 45, .station = "gear-officer", .reason = "one pass", .valid_s = 600};
    SET_TEXT(add_datum(beat, TL_DATUM_OUT_OF_SERVICE, 17)->as.out_of_service, "validator-2");
    struct tl_datum *voice = add_datum(beat, TL_DATUM_SET, 0);
    voice->as.set_lb = 34000;
    SET_TEXT(voice->voice_for, "engine-3");
    struct tl_datum *inbound = add_datum(beat, TL_DATUM_INBOUND, 311);
    inbound->as.inbound = (struct tl_inbound){.side = 311,
                                              .type = "curlew",
                                              .weight_lb = 41400,
                                              .fuel_low = true,
                                              .trouble = TL_TROUBLE_GEAR,
                                              .diverted = true};
}

/* What an engine room and the gear officer say of an engine, and an order into the barricade. */
static void
fill_engine(struct tl_envelope *envelope)
{
    struct tl_beat *beat = &envelope->as.beat;

    fill_head(envelope, 4004);
    fill_echoes(envelope);
    envelope->settled = 130;
    beat->last_change = 140;
    add_datum(beat, TL_DATUM_SERVICE, 0)->as.service = (struct tl_service){TL_SERVICE_OUT, 1207};
    add_datum(beat, TL_DATUM_FLUID, 0)->as.fluid = TL_FLUID_HIGH;
    add_datum(beat, TL_DATUM_FAULT, 0)->as.fault =
        (struct tl_engine_fault){TL_FAULT_STATE_ACTIVE, 31};
    add_datum(beat, TL_DATUM_ARREST, 0)->as.arrest =
        (struct tl_arrest){{1764050340000, 4}, 1812, 35, 12, 20};
    add_datum(beat, TL_DATUM_FREED, 2)->as.freed = (struct tl_freed){{1764050340000, 4}, "Rowan"};
    add_datum(beat, TL_DATUM_SIGNED_OFF, 2)->as.signed_off = (struct tl_signed_off){1207, "Rowan"};
    add_datum(beat, TL_DATUM_INSPECTED, 2)->as.inspected =
        (struct tl_inspected){TL_INSPECTION_FOUND, "Rowan"};
    sample_fill_pendant(&add_datum(beat, TL_DATUM_PENDANT_LIFE, 3)->as.pendant_life);
    add_datum(beat, TL_DATUM_AID, 0)->as.aid = (struct tl_aid){TL_AID_WORKING, "curlew", 400, 2};
    add_datum(beat, TL_DATUM_BARRICADE, 0)->as.barricade =
        (struct tl_barricade){TL_BARRICADE_RIGGED, true};
    add_datum(beat, TL_DATUM_ORDER, 5)->as.order = (struct tl_order){.side = 311,
                                                                     .type = "curlew",
                                                                     .weight_lb = 42000,
                                                                     .place = 2,
                                                                     .state = TL_ORDER_ORDERED,
                                                                     .barricade = true};
}

static const struct sample samples[] = {
    {"beat-engine", TL_BODY_BEAT, "engine-2", fill_engine},
    {"beat-gear", TL_BODY_BEAT, "wires", fill_gear},
    {"beat", TL_BODY_BEAT, "primary", fill_beat},
    {"beat-bridge", TL_BODY_BEAT, "bridge", fill_bridge},
    {"beat-viewer", TL_BODY_BEAT, "board-1", fill_viewer},
    {"change", TL_BODY_CHANGE, "engine-1", fill_change},
    {"change-foul", TL_BODY_CHANGE, "deck", fill_foul},
    {"receipt", TL_BODY_RECEIPT, "validator-1", fill_receipt},
    {"verdict", TL_BODY_VERDICT, "validator-1", fill_verdict},
    {"verdict-ready", TL_BODY_VERDICT, "validator-1", fill_verdict_ready},
    {"picture", TL_BODY_PICTURE, "validator-1", fill_picture},
    {"alerts", TL_BODY_ALERTS, "validator-1", fill_alerts},
    {"refusals", TL_BODY_REFUSALS, "bus-a", fill_refusals},
    {"judged", TL_BODY_JUDGED, "validator-1", fill_judged},
    {"judged-predicted", TL_BODY_JUDGED, "validator-1", fill_judged_predicted},
    {"judged-expected", TL_BODY_JUDGED, "validator-1", fill_judged_expected},
    {"judged-seen", TL_BODY_JUDGED, "validator-1", fill_judged_seen},
    {"judged-base", TL_BODY_JUDGED, "validator-1", fill_judged_base},
    {"recorded", TL_BODY_RECORDED, "recorder-1", fill_recorded},
    {"counters", TL_BODY_COUNTERS, "bus-a", fill_counters},
};

const struct sample *
samples_all(size_t *count)
{
    *count = sizeof samples / sizeof samples[0];
    return samples;
}

void
sample_fill(const struct sample *sample, struct tl_envelope *envelope)
{
    memset(envelope, 0, sizeof *envelope);
    envelope->schema = TL_SCHEMA_VERSION;
    SET_TEXT(envelope->node, sample->node);
    envelope->body = sample->body;
    sample->fill(envelope);
}
