/* SPDX-License-Identifier: Apache-2.0 */
/*
 * people.c - what every station may say about itself and the others: who has the watch, that an
 * alert is acknowledged, a word by voice for a station that is lost, an override. See command.h.
 */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "clients/station/command.h"

static void
say_watch(struct tl_asking *asking, const char *verb)
{
    char name[TL_NAME_CAP];
    if (asking->argc == 0) {
        tl_command_syntax(asking, verb);
        return;
    }
    if (!tl_ask_text(asking, 0, name, sizeof name)) {
        tl_command_fail(asking, "a name has at most %d characters", TL_NAME_CAP - 1);
        return;
    }
    struct tl_datum *datum = tl_command_add(asking, TL_DATUM_WATCH, 0);
    memcpy(datum->as.watch, name, sizeof name);
    tl_command_finish(asking);
}

static void
verb_watch(struct tl_asking *asking)
{
    say_watch(asking, "watch");
}

static void
append(struct tl_command *out, const char *text)
{
    size_t used = strlen(out->text);
    (void)snprintf(out->text + used, sizeof out->text - used, "%s", text);
}

/* What the one who comes must know: it is read out before the watch changes hands. */
static void
append_open_items(struct tl_asking *asking)
{
    const struct tl_outbox *box = &asking->member->outbox;
    int place = tl_config_place(asking->config, asking->node->id);
    uint32_t owed = 0;
    char line[TL_TEXT_CAP];
    char text[TL_TEXT_CAP];
    for (uint32_t i = 0; i < asking->bell->count; i++) {
        owed += tl_alert_waits_for_place(&asking->bell->entry[i].alert, place) ? 1 : 0;
    }
    (void)snprintf(line, sizeof line, " - OPEN: %" PRIu32 " alerts to acknowledge", owed);
    append(asking->out, line);
    for (uint32_t i = 0; i < box->own_count; i++) {
        const struct tl_datum *own = &box->own[i].datum;
        bool open = own->known && (tl_datum_is_voice(own) || own->kind == TL_DATUM_OVERRIDE ||
                                   own->kind == TL_DATUM_OUT_OF_SERVICE ||
                                   (own->kind == TL_DATUM_DECK && tl_datum_is_safeward(own)));
        if (open) {
            (void)snprintf(line, sizeof line, "; %.120s", tl_datum_text(own, text, sizeof text));
            append(asking->out, line);
        }
    }
}

/* The hand-over is read back, open items and all, and needs the confirm. */
static void
verb_relieve(struct tl_asking *asking)
{
    say_watch(asking, "relieve");
    if (asking->out->kind == TL_COMMAND_SAY) {
        append_open_items(asking);
        asking->out->needs_confirm = true;
    }
}

static const struct tl_belled *
first_owed(const struct tl_asking *asking)
{
    int place = tl_config_place(asking->config, asking->node->id);
    for (uint32_t i = 0; i < asking->bell->count; i++) {
        if (tl_alert_waits_for_place(&asking->bell->entry[i].alert, place)) {
            return &asking->bell->entry[i];
        }
    }
    return NULL;
}

/* One, and only the alert that is named. It silences; the cause stays until it is put right. */
static void
verb_ack(struct tl_asking *asking)
{
    uint32_t number = 0;
    if (asking->argc > 1) {
        tl_command_syntax(asking, "ack");
        return;
    }
    if (asking->argc == 1 &&
        !tl_ask_number(asking, asking->argv[0], "alert", 1, UINT32_MAX, &number)) {
        return;
    }
    const struct tl_belled *belled =
        asking->argc == 1 ? tl_bell_numbered(asking->bell, number) : first_owed(asking);
    int place = tl_config_place(asking->config, asking->node->id);
    if (belled == NULL) {
        tl_command_fail_now(asking, asking->argc == 1
                                        ? "no alert has that number; 'alerts' lists them"
                                        : "no alert waits for this station");
        return;
    }
    if (!tl_alert_waits_for_place(&belled->alert, place)) {
        tl_command_fail(asking, "alert %" PRIu32 " is not owed by this station, or acknowledged",
                        belled->number);
        return;
    }
    uint64_t instance = tl_alert_instance(&belled->alert);
    char text[TL_TEXT_CAP];
    tl_command_add(asking, TL_DATUM_ACKNOWLEDGED, tl_acknowledged_slot(instance))->as.instance =
        instance;
    tl_command_finish(asking);
    (void)snprintf(asking->out->text, sizeof asking->out->text, "%s: acknowledged %" PRIu32 ": %s",
                   asking->node->id, belled->number,
                   tl_cause_text(&belled->alert.cause, belled->alert.event, text, sizeof text));
}

/* The station that is to be spoken for; an error when it may not be. */
static const struct tl_node *
ask_other(struct tl_asking *asking, const char *word)
{
    const struct tl_node *other = tl_config_node(asking->config, word);
    if (other == NULL || other->kind != TL_NODE_STATION) {
        tl_command_fail(asking, "'%.24s' is not a station of stations.yaml", word);
        return NULL;
    }
    if (!tl_config_may_speak_for(asking->config, asking->node, other)) {
        tl_command_fail(asking, "stations.yaml does not let this station speak for %s", other->id);
        return NULL;
    }
    return other;
}

static const struct tl_station_state *
state_of(const struct tl_asking *asking, const char *id)
{
    for (uint32_t i = 0; asking->picture != NULL && i < asking->picture->station_count; i++) {
        if (strncmp(asking->picture->station[i].node, id, TL_ID_CAP) == 0) {
            return &asking->picture->station[i];
        }
    }
    return NULL;
}

/*
 * Toward READY it can be said only while the station is lost for every validator: one that has not
 * noticed yet would refuse it, and what one refuses is refused.
 */
static void
check_is_lost(struct tl_asking *asking, const struct tl_node *other)
{
    const struct tl_hear *hear = &asking->member->hear;
    for (uint32_t i = 0; i < hear->count; i++) {
        const struct tl_picture *picture =
            tl_member_current_picture(asking->member, i, asking->now_ms);
        for (uint32_t k = 0; picture != NULL && k < picture->station_count; k++) {
            const struct tl_station_state *state = &picture->station[k];
            if (state->live == TL_LIVE_LIVE && strncmp(state->node, other->id, TL_ID_CAP) == 0) {
                tl_command_fail_now(asking, "%s is heard by %s: it speaks for itself", other->id,
                                    hear->validator[i].id);
                return;
            }
        }
    }
}

/* Take one datum over as said by voice for that station, for the current event where it has one. */
static void
take_over(struct tl_asking *asking, const struct tl_datum *datum, const struct tl_node *other)
{
    struct tl_datum said = *datum;
    memcpy(said.voice_for, other->id, TL_ID_CAP);
    said.sequence = 0;
    said.said_age_ms = 0;
    said.sensor = false;
    bool per_event = tl_datum_cadence(said.kind) != TL_CADENCE_UNTIL_CHANGED;
    if (per_event && said.kind != TL_DATUM_DECK && tl_event_is(asking->view->event)) {
        said.stated_for_count = 1;
        said.stated_for[0] = asking->view->event;
    }
    if (tl_config_may_state(asking->config, asking->node, &said) &&
        asking->out->count < TL_COMMAND_DATA_MAX) {
        *tl_command_add(asking, said.kind, said.slot) = said;
    }
}

static void
finish_list(struct tl_asking *asking, const char *head)
{
    char line[TL_TEXT_CAP];
    char text[TL_TEXT_CAP];
    struct tl_command *out = asking->out;
    if (out->count == 0) {
        tl_command_fail_now(asking, "nothing of that sort waits or stands here (%s)", head);
        return;
    }
    tl_command_finish(asking);
    (void)snprintf(out->text, sizeof out->text, "%s: %s", asking->node->id, head);
    for (uint32_t i = 0; i < out->count; i++) {
        struct tl_datum plain = out->datum[i];
        memset(plain.voice_for, 0, sizeof plain.voice_for);
        (void)snprintf(line, sizeof line, "%s %.100s", i > 0 ? ";" : "",
                       tl_datum_text(&plain, text, sizeof text));
        append(out, line);
    }
}

/* Every word that the station had said last, as the talker reads it back now. */
static void
voice_as_before(struct tl_asking *asking, const struct tl_node *other)
{
    const struct tl_station_state *state = state_of(asking, other->id);
    char head[TL_TEXT_CAP];
    for (uint32_t i = 0; state != NULL && i < state->datum_count; i++) {
        if (state->data[i].known && !tl_datum_is_voice(&state->data[i])) {
            take_over(asking, &state->data[i], other);
        }
    }
    (void)snprintf(head, sizeof head, "BY VOICE for %s, as it was:", other->id);
    finish_list(asking, head);
}

static void
verb_voice(struct tl_asking *asking)
{
    if (asking->argc < 2) {
        tl_command_syntax(asking, "voice");
        return;
    }
    const struct tl_node *other = ask_other(asking, asking->argv[0]);
    if (other == NULL) {
        return;
    }
    if (asking->argc == 2 && strcmp(asking->argv[1], "as-before") == 0) {
        voice_as_before(asking, other);
        if (asking->out->kind == TL_COMMAND_SAY) {
            check_is_lost(asking, other);
        }
        return;
    }
    const char *verb = asking->argv[1];
    asking->argc -= 2;
    memmove(&asking->argv[0], &asking->argv[2], (size_t)asking->argc * sizeof asking->argv[0]);
    asking->as = other;
    verb = tl_command_join(asking, verb);
    tl_command_verb(asking, verb);
    asking->as = asking->node;
    for (uint32_t i = 0; asking->out->kind == TL_COMMAND_SAY && i < asking->out->count; i++) {
        if (!tl_config_may_state(asking->config, asking->node, &asking->out->datum[i])) {
            tl_command_fail(asking, "'%.24s' cannot be said by voice for %s", verb, other->id);
            return;
        }
    }
    if (asking->out->kind == TL_COMMAND_WIND) {
        tl_command_fail(asking, "the wind has no form by voice");
    } else if (asking->out->kind == TL_COMMAND_SAY && asking->out->needs_confirm) {
        check_is_lost(asking, other);
    }
}

/* The second signature under what another station has said by voice. */
static void
agree_voice(struct tl_asking *asking, const struct tl_node *other)
{
    char head[TL_TEXT_CAP];
    for (uint32_t i = 0; asking->picture != NULL && i < asking->picture->voiced_count; i++) {
        const struct tl_voiced *voiced = &asking->picture->voiced[i];
        if (strncmp(voiced->station, other->id, TL_ID_CAP) == 0 &&
            voiced->confirmed_by[0] == '\0' &&
            strncmp(voiced->said_by, asking->node->id, TL_ID_CAP) != 0) {
            struct tl_datum said = voiced->datum;
            memcpy(said.voice_for, other->id, TL_ID_CAP);
            said.sequence = 0;
            said.said_age_ms = 0;
            *tl_command_add(asking, said.kind, said.slot) = said;
        }
    }
    (void)snprintf(head, sizeof head, "AGREED BY VOICE for %s:", other->id);
    finish_list(asking, head);
}

/* The second signature under an override, or under a validator put out of service. */
static void
agree_signed(struct tl_asking *asking, enum tl_datum_kind kind)
{
    for (uint32_t i = 0; asking->picture != NULL && i < asking->picture->station_count; i++) {
        const struct tl_station_state *state = &asking->picture->station[i];
        bool mine = strncmp(state->node, asking->node->id, TL_ID_CAP) == 0;
        for (uint32_t k = 0; !mine && k < state->datum_count; k++) {
            const struct tl_datum *datum = &state->data[k];
            const struct tl_own *own = tl_outbox_named(&asking->member->outbox, datum);
            bool have = own != NULL && tl_datum_same_value(&own->datum, datum);
            if (datum->kind == kind && datum->known && !have &&
                asking->out->count < TL_COMMAND_DATA_MAX) {
                tl_command_add(asking, datum->kind, datum->slot)->as = datum->as;
            }
        }
    }
    finish_list(asking, "AGREED:");
}

static void
verb_agree(struct tl_asking *asking)
{
    if (asking->argc != 1) {
        tl_command_syntax(asking, "agree");
        return;
    }
    if (strcmp(asking->argv[0], "override") == 0) {
        agree_signed(asking, TL_DATUM_OVERRIDE);
        return;
    }
    if (strcmp(asking->argv[0], "out") == 0) {
        agree_signed(asking, TL_DATUM_OUT_OF_SERVICE);
        return;
    }
    const struct tl_node *other = ask_other(asking, asking->argv[0]);
    if (other != NULL) {
        agree_voice(asking, other);
    }
}

static bool
may_sign(struct tl_asking *asking)
{
    if (!asking->node->may_override) {
        tl_command_fail(asking, "stations.yaml does not let this station sign that (override_by)");
    }
    return asking->node->may_override;
}

/* override RULE [STATION] MINUTES REASON... */
static void
verb_override(struct tl_asking *asking)
{
    struct tl_override override = {0};
    uint32_t minutes = 0;
    int at = 1;
    if (asking->argc < 3) {
        tl_command_syntax(asking, "override");
        return;
    }
    const struct tl_rule_row *row = tl_rule_row((uint32_t)tl_rule_by_name(asking->argv[0]));
    if (row == NULL || !row->overridable) {
        tl_command_fail(asking, "'%.32s' is no rule that can be overridden", asking->argv[0]);
        return;
    }
    const struct tl_node *node = tl_config_node(asking->config, asking->argv[1]);
    if (node != NULL && node->kind == TL_NODE_STATION) {
        memcpy(override.station, node->id, TL_ID_CAP);
        at = 2;
    }
    if (!may_sign(asking) || !tl_ask_number(asking, asking->argv[at], "minutes", 1,
                                            TL_OVERRIDE_VALID_MAX_S / 60, &minutes)) {
        return;
    }
    if (!tl_ask_text(asking, at + 1, override.reason, sizeof override.reason)) {
        tl_command_fail(asking, "an override needs a reason of at most %d characters",
                        TL_REASON_CAP - 1);
        return;
    }
    override.rule = (uint32_t)row->rule;
    override.valid_s = 60 * minutes;
    uint32_t place = override.station[0] != '\0'
                         ? (uint32_t)tl_config_place(asking->config, override.station) + 1
                         : 0;
    tl_command_add(asking, TL_DATUM_OVERRIDE, override.rule * 64 + place)->as.override = override;
    tl_command_finish(asking);
    append(asking->out, " - a second station must agree within 60 s");
}

/* out VALIDATOR: a validator that is lost is not waited for any more. */
static void
verb_out(struct tl_asking *asking)
{
    if (asking->argc != 1) {
        tl_command_syntax(asking, "out");
        return;
    }
    const struct tl_node *node = tl_config_node(asking->config, asking->argv[0]);
    if (node == NULL || node->kind != TL_NODE_VALIDATOR) {
        tl_command_fail(asking, "'%.24s' is not a validator of stations.yaml", asking->argv[0]);
        return;
    }
    if (may_sign(asking)) {
        uint32_t slot = (uint32_t)(node - asking->config->node) + 1;
        struct tl_datum *datum = tl_command_add(asking, TL_DATUM_OUT_OF_SERVICE, slot);
        memcpy(datum->as.out_of_service, node->id, TL_ID_CAP);
        tl_command_finish(asking);
        append(asking->out, " - a second station must agree within 60 s");
    }
}

/* Take back what this station has signed or said by voice: all of that sort, at once. */
static void
verb_unsign(struct tl_asking *asking)
{
    const struct tl_outbox *box = &asking->member->outbox;
    if (asking->argc != 1) {
        tl_command_syntax(asking, "unsign");
        return;
    }
    const char *what = asking->argv[0];
    for (uint32_t i = 0; i < box->own_count && asking->out->count < TL_COMMAND_DATA_MAX; i++) {
        const struct tl_datum *own = &box->own[i].datum;
        bool match = strncmp(own->voice_for, what, TL_ID_CAP) == 0 ||
                     (strcmp(what, "override") == 0 && own->kind == TL_DATUM_OVERRIDE) ||
                     (strcmp(what, "out") == 0 && own->kind == TL_DATUM_OUT_OF_SERVICE);
        if (match && own->known) {
            struct tl_datum *datum = tl_command_add(asking, own->kind, own->slot);
            memcpy(datum->voice_for, own->voice_for, TL_ID_CAP);
            datum->known = false;
        }
    }
    finish_list(asking, "taken back:");
}

static const struct tl_verb verbs[] = {
    {"ack", "ack [NUMBER]", "acknowledge that alert, or the first that this station owes",
     verb_ack},
    {"watch", "watch NAME", "who has the watch here", verb_watch},
    {"relieve", "relieve NAME", "hand over the watch: reads out what is open", verb_relieve},
    {"voice", "voice STATION COMMAND... | voice STATION as-before",
     "by voice for a station that is lost", verb_voice},
    {"agree", "agree STATION|override|out", "the second signature", verb_agree},
    {"unsign", "unsign STATION|override|out", "take back what was signed here, now", verb_unsign},
    {"override", "override RULE [STATION] MINUTES REASON", "let a rule not force, by two",
     verb_override},
    {"out", "out VALIDATOR", "a validator that is lost is out of service, by two", verb_out},
};

const struct tl_room tl_room_people = {TL_STATION_UNKNOWN, verbs, sizeof verbs / sizeof verbs[0]};
