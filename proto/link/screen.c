/* SPDX-License-Identifier: Apache-2.0 */
/* screen.c - see screen.h. */
#include "proto/link/screen.h"

#include <string.h>

void
tl_screen_init(struct tl_screen *screen, const struct tl_config *config)
{
    memset(screen, 0, sizeof *screen);
    screen->config = config;
}

/* READY, and what it stands on is too old by now. */
static bool
is_worn_out(const struct tl_heard *heard, uint64_t now_ms)
{
    return heard->verdict.word == TL_WORD_READY &&
           tl_heard_stands_on_ms(heard, now_ms) > TL_STANDS_MS;
}

void
tl_screen_tend(struct tl_screen *screen, const struct tl_hear *hear, uint64_t now_ms)
{
    for (uint32_t i = 0; i < hear->count; i++) {
        struct tl_screen_validator *state = &screen->validator[i];
        const struct tl_heard *heard = &hear->validator[i];
        bool fresh = tl_heard_is_fresh(heard, now_ms) && !is_worn_out(heard, now_ms);
        if (fresh && state->lost) {
            state->lost = false;
            state->held = true;
            state->back_ms = now_ms;
        } else if (!fresh && state->ever) {
            state->lost = true;
        }
        state->ever = state->ever || fresh;
        if (state->held && now_ms - state->back_ms >= TL_HOLD_MS) {
            state->held = false;
        }
    }
}

static void
set_cause(struct tl_view *view, enum tl_rule rule, const struct tl_heard *heard)
{
    view->word = TL_WORD_NOT_READY;
    view->kind = TL_CAUSE_PICTURE;
    memset(&view->first, 0, sizeof view->first);
    view->first.rule = (uint32_t)rule;
    view->first.state = rule == TL_RULE_SCREEN_HOLDING ? TL_CAUSE_HOLDING : TL_CAUSE_WRONG;
    if (heard != NULL) {
        memcpy(view->first.station, heard->id, TL_ID_CAP);
        memcpy(view->first.subject.node, heard->id, TL_ID_CAP);
        view->first.subject.incarnation = heard->incarnation;
    }
}

/* The event that all fresh verdicts name; a validator that has not heard the list has no say. */
static void
agree_event(const struct tl_hear *hear, uint64_t now_ms, struct tl_view *view)
{
    bool differ = false;
    for (uint32_t i = 0; i < hear->count; i++) {
        const struct tl_heard *heard = &hear->validator[i];
        if (!tl_heard_is_fresh(heard, now_ms) || !heard->verdict.list_heard) {
            continue;
        }
        if (!view->event_known) {
            view->event_known = true;
            view->event = heard->event;
            view->drill = heard->verdict.drill;
        } else if (!tl_event_equal(view->event, heard->event)) {
            differ = true;
        }
    }
    if (differ) {
        view->event_known = false;
        view->event = (struct tl_event){0};
    }
}

static bool
lists(const struct tl_verdict *verdict, const char *id)
{
    for (uint32_t i = 0; i < verdict->out_of_service_count; i++) {
        if (strncmp(verdict->out_of_service[i], id, TL_ID_CAP) == 0) {
            return true;
        }
    }
    return false;
}

/* Not heard, and every verdict that is fresh says that two have put it out of service. */
static void
find_out_of_service(const struct tl_hear *hear, uint64_t now_ms, struct tl_view *view)
{
    for (uint32_t i = 0; i < hear->count; i++) {
        bool any = false;
        bool all = true;
        for (uint32_t k = 0; k < hear->count; k++) {
            if (tl_heard_is_fresh(&hear->validator[k], now_ms)) {
                any = true;
                all = all && lists(&hear->validator[k].verdict, hear->validator[i].id);
            }
        }
        if (any && all && !tl_heard_is_fresh(&hear->validator[i], now_ms)) {
            view->out_of_service |= 1u << i;
        }
    }
}

static bool
is_asked(const struct tl_view *view, uint32_t validator)
{
    return (view->out_of_service >> validator & 1u) == 0;
}

static bool
find_unheard(const struct tl_hear *hear, uint64_t now_ms, struct tl_view *view)
{
    view->all_verdicts = hear->count > 0;
    bool found = false;
    for (uint32_t i = 0; i < hear->count; i++) {
        if (tl_heard_is_fresh(&hear->validator[i], now_ms)) {
            view->any_verdict = true;
            continue;
        }
        if (!is_asked(view, i)) {
            continue;
        }
        view->all_verdicts = false;
        if (!found) {
            set_cause(view, TL_RULE_SCREEN_NO_VALIDATOR, &hear->validator[i]);
            found = true;
        }
    }
    if (hear->count == 0) {
        set_cause(view, TL_RULE_SCREEN_NO_VALIDATOR, NULL);
        return true;
    }
    return found;
}

static bool
find_other_configuration(const struct tl_screen *screen, const struct tl_hear *hear,
                         struct tl_view *view)
{
    for (uint32_t i = 0; i < hear->count; i++) {
        if (is_asked(view, i) && memcmp(hear->validator[i].verdict.judgement_digest,
                                        screen->config->judgement_digest, TL_DIGEST_LEN) != 0) {
            set_cause(view, TL_RULE_SCREEN_OTHER_CONFIGURATION, &hear->validator[i]);
            return true;
        }
    }
    return false;
}

static bool
find_not_ready(const struct tl_hear *hear, struct tl_view *view)
{
    for (uint32_t i = 0; i < hear->count; i++) {
        const struct tl_verdict *verdict = &hear->validator[i].verdict;
        if (is_asked(view, i) && verdict->word != TL_WORD_READY) {
            view->word = TL_WORD_NOT_READY;
            view->kind = verdict->kind;
            view->first = verdict->first;
            view->from = i;
            view->from_known = true;
            return true;
        }
    }
    return false;
}

static bool
find_worn_out(const struct tl_hear *hear, uint64_t now_ms, struct tl_view *view)
{
    for (uint32_t i = 0; i < hear->count; i++) {
        if (is_asked(view, i) && is_worn_out(&hear->validator[i], now_ms)) {
            set_cause(view, TL_RULE_SCREEN_NO_VALIDATOR, &hear->validator[i]);
            return true;
        }
    }
    return false;
}

/* Each must have heard the list and name the same aircraft. */
static bool
find_other_event(const struct tl_hear *hear, struct tl_view *view)
{
    bool same = view->event_known && tl_event_is(view->event);
    for (uint32_t i = 0; i < hear->count; i++) {
        const struct tl_heard *heard = &hear->validator[i];
        same = same && (!is_asked(view, i) ||
                        (heard->verdict.list_heard && tl_event_equal(heard->event, view->event)));
    }
    if (!same) {
        set_cause(view, TL_RULE_SCREEN_VALIDATORS_DIFFER, NULL);
    }
    return !same;
}

static bool
find_held(const struct tl_screen *screen, const struct tl_hear *hear, struct tl_view *view)
{
    for (uint32_t i = 0; i < hear->count; i++) {
        if (is_asked(view, i) && (screen->validator[i].lost || screen->validator[i].held)) {
            set_cause(view, TL_RULE_SCREEN_HOLDING, &hear->validator[i]);
            return true;
        }
    }
    return false;
}

void
tl_screen_view(const struct tl_screen *screen, const struct tl_hear *hear, uint64_t now_ms,
               struct tl_view *view)
{
    memset(view, 0, sizeof *view);
    view->word = TL_WORD_NOT_READY;
    agree_event(hear, now_ms, view);
    find_out_of_service(hear, now_ms, view);
    if (find_unheard(hear, now_ms, view) || find_other_configuration(screen, hear, view) ||
        find_not_ready(hear, view) || find_worn_out(hear, now_ms, view) ||
        find_other_event(hear, view) || find_held(screen, hear, view)) {
        return;
    }
    view->word = TL_WORD_READY;
    view->from_known = true;
    while (!is_asked(view, view->from)) {
        view->from++;
    }
}
