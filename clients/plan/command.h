/* SPDX-License-Identifier: Apache-2.0 */
/*
 * command.h - what the plans share: their options, their configuration, how they refuse.
 *
 * A plan reads what it needs, computes, and says it into plan->say; nothing is printed until it has
 * come through. A plan that cannot go on calls tl_plan_refuse once and returns what that returns.
 * Private to this room.
 */
#ifndef CLIENTS_PLAN_COMMAND_H
#define CLIENTS_PLAN_COMMAND_H

#include "broker/core/mechanics/air.h"
#include "broker/core/mechanics/arrest.h"
#include "broker/core/mechanics/units.h"
#include "clients/plan/options.h"
#include "clients/plan/say.h"
#include "proto/link/join.h"
#include "proto/vocab/config.h"

enum {
    TL_PLAN_WHY_CAP = 400,
    TL_PLAN_CAUTION_CAP = 256
};

#define TL_PLAN_FT_PER_NMI (TL_M_PER_NMI / TL_M_PER_FT)

/* Rows that every plan's table begins with. */
enum tl_plan_option {
    TL_PLAN_DIR = 0,
    TL_PLAN_JSON,
    TL_PLAN_HELP,
    TL_PLAN_OWN, /* first of the plan's own */
    TL_PLAN_NO_OPTION = TL_OPTIONS_MAX
};
#define TL_PLAN_COMMON                                                                             \
    [TL_PLAN_DIR] =                                                                                \
        {"-C", TL_OPTION_WORD, 0, 0, false, "DIR", "configuration folder, else $TRAPLINE_CONFIG"}, \
    [TL_PLAN_JSON] = {"--json", TL_OPTION_FLAG, 0, 0, false, "", "one JSON object; docs/json.md"}, \
    [TL_PLAN_HELP] = {"--help", TL_OPTION_FLAG, 0, 0, false, "", "this text"}

struct tl_plan {
    const char *name;
    const struct tl_option_row *row;
    struct tl_option option[TL_OPTIONS_MAX];
    const struct tl_config *config; /* NULL = no folder was named */
    struct tl_say *say;
    const char *caution;
    char why[TL_PLAN_WHY_CAP]; /* of a refusal */
};

struct tl_plan_command {
    const char *name;
    const char *what; /* a line of the help */
    const char *text; /* of its own help, one paragraph */
    struct tl_option_table table;
    enum tl_exit (*run)(struct tl_plan *plan);
};

extern const struct tl_plan_command tl_plan_wind;
extern const struct tl_plan_command tl_plan_arrest;
extern const struct tl_plan_command tl_plan_aid;
extern const struct tl_plan_command tl_plan_wave_off;
extern const struct tl_plan_command tl_plan_interval;
extern const struct tl_plan_command tl_plan_bulletin;

/* Keep the sentence and return the code. */
enum tl_exit tl_plan_refuse(struct tl_plan *plan, enum tl_exit code, const char *fmt, ...)
    __attribute__((format(printf, 3, 4)));

bool tl_plan_given(const struct tl_plan *plan, size_t option);

/* Refuse when it is not given (64), or both are (64). */
enum tl_exit tl_plan_need(struct tl_plan *plan, size_t option);
enum tl_exit tl_plan_not_both(struct tl_plan *plan, size_t a, size_t b);

/* Refuse when no folder was named (64); `what` is what it is needed for. */
enum tl_exit tl_plan_need_config(struct tl_plan *plan, const char *what);

/* The option when it is given, else the figure; 78 when the configuration does not give it. */
enum tl_exit tl_plan_figure(struct tl_plan *plan, size_t option, enum tl_figure figure,
                            double *out);
/* Say that the configuration lacks that figure. */
enum tl_exit tl_plan_lacks(struct tl_plan *plan, const char *figure);

/* The type that the option names (64); a measure of it that is 0 is not given (78). */
enum tl_exit tl_plan_type(struct tl_plan *plan, size_t option, const struct tl_aircraft_type **out);
enum tl_exit tl_plan_type_measure(struct tl_plan *plan, const struct tl_aircraft_type *type,
                                  const char *name, uint32_t value);

/* Options of the air; the configuration fills what is not given. */
struct tl_plan_air_options {
    size_t temperature, pressure;
};
enum tl_exit tl_plan_air(struct tl_plan *plan, struct tl_plan_air_options options,
                         struct tl_air *out);

/* Basic angle of the aid: the option, else that of ship.yaml for that wind over the deck. */
enum tl_exit tl_plan_angle(struct tl_plan *plan, size_t option, double wind_kt, double *angle_deg);

/* How fast that type comes in at a weight, calibrated. */
enum tl_exit tl_plan_approach(struct tl_plan *plan, const struct tl_aircraft_type *type,
                              double weight_lb, double *approach_kt);

/* The gear of the configuration, and a solver for it; close it. */
enum tl_exit tl_plan_machine(struct tl_plan *plan, struct tl_arrest_gear *gear,
                             struct tl_arrest_machine **machine);

#endif
