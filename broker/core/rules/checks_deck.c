/* SPDX-License-Identifier: Apache-2.0 */
/* checks_deck.c - rules about the deck, the hook and the wind. See check.h. */
#include <string.h>

#include "broker/core/rules/check.h"

static bool
is_owner(const struct tl_check *check, const struct tl_told *told)
{
    return strncmp(check->fold->config->clear_owner, told->node->id, TL_ID_CAP) == 0;
}

/* The FOUL that stands at this station, said now or by its earlier life; NULL = none. */
static const struct tl_deck *
standing_foul(const struct tl_told *told, const struct tl_held *held)
{
    if (held != NULL && held->datum.known) {
        return held->datum.as.deck.state == TL_DECK_FOUL ? &held->datum.as.deck : NULL;
    }
    return told->old_foul ? &told->old_foul_datum.as.deck : NULL;
}

static bool
is_over_line(const struct tl_deck *deck)
{
    return deck->reason == TL_FOUL_PERSON || deck->reason == TL_FOUL_AIRCRAFT;
}

/*
 * After a pass the deck is foul as a matter of course: the owner's FOUL alerts only when it was
 * said after CLEAR for this event, or when CLEAR is due. Another station's FOUL alerts at once.
 */
static enum tl_cause_state
foul_state(const struct tl_check *check, const struct tl_told *told, const struct tl_deck *deck)
{
    if (!is_owner(check, told) || deck->was_clear) {
        return TL_CAUSE_WRONG;
    }
    return tl_due_state(check) == TL_CAUSE_OVERDUE ? TL_CAUSE_WRONG : TL_CAUSE_PENDING;
}

static void
add_foul(struct tl_check *check, const struct tl_told *told, const struct tl_held *held,
         const struct tl_deck *deck)
{
    struct tl_cause *cause = tl_cause_add(check, told->node, foul_state(check, told, deck));
    cause->reported.known = true;
    cause->reported.number = deck->reason;
    if (held != NULL && held->datum.known) {
        tl_key_by_held(cause, told, held);
    } else {
        memcpy(cause->subject.node, told->node->id, TL_ID_CAP);
        cause->subject.incarnation = told->old_foul_incarnation;
        cause->subject.sequence = told->old_foul_datum.sequence;
    }
}

static void
add_fouls(struct tl_check *check, bool over_line)
{
    for (uint32_t i = 0; i < check->fold->told_count; i++) {
        const struct tl_told *told = &check->fold->told[i];
        const struct tl_held *held = tl_told_held(told, TL_DATUM_DECK, 0);
        const struct tl_deck *deck = standing_foul(told, held);
        if (deck != NULL && is_over_line(deck) == over_line) {
            add_foul(check, told, held, deck);
        }
    }
}

void
tl_check_line_crossed(struct tl_check *check)
{
    add_fouls(check, true);
}

/* FOUL for another reason than the line; and CLEAR not yet said for this event. */
void
tl_check_deck_foul(struct tl_check *check)
{
    add_fouls(check, false);
    const struct tl_told *owner = tl_fold_told_const(check->fold, check->fold->config->clear_owner);
    const struct tl_held *held = owner != NULL ? tl_told_held(owner, TL_DATUM_DECK, 0) : NULL;
    if (check->current == NULL || (owner != NULL && standing_foul(owner, held) != NULL)) {
        return;
    }
    if (held != NULL && held->datum.known && held->datum.as.deck.state == TL_DECK_CLEAR &&
        tl_datum_is_for(&held->datum, check->current->event)) {
        return;
    }
    struct tl_cause *cause =
        tl_cause_add(check, owner != NULL ? owner->node : NULL, tl_due_state(check));
    tl_key_by_order(check, cause);
}

void
tl_check_foul_word(struct tl_check *check)
{
    for (uint32_t i = 0; i < check->fold->told_count; i++) {
        const struct tl_told *told = &check->fold->told[i];
        const struct tl_held *held = tl_told_held(told, TL_DATUM_DECK, 0);
        bool spoken = (held != NULL && held->datum.known) || told->old_foul;
        if (told->node->may_foul && !is_owner(check, told) && !spoken) {
            struct tl_cause *cause = tl_cause_add(check, told->node, tl_due_state(check));
            tl_key_by_order(check, cause);
        }
    }
}

void
tl_check_hook(struct tl_check *check)
{
    const struct tl_told *platform = tl_told_of(check->fold, TL_STATION_PLATFORM, 0);
    if (check->current == NULL) {
        return;
    }
    const struct tl_held *held = platform != NULL ? tl_told_held(platform, TL_DATUM_HOOK, 0) : NULL;
    bool known = held != NULL && held->datum.known;
    if (known && held->datum.as.hook == TL_HOOK_DOWN &&
        tl_datum_is_for(&held->datum, check->current->event)) {
        return;
    }
    if (known && held->datum.as.hook == TL_HOOK_NOT_DOWN &&
        tl_datum_is_for(&held->datum, check->current->event)) {
        struct tl_cause *cause = tl_cause_add(check, platform->node, TL_CAUSE_WRONG);
        cause->reported.known = true;
        cause->reported.number = held->datum.as.hook;
        tl_key_by_held(cause, platform, held);
        return;
    }
    struct tl_cause *cause =
        tl_cause_add(check, platform != NULL ? platform->node : NULL, tl_due_state(check));
    tl_key_by_order(check, cause);
}

enum tl_wind_state
tl_wind_now(const struct tl_fold *fold, uint64_t now_ms)
{
    const struct tl_told *bridge = tl_told_of(fold, TL_STATION_BRIDGE, 0);
    for (uint32_t i = 0; bridge != NULL && i < bridge->sample_count; i++) {
        const struct tl_sample *sample = &bridge->samples[i];
        if (sample->kind != TL_SAMPLE_WIND) {
            continue;
        }
        uint64_t age_ms = sample->age_ms + (now_ms - bridge->samples_ms);
        uint64_t valid_ms = sample->as.wind.keyed ? 1000ull * fold->config->ship.keyed_wind_valid_s
                                                  : fold->config->ship.wind_valid_ms;
        return age_ms <= valid_ms ? sample->as.wind.state : TL_WIND_UNKNOWN;
    }
    return TL_WIND_UNKNOWN;
}

void
tl_check_wind(struct tl_check *check)
{
    const struct tl_told *bridge = tl_told_of(check->fold, TL_STATION_BRIDGE, 0);
    enum tl_wind_state wind = tl_wind_now(check->fold, check->now_ms);
    if (check->current == NULL || wind == TL_WIND_KNOWN) {
        return;
    }
    struct tl_cause *cause =
        tl_cause_add(check, bridge != NULL ? bridge->node : NULL,
                     wind == TL_WIND_DISAGREE ? TL_CAUSE_WRONG : tl_due_state(check));
    tl_key_by_order(check, cause);
}
