/* SPDX-License-Identifier: Apache-2.0 */
/* verb_report.c - trapline log report: one page for the debrief. */
#include <stdlib.h>
#include <string.h>

#include "clients/logbook/hours.h"
#include "clients/logbook/report.h"
#include "clients/logbook/verbs.h"
#include "clients/logbook/words.h"
#include "proto/base/file.h"
#include "proto/base/text.h"

enum own_option {
    OPTION_OUT = TL_LOG_ASK_OWN,
    OPTION_DRILLS
};

enum {
    FILE_MODE = 0644,
    SHOWN_CAP = 200
};

/* Without a time or a pass: the newest recovery, from its opening to its end. */
static enum tl_exit
ask_for_newest(struct tl_log *log, struct tl_answer *answer)
{
    struct tl_open_times times = {0};
    struct tl_filter *filter = &answer->filter;
    char from[TL_TIME_CAP];
    char to[TL_TIME_CAP];
    if (tl_log_given(log, TL_LOG_FROM) || tl_log_given(log, TL_LOG_TO) || filter->has_event) {
        return TL_EXIT_OK;
    }
    enum tl_exit code =
        tl_log_folded(log, "the recoveries", tl_open_times_fold(&answer->book, &times));
    if (code == TL_EXIT_OK && times.count > 0) {
        const struct tl_open_time *last = &times.time[times.count - 1];
        filter->from_ms = last->from_ms;
        filter->to_ms = last->to_ms;
        (void)fprintf(stderr, "trapline log report: of the newest recovery, %s to %s\n",
                      tl_time_text(filter->from_ms, from), tl_time_text(filter->to_ms, to));
    }
    tl_open_times_free(&times);
    return code;
}

static enum tl_exit
save(struct tl_log *log, const char *page, size_t len)
{
    const char *path = tl_log_word(log, OPTION_OUT);
    char shown[SHOWN_CAP];
    if (path == NULL) {
        return fwrite(page, 1, len, stdout) == len
                   ? TL_EXIT_OK
                   : tl_log_refuse(log, TL_EXIT_FAILED, "the report could not be written");
    }
    enum tl_err err = tl_file_write_atomic(path, FILE_MODE, page, len);
    (void)tl_text_plain(shown, sizeof shown, path, strlen(path));
    return err == TL_OK ? TL_EXIT_OK
                        : tl_log_refuse(log, TL_EXIT_FAILED, "%s could not be written: %s", shown,
                                        tl_err_text(err));
}

static enum tl_exit
print(struct tl_log *log, struct tl_answer *answer)
{
    char *page = NULL;
    size_t len = 0;
    if (tl_log_given(log, TL_LOG_JSON) || tl_log_given(log, TL_LOG_CSV)) {
        return tl_log_refuse(log, TL_EXIT_USAGE, "the report is a page, not JSON or CSV");
    }
    enum tl_exit code = ask_for_newest(log, answer);
    FILE *memory = code == TL_EXIT_OK ? open_memstream(&page, &len) : NULL;
    if (code == TL_EXIT_OK && memory == NULL) {
        return tl_log_refuse(log, TL_EXIT_FAILED, "out of memory");
    }
    if (code == TL_EXIT_OK) {
        code = tl_log_folded(log, "the report",
                             tl_report_print(answer, tl_log_given(log, OPTION_DRILLS), memory));
        if (fclose(memory) != 0 && code == TL_EXIT_OK) {
            code = tl_log_refuse(log, TL_EXIT_FAILED, "out of memory");
        }
    }
    if (code == TL_EXIT_OK) {
        code = save(log, page, len);
    }
    free(page);
    return code;
}

static enum tl_exit
run(struct tl_log *log)
{
    return tl_log_answer(log, print);
}

static const struct tl_option_row rows[] = {
    TL_LOG_ASK,
    [OPTION_OUT] = {"-o", TL_OPTION_WORD, 0, 0, false, "FILE",
                    "write it there, whole or not at all; else to standard output"},
    [OPTION_DRILLS] = {"--drills", TL_OPTION_FLAG, 0, 0, false, "",
                       "count passes of drills in the figures too"},
};

const struct tl_log_command tl_log_report = {
    .name = "report",
    .what = "one HTML page for the debrief, with plots",
    .text =
        "One page in HTML for the debrief, for screen and for A4: passes, plots of READY and "
        "NOT READY of each pass, intervals, seconds by station, wires and alert rates, figures, "
        "alerts, overrides and words by voice, who sat where, faults. Without a time or a pass "
        "it is of the newest recovery. It is an advisory record and says so.",
    .table = {rows, sizeof rows / sizeof rows[0]},
    .run = run,
};
