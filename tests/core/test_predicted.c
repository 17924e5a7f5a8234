/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_predicted - READY while the mechanics answer, late, not at all, or for something else
 *
 * The mechanics are played here: each validator's question is kept, and answered when the test
 * says so. The rules on energy, stroke and hook load are on.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "tests/core/timeline.h"

/* What one validator has asked. */
struct asked {
    uint32_t count;
    struct tl_ask ask;
};
struct play {
    struct sim *sim;
    struct asked of[2];
};

static struct tl_judge *
judge_of(const struct play *play, size_t i)
{
    return timeline_judge(play->sim, i == 0 ? "validator-1" : "validator-2");
}

static void
keep(void *ctx, const struct tl_ask *ask)
{
    struct asked *asked = ctx;
    asked->count++;
    asked->ask = *ask;
}

static struct tl_predicted
answer_to(const struct tl_ask *ask)
{
    struct tl_predicted answer = {
        .event = ask->event, .weight_lb = ask->weight_lb, .barricade = ask->barricade};
    memcpy(answer.type, ask->type, TL_TYPE_CAP);
    if (ask->weight_lb == 0 || ask->less_headwind_kt == TL_SEA_UNKNOWN) {
        return answer;
    }
    answer.arrest = (struct tl_predicted_arrest){.known = true,
                                                 .headwind_kt_x10 = -10 * ask->less_headwind_kt,
                                                 .engaging_kt_x10 = 1000,
                                                 .energy_kftlb = 20000,
                                                 .margin_percent = 50,
                                                 .would_count = ask->setting_count};
    for (uint32_t i = 0; i < ask->setting_count; i++) {
        answer.arrest.would[i] = (struct tl_would){
            .set_lb = ask->setting_lb[i], .hook_lbf = 70000, .stroke_in_x10 = 1800};
    }
    return answer;
}

static void
answer(struct play *play, size_t i, const struct tl_ask *ask)
{
    struct tl_predicted predicted = answer_to(ask);
    struct tl_judge *judge = judge_of(play, i);
    tl_judge_predicted(judge, &predicted, sim_clock(play->sim, sim_node(play->sim, judge->me)));
}

static void
answer_both(struct play *play)
{
    answer(play, 0, &play->of[0].ask);
    answer(play, 1, &play->of[1].ask);
}

static void
connect(struct play *play, size_t i)
{
    judge_of(play, i)->predictions.wanted = true;
    judge_of(play, i)->predict = keep;
    judge_of(play, i)->predict_ctx = &play->of[i];
}

static void
switch_on(struct sim *sim)
{
    static const enum tl_rule on[] = {TL_RULE_ENERGY_OVER, TL_RULE_STROKE_PREDICTED,
                                      TL_RULE_HOOK_LOAD};
    for (size_t i = 0; i < sizeof on / sizeof on[0]; i++) {
        sim->config.ship.rule_off[on[i]] = false;
    }
    sim->config.computed.capacity_kftlb = 43500;
    sim->config.gear.limits.ram_travel_max_in_x10 = 1900;
    for (uint32_t i = 0; i < sim->config.type_count; i++) {
        sim->config.type[i].hook_load_max_lbf = 90000;
    }
}

static void
say_inbound(struct sim *sim, uint32_t weight_lb)
{
    (void)sim_say(
        sim, "approach",
        (struct tl_datum){
            .kind = TL_DATUM_INBOUND,
            .slot = TIMELINE_SIDE,
            .known = true,
            .as.inbound = {.side = TIMELINE_SIDE, .type = "plover", .weight_lb = weight_lb}});
}

/* All words said, and the mechanics asked; nothing answered. */
static struct sim *
ask_both(struct play *play, uint64_t seed)
{
    struct sim *sim = timeline_ordered(2, timeline_seed(seed));
    *play = (struct play){.sim = sim};
    switch_on(sim);
    connect(play, 0);
    connect(play, 1);
    say_inbound(sim, 33500);
    timeline_say_all(sim, 1);
    sim_run(sim, 500);
    assert_true(play->of[0].count > 0 && play->of[1].count > 0);
    return sim;
}

static void
without_an_answer_nothing_is_ready(void **state)
{
    (void)state;
    struct play play;
    struct sim *sim = ask_both(&play, 1);
    timeline_all_causes(sim, "energy-over?");
    timeline_never_ready(sim, 5000);
    answer(&play, 0, &play.of[0].ask);
    timeline_never_ready(sim, 1000); /* one validator does not know yet */
    answer(&play, 1, &play.of[1].ask);
    assert_true(timeline_comes_to(sim, TL_WORD_READY, 1000) <= 1000);
    timeline_all_causes(sim, "");
    timeline_stays_ready(sim, 5000);
    sim_free(&sim);
}

static void
an_answer_for_another_weight_or_event_is_no_answer(void **state)
{
    (void)state;
    struct play play;
    struct sim *sim = ask_both(&play, 2);
    struct tl_ask old[2] = {play.of[0].ask, play.of[1].ask};
    answer_both(&play);
    assert_true(timeline_comes_to(sim, TL_WORD_READY, 1000) <= 1000);
    uint32_t before = play.of[0].count;
    say_inbound(sim, 33600);
    assert_true(timeline_comes_to(sim, TL_WORD_NOT_READY, 1000) <= 100);
    assert_int_equal(play.of[0].count, before + 1);
    assert_int_equal(play.of[0].ask.weight_lb, 33600);
    timeline_all_causes(sim, "energy-over?");
    answer(&play, 0, &old[0]); /* it was on its way */
    answer(&play, 1, &old[1]);
    timeline_never_ready(sim, 1000);
    old[0] = play.of[0].ask;
    old[0].event.pass++;
    answer(&play, 0, &old[0]);
    answer(&play, 1, &old[0]);
    timeline_never_ready(sim, 1000);
    answer_both(&play);
    assert_true(timeline_comes_to(sim, TL_WORD_READY, 1000) <= 1000);
    sim_free(&sim);
}

static void
set_wind(struct sim *sim, int32_t headwind_kt_x10)
{
    struct tl_sample sample = {.kind = TL_SAMPLE_WIND};
    sample.as.wind.state = TL_WIND_KNOWN;
    sample.as.wind.headwind_kt_x10 = headwind_kt_x10;
    tl_member_samples(timeline_member(sim, "bridge"), &sample, 1);
}

/* A gust that dies: the figures of a moment ago count until the new ones are there, 500 ms long. */
static void
less_wind_does_not_blink_and_does_not_linger(void **state)
{
    (void)state;
    struct play play;
    struct sim *sim = ask_both(&play, 3);
    answer_both(&play);
    assert_true(timeline_comes_to(sim, TL_WORD_READY, 1000) <= 1000);
    uint32_t before = play.of[0].count;
    set_wind(sim, 250);
    sim_run(sim, 300);
    assert_int_equal(play.of[0].count, before + 1);
    assert_int_equal(play.of[0].ask.less_headwind_kt, -25);
    timeline_shows(sim, TL_WORD_READY);
    answer_both(&play);
    timeline_stays_ready(sim, 3000);
    set_wind(sim, 240);
    assert_true(timeline_comes_to(sim, TL_WORD_NOT_READY, 2000) <= 1000);
    timeline_all_causes(sim, "energy-over?");
    timeline_never_ready(sim, 2000);
    answer_both(&play);
    assert_true(timeline_comes_to(sim, TL_WORD_READY, 1000) <= 1000);
    sim_free(&sim);
}

/* A validator that starts anew knows nothing that was computed before. */
static void
a_new_validator_asks_again(void **state)
{
    (void)state;
    struct play play;
    struct sim *sim = ask_both(&play, 4);
    answer_both(&play);
    assert_true(timeline_comes_to(sim, TL_WORD_READY, 1000) <= 1000);
    sim_kill(sim, "validator-1");
    assert_true(timeline_comes_to(sim, TL_WORD_NOT_READY, 2000) <= 1000);
    sim_start(sim, "validator-1");
    uint32_t before = play.of[0].count;
    connect(&play, 0);
    timeline_never_ready(sim, 6000);
    assert_true(play.of[0].count > before);
    timeline_causes(sim, "validator-1", "energy-over?");
    answer(&play, 0, &play.of[0].ask);
    assert_true(timeline_comes_to(sim, TL_WORD_READY, 1000) <= 1000);
    sim_free(&sim);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(without_an_answer_nothing_is_ready),
        cmocka_unit_test(an_answer_for_another_weight_or_event_is_no_answer),
        cmocka_unit_test(less_wind_does_not_blink_and_does_not_linger),
        cmocka_unit_test(a_new_validator_asks_again),
    };
    return cmocka_run_group_tests_name("core_predicted", tests, NULL, NULL);
}
