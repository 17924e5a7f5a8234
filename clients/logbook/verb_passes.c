/* SPDX-License-Identifier: Apache-2.0 */
/* verb_passes.c - trapline log passes: the passes of a record, one a row. */
#include "clients/logbook/print.h"
#include "clients/logbook/record.h"
#include "clients/logbook/verbs.h"

static enum tl_exit
print_passes(struct tl_log *log, const struct tl_passes *passes)
{
    if (!tl_log_given(log, TL_LOG_JSON)) {
        tl_passes_print(passes, stdout);
    } else if (!tl_passes_print_json(passes, stdout)) {
        return tl_log_refuse(log, TL_EXIT_FAILED, "the passes could not be written");
    }
    return TL_EXIT_OK;
}

static enum tl_exit
run(struct tl_log *log)
{
    struct tl_passes passes = {0};
    enum tl_exit code = tl_log_find(log);
    if (code != TL_EXIT_OK) {
        return code;
    }
    enum tl_err err = tl_record_passes(log->path, &passes, log->why, sizeof log->why);
    if (err == TL_OK) {
        code = print_passes(log, &passes);
    } else {
        code = err == TL_NOTFOUND ? TL_EXIT_UNANSWERED : TL_EXIT_FAILED;
    }
    tl_passes_free(&passes);
    return code;
}

static const struct tl_option_row rows[] = {TL_LOG_COMMON};

const struct tl_log_command tl_log_passes = {
    .name = "passes",
    .what = "the passes: aircraft, weights ordered, set and read back, result",
    .text = "The passes of a record, one a row: aircraft, weight ordered, weights set and read "
            "back, result.",
    .table = {rows, sizeof rows / sizeof rows[0]},
    .run = run,
};
