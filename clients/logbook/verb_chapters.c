/* SPDX-License-Identifier: Apache-2.0 */
/* verb_chapters.c - trapline log chapters: passes and alerts as WebVTT for a player. */
#include "clients/logbook/chapters.h"

#include <math.h>
#include <string.h>

#include "clients/logbook/verbs.h"
#include "clients/logbook/words.h"

enum own_option {
    OPTION_AT = TL_LOG_ASK_OWN,
    OPTION_OFFSET,
    OPTION_ALERTS
};

/* Video time 0: as given, else when the recovery of the first pass that is asked for began. */
static enum tl_exit
read_video(struct tl_log *log, const struct tl_answer *answer, struct tl_video *video)
{
    if (tl_log_given(log, OPTION_OFFSET)) {
        video->shift_ms = llround(log->option[OPTION_OFFSET].number * 1000.0);
    }
    for (size_t i = 0; i < answer->passes.count && video->zero_ms == 0; i++) {
        if (tl_filter_pass(&answer->filter, &answer->passes.pass[i])) {
            video->zero_ms = answer->passes.pass[i].event.recovery_ms;
        }
    }
    return tl_log_read_time(log, OPTION_AT, &answer->book, &video->zero_ms);
}

static enum tl_exit
print(struct tl_log *log, struct tl_answer *answer)
{
    struct tl_video video = {0};
    struct tl_alerts_told alerts = {0};
    struct tl_cues cues = {0};
    bool with_alerts = tl_log_given(log, OPTION_ALERTS);
    if (tl_log_given(log, TL_LOG_JSON) || tl_log_given(log, TL_LOG_CSV)) {
        return tl_log_refuse(log, TL_EXIT_USAGE, "chapters are WebVTT, not JSON or CSV");
    }
    enum tl_exit code = read_video(log, answer, &video);
    if (code == TL_EXIT_OK && with_alerts) {
        code = tl_log_folded(log, "the alerts", tl_alerts_fold(&answer->book, &alerts));
    }
    if (code == TL_EXIT_OK) {
        code = tl_log_folded(log, "the chapters",
                             tl_cues_fold(answer, &video, with_alerts ? &alerts : NULL, &cues));
    }
    if (code == TL_EXIT_OK && !tl_cues_print(&cues, &video, stdout)) {
        code = tl_log_refuse(log, TL_EXIT_FAILED, "the chapters could not be written");
    }
    if (code == TL_EXIT_OK && cues.left_out > 0) {
        (void)fprintf(stderr, "trapline log chapters: %zu before the video begins left out\n",
                      cues.left_out);
    }
    if (code == TL_EXIT_OK && cues.count == 0 && cues.left_out == 0) {
        tl_filter_say_empty(log, "pass that ended", &answer->book);
    }
    tl_cues_free(&cues);
    tl_alerts_free(&alerts);
    return code;
}

static enum tl_exit
run(struct tl_log *log)
{
    return tl_log_answer(log, print);
}

static const struct tl_option_row rows[] = {
    TL_LOG_ASK,
    [OPTION_AT] = {"--at", TL_OPTION_WORD, 0, 0, false, "TIME",
                   "the time when the video began; else that of the recovery"},
    [OPTION_OFFSET] = {"--offset", TL_OPTION_NUMBER, -86400, 86400, false, "s",
                       "video time of that moment"},
    [OPTION_ALERTS] = {"--alerts", TL_OPTION_FLAG, 0, 0, false, "",
                       "a cue for each alert too; the file is then one of captions"},
};

const struct tl_log_command tl_log_chapters = {
    .name = "chapters",
    .what = "WebVTT, so that a player jumps to each pass of a recording",
    .text = "The passes as chapters of a video, WebVTT as the W3C has it: from the pilot's call, "
            "else from the order, to the result, none over another. A pass without a result has "
            "none. What is over before the video begins is left out and counted.",
    .table = {rows, sizeof rows / sizeof rows[0]},
    .run = run,
};
