/* SPDX-License-Identifier: Apache-2.0 */
/* replaying.c - see replaying.h. */
#include "clients/logbook/replaying.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

const char *
tl_lack_text(const struct tl_replay_lacking *lacking, char dst[TL_LACK_TEXT_CAP])
{
    switch (lacking->what) {
    case TL_LACK_NOTHING:
        (void)snprintf(dst, TL_LACK_TEXT_CAP, "nothing is missing");
        break;
    case TL_LACK_BASE:
        (void)snprintf(dst, TL_LACK_TEXT_CAP, "the record has no base of it yet");
        break;
    case TL_LACK_ROWS:
        (void)snprintf(dst, TL_LACK_TEXT_CAP,
                       "its rows %" PRIu64 " to %" PRIu64 " are not in the record", lacking->from,
                       lacking->to);
        break;
    case TL_LACK_CHANGE:
    case TL_LACK_BEAT:
        (void)snprintf(dst, TL_LACK_TEXT_CAP, "%s %" PRIu64 " of %s is not in the record",
                       lacking->what == TL_LACK_CHANGE ? "change" : "beat", lacking->from,
                       lacking->node);
        break;
    case TL_LACK_STATE:
        (void)snprintf(dst, TL_LACK_TEXT_CAP,
                       "its base in row %" PRIu64 " is damaged, of another version or ship",
                       lacking->from);
        break;
    case TL_LACK_KIND:
        (void)snprintf(dst, TL_LACK_TEXT_CAP, "it tells what this program does not know");
        break;
    }
    return dst;
}

const char *
tl_differs_text(unsigned differs, char dst[TL_DIFFERS_TEXT_CAP])
{
    static const struct {
        unsigned bit;
        const char *word;
    } words[] = {
        {TL_DIFFERS_FATE, "what became of the input"},
        {TL_DIFFERS_TIME, "time runs back"},
        {TL_DIFFERS_EVENT, "event"},
        {TL_DIFFERS_WORD, "word"},
        {TL_DIFFERS_FIRST, "first cause"},
        {TL_DIFFERS_CAUSES, "causes"},
        {TL_DIFFERS_INPUTS, "reports"},
        {TL_DIFFERS_HELD, "what else is held"},
    };
    size_t used = 0;
    dst[0] = '\0';
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        if ((differs & words[i].bit) != 0 && used < TL_DIFFERS_TEXT_CAP) {
            int n = snprintf(dst + used, TL_DIFFERS_TEXT_CAP - used, "%s%s", used > 0 ? ", " : "",
                             words[i].word);
            used += n > 0 ? (size_t)n : 0;
        }
    }
    return dst;
}

const char *
tl_input_text(const struct tl_judged *judged, char dst[TL_LACK_TEXT_CAP])
{
    const struct tl_rule_row *row = tl_rule_row(judged->seen.rule);
    const char *kind = tl_judged_name(judged->kind);
    if (tl_replay_names_frame(judged->kind)) {
        (void)snprintf(dst, TL_LACK_TEXT_CAP, "%s %s %" PRIu64, kind, judged->node,
                       judged->sequence);
    } else if (judged->kind == TL_JUDGED_SEEN) {
        (void)snprintf(dst, TL_LACK_TEXT_CAP, "%s %s %s%s", kind, row != NULL ? row->name : "?",
                       judged->seen.node, judged->seen.gone ? " no more" : "");
    } else if (judged->kind == TL_JUDGED_TIME || judged->kind == TL_JUDGED_BASE) {
        (void)snprintf(dst, TL_LACK_TEXT_CAP, "%s", kind);
    } else {
        (void)snprintf(dst, TL_LACK_TEXT_CAP, "%s %s", kind, judged->node);
    }
    return dst;
}

static bool
same_lack(const struct tl_replay_lacking *a, const struct tl_replay_lacking *b)
{
    return a->what == b->what && a->from == b->from && a->to == b->to &&
           strncmp(a->node, b->node, TL_ID_CAP) == 0;
}

/* One more judgement that was not compared. */
static void
note_unchecked(struct tl_replayed *out, const struct tl_replay_lacking *lacking, uint64_t wall_ms)
{
    uint32_t last = out->stretch_count - 1;
    bool more = out->stretch_count > 0 && out->stretch_count <= TL_UNCHECKED_MAX &&
                same_lack(&out->stretch[last].lacking, lacking);
    if (!more) {
        last = out->stretch_count++;
        if (last >= TL_UNCHECKED_MAX) {
            return;
        }
        out->stretch[last] = (struct tl_unchecked){.lacking = *lacking, .from_ms = wall_ms};
    }
    out->stretch[last].to_ms = wall_ms;
    out->stretch[last].judgements++;
}

static void
note_difference(struct tl_replayed *out, const struct tl_replay *replay,
                const struct tl_replay_row *row, uint64_t wall_ms)
{
    const struct tl_decision *decision = &replay->judge.decision;
    out->differs = true;
    out->differs_ms = wall_ms;
    out->differs_sequence = row->sequence;
    out->input = *row->judged;
    out->event_then = row->event;
    out->event_now = replay->judge.fold.list.current;
    out->word_now = decision->word;
    out->first_now = decision->cause_count > 0 ? decision->cause[0] : (struct tl_cause){0};
}

static bool
is_of_another(const struct tl_replaying *how, const struct tl_judged *judged)
{
    return !how->what_if && judged->kind == TL_JUDGED_BASE &&
           memcmp(judged->base.judgement_digest, how->config->judgement_digest, TL_DIGEST_LEN) != 0;
}

static void
take(const struct tl_replaying *how, struct tl_replay *replay, const struct tl_replay_row *row,
     uint64_t wall_ms, struct tl_replayed *out)
{
    uint64_t unchecked = replay->unchecked;
    struct tl_replay_lacking lacking = replay->lacking;
    struct tl_replay_step step = tl_replay_take(replay, row);
    if (replay->unchecked != unchecked) {
        bool before = lacking.what != TL_LACK_NOTHING;
        note_unchecked(out, before ? &lacking : &replay->lacking, wall_ms);
    }
    if (step.checked && step.differs != 0 && !out->differs) {
        out->how = step.differs;
        note_difference(out, replay, row, wall_ms);
    }
    if (how->step != NULL) {
        how->step(how->ctx, replay, row, &step, wall_ms);
    }
}

enum tl_err
tl_replay_life(const struct tl_replaying *how, struct tl_judged_rows *rows,
               const struct tl_judged_life *life, struct tl_replay *replay, struct tl_replayed *out)
{
    struct tl_replay_row row;
    uint64_t wall_ms = 0;
    struct tl_port port = replay->judge.port;
    memset(out, 0, sizeof *out);
    out->life = *life;
    tl_replay_init(replay, how->config, life->validator, life->incarnation);
    replay->judge.port = port;
    replay->what_if = how->what_if;
    enum tl_err err = tl_judged_rows_begin(rows, life);
    while (err == TL_OK && (err = tl_judged_rows_next(rows, &row, &wall_ms)) == TL_OK) {
        if (wall_ms > how->until_ms) {
            break;
        }
        if (is_of_another(how, row.judged)) {
            out->other_configuration = true;
            break;
        }
        take(how, replay, &row, wall_ms, out);
    }
    out->rows = replay->rows;
    out->bases = replay->bases;
    out->checked = replay->checked;
    out->equal = replay->equal;
    out->unchecked = replay->unchecked;
    return err == TL_EMPTY ? TL_OK : err;
}
