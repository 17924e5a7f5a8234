/* SPDX-License-Identifier: Apache-2.0 */
/* ask.c - single words of a command, and the verbs that several stations share. */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "clients/station/command.h"
#include "proto/codec/codec.h"

/* Digits with an optional comma before the last three: 34000, 34,000. */
static bool
read_digits(const char *word, uint64_t *out)
{
    size_t length = strnlen(word, 12);
    const char *comma = strchr(word, ',');
    uint64_t value = 0;
    if (length == 0 || length > 10 ||
        (comma != NULL && (comma == word || length - (size_t)(comma - word) != 4))) {
        return false;
    }
    for (size_t i = 0; i < length; i++) {
        if (&word[i] == comma) {
            continue;
        }
        if (word[i] < '0' || word[i] > '9') {
            return false;
        }
        value = 10 * value + (uint64_t)(word[i] - '0');
    }
    *out = value;
    return true;
}

bool
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): least before greatest */
tl_ask_number(struct tl_asking *asking, const char *word, const char *what, uint32_t min,
              uint32_t max, uint32_t *out)
{
    uint64_t value = 0;
    if (!read_digits(word, &value)) {
        tl_command_fail(asking, "%s '%.24s' is not a number", what, word);
        return false;
    }
    if (value < min || value > max) {
        tl_command_fail(asking, "%s %" PRIu64 " is out of range: %" PRIu32 " to %" PRIu32, what,
                        value, min, max);
        return false;
    }
    *out = (uint32_t)value;
    return true;
}

bool
tl_ask_weight(struct tl_asking *asking, const char *word, uint32_t *out)
{
    const struct tl_gear *gear = &asking->config->gear;
    if (!tl_ask_number(asking, word, "weight, lb,", gear->selector_min_lb, gear->selector_max_lb,
                       out)) {
        return false;
    }
    if (gear->selector_step_lb > 0 && *out % gear->selector_step_lb != 0) {
        tl_command_fail(asking, "weight %" PRIu32 " lb is between two steps of %" PRIu32 " lb",
                        *out, gear->selector_step_lb);
        return false;
    }
    return true;
}

bool
tl_ask_wire(struct tl_asking *asking, const char *word, uint32_t *out)
{
    const struct tl_gear *gear = &asking->config->gear;
    if (!tl_ask_number(asking, word, "wire", 1, TL_ENGINES_MAX, out)) {
        return false;
    }
    if (!tl_gear_has_wire(gear, *out)) {
        tl_command_fail(asking, "there is no wire %" PRIu32 "; nothing was said", *out);
        return false;
    }
    return true;
}

bool
tl_ask_engine(struct tl_asking *asking, const char *word, uint32_t *out)
{
    if (!tl_ask_number(asking, word, "engine", 1, TL_ENGINES_MAX, out)) {
        return false;
    }
    if (tl_config_engine(asking->config, *out) == NULL) {
        tl_command_fail(asking, "there is no engine %" PRIu32, *out);
        return false;
    }
    return true;
}

bool
tl_ask_side(struct tl_asking *asking, const char *word, uint32_t *out)
{
    return tl_ask_number(asking, word, "side number", 1, 9999, out);
}

bool
tl_ask_type(struct tl_asking *asking, const char *word, char type[TL_TYPE_CAP])
{
    if (!tl_type_is_wellformed(word)) {
        tl_command_fail(asking, "'%.24s' cannot be a type: 1 to 15 of a-z, 0-9 and '-'", word);
        return false;
    }
    memset(type, 0, TL_TYPE_CAP);
    (void)snprintf(type, TL_TYPE_CAP, "%s", word);
    return true;
}

bool
tl_ask_names_event(const struct tl_asking *asking)
{
    return asking->argc >= 2 && strcmp(asking->argv[asking->argc - 2], "for") == 0;
}

bool
tl_ask_event(struct tl_asking *asking, struct tl_event *event)
{
    if (tl_ask_names_event(asking)) {
        uint32_t pass = 0;
        if (!tl_ask_number(asking, asking->argv[asking->argc - 1], "event", 1, UINT32_MAX, &pass)) {
            return false;
        }
        const struct tl_listed *listed = tl_listed_pass(asking, pass);
        if (listed == NULL) {
            tl_command_fail_now(asking, "event %" PRIu32 " is not on primary's list", pass);
            return false;
        }
        *event = listed->event;
        asking->argc -= 2;
        return true;
    }
    if (!asking->view->event_known) {
        tl_command_fail_now(asking, "the current event is not known here: no fresh verdict, or the "
                                    "validators differ; say it by voice");
        return false;
    }
    if (!tl_event_is(asking->view->event)) {
        tl_command_fail_now(asking, "no event is current: primary has ordered no aircraft");
        return false;
    }
    *event = asking->view->event;
    return true;
}

bool
tl_ask_hundredths(struct tl_asking *asking, const char *word, const char *what, uint32_t max,
                  uint32_t *out)
{
    size_t length = strnlen(word, 12);
    const char *point = strchr(word, '.');
    size_t places = point != NULL ? strlen(point + 1) : 0;
    uint32_t value = 0;
    bool plain = length > 0 && length <= 8 && strspn(word, "0123456789.") == length &&
                 word[0] != '.' && (point == NULL || (places >= 1 && places <= 2));
    for (size_t i = 0; plain && i < length; i++) {
        plain = word[i] != '.' || &word[i] == point;
        value = word[i] == '.' ? value : 10 * value + (uint32_t)(word[i] - '0');
    }
    for (; places < 2; places++) {
        value *= 10;
    }
    if (!plain || value == 0 || value > max) {
        tl_command_fail(asking, "%s '%.24s' is not a number like 2.75, up to %" PRIu32, what, word,
                        max / 100);
        return false;
    }
    *out = value;
    return true;
}

bool
tl_ask_tenths(struct tl_asking *asking, const char *word, const char *what, uint32_t min,
              uint32_t *out)
{
    static const uint32_t max_x10 = 20000;
    const char *point = strchr(word, '.');
    size_t length = strnlen(word, 12);
    size_t whole = point != NULL ? (size_t)(point - word) : length;
    bool plain = whole >= 1 && whole <= 5 && strspn(word, "0123456789") == whole &&
                 (point == NULL || (length == whole + 2 && point[1] >= '0' && point[1] <= '9'));
    uint32_t value = 0;
    for (size_t i = 0; plain && i < whole; i++) {
        value = 10 * value + (uint32_t)(word[i] - '0');
    }
    value = 10 * value + (plain && point != NULL ? (uint32_t)(point[1] - '0') : 0);
    if (!plain || value < min || value > max_x10) {
        tl_command_fail(asking, "%s '%.24s' is not a number like 181.2, up to %" PRIu32, what, word,
                        max_x10 / 10);
        return false;
    }
    *out = value;
    return true;
}

bool
tl_ask_text(const struct tl_asking *asking, int from, char *dst, size_t cap)
{
    size_t used = 0;
    dst[0] = '\0';
    for (int i = from; i < asking->argc; i++) {
        int n = snprintf(dst + used, cap - used, "%s%s", i > from ? " " : "", asking->argv[i]);
        if (n < 0 || used + (size_t)n >= cap) {
            return false;
        }
        used += (size_t)n;
    }
    return used > 0;
}

bool
tl_ask_name(struct tl_asking *asking, int from, char name[TL_NAME_CAP])
{
    if (!tl_ask_text(asking, from, name, TL_NAME_CAP)) {
        tl_command_fail(asking, "a name is needed, of at most %d characters", TL_NAME_CAP - 1);
        return false;
    }
    return true;
}

const struct tl_datum *
tl_pictured(const struct tl_asking *asking, const char *station, enum tl_datum_kind kind,
            uint32_t slot)
{
    for (uint32_t i = 0; asking->picture != NULL && i < asking->picture->station_count; i++) {
        const struct tl_station_state *state = &asking->picture->station[i];
        if (strncmp(state->node, station, TL_ID_CAP) == 0) {
            const struct tl_datum *datum =
                tl_data_find_const(state->data, state->datum_count, kind, slot);
            return datum != NULL && datum->known ? datum : NULL;
        }
    }
    return NULL;
}

bool
tl_ask_choice(struct tl_asking *asking, const char *word, const struct tl_choice *choices, int *out)
{
    char list[160] = "";
    size_t used = 0;
    for (const struct tl_choice *choice = choices; choice->name != NULL; choice++) {
        if (strcmp(choice->name, word) == 0) {
            *out = choice->value;
            return true;
        }
        int n = snprintf(list + used, sizeof list - used, " %s", choice->name);
        used += n > 0 && used + (size_t)n < sizeof list ? (size_t)n : 0;
    }
    tl_command_fail(asking, "'%.24s' is none of:%s", word, list);
    return false;
}

bool
tl_ask_for_event(struct tl_asking *asking, struct tl_datum *datum)
{
    struct tl_event event = {0};
    if (!tl_ask_event(asking, &event)) {
        return false;
    }
    datum->stated_for[datum->stated_for_count++] = event;
    return true;
}

struct reason_word {
    const char *word;
    enum tl_foul_reason reason;
};
static const struct reason_word reason_words[] = {
    {"person", TL_FOUL_PERSON}, {"aircraft", TL_FOUL_AIRCRAFT}, {"equipment", TL_FOUL_EQUIPMENT},
    {"wire", TL_FOUL_WIRE},     {"other", TL_FOUL_OTHER},
};

static bool
read_reason(const char *word, enum tl_foul_reason *reason)
{
    for (size_t i = 0; i < sizeof reason_words / sizeof reason_words[0]; i++) {
        if (strcmp(reason_words[i].word, word) == 0) {
            *reason = reason_words[i].reason;
            return true;
        }
    }
    return false;
}

/*
 * FOUL is said whatever follows it: a word that is not understood gives "other", because a
 * mistyped reason must not keep a foul off the bus.
 */
void
tl_verb_foul(struct tl_asking *asking)
{
    enum tl_foul_reason reason = TL_FOUL_OTHER;
    uint32_t expect_s = 0;
    bool odd = false;
    for (int i = 0; i < asking->argc; i++) {
        uint64_t seconds = 0;
        if (read_digits(asking->argv[i], &seconds) && seconds >= 1 && seconds <= 3600) {
            expect_s = (uint32_t)seconds;
        } else if (!read_reason(asking->argv[i], &reason)) {
            odd = true;
        }
    }
    struct tl_datum *datum = tl_command_add(asking, TL_DATUM_DECK, 0);
    const struct tl_own *own = tl_outbox_named(&asking->member->outbox, datum);
    bool was_clear = own != NULL && own->datum.known &&
                     ((own->datum.as.deck.state == TL_DECK_CLEAR &&
                       tl_datum_is_for(&own->datum, asking->view->event)) ||
                      (own->datum.as.deck.state == TL_DECK_FOUL && own->datum.as.deck.was_clear));
    datum->as.deck = (struct tl_deck){
        .state = TL_DECK_FOUL, .reason = reason, .expect_s = expect_s, .was_clear = was_clear};
    if (asking->view->event_known && tl_event_is(asking->view->event)) {
        datum->stated_for[datum->stated_for_count++] = asking->view->event;
    }
    tl_command_finish(asking);
    if (odd) {
        size_t used = strlen(asking->out->text);
        (void)snprintf(asking->out->text + used, sizeof asking->out->text - used,
                       " [reasons: person aircraft equipment wire other]");
    }
}

/* STOP goes out whatever follows it. */
void
tl_verb_stop(struct tl_asking *asking)
{
    struct tl_datum *datum = tl_command_add(asking, TL_DATUM_DECK, 0);
    datum->as.deck.state = TL_DECK_STOP;
    tl_command_finish(asking);
}

void
tl_verb_no_foul(struct tl_asking *asking)
{
    if (asking->argc != 0) {
        tl_command_syntax(asking, "no-foul");
        return;
    }
    struct tl_datum *datum = tl_command_add(asking, TL_DATUM_DECK, 0);
    datum->as.deck.state = TL_DECK_NO_FOUL;
    tl_command_finish(asking);
}

/* "withdraw set": makes an own word UNKNOWN. */
void
tl_verb_withdraw(struct tl_asking *asking)
{
    const struct tl_outbox *box = &asking->member->outbox;
    if (asking->argc < 1 || asking->argc > 2) {
        tl_command_syntax(asking, "withdraw");
        return;
    }
    uint32_t slot = 0;
    if (asking->argc == 2 &&
        !tl_ask_number(asking, asking->argv[1], "number", 0, UINT32_MAX, &slot)) {
        return;
    }
    for (uint32_t i = 0; i < box->own_count; i++) {
        const struct tl_datum *own = &box->own[i].datum;
        if (strcmp(tl_datum_kind_name(own->kind), asking->argv[0]) == 0 && own->slot == slot &&
            !tl_datum_is_voice(own)) {
            struct tl_datum *datum = tl_command_add(asking, own->kind, own->slot);
            datum->known = false;
            tl_command_finish(asking);
            return;
        }
    }
    tl_command_fail(asking, "this station has not said '%.24s'; 'mine' lists what it has said",
                    asking->argv[0]);
}
