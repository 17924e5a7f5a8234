/* SPDX-License-Identifier: Apache-2.0 */
/* station.c - see station.h. */
#include "clients/station/station.h"

#include <fcntl.h>
#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "clients/station/bridge/bridge.h"
#include "clients/station/pane.h"
#include "clients/station/session.h"
#include "clients/ui/glass.h"
#include "proto/base/clock.h"
#include "proto/base/conf.h"
#include "proto/base/text.h"
#include "proto/link/metrics.h"

struct arguments {
    const char *dir;
    const char *command; /* --do */
    const char *nmea;    /* bridge */
    const char *feed;    /* the others */
    const char *on_alert;
    const char *metrics;
    uint32_t unit;
    uint64_t above;
    bool confirm;
    bool join;
    bool stay;
    bool lines;
};

static void
print_usage(enum tl_station_kind kind, FILE *out)
{
    const char *name = tl_station_kind_name(kind);
    bool engine = kind == TL_STATION_ENGINE;
    const struct tl_room *room = tl_room_of(kind);
    (void)fprintf(
        out,
        "usage: trapline %s%s [-C DIR] [--stay]\n"
        "       trapline %s%s [-C DIR] --do 'COMMAND' [--confirm] [--join]\n\n"
        "  -C DIR                   configuration folder (else $TRAPLINE_CONFIG)\n"
        "%s"
        "  --do 'COMMAND'           hand one command to the running station\n"
        "  --confirm                the read-back of --do is confirmed\n"
        "  --join                   start the station first, then stay in line mode\n"
        "  --stay                   go on after the end of input\n"
        "  --lines                  line mode, also on a terminal that could show a page\n"
        "  --incarnation-above N    take an incarnation above N\n"
        "  --on-alert COMMAND       run that program at each change of an alert\n"
        "  --metrics FILE           keep a page of counters there (docs/monitoring.md)\n"
        "%s"
        "  --help                   this text\n\n"
        "SIGHUP reads keys.yaml again. Exit: 0 accepted, 2 refused, 3 not confirmed in time or\n"
        "nobody heard, 64 usage, 78 configuration. Commands:\n",
        name, engine ? " --unit N" : "", name, engine ? " --unit N" : "",
        engine ? "  --unit N                 which engine\n" : "",
        kind == TL_STATION_BRIDGE
            ? "  --nmea FILE|-|udp://ADDR:PORT   sentences of the ship's sensors\n"
            : "  --feed FILE|-|udp://ADDR:PORT   lines of sensors: NAME VALUE UNIT\n");
    for (size_t i = 0; i < room->count; i++) {
        (void)fprintf(out, "  %s\n", room->verb[i].syntax);
    }
    for (size_t i = 0; i < tl_room_people.count; i++) {
        (void)fprintf(out, "  %s\n", tl_room_people.verb[i].syntax);
    }
}

enum {
    OPTION_UNIT = 256,
    OPTION_DO,
    OPTION_CONFIRM,
    OPTION_JOIN,
    OPTION_STAY,
    OPTION_LINES,
    OPTION_ABOVE,
    OPTION_NMEA,
    OPTION_FEED,
    OPTION_ON_ALERT,
    OPTION_METRICS,
    OPTION_HELP
};

static const struct option options[] = {
    {"unit", required_argument, NULL, OPTION_UNIT},
    {"do", required_argument, NULL, OPTION_DO},
    {"confirm", no_argument, NULL, OPTION_CONFIRM},
    {"join", no_argument, NULL, OPTION_JOIN},
    {"stay", no_argument, NULL, OPTION_STAY},
    {"lines", no_argument, NULL, OPTION_LINES},
    {"incarnation-above", required_argument, NULL, OPTION_ABOVE},
    {"nmea", required_argument, NULL, OPTION_NMEA},
    {"feed", required_argument, NULL, OPTION_FEED},
    {"on-alert", required_argument, NULL, OPTION_ON_ALERT},
    {"metrics", required_argument, NULL, OPTION_METRICS},
    {"help", no_argument, NULL, OPTION_HELP},
    {NULL, 0, NULL, 0}};

/* One option; -1 = go on, else an exit code. */
static int
take_option(enum tl_station_kind kind, int c, struct arguments *arguments)
{
    uint64_t value = 0;
    switch (c) {
    case 'C':
        arguments->dir = optarg;
        return -1;
    case OPTION_DO:
        arguments->command = optarg;
        return -1;
    case OPTION_CONFIRM:
        arguments->confirm = true;
        return -1;
    case OPTION_JOIN:
        arguments->join = true;
        return -1;
    case OPTION_STAY:
        arguments->stay = true;
        return -1;
    case OPTION_LINES:
        arguments->lines = true;
        return -1;
    case OPTION_NMEA:
        arguments->nmea = optarg;
        return -1;
    case OPTION_FEED:
        arguments->feed = optarg;
        return -1;
    case OPTION_ON_ALERT:
        arguments->on_alert = optarg;
        return -1;
    case OPTION_METRICS:
        arguments->metrics = optarg;
        return -1;
    case OPTION_HELP:
        print_usage(kind, stdout);
        return TL_EXIT_OK;
    case OPTION_UNIT:
    case OPTION_ABOVE:
        if (!tl_text_number(optarg, &value) || value > (c == OPTION_UNIT ? 99 : UINT64_MAX / 2)) {
            (void)fprintf(stderr, "trapline %s: '%.32s' is not a number\n",
                          tl_station_kind_name(kind), optarg);
            return TL_EXIT_USAGE;
        }
        if (c == OPTION_UNIT) {
            arguments->unit = (uint32_t)value;
        } else {
            arguments->above = value;
        }
        return -1;
    default:
        (void)fprintf(stderr, "see trapline %s --help\n", tl_station_kind_name(kind));
        return TL_EXIT_USAGE;
    }
}

static int
read_arguments(enum tl_station_kind kind, int argc, char **argv, struct arguments *arguments)
{
    int c = 0;
    const char *name = tl_station_kind_name(kind);
    arguments->dir = getenv("TRAPLINE_CONFIG");
    optind = 1;
    while ((c = getopt_long(argc, argv, "C:", options, NULL)) != -1) {
        int code = take_option(kind, c, arguments);
        if (code >= 0) {
            return code;
        }
    }
    if (optind != argc) {
        (void)fprintf(stderr, "trapline %s: '%.32s' belongs in --do '...'\n", name, argv[optind]);
        return TL_EXIT_USAGE;
    }
    if (arguments->dir == NULL) {
        (void)fprintf(stderr, "trapline %s: which configuration? give -C DIR\n", name);
        return TL_EXIT_USAGE;
    }
    bool engine = kind == TL_STATION_ENGINE;
    if (engine != (arguments->unit != 0)) {
        (void)fprintf(stderr,
                      engine ? "trapline %s: which engine? give --unit N\n"
                             : "trapline %s: only an engine has a --unit\n",
                      name);
        return TL_EXIT_USAGE;
    }
    if (arguments->command == NULL && (arguments->confirm || arguments->join)) {
        (void)fprintf(stderr, "trapline %s: --confirm and --join go with --do\n", name);
        return TL_EXIT_USAGE;
    }
    if (arguments->nmea != NULL && kind != TL_STATION_BRIDGE) {
        (void)fprintf(stderr, "trapline %s: only the bridge reads --nmea\n", name);
        return TL_EXIT_USAGE;
    }
    if (arguments->feed != NULL && kind == TL_STATION_BRIDGE) {
        (void)fprintf(stderr, "trapline bridge: it reads --nmea, not --feed\n");
        return TL_EXIT_USAGE;
    }
    enum tl_err err = arguments->on_alert != NULL ? tl_hook_check(arguments->on_alert) : TL_OK;
    if (err != TL_OK) {
        (void)fprintf(stderr, "trapline %s: --on-alert %.*s: %s\n", name, TL_PATH_CAP,
                      arguments->on_alert, err == TL_BADARG ? "not a program" : tl_err_text(err));
        return TL_EXIT_USAGE;
    }
    return -1;
}

/* The id in stations.yaml of that kind and unit; "" when there is none. */
static const char *
find_station(const struct tl_config *config, enum tl_station_kind kind, uint32_t unit)
{
    const struct tl_node *node = tl_config_station(config, kind, unit);
    if (node == NULL && unit != 0) {
        (void)fprintf(stderr, "stations.yaml has no %s %u\n", tl_station_kind_name(kind), unit);
    } else if (node == NULL) {
        (void)fprintf(stderr, "stations.yaml has no station of kind %s\n",
                      tl_station_kind_name(kind));
    }
    return node != NULL ? node->id : "";
}

static int
hand_over(const struct arguments *arguments, const struct tl_config *config, const char *node)
{
    return tl_local_do(config->run_dir, node, arguments->command, arguments->confirm);
}

/* Wait at most 2 s until every validator is heard, so that the first command can be said. */
static void
wait_for_validators(struct tl_session *session)
{
    uint64_t until_ms = tl_clock_boot_ms() + TL_SAID_MAX_MS;
    uint64_t now_ms = 0;
    do {
        struct tl_view view;
        now_ms = tl_seat_turn(&session->seat, NULL, 0, 20);
        tl_member_view(&session->seat.member, now_ms, &view);
        if (view.all_verdicts && tl_hear_any(&session->seat.member.hear, now_ms)) {
            return;
        }
    } while (now_ms < until_ms && !session->seat.ended);
}

static void
say_line(void *ctx, const char *line)
{
    tl_session_say_line(ctx, -1, line);
}

static int
run(const struct arguments *arguments, const char *node, struct tl_session *session)
{
    char why[TL_PATH_CAP];
    struct tl_join_options join = {.program = "trapline",
                                   .dir = arguments->dir,
                                   .node = node,
                                   .kind = TL_NODE_STATION,
                                   .incarnation_above = arguments->above,
                                   .alone = true};
    enum tl_exit code = tl_seat_open(&join, &session->seat);
    code = code == TL_EXIT_OK ? tl_open_metrics(arguments->metrics, &session->metrics, "trapline")
                              : code;
    if (code != TL_EXIT_OK) {
        return (int)code;
    }
    if (tl_local_open(session->seat.join.config.run_dir, node, &session->local, why, sizeof why) !=
        TL_OK) {
        (void)fprintf(stderr, "trapline: %s\n", why);
        return TL_EXIT_FAILED;
    }
    if (session->seat.join.node->station == TL_STATION_GEAR_OFFICER) {
        tl_tallies_init(&session->tallies, &session->seat.join.config);
        session->tallies.say = say_line;
        session->tallies.ctx = session;
    }
    if (session->seat.join.node->station == TL_STATION_BRIDGE) {
        session->bridge = calloc(1, sizeof *session->bridge);
        if (session->bridge == NULL || !tl_bridge_open(session->bridge, &session->seat.join.config,
                                                       arguments->nmea, session->out)) {
            return TL_EXIT_FAILED;
        }
    }
    if (arguments->feed != NULL &&
        !tl_dials_open(&session->dials, &session->seat.join.config, session->seat.join.node,
                       arguments->feed, session->out)) {
        return TL_EXIT_FAILED;
    }
    tl_session_listen(session);
    tl_hook_init(&session->hook, arguments->on_alert);
    session->hook.say = say_line;
    session->hook.ctx = session;
    (void)fprintf(session->out, "%s ready, incarnation %llu\n", node,
                  (unsigned long long)session->seat.join.incarnation);
    (void)fflush(session->out);
    tl_notify_ready(&session->seat.join.notify, "joins");
    if (arguments->command == NULL && !arguments->lines && !session->input_ended &&
        tl_glass_possible() && tl_pane_open(session, why, sizeof why) != TL_OK) {
        (void)fprintf(stderr, "trapline: no page on this terminal, lines instead: %s\n", why);
    }
    if (arguments->command != NULL) {
        wait_for_validators(session);
        session->joining = true;
        tl_session_line(session, arguments->command, arguments->confirm, -1);
        session->joining = false;
    }
    int ended = tl_session_run(session);
    tl_pane_close(session);
    return ended;
}

static int
start(enum tl_station_kind kind, const struct arguments *arguments, struct tl_session *session)
{
    struct tl_conf_fault fault;
    struct tl_config *config = calloc(1, sizeof *config);
    if (config == NULL) {
        return TL_EXIT_FAILED;
    }
    int code = TL_EXIT_CONFIG;
    if (tl_conf_load(arguments->dir, config, &fault) != TL_OK) {
        tl_conf_print_fault(&fault);
    } else {
        const char *node = find_station(config, kind, arguments->unit);
        if (node[0] != '\0' && arguments->command != NULL && !arguments->join) {
            code = hand_over(arguments, config, node);
        } else if (node[0] != '\0') {
            code = run(arguments, node, session);
        }
    }
    free(config);
    return code;
}

int
tl_station_main(enum tl_station_kind kind, int argc, char **argv)
{
    struct arguments arguments = {0};
    int code = read_arguments(kind, argc, argv, &arguments);
    if (code >= 0) {
        return code;
    }
    struct tl_session *session = calloc(1, sizeof *session);
    if (session == NULL) {
        (void)fprintf(stderr, "trapline: out of memory\n");
        return TL_EXIT_FAILED;
    }
    session->out = stdout;
    session->local.fd = -1;
    session->seat.signals = -1;
    session->seat.join.lock.fd = -1;
    session->stay = arguments.stay;
    /* Sentences on standard input leave no room for commands: the bridge is then told by --do. */
    session->input_ended = (arguments.nmea != NULL && strcmp(arguments.nmea, "-") == 0) ||
                           (arguments.feed != NULL && strcmp(arguments.feed, "-") == 0);
    for (size_t i = 0; i < TL_LOCAL_CLIENTS; i++) {
        session->local.client[i].fd = -1;
    }
    code = start(kind, &arguments, session);
    tl_metrics_close(&session->metrics);
    tl_local_close(&session->local);
    tl_dials_close(&session->dials);
    tl_hook_close(&session->hook);
    if (session->bridge != NULL) {
        tl_bridge_close(session->bridge);
        free(session->bridge);
    }
    tl_seat_close(&session->seat);
    free(session);
    return code;
}
