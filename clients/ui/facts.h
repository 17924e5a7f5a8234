/* SPDX-License-Identifier: Apache-2.0 */
/*
 * facts.h - the picture as ten rows, the same ten in the same order on every screen.
 *
 *   aircraft  setting  battery  wires  aid  tracks  deck  final  wind  stations
 *
 * Pure. A row is GOOD only by what is there: a fresh picture, an aircraft ordered, every word that the
 * row is made of known and as needed, every station of it heard (or its words by voice), and no cause
 * that names one of the row's rules. Every rule belongs to one row; a test holds it.
 */
#ifndef TL_UI_FACTS_H
#define TL_UI_FACTS_H

#include "clients/ui/view.h"

enum tl_fact_row {
    TL_FACT_AIRCRAFT = 0,
    TL_FACT_SETTING,
    TL_FACT_BATTERY,
    TL_FACT_WIRES,
    TL_FACT_AID,
    TL_FACT_TRACKS,
    TL_FACT_DECK,
    TL_FACT_FINAL,
    TL_FACT_WIND,
    TL_FACT_STATIONS,
    TL_FACT_ROWS
};

enum tl_fact_state {
    TL_FACT_UNKNOWN = 0,
    TL_FACT_GOOD,
    TL_FACT_WAITS,    /* asked for, and not due yet */
    TL_FACT_HELD,     /* a transport fault that has been away for less than 3 s */
    TL_FACT_WRONG,    /* against what is needed, or overdue */
    TL_FACT_LOST,     /* who says it is not heard */
    TL_FACT_OLD,      /* the picture is older than the verdict, or no verdict is heard */
    TL_FACT_OVERRIDE, /* against what is needed, and two have signed for it */
    TL_FACT_UNUSED    /* this ship has no station for it */
};

struct tl_fact {
    enum tl_fact_state state;
    char value[TL_TEXT_CAP];  /* "" = nothing is known */
    char needed[TL_TEXT_CAP]; /* "" = nothing to compare with */
    bool age_known;
    uint64_t age_ms;        /* since the station of it that was heard longest ago was heard */
    char from[TL_TEXT_CAP]; /* who says it: one id, or how many */
    bool mine;              /* the station of that screen says some of it */
    uint32_t places;        /* who says it: bits of tl_config_place */
};

/* "aircraft", ...; never NULL. */
const char *tl_fact_name(enum tl_fact_row row);
/* "ok", "WRONG", "NOT YET", ...: no two alike in all but two cells; never NULL. */
const char *tl_fact_word(enum tl_fact_state state);
/* The row that a rule belongs to. */
enum tl_fact_row tl_fact_row_of(uint32_t rule);

/*
 * Whether the picture is only a memory: no verdict is heard, or for 300 ms already one is heard that
 * the picture does not explain. A picture comes a moment after its verdict; until then the rows stay
 * as they were and the page says so, else they would flicker at each change.
 */
bool tl_ui_is_memory(const struct tl_ui_state *state);

/* Fill all rows. `self` is the station of this screen, NULL for a viewer. */
void tl_ui_facts(const struct tl_ui_state *state, const struct tl_node *self,
                 struct tl_fact fact[TL_FACT_ROWS]);

#endif
