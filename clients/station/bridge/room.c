/* SPDX-License-Identifier: Apache-2.0 */
/* room.c - the words of the bridge: a wind keyed by hand while no sensor speaks. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/station/command.h"

/* Knots with at most one decimal, -99.9 to 99.9; writes tenths. */
static bool
read_knots(struct tl_asking *asking, const char *word, int32_t *tenths)
{
    char *end = NULL;
    const char *digits = word[0] == '-' ? word + 1 : word;
    size_t length = strlen(digits);
    bool plain = length > 0 && length <= 4 && strspn(digits, "0123456789.") == length &&
                 digits[0] != '.' && digits[length - 1] != '.';
    const char *point = strchr(digits, '.');
    if (!plain || (point != NULL && (strchr(point + 1, '.') != NULL || strlen(point) != 2))) {
        tl_command_fail(asking, "'%.24s' is not a speed in knots, like 27 or 27.5", word);
        return false;
    }
    long whole = strtol(digits, &end, 10);
    long value = 10 * whole + (point != NULL ? point[1] - '0' : 0);
    if (value > 999) {
        tl_command_fail(asking, "'%.24s' kn is out of range: -99.9 to 99.9", word);
        return false;
    }
    *tenths = (int32_t)(word[0] == '-' ? -value : value);
    return true;
}

static void
verb_wind(struct tl_asking *asking)
{
    struct tl_wind *wind = &asking->out->wind;
    if (asking->argc == 1 && strcmp(asking->argv[0], "off") == 0) {
        asking->out->kind = TL_COMMAND_WIND;
        (void)snprintf(asking->out->text, sizeof asking->out->text,
                       "bridge: keyed wind taken back");
        return;
    }
    if (asking->argc != 2) {
        tl_command_syntax(asking, "wind");
        return;
    }
    int32_t head = 0;
    int32_t cross = 0;
    if (!read_knots(asking, asking->argv[0], &head) ||
        !read_knots(asking, asking->argv[1], &cross)) {
        return;
    }
    wind->state = TL_WIND_KNOWN;
    wind->headwind_kt_x10 = head;
    wind->crosswind_kt_x10 = cross;
    wind->keyed = true;
    asking->out->kind = TL_COMMAND_WIND;
    asking->out->needs_confirm = true;
    (void)snprintf(asking->out->text, sizeof asking->out->text,
                   "bridge: wind by hand, %s kn down the angled deck, %s kn across (+ from "
                   "starboard)",
                   asking->argv[0], asking->argv[1]);
}

static const struct tl_verb verbs[] = {
    {"wind", "wind HEADWIND CROSSWIND | wind off",
     "knots along and across the angled deck, keyed while no sensor speaks", verb_wind},
};

const struct tl_room tl_room_bridge = {TL_STATION_BRIDGE, verbs, sizeof verbs / sizeof verbs[0]};
