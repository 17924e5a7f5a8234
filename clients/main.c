/* SPDX-License-Identifier: Apache-2.0 */
/* main - trapline: the text client, a subcommand for each station, for looking, and for tools. */
#include <stdio.h>
#include <string.h>

#include "clients/board/board.h"
#include "clients/logbook/log.h"
#include "clients/plan/plan.h"
#include "clients/station/station.h"
#include "clients/tools/check.h"
#include "clients/tools/explain.h"
#include "clients/tools/keys.h"
#include "clients/tools/near.h"
#include "clients/tools/show.h"
#include "proto/link/join.h"

typedef int main_fn(int argc, char **argv);
struct subcommand {
    const char *name;
    const char *help;
    main_fn *fn; /* NULL: a station */
    enum tl_station_kind station;
};

static const struct subcommand subcommands[] = {
    {"engine", "engine room: the weight set, the battery (--unit N)", NULL, TL_STATION_ENGINE},
    {"deck", "deck status: foul and clear", NULL, TL_STATION_DECK},
    {"approach", "approach controller: who is inbound", NULL, TL_STATION_APPROACH},
    {"platform", "landing signal platform: call, hook, result, wave-off", NULL,
     TL_STATION_PLATFORM},
    {"primary", "primary flight control: recovery, order, repeaters", NULL, TL_STATION_PRIMARY},
    {"bridge", "bridge: wind from the ship's sensors (--nmea)", NULL, TL_STATION_BRIDGE},
    {"wires", "deck edge: wires, sheaves, pendants, retract", NULL, TL_STATION_WIRES},
    {"tracks", "catapult tracks in the landing area", NULL, TL_STATION_TRACKS},
    {"aid", "optical landing aid: for which type it is set", NULL, TL_STATION_AID},
    {"gear-officer", "arresting gear officer: foul, cables", NULL, TL_STATION_GEAR_OFFICER},
    {"barricade", "barricade crew: how it stands, stanchion pressure", NULL, TL_STATION_BARRICADE},
    {"safety", "safety officer: stop", NULL, TL_STATION_SAFETY},
    {"board", "the combined picture on a whole terminal", tl_board_main, TL_STATION_UNKNOWN},
    {"show", "the combined picture once", tl_show_main, TL_STATION_UNKNOWN},
    {"watch", "every verdict and alert, a line each", tl_watch_main, TL_STATION_UNKNOWN},
    {"explain", "a rule in plain words, or all", tl_explain_main, TL_STATION_UNKNOWN},
    {"plan", "wind, arrestment, landing aid, wave-off, interval", tl_plan_main, TL_STATION_UNKNOWN},
    {"log", "what a record says: passes, alerts, people, figures", tl_log_main, TL_STATION_UNKNOWN},
    {"check", "check a configuration folder", tl_check_main, TL_STATION_UNKNOWN},
    {"keys", "make, list, rotate and revoke keys", tl_keys_main, TL_STATION_UNKNOWN},
};
enum {
    COUNT = sizeof subcommands / sizeof subcommands[0]
};

static void
print_usage(FILE *out)
{
    (void)fprintf(out,
                  "usage: trapline COMMAND [-C DIR] ...\n\n"
                  "A status bus for aircraft recovery on wires. It advises; people decide.\n\n");
    for (size_t i = 0; i < COUNT; i++) {
        (void)fprintf(out, "  %-12s %s\n", subcommands[i].name, subcommands[i].help);
    }
    (void)fprintf(out, "  %-12s %s\n  %-12s %s\n\n", "--help", "this text; also after a command",
                  "--version", "the version");
}

static int
say_unknown(const char *word)
{
    const char *near = NULL;
    unsigned best = 3;
    for (size_t i = 0; i < COUNT; i++) {
        unsigned edits = tl_edits_between(word, subcommands[i].name);
        if (edits < best) {
            best = edits;
            near = subcommands[i].name;
        }
    }
    if (near != NULL) {
        (void)fprintf(stderr, "trapline: unknown command '%.24s'; did you mean '%s'?\n", word,
                      near);
    } else {
        (void)fprintf(stderr, "trapline: unknown command '%.24s'; see trapline --help\n", word);
    }
    return TL_EXIT_USAGE;
}

int
main(int argc, char **argv)
{
    if (argc < 2) {
        print_usage(stderr);
        return TL_EXIT_USAGE;
    }
    if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "help") == 0) {
        print_usage(stdout);
        return TL_EXIT_OK;
    }
    if (strcmp(argv[1], "--version") == 0) {
        (void)printf("trapline " TRAPLINE_VERSION "\n");
        return TL_EXIT_OK;
    }
    for (size_t i = 0; i < COUNT; i++) {
        if (strcmp(argv[1], subcommands[i].name) == 0) {
            return subcommands[i].fn != NULL
                       ? subcommands[i].fn(argc - 1, argv + 1)
                       : tl_station_main(subcommands[i].station, argc - 1, argv + 1);
        }
    }
    return say_unknown(argv[1]);
}
