/* SPDX-License-Identifier: Apache-2.0 */
/* json.c - see json.h. */
#include "clients/tools/json.h"

#include <string.h>

enum {
    HEX_CAP = 2 * TL_DIGEST_LEN + 1
};

static json_t *
text_or_null(const char *text)
{
    return text[0] != '\0' ? json_string(text) : json_null();
}

static json_t *
event_json(struct tl_event event)
{
    return tl_event_is(event) ? json_pack("{s:I,s:I}", "recovery", (json_int_t)event.recovery_ms,
                                          "pass", (json_int_t)event.pass)
                              : json_null();
}

static json_t *
subject_json(const struct tl_subject *subject)
{
    return json_pack("{s:o,s:I,s:I}", "node", text_or_null(subject->node), "incarnation",
                     (json_int_t)subject->incarnation, "sequence", (json_int_t)subject->sequence);
}

static json_t *
value_json(const struct tl_cause_value *value)
{
    if (!value->known) {
        return json_null();
    }
    return json_pack("{s:I,s:o}", "number", (json_int_t)value->number, "word",
                     text_or_null(value->word));
}

static const char *
state_name(enum tl_cause_state state)
{
    static const char *const names[] = {
        [TL_CAUSE_UNKNOWN] = "unknown",      [TL_CAUSE_WRONG] = "wrong",
        [TL_CAUSE_PENDING] = "pending",      [TL_CAUSE_OVERDUE] = "overdue",
        [TL_CAUSE_HOLDING] = "holding",      [TL_CAUSE_NOTE] = "note",
        [TL_CAUSE_OVERRIDDEN] = "overridden"};
    return (unsigned)state < sizeof names / sizeof names[0] ? names[state] : names[0];
}

static const char *
kind_name(enum tl_cause_kind kind)
{
    return kind == TL_CAUSE_SHIP ? "ship" : (kind == TL_CAUSE_PICTURE ? "picture" : "unknown");
}

static json_t *
consequence_json(const struct tl_would *would)
{
    char text[TL_TEXT_CAP];
    return would->set_lb != 0 ? json_string(tl_would_text(would, text, sizeof text)) : json_null();
}

json_t *
tl_json_cause(const struct tl_cause *cause, struct tl_event event)
{
    const struct tl_rule_row *row = tl_rule_row(cause->rule);
    char text[TL_TEXT_CAP];
    return json_pack(
        "{s:s,s:s,s:s,s:s,s:o,s:s,s:o,s:o,s:o}", "rule", row != NULL ? row->name : "unknown",
        "severity", tl_severity_name(row != NULL ? row->severity : TL_SEVERITY_UNKNOWN), "kind",
        kind_name(row != NULL ? row->kind : TL_CAUSE_KIND_UNKNOWN), "state",
        state_name(cause->state), "station", text_or_null(cause->station), "text",
        tl_cause_text(cause, event, text, sizeof text), "reported", value_json(&cause->reported),
        "needed", value_json(&cause->needed), "consequence", consequence_json(&cause->would));
}

/* What forces NOT READY: the picture's causes without notes, or what the screen itself says. */
static json_t *
causes_json(const struct tl_view *view, const struct tl_picture *picture)
{
    json_t *causes = json_array();
    if (view->word != TL_WORD_READY && !(view->from_known && picture != NULL)) {
        (void)json_array_append_new(causes, tl_json_cause(&view->first, view->event));
    }
    for (uint32_t i = 0; picture != NULL && view->from_known && i < picture->cause_count; i++) {
        if (picture->cause[i].state != TL_CAUSE_NOTE &&
            picture->cause[i].state != TL_CAUSE_OVERRIDDEN) {
            (void)json_array_append_new(causes, tl_json_cause(&picture->cause[i], view->event));
        }
    }
    return causes;
}

json_t *
tl_json_verdict(const struct tl_view *view, const struct tl_picture *picture)
{
    return json_pack("{s:s,s:s,s:s,s:o,s:b,s:o}", "kind", "verdict", "verdict",
                     view->word == TL_WORD_READY ? "READY" : "NOT READY", "cause_kind",
                     view->word == TL_WORD_READY ? "none" : kind_name(view->kind), "event",
                     event_json(view->event), "drill", view->drill, "causes",
                     causes_json(view, picture));
}

json_t *
tl_json_places(const struct tl_config *config, uint32_t places)
{
    json_t *ids = json_array();
    for (uint32_t i = 0; i < TL_STATIONS_MAX; i++) {
        const struct tl_node *node = (places >> i & 1u) != 0 ? tl_config_at(config, i) : NULL;
        if (node != NULL) {
            (void)json_array_append_new(ids, json_string(node->id));
        }
    }
    return ids;
}

static const char *
alert_state_name(enum tl_alert_state state)
{
    static const char *const names[] = {[TL_ALERT_UNKNOWN] = "unknown",
                                        [TL_ALERT_UNACKNOWLEDGED] = "unacknowledged",
                                        [TL_ALERT_ACKNOWLEDGED] = "acknowledged",
                                        [TL_ALERT_RETURNED] = "returned"};
    return (unsigned)state < sizeof names / sizeof names[0] ? names[state] : names[0];
}

json_t *
tl_json_alert(const struct tl_config *config, const struct tl_alert *alert)
{
    const struct tl_rule_row *row = tl_rule_row(alert->cause.rule);
    const char *rule = row != NULL ? row->name : "unknown";
    char text[TL_TEXT_CAP];
    return json_pack(
        "{s:s,s:s,s:s,s:o,s:o,s:o,s:s,s:o,s:o,s:s,s:I,s:o}", "kind", "alert", "state",
        alert_state_name(alert->state), "rule", rule, "owed", tl_json_places(config, alert->owed),
        "acknowledged", tl_json_places(config, alert->acknowledged), "delivered",
        tl_json_places(config, alert->delivered), "severity", tl_severity_name(alert->severity),
        "station", text_or_null(alert->cause.station), "event", event_json(alert->event), "text",
        tl_cause_text(&alert->cause, alert->event, text, sizeof text), "age_ms",
        (json_int_t)alert->raised_age_ms, "instance",
        json_pack("{s:s,s:o,s:o,s:o}", "rule", rule, "station", text_or_null(alert->cause.station),
                  "event", event_json(alert->event), "subject",
                  subject_json(&alert->cause.subject)));
}

static json_t *
pounds_json(const struct tl_datum *datum, uint32_t pounds)
{
    return datum != NULL ? json_integer((json_int_t)pounds) : json_null();
}

/* The words of one station on the gear, as people read them. */
static json_t *
words_of(const struct tl_ui_state *state, const char *id)
{
    const struct tl_station_state *station = tl_ui_station(state->picture, id);
    json_t *words = json_array();
    for (uint32_t i = 0; station != NULL && i < station->datum_count; i++) {
        const struct tl_datum *datum = &station->data[i];
        char text[TL_TEXT_CAP];
        if (datum->known && tl_datum_is_of_gear(datum->kind) && !tl_datum_is_voice(datum)) {
            (void)json_array_append_new(
                words, json_pack("{s:s,s:I,s:s,s:b}", "kind", tl_datum_kind_name(datum->kind),
                                 "number", (json_int_t)datum->slot, "text",
                                 tl_datum_text(datum, text, sizeof text), "sensor", datum->sensor));
        }
    }
    return words;
}

static const char *
service_name(const struct tl_datum *service)
{
    if (service == NULL) {
        return "unknown";
    }
    return service->as.service.state == TL_SERVICE_IN ? "in" : "out";
}

static json_t *
engines_json(const struct tl_ui_state *state)
{
    json_t *engines = json_array();
    for (uint32_t i = 0; i < state->config->gear.engine_count; i++) {
        const struct tl_engine_gear *gear = &state->config->gear.engine[i];
        const struct tl_node *node =
            tl_config_station(state->config, TL_STATION_ENGINE, gear->unit);
        const char *id = node != NULL ? node->id : "";
        const struct tl_datum *set = tl_ui_datum(state->picture, id, TL_DATUM_SET, 0);
        const struct tl_datum *battery = tl_ui_datum(state->picture, id, TL_DATUM_BATTERY, 0);
        const struct tl_datum *dial = tl_ui_datum(state->picture, state->config->repeater_reader,
                                                  TL_DATUM_REPEATER, gear->unit);
        const struct tl_datum *service = tl_ui_datum(state->picture, id, TL_DATUM_SERVICE, 0);
        const char *in =
            battery == NULL ? "unknown" : (battery->as.battery == TL_BATTERY_IN ? "in" : "out");
        (void)json_array_append_new(
            engines,
            json_pack("{s:I,s:s,s:o,s:b,s:o,s:s,s:b,s:s,s:b,s:o}", "unit", (json_int_t)gear->unit,
                      "station", id, "set_lb", pounds_json(set, set != NULL ? set->as.set_lb : 0),
                      "set_for_event", set != NULL && tl_datum_is_for(set, state->view->event),
                      "repeater_lb", pounds_json(dial, dial != NULL ? dial->as.repeater_lb : 0),
                      "battery", in, "in_service", gear->in_service, "service",
                      service_name(service), "takes_part", tl_ui_takes_part(state, gear), "words",
                      words_of(state, id)));
    }
    return engines;
}

static const char *
rig_name(const struct tl_datum *rig)
{
    if (rig == NULL) {
        return "unknown";
    }
    return rig->as.rig == TL_RIG_RIGGED ? "rigged" : "stripped";
}

static const char *
sheave_name(const struct tl_datum *sheave)
{
    if (sheave == NULL) {
        return "unknown";
    }
    if (sheave->as.sheave.bypassed) {
        return "bypassed";
    }
    return sheave->as.sheave.state == TL_SHEAVE_UP ? "up" : "down";
}

static json_t *
wires_json(const struct tl_ui_state *state)
{
    const struct tl_node *node = tl_config_station(state->config, TL_STATION_WIRES, 0);
    const char *id = node != NULL ? node->id : "";
    json_t *wires = json_array();
    for (uint32_t i = 0; i < state->config->gear.engine_count; i++) {
        uint32_t wire = state->config->gear.engine[i].wire;
        const struct tl_datum *rig = tl_ui_datum(state->picture, id, TL_DATUM_RIG, wire);
        const struct tl_datum *sheave = tl_ui_datum(state->picture, id, TL_DATUM_SHEAVE, wire);
        const struct tl_datum *pendant = tl_ui_datum(state->picture, id, TL_DATUM_PENDANT, wire);
        (void)json_array_append_new(
            wires,
            json_pack("{s:I,s:s,s:s,s:s}", "wire", (json_int_t)wire, "state", rig_name(rig),
                      "sheave", sheave_name(sheave), "pendant",
                      pendant != NULL ? tl_pendant_word(pendant->as.pendant.state) : "unknown"));
    }
    return wires;
}

static const char *
deck_name(const struct tl_datum *word)
{
    if (word == NULL) {
        return "unknown";
    }
    switch (word->as.deck.state) {
    case TL_DECK_FOUL:
        return "foul";
    case TL_DECK_STOP:
        return "stop";
    case TL_DECK_CLEAR:
        return "clear";
    case TL_DECK_NO_FOUL:
        return "no-foul";
    case TL_DECK_UNKNOWN:
        break;
    }
    return "unknown";
}

static json_t *
deck_json(const struct tl_ui_state *state)
{
    json_t *deck = json_array();
    for (uint32_t i = 0; i < state->config->node_count; i++) {
        const struct tl_node *node = &state->config->node[i];
        bool owner = strncmp(node->id, state->config->clear_owner, TL_ID_CAP) == 0;
        if (!owner && !node->may_foul && !node->may_stop) {
            continue;
        }
        const struct tl_datum *word = tl_ui_datum(state->picture, node->id, TL_DATUM_DECK, 0);
        bool foul = word != NULL && word->as.deck.state == TL_DECK_FOUL;
        (void)json_array_append_new(
            deck,
            json_pack("{s:s,s:s,s:o,s:o,s:b}", "station", node->id, "state", deck_name(word),
                      "reason",
                      foul ? json_string(tl_foul_reason_text(word->as.deck.reason)) : json_null(),
                      "expect_s",
                      foul && word->as.deck.expect_s > 0
                          ? json_integer((json_int_t)word->as.deck.expect_s)
                          : json_null(),
                      "owner", owner));
    }
    return deck;
}

static json_t *
aircraft_json(const struct tl_ui_state *state)
{
    const struct tl_listed *current = tl_ui_current(state->picture, state->view->event);
    if (current == NULL || !current->order_known) {
        return json_null();
    }
    const struct tl_aircraft_type *type = tl_config_type(state->config, current->order.type);
    return json_pack("{s:I,s:s,s:I,s:o}", "side", (json_int_t)current->order.side, "type",
                     current->order.type, "ordered_lb", (json_int_t)current->order.weight_lb,
                     "setting_lb",
                     type != NULL ? json_integer((json_int_t)type->setting_lb) : json_null());
}

static json_t *
readings_json(const struct tl_wind *wind)
{
    json_t *readings = json_array();
    for (uint32_t i = 0; wind != NULL && i < wind->reading_count; i++) {
        const struct tl_wind_reading *reading = &wind->reading[i];
        (void)json_array_append_new(readings,
                                    json_pack("{s:s,s:I,s:f,s:f}", "source", reading->source,
                                              "age_ms", (json_int_t)reading->age_ms, "speed_kt",
                                              reading->speed_kt_x10 / 10.0, "from_deg",
                                              reading->from_deg_x10 / 10.0));
    }
    return readings;
}

static json_t *
wind_json(const struct tl_ui_state *state)
{
    const struct tl_wind *wind = tl_ui_wind(state->config, state->picture);
    bool known = wind != NULL && wind->state == TL_WIND_KNOWN;
    const char *name = "unknown";
    if (wind != NULL && wind->state != TL_WIND_UNKNOWN) {
        name = known ? "known" : "disagree";
    }
    return json_pack("{s:s,s:o,s:o,s:b,s:o}", "state", name, "headwind_kt",
                     known ? json_real(wind->headwind_kt_x10 / 10.0) : json_null(), "crosswind_kt",
                     known ? json_real(wind->crosswind_kt_x10 / 10.0) : json_null(), "keyed",
                     known && wind->keyed, "readings", readings_json(wind));
}

static json_t *
alerts_json(const struct tl_ui_state *state)
{
    json_t *alerts = json_array();
    for (uint32_t i = 0; i < state->alert_count; i++) {
        (void)json_array_append_new(alerts, tl_json_alert(state->config, &state->alert[i]));
    }
    return alerts;
}

static json_t *
watch_json(const struct tl_station_state *station)
{
    const struct tl_datum *datum =
        tl_data_find_const(station->data, station->datum_count, TL_DATUM_WATCH, 0);
    return datum != NULL && datum->known ? json_string(datum->as.watch) : json_null();
}

static json_t *
voiced_json(const struct tl_picture *picture)
{
    json_t *voiced = json_array();
    for (uint32_t i = 0; picture != NULL && i < picture->voiced_count; i++) {
        const struct tl_voiced *v = &picture->voiced[i];
        char text[TL_TEXT_CAP];
        (void)json_array_append_new(
            voiced, json_pack("{s:s,s:s,s:s,s:s,s:o}", "station", v->station, "kind",
                              tl_datum_kind_name(v->datum.kind), "text",
                              tl_datum_text(&v->datum, text, sizeof text), "said_by", v->said_by,
                              "confirmed_by", text_or_null(v->confirmed_by)));
    }
    return voiced;
}

static json_t *
overrides_json(const struct tl_picture *picture)
{
    json_t *overrides = json_array();
    for (uint32_t i = 0; picture != NULL && i < picture->override_count; i++) {
        const struct tl_override_live *live = &picture->override[i];
        const struct tl_rule_row *row = tl_rule_row(live->override.rule);
        (void)json_array_append_new(
            overrides,
            json_pack("{s:s,s:o,s:s,s:s,s:o,s:I}", "rule", row != NULL ? row->name : "unknown",
                      "station", text_or_null(live->override.station), "reason",
                      live->override.reason, "said_by", live->said_by, "confirmed_by",
                      text_or_null(live->confirmed_by), "left_s", (json_int_t)live->left_s));
    }
    return overrides;
}

static json_t *
last_json(const struct tl_picture *picture)
{
    if (picture == NULL || !picture->last_known) {
        return json_null();
    }
    struct tl_datum result = {.kind = TL_DATUM_RESULT, .known = picture->last.result_known};
    char text[TL_TEXT_CAP];
    result.as.result = picture->last.result;
    return json_pack("{s:o,s:s}", "event", event_json(picture->last.event), "result",
                     tl_datum_text(&result, text, sizeof text));
}

static json_t *
words_json(const struct tl_ui_state *state, enum tl_station_kind kind)
{
    const struct tl_node *node = tl_config_station(state->config, kind, 0);
    return words_of(state, node != NULL ? node->id : "");
}

static json_t *
aid_json(const struct tl_ui_state *state)
{
    const struct tl_node *node = tl_config_station(state->config, TL_STATION_AID, 0);
    const struct tl_datum *aid =
        node != NULL ? tl_ui_datum(state->picture, node->id, TL_DATUM_AID, 0) : NULL;
    if (aid == NULL) {
        return json_string("unknown");
    }
    return json_string(aid->as.aid.state == TL_AID_WORKING ? aid->as.aid.type : "fault");
}

static json_t *
stations_json(const struct tl_picture *picture)
{
    json_t *stations = json_array();
    for (uint32_t i = 0; picture != NULL && i < picture->station_count; i++) {
        const struct tl_station_state *station = &picture->station[i];
        (void)json_array_append_new(
            stations,
            json_pack("{s:s,s:b,s:o,s:I,s:b,s:o}", "id", station->node, "live",
                      station->live == TL_LIVE_LIVE, "age_ms",
                      station->live == TL_LIVE_NEVER ? json_null()
                                                     : json_integer((json_int_t)station->age_ms),
                      "incarnation", (json_int_t)station->incarnation, "by_voice",
                      station->by_voice, "watch", watch_json(station)));
    }
    return stations;
}

static json_t *
validators_json(const struct tl_hear *hear, uint64_t now_ms)
{
    json_t *validators = json_array();
    for (uint32_t i = 0; i < hear->count; i++) {
        const struct tl_heard *heard = &hear->validator[i];
        uint64_t age_ms = tl_heard_verdict_age_ms(heard, now_ms);
        bool fresh = tl_heard_is_fresh(heard, now_ms);
        const char *word = "unknown";
        if (fresh) {
            word = heard->verdict.word == TL_WORD_READY ? "READY" : "NOT READY";
        }
        (void)json_array_append_new(
            validators,
            json_pack("{s:s,s:b,s:o,s:s}", "id", heard->id, "fresh", fresh, "age_ms",
                      age_ms == UINT64_MAX ? json_null() : json_integer((json_int_t)age_ms),
                      "verdict", word));
    }
    return validators;
}

static json_t *
buses_json(const struct tl_link *link)
{
    json_t *buses = json_array();
    for (uint32_t i = 0; i < tl_link_bus_count(link); i++) {
        const struct tl_bus_health *bus = tl_link_bus(link, i);
        (void)json_array_append_new(buses, json_pack("{s:s,s:b,s:s}", "id", bus->id, "up",
                                                     bus->state == TL_BUS_UP, "state",
                                                     tl_bus_state_text(bus->state)));
    }
    return buses;
}

static json_t *
digest_json(const struct tl_config *config)
{
    char hex[HEX_CAP];
    for (size_t i = 0; i < TL_DIGEST_LEN; i++) {
        (void)snprintf(hex + 2 * i, 3, "%02x", config->judgement_digest[i]);
    }
    return json_string(hex);
}

static json_t *
ramp_in_json(const struct tl_ui_state *state)
{
    int64_t seconds_x10 = 0;
    return tl_ui_ramp_in(state, &seconds_x10) ? json_real((double)seconds_x10 / 10.0) : json_null();
}

json_t *
tl_json_picture(struct tl_seat *seat, const struct tl_ui_state *state, uint64_t now_ms)
{
    const struct tl_view *view = state->view;
    return json_pack(
        "{s:s,s:s,s:o,s:b,s:b,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,"
        "s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o}",
        "verdict", view->word == TL_WORD_READY ? "READY" : "NOT READY", "kind",
        view->word == TL_WORD_READY ? "none" : kind_name(view->kind), "event",
        event_json(view->event), "drill", view->drill, "picture_old",
        state->picture == NULL || state->picture_old, "causes", causes_json(view, state->picture),
        "engines", engines_json(state), "wires", wires_json(state), "deck", deck_json(state), "aid",
        aid_json(state), "aircraft", aircraft_json(state), "wind", wind_json(state), "predicted",
        state->picture != NULL ? tl_json_predicted(&state->picture->predicted) : json_null(),
        "ramp_in_s", ramp_in_json(state), "alerts", alerts_json(state), "stations",
        stations_json(state->picture), "validators", validators_json(&seat->member.hear, now_ms),
        "buses", buses_json(seat->join.link), "configuration", digest_json(state->config),
        "last_pass", last_json(state->picture), "by_voice", voiced_json(state->picture),
        "overrides", overrides_json(state->picture), "deck_edge",
        words_json(state, TL_STATION_WIRES), "tracks", words_json(state, TL_STATION_TRACKS),
        "barricade", words_json(state, TL_STATION_BARRICADE), "cables",
        words_json(state, TL_STATION_GEAR_OFFICER));
}

bool
tl_json_print(json_t *object, FILE *out)
{
    if (object == NULL) {
        return false;
    }
    bool written = json_dumpf(object, out, JSON_PRESERVE_ORDER | JSON_COMPACT) == 0 &&
                   fputc('\n', out) != EOF && fflush(out) == 0;
    json_decref(object);
    return written;
}
