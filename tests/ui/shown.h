/* SPDX-License-Identifier: Apache-2.0 */
/* shown.h - a picture of the invented ship with its view, to be looked at by what a screen shows. */
#ifndef TESTS_UI_SHOWN_H
#define TESTS_UI_SHOWN_H

#include "clients/ui/view.h"

struct shown {
    struct tl_config config;
    struct tl_view view;
    struct tl_picture picture;
    struct tl_ui_state state;
};

/* The event that is current in it. */
extern const struct tl_event shown_event;

/*
 * Every station of the full ship is heard, the engines are set to 34,000 lb, the aid for a plover,
 * the deck is clear; nothing else is said. To be freed. NOT READY, from a fresh picture.
 */
struct shown *shown_new(void);
/* The word of that station, made and known for the event when it is not there yet. */
struct tl_datum *shown_word(struct shown *shown, const char *station, enum tl_datum_kind kind,
                            uint32_t slot);
struct tl_station_state *shown_station(struct shown *shown, const char *id);

#endif
