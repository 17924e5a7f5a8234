/* SPDX-License-Identifier: Apache-2.0 */
/* tally.c - see tally.h. */
#include "clients/station/tally.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

void
tl_tallies_init(struct tl_tallies *tallies, const struct tl_config *config)
{
    memset(tallies, 0, sizeof *tallies);
    tallies->config = config;
    for (uint32_t i = 0; i < config->gear.engine_count; i++) {
        const struct tl_engine_gear *engine = &config->gear.engine[i];
        tallies->item[tallies->count++] =
            (struct tl_tallied){.kind = TL_DATUM_PENDANT_LIFE, .slot = engine->wire};
    }
    for (uint32_t i = 0; i < config->gear.engine_count; i++) {
        tallies->item[tallies->count++] =
            (struct tl_tallied){.kind = TL_DATUM_CABLE, .slot = config->gear.engine[i].unit};
    }
}

static void
say(struct tl_tallies *tallies, const char *line)
{
    if (tallies->say != NULL) {
        tallies->say(tallies->ctx, line);
    }
}

static struct tl_tallied *
item_of(struct tl_tallies *tallies, const struct tl_datum *datum)
{
    for (uint32_t i = 0; i < tallies->count; i++) {
        if (tallies->item[i].kind == datum->kind && tallies->item[i].slot == datum->slot &&
            !tl_datum_is_voice(datum)) {
            return &tallies->item[i];
        }
    }
    return NULL;
}

/* ---- what the operator said of it ---- */

void
tl_tallies_keyed(struct tl_tallies *tallies, const struct tl_datum *datum)
{
    struct tl_tallied *item = item_of(tallies, datum);
    if (item != NULL) {
        item->tally.known = false;
    }
}

void
tl_tallies_outcome(struct tl_tallies *tallies, const struct tl_said_outcome *outcome)
{
    struct tl_tallied *item = item_of(tallies, &outcome->datum);
    const struct tl_wear *wear = tl_datum_wear(&outcome->datum);
    if (item == NULL || wear == NULL) {
        return;
    }
    if (outcome->kind == TL_SAID_ACCEPTED && wear->moved) {
        char line[2 * TL_TEXT_CAP];
        char text[TL_TEXT_CAP];
        (void)snprintf(line, sizeof line, "counted: %s",
                       tl_datum_text(&outcome->datum, text, sizeof text));
        say(tallies, line);
    } else if (outcome->kind == TL_SAID_ACCEPTED) {
        item->tally = (struct tl_tally){.known = true, .base = *wear};
        item->detorqued_at =
            item->kind == TL_DATUM_CABLE ? outcome->datum.as.cable.detorqued_at : 0;
    } else if (outcome->kind == TL_SAID_REFUSED || outcome->kind == TL_SAID_VOID) {
        item->tally.known = false; /* what was only not answered in time is said again */
    }
}

/* ---- how passes ended ---- */

const struct tl_ended *
tl_picture_ended(const struct tl_picture *picture, struct tl_event event)
{
    for (uint32_t i = 0; i < picture->ended_count; i++) {
        if (tl_event_equal(picture->ended[i].event, event)) {
            return &picture->ended[i];
        }
    }
    return NULL;
}

/* Another validator does not show another end of it. */
static bool
is_agreed(const struct tl_picture *const pictures[TL_VALIDATORS_MAX], const struct tl_ended *ended)
{
    for (uint32_t v = 0; v < TL_VALIDATORS_MAX; v++) {
        const struct tl_ended *other =
            pictures[v] != NULL ? tl_picture_ended(pictures[v], ended->event) : NULL;
        if (other != NULL && !tl_ended_same(other, ended)) {
            return false;
        }
    }
    return true;
}

static void
take_ended(struct tl_tallies *tallies, const struct tl_ended *ended)
{
    const struct tl_gear *gear = &tallies->config->gear;
    struct tl_ended gone;
    (void)tl_ends_take(&tallies->ends, gear, ended, &gone);
    for (uint32_t i = 0; tl_event_is(gone.event) && i < tallies->count; i++) {
        struct tl_tallied *item = &tallies->item[i];
        tl_tally_let_go(&item->tally, gear, item->kind, item->slot, &gone);
    }
}

/* It shows everything that ended since the pictures before: no end can have been missed. */
static bool
reaches_back(const struct tl_tallies *tallies, const struct tl_picture *picture, bool same_life)
{
    const struct tl_ends *ends = &tallies->ends;
    if (same_life && picture->ended_count < TL_ENDED_SHOWN) {
        return true;
    }
    return picture->ended_count > 0 && ends->count > 0 &&
           !tl_event_after(picture->ended[0].event, ends->end[ends->count - 1].ended.event);
}

/* Too long without a picture: nobody here knows what was trapped meanwhile. */
static void
lose_counts(struct tl_tallies *tallies, struct tl_member *member, uint64_t now_ms)
{
    bool any = false;
    memset(&tallies->ends, 0, sizeof tallies->ends);
    for (uint32_t i = 0; i < tallies->count; i++) {
        struct tl_tallied *item = &tallies->item[i];
        struct tl_datum unknown = {.kind = item->kind, .slot = item->slot};
        uint64_t sequence = 0;
        if (item->tally.known) {
            item->tally.known = false;
            any = true;
            tl_err_ignore(tl_member_say(member, &unknown, now_ms, &sequence), "toward safe");
        }
    }
    if (any) {
        say(tallies, "counts of pendants and cables are not known: passes may have ended unseen; "
                     "'from-record' takes what the record has");
    }
    tallies->offered = false;
}

static void
take_pictures(struct tl_tallies *tallies, struct tl_member *member, uint64_t now_ms)
{
    const struct tl_picture *pictures[TL_VALIDATORS_MAX] = {NULL};
    bool any = false;
    bool reached = !tallies->seen || now_ms - tallies->seen_ms < TL_ALONE_MS;
    for (uint32_t v = 0; v < member->hear.count; v++) {
        pictures[v] = tl_member_current_picture(member, v, now_ms);
        any = any || pictures[v] != NULL;
        bool same_life = member->seen[v].incarnation == tallies->incarnation[v];
        reached = reached || (pictures[v] != NULL && reaches_back(tallies, pictures[v], same_life));
    }
    if (!any) {
        return;
    }
    if (!reached) {
        lose_counts(tallies, member, now_ms);
    }
    tallies->seen = true;
    tallies->seen_ms = now_ms;
    for (uint32_t v = 0; v < member->hear.count; v++) {
        if (pictures[v] == NULL) {
            continue;
        }
        tallies->incarnation[v] = member->seen[v].incarnation;
        for (uint32_t i = 0; i < pictures[v]->ended_count; i++) {
            if (is_agreed(pictures, &pictures[v]->ended[i])) {
                take_ended(tallies, &pictures[v]->ended[i]);
            }
        }
    }
}

/* ---- restating ---- */

static struct tl_datum
wanted_word(const struct tl_tallies *tallies, const struct tl_tallied *item)
{
    struct tl_datum datum = {.kind = item->kind, .slot = item->slot, .known = true};
    struct tl_wear *wear = tl_datum_wear_of(&datum);
    *wear = item->tally.base;
    wear->traps = tl_tally_traps(&item->tally, &tallies->ends, &tallies->config->gear, item->kind,
                                 item->slot);
    wear->counted = tl_ends_counted(&tallies->ends, &tallies->config->gear, item->kind, item->slot,
                                    &item->tally.base.counted);
    wear->moved = true;
    if (item->kind == TL_DATUM_CABLE) {
        datum.as.cable.detorqued_at = item->detorqued_at;
    }
    return datum;
}

static void
restate(const struct tl_tallies *tallies, struct tl_tallied *item, struct tl_member *member,
        uint64_t now_ms)
{
    const struct tl_own *own = tl_outbox_own(&member->outbox, item->kind, item->slot);
    if (!item->tally.known || now_ms - item->tried_ms < TL_TALLY_AGAIN_MS) {
        return;
    }
    struct tl_datum wanted = wanted_word(tallies, item);
    const struct tl_wear *said = own != NULL ? tl_datum_wear(&own->datum) : NULL;
    bool stands = said != NULL && !own->refused && said->traps == tl_datum_wear(&wanted)->traps &&
                  tl_tallies_traps(tallies, &own->datum) == said->traps;
    uint64_t sequence = 0;
    if (!stands) {
        item->tried_ms = now_ms;
        tl_err_ignore(tl_member_say(member, &wanted, now_ms, &sequence),
                      "nobody is heard: said at the next try");
    }
}

/* ---- what recorders have ---- */

static bool
is_of(const struct tl_worn *worn, enum tl_datum_kind kind, uint32_t slot)
{
    return !worn->removed && (kind == TL_DATUM_PENDANT_LIFE ? worn->wire : worn->engine) == slot;
}

static const struct tl_worn *
worn_of(const struct tl_tallies *tallies, const struct tl_member_worn *from,
        enum tl_datum_kind kind, uint32_t slot)
{
    bool heard = tallies->now_ms < from->heard_ms + TL_ALONE_MS;
    for (uint32_t i = 0; heard && i < from->count; i++) {
        if (is_of(&from->worn[i], kind, slot)) {
            return &from->worn[i];
        }
    }
    return NULL;
}

struct tl_datum
tl_worn_datum(const struct tl_worn *worn)
{
    bool pendant = worn->wire != 0;
    struct tl_datum datum = {.kind = pendant ? TL_DATUM_PENDANT_LIFE : TL_DATUM_CABLE,
                             .slot = pendant ? worn->wire : worn->engine,
                             .known = true};
    *tl_datum_wear_of(&datum) = worn->wear;
    tl_datum_wear_of(&datum)->moved = false;
    if (!pendant) {
        datum.as.cable.detorqued_at = worn->detorqued_at;
    }
    return datum;
}

uint32_t
tl_tallies_traps(const struct tl_tallies *tallies, const struct tl_datum *datum)
{
    const struct tl_wear *wear = tl_datum_wear(datum);
    return wear == NULL ? 0
                        : wear->traps + tl_ends_not_in(&tallies->ends, &tallies->config->gear,
                                                       datum->kind, datum->slot, &wear->counted);
}

static uint32_t
worn_traps(const struct tl_tallies *tallies, const struct tl_worn *worn)
{
    struct tl_datum datum = tl_worn_datum(worn);
    return tl_tallies_traps(tallies, &datum);
}

const struct tl_worn *
tl_tallies_recorded(const struct tl_tallies *tallies, const struct tl_member *member,
                    enum tl_datum_kind kind, uint32_t slot, const char **recorder)
{
    const struct tl_worn *best = NULL;
    for (uint32_t i = 0; i < member->worn_count; i++) {
        const struct tl_worn *worn = worn_of(tallies, &member->worn[i], kind, slot);
        if (worn == NULL) {
            continue;
        }
        if (best != NULL && !tl_wear_same_serial(&best->wear, &worn->wear)) {
            return NULL;
        }
        if (best == NULL || worn_traps(tallies, worn) > worn_traps(tallies, best)) {
            best = worn;
            *recorder = member->worn[i].recorder;
        }
    }
    return best;
}

bool
tl_tallies_has(const struct tl_member *member, enum tl_datum_kind kind, uint32_t slot)
{
    const struct tl_own *own = tl_outbox_own(&member->outbox, kind, slot);
    return own != NULL && own->datum.known && !own->refused;
}

/* The bit of a pass in what a count is without; 0 when it is too far back for one. */
static uint32_t
bit_before(const struct tl_counted *counted, struct tl_event event)
{
    const struct tl_event last = counted->last;
    bool before = event.recovery_ms == last.recovery_ms && event.pass <= last.pass &&
                  last.pass - event.pass < 32;
    return before ? 1u << (last.pass - event.pass) : 0;
}

struct tl_counted
tl_picture_counted(const struct tl_picture *picture, const struct tl_gear *gear,
                   const struct tl_datum *of)
{
    struct tl_counted counted = {0};
    if (picture->ended_count > 0) {
        counted.last = picture->ended[picture->ended_count - 1].event;
    }
    for (uint32_t i = 0; i < picture->list_count; i++) {
        const struct tl_listed *listed = &picture->list[i];
        counted.without |= listed->ended ? 0 : bit_before(&counted, listed->event);
    }
    for (uint32_t i = 0; of != NULL && i < picture->ended_count; i++) {
        const struct tl_ended *ended = &picture->ended[i];
        bool load = tl_ended_loads(gear, ended, of->kind, of->slot);
        counted.without |= load ? 0 : bit_before(&counted, ended->event);
    }
    return counted;
}

/* What the record has, for what nobody has said here; false when there is nothing of that. */
static bool
offer(struct tl_tallies *tallies, const struct tl_member *member)
{
    char line[2 * TL_TEXT_CAP];
    char text[TL_TEXT_CAP];
    bool any = false;
    for (uint32_t i = 0; i < tallies->count; i++) {
        const struct tl_tallied *item = &tallies->item[i];
        const char *recorder = NULL;
        const struct tl_worn *worn =
            tl_tallies_recorded(tallies, member, item->kind, item->slot, &recorder);
        if (worn == NULL || tl_tallies_has(member, item->kind, item->slot)) {
            continue;
        }
        struct tl_datum datum = tl_worn_datum(worn);
        (void)snprintf(line, sizeof line, "the record of %s has %s", recorder,
                       tl_datum_text(&datum, text, sizeof text));
        say(tallies, line);
        any = true;
    }
    return any;
}

static void
differ(struct tl_tallies *tallies, struct tl_tallied *item, const struct tl_member *member,
       uint32_t place, uint64_t now_ms)
{
    const struct tl_worn *worn = worn_of(tallies, &member->worn[place], item->kind, item->slot);
    uint32_t here = tl_tally_traps(&item->tally, &tallies->ends, &tallies->config->gear, item->kind,
                                   item->slot);
    bool other_serial = worn != NULL && !tl_wear_same_serial(&worn->wear, &item->tally.base);
    uint32_t there = worn != NULL ? worn_traps(tallies, worn) : here;
    if (!item->tally.known || (!other_serial && there == here)) {
        item->differs_traps[place] = 0;
        item->differs_told[place] = false;
        item->differs_ms[place] = 0;
        return;
    }
    if (item->differs_ms[place] == 0 || item->differs_traps[place] != there) {
        item->differs_ms[place] = now_ms;
        item->differs_traps[place] = there;
        item->differs_told[place] = false;
    }
    if (!item->differs_told[place] && now_ms - item->differs_ms[place] >= TL_TALLY_DIFFERS_MS) {
        char line[2 * TL_TEXT_CAP];
        char text[TL_TEXT_CAP];
        struct tl_datum datum = tl_worn_datum(worn);
        item->differs_told[place] = true;
        (void)snprintf(line, sizeof line, "DIFFERS: %s has %s; here it is %" PRIu32 " traps%s%s",
                       member->worn[place].recorder, tl_datum_text(&datum, text, sizeof text), here,
                       item->tally.base.serial[0] != '\0' ? " on " : "", item->tally.base.serial);
        say(tallies, line);
    }
}

void
tl_tallies_tend(struct tl_tallies *tallies, struct tl_member *member, uint64_t now_ms)
{
    if (tallies->config == NULL) {
        return;
    }
    tallies->now_ms = now_ms;
    take_pictures(tallies, member, now_ms);
    for (uint32_t i = 0; i < tallies->count; i++) {
        restate(tallies, &tallies->item[i], member, now_ms);
        for (uint32_t place = 0; place < member->worn_count; place++) {
            differ(tallies, &tallies->item[i], member, place, now_ms);
        }
    }
    if (tallies->seen && !tallies->offered && offer(tallies, member)) {
        say(tallies, "'from-record' takes what the record has, 'wear' lists it; or key it from the "
                     "book");
        tallies->offered = true;
    }
}
