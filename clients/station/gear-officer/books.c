/* SPDX-License-Identifier: Apache-2.0 */
/* books.c - see books.h. */
#include "clients/station/gear-officer/books.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

enum {
    TRAPS_MAX = 100000,
    WHOM_CAP = 48
};

/* What is known of a pendant or a cable before the word that is being asked for. */
struct known {
    bool any;
    struct tl_datum datum;
    uint32_t traps;
    char whom[WHOM_CAP]; /* who says so */
};

static const char *
thing(enum tl_datum_kind kind)
{
    return kind == TL_DATUM_PENDANT_LIFE ? "pendant" : "cable";
}

/* The station that counts asks itself, one that speaks for it the picture. */
static bool
asks_for_itself(const struct tl_asking *asking)
{
    return asking->tallies != NULL && asking->as == asking->node;
}

static uint32_t
traps_now(const struct tl_asking *asking, const struct tl_datum *datum)
{
    const struct tl_wear *wear = tl_datum_wear(datum);
    const struct tl_gear *gear = &asking->config->gear;
    uint32_t traps = wear->traps;
    if (asks_for_itself(asking)) {
        return tl_tallies_traps(asking->tallies, datum);
    }
    for (uint32_t i = 0; asking->picture != NULL && i < asking->picture->ended_count; i++) {
        const struct tl_ended *ended = &asking->picture->ended[i];
        bool more = !tl_counted_has(&wear->counted, ended->event) &&
                    tl_ended_loads(gear, ended, datum->kind, datum->slot);
        traps += more ? 1 : 0;
    }
    return traps;
}

static void
learn(const struct tl_asking *asking, const struct tl_datum *datum, const char *whom,
      struct known *known)
{
    known->any = true;
    known->datum = *datum;
    known->traps = traps_now(asking, datum);
    (void)snprintf(known->whom, sizeof known->whom, "%s", whom);
}

/* Its own word, else what is shown of the one that is spoken for, else the record. */
static void
look_up(const struct tl_asking *asking, enum tl_datum_kind kind, uint32_t slot, struct known *known)
{
    const struct tl_own *own = tl_outbox_own(&asking->member->outbox, kind, slot);
    const struct tl_datum *shown = tl_pictured(asking, asking->as->id, kind, slot);
    const char *recorder = NULL;
    *known = (struct known){0};
    if (!asks_for_itself(asking)) {
        if (shown != NULL) {
            learn(asking, shown, "in the picture", known);
        }
        return;
    }
    const struct tl_worn *worn =
        tl_tallies_recorded(asking->tallies, asking->member, kind, slot, &recorder);
    if (own != NULL && own->datum.known) {
        learn(asking, &own->datum, "here", known);
    } else if (worn != NULL) {
        char whom[WHOM_CAP];
        struct tl_datum datum = tl_worn_datum(worn);
        (void)snprintf(whom, sizeof whom, "in the record of %s", recorder);
        learn(asking, &datum, whom, known);
    }
}

/* A serial as it is typed, in capitals; says the error. */
static bool
ask_serial(struct tl_asking *asking, const char *word, char serial[TL_SERIAL_CAP])
{
    size_t length = strnlen(word, TL_SERIAL_CAP);
    memset(serial, 0, TL_SERIAL_CAP);
    for (size_t i = 0; i < length && i < TL_SERIAL_CAP - 1; i++) {
        serial[i] = (char)(word[i] >= 'a' && word[i] <= 'z' ? word[i] - 'a' + 'A' : word[i]);
    }
    if (length >= TL_SERIAL_CAP || !tl_serial_is_wellformed(serial)) {
        tl_command_fail(asking,
                        "'%.24s' cannot be a serial: a letter, then letters, digits and '-', at "
                        "most %d in all; nothing was said",
                        word, TL_SERIAL_CAP - 1);
        return false;
    }
    return true;
}

/* Which passes a count has in it that is keyed now; says the error. */
static bool
ask_counted(struct tl_asking *asking, struct tl_datum *datum, bool fresh)
{
    if (asking->picture == NULL) {
        tl_command_fail_now(asking,
                            "no fresh picture: which passes have ended is not known; say it "
                            "again");
        return false;
    }
    tl_datum_wear_of(datum)->counted =
        tl_picture_counted(asking->picture, &asking->config->gear, fresh ? NULL : datum);
    return true;
}

/* A count of what is there now; an error when it is of another one, or lower than what is known. */
static bool
fits_known(struct tl_asking *asking, struct tl_datum *datum)
{
    struct known known;
    struct tl_wear *wear = tl_datum_wear_of(datum);
    look_up(asking, datum->kind, datum->slot, &known);
    if (!known.any) {
        return true;
    }
    const char *serial = tl_datum_wear(&known.datum)->serial;
    const char *what = thing(datum->kind);
    if (wear->serial[0] != '\0' && serial[0] != '\0' &&
        !tl_wear_same_serial(wear, tl_datum_wear(&known.datum))) {
        tl_command_fail(asking,
                        "%s %" PRIu32 " is %s (%s); if it was changed: %s-new %" PRIu32
                        " %s TRAPS; nothing was said",
                        what, datum->slot, serial, known.whom, what, datum->slot, wear->serial);
        return false;
    }
    if (serial[0] != '\0') {
        memcpy(wear->serial, serial, TL_SERIAL_CAP);
    }
    if (traps_now(asking, datum) < known.traps) {
        tl_command_fail(asking,
                        "%s %" PRIu32 "%s%s has %" PRIu32 " traps (%s): fewer are not taken; only "
                        "another serial begins anew, with %s-new; nothing was said",
                        what, datum->slot, serial[0] != '\0' ? " " : "", serial, known.traps,
                        known.whom, what);
        return false;
    }
    return true;
}

/* The serial is not there already, there or elsewhere, nor was it with more traps. */
static bool
is_another(struct tl_asking *asking, const struct tl_datum *datum)
{
    const struct tl_wear *wear = tl_datum_wear(datum);
    const char *what = thing(datum->kind);
    for (uint32_t i = 0; i < asking->config->gear.engine_count; i++) {
        const struct tl_engine_gear *engine = &asking->config->gear.engine[i];
        uint32_t slot = datum->kind == TL_DATUM_PENDANT_LIFE ? engine->wire : engine->unit;
        struct known known;
        look_up(asking, datum->kind, slot, &known);
        if (known.any && tl_wear_same_serial(tl_datum_wear(&known.datum), wear)) {
            tl_command_fail(asking, "%s %" PRIu32 " is %s already (%s); nothing was said", what,
                            slot, wear->serial, known.whom);
            return false;
        }
    }
    for (uint32_t i = 0; asks_for_itself(asking) && i < asking->member->worn_count; i++) {
        const struct tl_member_worn *from = &asking->member->worn[i];
        for (uint32_t k = 0; k < from->count; k++) {
            struct tl_datum was = tl_worn_datum(&from->worn[k]);
            if (from->worn[k].removed && was.kind == datum->kind &&
                tl_datum_wear(&was)->traps > wear->traps &&
                tl_wear_same_serial(tl_datum_wear(&was), wear)) {
                tl_command_fail(asking,
                                "%s had %" PRIu32 " traps when it was taken off (record of %s): "
                                "fewer are not taken; nothing was said",
                                wear->serial, tl_datum_wear(&was)->traps, from->recorder);
                return false;
            }
        }
    }
    return true;
}

static bool
ask_traps(struct tl_asking *asking, const char *word, uint32_t *traps)
{
    return tl_ask_number(asking, word, "traps", 0, TRAPS_MAX, traps);
}

/* Count at the last detorque, not after now; says the error. */
static bool
ask_detorqued(struct tl_asking *asking, const char *word, struct tl_cable *cable)
{
    if (!tl_ask_number(asking, word, "count at the last detorque", 1, TRAPS_MAX,
                       &cable->detorqued_at)) {
        return false;
    }
    if (cable->detorqued_at > cable->wear.traps) {
        tl_command_fail(asking,
                        "detorqued at %" PRIu32 ", which is after now (%" PRIu32
                        " traps); nothing was said",
                        cable->detorqued_at, cable->wear.traps);
        return false;
    }
    return true;
}

static void
finish_count(struct tl_asking *asking, struct tl_datum *datum)
{
    if (ask_counted(asking, datum, false) && fits_known(asking, datum)) {
        tl_command_add(asking, datum->kind, datum->slot)->as = datum->as;
        tl_command_finish(asking);
    }
}

static void
finish_new(struct tl_asking *asking, struct tl_datum *datum)
{
    if (ask_counted(asking, datum, true) && is_another(asking, datum)) {
        tl_command_add(asking, datum->kind, datum->slot)->as = datum->as;
        tl_command_finish(asking);
        size_t used = strlen(asking->out->text);
        (void)snprintf(asking->out->text + used, sizeof asking->out->text - used,
                       " - ANOTHER %s THAN BEFORE",
                       datum->kind == TL_DATUM_PENDANT_LIFE ? "PENDANT" : "CABLE");
    }
}

void
tl_verb_pendant_life(struct tl_asking *asking)
{
    struct tl_datum datum = {.kind = TL_DATUM_PENDANT_LIFE, .known = true};
    struct tl_wear *wear = &datum.as.pendant_life;
    if (asking->argc < 2 || asking->argc > 3) {
        tl_command_syntax(asking, "pendant-life");
    } else if (tl_ask_wire(asking, asking->argv[0], &datum.slot) &&
               ask_traps(asking, asking->argv[1], &wear->traps) &&
               (asking->argc < 3 || ask_serial(asking, asking->argv[2], wear->serial))) {
        finish_count(asking, &datum);
    }
}

void
tl_verb_pendant_new(struct tl_asking *asking)
{
    struct tl_datum datum = {.kind = TL_DATUM_PENDANT_LIFE, .known = true};
    struct tl_wear *wear = &datum.as.pendant_life;
    if (asking->argc < 2 || asking->argc > 3) {
        tl_command_syntax(asking, "pendant-new");
    } else if (tl_ask_wire(asking, asking->argv[0], &datum.slot) &&
               ask_serial(asking, asking->argv[1], wear->serial) &&
               (asking->argc < 3 || ask_traps(asking, asking->argv[2], &wear->traps))) {
        finish_new(asking, &datum);
    }
}

/* The words after the number of traps: a count, a serial, or both in this order. */
void
tl_verb_cable(struct tl_asking *asking)
{
    struct tl_datum datum = {.kind = TL_DATUM_CABLE, .known = true};
    struct tl_cable *cable = &datum.as.cable;
    int at = 2;
    if (asking->argc < 2 || asking->argc > 4) {
        tl_command_syntax(asking, "cable");
        return;
    }
    if (!tl_ask_engine(asking, asking->argv[0], &datum.slot) ||
        !ask_traps(asking, asking->argv[1], &cable->wear.traps)) {
        return;
    }
    bool number = asking->argc > at && asking->argv[at][0] >= '0' && asking->argv[at][0] <= '9';
    if (number && !ask_detorqued(asking, asking->argv[at++], cable)) {
        return;
    }
    if (asking->argc > at && !ask_serial(asking, asking->argv[at++], cable->wear.serial)) {
        return;
    }
    if (at < asking->argc) {
        tl_command_syntax(asking, "cable");
        return;
    }
    finish_count(asking, &datum);
}

void
tl_verb_cable_new(struct tl_asking *asking)
{
    struct tl_datum datum = {.kind = TL_DATUM_CABLE, .known = true};
    struct tl_cable *cable = &datum.as.cable;
    if (asking->argc < 2 || asking->argc > 4) {
        tl_command_syntax(asking, "cable-new");
    } else if (tl_ask_engine(asking, asking->argv[0], &datum.slot) &&
               ask_serial(asking, asking->argv[1], cable->wear.serial) &&
               (asking->argc < 3 || ask_traps(asking, asking->argv[2], &cable->wear.traps)) &&
               (asking->argc < 4 || ask_detorqued(asking, asking->argv[3], cable))) {
        finish_new(asking, &datum);
    }
}

void
tl_verb_detorqued(struct tl_asking *asking)
{
    uint32_t unit = 0;
    struct known known;
    if (asking->argc != 1) {
        tl_command_syntax(asking, "detorqued");
        return;
    }
    if (!tl_ask_engine(asking, asking->argv[0], &unit)) {
        return;
    }
    look_up(asking, TL_DATUM_CABLE, unit, &known);
    if (!known.any || known.traps == 0) {
        tl_command_fail_now(asking,
                            "the traps of cable %" PRIu32 " are not known here, or none: say cable "
                            "%" PRIu32 " TRAPS DETORQUED_AT",
                            unit, unit);
        return;
    }
    struct tl_datum datum = {.kind = TL_DATUM_CABLE, .slot = unit, .known = true};
    datum.as.cable.wear = known.datum.as.cable.wear;
    datum.as.cable.wear.moved = false;
    datum.as.cable.wear.traps = known.traps;
    datum.as.cable.detorqued_at = known.traps;
    finish_count(asking, &datum);
}

/* "pendant 2 P-0412 91", as much as the read-back has room for. */
static bool
append_taken(struct tl_command *out, const struct tl_datum *datum, uint32_t traps)
{
    char words[TL_TEXT_CAP];
    size_t used = strlen(out->text);
    uint32_t at = datum->kind == TL_DATUM_CABLE ? datum->as.cable.detorqued_at : 0;
    char detorqued[32] = "";
    if (at != 0) {
        (void)snprintf(detorqued, sizeof detorqued, " detorqued at %" PRIu32, at);
    }
    int n = snprintf(words, sizeof words, "%s %s %" PRIu32 " %s %" PRIu32 "%s",
                     out->count > 0 ? ";" : "", thing(datum->kind), datum->slot,
                     tl_datum_wear(datum)->serial, traps, detorqued);
    if (n < 0 || used + (size_t)n >= sizeof out->text) {
        return false;
    }
    memcpy(out->text + used, words, (size_t)n + 1);
    return true;
}

void
tl_verb_from_record(struct tl_asking *asking)
{
    struct tl_command *out = asking->out;
    char text[TL_READBACK_CAP];
    if (asking->argc != 0 || !asks_for_itself(asking)) {
        tl_command_syntax(asking, "from-record");
        return;
    }
    (void)snprintf(out->text, sizeof out->text, "gear officer: from the record:");
    for (uint32_t i = 0; asking->picture != NULL && i < asking->tallies->count; i++) {
        const struct tl_tallied *item = &asking->tallies->item[i];
        const char *recorder = NULL;
        const struct tl_worn *worn =
            tl_tallies_recorded(asking->tallies, asking->member, item->kind, item->slot, &recorder);
        if (worn == NULL || tl_tallies_has(asking->member, item->kind, item->slot)) {
            continue;
        }
        struct tl_datum datum = tl_worn_datum(worn);
        if (!append_taken(out, &datum, tl_datum_wear(&datum)->traps)) {
            break; /* the rest with the next from-record */
        }
        tl_command_add(asking, datum.kind, datum.slot)->as = datum.as;
    }
    if (out->count == 0) {
        tl_command_fail_now(asking, "no record offers a count that is not known here; 'wear' lists "
                                    "them");
        return;
    }
    memcpy(text, out->text, sizeof text);
    tl_command_finish(asking);
    memcpy(out->text, text, sizeof text);
}

void
tl_verb_wear(struct tl_asking *asking)
{
    if (asking->argc != 0 || !asks_for_itself(asking)) {
        tl_command_syntax(asking, "wear");
        return;
    }
    asking->out->kind = TL_COMMAND_WEAR;
}
