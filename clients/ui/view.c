/* SPDX-License-Identifier: Apache-2.0 */
/* view.c - see view.h. */
#include "clients/ui/view.h"

#include <inttypes.h>
#include <string.h>

enum {
    POUNDS = 24
};

const char *
tl_ui_verdict(const struct tl_view *view, char *dst, size_t cap)
{
    char text[TL_TEXT_CAP];
    const char *drill = view->drill ? "DRILL " : "";
    if (view->word == TL_WORD_READY) {
        (void)snprintf(dst, cap, "%sREADY (advisory) event %" PRIu32 "%s", drill, view->event.pass,
                       view->out_of_service != 0 ? " - ONE VALIDATOR, another is out of service"
                                                 : "");
    } else {
        (void)snprintf(dst, cap, "%sNOT READY: %s", drill,
                       tl_cause_text(&view->first, view->event, text, sizeof text));
    }
    return dst;
}

const char *
tl_ui_alert(const struct tl_alert *alert, bool raised, char *dst, size_t cap)
{
    char text[TL_TEXT_CAP];
    (void)snprintf(dst, cap, "%s %s: %s", raised ? "ALERT" : "alert gone,",
                   tl_severity_name(alert->severity),
                   tl_cause_text(&alert->cause, alert->event, text, sizeof text));
    return dst;
}

const char *
tl_ui_cause_word(enum tl_cause_state state)
{
    switch (state) {
    case TL_CAUSE_WRONG:
        return "WRONG";
    case TL_CAUSE_PENDING:
        return "not yet";
    case TL_CAUSE_OVERDUE:
        return "OVERDUE";
    case TL_CAUSE_HOLDING:
        return "held";
    case TL_CAUSE_NOTE:
        return "note";
    case TL_CAUSE_OVERRIDDEN:
        return "OVERRIDE";
    case TL_CAUSE_UNKNOWN:
        break;
    }
    return "unknown";
}

const struct tl_station_state *
tl_ui_station(const struct tl_picture *picture, const char *id)
{
    for (uint32_t i = 0; picture != NULL && i < picture->station_count; i++) {
        if (strncmp(picture->station[i].node, id, TL_ID_CAP) == 0) {
            return &picture->station[i];
        }
    }
    return NULL;
}

bool
tl_ui_is_heard(const struct tl_station_state *station)
{
    return station != NULL && (station->live == TL_LIVE_LIVE || station->by_voice);
}

const struct tl_datum *
tl_ui_datum(const struct tl_picture *picture, const char *station, enum tl_datum_kind kind,
            uint32_t slot)
{
    const struct tl_station_state *state = tl_ui_station(picture, station);
    const struct tl_datum *datum =
        state != NULL ? tl_data_find_const(state->data, state->datum_count, kind, slot) : NULL;
    return datum != NULL && datum->known ? datum : NULL;
}

const struct tl_datum *
tl_ui_word(const struct tl_picture *picture, const char *station, enum tl_datum_kind kind,
           uint32_t slot)
{
    const struct tl_station_state *state = tl_ui_station(picture, station);
    const struct tl_datum *own = tl_ui_datum(picture, station, kind, slot);
    if (state != NULL && state->live == TL_LIVE_LIVE && own != NULL) {
        return own;
    }
    for (uint32_t i = 0; picture != NULL && i < picture->voiced_count; i++) {
        const struct tl_voiced *voiced = &picture->voiced[i];
        bool counts = voiced->confirmed_by[0] != '\0' || tl_datum_is_safeward(&voiced->datum);
        if (counts && voiced->datum.kind == kind && voiced->datum.slot == slot &&
            strncmp(voiced->station, station, TL_ID_CAP) == 0) {
            return &voiced->datum;
        }
    }
    return own;
}

const struct tl_listed *
tl_ui_current(const struct tl_picture *picture, struct tl_event event)
{
    for (uint32_t i = 0; picture != NULL && i < picture->list_count; i++) {
        if (tl_event_is(event) && tl_event_equal(picture->list[i].event, event)) {
            return &picture->list[i];
        }
    }
    return NULL;
}

const struct tl_wind *
tl_ui_wind(const struct tl_config *config, const struct tl_picture *picture)
{
    const struct tl_node *bridge = tl_config_station(config, TL_STATION_BRIDGE, 0);
    const struct tl_station_state *state =
        bridge != NULL ? tl_ui_station(picture, bridge->id) : NULL;
    for (uint32_t i = 0; state != NULL && i < state->sample_count; i++) {
        uint64_t valid_ms = state->samples[i].as.wind.keyed
                                ? 1000ull * config->ship.keyed_wind_valid_s
                                : config->ship.wind_valid_ms;
        if (state->samples[i].kind == TL_SAMPLE_WIND && state->samples[i].age_ms <= valid_ms) {
            return &state->samples[i].as.wind;
        }
    }
    return NULL;
}

static void
print_causes(const struct tl_ui_state *state, FILE *out)
{
    char text[TL_TEXT_CAP];
    const struct tl_picture *picture = state->picture;
    if (picture == NULL || !state->view->from_known) {
        return;
    }
    for (uint32_t i = 0; i < picture->cause_count; i++) {
        const struct tl_cause *cause = &picture->cause[i];
        (void)fprintf(out, "  %2" PRIu32 " %-8s %s%s\n", i + 1, tl_ui_cause_word(cause->state),
                      tl_cause_text(cause, (struct tl_event){0}, text, sizeof text),
                      state->picture_old ? " (old)" : "");
    }
}

static void
print_list(const struct tl_ui_state *state, FILE *out)
{
    const struct tl_picture *picture = state->picture;
    char pounds[POUNDS];
    char result[TL_TEXT_CAP];
    for (uint32_t i = 0; picture != NULL && i < picture->list_count; i++) {
        const struct tl_listed *listed = &picture->list[i];
        struct tl_datum ended = {.kind = TL_DATUM_RESULT, .known = listed->result_known};
        ended.as.result = listed->result;
        (void)fprintf(out, "event %-4" PRIu32, listed->event.pass);
        if (listed->order_known) {
            (void)fprintf(out, " %4" PRIu32 " %-15s %9s", listed->order.side, listed->order.type,
                          tl_pounds_text(listed->order.weight_lb, pounds, sizeof pounds));
        } else {
            (void)fprintf(out, " order unknown");
        }
        bool current = tl_event_equal(listed->event, state->view->event);
        const char *word = current ? "CURRENT" : "waits";
        if (listed->order_known && listed->order.state == TL_ORDER_CANCELLED) {
            word = "cancelled";
        }
        (void)fprintf(out, "  %s\n",
                      listed->ended ? tl_datum_text(&ended, result, sizeof result) : word);
    }
}

static const char *
said_pounds(const struct tl_datum *datum, uint32_t pounds, char *dst)
{
    return datum != NULL ? tl_pounds_text(pounds, dst, POUNDS) : "unknown";
}

bool
tl_ui_is_barricade_pass(const struct tl_ui_state *state)
{
    for (uint32_t i = 0; state->picture != NULL && i < state->picture->list_count; i++) {
        const struct tl_listed *listed = &state->picture->list[i];
        if (tl_event_equal(listed->event, state->view->event)) {
            return listed->order_known && listed->order.barricade;
        }
    }
    return false;
}

static bool
is_out(const struct tl_ui_state *state, const struct tl_engine_gear *gear)
{
    const struct tl_node *node = tl_config_station(state->config, TL_STATION_ENGINE, gear->unit);
    const struct tl_datum *service =
        node != NULL ? tl_ui_datum(state->picture, node->id, TL_DATUM_SERVICE, 0) : NULL;
    return !gear->in_service || (service != NULL && service->as.service.state == TL_SERVICE_OUT);
}

bool
tl_ui_takes_part(const struct tl_ui_state *state, const struct tl_engine_gear *gear)
{
    const struct tl_barricade_gear *barricade = &state->config->gear.barricade;
    bool stripped = tl_ui_is_barricade_pass(state) && gear->unit != barricade->unit &&
                    (barricade->strip >> gear->wire & 1u) != 0;
    return !stripped && !is_out(state, gear);
}

static const char *
engine_mark(const struct tl_ui_state *state, const struct tl_engine_gear *gear)
{
    if (is_out(state, gear)) {
        return " (out of service)";
    }
    if (!tl_ui_takes_part(state, gear)) {
        return " (not in this pass)";
    }
    bool barricade =
        tl_ui_is_barricade_pass(state) && gear->unit == state->config->gear.barricade.unit;
    return barricade ? " (BARRICADE)" : "";
}

/* What else its room has said of it; nothing while nothing is said. */
static void
print_engine_words(const struct tl_ui_state *state, const char *id, FILE *out)
{
    static const enum tl_datum_kind kinds[] = {TL_DATUM_SERVICE, TL_DATUM_FLUID, TL_DATUM_FAULT,
                                               TL_DATUM_ARREST};
    char text[TL_TEXT_CAP];
    bool any = false;
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        const struct tl_datum *datum = tl_ui_datum(state->picture, id, kinds[i], 0);
        if (datum != NULL) {
            (void)fprintf(out, "%s%s", any ? "; " : "          ",
                          tl_datum_text(datum, text, sizeof text));
            any = true;
        }
    }
    if (any) {
        (void)fprintf(out, "\n");
    }
}

static void
print_engine(const struct tl_ui_state *state, const struct tl_engine_gear *gear, FILE *out)
{
    const struct tl_node *node = tl_config_station(state->config, TL_STATION_ENGINE, gear->unit);
    const char *id = node != NULL ? node->id : "";
    char set_text[POUNDS];
    char dial_text[POUNDS];
    const struct tl_datum *set = tl_ui_datum(state->picture, id, TL_DATUM_SET, 0);
    const struct tl_datum *battery = tl_ui_datum(state->picture, id, TL_DATUM_BATTERY, 0);
    const struct tl_datum *dial =
        tl_ui_datum(state->picture, state->config->repeater_reader, TL_DATUM_REPEATER, gear->unit);
    bool now = set != NULL && tl_datum_is_for(set, state->view->event);
    (void)fprintf(
        out, "engine %" PRIu32 "  wire %" PRIu32 "  set %9s %-14s repeater %9s  %s%s\n", gear->unit,
        gear->wire, said_pounds(set, set != NULL ? set->as.set_lb : 0, set_text),
        set == NULL ? "" : (now ? "for this event" : "not this event"),
        said_pounds(dial, dial != NULL ? dial->as.repeater_lb : 0, dial_text),
        battery == NULL ? "battery unknown"
                        : (battery->as.battery == TL_BATTERY_IN ? "in battery" : "NOT in battery"),
        engine_mark(state, gear));
    print_engine_words(state, id, out);
}

static void
print_deck_words(const struct tl_ui_state *state, FILE *out)
{
    char text[TL_TEXT_CAP];
    char spoken[TL_ID_CAP];
    for (uint32_t i = 0; i < state->config->node_count; i++) {
        const struct tl_node *node = &state->config->node[i];
        bool owner = strncmp(node->id, state->config->clear_owner, TL_ID_CAP) == 0;
        if (!owner && !node->may_foul && !node->may_stop) {
            continue;
        }
        const struct tl_datum *word = tl_ui_datum(state->picture, node->id, TL_DATUM_DECK, 0);
        (void)fprintf(out, "%-9s %s\n", tl_node_spoken(node->id, spoken, sizeof spoken),
                      word != NULL ? tl_datum_text(word, text, sizeof text)
                                   : (owner ? "deck not said clear" : "no word on foul"));
    }
}

static void
print_final(const struct tl_ui_state *state, FILE *out)
{
    const struct tl_node *node = tl_config_station(state->config, TL_STATION_PLATFORM, 0);
    const char *id = node != NULL ? node->id : "";
    char call_text[TL_TEXT_CAP];
    char hook_text[TL_TEXT_CAP];
    const struct tl_datum *call = tl_ui_datum(state->picture, id, TL_DATUM_CALL, 0);
    const struct tl_datum *hook = tl_ui_datum(state->picture, id, TL_DATUM_HOOK, 0);
    (void)fprintf(out, "final     %s, %s\n",
                  call != NULL ? tl_datum_text(call, call_text, sizeof call_text) : "no call heard",
                  hook != NULL ? tl_datum_text(hook, hook_text, sizeof hook_text) : "hook unknown");
}

static void
print_wind(const struct tl_ui_state *state, FILE *out)
{
    const struct tl_wind *wind = tl_ui_wind(state->config, state->picture);
    if (wind == NULL || wind->state == TL_WIND_UNKNOWN) {
        (void)fprintf(out, "wind      unknown\n");
        return;
    }
    if (wind->state == TL_WIND_DISAGREE) {
        (void)fprintf(out, "wind      SENSORS DISAGREE:");
        for (uint32_t i = 0; i < wind->reading_count; i++) {
            (void)fprintf(out, " %s %.1f kn from %.0f;", wind->reading[i].source,
                          wind->reading[i].speed_kt_x10 / 10.0,
                          wind->reading[i].from_deg_x10 / 10.0);
        }
        (void)fprintf(out, "\n");
        return;
    }
    (void)fprintf(out, "wind      %.1f kn down the angle, %.1f kn across%s\n",
                  wind->headwind_kt_x10 / 10.0, wind->crosswind_kt_x10 / 10.0,
                  wind->keyed ? " (keyed)" : "");
}

static void
print_stations(const struct tl_ui_state *state, FILE *out)
{
    const struct tl_picture *picture = state->picture;
    int column = fprintf(out, "stations ");
    for (uint32_t i = 0; picture != NULL && i < picture->station_count; i++) {
        const struct tl_station_state *station = &picture->station[i];
        char item[TL_ID_CAP + 24];
        const char *live = station->live == TL_LIVE_LIVE
                               ? "live"
                               : (station->live == TL_LIVE_LOST ? "LOST" : "not heard");
        live = station->by_voice ? "LOST, BY VOICE" : live;
        int length = snprintf(item, sizeof item, " %s %s;", station->node, live);
        if (column + length > 79) {
            (void)fprintf(out, "\n         ");
            column = 9;
        }
        column += fprintf(out, "%s", item);
    }
    (void)fprintf(out, "\n");
}

void
tl_ui_print(const struct tl_ui_state *state, FILE *out)
{
    char text[TL_TEXT_CAP + 32];
    char people[TL_TEXT_CAP];
    (void)fprintf(out, "%s\n", tl_ui_verdict(state->view, text, sizeof text));
    print_causes(state, out);
    for (uint32_t i = 0; i < state->alert_count; i++) {
        const struct tl_alert *alert = &state->alert[i];
        (void)fprintf(out, "%s\n",
                      tl_ui_alert(alert, tl_alert_is_active(alert), text, sizeof text));
        (void)tl_ui_acknowledged(state->config, alert, people, sizeof people);
        if (people[0] != '\0') {
            (void)fprintf(out, "      %s\n", people);
        }
    }
    if (state->picture == NULL) {
        (void)fprintf(out, "no picture heard\n");
        return;
    }
    if (state->picture_old) {
        (void)fprintf(out, "the figures below are OLD\n");
    }
    print_list(state, out);
    tl_ui_print_inbound(state, out);
    for (uint32_t i = 0; i < state->config->gear.engine_count; i++) {
        print_engine(state, &state->config->gear.engine[i], out);
    }
    print_deck_words(state, out);
    print_final(state, out);
    print_wind(state, out);
    tl_ui_print_predicted(state, out);
    tl_ui_print_gear(state, out);
    tl_ui_print_people(state, out);
    print_stations(state, out);
}
