/* SPDX-License-Identifier: Apache-2.0 */
/*
 * bell.h - what of the alerts must be told now: the sound of a screen.
 *
 * Pure: the alerts that are listed now go in, edges come out. Each instance gets a number when it
 * is first shown, by which a person names it; the number stays with it.
 *
 *   RAISED        new here, or back after it was gone
 *   AGAIN         each 30 s while it is unacknowledged and this station owes it (MSC.252(83)
 *                 20.2.5); where it is not owed, once after 60 s, so that others ask
 *   GRAVER        its severity has risen: a warning that nobody acknowledged
 *   ACKNOWLEDGED  the last who owes it has acknowledged
 *   GONE          its cause is gone, whether acknowledged or not
 *   COMPUTED      what the wrong setting would do has become known; it makes no sound of its own
 */
#ifndef TL_UI_BELL_H
#define TL_UI_BELL_H

#include "proto/vocab/config.h"

enum tl_bell_edge {
    TL_BELL_NONE = 0,
    TL_BELL_RAISED,
    TL_BELL_AGAIN,
    TL_BELL_GRAVER,
    TL_BELL_ACKNOWLEDGED,
    TL_BELL_GONE, /* also of one that came and went while no validator was heard here */
    TL_BELL_COMPUTED
};

struct tl_belled {
    struct tl_alert alert;
    uint32_t number; /* 1.. */
    uint64_t sound_ms;
    bool kept; /* in the set that is being taken */
};
typedef void tl_bell_fn(void *ctx, enum tl_bell_edge edge, const struct tl_belled *entry);

struct tl_bell {
    int place; /* of this station (tl_config_place), -1 for a viewer */
    tl_bell_fn *tell;
    void *ctx;
    uint32_t last_number;
    uint32_t count;
    struct tl_belled entry[TL_ALERTS_MAX];
};

/* tell: NULL = nobody is told, and the alerts are only kept. */
void tl_bell_init(struct tl_bell *bell, int place, tl_bell_fn *tell, void *ctx);

/*
 * Take all alerts that are listed now. `tell` is called for each edge, in the order of the list,
 * what is gone last.
 */
void tl_bell_take(struct tl_bell *bell, const struct tl_alert *alerts, uint32_t count,
                  uint64_t now_ms);

/* The cause is there now. */
bool tl_alert_is_active(const struct tl_alert *alert);
/* Places that owe an acknowledgement and have not given it. */
uint32_t tl_alert_waits_for(const struct tl_alert *alert);
/* True when the station at that place owes one. */
bool tl_alert_waits_for_place(const struct tl_alert *alert, int place);

/* "engine 3, primary": the stations of a set of places; "" for none. Returns dst. */
const char *tl_places_text(const struct tl_config *config, uint32_t places, char *dst, size_t cap);

/* The entry of that number, or NULL. */
const struct tl_belled *tl_bell_numbered(const struct tl_bell *bell, uint32_t number);

#endif
