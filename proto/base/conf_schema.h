/* SPDX-License-Identifier: Apache-2.0 */
/*
 * conf_schema - which keys each file may and must have, and how many; every value as text
 *
 * Private to conf. libcyaml reads a file into these structs by the tables in the .c; what the texts
 * mean is conf_value's. An optional value that is absent is "" or a list of 0.
 */
#ifndef PROTO_BASE_CONF_SCHEMA_H
#define PROTO_BASE_CONF_SCHEMA_H

#include <stdint.h>

#include "proto/base/conf_file.h"

enum {
    TL_CONF_WORD_CAP =
        96, /* longer than any id, number or endpoint, so that ours is the sentence */
    TL_CONF_LINE_CAP = 256, /* a reason, a source */
    TL_CONF_PATH_CAP = TL_PATH_CAP
};

struct tl_conf_raw_due {
    char rule[TL_CONF_WORD_CAP];
    char after_order_s[TL_CONF_WORD_CAP];
    char before_ramp_s[TL_CONF_WORD_CAP]; /* optional */
};
struct tl_conf_raw_off {
    char rule[TL_CONF_WORD_CAP];
    char reason[TL_CONF_LINE_CAP];
};
struct tl_conf_raw_wind {
    char valid_ms[TL_CONF_WORD_CAP];
    char heading_valid_ms[TL_CONF_WORD_CAP];
    char speed_valid_ms[TL_CONF_WORD_CAP];
    char keyed_valid_s[TL_CONF_WORD_CAP];
    char disagree_deg[TL_CONF_WORD_CAP];
    char disagree_kt[TL_CONF_WORD_CAP];
};
struct tl_conf_raw_valid {
    char datum[TL_CONF_WORD_CAP];
    char valid_s[TL_CONF_WORD_CAP];
};
struct tl_conf_raw_angle {
    char from_kt[TL_CONF_WORD_CAP];
    char angle_deg[TL_CONF_WORD_CAP];
};
/* A measure that the mechanics compute with; see proto/vocab/figures.h. */
struct tl_conf_raw_figure {
    char figure[TL_CONF_WORD_CAP];
    char value[TL_CONF_WORD_CAP];
    char source[TL_CONF_LINE_CAP];
};
struct tl_conf_raw_motion {
    char pitch_max_deg[TL_CONF_WORD_CAP];
    char heave_max_m[TL_CONF_WORD_CAP];
    char roll_max_deg[TL_CONF_WORD_CAP];
    char turn_max_deg_min[TL_CONF_WORD_CAP];
    char valid_ms[TL_CONF_WORD_CAP];
};
struct tl_conf_raw_ship {
    char name[TL_CONF_LINE_CAP];
    char invented[TL_CONF_WORD_CAP];
    char deck_angle_deg[TL_CONF_WORD_CAP];
    char engine_readback[TL_CONF_WORD_CAP];
    char ramp_margin_s[TL_CONF_WORD_CAP];
    struct tl_conf_raw_due *due; /* optional */
    uint32_t due_count;
    struct tl_conf_raw_off *rules_off; /* optional */
    uint32_t rules_off_count;
    struct tl_conf_raw_wind wind;
    char sensor_valid_ms[TL_CONF_WORD_CAP]; /* optional */
    char tracks[TL_CONF_WORD_CAP];          /* optional */
    struct tl_conf_raw_valid *valid;        /* optional */
    uint32_t valid_count;
    char crosswind_max_kt[TL_CONF_WORD_CAP]; /* optional */
    struct tl_conf_raw_angle *aid_angles;    /* optional */
    uint32_t aid_angles_count;
    char aid_angle_slack_kt[TL_CONF_WORD_CAP]; /* optional */
    struct tl_conf_raw_motion *motion;         /* optional */
    struct tl_conf_raw_figure *figures;        /* optional */
    uint32_t figures_count;
};

struct tl_conf_raw_engine {
    char unit[TL_CONF_WORD_CAP];
    char wire[TL_CONF_WORD_CAP];
    char in_service[TL_CONF_WORD_CAP];
};
struct tl_conf_raw_limits {
    char pendant_low_in[TL_CONF_WORD_CAP];
    char pendant_high_in[TL_CONF_WORD_CAP];
    char accumulator_min_psi[TL_CONF_WORD_CAP];
    char accumulator_max_psi[TL_CONF_WORD_CAP];
    char crosshead_min_in[TL_CONF_WORD_CAP];
    char detorque_first[TL_CONF_WORD_CAP];
    char detorque_first_limit[TL_CONF_WORD_CAP];
    char detorque_every[TL_CONF_WORD_CAP];
    char barricade_psi[TL_CONF_WORD_CAP];
    char barricade_cycles_max[TL_CONF_WORD_CAP];
    /* optional */
    char pendant_life[TL_CONF_WORD_CAP];
    char pendant_life_near[TL_CONF_WORD_CAP];
    char ram_travel_max_in[TL_CONF_WORD_CAP];
    char off_centre_max_ft[TL_CONF_WORD_CAP];
    char sides_apart_max_in[TL_CONF_WORD_CAP];
    char walk_back_max_ft[TL_CONF_WORD_CAP];
};
struct tl_conf_raw_barricade {
    char unit[TL_CONF_WORD_CAP];
    char **strip;
    uint32_t strip_count;
};
struct tl_conf_raw_gear {
    struct tl_conf_raw_engine *engines;
    uint32_t engines_count;
    char selector_min_lb[TL_CONF_WORD_CAP];
    char selector_max_lb[TL_CONF_WORD_CAP];
    char selector_step_lb[TL_CONF_WORD_CAP];
    char agree_tolerance_lb[TL_CONF_WORD_CAP];
    struct tl_conf_raw_limits *limits; /* optional */
    char wires_min[TL_CONF_WORD_CAP];  /* optional */
    char **target_of_usable;           /* optional */
    uint32_t target_of_usable_count;
    struct tl_conf_raw_barricade *barricade; /* optional */
    struct tl_conf_raw_figure *figures;      /* optional */
    uint32_t figures_count;
    char source[TL_CONF_LINE_CAP];
};

struct tl_conf_raw_type {
    char id[TL_CONF_WORD_CAP];
    char setting_lb[TL_CONF_WORD_CAP];
    char setting_tolerance_lb[TL_CONF_WORD_CAP];
    char max_trap_lb[TL_CONF_WORD_CAP];
    char final_approach_s[TL_CONF_WORD_CAP];
    char hook_to_eye_ft[TL_CONF_WORD_CAP];       /* optional */
    char min_headwind_kt[TL_CONF_WORD_CAP];      /* optional */
    char barricade_setting_lb[TL_CONF_WORD_CAP]; /* optional */
    char approach_kt[TL_CONF_WORD_CAP];          /* optional */
    char hook_load_max_lbf[TL_CONF_WORD_CAP];    /* optional */
    char thrust_lbf[TL_CONF_WORD_CAP];           /* optional */
    char source[TL_CONF_LINE_CAP];
};
struct tl_conf_raw_aircraft {
    struct tl_conf_raw_type *types;
    uint32_t types_count;
};

struct tl_conf_raw_node {
    char id[TL_CONF_WORD_CAP];
    char kind[TL_CONF_WORD_CAP];
    char unit[TL_CONF_WORD_CAP];     /* optional */
    char may_foul[TL_CONF_WORD_CAP]; /* optional */
    char may_stop[TL_CONF_WORD_CAP]; /* optional */
    char **voice_by;                 /* optional */
    uint32_t voice_by_count;
};
struct tl_conf_raw_stations {
    struct tl_conf_raw_node *nodes;
    uint32_t nodes_count;
    char clear_owner[TL_CONF_WORD_CAP];
    char repeater_reader[TL_CONF_WORD_CAP];
    char **override_by; /* optional */
    uint32_t override_by_count;
};

struct tl_conf_raw_bus_item {
    char id[TL_CONF_WORD_CAP];
    char ingress[TL_CONF_WORD_CAP];
    char egress[TL_CONF_WORD_CAP];
};
struct tl_conf_raw_bus {
    struct tl_conf_raw_bus_item *buses;
    uint32_t buses_count;
    char identity_dir[TL_CONF_PATH_CAP];
    char state_dir[TL_CONF_PATH_CAP];
    char run_dir[TL_CONF_PATH_CAP];
    char record_dir[TL_CONF_PATH_CAP]; /* optional */
};

struct tl_conf_raw_key {
    char node[TL_CONF_WORD_CAP];
    char epoch[TL_CONF_WORD_CAP];
    char identity[TL_CONF_WORD_CAP];
    char revoked[TL_CONF_WORD_CAP];
};
struct tl_conf_raw_keys {
    struct tl_conf_raw_key *keys;
    uint32_t keys_count;
};

/* Which of the six a file is. */
enum tl_conf_form {
    TL_CONF_SHIP = 0,
    TL_CONF_GEAR,
    TL_CONF_AIRCRAFT,
    TL_CONF_STATIONS,
    TL_CONF_BUS,
    TL_CONF_KEYS,
    TL_CONF_FORMS
};

/*
 * Read an outlined file by its schema.
 *
 * raw: out, a struct tl_conf_raw_* of that form; freed with tl_conf_schema_free; NULL on error.
 * Errors: TL_CONFIG with fault (unknown key, missing key, list or mapping in the wrong place, too
 * many or too few items, value too long or empty); TL_NOMEM with fault.
 */
TL_MUST_USE enum tl_err tl_conf_schema_read(const struct tl_conf_file *file, enum tl_conf_form form,
                                            void **raw, struct tl_conf_fault *fault);

/* raw may be NULL. */
void tl_conf_schema_free(enum tl_conf_form form, void *raw);

#endif
