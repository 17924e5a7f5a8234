/* SPDX-License-Identifier: Apache-2.0 */
/* main - trapline-validator: judges whether the stations' reports fit together. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "broker/validator/node.h"
#include "proto/base/log.h"
#include "proto/base/signals.h"
#include "proto/link/arguments.h"
#include "proto/link/metrics.h"

static const char *const words[TL_ARGUMENTS_WORDS] = {
    [TL_ARGUMENTS_PROGRAM] = "trapline-validator",
    [TL_ARGUMENTS_DOES] = "Judge the stations' reports; publish verdict, picture and alerts.",
    [TL_ARGUMENTS_WHAT] = "validator",
    [TL_ARGUMENTS_FLAG] = "trace",
    [TL_ARGUMENTS_FLAG_DOES] = "say every 10 s where the time of a message goes",
};

static int
start(const struct tl_arguments *arguments, struct tl_validator *validator)
{
    static const enum tl_topic_kind listen[] = {TL_TOPIC_BEAT, TL_TOPIC_CHANGE, TL_TOPIC_VERDICT,
                                                TL_TOPIC_PICTURE, TL_TOPIC_BUS};
    struct tl_join_options options = {.program = "trapline-validator",
                                      .dir = arguments->dir,
                                      .node = arguments->node,
                                      .kind = TL_NODE_VALIDATOR,
                                      .incarnation_above = arguments->above,
                                      .alone = true,
                                      .listen = listen,
                                      .listen_count = sizeof listen / sizeof listen[0]};
    enum tl_exit code = tl_join_configure(&options, &validator->join);
    if (code != TL_EXIT_OK) {
        return (int)code;
    }
    const char *why = NULL;
    enum tl_err err = tl_worker_open(&validator->join.config, &validator->worker, &why);
    if (err != TL_OK) {
        tl_log_fault("trapline-validator: %s%s", why,
                     err == TL_CONFIG ? "; correct the figures in gear.yaml" : "");
        return err == TL_CONFIG ? TL_EXIT_CONFIG : TL_EXIT_FAILED;
    }
    if (arguments->check_only) {
        (void)printf("configuration OK\n");
        return TL_EXIT_OK;
    }
    validator->signals = tl_signals_open();
    if (validator->signals < 0) {
        tl_log_fault("trapline-validator: no signal descriptor; too many open files?");
        return TL_EXIT_FAILED;
    }
    validator->trace = arguments->flag ? &validator->stages : NULL;
    code = tl_open_metrics(arguments->metrics, &validator->metrics, "trapline-validator");
    code = code == TL_EXIT_OK ? tl_join_open(&options, &validator->join) : code;
    return code == TL_EXIT_OK ? tl_validator_run(validator) : (int)code;
}

int
main(int argc, char **argv)
{
    struct tl_arguments arguments = {0};
    int stop = tl_arguments_read(argc, argv, words, &arguments);
    if (stop >= 0) {
        return stop;
    }
    struct tl_validator *validator = calloc(1, sizeof *validator);
    if (validator == NULL) {
        tl_log_fault("trapline-validator: out of memory");
        return TL_EXIT_FAILED;
    }
    int code = start(&arguments, validator);
    tl_metrics_close(&validator->metrics);
    tl_worker_close(&validator->worker);
    tl_join_close(&validator->join);
    if (validator->signals > 0) {
        (void)close(validator->signals);
    }
    free(validator);
    return code;
}
