/* SPDX-License-Identifier: Apache-2.0 */
/*
 * conf_take - one file's settings into the configuration, and the files against each other
 *
 * Private to conf. Each tl_conf_take_* reads one outlined file by its schema, checks all that can
 * be checked in it and in the files taken before it (ship, gear, aircraft, stations, bus, keys, in
 * this order), and fills its part of config. On error that part is undefined.
 * Errors of all: TL_CONFIG with fault; TL_NOMEM with fault.
 */
#ifndef PROTO_BASE_CONF_TAKE_H
#define PROTO_BASE_CONF_TAKE_H

#include "proto/base/conf_file.h"
#include "proto/base/conf_schema.h"
#include "proto/base/conf_value.h"

TL_MUST_USE enum tl_err tl_conf_take_ship(const struct tl_conf_file *file, struct tl_config *config,
                                          struct tl_conf_fault *fault);
TL_MUST_USE enum tl_err tl_conf_take_gear(const struct tl_conf_file *file, struct tl_config *config,
                                          struct tl_conf_fault *fault);
TL_MUST_USE enum tl_err tl_conf_take_aircraft(const struct tl_conf_file *file,
                                              struct tl_config *config,
                                              struct tl_conf_fault *fault);
TL_MUST_USE enum tl_err tl_conf_take_stations(const struct tl_conf_file *file,
                                              struct tl_config *config,
                                              struct tl_conf_fault *fault);
/* What a file may leave out, when the rules that need it are off; parts of gear and ship. */
TL_MUST_USE enum tl_err tl_conf_take_limits_more(const struct tl_conf_item *item,
                                                 const struct tl_conf_raw_limits *raw,
                                                 struct tl_gear_limits *limits);
TL_MUST_USE enum tl_err tl_conf_take_wires(const struct tl_conf_item *top,
                                           const struct tl_conf_raw_gear *raw,
                                           struct tl_gear *gear);
TL_MUST_USE enum tl_err tl_conf_take_type_more(const struct tl_conf_item *item,
                                               const struct tl_conf_raw_type *raw,
                                               const struct tl_gear *gear,
                                               struct tl_aircraft_type *type);
TL_MUST_USE enum tl_err tl_conf_take_sea(const struct tl_conf_item *top,
                                         const struct tl_conf_raw_ship *raw, struct tl_ship *ship);
/* The list `figures` of gear.yaml or ship.yaml; clears what figures held of that file before. */
struct tl_conf_figure_list {
    const struct tl_conf_item *top;
    const struct tl_conf_raw_figure *raw; /* NULL when count is 0 */
    uint32_t count;
    enum tl_figure_file of;
};
TL_MUST_USE enum tl_err tl_conf_take_figures(const struct tl_conf_figure_list *list,
                                             struct tl_figures *figures);
/* The figures of gear.yaml against each other and its limits, which are taken. */
TL_MUST_USE enum tl_err tl_conf_check_gear_figures(const struct tl_conf_figure_list *list,
                                                   const struct tl_config *config);

/* Directories are resolved against config->dir. */
TL_MUST_USE enum tl_err tl_conf_take_bus(const struct tl_conf_file *file, struct tl_config *config,
                                         struct tl_conf_fault *fault);
TL_MUST_USE enum tl_err tl_conf_take_keys(const struct tl_conf_file *file, struct tl_config *config,
                                          struct tl_conf_fault *fault);

/* Each node has a key, revoked or not. file: keys.yaml. */
TL_MUST_USE enum tl_err tl_conf_check_keyed(const struct tl_conf_file *file,
                                            const struct tl_config *config,
                                            struct tl_conf_fault *fault);

/* Contradictions between files; file[] by enum tl_conf_form, all but keys.yaml taken. */
TL_MUST_USE enum tl_err tl_conf_check_cross(const struct tl_conf_file *const file[TL_CONF_FORMS],
                                            const struct tl_config *config,
                                            struct tl_conf_fault *fault);
/* The bounds of the computed rules, from the figures. */
void tl_conf_set_bounds(struct tl_config *config);
/* Its part that is about the mechanics: a computed rule that is on has the figures that it needs. */
TL_MUST_USE enum tl_err tl_conf_check_computed(const struct tl_conf_file *const file[TL_CONF_FORMS],
                                               const struct tl_config *config,
                                               struct tl_conf_fault *fault);

#endif
