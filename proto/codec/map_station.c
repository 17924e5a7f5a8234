/* SPDX-License-Identifier: Apache-2.0 */
/* map_station.c - samples, beats and changes. See map.h. */
#include <string.h>

#include "proto/codec/map.h"

static wire_reading *
write_reading(struct tl_writer *writer, const struct tl_wind_reading *reading)
{
    wire_reading *wire = tl_writer_message(writer, &trapline__v1__wind_reading__descriptor);
    wire->source = tl_writer_text(writer, reading->source, sizeof reading->source);
    wire->age_ms = reading->age_ms;
    wire->speed_kt_x10 = reading->speed_kt_x10;
    wire->from_deg_x10 = reading->from_deg_x10;
    return wire;
}

static void
read_reading(const wire_reading *wire, struct tl_wind_reading *reading)
{
    tl_map_text_in(reading->source, sizeof reading->source, wire->source);
    reading->age_ms = wire->age_ms;
    reading->speed_kt_x10 = wire->speed_kt_x10;
    reading->from_deg_x10 = wire->from_deg_x10;
}

static wire_wind *
write_wind(struct tl_writer *writer, const struct tl_wind *wind)
{
    wire_wind *wire = tl_writer_message(writer, &trapline__v1__wind__descriptor);

    wire->state = tl_writer_enum(writer, TL_ENUM_WIND_STATE, wind->state);
    wire->headwind_kt_x10 = wind->headwind_kt_x10;
    wire->crosswind_kt_x10 = wind->crosswind_kt_x10;
    wire->deck_speed_kt_x10 = wind->deck_speed_kt_x10;
    wire->deck_from_deg_x10 = wind->deck_from_deg_x10;
    if (wind->true_known) {
        wire->true_wind = tl_writer_message(writer, &trapline__v1__true_wind__descriptor);
        wire->true_wind->speed_kt_x10 = wind->true_speed_kt_x10;
        wire->true_wind->from_deg_x10 = wind->true_from_deg_x10;
    }
    wire->reading = tl_writer_list(writer, wind->reading_count, &wire->n_reading, TL_READINGS_MAX);
    for (size_t i = 0; i < wire->n_reading; i++) {
        wire->reading[i] = write_reading(writer, &wind->reading[i]);
    }
    wire->keyed = wind->keyed;
    return wire;
}

static void
read_wind(const wire_wind *wire, struct tl_wind *wind)
{
    wind->state = tl_enum_from_wire(TL_ENUM_WIND_STATE, wire->state);
    wind->headwind_kt_x10 = wire->headwind_kt_x10;
    wind->crosswind_kt_x10 = wire->crosswind_kt_x10;
    wind->deck_speed_kt_x10 = wire->deck_speed_kt_x10;
    wind->deck_from_deg_x10 = wire->deck_from_deg_x10;
    wind->true_known = wire->true_wind != NULL;
    if (wind->true_known) {
        wind->true_speed_kt_x10 = wire->true_wind->speed_kt_x10;
        wind->true_from_deg_x10 = wire->true_wind->from_deg_x10;
    }
    wind->reading_count = tl_map_count_in(wire->n_reading, TL_READINGS_MAX);
    for (uint32_t i = 0; i < wind->reading_count; i++) {
        read_reading(wire->reading[i], &wind->reading[i]);
    }
    wind->keyed = wire->keyed != 0;
}

static wire_motion_value *
write_maybe(struct tl_writer *writer, struct tl_maybe maybe)
{
    if (!maybe.known) {
        return NULL;
    }
    wire_motion_value *wire = tl_writer_message(writer, &trapline__v1__motion_value__descriptor);
    wire->value = maybe.value;
    return wire;
}

static struct tl_maybe
read_maybe(const wire_motion_value *wire)
{
    struct tl_maybe maybe = {.known = wire != NULL, .value = wire != NULL ? wire->value : 0};
    return maybe;
}

static wire_motion *
write_motion(struct tl_writer *writer, const struct tl_motion *motion)
{
    wire_motion *wire = tl_writer_message(writer, &trapline__v1__motion__descriptor);
    wire->pitch_deg_x10 = write_maybe(writer, motion->pitch_deg_x10);
    wire->roll_deg_x10 = write_maybe(writer, motion->roll_deg_x10);
    wire->heave_m_x100 = write_maybe(writer, motion->heave_m_x100);
    wire->turn_deg_min_x10 = write_maybe(writer, motion->turn_deg_min_x10);
    wire->heading_deg_x10 = write_maybe(writer, motion->heading_deg_x10);
    wire->course_deg_x10 = write_maybe(writer, motion->course_deg_x10);
    wire->speed_kt_x10 = write_maybe(writer, motion->speed_kt_x10);
    return wire;
}

static void
read_motion(const wire_motion *wire, struct tl_motion *motion)
{
    motion->pitch_deg_x10 = read_maybe(wire->pitch_deg_x10);
    motion->roll_deg_x10 = read_maybe(wire->roll_deg_x10);
    motion->heave_m_x100 = read_maybe(wire->heave_m_x100);
    motion->turn_deg_min_x10 = read_maybe(wire->turn_deg_min_x10);
    motion->heading_deg_x10 = read_maybe(wire->heading_deg_x10);
    motion->course_deg_x10 = read_maybe(wire->course_deg_x10);
    motion->speed_kt_x10 = read_maybe(wire->speed_kt_x10);
}

/* A kind that is none leaves the value absent, which the check refuses. */
static wire_sample *
write_sample(struct tl_writer *writer, const struct tl_sample *sample)
{
    wire_sample *wire = tl_writer_message(writer, &trapline__v1__sample__descriptor);

    wire->age_ms = sample->age_ms;
    switch (sample->kind) {
    case TL_SAMPLE_WIND:
        wire->value_case = TRAPLINE__V1__SAMPLE__VALUE_WIND;
        wire->wind = write_wind(writer, &sample->as.wind);
        break;
    case TL_SAMPLE_MOTION:
        wire->value_case = TRAPLINE__V1__SAMPLE__VALUE_MOTION;
        wire->motion = write_motion(writer, &sample->as.motion);
        break;
    case TL_SAMPLE_UNKNOWN:
        break;
    }
    return wire;
}

static void
read_sample(const wire_sample *wire, struct tl_sample *sample)
{
    memset(sample, 0, sizeof *sample);
    sample->age_ms = wire->age_ms;
    switch (wire->value_case) {
    case TRAPLINE__V1__SAMPLE__VALUE_WIND:
        sample->kind = TL_SAMPLE_WIND;
        read_wind(wire->wind, &sample->as.wind);
        break;
    case TRAPLINE__V1__SAMPLE__VALUE_MOTION:
        sample->kind = TL_SAMPLE_MOTION;
        read_motion(wire->motion, &sample->as.motion);
        break;
    case TRAPLINE__V1__SAMPLE__VALUE__NOT_SET:
    case _TRAPLINE__V1__SAMPLE__VALUE__CASE_IS_INT_SIZE:
        break;
    }
}

wire_sample **
tl_map_samples_out(struct tl_writer *writer, const struct tl_sample *samples, uint32_t count,
                   size_t *n)
{
    wire_sample **wire = tl_writer_list(writer, count, n, TL_SAMPLES_MAX);

    for (size_t i = 0; i < *n; i++) {
        wire[i] = write_sample(writer, &samples[i]);
    }
    return wire;
}

uint32_t
tl_map_samples_in(wire_sample *const *wire, size_t n, struct tl_sample samples[TL_SAMPLES_MAX])
{
    uint32_t count = tl_map_count_in(n, TL_SAMPLES_MAX);

    for (uint32_t i = 0; i < count; i++) {
        read_sample(wire[i], &samples[i]);
    }
    return count;
}

wire_beat *
tl_map_beat_out(struct tl_writer *writer, const struct tl_beat *beat)
{
    wire_beat *wire = tl_writer_message(writer, &trapline__v1__beat__descriptor);
    wire->last_change = beat->last_change;
    wire->oldest_held = beat->oldest_held;
    wire->data = tl_map_data_out(writer, beat->data, beat->datum_count, &wire->n_data);
    wire->samples = tl_map_samples_out(writer, beat->samples, beat->sample_count, &wire->n_samples);
    return wire;
}

void
tl_map_beat_in(const wire_beat *wire, struct tl_beat *beat)
{
    memset(beat, 0, sizeof *beat);
    beat->last_change = wire->last_change;
    beat->oldest_held = wire->oldest_held;
    beat->datum_count = tl_map_data_in(wire->data, wire->n_data, beat->data);
    beat->sample_count = tl_map_samples_in(wire->samples, wire->n_samples, beat->samples);
}

wire_change *
tl_map_change_out(struct tl_writer *writer, const struct tl_change *change)
{
    wire_change *wire = tl_writer_message(writer, &trapline__v1__change__descriptor);
    wire->what_case = TRAPLINE__V1__CHANGE__WHAT_DATUM;
    wire->datum = tl_map_datum_out(writer, &change->datum);
    return wire;
}

void
tl_map_change_in(const wire_change *wire, struct tl_change *change)
{
    tl_map_datum_in(wire->datum, &change->datum);
}
