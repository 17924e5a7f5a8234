/* SPDX-License-Identifier: Apache-2.0 */
/*
 * config.h - the configuration folder as the programs hold it: plain data, no file, no parser.
 *
 * proto/base/conf.h fills it. Whoever reads it may rely on: ids unique and well formed, every
 * reference resolved, counts within limits, units as named. No figure of a ship, an aircraft or a
 * gear stands anywhere else.
 */
#ifndef TL_VOCAB_CONFIG_H
#define TL_VOCAB_CONFIG_H

#include "proto/vocab/figures.h"
#include "proto/vocab/message.h"
#include "proto/vocab/rules.h"

enum tl_node_kind {
    TL_NODE_UNKNOWN = 0,
    TL_NODE_STATION,
    TL_NODE_VALIDATOR,
    TL_NODE_RECORDER,
    TL_NODE_RELAY, /* a broker; its id is the bus id */
    TL_NODE_VIEWER
};

struct tl_node {
    char id[TL_ID_CAP];
    enum tl_node_kind kind;
    enum tl_station_kind station; /* when kind is STATION */
    uint32_t unit;                /* engines: 1..; else 0 */
    bool may_foul;                /* may say FOUL; the owner of CLEAR always may */
    bool may_stop;                /* may say STOP */
    bool may_override;            /* may sign an override */
    uint32_t voice_by;            /* who may speak for it by voice: bits of tl_config_place */
};

struct tl_key {
    char node[TL_ID_CAP];
    uint32_t epoch;       /* 1.. */
    uint8_t identity[32]; /* Ed25519 public key */
    bool revoked;
};

struct tl_bus {
    char id[TL_ID_CAP];
    char ingress[TL_ENDPOINT_CAP]; /* nodes publish here: tcp://ADDR:PORT */
    char egress[TL_ENDPOINT_CAP];  /* nodes subscribe here */
};

struct tl_aircraft_type {
    char id[TL_TYPE_CAP];
    uint32_t setting_lb;           /* what an engine is set to for this type */
    uint32_t setting_tolerance_lb; /* either side */
    uint32_t max_trap_lb;
    uint32_t final_approach_s;     /* pilot's call to the ramp */
    uint32_t hook_to_eye_ft_x100;  /* 0 = not given */
    uint32_t min_headwind_kt_x10;  /* down the landing axis; 0 = not given */
    uint32_t barricade_setting_lb; /* of the barricade's engine; 0 = not into the barricade */
    uint32_t approach_kt_x10;      /* calibrated airspeed on final at max_trap_lb; 0 = not given */
    uint32_t hook_load_max_lbf;    /* that hook and frame may take; 0 = not given */
    uint32_t thrust_lbf;           /* held during the pull-out; 0 = idle */
};

struct tl_engine_gear {
    uint32_t unit; /* 1.. */
    uint32_t wire; /* 1.. */
    bool in_service;
};
/* Bounds that are still good; see gear.yaml. `given` false: no rule that needs them is on. */
struct tl_gear_limits {
    bool given;
    uint32_t pendant_low_in_x100, pendant_high_in_x100;
    uint32_t accumulator_min_psi, accumulator_max_psi;
    uint32_t crosshead_min_in_x100;
    uint32_t detorque_first, detorque_first_limit, detorque_every;
    uint32_t barricade_psi, barricade_cycles_max;
    /* 0 = not given */
    uint32_t pendant_life, pendant_life_near; /* traps; left when it is near */
    uint32_t ram_travel_max_in_x10, off_centre_max_ft_x10;
    uint32_t sides_apart_max_in_x10, walk_back_max_ft_x10;
};
/* The engine that the barricade is reeved to, and the wires whose pendants it needs off. */
struct tl_barricade_gear {
    uint32_t unit;  /* 0 = this ship has none */
    uint32_t strip; /* bit of a wire: 1 << wire */
};
struct tl_gear {
    uint32_t engine_count;
    struct tl_engine_gear engine[TL_ENGINES_MAX];
    uint32_t selector_min_lb, selector_max_lb, selector_step_lb;
    uint32_t agree_tolerance_lb; /* ordered, set and repeater */
    struct tl_gear_limits limits;
    uint32_t wires_min;                        /* usable wires without an override; 0 = not given */
    uint32_t target_of_usable[TL_ENGINES_MAX]; /* with n usable, which of them; 0 = not given */
    struct tl_barricade_gear barricade;
};

/* Bounds of the computed figures, from the figures of gear.yaml and ship.yaml; 0 = not given. */
struct tl_computed_limits {
    uint32_t capacity_kftlb;
    uint32_t energy_margin_least_percent;
    uint32_t travel_apart_percent_x10;
    uint32_t ramp_clearance_least_ft_x10;
    uint32_t touchdown_band_ft_x10;
};

/* How a trap wears, from the figures of gear.yaml; 0 = not given. */
struct tl_wear_figures {
    uint32_t exponent, reference_percent; /* both or none */
    uint32_t inspect_percent;
};

/* A basic angle of the landing aid from a wind over deck on. */
struct tl_aid_angle {
    uint32_t from_kt_x10;
    uint32_t angle_deg_x100;
};
/* Limits of what the ship itself does; `given` false: no rule that needs them is on. */
struct tl_motion_limits {
    bool given;
    uint32_t pitch_max_deg_x10, heave_max_m_x100; /* deck motion, either side of level */
    uint32_t roll_max_deg_x10, turn_max_deg_min_x10;
    uint32_t valid_ms;
};

struct tl_ship {
    char name[TL_ID_CAP];
    bool invented;
    double deck_angle_deg;
    uint32_t engine_readback_keyed;           /* 1: the number is keyed each time */
    uint32_t due_after_order_s[TL_RULES_MAX]; /* by rule; 0 = at once */
    uint32_t due_before_ramp_s[TL_RULES_MAX]; /* by rule; 0 = no such due */
    uint32_t ramp_margin_s;
    bool rule_off[TL_RULES_MAX];
    char rule_off_reason[TL_RULES_MAX][TL_TEXT_CAP];
    /* how long a sensor's sentence counts, ms, and when two winds disagree */
    uint32_t wind_valid_ms, heading_valid_ms, speed_valid_ms;
    uint32_t keyed_wind_valid_s;
    double wind_disagree_deg, wind_disagree_kt;
    uint32_t crosswind_max_kt_x10; /* 0 = not given */
    uint32_t aid_angle_count;
    struct tl_aid_angle aid_angle[TL_AID_ANGLES_MAX]; /* rising */
    uint32_t aid_angle_slack_kt_x10;                  /* either side of a change of angle */
    struct tl_motion_limits motion;
    uint32_t sensor_valid_ms;         /* how long a line of a --feed counts; 0 = not given */
    uint32_t track_count;             /* catapult tracks in the landing area */
    uint32_t valid_s[TL_DATUM_KINDS]; /* a word older than this is not known; 0 = no limit */
};

struct tl_config {
    char dir[TL_PATH_CAP];
    char identity_dir[TL_PATH_CAP], state_dir[TL_PATH_CAP], run_dir[TL_PATH_CAP];
    char record_dir[TL_PATH_CAP]; /* the recorder's files */
    struct tl_ship ship;
    struct tl_gear gear;
    struct tl_figures figures; /* of gear.yaml and ship.yaml together */
    struct tl_computed_limits computed;
    struct tl_wear_figures wear;
    uint32_t type_count;
    struct tl_aircraft_type type[TL_TYPES_MAX];
    uint32_t node_count;
    struct tl_node node[TL_NODES_MAX];
    uint32_t bus_count;
    struct tl_bus bus[TL_BUSES_MAX];
    uint32_t key_count;
    struct tl_key key[TL_KEYS_MAX];
    char clear_owner[TL_ID_CAP];
    char repeater_reader[TL_ID_CAP]; /* station that may state repeaters */
    uint8_t judgement_digest[TL_DIGEST_LEN];
    uint8_t key_digest[TL_DIGEST_LEN];
};

/* Place of a station among the stations, 0..TL_STATIONS_MAX-1; -1 = none of that name. */
int tl_config_place(const struct tl_config *config, const char *id);
/* The station at that place, or NULL. */
const struct tl_node *tl_config_at(const struct tl_config *config, uint32_t place);

/* NULL when there is none of that name. */
const struct tl_node *tl_config_node(const struct tl_config *config, const char *id);
const struct tl_node *tl_config_station(const struct tl_config *config, enum tl_station_kind kind,
                                        uint32_t unit);
const struct tl_aircraft_type *tl_config_type(const struct tl_config *config, const char *id);
const struct tl_engine_gear *tl_config_engine(const struct tl_config *config, uint32_t unit);
/* Whether one of its engines has that wire. */
bool tl_gear_has_wire(const struct tl_gear *gear, uint32_t wire);
/* Key of that node and epoch, revoked or not. */
const struct tl_key *tl_config_key(const struct tl_config *config, const char *node,
                                   uint32_t epoch);

const char *tl_station_kind_name(enum tl_station_kind kind);
const char *tl_node_kind_name(enum tl_node_kind kind);

/*
 * True when that station may state that datum: kind by station kind, what is of an engine by its
 * own engine only (slot 0), REPEATER by the configured reader, CLEAR by its owner, FOUL, STOP and
 * overrides by right; by voice where the other station's row names it, and that one may.
 */
bool tl_config_may_state(const struct tl_config *config, const struct tl_node *node,
                         const struct tl_datum *datum);

/* True when stations.yaml lets that station say by voice what the other owes. */
bool tl_config_may_speak_for(const struct tl_config *config, const struct tl_node *node,
                             const struct tl_node *other);

/* True when a node of that kind may publish on that topic (level 2 must be its own id). */
bool tl_config_may_publish(const struct tl_node *node, const struct tl_topic *topic);

#endif
