/* SPDX-License-Identifier: Apache-2.0 */
/* chaos.c - see chaos.h. */
#include "tests/core/chaos.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "proto/base/require.h"
#include "proto/vocab/mix.h"
#include "tests/support/ship.h"

enum {
    STEP_MS = 10,
    TWINS_MAX = 2
};

static uint32_t
draw(struct chaos *c, uint32_t below)
{
    c->random = tl_mix(c->random, 0x9E3779B97F4A7C15ull);
    return (uint32_t)((c->random >> 33) % below);
}

static struct sim_node *
any_station(struct chaos *c)
{
    for (;;) {
        struct sim_node *node = &c->sim->node[draw(c, c->sim->count)];
        if (node->member != NULL && strcmp(node->id, "viewer") != 0) {
            return node;
        }
    }
}

static struct sim_node *
any_validator(struct chaos *c)
{
    for (;;) {
        struct sim_node *node = &c->sim->node[draw(c, c->sim->count)];
        if (node->judge != NULL) {
            return node;
        }
    }
}

static const char *
any_type(struct chaos *c)
{
    static const char *const types[] = {"dunlin", "plover", "curlew", "grebe"};
    return types[draw(c, 4)];
}

static uint32_t
any_of(struct chaos *c, const uint32_t *values, uint32_t count)
{
    return values[draw(c, count)];
}

static struct tl_event
any_event(struct chaos *c)
{
    uint32_t back = draw(c, 3);
    uint32_t pass = c->pass > back ? c->pass - back : 1;
    return (struct tl_event){c->recovery_ms, pass + (draw(c, 12) == 0 ? 1 : 0)};
}

/* ---- words ---- */

/* Every enum of these that can lead toward READY has its values among so few. */
static const uint32_t STATES[] = {53, 53, 53, 74, 74, 108, 19};

static void
fill_text(struct chaos *c, char *text, size_t cap, const char *word)
{
    (void)snprintf(text, cap, "%s", draw(c, 4) == 0 ? any_type(c) : word);
}

static void
fill_pass_words(struct chaos *c, struct tl_datum *d)
{
    uint32_t state = any_of(c, STATES, 7);
    switch ((int)d->kind) {
    case TL_DATUM_RECOVERY:
        c->recovery_ms += draw(c, 3) == 0 ? 1 : 0;
        *d = say_recovery(c->recovery_ms, draw(c, 4) != 0);
        d->as.recovery.drill = draw(c, 2) == 0;
        break;
    case TL_DATUM_ORDER:
        c->pass += draw(c, 2);
        *d = say_order(any_event(c), 200 + draw(c, 4), any_type(c), 34000 + 500 * draw(c, 3),
                       (int32_t)draw(c, 9) - 4);
        d->as.order.state = draw(c, 6) == 0 ? TL_ORDER_CANCELLED : TL_ORDER_ORDERED;
        d->as.order.barricade = draw(c, 8) == 0;
        break;
    case TL_DATUM_DECK:
        d->as.deck.state = (enum tl_deck_state)state;
        d->as.deck.reason = (enum tl_foul_reason)(state == TL_DECK_FOUL ? 1 + draw(c, 5) : 0);
        break;
    case TL_DATUM_CALL:
        *d = say_call(200 + draw(c, 4), any_type(c), any_event(c));
        break;
    case TL_DATUM_RESULT:
        *d = say_result(any_event(c), (enum tl_outcome)any_of(c, STATES, 6), 1 + draw(c, 4));
        break;
    case TL_DATUM_INBOUND:
        d->slot = 200 + draw(c, 4);
        d->as.inbound = (struct tl_inbound){.side = d->slot,
                                            .weight_lb = 33000 + 500 * draw(c, 6),
                                            .trouble = (enum tl_trouble)draw(c, 3),
                                            .diverted = draw(c, 6) == 0};
        fill_text(c, d->as.inbound.type, TL_TYPE_CAP, "plover");
        break;
    case TL_DATUM_AID:
        d->as.aid = (struct tl_aid){.state = (enum tl_aid_state)any_of(c, STATES, 5),
                                    .angle_deg_x100 = 350 + 25 * draw(c, 3),
                                    .target_wire = 1 + draw(c, 4)};
        fill_text(c, d->as.aid.type, TL_TYPE_CAP, "plover");
        break;
    default:
        break;
    }
}

static void
fill_people(struct chaos *c, struct tl_datum *d)
{
    switch ((int)d->kind) {
    case TL_DATUM_WATCH:
        fill_text(c, d->as.watch, TL_NAME_CAP, "sanderling");
        break;
    case TL_DATUM_ACKNOWLEDGED: {
        const struct tl_alert_book *book = &any_validator(c)->judge->alerts;
        d->as.instance = book->count > 0
                             ? tl_alert_instance(&book->active[draw(c, book->count)].alert)
                             : c->random;
        d->slot = tl_acknowledged_slot(d->as.instance);
        break;
    }
    case TL_DATUM_OVERRIDE: {
        const struct tl_decision *decision = &any_validator(c)->judge->decision;
        const struct tl_cause *cause = &decision->cause[draw(c, TL_CAUSES_MAX)];
        d->as.override.rule = cause->rule != 0 ? cause->rule : 1 + draw(c, TL_RULES_MAX - 1);
        memcpy(d->as.override.station, cause->station, TL_ID_CAP);
        d->as.override.valid_s = 2 + draw(c, 20);
        d->slot = d->as.override.rule * 64;
        (void)snprintf(d->as.override.reason, TL_REASON_CAP, "trial");
        break;
    }
    case TL_DATUM_OUT_OF_SERVICE:
        d->slot = 1;
        (void)snprintf(d->as.out_of_service, TL_ID_CAP, "validator-%u", 1 + draw(c, 2));
        break;
    case TL_DATUM_FREED:
        d->as.freed.event = any_event(c);
        fill_text(c, d->as.freed.name, TL_NAME_CAP, "knot");
        break;
    case TL_DATUM_SIGNED_OFF:
        d->as.signed_off.job = draw(c, 3);
        fill_text(c, d->as.signed_off.name, TL_NAME_CAP, "knot");
        break;
    case TL_DATUM_ARREST:
        d->as.arrest = (struct tl_arrest){.event = any_event(c),
                                          .ram_in_x10 = 1700 + draw(c, 300),
                                          .off_centre_ft_x10 = draw(c, 250),
                                          .apart_in_x10 = draw(c, 60),
                                          .walk_back_ft_x10 = draw(c, 120)};
        break;
    default:
        break;
    }
}

/* Near its limits, of one of few serials, up to some pass. */
static struct tl_wear
any_wear(struct chaos *c, uint32_t from, uint32_t range)
{
    struct tl_wear wear = {.traps = from + draw(c, range), .moved = draw(c, 2) == 0};
    if (draw(c, 3) != 0) {
        (void)snprintf(wear.serial, sizeof wear.serial, "S-%u", draw(c, 4));
    }
    if (draw(c, 3) != 0) {
        wear.counted = (struct tl_counted){any_event(c), draw(c, 16)};
    }
    return wear;
}

/* One state, and a number or two where the kind has them. */
static void
fill_gear(struct chaos *c, struct tl_datum *d)
{
    uint32_t state = any_of(c, STATES, 6);
    switch ((int)d->kind) {
    case TL_DATUM_SET:
    case TL_DATUM_REPEATER:
        d->as.set_lb = 34000 + 500 * draw(c, 4);
        break;
    case TL_DATUM_PENDANT:
        d->as.pendant = (struct tl_pendant){(enum tl_pendant_state)state, 150 + draw(c, 200),
                                            400 + draw(c, 200)};
        break;
    case TL_DATUM_FREE:
        d->as.free = (struct tl_free){(enum tl_free_state)state, draw(c, 5)};
        break;
    case TL_DATUM_RETRACT:
        d->as.retract = (struct tl_retract){(enum tl_retract_state)state, draw(c, 5)};
        break;
    case TL_DATUM_ACCUMULATOR:
        d->as.accumulator_psi = 370 + draw(c, 70);
        break;
    case TL_DATUM_CROSSHEAD:
        d->as.crosshead_in_x100 = 80 + draw(c, 60);
        break;
    case TL_DATUM_CABLE:
        d->as.cable = (struct tl_cable){any_wear(c, 0, 260), draw(c, 60)};
        break;
    case TL_DATUM_PENDANT_LIFE:
        d->as.pendant_life = any_wear(c, 90, 40);
        break;
    case TL_DATUM_BARRICADE_POWER:
        d->as.barricade_power = (struct tl_barricade_power){1400 + draw(c, 300), draw(c, 5)};
        break;
    default: /* the state stands first in every other kind */
        memcpy(&d->as, &state, sizeof state);
        break;
    }
}

static bool
is_about_a_pass(enum tl_datum_kind kind)
{
    return (kind <= TL_DATUM_INBOUND && kind != TL_DATUM_SET && kind != TL_DATUM_REPEATER &&
            kind != TL_DATUM_BATTERY && kind != TL_DATUM_HOOK) ||
           kind == TL_DATUM_AID;
}

static struct tl_datum
any_word(struct chaos *c, enum tl_datum_kind kind)
{
    struct tl_datum d = {.kind = kind, .known = true};
    bool by_slot = kind == TL_DATUM_REPEATER || kind == TL_DATUM_RIG || kind == TL_DATUM_SHEAVE ||
                   kind == TL_DATUM_PENDANT || kind == TL_DATUM_TRACK || kind == TL_DATUM_CABLE ||
                   kind == TL_DATUM_FREED || kind == TL_DATUM_SIGNED_OFF ||
                   kind == TL_DATUM_INSPECTED || kind == TL_DATUM_PENDANT_LIFE;
    d.slot = by_slot ? 1 + draw(c, 4) : 0;
    enum tl_cadence cadence = tl_datum_cadence(kind);
    if (cadence == TL_CADENCE_EVENT || cadence == TL_CADENCE_EVENT_CARRIED) {
        d.stated_for_count = 1;
        d.stated_for[0] = any_event(c);
    }
    fill_gear(c, &d);
    if (is_about_a_pass(kind)) {
        fill_pass_words(c, &d);
    }
    fill_people(c, &d);
    if (draw(c, 10) == 0) {
        tl_datum_make_unknown(&d, 0);
    }
    return d;
}

/* Somebody says something that he may say; now and then by voice for another. */
static void
say_anything(struct chaos *c)
{
    struct sim_node *node = any_station(c);
    const struct tl_node *self = tl_config_node(&c->sim->config, node->id);
    for (uint32_t i = 0; node->running && !node->stopped && i < 60; i++) {
        struct tl_datum datum = any_word(c, (enum tl_datum_kind)(1 + draw(c, TL_DATUM_KINDS - 1)));
        if (draw(c, 4) == 0) {
            const char *other = c->down[0] != '\0' ? c->down : any_station(c)->id;
            memcpy(datum.voice_for, other, TL_ID_CAP);
        }
        if (tl_config_may_state(&c->sim->config, self, &datum)) {
            tl_err_ignore(
                tl_member_say(node->member, &datum, sim_clock(c->sim, node), &(uint64_t){0}),
                "a station may be full or alone");
            return;
        }
    }
}

/* ---- the mechanics ---- */

static void
let_mechanics_answer(struct chaos *c, struct sim_node *node)
{
    struct tl_predicted predicted = {.event = {c->recovery_ms, c->pass != 0 ? c->pass : 1},
                                     .weight_lb = 33000 + draw(c, 3) * 500};
    (void)snprintf(predicted.type, sizeof predicted.type, "plover");
    predicted.arrest.known = draw(c, 4) != 0;
    predicted.arrest.headwind_kt_x10 = 200 + 10 * (int32_t)draw(c, 8);
    for (uint32_t i = 0; predicted.arrest.known && i < 1 + draw(c, 4); i++) {
        predicted.arrest.would[predicted.arrest.would_count++] =
            (struct tl_would){.set_lb = 34000 + 500 * i,
                              .hook_lbf = 150000,
                              .stroke_in_x10 = 1800,
                              .expect_in_x10 = 1750 + draw(c, 99),
                              .runout_ft_x10 = 3300};
    }
    predicted.ramp.known = draw(c, 2) == 0;
    predicted.ramp.pitch_deg_x10 = draw(c, 20);
    if (node->running && !node->stopped) {
        tl_judge_predicted(node->judge, &predicted, sim_clock(c->sim, node));
    }
}

/* ---- the crew of the small ship ---- */

static void
try_say(struct chaos *c, const char *id, struct tl_datum datum)
{
    struct sim_node *node = sim_node(c->sim, id);
    if (node->running && !node->stopped) {
        tl_err_ignore(sim_try(c->sim, id, datum, &(uint64_t){0}), "a station may be full or alone");
    }
}

static void
work_a_pass(struct chaos *c)
{
    struct tl_event event = {c->recovery_ms, c->pass};
    uint32_t step = draw(c, 10);
    if (c->pass == 0 || step == 0) {
        if (c->pass == 0 || draw(c, 4) == 0) {
            try_say(c, "primary", say_recovery(c->recovery_ms, true));
        }
        event.pass = c->pass == 0 ? ++c->pass : event.pass;
        try_say(c, "primary", say_order(event, 204, "plover", 34000, (int32_t)c->pass));
    } else if (step == 1) {
        static const enum tl_outcome outcomes[] = {TL_OUTCOME_TRAP, TL_OUTCOME_BOLTER,
                                                   TL_OUTCOME_WAVE_OFF};
        enum tl_outcome outcome = outcomes[draw(c, 3)];
        let_mechanics_answer(c,
                             any_validator(c)); /* the other takes from it what it has computed */
        try_say(c, "platform",
                say_result(event, outcome, outcome == TL_OUTCOME_TRAP ? 1 + draw(c, 4) : 0));
        event.pass = ++c->pass;
        try_say(c, "primary", say_order(event, 204, "plover", 34000, (int32_t)c->pass));
    }
    for (uint32_t unit = 1; unit <= 4; unit++) {
        char id[TL_ID_CAP];
        (void)snprintf(id, sizeof id, "engine-%u", unit);
        try_say(c, id, say_set(34000, event));
        try_say(c, id, say_battery(true, event));
        try_say(c, "primary", say_repeater(unit, 34000, event));
    }
    try_say(c, "primary", say_deck(TL_DECK_NO_FOUL, TL_FOUL_UNKNOWN, (struct tl_event){0}));
    try_say(c, "platform", say_deck(TL_DECK_NO_FOUL, TL_FOUL_UNKNOWN, (struct tl_event){0}));
    try_say(c, "deck", say_deck(TL_DECK_CLEAR, TL_FOUL_UNKNOWN, event));
    try_say(c, "platform", say_call(204, "plover", event));
    try_say(c, "platform", say_hook(true, event));
}

/* ---- what goes wrong ---- */

enum how {
    HOW_DEAD,
    HOW_FROZEN,
    HOW_CUT,
    HOW_SLOW,
    HOWS
};

static void
trouble(struct chaos *c, bool on)
{
    struct sim_node *node = sim_node(c->sim, c->down);
    switch ((enum how)c->down_how) {
    case HOW_DEAD:
        if (on) {
            sim_kill(c->sim, c->down);
        } else {
            sim_start(c->sim, c->down);
        }
        break;
    case HOW_FROZEN:
        sim_stop(c->sim, c->down, on);
        break;
    case HOW_CUT:
    case HOW_SLOW:
        for (uint32_t bus = 0; bus < SIM_BUSES; bus++) {
            node->out_cut[bus] = on && c->down_how == HOW_CUT;
            node->out_delay_ms[bus] = on && c->down_how == HOW_SLOW ? 900 : 0;
        }
        break;
    case HOWS:
        break;
    }
}

static void
bring_down(struct chaos *c)
{
    if (c->down[0] != '\0') {
        return;
    }
    struct sim_node *node = draw(c, 6) == 0 ? any_validator(c) : any_station(c);
    if (node->running && node == sim_node(c->sim, node->id)) { /* not the second of two */
        memcpy(c->down, node->id, TL_ID_CAP);
        c->down_how = draw(c, HOWS);
        c->down_ms = c->sim->now_ms + 50 + draw(c, 6000);
        trouble(c, true);
    }
}

static void
refuse_a_publisher(struct chaos *c)
{
    struct sim_node *node = any_validator(c);
    if (node->running && !node->stopped) {
        tl_judge_dropped(node->judge, draw(c, 3) == 0 ? "" : any_station(c)->id,
                         (enum tl_refusal)(1 + draw(c, 18)), sim_clock(c->sim, node));
    }
}

static void
act(struct chaos *c)
{
    struct sim *sim = c->sim;
    struct sim_node *validator = any_validator(c);
    switch (draw(c, 9)) {
    case 0:
    case 1:
        bring_down(c);
        break;
    case 2:
        tl_judge_bus(validator->judge, draw(c, 2) == 0 ? "bus-a" : "bus-b", draw(c, 2) == 0);
        break;
    case 3:
        refuse_a_publisher(c);
        break;
    case 4:
        sim->loss_percent[draw(c, SIM_BUSES)] = draw(c, 2) == 0 ? 0 : 10 + draw(c, 50);
        break;
    case 5:
        sim->jitter_ms[draw(c, SIM_BUSES)] = draw(c, 2) == 0 ? 0 : draw(c, 300);
        break;
    case 6:
        sim_bus(sim, draw(c, SIM_BUSES), draw(c, 3) != 0);
        break;
    case 7:
        if (c->twins < TWINS_MAX && draw(c, 6) == 0) {
            (void)sim_twin(sim, any_station(c)->id);
            c->twins++;
        }
        break;
    default: /* as long as no verdict of the other says otherwise */
        validator->judge->outside.peer[0].keys_differ = draw(c, 2) == 0;
        break;
    }
}

static void
swing(struct chaos *c)
{
    struct tl_sample samples[2] = {{.kind = TL_SAMPLE_WIND}, {.kind = TL_SAMPLE_MOTION}};
    c->headwind_kt_x10 += (int32_t)draw(c, 21) - 10;
    c->headwind_kt_x10 = c->headwind_kt_x10 < 150 ? 150 : c->headwind_kt_x10;
    c->pitch_deg_x10 = (int32_t)draw(c, 20);
    samples[0].as.wind.state = draw(c, c->full ? 40 : 400) == 0 ? TL_WIND_DISAGREE : TL_WIND_KNOWN;
    samples[0].as.wind.headwind_kt_x10 = c->headwind_kt_x10;
    samples[0].as.wind.crosswind_kt_x10 = (int32_t)draw(c, 90) - 10;
    samples[0].as.wind.deck_speed_kt_x10 = (uint32_t)c->headwind_kt_x10;
    samples[0].age_ms = draw(c, 100);
    samples[1].as.motion.pitch_deg_x10 = (struct tl_maybe){true, c->pitch_deg_x10};
    samples[1].as.motion.roll_deg_x10 = (struct tl_maybe){true, (int32_t)draw(c, 60)};
    samples[1].as.motion.heave_m_x100 = (struct tl_maybe){true, (int32_t)draw(c, 170)};
    samples[1].as.motion.turn_deg_min_x10 = (struct tl_maybe){true, (int32_t)draw(c, 110)};
    tl_member_samples(sim_node(c->sim, "bridge")->member, samples, 2);
}

void
chaos_begin(struct chaos *chaos, bool full, uint64_t seed)
{
    struct tl_config *config = calloc(1, sizeof *config);
    TL_REQUIRE(config != NULL);
    *chaos = (struct chaos){
        .random = seed + 1, .full = full, .recovery_ms = 5000, .headwind_kt_x10 = 270};
    if (full) {
        ship_config_full(config, 2);
        for (int rule = 0; rule < TL_RULES_MAX; rule++) {
            config->ship.due_after_order_s[rule] = 5;
            config->ship.due_before_ramp_s[rule] = rule % 7 == 0 ? 8 : 0;
        }
        config->ship.valid_s[TL_DATUM_PENDANT] = 9;
        config->ship.valid_s[TL_DATUM_CABLE] = 15;
    } else {
        ship_config(config, 2);
    }
    chaos->sim = sim_new_of(config, seed);
    chaos->sim->step_ms = STEP_MS;
    free(config);
}

void
chaos_step(struct chaos *c)
{
    uint64_t now_ms = c->sim->now_ms;
    if (c->down[0] != '\0' && now_ms >= c->down_ms) {
        trouble(c, false);
        c->down[0] = '\0';
    }
    if (now_ms >= c->next_sea_ms) {
        c->next_sea_ms = now_ms + 150;
        swing(c);
    }
    if (now_ms >= c->next_word_ms) {
        c->next_word_ms = now_ms + 40 + draw(c, c->full ? 120 : 8000);
        say_anything(c);
    }
    if (!c->full && now_ms >= c->next_pass_ms) {
        c->next_pass_ms = now_ms + 1500;
        work_a_pass(c);
    }
    if (now_ms >= c->next_act_ms) {
        c->next_act_ms = now_ms + 200 + draw(c, c->full ? 3000 : 6000);
        act(c);
        if (draw(c, 2) == 0) {
            let_mechanics_answer(c, any_validator(c));
        }
    }
    sim_run(c->sim, STEP_MS);
}
