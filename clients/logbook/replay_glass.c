/* SPDX-License-Identifier: Apache-2.0 */
/* replay_glass.c - see replay_glass.h. */
#include "clients/logbook/replay_glass.h"

#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "clients/logbook/words.h"
#include "clients/ui/glass.h"
#include "clients/ui/page.h"
#include "proto/base/clock.h"

enum {
    LOOK_AGAIN_MS = 200, /* for another size of the window */
    TITLE_CAP = TL_ID_CAP + 16
};

struct tl_replay_glass {
    struct tl_bell bell;
    struct tl_sheet sheet;
    bool night;
    /* the last moment, to be painted again */
    const struct tl_ui_state *state;
    uint64_t wall_ms;
    char title[TITLE_CAP];
    char below[TL_TEXT_CAP];
    char keys[TL_PAGE_COLS];
};

struct tl_replay_glass *
tl_replay_glass_open(void)
{
    char why[TL_TEXT_CAP];
    struct tl_replay_glass *glass = tl_glass_possible() ? calloc(1, sizeof *glass) : NULL;
    if (glass == NULL || tl_glass_open(why, sizeof why) != TL_OK) {
        free(glass);
        return NULL;
    }
    tl_bell_init(&glass->bell, -1, NULL, NULL);
    (void)snprintf(glass->keys, sizeof glass->keys, "n night or day  q to the end at once");
    return glass;
}

void
tl_replay_glass_close(struct tl_replay_glass **glass)
{
    if (*glass != NULL) {
        tl_glass_close();
        free(*glass);
        *glass = NULL;
    }
}

static void
paint(struct tl_replay_glass *glass)
{
    char clock[16];
    struct tl_page_drawn drawn;
    struct tl_page page = {.state = glass->state,
                           .bell = &glass->bell,
                           .title = glass->title,
                           .was = true,
                           .clock = tl_page_clock(glass->wall_ms, clock, sizeof clock),
                           .links = "",
                           .last = "",
                           .below = glass->below,
                           .keys = glass->keys};
    tl_sheet_clear(&glass->sheet, tl_glass_size());
    tl_page_draw(&page, &glass->sheet, &drawn);
    tl_glass_paint(&glass->sheet, glass->night, -1, 0);
}

void
tl_replay_glass_paint(struct tl_replay_glass *glass, const struct tl_ui_state *state,
                      const struct tl_replay_moment *moment)
{
    char time[TL_TIME_CAP];
    glass->state = state;
    glass->wall_ms = moment->wall_ms;
    (void)snprintf(glass->title, sizeof glass->title, "replay %s", moment->validator);
    (void)snprintf(glass->below, sizeof glass->below, "A record of %.19sZ%s: nothing here is now.",
                   tl_time_text(moment->wall_ms, time),
                   moment->what_if ? ", judged by ANOTHER CONFIGURATION" : "");
    tl_bell_take(&glass->bell, state->alert, state->alert_count, moment->wall_ms);
    paint(glass);
}

bool
tl_replay_glass_wait(struct tl_replay_glass *glass, uint64_t wait_ms)
{
    uint64_t until_ms = tl_clock_boot_ms() + wait_ms;
    struct pollfd input = {.fd = STDIN_FILENO, .events = POLLIN};
    for (uint64_t now_ms = tl_clock_boot_ms(); now_ms < until_ms; now_ms = tl_clock_boot_ms()) {
        uint64_t rest_ms = until_ms - now_ms;
        int ready = poll(&input, 1, (int)(rest_ms < LOOK_AGAIN_MS ? rest_ms : LOOK_AGAIN_MS));
        if (ready > 0 && !tl_glass_goes_on(&glass->night)) {
            return false;
        }
        if (glass->state != NULL) {
            paint(glass);
        }
    }
    return true;
}

void
tl_replay_glass_end(struct tl_replay_glass *glass)
{
    (void)snprintf(glass->keys, sizeof glass->keys, "THE END of this life: q goes on");
    while (glass->state != NULL && tl_replay_glass_wait(glass, LOOK_AGAIN_MS)) {
    }
}
