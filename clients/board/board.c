/* SPDX-License-Identifier: Apache-2.0 */
/* board.c - see board.h. A viewer: it says nothing, and nobody waits for it. */
#include "clients/board/board.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "clients/tools/look.h"
#include "clients/ui/glass.h"
#include "clients/ui/links.h"
#include "clients/ui/page.h"
#include "proto/base/clock.h"

static const char usage[] =
    "usage: trapline board [-C DIR] [--as NODE] [--for SECONDS]\n"
    "\n"
    "Show the combined picture on the whole terminal until q is pressed. 80x24 is complete; a "
    "wider\n"
    "terminal shows the sequence, the wires and the computed figures beside it.\n"
    "\n"
    "  -C DIR         configuration folder (else $TRAPLINE_CONFIG)\n"
    "  --as NODE      which viewer of stations.yaml this is\n"
    "  --for SECONDS  stop after that time\n"
    "  --help         this text\n"
    "\n"
    "Keys: n night or day, CTRL-L paint anew, q leave. Without colour where NO_COLOR is set.\n"
    "SIGHUP reads keys.yaml again. Exit, by the last state: 0 READY, 1 NOT READY, 3 no\n"
    "verdict heard, 64 usage, 78 configuration.\n";

enum {
    LINKS_CAP = 512,
    NEWS_MS = 60000
};

struct board {
    struct tl_look look;
    struct tl_bell bell;
    bool night;
    bool ended;
    char news[TL_REKEY_CAP]; /* of the keys, until news_until_ms */
    uint64_t news_until_ms;
    struct tl_sheet sheet;
};

static void
paint(struct board *board, const struct tl_ui_state *state, uint64_t now_ms)
{
    char clock[16];
    char links[LINKS_CAP];
    struct tl_page_drawn drawn;
    struct tl_page page = {.state = state,
                           .bell = &board->bell,
                           .title = "board",
                           .clock = tl_page_clock(tl_clock_wall_ms(), clock, sizeof clock),
                           .links = links,
                           .last = now_ms < board->news_until_ms ? board->news : "",
                           .below = "READY is advice; people decide. Unknown is never ready.",
                           .keys = "n night or day  q leave"};
    tl_ui_links(board->look.seat, now_ms, links, sizeof links);
    tl_page_time(&page, now_ms);
    tl_sheet_clear(&board->sheet, tl_glass_size());
    tl_page_draw(&page, &board->sheet, &drawn);
    tl_glass_paint(&board->sheet, board->night, -1, 0);
}

static void
take_news(struct board *board, uint64_t now_ms)
{
    const char *news = tl_seat_news(board->look.seat);
    if (news != NULL) {
        (void)snprintf(board->news, sizeof board->news, "%s", news);
        board->news_until_ms = now_ms + NEWS_MS;
    }
}

static int
run(struct board *board)
{
    struct tl_alert alerts[TL_ALERTS_MAX];
    struct tl_view view = {0};
    struct tl_ui_state state;
    zmq_pollitem_t keys = {.fd = STDIN_FILENO, .events = ZMQ_POLLIN};
    uint64_t now_ms = tl_clock_boot_ms();
    uint64_t until_ms = board->look.limit_ms > 0 ? now_ms + board->look.limit_ms : UINT64_MAX;
    while (!board->look.seat->ended && !board->ended && now_ms < until_ms) {
        now_ms = tl_seat_turn(board->look.seat, &keys, 1, 50);
        board->ended = keys.revents != 0 && !tl_glass_goes_on(&board->night);
        tl_look_state(&board->look, now_ms, &view, alerts, &state);
        take_news(board, now_ms);
        if (view.any_verdict) {
            tl_bell_take(&board->bell, state.alert, state.alert_count, now_ms);
        }
        paint(board, &state, now_ms);
    }
    if (!view.any_verdict) {
        return TL_EXIT_UNANSWERED;
    }
    return view.word == TL_WORD_READY ? 0 : 1;
}

static int
open_and_run(struct board *board)
{
    char why[128];
    if (!tl_glass_possible()) {
        (void)fprintf(stderr, "trapline board: this is no terminal that a page can be shown on; "
                              "use 'trapline watch' or 'trapline show'\n");
        return TL_EXIT_USAGE;
    }
    int code = tl_look_open(&board->look);
    if (code != TL_EXIT_OK) {
        return code;
    }
    tl_bell_init(&board->bell, -1, NULL, NULL);
    if (tl_glass_open(why, sizeof why) != TL_OK) {
        (void)fprintf(stderr, "trapline board: %s\n", why);
        return TL_EXIT_FAILED;
    }
    code = run(board);
    tl_glass_close();
    (void)printf("%s\n", TL_UI_ENDED);
    return code;
}

int
tl_board_main(int argc, char **argv)
{
    struct board *board = calloc(1, sizeof *board);
    if (board == NULL) {
        return TL_EXIT_FAILED;
    }
    board->look.command = "board";
    int code = tl_look_arguments(&board->look, argc, argv, usage);
    if (code < 0) {
        code = open_and_run(board);
    }
    tl_look_close(&board->look);
    free(board);
    return code;
}
