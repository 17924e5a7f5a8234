/* SPDX-License-Identifier: Apache-2.0 */
/*
 * view.h - the picture as lines of plain text, at most 80 columns, complete without colour.
 *
 * Pure: state in, text out. Unknown is said as "unknown", never as 0 or an empty place.
 */
#ifndef TL_UI_VIEW_H
#define TL_UI_VIEW_H

#include <stdio.h>

#include "clients/ui/bell.h"
#include "proto/link/member.h"

/* Longest line with its figures and names. */
enum {
    TL_UI_LINE_CAP = 512
};

struct tl_ui_state {
    const struct tl_config *config;
    const struct tl_view *view;
    const struct tl_picture *picture; /* NULL = none */
    bool picture_old;
    uint64_t picture_age_ms; /* since this program took it */
    uint64_t
        picture_old_ms; /* since it became old; of pages, which then leave its words a moment */
    const struct tl_alert *alert;
    uint32_t alert_count;
};

/* "READY (advisory) event 7" or "NOT READY: cause". Returns dst. */
const char *tl_ui_verdict(const struct tl_view *view, char *dst, size_t cap);

/* "ALERT alarm: engine 3: ...", or "alert gone, alarm: ...". Returns dst. */
const char *tl_ui_alert(const struct tl_alert *alert, bool raised, char *dst, size_t cap);

/*
 * One edge as a line: "ALERT alarm: ... [ack 7]", "STILL ALERT ...: not acknowledged by ...". The
 * number is offered only where this station (place, -1 = none) owes the acknowledgement.
 */
const char *tl_ui_edge(const struct tl_config *config, enum tl_bell_edge edge,
                       const struct tl_belled *entry, int place, char *dst, size_t cap);

/* "who has acknowledged and who not", for a list of alerts; "" when nobody owes it. Returns dst. */
const char *tl_ui_acknowledged(const struct tl_config *config, const struct tl_alert *alert,
                               char *dst, size_t cap);

/*
 * The platform's one line for the groove: "engines set 34,000 lb - aid plover - deck foul, about
 * 12 s". `steady` gets the same without the seconds, to tell when it has changed. Returns dst.
 */
const char *tl_ui_groove(const struct tl_ui_state *state, char *dst, size_t cap, char *steady,
                         size_t steady_cap);

/* What people do about the picture: last pass, by voice, overrides, who has the watch. */
void tl_ui_print_people(const struct tl_ui_state *state, FILE *out);
/* The list of the approach controller. */
void tl_ui_print_inbound(const struct tl_ui_state *state, FILE *out);
/* Wires, tracks, aid, barricade and what else is told of the gear. */
void tl_ui_print_gear(const struct tl_ui_state *state, FILE *out);

/* The word before a cause: "WRONG", "not yet", "OVERDUE", "held", "note". */
const char *tl_ui_cause_word(enum tl_cause_state state);

/* The station of that id in a picture, or NULL. */
const struct tl_station_state *tl_ui_station(const struct tl_picture *picture, const char *id);
/* Heard, or all that it owes is known by voice; NULL is not heard. */
bool tl_ui_is_heard(const struct tl_station_state *station);
/* The known datum of that name at that station, or NULL. */
const struct tl_datum *tl_ui_datum(const struct tl_picture *picture, const char *station,
                                   enum tl_datum_kind kind, uint32_t slot);
/* The same, or what two have said for it by voice while it does not speak for itself. */
const struct tl_datum *tl_ui_word(const struct tl_picture *picture, const char *station,
                                  enum tl_datum_kind kind, uint32_t slot);
/* In use for the current pass, as far as is known: by gear.yaml, its room, and the barricade. */
bool tl_ui_takes_part(const struct tl_ui_state *state, const struct tl_engine_gear *gear);
/* The current pass is into the barricade. */
bool tl_ui_is_barricade_pass(const struct tl_ui_state *state);
/* The current event on the list, or NULL. */
const struct tl_listed *tl_ui_current(const struct tl_picture *picture, struct tl_event event);
/* The wind of the picture, or NULL when no bridge has one. */
const struct tl_wind *tl_ui_wind(const struct tl_config *config, const struct tl_picture *picture);

/*
 * What the mechanics say of the current pass: two paragraphs, or that it is not computed yet; nothing
 * where no event is current or no rule that is on asks for it.
 */
void tl_ui_print_predicted(const struct tl_ui_state *state, FILE *out);
/*
 * Tenths of a second from now until the aircraft that has called is over the ramp, as computed;
 * negative = it should be past it. False: nobody has called, or it is not computed.
 */
bool tl_ui_ramp_in(const struct tl_ui_state *state, int64_t *seconds_x10);
/* True when both tell of the same event, the same settings and the same ends of them. */
bool tl_ui_predicts_the_same(const struct tl_predicted *a, const struct tl_predicted *b);

/* The whole picture, a screen of lines. */
void tl_ui_print(const struct tl_ui_state *state, FILE *out);

#endif
