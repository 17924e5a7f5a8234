/* SPDX-License-Identifier: Apache-2.0 */
/* mechanics.c - see mechanics.h. */
#include "tests/recoveries/mechanics.h"

#include <string.h>

#include "tests/recoveries/crew.h"
#include "tests/recoveries/figures.h"

static_assert((int)TL_WOULDS_MAX <= (int)TRUTH_SETTINGS, "the oracle keeps every setting");
static_assert((int)MECHANICS == (int)TRUTH_VALIDATORS, "one entry of the oracle for each");

static struct sim_node *
node_of(const struct recovery *r, uint32_t validator)
{
    return &r->sim->node[AT_VALIDATOR + validator];
}

static void
keep(void *ctx, const struct tl_ask *ask)
{
    struct mechanics *mechanics = ctx;
    mechanics->question = *ask;
    mechanics->waits = true;
}

void
mechanics_connect(struct recovery *r, uint32_t validator)
{
    struct mechanics *mechanics = &r->mechanics[validator];
    struct tl_judge *judge = node_of(r, validator)->judge;
    mechanics->waits = false;
    mechanics->busy = false;
    judge->predict = keep;
    judge->predict_ctx = mechanics;
    judge->predictions.wanted = true;
    truth_mechanics_restarted(&r->truth, validator);
}

void
mechanics_begin(struct recovery *r)
{
    static const enum tl_rule ON[] = {TL_RULE_ENERGY_OVER, TL_RULE_STROKE_PREDICTED,
                                      TL_RULE_HOOK_LOAD};
    struct tl_config *config = &r->sim->config;
    for (size_t i = 0; i < sizeof ON / sizeof ON[0]; i++) {
        config->ship.rule_off[ON[i]] = false;
    }
    config->computed.capacity_kftlb = FIGURES_CAPACITY_KFTLB;
    config->gear.limits.ram_travel_max_in_x10 = FIGURES_TRAVEL_MAX_IN_X10;
    for (uint32_t i = 0; i < config->type_count; i++) {
        config->type[i].hook_load_max_lbf = figures_hook_max_lbf(config->type[i].setting_lb);
    }
    for (uint32_t v = 0; v < MECHANICS; v++) {
        mechanics_connect(r, v);
    }
}

static struct tl_predicted_arrest
compute(const struct tl_ask *ask)
{
    struct figures_of of = {.weight_lb = ask->weight_lb, .headwind_kt = -ask->less_headwind_kt};
    struct tl_predicted_arrest arrest = {
        .known = true, .headwind_kt_x10 = 10 * of.headwind_kt, .would_count = ask->setting_count};
    arrest.energy_kftlb = figures_compute(&of).energy_kftlb;
    for (uint32_t i = 0; i < ask->setting_count; i++) {
        of.set_lb = ask->setting_lb[i];
        struct figures figures = figures_compute(&of);
        arrest.would[i] = (struct tl_would){.set_lb = of.set_lb,
                                            .hook_lbf = figures.hook_lbf,
                                            .stroke_in_x10 = figures.stroke_in_x10};
    }
    return arrest;
}

static void
tell_oracle(struct recovery *r, uint32_t validator, const struct tl_ask *ask)
{
    struct truth_answer answer = {.known = true,
                                  .pass = ask->event.pass,
                                  .weight_lb = ask->weight_lb,
                                  .headwind_kt = -ask->less_headwind_kt,
                                  .setting_count = ask->setting_count};
    for (uint32_t type = 1; type < CREW_TYPES; type++) {
        answer.type = strcmp(ask->type, CREW_TYPE[type]) == 0 ? type : answer.type;
    }
    memcpy(answer.setting_lb, ask->setting_lb, sizeof ask->setting_lb);
    truth_answered(&r->truth, validator, &answer);
}

static void
answer(struct recovery *r, uint32_t validator)
{
    struct sim_node *node = node_of(r, validator);
    const struct tl_ask *ask = &r->mechanics[validator].begun;
    struct tl_predicted predicted = {
        .event = ask->event, .weight_lb = ask->weight_lb, .barricade = ask->barricade};
    memcpy(predicted.type, ask->type, TL_TYPE_CAP);
    if (ask->weight_lb != 0 && ask->less_headwind_kt != TL_SEA_UNKNOWN) {
        predicted.arrest = compute(ask);
        tell_oracle(r, validator, ask);
    } else {
        truth_mechanics_restarted(&r->truth, validator);
    }
    r->counts->answers++;
    r->counts->old_answers += tl_ask_same_words(ask, &node->judge->decision.ask) ? 0 : 1;
    tell(r, "%s answered: %u %s %u lb, less wind %d", node->id, ask->event.pass, ask->type,
         ask->weight_lb, ask->less_headwind_kt);
    tl_judge_predicted(node->judge, &predicted, sim_clock(r->sim, node));
}

static uint64_t
takes_ms(struct recovery *r, bool slow)
{
    if (slow) {
        return 300 + draw(&r->sums, 2200);
    }
    return chance(&r->sums, 90) ? 2 + draw(&r->sums, 15) : 20 + draw(&r->sums, 381);
}

void
mechanics_tend(struct recovery *r)
{
    for (uint32_t v = 0; v < MECHANICS; v++) {
        struct mechanics *mechanics = &r->mechanics[v];
        if (!crew_is_live(r, AT_VALIDATOR + v) || mechanics->hangs) {
            continue;
        }
        if (mechanics->busy && r->sim->now_ms >= mechanics->due_ms) {
            mechanics->busy = false;
            answer(r, v);
        }
        if (!mechanics->busy && mechanics->waits) {
            mechanics->waits = false;
            mechanics->busy = true;
            mechanics->begun = mechanics->question;
            mechanics->due_ms = r->sim->now_ms + takes_ms(r, mechanics->slow);
        }
    }
}
