/* SPDX-License-Identifier: Apache-2.0 */
/* scene.c - see scene.h. */
#include "tests/rules/scene.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "broker/core/picture/word.h"
#include "tests/support/ship.h"

struct tl_event
scene_event(void)
{
    return (struct tl_event){5000, 1};
}

struct tl_told *
scene_told(struct scene *scene, const char *station)
{
    struct tl_told *told = tl_fold_told(&scene->fold, station);
    assert_non_null(told);
    return told;
}

struct tl_held *
scene_held(struct scene *scene, const char *station, enum tl_datum_kind kind, uint32_t slot)
{
    struct tl_told *told = scene_told(scene, station);
    for (uint32_t i = 0; i < told->held_count; i++) {
        const struct tl_datum *datum = &told->held[i].datum;
        if (datum->kind == kind && datum->slot == slot && !tl_datum_is_voice(datum)) {
            return &told->held[i];
        }
    }
    struct tl_held *held = &told->held[told->held_count++];
    memset(held, 0, sizeof *held);
    held->datum.kind = kind;
    held->datum.slot = slot;
    held->datum.known = true;
    held->datum.sequence = told->held_count;
    held->datum.stated_for_count = 1;
    held->datum.stated_for[0] = scene_event();
    held->said_ms = SCENE_NOW_MS - 5000;
    held->by_change = true;
    return held;
}

void
scene_drop(struct scene *scene, const char *station, enum tl_datum_kind kind, uint32_t slot)
{
    struct tl_told *told = scene_told(scene, station);
    for (uint32_t i = 0; i < told->held_count; i++) {
        if (told->held[i].datum.kind == kind && told->held[i].datum.slot == slot) {
            told->held[i] = told->held[--told->held_count];
            return;
        }
    }
    fail_msg("%s does not hold that", station);
}

static void
add_station_words(struct scene *scene)
{
    for (uint32_t unit = 1; unit <= 4; unit++) {
        char id[TL_ID_CAP];
        (void)snprintf(id, sizeof id, "engine-%u", unit);
        scene_held(scene, id, TL_DATUM_SET, 0)->datum.as.set_lb = SCENE_LB;
        scene_held(scene, id, TL_DATUM_BATTERY, 0)->datum.as.battery = TL_BATTERY_IN;
        scene_held(scene, "primary", TL_DATUM_REPEATER, unit)->datum.as.repeater_lb = SCENE_LB;
    }
    scene_held(scene, "deck", TL_DATUM_DECK, 0)->datum.as.deck.state = TL_DECK_CLEAR;
    scene_held(scene, "primary", TL_DATUM_DECK, 0)->datum.as.deck.state = TL_DECK_NO_FOUL;
    scene_held(scene, "platform", TL_DATUM_DECK, 0)->datum.as.deck.state = TL_DECK_NO_FOUL;
    scene_held(scene, "platform", TL_DATUM_HOOK, 0)->datum.as.hook = TL_HOOK_DOWN;
    struct tl_call *call = &scene_held(scene, "platform", TL_DATUM_CALL, 0)->datum.as.call;
    call->side = SCENE_SIDE;
    memcpy(call->type, "plover", sizeof "plover");
    struct tl_told *bridge = scene_told(scene, "bridge");
    bridge->sample_count = 1;
    bridge->samples[0].kind = TL_SAMPLE_WIND;
    bridge->samples[0].as.wind.state = TL_WIND_KNOWN;
    bridge->samples_ms = SCENE_NOW_MS;
}

static void
add_order(struct scene *scene)
{
    struct tl_recovery *recovery =
        &scene_held(scene, "primary", TL_DATUM_RECOVERY, 0)->datum.as.recovery;
    recovery->recovery_ms = 5000;
    recovery->state = TL_RECOVERY_OPEN;
    struct tl_order *order = &scene_held(scene, "primary", TL_DATUM_ORDER, 1)->datum.as.order;
    *order = (struct tl_order){.side = SCENE_SIDE,
                               .type = "plover",
                               .weight_lb = SCENE_LB,
                               .place = 1,
                               .state = TL_ORDER_ORDERED};
}

static void
add_gear_words(struct scene *scene)
{
    for (uint32_t n = 1; n <= 4; n++) {
        char id[TL_ID_CAP];
        (void)snprintf(id, sizeof id, "engine-%u", n);
        scene_held(scene, id, TL_DATUM_ACCUMULATOR, 0)->datum.as.accumulator_psi = 405;
        scene_held(scene, id, TL_DATUM_CROSSHEAD, 0)->datum.as.crosshead_in_x100 = 650;
        scene_held(scene, "wires", TL_DATUM_RIG, n)->datum.as.rig = TL_RIG_RIGGED;
        scene_held(scene, "wires", TL_DATUM_SHEAVE, n)->datum.as.sheave.state = TL_SHEAVE_UP;
        scene_held(scene, "wires", TL_DATUM_PENDANT, n)->datum.as.pendant =
            (struct tl_pendant){TL_PENDANT_GOOD, 275, 490};
        scene_held(scene, id, TL_DATUM_SERVICE, 0)->datum.as.service.state = TL_SERVICE_IN;
        scene_held(scene, id, TL_DATUM_FAULT, 0)->datum.as.fault.state = TL_FAULT_STATE_NONE;
        scene_held(scene, id, TL_DATUM_FLUID, 0)->datum.as.fluid = TL_FLUID_BATTERY;
        scene_held(scene, "gear-officer", TL_DATUM_CABLE, n)->datum.as.cable.wear.traps = 20;
        scene_held(scene, "gear-officer", TL_DATUM_PENDANT_LIFE, n)->datum.as.pendant_life.traps =
            20;
        scene_held(scene, "gear-officer", TL_DATUM_INSPECTED, n)->datum.as.inspected =
            (struct tl_inspected){TL_INSPECTION_GOOD, "Rowan"};
    }
    scene_held(scene, "wires", TL_DATUM_FREE, 0)->datum.as.free.state = TL_FREE_FREE;
    scene_held(scene, "wires", TL_DATUM_RETRACT, 0)->datum.as.retract.state = TL_RETRACT_RETRACTED;
    scene_held(scene, "wires", TL_DATUM_STANCHIONS, 0)->datum.as.stanchions = TL_STANCHION_LOWERED;
    scene_held(scene, "tracks", TL_DATUM_TRACK, 1)->datum.as.track = TL_TRACK_SECURED;
    scene_held(scene, "tracks", TL_DATUM_TRACK, 2)->datum.as.track = TL_TRACK_SECURED;
    scene_held(scene, "aid", TL_DATUM_AID, 0)->datum.as.aid =
        (struct tl_aid){TL_AID_WORKING, "plover", 350, 3};
    scene_held(scene, "barricade", TL_DATUM_BARRICADE, 0)->datum.as.barricade.state =
        TL_BARRICADE_READY;
    scene_held(scene, "barricade", TL_DATUM_BARRICADE_POWER, 0)->datum.as.barricade_power =
        (struct tl_barricade_power){1500, 3};
    scene_held(scene, "approach", TL_DATUM_INBOUND, SCENE_SIDE)->datum.as.inbound =
        (struct tl_inbound){.side = SCENE_SIDE, .type = "plover", .weight_lb = 33500};
    scene_held(scene, "gear-officer", TL_DATUM_DECK, 0)->datum.as.deck.state = TL_DECK_NO_FOUL;
    scene_held(scene, "safety", TL_DATUM_DECK, 0)->datum.as.deck.state = TL_DECK_NO_FOUL;
}

static void
add_people_and_sea(struct scene *scene)
{
    struct tl_told *bridge = scene_told(scene, "bridge");
    for (uint32_t i = 0; i < scene->fold.told_count; i++) {
        char id[TL_ID_CAP];
        memcpy(id, scene->fold.told[i].node->id, sizeof id);
        memcpy(scene_held(scene, id, TL_DATUM_WATCH, 0)->datum.as.watch, "Ash", sizeof "Ash");
    }
    bridge->samples[0].as.wind.headwind_kt_x10 = 260;
    bridge->samples[0].as.wind.crosswind_kt_x10 = -20;
    bridge->samples[0].as.wind.deck_speed_kt_x10 = 265;
    bridge->sample_count = 2;
    bridge->samples[1].kind = TL_SAMPLE_MOTION;
    bridge->samples[1].as.motion = (struct tl_motion){.pitch_deg_x10 = {true, 5},
                                                      .roll_deg_x10 = {true, -10},
                                                      .heave_m_x100 = {true, 30},
                                                      .turn_deg_min_x10 = {true, 0}};
}

static struct scene *
make_scene(bool full)
{
    struct scene *scene = calloc(1, sizeof *scene);
    assert_non_null(scene);
    if (full) {
        ship_config_full(&scene->config, 2);
    } else {
        ship_config(&scene->config, 2);
    }
    tl_fold_init(&scene->fold, &scene->config, "validator-1", 7, SCENE_NOW_MS - 60000);
    /* What is past a count must never be read. */
    memset(&scene->fold.told[scene->fold.told_count], 0xA5,
           (TL_STATIONS_MAX - scene->fold.told_count) * sizeof scene->fold.told[0]);
    memset(scene->fold.voice, 0xA5, sizeof scene->fold.voice);
    memset(scene->fold.signed_by_two, 0xA5, sizeof scene->fold.signed_by_two);
    memset(scene->outside.peer, 0xA5, sizeof scene->outside.peer);
    memset(scene->outside.bus, 0xA5, sizeof scene->outside.bus);
    scene->config.gear.engine[scene->config.gear.engine_count] =
        (struct tl_engine_gear){.unit = 9, .wire = 9, .in_service = true};
    for (uint32_t i = 0; i < scene->fold.told_count; i++) {
        struct tl_told *told = &scene->fold.told[i];
        told->incarnation = 100 + i;
        told->live = told->ever_live = told->based = told->echoed = true;
        told->echo_sent_ms = SCENE_NOW_MS - 100;
    }
    add_station_words(scene);
    if (full) {
        add_gear_words(scene);
        add_people_and_sea(scene);
    }
    add_order(scene);
    assert_true(tl_events_update(&scene->fold, SCENE_NOW_MS - 10000));
    return scene;
}

struct scene *
scene_ready(void)
{
    return make_scene(false);
}

struct scene *
scene_ready_full(void)
{
    return make_scene(true);
}

const char *
scene_causes(struct scene *scene, char *dst, size_t cap)
{
    size_t used = 0;
    dst[0] = '\0';
    tl_people_update(&scene->fold, SCENE_NOW_MS);
    tl_decide(&scene->fold, &scene->outside, SCENE_NOW_MS, &scene->decision);
    for (uint32_t i = 0; i < scene->decision.cause_count && used < cap; i++) {
        const struct tl_cause *cause = &scene->decision.cause[i];
        const char *mark = "";
        switch (cause->state) {
        case TL_CAUSE_NOTE:
            continue;
        case TL_CAUSE_OVERRIDDEN:
            mark = "#";
            break;
        case TL_CAUSE_PENDING:
            mark = "?";
            break;
        case TL_CAUSE_OVERDUE:
            mark = "!";
            break;
        case TL_CAUSE_HOLDING:
            mark = "~";
            break;
        case TL_CAUSE_WRONG:
        case TL_CAUSE_UNKNOWN:
            break;
        }
        int n = snprintf(dst + used, cap - used, "%s%s%s%s%s", used > 0 ? " " : "",
                         tl_rule_row(cause->rule)->name, cause->station[0] != '\0' ? ":" : "",
                         cause->station, mark);
        used += n > 0 ? (size_t)n : 0;
    }
    return dst;
}

/* No cause, or overridden ones alone. */
static bool
forces_nothing(const char *causes)
{
    size_t length = strlen(causes);
    for (size_t i = 0; i < length; i++) {
        bool last = causes[i + 1] == ' ' || causes[i + 1] == '\0';
        if (last && causes[i] != '#') {
            return false;
        }
    }
    return true;
}

void
scene_expect(struct scene *scene, const char *row, const char *causes)
{
    char text[4096];
    (void)scene_causes(scene, text, sizeof text);
    bool ready = scene->decision.word == TL_WORD_READY;
    if (strcmp(text, causes) != 0 || ready != forces_nothing(causes)) {
        fail_msg("%s: wanted \"%s\", got %s \"%s\"", row, causes, ready ? "READY" : "NOT READY",
                 text);
    }
}

static void
compute_arrest(const struct tl_ask *ask, struct tl_predicted_arrest *arrest)
{
    *arrest = (struct tl_predicted_arrest){.known = true,
                                           .headwind_kt_x10 = -10 * ask->less_headwind_kt,
                                           .engaging_kt_x10 = 1050,
                                           .energy_kftlb = 43500,
                                           .margin_percent = 10,
                                           .would_count = ask->setting_count};
    for (uint32_t i = 0; i < ask->setting_count; i++) {
        arrest->would[i] = (struct tl_would){.set_lb = ask->setting_lb[i],
                                             .hook_lbf = 90000,
                                             .tension_percent = 40,
                                             .stroke_in_x10 = 1900,
                                             .expect_in_x10 = 1800,
                                             .runout_ft_x10 = 3300};
    }
}

void
scene_compute(struct scene *scene)
{
    struct tl_config *config = &scene->config;
    char unused[1024];
    memset(config->ship.rule_off, 0, sizeof config->ship.rule_off);
    config->computed = (struct tl_computed_limits){.capacity_kftlb = 43500,
                                                   .energy_margin_least_percent = 10,
                                                   .travel_apart_percent_x10 = 50,
                                                   .ramp_clearance_least_ft_x10 = 100,
                                                   .touchdown_band_ft_x10 = 200};
    for (uint32_t i = 0; i < config->type_count; i++) {
        config->type[i].hook_load_max_lbf = 90000;
    }
    (void)scene_causes(scene, unused, sizeof unused);
    const struct tl_ask *ask = &scene->decision.ask;
    struct tl_predicted *predicted = &scene->outside.predicted;
    *predicted = (struct tl_predicted){
        .event = ask->event, .weight_lb = ask->weight_lb, .barricade = ask->barricade};
    memcpy(predicted->type, ask->type, TL_TYPE_CAP);
    compute_arrest(ask, &predicted->arrest);
    predicted->ramp = (struct tl_predicted_ramp){.known = true,
                                                 .angle_deg_x100 = ask->angle_deg_x100,
                                                 .target_wire = ask->target_wire,
                                                 .pitch_deg_x10 = (uint32_t)ask->pitch_deg_x10,
                                                 .clearance_ft_x10 = 100,
                                                 .touchdown_ft_x10 = -200};
    memcpy(predicted->ramp.aid_type, ask->aid_type, TL_TYPE_CAP);
    predicted->time = (struct tl_predicted_time){.known = true,
                                                 .ramp_s_x10 = 257,
                                                 .wave_off_gear_s_x10 = 37,
                                                 .wave_off_people_s_x10 = 120,
                                                 .reset_s_x10 = 320};
}

struct scene *
scene_computed(void)
{
    struct scene *scene = scene_ready_full();
    scene_expect(scene, "before", "");
    scene_compute(scene);
    scene_expect(scene, "all at their bounds", "");
    return scene;
}

struct tl_would *
scene_would(struct scene *scene, uint32_t set_lb)
{
    struct tl_predicted_arrest *arrest = &scene->outside.predicted.arrest;
    for (uint32_t i = 0; i < arrest->would_count; i++) {
        if (arrest->would[i].set_lb == set_lb) {
            return &arrest->would[i];
        }
    }
    fail_msg("no outcome for %u lb", set_lb);
    return NULL;
}
