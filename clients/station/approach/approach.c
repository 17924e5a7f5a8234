/* SPDX-License-Identifier: Apache-2.0 */
/* approach.c - the approach controller: who is inbound, what type, how heavy. */
#include "clients/station/command.h"

static void
verb_inbound(struct tl_asking *asking)
{
    struct tl_inbound inbound = {0};
    if (asking->argc < 3 || asking->argc > 4) {
        tl_command_syntax(asking, "inbound");
        return;
    }
    if (!tl_ask_side(asking, asking->argv[0], &inbound.side) ||
        !tl_ask_type(asking, asking->argv[1], inbound.type) ||
        !tl_ask_number(asking, asking->argv[2], "weight, lb,", 1000, 200000, &inbound.weight_lb) ||
        (asking->argc == 4 &&
         !tl_ask_number(asking, asking->argv[3], "fuel, lb,", 1, 100000, &inbound.fuel_lb))) {
        return;
    }
    struct tl_datum *datum = tl_command_add(asking, TL_DATUM_INBOUND, inbound.side);
    datum->as.inbound = inbound;
    tl_command_finish(asking);
}

/* The aircraft as this station last said it, to be restated with one thing changed. */
static struct tl_datum *
restate(struct tl_asking *asking, const char *verb, int words)
{
    uint32_t side = 0;
    if (asking->argc != words) {
        tl_command_syntax(asking, verb);
        return NULL;
    }
    if (!tl_ask_side(asking, asking->argv[0], &side)) {
        return NULL;
    }
    const struct tl_own *own = tl_outbox_own(&asking->member->outbox, TL_DATUM_INBOUND, side);
    if (own == NULL || !own->datum.known) {
        tl_command_fail(asking, "%s is not on the inbound list", asking->argv[0]);
        return NULL;
    }
    struct tl_datum *datum = tl_command_add(asking, TL_DATUM_INBOUND, side);
    datum->as.inbound = own->datum.as.inbound;
    return datum;
}

static void
verb_low(struct tl_asking *asking)
{
    struct tl_datum *datum = restate(asking, "low", 1);
    if (datum != NULL) {
        datum->as.inbound.fuel_low = true;
        tl_command_finish(asking);
    }
}

static void
verb_divert(struct tl_asking *asking)
{
    struct tl_datum *datum = restate(asking, "divert", 1);
    if (datum != NULL) {
        datum->as.inbound.diverted = true;
        tl_command_finish(asking);
    }
}

static void
verb_trouble(struct tl_asking *asking)
{
    static const struct tl_choice troubles[] = {{"hook", TL_TROUBLE_HOOK},
                                                {"gear", TL_TROUBLE_GEAR},
                                                {"other", TL_TROUBLE_OTHER},
                                                {"none", TL_TROUBLE_NONE},
                                                {NULL, 0}};
    struct tl_datum *datum = restate(asking, "trouble", 2);
    int trouble = 0;
    if (datum != NULL && tl_ask_choice(asking, asking->argv[1], troubles, &trouble)) {
        datum->as.inbound.trouble = (enum tl_trouble)trouble;
        tl_command_finish(asking);
    }
}

static void
verb_gone(struct tl_asking *asking)
{
    uint32_t side = 0;
    if (asking->argc != 1) {
        tl_command_syntax(asking, "gone");
        return;
    }
    if (!tl_ask_side(asking, asking->argv[0], &side)) {
        return;
    }
    if (tl_outbox_own(&asking->member->outbox, TL_DATUM_INBOUND, side) == NULL) {
        tl_command_fail(asking, "%s is not on the inbound list", asking->argv[0]);
        return;
    }
    tl_command_add(asking, TL_DATUM_INBOUND, side)->known = false;
    tl_command_finish(asking);
}

static const struct tl_verb verbs[] = {
    {"inbound", "inbound SIDE TYPE WEIGHT [FUEL]",
     "an aircraft is inbound: gross weight and fuel in lb", verb_inbound},
    {"low", "low SIDE", "it is low on fuel", verb_low},
    {"trouble", "trouble SIDE hook|gear|other|none", "it reports trouble", verb_trouble},
    {"divert", "divert SIDE", "it goes elsewhere", verb_divert},
    {"gone", "gone SIDE", "it is no longer inbound", verb_gone},
};

const struct tl_room tl_room_approach = {TL_STATION_APPROACH, verbs,
                                         sizeof verbs / sizeof verbs[0]};
