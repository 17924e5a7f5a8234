/* SPDX-License-Identifier: Apache-2.0 */
/* look.c - see look.h. */
#include "clients/tools/look.h"

#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    OPTION_JSON = 256,
    OPTION_AS,
    OPTION_FOR,
    OPTION_ON_ALERT,
    OPTION_LAMP,
    OPTION_WHY,
    OPTION_HELP
};

static bool
read_seconds(const char *text, uint64_t *ms)
{
    char *end = NULL;
    double value = strtod(text, &end);
    if (text[0] < '0' || text[0] > '9' || *end != '\0' || !(value >= 0.0) || value > 86400.0) {
        return false;
    }
    *ms = (uint64_t)(value * 1000.0);
    return true;
}

static const struct option long_options[] = {{"json", no_argument, NULL, OPTION_JSON},
                                             {"as", required_argument, NULL, OPTION_AS},
                                             {"for", required_argument, NULL, OPTION_FOR},
                                             {"on-alert", required_argument, NULL, OPTION_ON_ALERT},
                                             {"lamp", required_argument, NULL, OPTION_LAMP},
                                             {"why", no_argument, NULL, OPTION_WHY},
                                             {"help", no_argument, NULL, OPTION_HELP},
                                             {NULL, 0, NULL, 0}};

/* One option; -1 = go on, else an exit code. */
static int
take_option(struct tl_look *look, int c, const char *usage)
{
    switch (c) {
    case 'C':
        look->dir = optarg;
        return -1;
    case OPTION_JSON:
        look->json = true;
        return -1;
    case OPTION_WHY:
        look->why = true;
        return -1;
    case OPTION_AS:
        look->as = optarg;
        return -1;
    case OPTION_FOR:
        if (!read_seconds(optarg, &look->limit_ms)) {
            (void)fprintf(stderr, "trapline %s: --for takes seconds\n", look->command);
            return TL_EXIT_USAGE;
        }
        return -1;
    case OPTION_ON_ALERT:
        look->on_alert = optarg;
        return -1;
    case OPTION_LAMP:
        look->lamp = optarg;
        return -1;
    case OPTION_HELP:
        (void)fputs(usage, stdout);
        return TL_EXIT_OK;
    default:
        (void)fprintf(stderr, "see trapline %s --help\n", look->command);
        return TL_EXIT_USAGE;
    }
}

int
tl_look_arguments(struct tl_look *look, int argc, char **argv, const char *usage)
{
    int c = 0;
    look->dir = getenv("TRAPLINE_CONFIG");
    optind = 1;
    while ((c = getopt_long(argc, argv, "C:", long_options, NULL)) != -1) {
        int code = take_option(look, c, usage);
        if (code >= 0) {
            return code;
        }
    }
    if (optind != argc) {
        (void)fprintf(stderr, "trapline %s: '%.32s' is not understood\n", look->command,
                      argv[optind]);
        return TL_EXIT_USAGE;
    }
    if ((look->on_alert != NULL || look->lamp != NULL) && strcmp(look->command, "watch") != 0) {
        (void)fprintf(stderr, "trapline %s: only watch takes --on-alert and --lamp\n",
                      look->command);
        return TL_EXIT_USAGE;
    }
    if (look->dir == NULL) {
        (void)fprintf(stderr, "trapline %s: which configuration? give -C DIR\n", look->command);
        return TL_EXIT_USAGE;
    }
    return -1;
}

int
tl_look_open(struct tl_look *look)
{
    look->seat = calloc(1, sizeof *look->seat);
    if (look->seat == NULL) {
        (void)fprintf(stderr, "trapline: out of memory\n");
        return TL_EXIT_FAILED;
    }
    struct tl_join_options options = {
        .program = "trapline", .dir = look->dir, .node = look->as, .kind = TL_NODE_VIEWER};
    enum tl_exit code = tl_seat_open(&options, look->seat);
    if (code == TL_EXIT_OK) {
        tl_notify_ready(&look->seat->join.notify, "looks on");
    }
    return (int)code;
}

void
tl_look_close(struct tl_look *look)
{
    if (look->seat != NULL) {
        tl_seat_close(look->seat);
        free(look->seat);
        look->seat = NULL;
    }
}

void
tl_look_state(struct tl_look *look, uint64_t now_ms, struct tl_view *view, struct tl_alert *alerts,
              struct tl_ui_state *state)
{
    struct tl_member *member = &look->seat->member;
    tl_ui_take(&look->aged, member, now_ms, view, state);
    state->alert = alerts;
    state->alert_count = tl_member_alerts(member, now_ms, alerts, TL_ALERTS_MAX);
    tl_member_alerts_shown(member, now_ms);
}
