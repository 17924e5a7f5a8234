/* SPDX-License-Identifier: Apache-2.0 */
/* main - trapline-recorder: writes what happened to disk, and says what is on it. */
#include <getopt.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "broker/recorder/node.h"
#include "proto/base/signals.h"
#include "proto/base/text.h"

static const char usage[] =
    "usage: trapline-recorder -C DIR --node ID [--incarnation-above N] [-n]\n"
    "\n"
    "Write every change, verdict and alert into a file, and tell each station what is on disk.\n"
    "\n"
    "  -C DIR                   configuration folder\n"
    "  --node ID                which recorder of stations.yaml this is\n"
    "  --incarnation-above N    take an incarnation above N (after 'old incarnation')\n"
    "  -n                       check the configuration and stop\n"
    "  --help                   this text\n"
    "\n"
    "SIGHUP reads keys.yaml again. Exit: 0 ended by a signal, 1 failed, 64 usage,\n"
    "78 configuration.\n";

struct arguments {
    const char *dir;
    const char *node;
    uint64_t above;
    bool check_only;
};

/* 0 = go on, else an exit code + 1. */
static int
read_arguments(int argc, char **argv, struct arguments *arguments)
{
    static const struct option options[] = {{"node", required_argument, NULL, 'N'},
                                            {"incarnation-above", required_argument, NULL, 'I'},
                                            {"help", no_argument, NULL, 'h'},
                                            {NULL, 0, NULL, 0}};
    int c = 0;
    while ((c = getopt_long(argc, argv, "C:n", options, NULL)) != -1) {
        switch (c) {
        case 'C':
            arguments->dir = optarg;
            break;
        case 'N':
            arguments->node = optarg;
            break;
        case 'I':
            if (!tl_text_number(optarg, &arguments->above)) {
                (void)fprintf(stderr, "trapline-recorder: --incarnation-above takes a number\n");
                return TL_EXIT_USAGE + 1;
            }
            break;
        case 'n':
            arguments->check_only = true;
            break;
        case 'h':
            (void)fputs(usage, stdout);
            return TL_EXIT_OK + 1;
        default:
            (void)fprintf(stderr, "see trapline-recorder --help\n");
            return TL_EXIT_USAGE + 1;
        }
    }
    if (arguments->dir == NULL || arguments->node == NULL || optind != argc) {
        (void)fputs(usage, stderr);
        return TL_EXIT_USAGE + 1;
    }
    return 0;
}

static int
start(const struct arguments *arguments, struct tl_recorder *recorder)
{
    static const enum tl_topic_kind listen[] = {TL_TOPIC_BEAT, TL_TOPIC_CHANGE, TL_TOPIC_JUDGED,
                                                TL_TOPIC_VERDICT, TL_TOPIC_ALERT};
    struct tl_join_options options = {.program = "trapline-recorder",
                                      .dir = arguments->dir,
                                      .node = arguments->node,
                                      .kind = TL_NODE_RECORDER,
                                      .incarnation_above = arguments->above,
                                      .alone = true,
                                      .listen = listen,
                                      .listen_count = sizeof listen / sizeof listen[0]};
    enum tl_exit code = tl_join_configure(&options, &recorder->join);
    if (code != TL_EXIT_OK) {
        return (int)code;
    }
    if (arguments->check_only) {
        (void)printf("configuration OK\n");
        return TL_EXIT_OK;
    }
    recorder->signals = tl_signals_open();
    if (recorder->signals < 0) {
        (void)fprintf(stderr, "trapline-recorder: no signal descriptor; too many open files?\n");
        return TL_EXIT_FAILED;
    }
    if (tl_store_path(&recorder->join.config, arguments->node, recorder->path) != TL_OK) {
        (void)fprintf(stderr,
                      "trapline-recorder: record_dir in bus.yaml is too long; shorten it\n");
        return TL_EXIT_CONFIG;
    }
    (void)signal(SIGXFSZ, SIG_IGN); /* a limit on files is an error of the write, not our end */
    code = tl_join_open(&options, &recorder->join);
    return code == TL_EXIT_OK ? tl_recorder_run(recorder) : (int)code;
}

int
main(int argc, char **argv)
{
    struct arguments arguments = {0};
    int stop = read_arguments(argc, argv, &arguments);
    if (stop != 0) {
        return stop - 1;
    }
    struct tl_recorder *recorder = calloc(1, sizeof *recorder);
    if (recorder == NULL) {
        (void)fprintf(stderr, "trapline-recorder: out of memory\n");
        return TL_EXIT_FAILED;
    }
    int code = start(&arguments, recorder);
    tl_store_close(&recorder->store);
    tl_join_close(&recorder->join);
    if (recorder->signals > 0) {
        (void)close(recorder->signals);
    }
    free(recorder);
    return code;
}
