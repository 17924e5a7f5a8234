/* SPDX-License-Identifier: Apache-2.0 */
/* shown.c - see shown.h. */
#include "tests/ui/shown.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "tests/support/ship.h"

const struct tl_event shown_event = {5000, 1};

struct tl_station_state *
shown_station(struct shown *shown, const char *id)
{
    for (uint32_t i = 0; i < shown->picture.station_count; i++) {
        if (strcmp(shown->picture.station[i].node, id) == 0) {
            return &shown->picture.station[i];
        }
    }
    fail_msg("no station %s", id);
    abort();
}

struct tl_datum *
shown_word(struct shown *shown, const char *station, enum tl_datum_kind kind, uint32_t slot)
{
    struct tl_station_state *state = shown_station(shown, station);
    for (uint32_t i = 0; i < state->datum_count; i++) {
        if (state->data[i].kind == kind && state->data[i].slot == slot) {
            return &state->data[i];
        }
    }
    struct tl_datum *datum = &state->data[state->datum_count++];
    *datum = (struct tl_datum){.kind = kind,
                               .slot = slot,
                               .known = true,
                               .sequence = state->datum_count,
                               .stated_for_count = 1,
                               .stated_for = {shown_event}};
    return datum;
}

struct shown *
shown_new(void)
{
    struct shown *shown = calloc(1, sizeof *shown);
    assert_non_null(shown);
    ship_config_full(&shown->config, 2);
    for (uint32_t i = 0; i < shown->config.node_count; i++) {
        if (shown->config.node[i].kind == TL_NODE_STATION) {
            struct tl_station_state *state =
                &shown->picture.station[shown->picture.station_count++];
            memcpy(state->node, shown->config.node[i].id, TL_ID_CAP);
            state->live = TL_LIVE_LIVE;
        }
    }
    shown->view = (struct tl_view){
        .any_verdict = true, .event_known = true, .event = shown_event, .word = TL_WORD_NOT_READY};
    shown->state = (struct tl_ui_state){
        .config = &shown->config, .view = &shown->view, .picture = &shown->picture};
    for (uint32_t n = 1; n <= 4; n++) {
        char id[TL_ID_CAP];
        (void)snprintf(id, sizeof id, "engine-%u", n);
        shown_word(shown, id, TL_DATUM_SET, 0)->as.set_lb = 34000;
    }
    shown_word(shown, "aid", TL_DATUM_AID, 0)->as.aid =
        (struct tl_aid){TL_AID_WORKING, "plover", 0, 0};
    shown_word(shown, "deck", TL_DATUM_DECK, 0)->as.deck.state = TL_DECK_CLEAR;
    return shown;
}
