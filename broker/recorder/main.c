/* SPDX-License-Identifier: Apache-2.0 */
/* main - trapline-recorder: writes what happened to disk, and says what is on it. */
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "broker/recorder/merge.h"
#include "broker/recorder/node.h"
#include "proto/base/log.h"
#include "proto/base/signals.h"
#include "proto/link/arguments.h"
#include "proto/link/metrics.h"

static const char *const words[TL_ARGUMENTS_WORDS] = {
    [TL_ARGUMENTS_PROGRAM] = "trapline-recorder",
    [TL_ARGUMENTS_DOES] =
        "Write every change, verdict and alert into a file, and tell each station what is on disk.",
    [TL_ARGUMENTS_WHAT] = "recorder",
    [TL_ARGUMENTS_OPTION] = "merge",
    [TL_ARGUMENTS_OPTION_DOES] = "take what that record has and this one lacks, and stop",
};

static int
start(const struct tl_arguments *arguments, struct tl_recorder *recorder)
{
    static const enum tl_topic_kind listen[] = {TL_TOPIC_BEAT, TL_TOPIC_CHANGE, TL_TOPIC_JUDGED,
                                                TL_TOPIC_VERDICT, TL_TOPIC_ALERT};
    struct tl_join_options options = {.program = "trapline-recorder",
                                      .dir = arguments->dir,
                                      .node = arguments->node,
                                      .kind = TL_NODE_RECORDER,
                                      .incarnation_above = arguments->above,
                                      .alone = true,
                                      .off_the_bus = arguments->file != NULL,
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
        tl_log_fault("trapline-recorder: no signal descriptor; too many open files?");
        return TL_EXIT_FAILED;
    }
    if (tl_store_path(&recorder->join.config, arguments->node, recorder->path) != TL_OK) {
        tl_log_fault("trapline-recorder: record_dir in bus.yaml is too long; shorten it");
        return TL_EXIT_CONFIG;
    }
    (void)signal(SIGXFSZ, SIG_IGN); /* a limit on files is an error of the write, not our end */
    code = tl_open_metrics(arguments->metrics, &recorder->metrics, "trapline-recorder");
    code = code == TL_EXIT_OK ? tl_join_open(&options, &recorder->join) : code;
    if (code != TL_EXIT_OK) {
        return (int)code;
    }
    return arguments->file != NULL ? tl_merge_run(&recorder->join, arguments->file)
                                   : tl_recorder_run(recorder);
}

int
main(int argc, char **argv)
{
    struct tl_arguments arguments = {0};
    int stop = tl_arguments_read(argc, argv, words, &arguments);
    if (stop >= 0) {
        return stop;
    }
    struct tl_recorder *recorder = calloc(1, sizeof *recorder);
    if (recorder == NULL) {
        tl_log_fault("trapline-recorder: out of memory");
        return TL_EXIT_FAILED;
    }
    int code = start(&arguments, recorder);
    tl_metrics_close(&recorder->metrics);
    tl_ledger_reader_close(&recorder->reader);
    tl_store_close(&recorder->store);
    tl_beats_close(&recorder->beats);
    tl_join_close(&recorder->join);
    if (recorder->signals > 0) {
        (void)close(recorder->signals);
    }
    free(recorder);
    return code;
}
