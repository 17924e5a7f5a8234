/* SPDX-License-Identifier: Apache-2.0 */
/* map_picture.c - the picture and the set of alerts. See map.h. */
#include <string.h>

#include "proto/codec/map.h"
#include "proto/codec/map_gear.h"

static wire_listed *
write_listed(struct tl_writer *writer, const struct tl_listed *listed)
{
    wire_listed *wire = tl_writer_message(writer, &trapline__v1__listed_event__descriptor);
    wire->event = tl_map_event_out(writer, listed->event);
    wire->order = listed->order_known ? tl_map_order_out(writer, &listed->order) : NULL;
    wire->result = listed->result_known ? tl_map_result_out(writer, &listed->result) : NULL;
    wire->ended = listed->ended;
    return wire;
}

static void
read_listed(const wire_listed *wire, struct tl_listed *listed)
{
    listed->event = tl_map_event_in(wire->event);
    listed->order_known = wire->order != NULL;
    if (wire->order != NULL) {
        tl_map_order_in(wire->order, &listed->order);
    }
    listed->result_known = wire->result != NULL;
    if (wire->result != NULL) {
        tl_map_result_in(wire->result, &listed->result);
    }
    listed->ended = wire->ended != 0;
}

static wire_station *
write_station(struct tl_writer *writer, const struct tl_station_state *station)
{
    wire_station *wire = tl_writer_message(writer, &trapline__v1__station_state__descriptor);
    wire->node = tl_writer_text(writer, station->node, sizeof station->node);
    wire->incarnation = station->incarnation;
    wire->live = tl_writer_enum(writer, TL_ENUM_LIVENESS, station->live);
    wire->age_ms = station->age_ms;
    wire->applied = station->applied;
    wire->digest = tl_writer_bytes(writer, station->digest, sizeof station->digest);
    wire->data = tl_map_data_out(writer, station->data, station->datum_count, &wire->n_data);
    wire->samples =
        tl_map_samples_out(writer, station->samples, station->sample_count, &wire->n_samples);
    wire->by_voice = station->by_voice;
    return wire;
}

static void
read_station(const wire_station *wire, struct tl_station_state *station)
{
    tl_map_text_in(station->node, sizeof station->node, wire->node);
    station->incarnation = wire->incarnation;
    station->live = tl_enum_from_wire(TL_ENUM_LIVENESS, wire->live);
    station->age_ms = wire->age_ms;
    station->applied = wire->applied;
    tl_map_bytes_in(station->digest, sizeof station->digest, wire->digest);
    station->datum_count = tl_map_data_in(wire->data, wire->n_data, station->data);
    station->sample_count = tl_map_samples_in(wire->samples, wire->n_samples, station->samples);
    station->by_voice = wire->by_voice != 0;
}

static wire_voiced *
write_voiced(struct tl_writer *writer, const struct tl_voiced *voiced)
{
    wire_voiced *wire = tl_writer_message(writer, &trapline__v1__voiced__descriptor);
    wire->station = tl_writer_text(writer, voiced->station, sizeof voiced->station);
    wire->datum = tl_map_datum_out(writer, &voiced->datum);
    wire->said_by = tl_writer_text(writer, voiced->said_by, sizeof voiced->said_by);
    wire->confirmed_by = tl_writer_text(writer, voiced->confirmed_by, sizeof voiced->confirmed_by);
    return wire;
}

static void
read_voiced(const wire_voiced *wire, struct tl_voiced *voiced)
{
    tl_map_text_in(voiced->station, sizeof voiced->station, wire->station);
    tl_map_datum_in(wire->datum, &voiced->datum);
    tl_map_text_in(voiced->said_by, sizeof voiced->said_by, wire->said_by);
    tl_map_text_in(voiced->confirmed_by, sizeof voiced->confirmed_by, wire->confirmed_by);
}

static wire_override_live *
write_override(struct tl_writer *writer, const struct tl_override_live *live)
{
    wire_override_live *wire = tl_writer_message(writer, &trapline__v1__override_live__descriptor);
    wire->override = tl_map_override_out(writer, &live->override);
    wire->said_by = tl_writer_text(writer, live->said_by, sizeof live->said_by);
    wire->confirmed_by = tl_writer_text(writer, live->confirmed_by, sizeof live->confirmed_by);
    wire->left_s = live->left_s;
    return wire;
}

static void
read_override(const wire_override_live *wire, struct tl_override_live *live)
{
    tl_map_override_in(wire->override, &live->override);
    tl_map_text_in(live->said_by, sizeof live->said_by, wire->said_by);
    tl_map_text_in(live->confirmed_by, sizeof live->confirmed_by, wire->confirmed_by);
    live->left_s = wire->left_s;
}

static void
write_people(struct tl_writer *writer, const struct tl_picture *picture, wire_picture *wire)
{
    wire->last = picture->last_known ? write_listed(writer, &picture->last) : NULL;
    wire->voiced = tl_writer_list(writer, picture->voiced_count, &wire->n_voiced, TL_VOICED_MAX);
    for (size_t i = 0; i < wire->n_voiced; i++) {
        wire->voiced[i] = write_voiced(writer, &picture->voiced[i]);
    }
    wire->overrides =
        tl_writer_list(writer, picture->override_count, &wire->n_overrides, TL_OVERRIDES_MAX);
    for (size_t i = 0; i < wire->n_overrides; i++) {
        wire->overrides[i] = write_override(writer, &picture->override[i]);
    }
}

static void
read_people(const wire_picture *wire, struct tl_picture *picture)
{
    picture->last_known = wire->last != NULL;
    if (wire->last != NULL) {
        read_listed(wire->last, &picture->last);
    }
    picture->voiced_count = tl_map_count_in(wire->n_voiced, TL_VOICED_MAX);
    for (uint32_t i = 0; i < picture->voiced_count; i++) {
        read_voiced(wire->voiced[i], &picture->voiced[i]);
    }
    picture->override_count = tl_map_count_in(wire->n_overrides, TL_OVERRIDES_MAX);
    for (uint32_t i = 0; i < picture->override_count; i++) {
        read_override(wire->overrides[i], &picture->override[i]);
    }
}

static void
write_computed(struct tl_writer *writer, const struct tl_picture *picture, wire_picture *wire)
{
    if (tl_event_is(picture->predicted.event)) {
        wire->predicted = tl_map_predicted_out(writer, &picture->predicted);
    }
    wire->expected =
        tl_writer_list(writer, picture->expected_count, &wire->n_expected, TL_ENGINES_MAX);
    for (size_t i = 0; i < wire->n_expected; i++) {
        wire->expected[i] = tl_map_expected_out(writer, &picture->expected[i]);
    }
    wire->ended = tl_writer_list(writer, picture->ended_count, &wire->n_ended, TL_ENDED_SHOWN);
    for (size_t i = 0; i < wire->n_ended; i++) {
        wire->ended[i] = tl_map_ended_out(writer, &picture->ended[i]);
    }
}

static void
read_computed(const wire_picture *wire, struct tl_picture *picture)
{
    if (wire->predicted != NULL) {
        tl_map_predicted_in(wire->predicted, &picture->predicted);
    }
    picture->expected_count = tl_map_count_in(wire->n_expected, TL_ENGINES_MAX);
    for (uint32_t i = 0; i < picture->expected_count; i++) {
        tl_map_expected_in(wire->expected[i], &picture->expected[i]);
    }
    picture->ended_count = tl_map_count_in(wire->n_ended, TL_ENDED_SHOWN);
    for (uint32_t i = 0; i < picture->ended_count; i++) {
        tl_map_ended_in(wire->ended[i], &picture->ended[i]);
    }
}

wire_picture *
tl_map_picture_out(struct tl_writer *writer, const struct tl_picture *picture)
{
    wire_picture *wire = tl_writer_message(writer, &trapline__v1__picture__descriptor);

    wire->number = picture->number;
    wire->list_heard = picture->list_heard;
    wire->recovery_ms = picture->recovery_ms;
    wire->open = picture->open;
    wire->drill = picture->drill;
    wire->list = tl_writer_list(writer, picture->list_count, &wire->n_list, TL_LIST_MAX);
    for (size_t i = 0; i < wire->n_list; i++) {
        wire->list[i] = write_listed(writer, &picture->list[i]);
    }
    wire->station =
        tl_writer_list(writer, picture->station_count, &wire->n_station, TL_STATIONS_MAX);
    for (size_t i = 0; i < wire->n_station; i++) {
        wire->station[i] = write_station(writer, &picture->station[i]);
    }
    wire->cause = tl_writer_list(writer, picture->cause_count, &wire->n_cause, TL_CAUSES_MAX);
    for (size_t i = 0; i < wire->n_cause; i++) {
        wire->cause[i] = tl_map_cause_out(writer, &picture->cause[i]);
    }
    wire->highest_pass = picture->highest_pass;
    wire->highest_recovery_ms = picture->highest_recovery_ms;
    write_people(writer, picture, wire);
    write_computed(writer, picture, wire);
    return wire;
}

void
tl_map_picture_in(const wire_picture *wire, struct tl_picture *picture)
{
    memset(picture, 0, sizeof *picture);
    picture->number = wire->number;
    picture->list_heard = wire->list_heard != 0;
    picture->recovery_ms = wire->recovery_ms;
    picture->open = wire->open != 0;
    picture->drill = wire->drill != 0;
    picture->list_count = tl_map_count_in(wire->n_list, TL_LIST_MAX);
    for (uint32_t i = 0; i < picture->list_count; i++) {
        read_listed(wire->list[i], &picture->list[i]);
    }
    picture->station_count = tl_map_count_in(wire->n_station, TL_STATIONS_MAX);
    for (uint32_t i = 0; i < picture->station_count; i++) {
        read_station(wire->station[i], &picture->station[i]);
    }
    picture->cause_count = tl_map_count_in(wire->n_cause, TL_CAUSES_MAX);
    for (uint32_t i = 0; i < picture->cause_count; i++) {
        tl_map_cause_in(wire->cause[i], &picture->cause[i]);
    }
    picture->highest_pass = wire->highest_pass;
    picture->highest_recovery_ms = wire->highest_recovery_ms;
    read_people(wire, picture);
    read_computed(wire, picture);
}

static wire_alert *
write_alert(struct tl_writer *writer, const struct tl_alert *alert)
{
    wire_alert *wire = tl_writer_message(writer, &trapline__v1__alert__descriptor);
    wire->cause = tl_map_cause_out(writer, &alert->cause);
    wire->event = tl_event_is(alert->event) ? tl_map_event_out(writer, alert->event) : NULL;
    wire->severity = tl_writer_enum(writer, TL_ENUM_SEVERITY, alert->severity);
    wire->raised_age_ms = alert->raised_age_ms;
    wire->state = tl_writer_enum(writer, TL_ENUM_ALERT_STATE, alert->state);
    wire->owed = alert->owed;
    wire->acknowledged = alert->acknowledged;
    wire->delivered = alert->delivered;
    return wire;
}

wire_alert_set *
tl_map_alerts_out(struct tl_writer *writer, const struct tl_alert_set *alerts)
{
    wire_alert_set *wire = tl_writer_message(writer, &trapline__v1__alert_set__descriptor);

    wire->picture = alerts->picture;
    wire->alert = tl_writer_list(writer, alerts->alert_count, &wire->n_alert, TL_ALERTS_MAX);
    for (size_t i = 0; i < wire->n_alert; i++) {
        wire->alert[i] = write_alert(writer, &alerts->alert[i]);
    }
    return wire;
}

void
tl_map_alerts_in(const wire_alert_set *wire, struct tl_alert_set *alerts)
{
    memset(alerts, 0, sizeof *alerts);
    alerts->picture = wire->picture;
    alerts->alert_count = tl_map_count_in(wire->n_alert, TL_ALERTS_MAX);
    for (uint32_t i = 0; i < alerts->alert_count; i++) {
        struct tl_alert *alert = &alerts->alert[i];
        tl_map_cause_in(wire->alert[i]->cause, &alert->cause);
        alert->event = tl_map_event_in(wire->alert[i]->event);
        alert->severity = tl_enum_from_wire(TL_ENUM_SEVERITY, wire->alert[i]->severity);
        alert->raised_age_ms = wire->alert[i]->raised_age_ms;
        alert->state = tl_enum_from_wire(TL_ENUM_ALERT_STATE, wire->alert[i]->state);
        alert->owed = wire->alert[i]->owed;
        alert->acknowledged = wire->alert[i]->acknowledged;
        alert->delivered = wire->alert[i]->delivered;
    }
}
