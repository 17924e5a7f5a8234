/* SPDX-License-Identifier: Apache-2.0 */
/* recovery.c - the clock of one recovery, and the comparison of every screen with the oracle. */
#include "tests/recoveries/recovery.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "proto/vocab/mix.h"
#include "tests/support/splitmix.h"

uint32_t
draw(uint64_t *stream, uint32_t below)
{
    return (uint32_t)(splitmix(stream) % below);
}

bool
chance(uint64_t *stream, uint32_t percent)
{
    return draw(stream, 100) < percent;
}

void
tell(const struct recovery *r, const char *format, ...)
{
    if (!r->trace) {
        return;
    }
    va_list args;
    va_start(args, format);
    (void)printf("%9.2f  ", (double)(r->sim->now_ms - 1000000) / 1000.0);
    (void)vprintf(format, args);
    (void)printf("\n");
    va_end(args);
}

static void
fail_run(struct recovery *r, const char *what, const char *screen)
{
    char reasons[160];
    char causes[1024];
    r->failed = true;
    (void)printf("%s: seed %llu%s at %.2f s, %s; event %u, truth says: %s\n", what,
                 (unsigned long long)r->seed, r->faulty ? "" : " without faults",
                 (double)(r->sim->now_ms - 1000000) / 1000.0, screen, r->truth.current,
                 truth_reasons(r->truth.no, reasons, sizeof reasons));
    for (uint32_t v = AT_VALIDATOR; v < AT_VIEWER; v++) {
        const char *id = r->sim->node[v].id;
        (void)printf("    %s: %s\n", id, sim_causes(r->sim, id, causes, sizeof causes));
    }
}

/* READY, and the truth has not been so for that long. */
static void
judge_wrong(struct recovery *r, uint32_t place, uint64_t wrong_ms)
{
    struct counts *counts = r->counts;
    if (wrong_ms > counts->late_max_ms) {
        counts->late_max_ms = wrong_ms;
        counts->late_max_seed = r->seed;
    }
    if (wrong_ms > DEADLINE_MS) {
        char reasons[160];
        tell(r, "UNSAFE READY at %s for %llu ms: %s", r->sim->node[place].id,
             (unsigned long long)wrong_ms, truth_reasons(r->truth.no, reasons, sizeof reasons));
        fail_run(r, "UNSAFE READY", r->sim->node[place].id);
    }
}

static void
note_shown(struct recovery *r, uint32_t place, const struct tl_view *view)
{
    struct counts *counts = r->counts;
    counts->judged++;
    counts->ready_screens += view->word == TL_WORD_READY ? 1 : 0;
    if (r->shown[place] == view->word) {
        return;
    }
    r->shown[place] = view->word;
    counts->digest = tl_mix(tl_mix(counts->digest, r->sim->now_ms * PLACES + place), view->word);
    if (place == AT_VIEWER) {
        counts->ready_periods += view->word == TL_WORD_READY ? 1 : 0;
        tell(r, "viewer shows %s (event %u, rule %u)",
             view->word == TL_WORD_READY ? "READY" : "NOT READY", view->event.pass,
             view->first.rule);
    }
}

static void
judge_screen(struct recovery *r, uint32_t place, bool *all_ready)
{
    struct sim_node *node = &r->sim->node[place];
    struct tl_view view;
    tl_member_view(node->member, sim_clock(r->sim, node), &view);
    note_shown(r, place, &view);
    bool ready = view.word == TL_WORD_READY;
    if (place == AT_VIEWER) {
        r->viewer_pass = ready ? view.event.pass : 0;
    }
    if (place == AT_PLATFORM && (!ready || r->ready_since_ms == 0)) {
        r->ready_since_ms = ready ? r->sim->now_ms : 0;
    }
    *all_ready = *all_ready && ready;
    if (!ready) {
        return;
    }
    uint64_t wrong_ms = truth_wrong_for_ms(&r->truth, view.event.pass, r->sim->now_ms);
    const struct truth_node *own = &r->truth.node[place];
    if (own->down && r->sim->now_ms - own->down_ms > wrong_ms) {
        wrong_ms = r->sim->now_ms - own->down_ms;
    }
    if (wrong_ms > 0) {
        judge_wrong(r, place, wrong_ms);
    }
}

static void
note_all_ready(struct recovery *r, bool all_ready)
{
    if (!all_ready) {
        r->all_ready_pass = 0;
    } else if (r->all_ready_pass != r->viewer_pass) {
        r->all_ready_pass = r->viewer_pass;
        r->all_ready_ms = r->sim->now_ms;
        uint64_t began_ms = r->truth.event_since_ms;
        uint64_t took_ms = began_ms != 0 ? r->sim->now_ms - began_ms : 0;
        if (!r->faulty && took_ms > r->counts->pass_max_ms) {
            r->counts->pass_max_ms = took_ms;
        }
    }
}

/* After each step: the oracle first, then every screen that a person can look at. */
static void
look(struct sim *sim, void *ctx)
{
    struct recovery *r = ctx;
    bool all_ready = true;
    for (uint32_t place = 0; place < PLACES; place++) {
        struct sim_node *node = &sim->node[place];
        truth_node_is(&r->truth, place,
                      node->running && !node->stopped && sim_is_reachable(sim, node), sim->now_ms);
        if (node->judge != NULL && node->stopped) {
        }
    }
    crew_listen(r);
    truth_judge(&r->truth, sim->now_ms);
    for (uint32_t place = 0; place < PLACES && !r->failed; place++) {
        if (sim->node[place].member == NULL) {
            continue;
        }
        if (crew_is_live(r, place)) {
            judge_screen(r, place, &all_ready);
        } else {
            all_ready = false;
        }
    }
    note_all_ready(r, all_ready && r->viewer_pass != 0);
}

static void
step(struct recovery *r)
{
    faults_tend(r);
    crew_act(r);
    mechanics_tend(r);
    if (r->replayer != NULL) {
        replayer_beat(r->replayer);
    }
    sim_run(r->sim, STEP_MS);
}

/* Until all are aboard; each pass is READY in time, and nothing alerts. */
static void
run_free(struct recovery *r)
{
    uint64_t start_ms = r->sim->now_ms;
    while (!r->failed && !crew_all_aboard(r)) {
        step(r);
        uint64_t since_ms = r->truth.event_since_ms > start_ms ? r->truth.event_since_ms : start_ms;
        bool waits = r->all_ready_pass != r->truth.current || r->truth.current == 0;
        if ((waits && r->sim->now_ms - since_ms > PASS_LIMIT_MS) ||
            r->sim->now_ms - start_ms > FREE_LIMIT_MS) {
            fail_run(r, "NEVER READY", "all screens");
        }
    }
    for (uint32_t v = AT_VALIDATOR; v < AT_VIEWER; v++) {
        uint64_t raised = r->sim->node[v].judge->alerts.raised;
        r->counts->alerts += raised;
        if (raised > 0 && !r->failed) {
            fail_run(r, "ALERT WITHOUT CAUSE", r->sim->node[v].id);
        }
    }
}

/* Until the faults end; then READY in time, on every screen. */
static void
run_faulty(struct recovery *r)
{
    while (!r->failed && r->sim->now_ms < r->faults_end_ms) {
        step(r);
    }
    faults_end(r);
    uint64_t ended_ms = r->sim->now_ms;
    tell(r, "faults end");
    /* What was READY before is looked at for a moment, so that it is READY of now. */
    sim_run(r->sim, STEP_MS);
    while (!r->failed && r->all_ready_pass == 0) {
        step(r);
        if (r->sim->now_ms - ended_ms > RECOVER_LIMIT_MS) {
            fail_run(r, "NEVER READY again", "all screens");
        }
    }
    uint64_t took_ms = r->sim->now_ms - ended_ms;
    if (took_ms > r->counts->recover_max_ms) {
        r->counts->recover_max_ms = took_ms;
    }
}

static void
begin(struct recovery *r, uint64_t seed)
{
    r->seed = seed;
    r->people = seed * 3 + 1;
    r->mistakes = seed * 5 + 2;
    r->trouble = seed * 7 + 3;
    r->sea = seed * 11 + 4;
    r->sums = seed * 13 + 5;
    r->sim = sim_new(2, seed);
    r->sim->step_ms = STEP_MS;
    r->sim->no_pictures = true;
    for (uint32_t i = 0; i < r->sim->config.node_count; i++) {
        struct tl_node *node = &r->sim->config.node[i];
        node->may_stop = node->station == TL_STATION_PRIMARY;
    }
    truth_init(&r->truth, TYPE_SETTING_LB, TYPE_TOLERANCE_LB);
    for (uint32_t place = 0; place < PLACES; place++) {
        r->truth.node[place].counts = place != AT_VIEWER;
    }
    r->sim->watch = look;
    r->sim->watch_ctx = r;
    mechanics_begin(r);
    crew_begin(r);
    faults_begin(r);
}

/* Every judgement of both validators, made again from what they told of it. */
static void
judge_again(struct recovery *r)
{
    struct replayer_difference found = replayer_all(r->replayer, &r->counts->replayed);
    if (found.found && !r->failed) {
        (void)printf("%s, row %llu of kind %d: differs %x\n", found.validator,
                     (unsigned long long)found.sequence, (int)found.kind, found.differs);
        fail_run(r, "JUDGED OTHERWISE", found.validator);
    }
}

bool
recovery_run(uint64_t seed, const struct how *how, struct counts *counts)
{
    struct recovery *r =
        &(struct recovery){.faulty = how->faulty, .trace = how->trace, .counts = counts};
    begin(r, seed);
    r->replayer = how->replay ? replayer_open(r->sim) : NULL;
    uint64_t start_ms = r->sim->now_ms;
    if (r->faulty) {
        run_faulty(r);
    } else {
        run_free(r);
    }
    counts->recoveries++;
    counts->spared += r->truth.spared;
    counts->simulated_ms += r->sim->now_ms - start_ms;
    if (r->replayer != NULL) {
        judge_again(r);
        replayer_close(&r->replayer);
    }
    bool passed = !r->failed;
    sim_free(&r->sim);
    return passed;
}
