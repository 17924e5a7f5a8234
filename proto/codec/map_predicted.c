/* SPDX-License-Identifier: Apache-2.0 */
/* map_predicted.c - what the mechanics say. See map.h. */
#include <string.h>

#include "proto/codec/map.h"

wire_would *
tl_map_would_out(struct tl_writer *writer, const struct tl_would *would)
{
    wire_would *wire = tl_writer_message(writer, &trapline__v1__would__descriptor);
    wire->set_lb = would->set_lb;
    wire->bottoms = would->bottoms;
    wire->parts = would->parts;
    wire->end_kt_x10 = would->end_kt_x10;
    wire->hook_lbf = would->hook_lbf;
    wire->tension_percent = would->tension_percent;
    wire->stroke_in_x10 = would->stroke_in_x10;
    wire->expect_in_x10 = would->expect_in_x10;
    wire->runout_ft_x10 = would->runout_ft_x10;
    return wire;
}

void
tl_map_would_in(const wire_would *wire, struct tl_would *would)
{
    would->set_lb = wire->set_lb;
    would->bottoms = wire->bottoms != 0;
    would->parts = wire->parts != 0;
    would->end_kt_x10 = wire->end_kt_x10;
    would->hook_lbf = wire->hook_lbf;
    would->tension_percent = wire->tension_percent;
    would->stroke_in_x10 = wire->stroke_in_x10;
    would->expect_in_x10 = wire->expect_in_x10;
    would->runout_ft_x10 = wire->runout_ft_x10;
}

static wire_predicted_arrest *
write_arrest(struct tl_writer *writer, const struct tl_predicted_arrest *arrest)
{
    wire_predicted_arrest *wire =
        tl_writer_message(writer, &trapline__v1__predicted_arrest__descriptor);
    wire->headwind_kt_x10 = arrest->headwind_kt_x10;
    wire->engaging_kt_x10 = arrest->engaging_kt_x10;
    wire->energy_kftlb = arrest->energy_kftlb;
    wire->margin_percent = arrest->margin_percent;
    wire->would = tl_writer_list(writer, arrest->would_count, &wire->n_would, TL_WOULDS_MAX);
    for (size_t i = 0; i < wire->n_would; i++) {
        wire->would[i] = tl_map_would_out(writer, &arrest->would[i]);
    }
    return wire;
}

static wire_predicted_ramp *
write_ramp(struct tl_writer *writer, const struct tl_predicted_ramp *ramp)
{
    wire_predicted_ramp *wire =
        tl_writer_message(writer, &trapline__v1__predicted_ramp__descriptor);
    wire->aid_type = tl_writer_text(writer, ramp->aid_type, sizeof ramp->aid_type);
    wire->angle_deg_x100 = ramp->angle_deg_x100;
    wire->target_wire = ramp->target_wire;
    wire->pitch_deg_x10 = ramp->pitch_deg_x10;
    wire->clearance_ft_x10 = ramp->clearance_ft_x10;
    wire->touchdown_ft_x10 = ramp->touchdown_ft_x10;
    return wire;
}

static wire_predicted_time *
write_time(struct tl_writer *writer, const struct tl_predicted_time *time)
{
    wire_predicted_time *wire =
        tl_writer_message(writer, &trapline__v1__predicted_time__descriptor);
    wire->ramp_s_x10 = time->ramp_s_x10;
    wire->wave_off_gear_s_x10 = time->wave_off_gear_s_x10;
    wire->wave_off_people_s_x10 = time->wave_off_people_s_x10;
    wire->reset_s_x10 = time->reset_s_x10;
    return wire;
}

wire_predicted *
tl_map_predicted_out(struct tl_writer *writer, const struct tl_predicted *predicted)
{
    wire_predicted *wire = tl_writer_message(writer, &trapline__v1__predicted__descriptor);
    wire->event = tl_map_event_out(writer, predicted->event);
    wire->type = tl_writer_text(writer, predicted->type, sizeof predicted->type);
    wire->weight_lb = predicted->weight_lb;
    wire->barricade = predicted->barricade;
    wire->arrest = predicted->arrest.known ? write_arrest(writer, &predicted->arrest) : NULL;
    wire->ramp = predicted->ramp.known ? write_ramp(writer, &predicted->ramp) : NULL;
    wire->time = predicted->time.known ? write_time(writer, &predicted->time) : NULL;
    return wire;
}

static void
read_arrest(const wire_predicted_arrest *wire, struct tl_predicted_arrest *arrest)
{
    arrest->known = true;
    arrest->headwind_kt_x10 = wire->headwind_kt_x10;
    arrest->engaging_kt_x10 = wire->engaging_kt_x10;
    arrest->energy_kftlb = wire->energy_kftlb;
    arrest->margin_percent = wire->margin_percent;
    arrest->would_count = tl_map_count_in(wire->n_would, TL_WOULDS_MAX);
    for (uint32_t i = 0; i < arrest->would_count; i++) {
        tl_map_would_in(wire->would[i], &arrest->would[i]);
    }
}

static void
read_ramp(const wire_predicted_ramp *wire, struct tl_predicted_ramp *ramp)
{
    ramp->known = true;
    tl_map_text_in(ramp->aid_type, sizeof ramp->aid_type, wire->aid_type);
    ramp->angle_deg_x100 = wire->angle_deg_x100;
    ramp->target_wire = wire->target_wire;
    ramp->pitch_deg_x10 = wire->pitch_deg_x10;
    ramp->clearance_ft_x10 = wire->clearance_ft_x10;
    ramp->touchdown_ft_x10 = wire->touchdown_ft_x10;
}

static void
read_time(const wire_predicted_time *wire, struct tl_predicted_time *time)
{
    time->known = true;
    time->ramp_s_x10 = wire->ramp_s_x10;
    time->wave_off_gear_s_x10 = wire->wave_off_gear_s_x10;
    time->wave_off_people_s_x10 = wire->wave_off_people_s_x10;
    time->reset_s_x10 = wire->reset_s_x10;
}

void
tl_map_predicted_in(const wire_predicted *wire, struct tl_predicted *predicted)
{
    memset(predicted, 0, sizeof *predicted);
    predicted->event = tl_map_event_in(wire->event);
    tl_map_text_in(predicted->type, sizeof predicted->type, wire->type);
    predicted->weight_lb = wire->weight_lb;
    predicted->barricade = wire->barricade != 0;
    if (wire->arrest != NULL) {
        read_arrest(wire->arrest, &predicted->arrest);
    }
    if (wire->ramp != NULL) {
        read_ramp(wire->ramp, &predicted->ramp);
    }
    if (wire->time != NULL) {
        read_time(wire->time, &predicted->time);
    }
}

wire_expected *
tl_map_expected_out(struct tl_writer *writer, const struct tl_expected *expected)
{
    wire_expected *wire = tl_writer_message(writer, &trapline__v1__expected__descriptor);
    wire->unit = expected->unit;
    wire->event = tl_map_event_out(writer, expected->event);
    wire->ram_in_x10 = expected->ram_in_x10;
    return wire;
}

void
tl_map_expected_in(const wire_expected *wire, struct tl_expected *expected)
{
    expected->unit = wire->unit;
    expected->event = tl_map_event_in(wire->event);
    expected->ram_in_x10 = wire->ram_in_x10;
}
