/* SPDX-License-Identifier: Apache-2.0 */
/* describe.c - the ship and the fields as JSON, for whoever judges them from the outside. */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "tests/oracle/fields.h"

static void
print_event(const char *name, struct tl_event event)
{
    (void)printf("\"%s\":[%" PRIu64 ",%" PRIu32 "]", name, event.recovery_ms, event.pass);
}

static const char *
state_word(int state, const char *good, const char *bad, const char *third)
{
    if (state == 53) {
        return good;
    }
    return state == 74 ? bad : third;
}

static void
print_people(const struct tl_datum *d)
{
    switch ((int)d->kind) {
    case TL_DATUM_ARREST:
        print_event("pass", d->as.arrest.event);
        (void)printf(",\"ram_in\":%.1f,\"off_centre_ft\":%.1f,\"sides_apart_in\":%.1f,"
                     "\"walk_back_ft\":%.1f",
                     d->as.arrest.ram_in_x10 / 10.0, d->as.arrest.off_centre_ft_x10 / 10.0,
                     d->as.arrest.apart_in_x10 / 10.0, d->as.arrest.walk_back_ft_x10 / 10.0);
        break;
    case TL_DATUM_FREED:
        print_event("pass", d->as.freed.event);
        break;
    case TL_DATUM_SIGNED_OFF:
        (void)printf("\"job\":%" PRIu32, d->as.signed_off.job);
        break;
    case TL_DATUM_INSPECTED:
        (void)printf("\"state\":\"%s\"",
                     state_word((int)d->as.inspected.state, "good", "found", "?"));
        break;
    case TL_DATUM_PENDANT_LIFE:
        (void)printf("\"traps\":%" PRIu32, d->as.pendant_life.traps);
        break;
    case TL_DATUM_CABLE:
        (void)printf("\"traps\":%" PRIu32 ",\"detorqued_at\":%" PRIu32, d->as.cable.wear.traps,
                     d->as.cable.detorqued_at);
        break;
    case TL_DATUM_SERVICE:
        (void)printf("\"state\":\"%s\",\"job\":%" PRIu32,
                     state_word((int)d->as.service.state, "in", "out", "?"), d->as.service.job);
        break;
    case TL_DATUM_FAULT:
        (void)printf("\"state\":\"%s\"", state_word((int)d->as.fault.state, "none", "active", "?"));
        break;
    case TL_DATUM_FLUID:
        (void)printf("\"state\":\"%s\"", state_word((int)d->as.fluid, "battery", "low", "high"));
        break;
    case TL_DATUM_WATCH:
        (void)printf("\"name\":\"%s\"", d->as.watch);
        break;
    case TL_DATUM_INBOUND:
        (void)printf("\"side\":%" PRIu32 ",\"type\":\"%s\",\"weight_lb\":%" PRIu32
                     ",\"trouble\":%s,\"diverted\":%s",
                     d->as.inbound.side, d->as.inbound.type, d->as.inbound.weight_lb,
                     d->as.inbound.trouble != TL_TROUBLE_NONE ? "true" : "false",
                     d->as.inbound.diverted ? "true" : "false");
        break;
    default:
        break;
    }
}

static void
print_deck(const struct tl_datum *d)
{
    switch ((int)d->kind) {
    case TL_DATUM_RIG:
        (void)printf("\"state\":\"%s\"", state_word((int)d->as.rig, "rigged", "stripped", "?"));
        break;
    case TL_DATUM_SHEAVE:
        (void)printf("\"state\":\"%s\",\"bypassed\":%s",
                     state_word((int)d->as.sheave.state, "up", "down", "?"),
                     d->as.sheave.bypassed ? "true" : "false");
        break;
    case TL_DATUM_PENDANT:
        (void)printf("\"state\":\"%s\",\"low_in\":%.2f,\"high_in\":%.2f",
                     d->as.pendant.state == TL_PENDANT_GOOD ? "good" : "not good",
                     d->as.pendant.low_in_x100 / 100.0, d->as.pendant.high_in_x100 / 100.0);
        break;
    case TL_DATUM_FREE:
        (void)printf("\"state\":\"%s\"", state_word((int)d->as.free.state, "free", "held", "?"));
        break;
    case TL_DATUM_RETRACT:
        (void)printf("\"state\":\"%s\"",
                     state_word((int)d->as.retract.state, "retracted", "running", "?"));
        break;
    case TL_DATUM_STANCHIONS:
        (void)printf("\"state\":\"%s\"",
                     state_word((int)d->as.stanchions, "lowered", "raised", "moving"));
        break;
    case TL_DATUM_TRACK:
        (void)printf("\"state\":\"%s\"",
                     d->as.track == TL_TRACK_SECURED ? "secured" : "not secured");
        break;
    case TL_DATUM_BARRICADE:
        (void)printf("\"state\":\"%s\",\"webbing_used\":%s",
                     d->as.barricade.state == TL_BARRICADE_READY
                         ? "ready"
                         : state_word((int)d->as.barricade.state, "secure", "partial", "rigged"),
                     d->as.barricade.webbing_used ? "true" : "false");
        break;
    case TL_DATUM_BARRICADE_POWER:
        (void)printf("\"psi\":%" PRIu32 ",\"cycles\":%" PRIu32, d->as.barricade_power.pressure_psi,
                     d->as.barricade_power.cycles);
        break;
    default:
        print_people(d);
        break;
    }
}

static const char *
deck_state(enum tl_deck_state state)
{
    switch (state) {
    case TL_DECK_CLEAR:
        return "clear";
    case TL_DECK_FOUL:
        return "foul";
    case TL_DECK_NO_FOUL:
        return "no foul";
    case TL_DECK_STOP:
        return "stop";
    case TL_DECK_UNKNOWN:
        break;
    }
    return "?";
}

static void
print_value(const struct tl_datum *d)
{
    static const char *const reasons[] = {"none",      "person", "aircraft",
                                          "equipment", "wire",   "other"};
    switch ((int)d->kind) {
    case TL_DATUM_SET:
        (void)printf("\"weight_lb\":%" PRIu32, d->as.set_lb);
        break;
    case TL_DATUM_REPEATER:
        (void)printf("\"weight_lb\":%" PRIu32, d->as.repeater_lb);
        break;
    case TL_DATUM_BATTERY:
        (void)printf("\"state\":\"%s\"", state_word((int)d->as.battery, "in", "out", "?"));
        break;
    case TL_DATUM_ACCUMULATOR:
        (void)printf("\"psi\":%" PRIu32, d->as.accumulator_psi);
        break;
    case TL_DATUM_CROSSHEAD:
        (void)printf("\"gap_in\":%.2f", d->as.crosshead_in_x100 / 100.0);
        break;
    case TL_DATUM_DECK:
        (void)printf("\"state\":\"%s\",\"reason\":\"%s\",\"said_after_clear\":%s",
                     deck_state(d->as.deck.state), reasons[d->as.deck.reason],
                     d->as.deck.was_clear ? "true" : "false");
        break;
    case TL_DATUM_HOOK:
        (void)printf("\"state\":\"%s\"", state_word((int)d->as.hook, "down", "not down", "?"));
        break;
    case TL_DATUM_CALL:
        (void)printf("\"side\":%" PRIu32 ",\"type\":\"%s\"", d->as.call.side, d->as.call.type);
        break;
    case TL_DATUM_AID:
        (void)printf("\"state\":\"%s\",\"type\":\"%s\",\"angle_deg\":%.2f,\"target_wire\":%" PRIu32,
                     state_word((int)d->as.aid.state, "working", "fault", "?"), d->as.aid.type,
                     d->as.aid.angle_deg_x100 / 100.0, d->as.aid.target_wire);
        break;
    default:
        print_deck(d);
        break;
    }
}

static void
print_field_value(const struct field *field, const struct field_value *value)
{
    static const char *const hows[] = {"said", "unsaid", "unknown", "said", "said", "by hand"};
    bool other = value->how == FIELD_OTHER_EVENT;
    struct tl_datum datum = other ? field->value[0].as : value->as;
    datum.kind = field->kind;
    (void)printf("{\"how\":\"%s\"", hows[value->how]);
    if (value->how == FIELD_BY_HAND) {
        (void)printf(",\"text\":\"%s\"}", value->text);
        return;
    }
    if (value->how == FIELD_SAID || value->how == FIELD_AGED || other) {
        (void)printf(",\"age_ms\":%" PRIu64 ",\"for\":\"%s event\",",
                     value->how == FIELD_AGED ? value->age_ms : 5000,
                     other ? "another" : "current");
        print_value(&datum);
    }
    (void)printf("}");
}

static void
print_ship(const struct scene *scene)
{
    const struct tl_config *config = &scene->config;
    const struct tl_gear_limits *l = &config->gear.limits;
    (void)printf("\"types\":[");
    for (uint32_t i = 0; i < config->type_count; i++) {
        const struct tl_aircraft_type *t = &config->type[i];
        (void)printf("%s{\"id\":\"%s\",\"setting_lb\":%" PRIu32 ",\"setting_tolerance_lb\":%" PRIu32
                     ",\"max_trap_lb\":%" PRIu32 ",\"final_approach_s\":%" PRIu32
                     ",\"hook_to_eye_ft\":%.2f,\"min_headwind_kt\":%.1f,"
                     "\"barricade_setting_lb\":%" PRIu32 ",\"hook_load_max_lbf\":%" PRIu32 "}",
                     i > 0 ? "," : "", t->id, t->setting_lb, t->setting_tolerance_lb,
                     t->max_trap_lb, t->final_approach_s, t->hook_to_eye_ft_x100 / 100.0,
                     t->min_headwind_kt_x10 / 10.0, t->barricade_setting_lb, t->hook_load_max_lbf);
    }
    (void)printf("],\n\"engines\":[{\"unit\":1,\"wire\":1},{\"unit\":2,\"wire\":2},"
                 "{\"unit\":3,\"wire\":3},{\"unit\":4,\"wire\":4}],\n"
                 "\"agree_tolerance_lb\":%" PRIu32 ",\"limits\":{\"pendant_low_in\":%.2f,"
                 "\"pendant_high_in\":%.2f,\"accumulator_min_psi\":%" PRIu32
                 ",\"accumulator_max_psi\":%" PRIu32 ",\"crosshead_min_in\":%.2f,"
                 "\"detorque_first\":%" PRIu32 ",\"detorque_first_limit\":%" PRIu32
                 ",\"detorque_every\":%" PRIu32 ",\"barricade_psi\":%" PRIu32
                 ",\"barricade_cycles_max\":%" PRIu32 ",\"pendant_life\":%" PRIu32
                 ",\"pendant_life_near\":%" PRIu32,
                 config->gear.agree_tolerance_lb, l->pendant_low_in_x100 / 100.0,
                 l->pendant_high_in_x100 / 100.0, l->accumulator_min_psi, l->accumulator_max_psi,
                 l->crosshead_min_in_x100 / 100.0, l->detorque_first, l->detorque_first_limit,
                 l->detorque_every, l->barricade_psi, l->barricade_cycles_max, l->pendant_life,
                 l->pendant_life_near);
    (void)printf(",\"ram_travel_max_in\":%.1f,\"off_centre_max_ft\":%.1f,"
                 "\"sides_apart_max_in\":%.1f,\"walk_back_max_ft\":%.1f},\n",
                 l->ram_travel_max_in_x10 / 10.0, l->off_centre_max_ft_x10 / 10.0,
                 l->sides_apart_max_in_x10 / 10.0, l->walk_back_max_ft_x10 / 10.0);
}

static void
print_rest_of_ship(const struct scene *scene)
{
    const struct tl_ship *ship = &scene->config.ship;
    (void)printf("\"wires_min\":%" PRIu32 ",\"target_of_usable\":[1,2,2,3],"
                 "\"barricade\":{\"unit\":4,\"strip\":[3,4]},\n"
                 "\"crosswind_max_kt\":%.1f,\"aid_angles\":[",
                 scene->config.gear.wires_min, ship->crosswind_max_kt_x10 / 10.0);
    for (uint32_t i = 0; i < ship->aid_angle_count; i++) {
        (void)printf("%s{\"from_kt\":%.1f,\"angle_deg\":%.2f}", i > 0 ? "," : "",
                     ship->aid_angle[i].from_kt_x10 / 10.0,
                     ship->aid_angle[i].angle_deg_x100 / 100.0);
    }
    (void)printf("],\"aid_angle_slack_kt\":%.1f,\n\"motion\":{\"pitch_max_deg\":%.1f,"
                 "\"heave_max_m\":%.2f,\"roll_max_deg\":%.1f,\"turn_max_deg_min\":%.1f,"
                 "\"valid_ms\":%" PRIu32 "},\n",
                 ship->aid_angle_slack_kt_x10 / 10.0, ship->motion.pitch_max_deg_x10 / 10.0,
                 ship->motion.heave_max_m_x100 / 100.0, ship->motion.roll_max_deg_x10 / 10.0,
                 ship->motion.turn_max_deg_min_x10 / 10.0, ship->motion.valid_ms);
    (void)printf(
        "\"wind_valid_ms\":%" PRIu32 ",\"keyed_wind_valid_s\":%" PRIu32 ",\"tracks\":%" PRIu32
        ",\"ramp_margin_s\":%" PRIu32
        ",\n\"due_of_every_rule\":{\"after_order_s\":60,\"before_ramp_s\":15},"
        "\"valid_s\":{\"accumulator\":7200},\n\"clear_owner\":\"%s\","
        "\"repeater_reader\":\"%s\",\"override_valid_s\":600,\n\"may_foul\":[\"platform\","
        "\"primary\",\"gear-officer\",\"safety\"],\"may_stop\":[\"primary\",\"safety\"],\n",
        ship->wind_valid_ms, ship->keyed_wind_valid_s, ship->track_count, ship->ramp_margin_s,
        scene->config.clear_owner, scene->config.repeater_reader);
}

static void
print_computed_limits(const struct tl_computed_limits *l)
{
    (void)printf("\"capacity_kftlb\":%" PRIu32 ",\"energy_margin_least_percent\":%" PRIu32
                 ",\"travel_apart_percent\":%.1f,\"ramp_clearance_least_ft\":%.1f,"
                 "\"touchdown_band_ft\":%.1f,\n",
                 l->capacity_kftlb, l->energy_margin_least_percent,
                 l->travel_apart_percent_x10 / 10.0, l->ramp_clearance_least_ft_x10 / 10.0,
                 l->touchdown_band_ft_x10 / 10.0);
}

void
fields_describe(const struct scene *scene)
{
    (void)printf("{\"ship\":{\"stations\":[");
    for (uint32_t i = 0; i < scene->fold.told_count; i++) {
        (void)printf("%s\"%s\"", i > 0 ? "," : "", scene->fold.told[i].node->id);
    }
    (void)printf("],\n");
    print_ship(scene);
    print_rest_of_ship(scene);
    print_computed_limits(&scene->config.computed);
    (void)printf("\"current_event\":[5000,1]},\n\"fields\":[\n");
    for (size_t i = 0; i < fields_count(); i++) {
        const struct field *field = fields_at(i);
        (void)printf("%s{\"field\":%zu,\"of\":\"%s\",\"station\":\"%s\",\"slot\":%" PRIu32
                     ",\"in_model\":%" PRIu32 ",\"values\":[\n",
                     i > 0 ? ",\n" : "", i,
                     field->set != NULL ? field->name : tl_datum_kind_name(field->kind),
                     field->station != NULL ? field->station : "", field->slot, field->in_model);
        for (uint32_t k = 0; k < field->count; k++) {
            (void)printf("%s  ", k > 0 ? ",\n" : "");
            print_field_value(field, &field->value[k]);
        }
        (void)printf("]}");
    }
    (void)printf("]}\n");
}
