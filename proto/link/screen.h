/* SPDX-License-Identifier: Apache-2.0 */
/*
 * screen.h - what a screen may show: the verdicts of all validators combined, aged by this clock.
 *
 * Pure. READY is shown only while every configured validator says READY, fresh, for one event,
 * under the judgement configuration of this screen's own files. Anything else is NOT READY with a
 * named cause, and no received message is needed to get there: the own timer is enough.
 *
 * READY counts only while the oldest beat that it stands on was sent at most 900 ms ago, seen from
 * here (tl_heard_stands_on_ms); past that the validator is lost here like one that is not heard. A
 * NOT READY is shown however old what it stands on is.
 *
 *   per validator:  NEVER --fresh verdict--> FRESH --age > 800 ms--> LOST
 *                                              ^                       |
 *                                              +--3.0 s after return---+   (HELD in between)
 *
 * A validator that every fresh verdict lists as out of service is not asked for while it is not
 * heard; heard again, it counts at once.
 *
 * The first verdict of a screen is not held (a `show` could not answer else); a return is.
 */
#ifndef TL_LINK_SCREEN_H
#define TL_LINK_SCREEN_H

#include "proto/link/hear.h"

struct tl_screen_validator {
    bool ever;
    bool lost;
    bool held;
    uint64_t back_ms;
};
struct tl_screen {
    const struct tl_config *config;
    struct tl_screen_validator validator[TL_VALIDATORS_MAX];
};

struct tl_view {
    enum tl_word word; /* READY or NOT_READY, never UNKNOWN */
    enum tl_cause_kind kind;
    struct tl_cause first; /* rule NONE when READY */
    uint32_t from;         /* validator (index in tl_hear) whose picture explains it */
    bool from_known;       /* false: the screen itself is the cause */
    bool any_verdict;      /* a fresh verdict of at least one validator */
    bool all_verdicts;     /* of every configured one */
    bool event_known;      /* all fresh verdicts that heard the list agree */
    struct tl_event event; /* pass 0 = no current event */
    bool drill;
    uint32_t out_of_service; /* validators that are not asked for: bits of their index in tl_hear */
};

void tl_screen_init(struct tl_screen *screen, const struct tl_config *config);

/* Note losses and returns; call at least every 200 ms and before tl_screen_view. */
void tl_screen_tend(struct tl_screen *screen, const struct tl_hear *hear, uint64_t now_ms);

void tl_screen_view(const struct tl_screen *screen, const struct tl_hear *hear, uint64_t now_ms,
                    struct tl_view *view);

#endif
