/* SPDX-License-Identifier: Apache-2.0 */
/* command.c - see command.h; ask.c reads single words. */
#include "clients/station/command.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

void
tl_command_fail(struct tl_asking *asking, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    asking->out->kind = TL_COMMAND_ERROR;
    asking->out->count = 0;
    (void)vsnprintf(asking->out->text, sizeof asking->out->text, format, arguments);
    va_end(arguments);
}

void
tl_command_fail_now(struct tl_asking *asking, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    asking->out->kind = TL_COMMAND_ERROR;
    asking->out->count = 0;
    asking->out->may_pass = true;
    (void)vsnprintf(asking->out->text, sizeof asking->out->text, format, arguments);
    va_end(arguments);
}

const struct tl_room *
tl_room_of(enum tl_station_kind kind)
{
    static const struct tl_room *const rooms[] = {
        &tl_room_engine,  &tl_room_deck,      &tl_room_approach,     &tl_room_platform,
        &tl_room_primary, &tl_room_bridge,    &tl_room_wires,        &tl_room_tracks,
        &tl_room_aid,     &tl_room_barricade, &tl_room_gear_officer, &tl_room_safety,
    };
    for (size_t i = 0; i < sizeof rooms / sizeof rooms[0]; i++) {
        if (rooms[i]->kind == kind) {
            return rooms[i];
        }
    }
    return NULL;
}

static const struct tl_verb *
find_verb(const struct tl_room *room, const char *name)
{
    for (size_t i = 0; i < room->count; i++) {
        if (strcmp(room->verb[i].name, name) == 0) {
            return &room->verb[i];
        }
    }
    return NULL;
}

void
tl_command_syntax(struct tl_asking *asking, const char *verb)
{
    const struct tl_verb *found = find_verb(tl_room_of(asking->as->station), verb);
    found = found != NULL ? found : find_verb(&tl_room_people, verb);
    tl_command_fail(asking, "usage: %s", found != NULL ? found->syntax : verb);
}

struct tl_datum *
tl_command_add(struct tl_asking *asking, enum tl_datum_kind kind, uint32_t slot)
{
    struct tl_command *out = asking->out;
    uint32_t at = out->count < TL_COMMAND_DATA_MAX ? out->count++ : TL_COMMAND_DATA_MAX - 1;
    memset(&out->datum[at], 0, sizeof out->datum[at]);
    out->kind = TL_COMMAND_SAY;
    out->datum[at].kind = kind;
    out->datum[at].slot = slot;
    out->datum[at].known = true;
    if (asking->as != asking->node) {
        memcpy(out->datum[at].voice_for, asking->as->id, TL_ID_CAP);
    }
    return &out->datum[at];
}

/* Words that every station knows. */
struct common_word {
    const char *name;
    enum tl_command_kind kind;
};
static const struct common_word common_words[] = {
    {"status", TL_COMMAND_STATUS}, {"mine", TL_COMMAND_MINE},       {"alerts", TL_COMMAND_ALERTS},
    {"help", TL_COMMAND_HELP},     {"confirm", TL_COMMAND_CONFIRM}, {"quit", TL_COMMAND_QUIT},
    {"groove", TL_COMMAND_GROOVE},
};

static bool
read_common(struct tl_asking *asking, const char *name)
{
    for (size_t i = 0; i < sizeof common_words / sizeof common_words[0]; i++) {
        if (strcmp(common_words[i].name, name) == 0) {
            if (asking->argc != 0) {
                tl_command_fail(asking, "'%s' takes nothing after it", name);
            } else {
                asking->out->kind = common_words[i].kind;
            }
            return true;
        }
    }
    return false;
}

/* False for a line that cannot be cut: too long, or with bytes that a keyboard does not give. */
static bool
cut_words(struct tl_asking *asking, const char *line, char *scratch, const char **verb)
{
    size_t length = strnlen(line, TL_LINE_MAX);
    *verb = NULL;
    asking->argc = 0;
    if (length >= TL_LINE_MAX) {
        tl_command_fail(asking, "line longer than %d characters; nothing was said",
                        TL_LINE_MAX - 1);
        return false;
    }
    memcpy(scratch, line, length + 1);
    char *rest = scratch;
    for (size_t i = 0; i < length; i++) {
        unsigned char c = (unsigned char)scratch[i];
        if (c >= 0x7f || (c < 0x20 && c != '\t')) {
            tl_command_fail(asking, "line has bytes that are not plain text; nothing was said");
            return false;
        }
    }
    for (char *word = strtok_r(rest, " \t", &rest); word != NULL;
         word = strtok_r(NULL, " \t", &rest)) {
        if (*verb == NULL) {
            *verb = word;
        } else if (asking->argc == TL_ARGS_MAX) {
            tl_command_fail(asking, "more than %d words; nothing was said", TL_ARGS_MAX);
            return false;
        } else {
            asking->argv[asking->argc++] = word;
        }
    }
    return true;
}

/* Two-word verbs are one name in the tables: "no foul", "wave off". */
const char *
tl_command_join(struct tl_asking *asking, const char *verb)
{
    bool no_foul =
        strcmp(verb, "no") == 0 && asking->argc > 0 && strcmp(asking->argv[0], "foul") == 0;
    bool wave_off =
        strcmp(verb, "wave") == 0 && asking->argc > 0 && strcmp(asking->argv[0], "off") == 0;
    if (no_foul || wave_off) {
        asking->argc--;
        memmove(&asking->argv[0], &asking->argv[1], (size_t)asking->argc * sizeof asking->argv[0]);
        return no_foul ? "no-foul" : "wave-off";
    }
    return verb;
}

void
tl_command_read(struct tl_asking *asking, const char *line, char *scratch, struct tl_command *out)
{
    const char *verb = NULL;
    memset(out, 0, sizeof *out);
    asking->out = out;
    if (!cut_words(asking, line, scratch, &verb)) {
        return;
    }
    if (verb == NULL || verb[0] == '#') {
        out->kind = TL_COMMAND_NOTHING;
        return;
    }
    verb = tl_command_join(asking, verb);
    if (read_common(asking, verb)) {
        return;
    }
    tl_command_verb(asking, verb);
}

void
tl_command_verb(struct tl_asking *asking, const char *verb)
{
    const struct tl_verb *found = find_verb(tl_room_of(asking->as->station), verb);
    if (found == NULL && asking->as == asking->node) {
        found = find_verb(&tl_room_people, verb);
    }
    if (found == NULL) {
        tl_command_fail(asking, "'%.24s' is not a word of %s; 'help' lists them", verb,
                        asking->as == asking->node ? "this station" : asking->as->id);
        return;
    }
    found->fn(asking);
}

const struct tl_listed *
tl_listed_pass(const struct tl_asking *asking, uint32_t pass)
{
    for (uint32_t i = 0; asking->picture != NULL && i < asking->picture->list_count; i++) {
        if (asking->picture->list[i].event.pass == pass) {
            return &asking->picture->list[i];
        }
    }
    return NULL;
}

bool
tl_listed_is_open(const struct tl_listed *listed)
{
    return !listed->ended && !(listed->order_known && listed->order.state == TL_ORDER_CANCELLED);
}

const struct tl_listed *
tl_listed_side(const struct tl_asking *asking, uint32_t side)
{
    for (uint32_t i = 0; asking->picture != NULL && i < asking->picture->list_count; i++) {
        const struct tl_listed *listed = &asking->picture->list[i];
        if (listed->order_known && listed->order.side == side && tl_listed_is_open(listed)) {
            return listed;
        }
    }
    return NULL;
}

void
tl_state_for(struct tl_asking *asking, struct tl_datum *datum, struct tl_event event)
{
    const struct tl_own *own = tl_outbox_named(&asking->member->outbox, datum);
    datum->stated_for_count = 0;
    if (own != NULL && tl_datum_same_value(&own->datum, datum)) {
        for (uint32_t i = 0; i < own->datum.stated_for_count; i++) {
            const struct tl_listed *listed = tl_listed_pass(asking, own->datum.stated_for[i].pass);
            bool kept = listed != NULL && tl_listed_is_open(listed) &&
                        tl_event_equal(listed->event, own->datum.stated_for[i]) &&
                        !tl_event_equal(listed->event, event);
            if (kept && datum->stated_for_count < TL_STATED_FOR_MAX - 1) {
                datum->stated_for[datum->stated_for_count++] = own->datum.stated_for[i];
            }
        }
    }
    if (tl_event_is(event)) {
        datum->stated_for[datum->stated_for_count++] = event;
    }
}

/* " for event 7 and 8", or nothing. */
static void
spoken_events(const struct tl_datum *datum, char *dst, size_t cap)
{
    size_t used = 0;
    dst[0] = '\0';
    bool of_itself = datum->kind == TL_DATUM_RECOVERY || datum->kind == TL_DATUM_INBOUND ||
                     tl_datum_cadence(datum->kind) == TL_CADENCE_UNTIL_CHANGED;
    of_itself = of_itself && datum->kind != TL_DATUM_ORDER && datum->kind != TL_DATUM_RESULT;
    for (uint32_t i = 0; !of_itself && i < datum->stated_for_count && used < cap; i++) {
        int n = snprintf(dst + used, cap - used, "%s%" PRIu32,
                         i == 0 ? (datum->kind == TL_DATUM_ORDER ? " as event " : " for event ")
                                : " and ",
                         datum->stated_for[i].pass);
        used += n > 0 ? (size_t)n : 0;
    }
}

/* A physical value changed for a queued event changes it under the one on final. */
static bool
changes_under_current(const struct tl_asking *asking, const struct tl_datum *datum)
{
    return tl_datum_cadence(datum->kind) == TL_CADENCE_EVENT_CARRIED &&
           tl_event_is(asking->view->event) && !tl_datum_is_for(datum, asking->view->event);
}

void
tl_command_finish(struct tl_asking *asking)
{
    struct tl_command *out = asking->out;
    const struct tl_datum *datum = &out->datum[0];
    const struct tl_own *own = tl_outbox_named(&asking->member->outbox, datum);
    char unit[TL_ID_CAP];
    char value[TL_TEXT_CAP];
    char events[48];
    char before[TL_TEXT_CAP] = "";
    char old[TL_TEXT_CAP];
    const char *warning = "";
    spoken_events(datum, events, sizeof events);
    if (own != NULL && own->datum.known && !tl_datum_same_value(&own->datum, datum)) {
        (void)snprintf(before, sizeof before, " (was: %.100s)",
                       tl_datum_text(&own->datum, old, sizeof old));
    }
    if (changes_under_current(asking, datum)) {
        warning = " - the current event has no result yet: this changes the setting under it";
    }
    (void)snprintf(out->text, sizeof out->text, "%s: %.120s%s%s%s",
                   tl_node_spoken(asking->node->id, unit, sizeof unit),
                   tl_datum_text(datum, value, sizeof value), events, before, warning);
    for (uint32_t i = 0; i < out->count; i++) {
        out->needs_confirm = out->needs_confirm || tl_datum_needs_confirm(&out->datum[i]);
    }
}
