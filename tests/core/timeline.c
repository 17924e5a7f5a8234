/* SPDX-License-Identifier: Apache-2.0 */
/* timeline.c - see timeline.h. */
#include "tests/core/timeline.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum {
    CAUSES_CAP = 4096
};

uint64_t
timeline_seed(uint64_t otherwise)
{
    const char *text = getenv("TL_SEED");
    uint64_t seed = text != NULL ? strtoull(text, NULL, 10) : otherwise;
    (void)printf("           seed %llu\n", (unsigned long long)seed);
    return seed;
}

struct tl_event
timeline_event(uint32_t pass)
{
    return (struct tl_event){TIMELINE_RECOVERY_MS, pass};
}

struct tl_member *
timeline_member(struct sim *sim, const char *station)
{
    return sim_node(sim, station)->member;
}

struct tl_judge *
timeline_judge(struct sim *sim, const char *validator)
{
    return sim_node(sim, validator)->judge;
}

struct tl_told *
timeline_told(struct sim *sim, const char *validator, const char *station)
{
    return tl_fold_told(&timeline_judge(sim, validator)->fold, station);
}

const struct tl_held *
timeline_held(struct sim *sim, const char *validator, const char *station, enum tl_datum_kind kind)
{
    const struct tl_told *told = timeline_told(sim, validator, station);
    for (uint32_t i = 0; i < told->held_count; i++) {
        if (told->held[i].datum.kind == kind) {
            return &told->held[i];
        }
    }
    return NULL;
}

static void
explain(struct sim *sim, const char *what)
{
    char causes[CAUSES_CAP];
    (void)fprintf(stderr, "seed %llu, at %llu ms: %s\n", (unsigned long long)sim->seed,
                  (unsigned long long)sim->now_ms, what);
    for (uint32_t i = 0; i < sim->count; i++) {
        const struct sim_node *node = &sim->node[i];
        struct tl_view view;
        if (!node->running || node->stopped) {
            continue;
        }
        if (node->judge != NULL) {
            (void)fprintf(stderr, "  %s: %s\n", node->id,
                          sim_causes(sim, node->id, causes, sizeof causes));
            continue;
        }
        tl_member_view(node->member, sim_clock(sim, node), &view);
        const struct tl_rule_row *row = tl_rule_row(view.first.rule);
        (void)fprintf(stderr, "  %s shows %s %s %s\n", node->id,
                      view.word == TL_WORD_READY ? "READY" : "NOT READY",
                      row != NULL ? row->name : "", view.first.station);
    }
}

struct sim *
timeline_joined(uint32_t validators, uint64_t seed)
{
    struct sim *sim = sim_new(validators, seed);
    sim_run(sim, TL_HOLD_MS + 500);
    return sim;
}

void
timeline_order(struct sim *sim, uint32_t pass, int32_t place)
{
    (void)sim_say(
        sim, "primary",
        say_order(timeline_event(pass), TIMELINE_SIDE, "plover", TIMELINE_WEIGHT_LB, place));
    sim_run(sim, 200);
}

struct sim *
timeline_ordered(uint32_t validators, uint64_t seed)
{
    struct sim *sim = timeline_joined(validators, seed);
    sim_open(sim, TIMELINE_RECOVERY_MS);
    timeline_order(sim, 1, 1);
    return sim;
}

struct sim *
timeline_ready(uint32_t validators, uint64_t seed)
{
    struct sim *sim = timeline_ordered(validators, seed);
    timeline_words(sim, 1);
    return sim;
}

void
timeline_say_all(struct sim *sim, uint32_t pass)
{
    sim_words_for(sim, timeline_event(pass), TIMELINE_SIDE, "plover", TIMELINE_WEIGHT_LB);
}

void
timeline_words(struct sim *sim, uint32_t pass)
{
    timeline_say_all(sim, pass);
    (void)timeline_comes_to(sim, TL_WORD_READY, 1000);
}

void
timeline_result(struct sim *sim, uint32_t pass, enum tl_outcome outcome)
{
    (void)sim_say(sim, "platform",
                  say_result(timeline_event(pass), outcome, outcome == TL_OUTCOME_TRAP ? 3 : 0));
}

void
timeline_shows(struct sim *sim, enum tl_word word)
{
    if (!sim_all_show(sim, word)) {
        explain(sim, word == TL_WORD_READY ? "not all screens show READY"
                                           : "not all screens show NOT READY");
        fail();
    }
}

struct wanted {
    enum tl_word word;
};

static bool
all_show(struct sim *sim, void *ctx)
{
    const struct wanted *wanted = ctx;
    return sim_all_show(sim, wanted->word);
}

uint64_t
timeline_comes_to(struct sim *sim, enum tl_word word, uint64_t limit_ms)
{
    struct wanted wanted = {word};
    uint64_t took_ms = sim_until(sim, limit_ms, all_show, &wanted);
    if (took_ms == UINT64_MAX) {
        explain(sim, word == TL_WORD_READY ? "READY does not come in time"
                                           : "NOT READY does not come in time");
        fail();
    }
    return took_ms;
}

void
timeline_ready_between(struct sim *sim, uint64_t least_ms, uint64_t most_ms)
{
    uint64_t start_ms = sim->now_ms;
    timeline_never_ready(sim, least_ms);
    (void)timeline_comes_to(sim, TL_WORD_READY, most_ms - (sim->now_ms - start_ms));
}

void
timeline_never_ready(struct sim *sim, uint64_t ms)
{
    for (uint64_t until_ms = sim->now_ms + ms; sim->now_ms < until_ms;) {
        sim_run(sim, TIMELINE_STEP_MS);
        if (!sim_all_show(sim, TL_WORD_NOT_READY)) {
            explain(sim, "a screen shows READY that must not");
            fail();
        }
    }
}

void
timeline_stays_ready(struct sim *sim, uint64_t ms)
{
    for (uint64_t until_ms = sim->now_ms + ms; sim->now_ms < until_ms;) {
        sim_run(sim, TIMELINE_STEP_MS);
        if (!sim_all_show(sim, TL_WORD_READY)) {
            explain(sim, "a screen has lost READY");
            fail();
        }
    }
}

void
timeline_causes(struct sim *sim, const char *validator, const char *causes)
{
    char found[CAUSES_CAP];
    (void)sim_causes(sim, validator, found, sizeof found);
    if (strcmp(found, causes) != 0) {
        explain(sim, "other causes than expected");
    }
    assert_string_equal(found, causes);
}

void
timeline_all_causes(struct sim *sim, const char *causes)
{
    for (uint32_t i = 0; i < sim->count; i++) {
        const struct sim_node *node = &sim->node[i];
        if (node->judge != NULL && node->running && !node->stopped) {
            timeline_causes(sim, node->id, causes);
        }
    }
}

void
timeline_screen_cause(struct sim *sim, const char *screen, enum tl_rule rule, const char *station)
{
    struct tl_view view;
    sim_view(sim, screen, &view);
    if (view.first.rule != (uint32_t)rule || strcmp(view.first.station, station) != 0) {
        explain(sim, "another first cause than expected");
    }
    assert_int_equal(view.word, TL_WORD_NOT_READY);
    assert_int_equal(view.first.rule, rule);
    assert_string_equal(view.first.station, station);
}

uint64_t
timeline_alerts(struct sim *sim)
{
    uint64_t raised = 0;
    for (uint32_t i = 0; i < sim->count; i++) {
        raised += sim->node[i].judge != NULL ? sim->node[i].judge->alerts.raised : 0;
    }
    return raised;
}

static void
holds_all_said(struct sim *sim, const struct sim_node *validator, const struct sim_node *station)
{
    const struct tl_told *told = tl_fold_told(&validator->judge->fold, station->id);
    const struct tl_outbox *box = &station->member->outbox;
    if (told->applied != box->last || box->settled != box->last) {
        explain(sim, "a change is lost, or not settled");
        (void)fprintf(stderr, "  %s at %s\n", station->id, validator->id);
    }
    assert_int_equal(told->applied, box->last);
    assert_int_equal(box->settled, box->last);
    for (uint32_t i = 0; i < box->own_count; i++) {
        const struct tl_datum *own = &box->own[i].datum;
        const struct tl_held *held = tl_told_held(told, own->kind, own->slot);
        if (held == NULL || held->datum.sequence != own->sequence ||
            !tl_datum_equal(&held->datum, own)) {
            explain(sim, "a validator holds something else than was said");
            (void)fprintf(stderr, "  %s of %s at %s\n", tl_datum_kind_name(own->kind), station->id,
                          validator->id);
            fail();
        }
    }
}

void
timeline_converged(struct sim *sim)
{
    const struct sim_node *first = NULL;
    for (uint32_t v = 0; v < sim->count; v++) {
        const struct sim_node *validator = &sim->node[v];
        if (validator->judge == NULL || !validator->running) {
            continue;
        }
        first = first == NULL ? validator : first;
        for (uint32_t i = 0; i < sim->count; i++) {
            const struct sim_node *station = &sim->node[i];
            const struct tl_told *told = tl_fold_told(&validator->judge->fold, station->id);
            uint8_t ours[TL_DATA_DIGEST_LEN];
            uint8_t theirs[TL_DATA_DIGEST_LEN];
            if (told == NULL || !station->running) {
                continue;
            }
            holds_all_said(sim, validator, station);
            tl_told_digest(told, ours);
            tl_told_digest(tl_fold_told(&first->judge->fold, station->id), theirs);
            assert_memory_equal(ours, theirs, sizeof ours);
        }
    }
}
