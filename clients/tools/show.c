/* SPDX-License-Identifier: Apache-2.0 */
/* show.c - the picture once. See show.h. */
#include "clients/tools/show.h"

#include <stdio.h>

#include "clients/tools/json.h"
#include "clients/tools/look.h"
#include "clients/ui/why.h"
#include "proto/base/clock.h"

/* With the start of the sockets, an answer is there within two seconds. */
enum {
    SHOW_MS = 1800
};

static const char usage[] =
    "usage: trapline show [-C DIR] [--as NODE] [--why] [--json]\n"
    "\n"
    "Print the combined picture once; with --why each cause of the verdict in full.\n"
    "\n"
    "  -C DIR       configuration folder (else $TRAPLINE_CONFIG)\n"
    "  --as NODE    which viewer of stations.yaml this is (else the first whose secret is here)\n"
    "  --why        of each cause: what is reported and needed, who said it, how long ago, who\n"
    "               acts; what the picture does not carry is \"not told\"\n"
    "  --json       one JSON object; docs/json.md lists its fields\n"
    "  --help       this text\n"
    "\n"
    "Exit: 0 READY, 1 NOT READY, 3 no verdict heard, 64 usage, 78 configuration.\n";

/* Every validator's verdict is fresh, and the picture that explains the view is not older. */
static bool
is_complete(const struct tl_view *view, const struct tl_ui_state *state)
{
    return view->all_verdicts && state->picture != NULL && !state->picture_old;
}

static int
show(struct tl_look *look)
{
    struct tl_alert alerts[TL_ALERTS_MAX];
    struct tl_view view;
    struct tl_ui_state state;
    char why[512];
    uint64_t now_ms = tl_clock_boot_ms();
    uint64_t until_ms = now_ms + SHOW_MS;
    do {
        now_ms = tl_seat_turn(look->seat, NULL, 0, 20);
        tl_look_state(look, now_ms, &view, alerts, &state);
    } while (!is_complete(&view, &state) && now_ms < until_ms && !look->seat->ended);
    if (!view.any_verdict) {
        (void)tl_seat_trouble(look->seat, now_ms, why, sizeof why);
        (void)fprintf(stderr, "trapline show: no verdict heard: %s\n", why);
        return TL_EXIT_UNANSWERED;
    }
    if (look->json) {
        json_t *picture = tl_json_picture(look->seat, &state, now_ms);
        if (look->why && picture != NULL) {
            (void)json_object_set_new(picture, "why", tl_json_why(&state));
        }
        if (!tl_json_print(picture, stdout)) {
            return TL_EXIT_FAILED;
        }
    } else if (look->why) {
        tl_ui_print_why(&state, stdout);
    } else {
        tl_ui_print(&state, stdout);
    }
    return view.word == TL_WORD_READY ? 0 : 1;
}

int
tl_show_main(int argc, char **argv)
{
    struct tl_look look = {.command = "show"};
    int code = tl_look_arguments(&look, argc, argv, usage);
    if (code >= 0) {
        return code;
    }
    code = tl_look_open(&look);
    if (code == TL_EXIT_OK) {
        code = show(&look);
    }
    tl_look_close(&look);
    return code;
}
