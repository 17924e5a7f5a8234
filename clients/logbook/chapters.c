/* SPDX-License-Identifier: Apache-2.0 */
/* chapters.c - see chapters.h. */
#include "clients/logbook/chapters.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "clients/logbook/words.h"

enum {
    FIRST_CAP = 64,
    MS_PER_S = 1000,
    S_PER_MIN = 60,
    MIN_PER_HOUR = 60
};

/* NULL: memory. */
static struct tl_cue *
add(struct tl_cues *cues)
{
    if (cues->count == cues->cap) {
        size_t cap = cues->cap == 0 ? FIRST_CAP : 2 * cues->cap;
        struct tl_cue *cue = realloc(cues->cue, cap * sizeof *cue);
        if (cue == NULL) {
            return NULL;
        }
        cues->cue = cue;
        cues->cap = cap;
    }
    struct tl_cue *cue = &cues->cue[cues->count++];
    memset(cue, 0, sizeof *cue);
    return cue;
}

static int64_t
video_ms(const struct tl_video *video, uint64_t wall_ms)
{
    return (int64_t)(wall_ms & INT64_MAX) - (int64_t)(video->zero_ms & INT64_MAX) + video->shift_ms;
}

/* ---- passes ---- */

static void
write_pass(const struct tl_pass *pass, struct tl_cue *cue)
{
    const struct tl_verdict_row *cause = tl_pass_cause(pass);
    char side[TL_NUMBER_CAP] = "-";
    char wire[TL_NUMBER_CAP] = "";
    char why[TL_TEXT_CAP] = "";
    bool ordered = pass->order_stated.sequence != 0;
    if (ordered) {
        (void)snprintf(side, sizeof side, "%" PRIu32, pass->order.side);
    }
    if (tl_pass_trapped(pass) && pass->result.wire > 0) {
        (void)snprintf(wire, sizeof wire, " wire %" PRIu32, pass->result.wire);
    }
    if (cause != NULL) {
        (void)snprintf(why, sizeof why, ", NOT READY: %.140s",
                       cause->text[0] != '\0' ? cause->text : cause->name);
    } else if (tl_pass_wave_off(pass) == TL_WAVE_OFF_READY) {
        (void)snprintf(why, sizeof why, ", READY until then");
    }
    (void)snprintf(cue->id, sizeof cue->id, "pass %" PRIu64 ":%" PRIu32, pass->event.recovery_ms,
                   pass->event.pass);
    (void)snprintf(cue->text, sizeof cue->text, "%sPass %" PRIu32 ": %s %s, %s%s%s%s",
                   pass->drill ? "DRILL " : "", pass->event.pass, side,
                   ordered ? pass->order.type : "-", tl_pass_result_name(pass), wire,
                   pass->corrected ? " (corrected)" : "", why);
}

/* By the ends, so that a pass begins where the one before it has ended. */
static int
compare_ends(const void *a, const void *b)
{
    const struct tl_pass *left = a;
    const struct tl_pass *right = b;
    if (left->ended.wall_ms != right->ended.wall_ms) {
        return left->ended.wall_ms < right->ended.wall_ms ? -1 : 1;
    }
    return left->ended_at < right->ended_at ? -1 : (left->ended_at > right->ended_at ? 1 : 0);
}

static enum tl_err
add_pass(struct tl_cues *cues, const struct tl_pass *pass, const struct tl_video *video,
         int64_t *free_ms)
{
    uint64_t begin_ms = pass->call_stated.sequence != 0    ? pass->call_stated.wall_ms
                        : pass->order_stated.sequence != 0 ? pass->order_stated.wall_ms
                                                           : pass->ended.wall_ms;
    int64_t from_ms = video_ms(video, begin_ms);
    int64_t to_ms = video_ms(video, pass->ended.wall_ms);
    if (to_ms <= 0) {
        cues->left_out++;
        return TL_OK;
    }
    from_ms = from_ms > to_ms - TL_CUE_LEAST_MS ? to_ms - TL_CUE_LEAST_MS : from_ms;
    from_ms = from_ms < *free_ms ? *free_ms : from_ms;
    struct tl_cue *cue = add(cues);
    if (cue == NULL) {
        return TL_NOMEM;
    }
    cue->from_ms = from_ms;
    cue->to_ms = to_ms < from_ms + TL_CUE_LEAST_MS ? from_ms + TL_CUE_LEAST_MS : to_ms;
    *free_ms = cue->to_ms;
    write_pass(pass, cue);
    return TL_OK;
}

static enum tl_err
add_passes(const struct tl_answer *answer, const struct tl_video *video, struct tl_cues *cues)
{
    struct tl_pass *ended = calloc(answer->passes.count + 1, sizeof *ended);
    size_t count = 0;
    int64_t free_ms = 0;
    if (ended == NULL) {
        return TL_NOMEM;
    }
    for (size_t i = 0; i < answer->passes.count; i++) {
        const struct tl_pass *pass = &answer->passes.pass[i];
        if (tl_pass_ended(pass) && tl_filter_pass(&answer->filter, pass)) {
            ended[count++] = *pass;
        }
    }
    qsort(ended, count, sizeof ended[0], compare_ends);
    enum tl_err err = TL_OK;
    for (size_t i = 0; i < count && err == TL_OK; i++) {
        err = add_pass(cues, &ended[i], video, &free_ms);
    }
    free(ended);
    return err;
}

/* ---- alerts ---- */

static enum tl_err
add_alert(struct tl_cues *cues, const struct tl_alert_told *alert, const struct tl_video *video)
{
    const struct tl_spell *spell = &alert->spell;
    const struct tl_rule_row *row = tl_rule_row(spell->key.rule);
    uint64_t length_ms = 0;
    bool known = tl_spell_length(spell, &length_ms);
    int64_t from_ms = video_ms(video, spell->from_ms);
    int64_t to_ms = known ? video_ms(video, spell->to_ms) : from_ms + TL_CUE_OPEN_MS;
    to_ms = to_ms < from_ms + TL_CUE_LEAST_MS ? from_ms + TL_CUE_LEAST_MS : to_ms;
    if (to_ms <= 0) {
        cues->left_out++;
        return TL_OK;
    }
    struct tl_cue *cue = add(cues);
    if (cue == NULL) {
        return TL_NOMEM;
    }
    cue->from_ms = from_ms < 0 ? 0 : from_ms;
    cue->to_ms = to_ms;
    (void)snprintf(cue->id, sizeof cue->id, "alert %zu %s %s", cues->count, spell->key.name,
                   spell->key.station);
    (void)snprintf(cue->text, sizeof cue->text, "%s: %s%s%s", spell->severity,
                   row != NULL ? row->short_text : spell->key.name,
                   spell->key.station[0] != '\0' ? ", " : "", spell->key.station);
    return TL_OK;
}

static int
compare_cues(const void *a, const void *b)
{
    const struct tl_cue *left = a;
    const struct tl_cue *right = b;
    if (left->from_ms != right->from_ms) {
        return left->from_ms < right->from_ms ? -1 : 1;
    }
    return left->to_ms > right->to_ms ? -1 : (left->to_ms < right->to_ms ? 1 : 0);
}

enum tl_err
tl_cues_fold(const struct tl_answer *answer, const struct tl_video *video,
             const struct tl_alerts_told *alerts, struct tl_cues *cues)
{
    const struct tl_filter *filter = &answer->filter;
    enum tl_err err = add_passes(answer, video, cues);
    for (size_t i = 0; alerts != NULL && i < alerts->count && err == TL_OK; i++) {
        const struct tl_alert_told *alert = &alerts->alert[i];
        if (tl_filter_time(filter, alert->spell.from_ms) &&
            tl_filter_station(filter, alert->spell.key.station) &&
            tl_filter_event(filter, &answer->passes, alert->spell.key.event)) {
            err = add_alert(cues, alert, video);
        }
    }
    if (err == TL_OK && cues->count > 0) {
        qsort(cues->cue, cues->count, sizeof cues->cue[0], compare_cues);
    }
    return err;
}

void
tl_cues_free(struct tl_cues *cues)
{
    free(cues->cue);
    *cues = (struct tl_cues){0};
}

/* ---- the file ---- */

/* As cue text has it: no markup, and no arrow. */
static void
put_text(const char *text, FILE *out)
{
    for (; *text != '\0'; text++) {
        if (*text == '&') {
            (void)fputs("&amp;", out);
        } else if (*text == '<') {
            (void)fputs("&lt;", out);
        } else if (*text == '>') {
            (void)fputs("&gt;", out);
        } else {
            (void)fputc(*text, out);
        }
    }
    (void)fputc('\n', out);
}

/* An identifier and a comment are plain text, which must not hold the arrow. */
static void
put_plain(const char *text, FILE *out)
{
    for (; *text != '\0'; text++) {
        (void)fputc(*text == '>' ? ' ' : *text, out);
    }
    (void)fputc('\n', out);
}

static void
put_time(int64_t ms, FILE *out)
{
    int64_t seconds = ms / MS_PER_S;
    int64_t minutes = seconds / S_PER_MIN;
    (void)fprintf(out, "%02" PRId64 ":%02" PRId64 ":%02" PRId64 ".%03" PRId64,
                  minutes / MIN_PER_HOUR, minutes % MIN_PER_HOUR, seconds % S_PER_MIN,
                  ms % MS_PER_S);
}

bool
tl_cues_print(const struct tl_cues *cues, const struct tl_video *video, FILE *out)
{
    char time[TL_TIME_CAP];
    char shift[TL_NUMBER_CAP];
    (void)fprintf(out, "WEBVTT\n\nNOTE\nVideo time %s s is %s. From an advisory record.\n",
                  tl_scaled_text(video->shift_ms, 3, shift), tl_time_text(video->zero_ms, time));
    for (size_t i = 0; i < cues->count; i++) {
        const struct tl_cue *cue = &cues->cue[i];
        (void)fputc('\n', out);
        put_plain(cue->id, out);
        put_time(cue->from_ms, out);
        (void)fputs(" --> ", out);
        put_time(cue->to_ms, out);
        (void)fputc('\n', out);
        put_text(cue->text, out);
    }
    return ferror(out) == 0;
}
