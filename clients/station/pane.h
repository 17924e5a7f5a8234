/* SPDX-License-Identifier: Apache-2.0 */
/*
 * pane.h - a station on a whole terminal: the page above, the keys below, the same session inside.
 *
 * Every key leads to a line of the line mode, so a screen can say nothing that a line cannot, and
 * each word toward READY waits for its confirm. What the session prints is kept: its answers stand
 * under the page, news of the ship stand in the page itself.
 *
 * The page is painted by the loop that beats. A terminal that takes no more output stops that loop,
 * once the bytes between them are full: the others then see the station lost, as they must when
 * nobody can see its screen.
 */
#ifndef TL_STATION_PANE_H
#define TL_STATION_PANE_H

#include "clients/station/session.h"
#include "clients/station/typing.h"
#include "clients/ui/aged.h"
#include "clients/ui/page.h"

enum {
    TL_PANE_LINES = 200, /* kept of what the session prints */
    TL_PANE_LINE_CAP = TL_READBACK_CAP + 128,
    TL_PANE_READ_CAP = TL_READBACK_CAP + 64
};

struct tl_pane {
    struct tl_session *session;
    struct tl_typing typing;
    bool night;
    bool ring;
    bool safe_waits;        /* its key was pressed while another one was acted on */
    uint64_t quit_until_ms; /* leaving waits for its confirm; 0 = not */
    /* what the session printed */
    char line[TL_PANE_LINES][TL_PANE_LINE_CAP];
    uint64_t line_count; /* ever; line i is in line[i % TL_PANE_LINES] */
    char part[TL_PANE_LINE_CAP];
    size_t part_used;
    char message[TL_PANE_LINE_CAP];
    /* a word that has not come through: it stands until it has been there to be read, "" = none */
    char warning[TL_PANE_LINE_CAP];
    uint64_t warning_ms;           /* since when it stands on the glass; 0 = something is over it */
    bool leaf_of_lines;            /* the leaf shows lines from leaf_from on, not the help */
    uint64_t leaf_from, leaf_next; /* leaf_next: the first that it has no room for */
    /* the alert that the key would acknowledge, and since when it is shown; 0 = none is */
    uint32_t offered;
    uint64_t offered_ms;
    bool shows_alerts; /* the last page had them on it */
    struct tl_ui_aged aged;
    FILE *before;  /* the session's output without a pane */
    int old_error; /* standard error before; -1 = it was left alone */
    struct tl_sheet sheet;
};

/*
 * Take the terminal for that session, whose seat is open. TL_IO, TL_NOMEM with a sentence in `why`:
 * it cannot be done; the line mode can.
 */
TL_MUST_USE enum tl_err tl_pane_open(struct tl_session *session, char *why, size_t cap);
/* Gives the terminal back. */
void tl_pane_close(struct tl_session *session);

/* The question that waits for the confirm key, and how long it still does. Returns dst. */
const char *tl_pane_read_back(const struct tl_pane *pane, uint64_t now_ms,
                              char dst[TL_PANE_READ_CAP]);
/*
 * A read-back that waits takes the keys; one that is over, or that the screen is too small to show
 * whole, gives them back.
 */
void tl_pane_settle(struct tl_pane *pane);
/* Say the word toward safe whose key was found among what was dropped. */
void tl_pane_say_safe(struct tl_pane *pane);
/* The page is on the glass: from now on a read-back can be read, and what was typed before it goes. */
void tl_pane_painted(struct tl_pane *pane);
/* Keys are there to be read. */
void tl_pane_input(struct tl_pane *pane);
void tl_pane_paint(struct tl_pane *pane, uint64_t now_ms);

#endif
