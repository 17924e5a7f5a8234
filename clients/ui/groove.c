/* SPDX-License-Identifier: Apache-2.0 */
/* groove.c - the one line that the platform reads out for the groove. See view.h. */
#include <inttypes.h>
#include <string.h>

#include "clients/ui/view.h"

/* One line of what is known; nothing is said as set that is not set alike for this event. */
static void
engines_text(const struct tl_ui_state *state, char *dst, size_t cap)
{
    const struct tl_gear *gear = &state->config->gear;
    uint32_t weight_lb = 0;
    bool barricade = tl_ui_is_barricade_pass(state);
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        const struct tl_node *node =
            tl_config_station(state->config, TL_STATION_ENGINE, gear->engine[i].unit);
        bool other = barricade && gear->engine[i].unit != gear->barricade.unit;
        if (!tl_ui_takes_part(state, &gear->engine[i]) || other || node == NULL) {
            continue;
        }
        const struct tl_datum *set = tl_ui_word(state->picture, node->id, TL_DATUM_SET, 0);
        bool good = set != NULL && tl_datum_is_for(set, state->view->event) &&
                    (weight_lb == 0 || weight_lb == set->as.set_lb);
        if (!good) {
            (void)snprintf(dst, cap, "engines NOT set (%" PRIu32 ")", gear->engine[i].unit);
            return;
        }
        weight_lb = set->as.set_lb;
    }
    char pounds[32];
    if (weight_lb == 0) {
        (void)snprintf(dst, cap, "NO engine");
        return;
    }
    (void)snprintf(dst, cap, "%s set %s", barricade ? "BARRICADE, its engine" : "engines",
                   tl_pounds_text(weight_lb, pounds, sizeof pounds));
}

static void
aid_text(const struct tl_ui_state *state, char *dst, size_t cap)
{
    const struct tl_node *node = tl_config_station(state->config, TL_STATION_AID, 0);
    const struct tl_datum *aid =
        node != NULL ? tl_ui_word(state->picture, node->id, TL_DATUM_AID, 0) : NULL;
    bool set = aid != NULL && aid->as.aid.state == TL_AID_WORKING &&
               tl_datum_is_for(aid, state->view->event);
    if (aid != NULL && aid->as.aid.state == TL_AID_FAULT) {
        (void)snprintf(dst, cap, "aid FAULT");
    } else {
        (void)snprintf(dst, cap, "aid %s", set ? aid->as.aid.type : "NOT set");
    }
}

/* The worst word on the deck of any station; *left_s is what is left of the time to clear. */
static void
deck_text(const struct tl_ui_state *state, char *dst, size_t cap, uint32_t *left_s)
{
    const struct tl_datum *own =
        tl_ui_word(state->picture, state->config->clear_owner, TL_DATUM_DECK, 0);
    bool clear = own != NULL && own->as.deck.state == TL_DECK_CLEAR &&
                 tl_datum_is_for(own, state->view->event);
    const char *word = clear ? "deck clear" : "deck foul";
    *left_s = 0;
    for (uint32_t i = 0; state->picture != NULL && i < state->picture->station_count; i++) {
        const struct tl_datum *datum =
            tl_ui_word(state->picture, state->picture->station[i].node, TL_DATUM_DECK, 0);
        if (datum == NULL) {
            continue;
        }
        if (datum->as.deck.state == TL_DECK_STOP) {
            word = "STOP";
            break;
        }
        if (datum->as.deck.state == TL_DECK_FOUL) {
            uint32_t said_s = datum->said_age_ms / 1000;
            uint32_t left = datum->as.deck.expect_s > said_s ? datum->as.deck.expect_s - said_s : 0;
            *left_s = left > *left_s ? left : *left_s;
            word = "deck foul";
        }
    }
    (void)snprintf(dst, cap, "%s", word);
}

const char *
tl_ui_groove(const struct tl_ui_state *state, char *dst, size_t cap, char *steady,
             size_t steady_cap)
{
    char engines[64];
    char aid[64];
    char deck[32];
    uint32_t left_s = 0;
    if (state->picture == NULL || state->picture_old || !state->view->any_verdict) {
        (void)snprintf(steady, steady_cap, "groove: the picture is lost - by voice");
        (void)snprintf(dst, cap, "%s", steady);
        return dst;
    }
    if (!tl_event_is(state->view->event)) {
        (void)snprintf(steady, steady_cap, "groove: no aircraft ordered");
        (void)snprintf(dst, cap, "%s", steady);
        return dst;
    }
    engines_text(state, engines, sizeof engines);
    aid_text(state, aid, sizeof aid);
    deck_text(state, deck, sizeof deck, &left_s);
    (void)snprintf(steady, steady_cap, "groove: %s - %s - %s", engines, aid, deck);
    if (left_s > 0) {
        (void)snprintf(dst, cap, "%s, about %" PRIu32 " s", steady, left_s);
    } else {
        (void)snprintf(dst, cap, "%s", steady);
    }
    return dst;
}
