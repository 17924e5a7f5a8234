/* SPDX-License-Identifier: Apache-2.0 */
/* why.c - where each cause comes from. See why.h; why_print.c prints it. */
#include "clients/ui/why.h"

#include <inttypes.h>
#include <string.h>

#include "proto/vocab/rules_why.h"

/* In the order of the bits. */
static const struct {
    enum tl_station_kind kind; /* UNKNOWN: the station that the cause names */
    const char *name;
} ACTS[] = {
    {TL_STATION_UNKNOWN, "named"},
    {TL_STATION_PRIMARY, "primary"},
    {TL_STATION_DECK, "deck"},
    {TL_STATION_PLATFORM, "platform"},
    {TL_STATION_ENGINE, "engine"},
    {TL_STATION_BRIDGE, "bridge"},
    {TL_STATION_APPROACH, "approach"},
    {TL_STATION_WIRES, "wires"},
    {TL_STATION_TRACKS, "tracks"},
    {TL_STATION_AID, "aid"},
    {TL_STATION_GEAR_OFFICER, "gear-officer"},
    {TL_STATION_BARRICADE, "barricade"},
    {TL_STATION_SAFETY, "safety"},
};
enum {
    ACTS_COUNT = sizeof ACTS / sizeof ACTS[0]
};

const char *
tl_ui_act_name(unsigned bit)
{
    return bit < ACTS_COUNT ? ACTS[bit].name : NULL;
}

const char *
tl_ui_acts_text(unsigned acts, char *dst, size_t cap)
{
    size_t used = 0;
    (void)snprintf(dst, cap, "nobody");
    for (unsigned bit = 0; bit < ACTS_COUNT && used < cap; bit++) {
        if ((acts >> bit & 1u) != 0) {
            const char *name = bit == 0 ? "the station that it names" : ACTS[bit].name;
            name = ACTS[bit].kind == TL_STATION_ENGINE ? "every engine" : name;
            int n = snprintf(dst + used, cap - used, "%s%s", used > 0 ? ", " : "", name);
            used += n > 0 ? (size_t)n : 0;
        }
    }
    return dst;
}

const char *
tl_ui_how_name(enum tl_why_how how)
{
    switch (how) {
    case TL_WHY_KEYED:
        return "keyed";
    case TL_WHY_SENSOR:
        return "sensor";
    case TL_WHY_BY_VOICE:
        return "voice";
    case TL_WHY_NOT_TOLD:
        break;
    }
    return "not told";
}

const struct tl_cause *
tl_ui_cause_at(const struct tl_ui_state *state, uint32_t i)
{
    if (state->picture != NULL && state->view->from_known) {
        return i < state->picture->cause_count ? &state->picture->cause[i] : NULL;
    }
    return i == 0 && state->view->word != TL_WORD_READY ? &state->view->first : NULL;
}

/* Places of those whom a set of the table names, for this cause. */
static uint32_t
places_of(const struct tl_config *config, unsigned acts, const struct tl_cause *cause)
{
    uint32_t places = 0;
    for (uint32_t i = 0; i < TL_STATIONS_MAX; i++) {
        const struct tl_node *node = tl_config_at(config, i);
        for (unsigned bit = 0; node != NULL && bit < ACTS_COUNT; bit++) {
            bool named = bit == 0 && strncmp(cause->station, node->id, TL_ID_CAP) == 0;
            bool meant = named || (bit > 0 && ACTS[bit].kind == node->station);
            places |= meant && (acts >> bit & 1u) != 0 ? 1u << i : 0;
        }
    }
    return places;
}

/* How old the answers of that station are. */
static void
take_heard(const struct tl_ui_state *state, const char *station, struct tl_why *why)
{
    const struct tl_station_state *said = tl_ui_station(state->picture, station);
    why->live = said != NULL ? said->live : TL_LIVE_UNKNOWN;
    if (said != NULL && said->live != TL_LIVE_NEVER) {
        why->heard_known = true;
        why->heard_age_ms = said->age_ms + state->picture_age_ms;
    }
}

static const struct tl_voiced *
voiced_of(const struct tl_picture *picture, const struct tl_datum *datum)
{
    for (uint32_t i = 0; i < picture->voiced_count; i++) {
        if (&picture->voiced[i].datum == datum) {
            return &picture->voiced[i];
        }
    }
    return NULL;
}

/* A word of that station, or by voice for it. */
static void
take_datum(const struct tl_ui_state *state, const char *station, const struct tl_datum *datum,
           struct tl_why *why)
{
    const struct tl_voiced *voiced = voiced_of(state->picture, datum);
    const char *said_by = voiced != NULL ? voiced->said_by : station;
    (void)tl_datum_text(datum, why->reported, sizeof why->reported);
    memcpy(why->said_by, said_by, strnlen(said_by, TL_ID_CAP - 1));
    why->how = datum->sensor ? TL_WHY_SENSOR : TL_WHY_KEYED;
    if (voiced != NULL) {
        why->how = TL_WHY_BY_VOICE;
        memcpy(why->confirmed_by, voiced->confirmed_by, TL_ID_CAP);
    }
    why->said_known = true;
    why->said_age_ms = datum->said_age_ms + state->picture_age_ms;
    take_heard(state, why->said_by, why);
}

/* The statement on which the cause hangs; a lost station's is what was said for it. NULL = gone. */
static const struct tl_datum *
statement_of(const struct tl_picture *picture, const struct tl_subject *subject)
{
    const struct tl_station_state *station = tl_ui_station(picture, subject->node);
    const struct tl_datum *own = NULL;
    if (station == NULL || subject->sequence == 0) {
        return NULL;
    }
    for (uint32_t i = 0; i < station->datum_count; i++) {
        const struct tl_datum *datum = &station->data[i];
        bool same = datum->sequence == subject->sequence && !tl_datum_is_voice(datum);
        own = same && station->incarnation == subject->incarnation ? datum : own;
    }
    if (own != NULL && station->live == TL_LIVE_LIVE) {
        return own;
    }
    for (uint32_t i = 0; i < picture->voiced_count; i++) {
        const struct tl_voiced *voiced = &picture->voiced[i];
        if (voiced->datum.sequence == subject->sequence &&
            strncmp(voiced->station, subject->node, TL_ID_CAP) == 0) {
            return &voiced->datum;
        }
    }
    return own;
}

static void
take_word(const struct tl_ui_state *state, const char *station, enum tl_datum_kind kind,
          uint32_t slot, struct tl_why *why)
{
    const struct tl_datum *datum = tl_ui_word(state->picture, station, kind, slot);
    if (datum != NULL) {
        take_datum(state, station, datum, why);
    }
}

static uint32_t
unit_of(const struct tl_config *config, const char *station)
{
    const struct tl_node *node = tl_config_node(config, station);
    return node != NULL ? node->unit : 0;
}

/* The last engine in service that is set to what the cause reports. */
static void
take_engine_that_differs(const struct tl_ui_state *state, const struct tl_cause *cause,
                         struct tl_why *why)
{
    const struct tl_gear *gear = &state->config->gear;
    for (uint32_t i = gear->engine_count; i-- > 0;) {
        const struct tl_node *node =
            tl_config_station(state->config, TL_STATION_ENGINE, gear->engine[i].unit);
        const struct tl_datum *set =
            node != NULL ? tl_ui_word(state->picture, node->id, TL_DATUM_SET, 0) : NULL;
        if (gear->engine[i].in_service && set != NULL &&
            (int64_t)set->as.set_lb == cause->reported.number) {
            take_datum(state, node->id, set, why);
            return;
        }
    }
}

/* The wind is no word but a sample of the bridge's beats. */
static void
take_wind(const struct tl_ui_state *state, struct tl_why *why)
{
    const struct tl_node *bridge = tl_config_station(state->config, TL_STATION_BRIDGE, 0);
    const struct tl_station_state *station =
        bridge != NULL ? tl_ui_station(state->picture, bridge->id) : NULL;
    for (uint32_t i = 0; station != NULL && i < station->sample_count; i++) {
        const struct tl_sample *sample = &station->samples[i];
        if (sample->kind != TL_SAMPLE_WIND || sample->as.wind.state == TL_WIND_UNKNOWN) {
            continue;
        }
        const struct tl_wind *wind = &sample->as.wind;
        bool disagree = wind->state == TL_WIND_DISAGREE;
        why->last_word = !disagree;
        size_t used = (size_t)snprintf(why->reported, sizeof why->reported, "%s",
                                       disagree ? "sensors disagree:" : "a wind, too old to count");
        for (uint32_t k = 0; disagree && k < wind->reading_count && used < TL_TEXT_CAP; k++) {
            used += (size_t)snprintf(why->reported + used, sizeof why->reported - used,
                                     " %s %.1f kn from %.0f;", wind->reading[k].source,
                                     wind->reading[k].speed_kt_x10 / 10.0,
                                     wind->reading[k].from_deg_x10 / 10.0);
        }
        memcpy(why->said_by, bridge->id, TL_ID_CAP);
        why->how = wind->keyed ? TL_WHY_KEYED : TL_WHY_SENSOR;
        why->said_known = true;
        why->said_age_ms = sample->age_ms + state->picture_age_ms;
        take_heard(state, bridge->id, why);
    }
}

/* Nothing is reported: who owes it, and that station's last word of that kind. */
static void
take_last_word(const struct tl_ui_state *state, const struct tl_rule_row *row, struct tl_why *why)
{
    const struct tl_cause *cause = why->cause;
    uint32_t slot = cause->needed.known ? (uint32_t)cause->needed.number : 0;
    why->last_word = true;
    if (row->rule == TL_RULE_REPEATER_DIFFERS) {
        take_word(state, state->config->repeater_reader, TL_DATUM_REPEATER,
                  unit_of(state->config, cause->station), why);
    } else if (row->subject != TL_DATUM_UNKNOWN && cause->station[0] != '\0') {
        take_word(state, cause->station, row->subject, slot, why);
    }
}

/* What the tool itself has seen; no person said it. */
static void
take_tool(const struct tl_ui_state *state, struct tl_why *why)
{
    const struct tl_cause *cause = why->cause;
    const struct tl_picture *picture = state->picture;
    if (cause->rule == TL_RULE_STATION_LOST) {
        take_heard(state, cause->station, why);
        (void)snprintf(why->reported, sizeof why->reported, "%s",
                       why->live == TL_LIVE_LIVE
                           ? "answers again"
                           : (why->live == TL_LIVE_LOST ? "no fresh answer" : "never heard"));
    } else if (cause->reason != TL_REFUSAL_UNKNOWN) {
        (void)tl_cause_refusal_text(cause, why->reported, sizeof why->reported);
    }
    for (uint32_t i = 0; picture != NULL && i < picture->override_count; i++) {
        const struct tl_override_live *live = &picture->override[i];
        if (cause->rule == TL_RULE_OVERRIDE_LIVE &&
            (int64_t)live->override.rule == cause->reported.number &&
            strncmp(live->said_by, cause->station, TL_ID_CAP) == 0) {
            struct tl_datum datum = {.kind = TL_DATUM_OVERRIDE, .known = true};
            datum.as.override = live->override;
            (void)tl_datum_text(&datum, why->reported, sizeof why->reported);
            size_t used = strnlen(why->reported, sizeof why->reported);
            uint64_t age_s = (state->picture_age_ms + 999) / 1000;
            (void)snprintf(why->reported + used, sizeof why->reported - used,
                           "; %" PRIu64 " s left", live->left_s > age_s ? live->left_s - age_s : 0);
            memcpy(why->said_by, live->said_by, TL_ID_CAP);
            memcpy(why->confirmed_by, live->confirmed_by, TL_ID_CAP);
            why->how = TL_WHY_KEYED;
        }
    }
}

static void
take_reported(const struct tl_ui_state *state, const struct tl_rule_row *row, struct tl_why *why)
{
    const struct tl_cause *cause = why->cause;
    if (row->kind == TL_CAUSE_PICTURE || state->picture == NULL) {
        take_tool(state, why);
    } else if (row->rule == TL_RULE_WIND_UNKNOWN) {
        take_wind(state, why);
        why->last_word = why->last_word || why->reported[0] == '\0';
    } else if (!cause->reported.known) {
        take_last_word(state, row, why);
    } else if (row->rule == TL_RULE_REPEATER_DIFFERS) {
        take_word(state, state->config->repeater_reader, TL_DATUM_REPEATER,
                  unit_of(state->config, cause->station), why);
    } else if (row->rule == TL_RULE_ENGINES_DISAGREE) {
        take_engine_that_differs(state, cause, why);
    } else {
        const struct tl_datum *datum = statement_of(state->picture, &cause->subject);
        if (datum != NULL) {
            take_datum(state, cause->subject.node, datum, why);
        }
    }
}

/* The figure after ", needed " or ", ordered " of the cause's sentence: words.c words it once. */
static void
take_needed(const struct tl_ui_state *state, struct tl_why *why)
{
    static const char *const marks[] = {", needed ", ", ordered "};
    const struct tl_gear_limits *limits = &state->config->gear.limits;
    struct tl_cause plain = *why->cause;
    char text[TL_TEXT_CAP];
    if (plain.rule == TL_RULE_PENDANT_HEIGHT && limits->given) {
        (void)snprintf(why->needed, sizeof why->needed,
                       "%" PRIu32 ".%02" PRIu32 " to %" PRIu32 ".%02" PRIu32
                       " in (gear.yaml of this screen)",
                       limits->pendant_low_in_x100 / 100, limits->pendant_low_in_x100 % 100,
                       limits->pendant_high_in_x100 / 100, limits->pendant_high_in_x100 % 100);
        return;
    }
    if (!plain.needed.known || !plain.reported.known) {
        return;
    }
    plain.state = TL_CAUSE_WRONG;       /* no suffix */
    plain.would = (struct tl_would){0}; /* and no consequence, which takes the room of the figure */
    (void)tl_cause_text(&plain, (struct tl_event){0}, text, sizeof text);
    for (size_t i = 0; i < sizeof marks / sizeof marks[0]; i++) {
        const char *at = strstr(text, marks[i]);
        if (at != NULL) {
            (void)snprintf(why->needed, sizeof why->needed, "%s", at + strlen(marks[i]));
        }
    }
}

void
tl_ui_why(const struct tl_ui_state *state, const struct tl_cause *cause, struct tl_why *why)
{
    const struct tl_rule_row *row = tl_rule_row(cause->rule);
    const struct tl_rule_why *words = tl_rule_why(cause->rule);
    memset(why, 0, sizeof *why);
    why->cause = cause;
    why->rule = row != NULL ? row->name : "unknown";
    why->rule_needs = words != NULL ? words->needs : NULL;
    if (row == NULL) {
        return;
    }
    take_reported(state, row, why);
    take_needed(state, why);
    why->acts = places_of(state->config, row->acts, cause);
    why->owes = places_of(state->config, row->owes, cause);
}
