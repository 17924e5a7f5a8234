/* SPDX-License-Identifier: Apache-2.0 */
/*
 * conf_schema - the tables for libcyaml, and its log turned into our sentence and our line
 *
 * libcyaml names the place of the event before a fault, which is often a line too early. So only
 * the words of its log are used (which key, in which item) and the line is looked up in the outline
 * of the file. Should its log ever look different, its own line is used.
 */
#include "proto/base/conf_schema.h"

#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cyaml/cyaml.h>

#define WORD(structure, member)                                                                    \
    CYAML_FIELD_STRING(#member, CYAML_FLAG_DEFAULT, struct structure, member, 1)
#define OPTIONAL_WORD(structure, member)                                                           \
    CYAML_FIELD_STRING(#member, CYAML_FLAG_OPTIONAL, struct structure, member, 1)
#define LIST(structure, member, entry, min, max)                                                   \
    CYAML_FIELD_SEQUENCE(#member, CYAML_FLAG_POINTER, struct structure, member, entry, min, max)
#define OPTIONAL_LIST(structure, member, entry, max)                                               \
    CYAML_FIELD_SEQUENCE(#member, CYAML_FLAG_POINTER | CYAML_FLAG_OPTIONAL, struct structure,      \
                         member, entry, 0, max)
#define ITEM(structure, fields)                                                                    \
    {                                                                                              \
        CYAML_VALUE_MAPPING(CYAML_FLAG_DEFAULT, struct structure, fields)                          \
    }
#define DOCUMENT(structure, fields)                                                                \
    {                                                                                              \
        CYAML_VALUE_MAPPING(CYAML_FLAG_POINTER, struct structure, fields)                          \
    }

static const cyaml_schema_field_t due_fields[] = {
    WORD(tl_conf_raw_due, rule),
    WORD(tl_conf_raw_due, after_order_s),
    OPTIONAL_WORD(tl_conf_raw_due, before_ramp_s),
    CYAML_FIELD_END,
};
static const cyaml_schema_value_t due_item = ITEM(tl_conf_raw_due, due_fields);

static const cyaml_schema_field_t off_fields[] = {
    WORD(tl_conf_raw_off, rule),
    WORD(tl_conf_raw_off, reason),
    CYAML_FIELD_END,
};
static const cyaml_schema_value_t off_item = ITEM(tl_conf_raw_off, off_fields);

static const cyaml_schema_field_t wind_fields[] = {
    WORD(tl_conf_raw_wind, valid_ms),
    WORD(tl_conf_raw_wind, heading_valid_ms),
    WORD(tl_conf_raw_wind, speed_valid_ms),
    WORD(tl_conf_raw_wind, keyed_valid_s),
    WORD(tl_conf_raw_wind, disagree_deg),
    WORD(tl_conf_raw_wind, disagree_kt),
    CYAML_FIELD_END,
};

static const cyaml_schema_field_t valid_fields[] = {
    WORD(tl_conf_raw_valid, datum),
    WORD(tl_conf_raw_valid, valid_s),
    CYAML_FIELD_END,
};
static const cyaml_schema_value_t valid_item = ITEM(tl_conf_raw_valid, valid_fields);

/* An id in a list of ids. */
static const cyaml_schema_value_t id_item = {
    CYAML_VALUE_STRING(CYAML_FLAG_POINTER, char, 1, TL_CONF_WORD_CAP - 1)};

static const cyaml_schema_field_t angle_fields[] = {
    WORD(tl_conf_raw_angle, from_kt),
    WORD(tl_conf_raw_angle, angle_deg),
    CYAML_FIELD_END,
};
static const cyaml_schema_value_t angle_item = ITEM(tl_conf_raw_angle, angle_fields);

static const cyaml_schema_field_t figure_fields[] = {
    WORD(tl_conf_raw_figure, figure),
    WORD(tl_conf_raw_figure, value),
    WORD(tl_conf_raw_figure, source),
    CYAML_FIELD_END,
};
static const cyaml_schema_value_t figure_item = ITEM(tl_conf_raw_figure, figure_fields);

static const cyaml_schema_field_t motion_fields[] = {
    WORD(tl_conf_raw_motion, pitch_max_deg), WORD(tl_conf_raw_motion, heave_max_m),
    WORD(tl_conf_raw_motion, roll_max_deg),  WORD(tl_conf_raw_motion, turn_max_deg_min),
    WORD(tl_conf_raw_motion, valid_ms),      CYAML_FIELD_END,
};

static const cyaml_schema_field_t ship_fields[] = {
    WORD(tl_conf_raw_ship, name),
    WORD(tl_conf_raw_ship, invented),
    WORD(tl_conf_raw_ship, deck_angle_deg),
    WORD(tl_conf_raw_ship, engine_readback),
    WORD(tl_conf_raw_ship, ramp_margin_s),
    OPTIONAL_LIST(tl_conf_raw_ship, due, &due_item, TL_RULES_MAX),
    OPTIONAL_LIST(tl_conf_raw_ship, rules_off, &off_item, TL_RULES_MAX),
    CYAML_FIELD_MAPPING("wind", CYAML_FLAG_DEFAULT, struct tl_conf_raw_ship, wind, wind_fields),
    OPTIONAL_WORD(tl_conf_raw_ship, sensor_valid_ms),
    OPTIONAL_WORD(tl_conf_raw_ship, tracks),
    OPTIONAL_LIST(tl_conf_raw_ship, valid, &valid_item, TL_DATUM_KINDS),
    OPTIONAL_WORD(tl_conf_raw_ship, crosswind_max_kt),
    OPTIONAL_LIST(tl_conf_raw_ship, aid_angles, &angle_item, TL_AID_ANGLES_MAX),
    OPTIONAL_WORD(tl_conf_raw_ship, aid_angle_slack_kt),
    CYAML_FIELD_MAPPING_PTR("motion", CYAML_FLAG_POINTER | CYAML_FLAG_OPTIONAL,
                            struct tl_conf_raw_ship, motion, motion_fields),
    OPTIONAL_LIST(tl_conf_raw_ship, figures, &figure_item, TL_FIGURES),
    CYAML_FIELD_END,
};

static const cyaml_schema_field_t engine_fields[] = {
    WORD(tl_conf_raw_engine, unit),
    WORD(tl_conf_raw_engine, wire),
    WORD(tl_conf_raw_engine, in_service),
    CYAML_FIELD_END,
};
static const cyaml_schema_value_t engine_item = ITEM(tl_conf_raw_engine, engine_fields);

static const cyaml_schema_field_t limits_fields[] = {
    WORD(tl_conf_raw_limits, pendant_low_in),
    WORD(tl_conf_raw_limits, pendant_high_in),
    WORD(tl_conf_raw_limits, accumulator_min_psi),
    WORD(tl_conf_raw_limits, accumulator_max_psi),
    WORD(tl_conf_raw_limits, crosshead_min_in),
    WORD(tl_conf_raw_limits, detorque_first),
    WORD(tl_conf_raw_limits, detorque_first_limit),
    WORD(tl_conf_raw_limits, detorque_every),
    WORD(tl_conf_raw_limits, barricade_psi),
    WORD(tl_conf_raw_limits, barricade_cycles_max),
    OPTIONAL_WORD(tl_conf_raw_limits, pendant_life),
    OPTIONAL_WORD(tl_conf_raw_limits, pendant_life_near),
    OPTIONAL_WORD(tl_conf_raw_limits, ram_travel_max_in),
    OPTIONAL_WORD(tl_conf_raw_limits, off_centre_max_ft),
    OPTIONAL_WORD(tl_conf_raw_limits, sides_apart_max_in),
    OPTIONAL_WORD(tl_conf_raw_limits, walk_back_max_ft),
    CYAML_FIELD_END,
};

static const cyaml_schema_field_t barricade_fields[] = {
    WORD(tl_conf_raw_barricade, unit),
    LIST(tl_conf_raw_barricade, strip, &id_item, 1, TL_ENGINES_MAX),
    CYAML_FIELD_END,
};

static const cyaml_schema_field_t gear_fields[] = {
    LIST(tl_conf_raw_gear, engines, &engine_item, 1, TL_ENGINES_MAX),
    WORD(tl_conf_raw_gear, selector_min_lb),
    WORD(tl_conf_raw_gear, selector_max_lb),
    WORD(tl_conf_raw_gear, selector_step_lb),
    WORD(tl_conf_raw_gear, agree_tolerance_lb),
    CYAML_FIELD_MAPPING_PTR("limits", CYAML_FLAG_POINTER | CYAML_FLAG_OPTIONAL,
                            struct tl_conf_raw_gear, limits, limits_fields),
    OPTIONAL_WORD(tl_conf_raw_gear, wires_min),
    OPTIONAL_LIST(tl_conf_raw_gear, target_of_usable, &id_item, TL_ENGINES_MAX),
    CYAML_FIELD_MAPPING_PTR("barricade", CYAML_FLAG_POINTER | CYAML_FLAG_OPTIONAL,
                            struct tl_conf_raw_gear, barricade, barricade_fields),
    OPTIONAL_LIST(tl_conf_raw_gear, figures, &figure_item, TL_FIGURES),
    WORD(tl_conf_raw_gear, source),
    CYAML_FIELD_END,
};

static const cyaml_schema_field_t type_fields[] = {
    WORD(tl_conf_raw_type, id),
    WORD(tl_conf_raw_type, setting_lb),
    WORD(tl_conf_raw_type, setting_tolerance_lb),
    WORD(tl_conf_raw_type, max_trap_lb),
    WORD(tl_conf_raw_type, final_approach_s),
    OPTIONAL_WORD(tl_conf_raw_type, hook_to_eye_ft),
    OPTIONAL_WORD(tl_conf_raw_type, min_headwind_kt),
    OPTIONAL_WORD(tl_conf_raw_type, barricade_setting_lb),
    OPTIONAL_WORD(tl_conf_raw_type, approach_kt),
    OPTIONAL_WORD(tl_conf_raw_type, hook_load_max_lbf),
    OPTIONAL_WORD(tl_conf_raw_type, thrust_lbf),
    WORD(tl_conf_raw_type, source),
    CYAML_FIELD_END,
};
static const cyaml_schema_value_t type_item = ITEM(tl_conf_raw_type, type_fields);

static const cyaml_schema_field_t aircraft_fields[] = {
    LIST(tl_conf_raw_aircraft, types, &type_item, 1, TL_TYPES_MAX),
    CYAML_FIELD_END,
};

static const cyaml_schema_field_t node_fields[] = {
    WORD(tl_conf_raw_node, id),
    WORD(tl_conf_raw_node, kind),
    OPTIONAL_WORD(tl_conf_raw_node, unit),
    OPTIONAL_WORD(tl_conf_raw_node, may_foul),
    OPTIONAL_WORD(tl_conf_raw_node, may_stop),
    OPTIONAL_LIST(tl_conf_raw_node, voice_by, &id_item, TL_STATIONS_MAX),
    CYAML_FIELD_END,
};
static const cyaml_schema_value_t node_item = ITEM(tl_conf_raw_node, node_fields);

static const cyaml_schema_field_t stations_fields[] = {
    LIST(tl_conf_raw_stations, nodes, &node_item, 1, TL_NODES_MAX),
    WORD(tl_conf_raw_stations, clear_owner),
    WORD(tl_conf_raw_stations, repeater_reader),
    OPTIONAL_LIST(tl_conf_raw_stations, override_by, &id_item, TL_STATIONS_MAX),
    CYAML_FIELD_END,
};

static const cyaml_schema_field_t bus_item_fields[] = {
    WORD(tl_conf_raw_bus_item, id),
    WORD(tl_conf_raw_bus_item, ingress),
    WORD(tl_conf_raw_bus_item, egress),
    CYAML_FIELD_END,
};
static const cyaml_schema_value_t bus_item = ITEM(tl_conf_raw_bus_item, bus_item_fields);

static const cyaml_schema_field_t bus_fields[] = {
    LIST(tl_conf_raw_bus, buses, &bus_item, 1, TL_BUSES_MAX),
    WORD(tl_conf_raw_bus, identity_dir),
    WORD(tl_conf_raw_bus, state_dir),
    WORD(tl_conf_raw_bus, run_dir),
    OPTIONAL_WORD(tl_conf_raw_bus, record_dir),
    CYAML_FIELD_END,
};

static const cyaml_schema_field_t key_fields[] = {
    WORD(tl_conf_raw_key, node),
    WORD(tl_conf_raw_key, epoch),
    WORD(tl_conf_raw_key, identity),
    WORD(tl_conf_raw_key, revoked),
    CYAML_FIELD_END,
};
static const cyaml_schema_value_t key_item = ITEM(tl_conf_raw_key, key_fields);

static const cyaml_schema_field_t keys_fields[] = {
    LIST(tl_conf_raw_keys, keys, &key_item, 0, TL_KEYS_MAX),
    CYAML_FIELD_END,
};

static const cyaml_schema_value_t documents[TL_CONF_FORMS] = {
    [TL_CONF_SHIP] = DOCUMENT(tl_conf_raw_ship, ship_fields),
    [TL_CONF_GEAR] = DOCUMENT(tl_conf_raw_gear, gear_fields),
    [TL_CONF_AIRCRAFT] = DOCUMENT(tl_conf_raw_aircraft, aircraft_fields),
    [TL_CONF_STATIONS] = DOCUMENT(tl_conf_raw_stations, stations_fields),
    [TL_CONF_BUS] = DOCUMENT(tl_conf_raw_bus, bus_fields),
    [TL_CONF_KEYS] = DOCUMENT(tl_conf_raw_keys, keys_fields),
};

enum {
    PATH_CAP = 160,
    DETAIL_CAP = 160
};

/* What libcyaml logged about one fault. */
struct log {
    char detail[DETAIL_CAP];         /* first line, without "Load: " and newline */
    char path[PATH_CAP];             /* "nodes[3].id", built from the backtrace, innermost last */
    char inner[TL_CONF_KEY_CAP];     /* innermost named field; "" if the innermost is none */
    char word[TL_CONF_KEY_CAP + 16]; /* the key that the fault is about */
    uint32_t line;                   /* of the innermost place, by libcyaml */
    unsigned places;                 /* lines of backtrace seen */
};

static void
put_before(struct log *log, const char *part)
{
    char path[2 * PATH_CAP];
    bool joins = part[0] == '\0' || log->path[0] == '\0' || log->path[0] == '[';

    (void)snprintf(path, sizeof path, "%s%s%s", part, joins ? "" : ".", log->path);
    (void)snprintf(log->path, sizeof log->path, "%.*s", PATH_CAP - 1, path);
}

/* The first number in a text; 0 if there is none, or no text. */
static uint32_t
first_number(const char *text)
{
    const char *at = text == NULL ? NULL : strpbrk(text, "0123456789");
    unsigned long number = at == NULL ? 0 : strtoul(at, NULL, 10);

    return number > UINT32_MAX ? 0 : (uint32_t)number;
}

/* One line of the backtrace, which comes innermost first. */
static void
take_place(struct log *log, const char *text)
{
    static const char field_mark[] = "in mapping field '";
    static const char entry_mark[] = "in sequence entry '";
    char part[TL_CONF_KEY_CAP] = "";
    bool is_field = strncmp(text, field_mark, sizeof field_mark - 1) == 0;

    if (is_field) {
        const char *name = text + sizeof field_mark - 1;
        (void)snprintf(part, sizeof part, "%.*s", (int)strcspn(name, "'"), name);
    } else if (strncmp(text, entry_mark, sizeof entry_mark - 1) == 0) {
        uint32_t place = first_number(text); /* from 1 */
        (void)snprintf(part, sizeof part, "[%u]", place > 0 ? place - 1 : 0);
    }
    put_before(log, part);
    if (log->places++ == 0) {
        memcpy(log->inner, is_field ? part : "", is_field ? sizeof part : 1);
        log->line = first_number(strstr(text, "(line: "));
    }
}

static void take_log(cyaml_log_t level, void *context, const char *fmt, va_list args)
    __attribute__((format(printf, 3, 0)));

static void
take_log(cyaml_log_t level, void *context, const char *fmt, va_list args)
{
    static const char prefix[] = "Load: ";
    struct log *log = context;
    char text[DETAIL_CAP];

    (void)level;
    if (vsnprintf(text, sizeof text, fmt, args) < 0) {
        return;
    }
    text[strcspn(text, "\n")] = '\0';
    if (strncmp(text, prefix, sizeof prefix - 1) != 0) {
        take_place(log, text + strspn(text, " "));
        return;
    }
    const char *rest = text + sizeof prefix - 1;
    const char *colon = strstr(rest, ": ");
    if (log->detail[0] == '\0') {
        (void)snprintf(log->detail, sizeof log->detail, "%s", rest);
        (void)snprintf(log->word, sizeof log->word, "%.40s", colon == NULL ? "" : colon + 2);
    }
}

/* The path of the mapping that holds the innermost place. */
static void
drop_inner(struct log *log)
{
    size_t len = strlen(log->path);
    size_t inner = strlen(log->inner);

    if (inner > 0 && inner <= len) {
        len -= inner;
        log->path[len > 0 && log->path[len - 1] == '.' ? len - 1 : len] = '\0';
    }
}

static uint32_t
line_of(const struct log *log, const struct tl_conf_file *file, const char *key)
{
    char path[PATH_CAP + TL_CONF_KEY_CAP + 1];

    bool joins = log->path[0] == '\0' || key[0] == '\0' || key[0] == '[';

    (void)snprintf(path, sizeof path, "%s%s%.*s", log->path, joins ? "" : ".", TL_CONF_KEY_CAP - 1,
                   key);
    uint32_t line = tl_conf_file_line(file, path);
    return line == 0 ? log->line : line;
}

/* The setting or list that the fault is in, as the person wrote it. */
static const char *
name_place(const struct log *log)
{
    return log->path[0] == '\0' ? "the file" : log->path;
}

static enum tl_err
say_shape(const struct log *log, const struct tl_conf_file *file, struct tl_conf_fault *fault)
{
    const char *want = "one value, not a list or a mapping";

    if (strstr(log->detail, "SEQUENCE, got") != NULL) {
        want = "a list of items that begin with -";
    } else if (strstr(log->detail, "MAPPING, got") != NULL) {
        want = "settings of the form key: value";
    }
    return tl_conf_fault_at(fault, file->name, line_of(log, file, ""), "%s must be %s",
                            name_place(log), want);
}

/* Too many or too few items: the first that is too many, or the list. */
static enum tl_err
say_count(struct log *log, const struct tl_conf_file *file, struct tl_conf_fault *fault)
{
    uint32_t most = first_number(log->detail);
    char extra[TL_CONF_KEY_CAP] = "";
    char *bracket = strrchr(log->path, '[');

    if (bracket != NULL) {
        *bracket = '\0';
    }
    if (most == 0) { /* "Insufficient entries (0 of 1 min)" */
        return tl_conf_fault_at(fault, file->name, line_of(log, file, ""),
                                "%s is empty; add at least one item", name_place(log));
    }
    (void)snprintf(extra, sizeof extra, "[%u]", most);
    return tl_conf_fault_at(fault, file->name, line_of(log, file, extra),
                            "%s has more items than the %u that are possible; remove some",
                            name_place(log), most);
}

static enum tl_err
say_fault(cyaml_err_t code, struct log *log, const struct tl_conf_file *file,
          struct tl_conf_fault *fault)
{
    switch ((int)code) {
    case CYAML_ERR_INVALID_KEY:
        return tl_conf_fault_at(fault, file->name, line_of(log, file, log->word),
                                "unknown key \"%s\"; correct or remove it", log->word);
    case CYAML_ERR_MAPPING_FIELD_MISSING:
        drop_inner(log);
        return tl_conf_fault_at(fault, file->name, line_of(log, file, ""),
                                "key \"%s\" is missing in %s; add it", log->word, name_place(log));
    case CYAML_ERR_SEQUENCE_ENTRIES_MAX:
    case CYAML_ERR_SEQUENCE_ENTRIES_MIN:
        return say_count(log, file, fault);
    case CYAML_ERR_STRING_LENGTH_MIN:
        return tl_conf_fault_at(fault, file->name, line_of(log, file, ""),
                                "%s has no value; write one", name_place(log));
    case CYAML_ERR_STRING_LENGTH_MAX:
        return tl_conf_fault_at(fault, file->name, line_of(log, file, ""),
                                "%s is longer than %u bytes; shorten it", name_place(log),
                                first_number(log->detail));
    case CYAML_ERR_INVALID_VALUE:
        return say_shape(log, file, fault);
    default:
        return tl_conf_fault_at(fault, file->name, line_of(log, file, ""),
                                "cannot be used (%s); compare it with the demo file", log->detail);
    }
}

static const cyaml_config_t quiet = {
    .mem_fn = cyaml_mem, .log_level = CYAML_LOG_ERROR, .flags = CYAML_CFG_NO_ALIAS};

enum tl_err
tl_conf_schema_read(const struct tl_conf_file *file, enum tl_conf_form form, void **raw,
                    struct tl_conf_fault *fault)
{
    struct log log = {.line = 1};
    cyaml_config_t config = quiet;

    *raw = NULL;
    config.log_fn = take_log;
    config.log_ctx = &log;
    cyaml_err_t code =
        cyaml_load_data(file->bytes, file->len, &config, &documents[form], raw, NULL);
    if (code == CYAML_OK && *raw != NULL) {
        return TL_OK;
    }
    *raw = NULL;
    enum tl_err err = say_fault(code, &log, file, fault);
    return code == CYAML_ERR_OOM ? TL_NOMEM : err;
}

void
tl_conf_schema_free(enum tl_conf_form form, void *raw)
{
    if (raw != NULL) {
        (void)cyaml_free(&quiet, &documents[form], raw, 0);
    }
}
