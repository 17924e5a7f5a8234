/* SPDX-License-Identifier: Apache-2.0 */
/*
 * conf_ship - ship.yaml: the deck, what is due when, which rules are off and why, the wind
 */
#include "proto/base/conf_take.h"

#include <string.h>

/* A rule of this tool's own health is never a matter of choice. */
static enum tl_err
take_rule(const struct tl_conf_item *item, const char *name, enum tl_rule *rule)
{
    const struct tl_rule_row *row = tl_rule_row((uint32_t)tl_rule_by_name(name));

    if (row == NULL) {
        return tl_conf_say(item, "rule", "rule \"%.40s\" is not known; correct it or remove it",
                           name);
    }
    if (row->kind == TL_CAUSE_PICTURE) {
        return tl_conf_say(item, "rule",
                           "rule %s is of the picture itself and can be neither off nor due later; "
                           "remove it",
                           row->name);
    }
    *rule = row->rule;
    return TL_OK;
}

static enum tl_err
take_due(const struct tl_conf_item *item, const struct tl_conf_raw_due *raw, struct tl_ship *ship,
         bool *seen)
{
    static const struct tl_conf_range after = {0, 3600, "s"};
    static const struct tl_conf_range before = {0, 600, "s"};
    enum tl_rule rule = TL_RULE_NONE;
    enum tl_err err = take_rule(item, raw->rule, &rule);

    if (err != TL_OK) {
        return err;
    }
    if (seen[rule]) {
        return tl_conf_say(item, "rule", "rule %s has a due twice; remove one", raw->rule);
    }
    seen[rule] = true;
    err = tl_conf_number((struct tl_conf_field){item, "after_order_s", raw->after_order_s}, &after,
                         &ship->due_after_order_s[rule]);
    if (err != TL_OK || raw->before_ramp_s[0] == '\0') {
        return err;
    }
    return tl_conf_number((struct tl_conf_field){item, "before_ramp_s", raw->before_ramp_s},
                          &before, &ship->due_before_ramp_s[rule]);
}

static enum tl_err
take_dues(const struct tl_conf_item *top, const struct tl_conf_raw_ship *raw, struct tl_ship *ship)
{
    bool seen[TL_RULES_MAX] = {false};
    enum tl_err err = TL_OK;

    for (uint32_t i = 0; i < raw->due_count && err == TL_OK; i++) {
        struct tl_conf_item item = tl_conf_item_of(top->file, top->fault, "due", i);
        err = take_due(&item, &raw->due[i], ship, seen);
    }
    return err;
}

static enum tl_err
switch_off(const struct tl_conf_item *item, const struct tl_conf_raw_off *off, enum tl_rule rule,
           struct tl_ship *ship)
{
    if (ship->rule_off[rule]) {
        return tl_conf_say(item, "rule", "rule %s is off twice; remove one",
                           tl_rule_row((uint32_t)rule)->name);
    }
    enum tl_err err = tl_conf_text((struct tl_conf_field){item, "reason", off->reason},
                                   ship->rule_off_reason[rule], sizeof ship->rule_off_reason[rule]);
    ship->rule_off[rule] = err == TL_OK;
    return err;
}

/* "all-of-wires": every rule whose input that station gives. UNKNOWN: not of this form. */
static enum tl_station_kind
all_of_kind(const char *name)
{
    static const char prefix[] = "all-of-";

    if (strncmp(name, prefix, sizeof prefix - 1) != 0) {
        return TL_STATION_UNKNOWN;
    }
    for (int kind = TL_STATION_WIRES; kind < TL_STATION_KINDS; kind++) {
        if (strcmp(name + sizeof prefix - 1, tl_station_kind_name((enum tl_station_kind)kind)) ==
            0) {
            return (enum tl_station_kind)kind;
        }
    }
    return TL_STATION_UNKNOWN;
}

static enum tl_err
switch_off_all(const struct tl_conf_item *item, const struct tl_conf_raw_off *off,
               enum tl_station_kind kind, struct tl_ship *ship)
{
    size_t count = 0;
    const struct tl_rule_row *rows = tl_rule_rows(&count);
    enum tl_err err = TL_OK;

    for (size_t i = 0; i < count && err == TL_OK; i++) {
        if (rows[i].from == kind) {
            err = switch_off(item, off, rows[i].rule, ship);
        }
    }
    return err;
}

/* "all-of-mechanics": every rule that judges a computed figure. */
static enum tl_err
switch_off_computed(const struct tl_conf_item *item, const struct tl_conf_raw_off *off,
                    struct tl_ship *ship)
{
    size_t count = 0;
    const struct tl_rule_row *rows = tl_rule_rows(&count);
    enum tl_err err = TL_OK;

    for (size_t i = 0; i < count && err == TL_OK; i++) {
        if (rows[i].computed) {
            err = switch_off(item, off, rows[i].rule, ship);
        }
    }
    return err;
}

/* One item of rules_off: a rule, or a set of rules. */
static enum tl_err
take_off(const struct tl_conf_item *item, const struct tl_conf_raw_off *off, struct tl_ship *ship)
{
    enum tl_rule rule = TL_RULE_NONE;
    enum tl_station_kind kind = all_of_kind(off->rule);

    if (kind != TL_STATION_UNKNOWN) {
        return switch_off_all(item, off, kind, ship);
    }
    if (strcmp(off->rule, "all-of-mechanics") == 0) {
        return switch_off_computed(item, off, ship);
    }
    enum tl_err err = take_rule(item, off->rule, &rule);
    return err == TL_OK ? switch_off(item, off, rule, ship) : err;
}

static enum tl_err
take_rules_off(const struct tl_conf_item *top, const struct tl_conf_raw_ship *raw,
               struct tl_ship *ship)
{
    for (uint32_t i = 0; i < raw->rules_off_count; i++) {
        const struct tl_conf_raw_off *off = &raw->rules_off[i];
        struct tl_conf_item item = tl_conf_item_of(top->file, top->fault, "rules_off", i);
        enum tl_err err = take_off(&item, off, ship);
        if (err != TL_OK) {
            return err;
        }
    }
    return TL_OK;
}

/* How long words count; a kind that is not listed has no limit. */
static enum tl_err
take_valid(const struct tl_conf_item *top, const struct tl_conf_raw_ship *raw, struct tl_ship *ship)
{
    static const struct tl_conf_range seconds = {1, 604800, "s"};

    for (uint32_t i = 0; i < raw->valid_count; i++) {
        const struct tl_conf_raw_valid *valid = &raw->valid[i];
        struct tl_conf_item item = tl_conf_item_of(top->file, top->fault, "valid", i);
        enum tl_datum_kind kind = tl_datum_kind_by_name(valid->datum);
        if (kind == TL_DATUM_UNKNOWN || tl_datum_cadence(kind) != TL_CADENCE_UNTIL_CHANGED ||
            kind < TL_DATUM_RIG) {
            return tl_conf_say(&item, "datum",
                               "datum \"%.40s\" has no time of validity; name one of the gear that "
                               "stands until it is changed",
                               valid->datum);
        }
        if (ship->valid_s[kind] != 0) {
            return tl_conf_say(&item, "datum", "datum %s is listed twice; remove one",
                               valid->datum);
        }
        enum tl_err err = tl_conf_number((struct tl_conf_field){&item, "valid_s", valid->valid_s},
                                         &seconds, &ship->valid_s[kind]);
        if (err != TL_OK) {
            return err;
        }
    }
    return TL_OK;
}

static enum tl_err
take_wind(const struct tl_conf_file *file, const struct tl_conf_raw_wind *raw, struct tl_ship *ship,
          struct tl_conf_fault *fault)
{
    /* A sensor sends once a second or faster; a minute-old sentence is no wind. */
    static const struct tl_conf_range valid = {200, 60000, "ms"};
    static const struct tl_conf_range keyed = {1, 3600, "s"};
    static const struct tl_conf_range angle = {1000, 180000, "degrees"};
    static const struct tl_conf_range speed = {1000, 50000, "kt"};
    struct tl_conf_item item = {.file = file, .fault = fault, .path = "wind"};
    const struct {
        struct tl_conf_field field;
        const struct tl_conf_range *range;
        uint32_t *out;
    } numbers[] = {
        {{&item, "valid_ms", raw->valid_ms}, &valid, &ship->wind_valid_ms},
        {{&item, "heading_valid_ms", raw->heading_valid_ms}, &valid, &ship->heading_valid_ms},
        {{&item, "speed_valid_ms", raw->speed_valid_ms}, &valid, &ship->speed_valid_ms},
        {{&item, "keyed_valid_s", raw->keyed_valid_s}, &keyed, &ship->keyed_wind_valid_s},
    };
    enum tl_err err = TL_OK;

    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0] && err == TL_OK; i++) {
        err = tl_conf_number(numbers[i].field, numbers[i].range, numbers[i].out);
    }
    if (err == TL_OK) {
        err = tl_conf_decimal((struct tl_conf_field){&item, "disagree_deg", raw->disagree_deg},
                              &angle, &ship->wind_disagree_deg);
    }
    if (err == TL_OK) {
        err = tl_conf_decimal((struct tl_conf_field){&item, "disagree_kt", raw->disagree_kt},
                              &speed, &ship->wind_disagree_kt);
    }
    return err;
}

static enum tl_err
take_deck(const struct tl_conf_item *top, const struct tl_conf_raw_ship *raw, struct tl_ship *ship)
{
    static const char *const readbacks[] = {"offered", "keyed"};
    static const struct tl_conf_range angle = {0, 20000, "degrees"};
    static const struct tl_conf_range margin = {0, 60, "s"};
    size_t readback = 0;
    enum tl_err err =
        tl_conf_text((struct tl_conf_field){top, "name", raw->name}, ship->name, sizeof ship->name);

    if (err == TL_OK) {
        err = tl_conf_bool((struct tl_conf_field){top, "invented", raw->invented}, &ship->invented);
    }
    if (err == TL_OK) {
        err = tl_conf_decimal((struct tl_conf_field){top, "deck_angle_deg", raw->deck_angle_deg},
                              &angle, &ship->deck_angle_deg);
    }
    if (err == TL_OK) {
        err = tl_conf_choice((struct tl_conf_field){top, "engine_readback", raw->engine_readback},
                             readbacks, sizeof readbacks / sizeof readbacks[0], &readback);
    }
    if (err == TL_OK) {
        ship->engine_readback_keyed = readback == 1 ? 1 : 0;
        err = tl_conf_number((struct tl_conf_field){top, "ramp_margin_s", raw->ramp_margin_s},
                             &margin, &ship->ramp_margin_s);
    }
    return err;
}

enum tl_err
tl_conf_take_ship(const struct tl_conf_file *file, struct tl_config *config,
                  struct tl_conf_fault *fault)
{
    struct tl_conf_item top = tl_conf_item_of(file, fault, NULL, 0);
    void *read = NULL;
    enum tl_err err = tl_conf_schema_read(file, TL_CONF_SHIP, &read, fault);

    if (err != TL_OK) {
        return err;
    }
    const struct tl_conf_raw_ship *raw = read;
    memset(&config->ship, 0, sizeof config->ship);
    err = take_deck(&top, raw, &config->ship);
    if (err == TL_OK) {
        err = take_dues(&top, raw, &config->ship);
    }
    if (err == TL_OK) {
        err = take_rules_off(&top, raw, &config->ship);
    }
    if (err == TL_OK) {
        err = take_valid(&top, raw, &config->ship);
    }
    if (err == TL_OK && raw->sensor_valid_ms[0] != '\0') {
        static const struct tl_conf_range valid = {200, 60000, "ms"};
        err = tl_conf_number((struct tl_conf_field){&top, "sensor_valid_ms", raw->sensor_valid_ms},
                             &valid, &config->ship.sensor_valid_ms);
    }
    if (err == TL_OK && raw->tracks[0] != '\0') {
        static const struct tl_conf_range tracks = {1, TL_TRACKS_MAX, "tracks"};
        err = tl_conf_number((struct tl_conf_field){&top, "tracks", raw->tracks}, &tracks,
                             &config->ship.track_count);
    }
    if (err == TL_OK) {
        err = take_wind(file, &raw->wind, &config->ship, fault);
    }
    if (err == TL_OK) {
        err = tl_conf_take_sea(&top, raw, &config->ship);
    }
    if (err == TL_OK) {
        const struct tl_conf_figure_list list = {&top, raw->figures, raw->figures_count,
                                                 TL_FIGURE_OF_SHIP};
        err = tl_conf_take_figures(&list, &config->figures);
    }
    tl_conf_schema_free(TL_CONF_SHIP, read);
    return err;
}
