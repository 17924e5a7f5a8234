/* SPDX-License-Identifier: Apache-2.0 */
/* replay_print.c - see replay_print.h. */
#include "clients/logbook/replay_print.h"

#include <inttypes.h>
#include <string.h>
#include <time.h>

#include "clients/logbook/json.h"
#include "clients/logbook/words.h"
#include "clients/tools/json.h"
#include "proto/base/clock.h"

enum {
    LINE_CAP = TL_TEXT_CAP + 64,
    NS_A_MS = 1000000,
    MS_A_S = 1000
};

static const char *
word_text(enum tl_word word)
{
    return word == TL_WORD_READY ? "READY" : "NOT READY";
}

static const char *
rule_text(uint32_t rule)
{
    const struct tl_rule_row *row = tl_rule_row(rule);
    return row != NULL ? row->name : "nothing";
}

/* "rule station" of what was recorded. */
static const char *
cause_text(uint32_t rule, const char *station, char dst[LINE_CAP])
{
    (void)snprintf(dst, LINE_CAP, "%s%s%s", rule_text(rule), station[0] != '\0' ? " " : "",
                   station);
    return dst;
}

/* ---- time ---- */

/* Wait until it is as long since the first row as it was then, by the speed. */
static void
keep_time(struct tl_replay_print *print, uint64_t wall_ms)
{
    uint64_t now_ms = tl_clock_boot_ms();
    if (print->speed <= 0.0) {
        return;
    }
    if (print->began_ms == 0 || wall_ms < print->began_wall_ms) {
        print->began_ms = now_ms;
        print->began_wall_ms = wall_ms;
    }
    uint64_t due_ms =
        print->began_ms + (uint64_t)((double)(wall_ms - print->began_wall_ms) / print->speed);
    if (due_ms > now_ms && print->glass != NULL) {
        if (!tl_replay_glass_wait(print->glass, due_ms - now_ms)) {
            tl_replay_glass_close(&print->glass);
            print->on_glass = print->board = false; /* what is left of it at once, as lines */
            print->speed = 0.0;
        }
    } else if (due_ms > now_ms) {
        uint64_t wait_ms = due_ms - now_ms;
        struct timespec wait = {.tv_sec = (time_t)(wait_ms / MS_A_S),
                                .tv_nsec = (long)(wait_ms % MS_A_S) * NS_A_MS};
        (void)fflush(stdout);
        (void)nanosleep(&wait, NULL); /* woken early, the next row is early: it is only looked at */
    }
}

/* ---- JSON ---- */

static void
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): as json_array_append_new has them */
append(struct tl_replay_print *print, json_t *list, json_t *object)
{
    print->failed =
        print->failed || list == NULL || object == NULL || json_array_append_new(list, object) != 0;
}

static json_t *
event_json(struct tl_event event)
{
    return tl_event_is(event) ? json_pack("{s:I,s:I}", "recovery", (json_int_t)event.recovery_ms,
                                          "pass", (json_int_t)event.pass)
                              : json_null();
}

static json_t *
text_or_null(const char *text)
{
    return text[0] != '\0' ? json_string(text) : json_null();
}

static json_t *
rule_json(uint32_t rule)
{
    return rule != 0 ? json_string(rule_text(rule)) : json_null();
}

static json_t *
time_json(uint64_t wall_ms)
{
    char text[TL_TIME_CAP];
    return json_string(tl_time_text(wall_ms, text));
}

static json_t *
recorded_json(const struct tl_judgement *outcome)
{
    return json_pack("{s:s,s:I,s:o,s:o}", "verdict", word_text(outcome->word), "causes",
                     (json_int_t)outcome->cause_count, "rule", rule_json(outcome->rule), "station",
                     text_or_null(outcome->station));
}

/* ---- steps ---- */

static struct tl_replay_said
said_of(const struct tl_replay *replay, const struct tl_replay_step *step)
{
    const struct tl_decision *decision = &replay->judge.decision;
    bool ready = decision->word == TL_WORD_READY;
    struct tl_replay_said said = {.any = true,
                                  .checked = true,
                                  .event = replay->judge.fold.list.current,
                                  .word = ready ? TL_WORD_READY : TL_WORD_NOT_READY,
                                  .differs = step->differs != 0};
    if (!ready) {
        said.rule = decision->cause[0].rule;
        memcpy(said.station, decision->cause[0].station, TL_ID_CAP);
    }
    return said;
}

static bool
same_said(const struct tl_replay_said *a, const struct tl_replay_said *b)
{
    return a->any == b->any && a->checked == b->checked && a->word == b->word &&
           a->rule == b->rule && a->differs == b->differs && tl_event_equal(a->event, b->event) &&
           strncmp(a->station, b->station, TL_ID_CAP) == 0;
}

static void
add_step(struct tl_replay_print *print, const struct tl_replay *replay,
         const struct tl_replay_row *row, uint64_t wall_ms)
{
    char text[TL_TEXT_CAP] = "";
    const struct tl_replay_said *said = &print->said;
    if (said->rule != 0) {
        (void)tl_cause_text(&replay->judge.decision.cause[0], said->event, text, sizeof text);
    }
    bool told = said->differs && row->judged->outcome.word != TL_WORD_UNKNOWN;
    append(print, print->steps,
           json_pack("{s:o,s:I,s:s,s:o,s:o,s:o,s:o,s:o}", "time", time_json(wall_ms), "row",
                     (json_int_t)row->sequence, "verdict", word_text(said->word), "event",
                     event_json(said->event), "rule", rule_json(said->rule), "station",
                     text_or_null(said->station), "text", text_or_null(text), "recorded",
                     told ? recorded_json(&row->judged->outcome) : json_null()));
}

static void
print_step(struct tl_replay_print *print, const struct tl_replay *replay,
           const struct tl_replay_row *row, uint64_t wall_ms)
{
    char time[TL_TIME_CAP];
    char text[TL_TEXT_CAP];
    char recorded[LINE_CAP];
    char event[16] = "-";
    const struct tl_replay_said *said = &print->said;
    const struct tl_judgement *outcome = &row->judged->outcome;
    if (tl_event_is(said->event)) {
        (void)snprintf(event, sizeof event, "%" PRIu32, said->event.pass);
    }
    (void)printf("%.23sZ %c %-9s event %-3s", tl_time_text(wall_ms, time),
                 said->differs ? '*' : ' ', word_text(said->word), event);
    if (said->rule != 0) {
        (void)printf(
            " %s", tl_cause_text(&replay->judge.decision.cause[0], said->event, text, sizeof text));
    }
    (void)printf("\n");
    if (said->differs && outcome->word != TL_WORD_UNKNOWN) {
        (void)printf(
            "%26s recorded %s%s%s\n", "", word_text(outcome->word), outcome->rule != 0 ? ": " : "",
            outcome->rule != 0 ? cause_text(outcome->rule, outcome->station, recorded) : "");
    }
}

static void
print_board(struct tl_replay_print *print, struct tl_replay *replay, uint64_t wall_ms)
{
    char time[TL_TIME_CAP];
    const struct tl_ui_state *state = tl_replay_show_take(print->show, replay);
    const struct tl_replay_moment moment = {
        .validator = replay->validator, .wall_ms = wall_ms, .what_if = print->what_if};
    if (print->glass != NULL) {
        tl_replay_glass_paint(print->glass, state, &moment);
        return;
    }
    (void)printf("REPLAY %s %s%s\n", tl_time_text(wall_ms, time), replay->validator,
                 print->what_if ? " WHAT IF" : "");
    tl_ui_print(state, stdout);
    (void)printf("\n");
}

static void
say_unchecked(struct tl_replay_print *print, const struct tl_replay *replay, uint64_t wall_ms)
{
    char time[TL_TIME_CAP];
    char text[TL_LACK_TEXT_CAP];
    if (print->said.any && !print->said.checked) {
        return;
    }
    print->said = (struct tl_replay_said){.any = true};
    if (!print->json && print->glass == NULL) {
        (void)printf("%.23sZ   not checked: %s\n", tl_time_text(wall_ms, time),
                     tl_lack_text(&replay->lacking, text));
    }
}

void
tl_replay_print_step(void *ctx, struct tl_replay *replay, const struct tl_replay_row *row,
                     const struct tl_replay_step *step, uint64_t wall_ms)
{
    struct tl_replay_print *print = ctx;
    bool exact = replay->lacking.what == TL_LACK_NOTHING;
    if (!exact) {
        say_unchecked(print, replay, wall_ms);
        return;
    }
    if (!step->judged) {
        return;
    }
    struct tl_replay_said said = said_of(replay, step);
    if (same_said(&said, &print->said) && !print->board) {
        return;
    }
    bool news = !same_said(&said, &print->said);
    keep_time(print, wall_ms);
    print->said = said;
    if (print->json) {
        add_step(print, replay, row, wall_ms);
    } else if (print->board) {
        print_board(print, replay, wall_ms);
    } else if (news) {
        print_step(print, replay, row, wall_ms);
    }
}

/* ---- lives ---- */

void
tl_replay_print_life(struct tl_replay_print *print, const struct tl_judged_life *life)
{
    print->said = (struct tl_replay_said){0};
    print->began_ms = 0;
    if (print->json) {
        print->lives = print->lives != NULL ? print->lives : json_array();
        json_decref(print->steps);
        print->steps = json_array();
    } else {
        char time[TL_TIME_CAP];
        (void)printf("%s, life %" PRIu64 ", from %s: %" PRIu64 " rows\n", life->validator,
                     life->incarnation, tl_time_text(life->first_ms, time), life->rows);
        (void)fflush(stdout);
    }
    print->glass = print->on_glass ? tl_replay_glass_open() : NULL;
}

static json_t *
stretches_json(struct tl_replay_print *print, const struct tl_replayed *out)
{
    char text[TL_LACK_TEXT_CAP];
    json_t *list = json_array();
    for (uint32_t i = 0; i < out->stretch_count && i < TL_UNCHECKED_MAX; i++) {
        const struct tl_unchecked *stretch = &out->stretch[i];
        append(print, list,
               json_pack("{s:o,s:o,s:I,s:s}", "from", time_json(stretch->from_ms), "to",
                         time_json(stretch->to_ms), "judgements", (json_int_t)stretch->judgements,
                         "why", tl_lack_text(&stretch->lacking, text)));
    }
    return list;
}

static json_t *
difference_json(const struct tl_replayed *out)
{
    char differs[TL_DIFFERS_TEXT_CAP];
    char input[TL_LACK_TEXT_CAP];
    char text[TL_TEXT_CAP] = "";
    if (!out->differs) {
        return json_null();
    }
    if (out->first_now.rule != 0) {
        (void)tl_cause_text(&out->first_now, out->event_now, text, sizeof text);
    }
    json_t *now =
        json_pack("{s:s,s:o,s:o,s:o,s:o}", "verdict", word_text(out->word_now), "event",
                  event_json(out->event_now), "rule", rule_json(out->first_now.rule), "station",
                  text_or_null(out->first_now.station), "text", text_or_null(text));
    return json_pack("{s:o,s:I,s:s,s:s,s:o,s:o,s:o}", "time", time_json(out->differs_ms), "row",
                     (json_int_t)out->differs_sequence, "input", tl_input_text(&out->input, input),
                     "differs", tl_differs_text(out->how, differs), "event",
                     event_json(out->event_then), "recorded", recorded_json(&out->input.outcome),
                     "judged", now);
}

static void
add_life(struct tl_replay_print *print, const struct tl_replayed *out)
{
    append(print, print->lives,
           json_pack("{s:s,s:I,s:o,s:I,s:I,s:I,s:I,s:I,s:b,s:o,s:o,s:O}", "validator",
                     out->life.validator, "life", (json_int_t)out->life.incarnation, "from",
                     time_json(out->life.first_ms), "rows", (json_int_t)out->rows, "bases",
                     (json_int_t)out->bases, "compared", (json_int_t)out->checked, "equal",
                     (json_int_t)out->equal, "not_checked", (json_int_t)out->unchecked,
                     "other_configuration", out->other_configuration ? 1 : 0, "not_checked_why",
                     stretches_json(print, out), "first_difference", difference_json(out), "steps",
                     print->steps));
}

static void
print_difference(const struct tl_replayed *out)
{
    char time[TL_TIME_CAP];
    char text[LINE_CAP];
    char differs[TL_DIFFERS_TEXT_CAP];
    char input[TL_LACK_TEXT_CAP];
    const struct tl_judgement *then = &out->input.outcome;
    (void)printf("  FIRST DIFFERENCE at %s, row %" PRIu64 " (%s): %s\n",
                 tl_time_text(out->differs_ms, time), out->differs_sequence,
                 tl_input_text(&out->input, input), tl_differs_text(out->how, differs));
    (void)printf("    recorded: event %" PRIu32 ", %s, %" PRIu32 " causes, first %s\n",
                 out->event_then.pass, word_text(then->word), then->cause_count,
                 cause_text(then->rule, then->station, text));
    (void)printf("    judged:   event %" PRIu32 ", %s, first %s\n", out->event_now.pass,
                 word_text(out->word_now),
                 cause_text(out->first_now.rule, out->first_now.station, text));
}

static void
print_end(const struct tl_replayed *out)
{
    char from[TL_TIME_CAP];
    char to[TL_TIME_CAP];
    char text[TL_LACK_TEXT_CAP];
    (void)printf("  %" PRIu64 " judgements compared, %" PRIu64 " the same, %" PRIu64
                 " not; %" PRIu64 " not checked; %" PRIu64 " times begun from a base\n",
                 out->checked, out->equal, out->checked - out->equal, out->unchecked, out->bases);
    for (uint32_t i = 0; i < out->stretch_count && i < TL_UNCHECKED_MAX; i++) {
        const struct tl_unchecked *stretch = &out->stretch[i];
        (void)printf("    not checked: %" PRIu64 " from %s to %s: %s\n", stretch->judgements,
                     tl_clock_text(stretch->from_ms, from), tl_clock_text(stretch->to_ms, to),
                     tl_lack_text(&stretch->lacking, text));
    }
    if (out->stretch_count > TL_UNCHECKED_MAX) {
        (void)printf("    not checked: and %" PRIu32 " more stretches\n",
                     out->stretch_count - TL_UNCHECKED_MAX);
    }
    if (out->other_configuration) {
        (void)printf("    not checked: it was judged with another configuration from there on\n");
    }
    if (out->differs) {
        print_difference(out);
    }
}

void
tl_replay_print_end(struct tl_replay_print *print, const struct tl_replayed *out)
{
    if (print->glass != NULL) {
        tl_replay_glass_end(print->glass);
        tl_replay_glass_close(&print->glass);
    }
    if (print->json) {
        add_life(print, out);
    } else {
        print_end(out);
    }
}

void
tl_replay_print_picture(struct tl_replay_print *print, struct tl_replay *replay)
{
    char text[TL_LACK_TEXT_CAP];
    bool exact = replay->lacking.what == TL_LACK_NOTHING;
    if (replay->bases == 0) {
        if (!print->json) {
            (void)printf("no picture: %s\n", tl_lack_text(&replay->lacking, text));
        }
        return;
    }
    const struct tl_ui_state *state = tl_replay_show_take(print->show, replay);
    if (print->json) {
        print->stands = tl_json_verdict(state->view, state->picture);
        return;
    }
    if (!exact) {
        (void)printf("NOT CHECKED: %s\n", tl_lack_text(&replay->lacking, text));
    }
    tl_ui_print(state, stdout);
}

void
tl_replay_print_close(struct tl_replay_print *print)
{
    tl_replay_glass_close(&print->glass);
    json_decref(print->lives);
    json_decref(print->steps);
    json_decref(print->stands);
    print->lives = print->steps = print->stands = NULL;
}

bool
tl_replay_print_all(struct tl_replay_print *print, bool differs, bool checked)
{
    if (print->json) {
        json_t *all = print->failed ? NULL
                                    : json_pack("{s:b,s:b,s:b,s:O,s:O?}", "same",
                                                checked && !differs, "compared", checked ? 1 : 0,
                                                "what_if", print->what_if ? 1 : 0, "lives",
                                                print->lives, "stands", print->stands);
        return tl_log_json_print(all, stdout);
    }
    (void)printf("%s\n", !checked                    ? "nothing could be compared"
                         : differs && print->what_if ? "it would have been judged otherwise"
                         : differs                   ? "NOT THE SAME as was recorded"
                         : print->what_if            ? "it would have been judged the same"
                                                     : "all that was compared is the same");
    return true;
}
