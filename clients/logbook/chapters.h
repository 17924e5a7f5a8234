/* SPDX-License-Identifier: Apache-2.0 */
/*
 * chapters.h - the passes as WebVTT (W3C), so that a player jumps to each in a recording.
 *
 * Pure but for the stream. A cue is a pass from the pilot's call, else from the order, to its first
 * result; it begins no earlier than the cue before it ends, so that the file is one of chapters:
 * cues in order, none over another. With alerts, each is a cue of its own in the order of the
 * beginnings; these lie over the passes, so that such a file is one of captions.
 *
 * Times are never negative: what ends before the video begins is left out, what began before it
 * begins with it. A pass without a result has no cue.
 */
#ifndef CLIENTS_LOGBOOK_CHAPTERS_H
#define CLIENTS_LOGBOOK_CHAPTERS_H

#include <stdio.h>

#include "clients/logbook/alerts.h"
#include "clients/logbook/filter.h"

struct tl_cue {
    int64_t from_ms, to_ms; /* of the video; from below to */
    char id[TL_TABLE_TEXT_CAP];
    char text[TL_TABLE_TEXT_CAP];
};
struct tl_cues {
    size_t count, cap;
    struct tl_cue *cue; /* in the order of their beginnings */
    size_t left_out;    /* passes and alerts before the beginning of the video */
};

enum {
    TL_CUE_LEAST_MS = 1,   /* a cue ends after it begins */
    TL_CUE_OPEN_MS = 10000 /* of an alert whose end is not known */
};

/*
 * zero_ms: UTC of video time 0. shift_ms: added to every video time. alerts: NULL = none.
 * cues: zeroed; freed by the caller. TL_NOMEM.
 */
struct tl_video {
    uint64_t zero_ms;
    int64_t shift_ms;
};
TL_MUST_USE enum tl_err tl_cues_fold(const struct tl_answer *answer, const struct tl_video *video,
                                     const struct tl_alerts_told *alerts, struct tl_cues *cues);
void tl_cues_free(struct tl_cues *cues);

/* False when `out` does not take it. */
bool tl_cues_print(const struct tl_cues *cues, const struct tl_video *video, FILE *out);

#endif
