/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_replay - what a validator judged is judged again from what it told, and a difference is found
 *
 * Chaos on the simulated bus (chaos.h) from many seeds. TL_SEEDS in the environment sets how many,
 * TL_SEED where they begin.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/core/chaos.h"
#include "tests/support/replayer.h"

enum {
    RUN_MS = 30000,
    SEEDS = 6,
    VALIDATORS = 2
};

/* A recorded run, and what judges its rows again as they come. */
struct world {
    struct chaos chaos;
    struct replayer *replayer;
    struct replayer_counts counts;
};
struct follower {
    const struct replayer_life *life;
    uint32_t taken;
    struct tl_replay replay;
};

static void
open_world(struct world *world, bool full, uint64_t seed)
{
    memset(world, 0, sizeof *world);
    chaos_begin(&world->chaos, full, seed);
    world->replayer = replayer_open(world->chaos.sim);
}

static void
close_world(struct world *world)
{
    replayer_close(&world->replayer);
    sim_free(&world->chaos.sim);
}

static void
run(struct world *world, uint64_t ms)
{
    for (uint64_t until_ms = world->chaos.sim->now_ms + ms; world->chaos.sim->now_ms < until_ms;) {
        replayer_beat(world->replayer);
        chaos_step(&world->chaos);
    }
}

static uint64_t
first_seed(uint64_t otherwise)
{
    const char *text = getenv("TL_SEED");
    return text != NULL ? strtoull(text, NULL, 10) : otherwise;
}

static uint64_t
how_many(void)
{
    const char *text = getenv("TL_SEEDS");
    return text != NULL ? strtoull(text, NULL, 10) : SEEDS;
}

static void
print_counts(const char *what, const struct replayer_counts *counts)
{
    print_message("%s: %llu lives, %llu rows, %llu bases, %llu judgements compared, %llu equal, "
                  "%llu before a base, %llu READY\n",
                  what, (unsigned long long)counts->lives, (unsigned long long)counts->rows,
                  (unsigned long long)counts->bases, (unsigned long long)counts->checked,
                  (unsigned long long)counts->equal, (unsigned long long)counts->unchecked,
                  (unsigned long long)counts->ready);
    for (int kind = 1; kind <= TL_JUDGED_BASE; kind++) {
        print_message("  kind %d: %llu\n", kind, (unsigned long long)counts->kind[kind]);
    }
}

/* ---- every judgement, and all that it stands on ---- */

static bool
same_held(const struct tl_held *a, const struct tl_held *b)
{
    return tl_datum_equal(&a->datum, &b->datum) && a->datum.sequence == b->datum.sequence &&
           a->said_ms == b->said_ms && a->by_change == b->by_change && a->barred == b->barred &&
           a->stood_known == b->stood_known && a->stood_lb == b->stood_lb;
}

static bool
same_told(const struct tl_told *a, const struct tl_told *b)
{
    bool same = a->incarnation == b->incarnation && a->based == b->based &&
                a->applied == b->applied && a->held_count == b->held_count && a->live == b->live &&
                a->away_ms == b->away_ms && a->back_ms == b->back_ms &&
                a->ever_live == b->ever_live && a->twin == b->twin && a->old_foul == b->old_foul &&
                a->voice_differed == b->voice_differed &&
                a->voice_differs_ms == b->voice_differs_ms && (!a->live || a->echoed == b->echoed);
    for (uint32_t i = 0; same && i < a->held_count; i++) {
        same = same_held(&a->held[i], &b->held[i]);
    }
    return same && (!a->old_foul || (tl_datum_equal(&a->old_foul_datum, &b->old_foul_datum) &&
                                     a->old_foul_incarnation == b->old_foul_incarnation));
}

static bool
same_list(const struct tl_list *a, const struct tl_list *b)
{
    bool same = a->heard == b->heard && a->results_heard == b->results_heard &&
                a->open == b->open && a->drill == b->drill && a->restarted == b->restarted &&
                a->recovery_ms == b->recovery_ms && a->count == b->count &&
                a->highest_recovery_ms == b->highest_recovery_ms &&
                a->highest_pass == b->highest_pass && a->last_known == b->last_known &&
                a->last_ms == b->last_ms && tl_event_equal(a->current, b->current) &&
                a->current_since_ms == b->current_since_ms;
    for (uint32_t i = 0; same && i < a->count; i++) {
        const struct tl_listed_event *x = &a->event[i];
        const struct tl_listed_event *y = &b->event[i];
        same = tl_event_equal(x->event, y->event) && x->order_known == y->order_known &&
               x->order_sequence == y->order_sequence && x->order.place == y->order.place &&
               x->order.state == y->order.state && strcmp(x->order.type, y->order.type) == 0 &&
               x->result_known == y->result_known && x->result.wire == y->result.wire &&
               x->result.outcome == y->result.outcome && x->ended == y->ended;
    }
    for (uint32_t i = 0; same && i < TL_ENGINES_MAX; i++) {
        same = tl_event_equal(a->trap[i], b->trap[i]);
    }
    return same;
}

static bool
same_outside(const struct tl_outside *a, const struct tl_outside *b)
{
    bool same = a->recorder_lost == b->recorder_lost && a->flood_places == b->flood_places &&
                a->sea_late_ms == b->sea_late_ms && a->notice_count == b->notice_count &&
                a->expected_count == b->expected_count && a->bus_count == b->bus_count &&
                tl_event_equal(a->predicted.event, b->predicted.event);
    for (uint32_t i = 0; same && i < a->notice_count; i++) {
        same = a->notice[i].rule == b->notice[i].rule &&
               a->notice[i].reason == b->notice[i].reason &&
               strcmp(a->notice[i].node, b->notice[i].node) == 0;
    }
    for (uint32_t i = 0; same && i < a->bus_count; i++) {
        same = a->bus[i].degraded == b->bus[i].degraded;
    }
    for (uint32_t i = 0; same && i < a->peer_count; i++) {
        const struct tl_peer_state *x = &a->peer[i];
        const struct tl_peer_state *y = &b->peer[i];
        same =
            x->lost == y->lost && x->differ == y->differ && x->differ_back_ms == y->differ_back_ms;
    }
    return same;
}

static bool
same_alerts(const struct tl_alert_book *a, const struct tl_alert_book *b)
{
    bool same = a->count == b->count;
    for (uint32_t i = 0; same && i < a->count; i++) {
        const struct tl_active_alert *x = &a->active[i];
        const struct tl_active_alert *y = &b->active[i];
        same = tl_alert_same_instance(&x->alert, &y->alert) && x->raised_ms == y->raised_ms &&
               x->returned_ms == y->returned_ms && x->alert.state == y->alert.state &&
               x->alert.severity == y->alert.severity && x->alert.owed == y->alert.owed &&
               x->alert.acknowledged == y->alert.acknowledged;
    }
    return same && memcmp(a->owed_count, b->owed_count, sizeof a->owed_count) == 0 &&
           memcmp(a->owed_ms, b->owed_ms, sizeof a->owed_ms) == 0;
}

/* Nothing but what comes by a later row may be another. */
static const char *
other_part(const struct tl_judge *a, const struct tl_judge *b)
{
    for (uint32_t i = 0; i < a->fold.told_count; i++) {
        if (!same_told(&a->fold.told[i], &b->fold.told[i])) {
            return a->fold.told[i].node->id;
        }
    }
    return !same_list(&a->fold.list, &b->fold.list)         ? "list"
           : !same_outside(&a->outside, &b->outside)        ? "outside"
           : !same_alerts(&a->alerts, &b->alerts)           ? "alerts"
           : a->fold.clear_refused != b->fold.clear_refused ? "clear"
           : a->decision.word != b->decision.word           ? "word"
           : a->decision.forcing != b->decision.forcing     ? "forcing"
                                                            : NULL;
}

static void
follow(struct world *world, struct follower *follower, const struct sim_node *node)
{
    struct replayer *replayer = world->replayer;
    const struct replayer_life *life = NULL;
    for (uint32_t i = 0; i < replayer->life_count; i++) {
        if (replayer->life[i].incarnation == node->incarnation &&
            strcmp(replayer->life[i].validator, node->id) == 0) {
            life = &replayer->life[i];
        }
    }
    if (life == NULL || !node->running) {
        return;
    }
    if (life != follower->life) {
        follower->life = life;
        follower->taken = 0;
        tl_replay_init(&follower->replay, &world->chaos.sim->config, node->id, node->incarnation);
    }
    struct tl_envelope *room = calloc(1, sizeof *room);
    assert_non_null(room);
    for (; follower->taken < life->count; follower->taken++) {
        const struct replayer_row *row = &life->row[follower->taken];
        struct tl_replay_step step = replayer_take(&follower->replay, row, room);
        if (step.differs != 0) {
            const char *other = other_part(node->judge, &follower->replay.judge);
            fail_msg("seed %llu, %s row %llu of kind %d: differs %x, %s",
                     (unsigned long long)world->chaos.sim->seed, node->id,
                     (unsigned long long)row->sequence, (int)row->judged.kind, step.differs,
                     other != NULL ? other : "nothing any more");
        }
    }
    free(room);
    bool exact = follower->replay.lacking.what == TL_LACK_NOTHING;
    const char *other = exact ? other_part(node->judge, &follower->replay.judge) : NULL;
    if (other != NULL) {
        fail_msg("seed %llu at %llu ms, %s after row %u: other %s",
                 (unsigned long long)world->chaos.sim->seed,
                 (unsigned long long)world->chaos.sim->now_ms, node->id, follower->taken, other);
    }
}

static void
repeat(bool full, uint64_t seed, struct replayer_counts *counts)
{
    static const char *const VALIDATOR[VALIDATORS] = {"validator-1", "validator-2"};
    struct world world;
    struct follower *followers = calloc(VALIDATORS, sizeof *followers);
    assert_non_null(followers);
    open_world(&world, full, seed);
    for (uint64_t until_ms = world.chaos.sim->now_ms + RUN_MS;
         world.chaos.sim->now_ms < until_ms;) {
        run(&world, world.chaos.sim->step_ms);
        for (uint32_t v = 0; v < VALIDATORS; v++) {
            follow(&world, &followers[v], sim_node(world.chaos.sim, VALIDATOR[v]));
        }
    }
    struct replayer_difference difference = replayer_all(world.replayer, counts);
    assert_false(difference.found);
    close_world(&world);
    free(followers);
}

static void
repeat_many(const char *what, bool full, uint64_t seed)
{
    struct replayer_counts counts = {0};
    seed = first_seed(seed);
    print_message("seeds from %llu\n", (unsigned long long)seed);
    for (uint64_t i = 0; i < how_many(); i++) {
        repeat(full, seed + i, &counts);
    }
    print_counts(what, &counts);
    assert_int_equal(counts.checked, counts.equal);
    assert_true(counts.checked > 400 * how_many());
    assert_true(counts.bases >= counts.lives);
    for (int kind = 1; kind <= TL_JUDGED_BASE && how_many() >= SEEDS; kind++) {
        assert_true(counts.kind[kind] > 0 || kind == TL_JUDGED_EXPECTED);
    }
    assert_true(full || counts.ready > 0);
}

static void
replay_repeats_every_judgement_of_the_small_ship(void **state)
{
    (void)state;
    repeat_many("small ship", false, 1);
}

static void
replay_repeats_every_judgement_of_the_full_ship(void **state)
{
    (void)state;
    repeat_many("full ship", true, 1001);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(replay_repeats_every_judgement_of_the_small_ship),
        cmocka_unit_test(replay_repeats_every_judgement_of_the_full_ship),
    };
    return cmocka_run_group_tests_name("replay", tests, NULL, NULL);
}
