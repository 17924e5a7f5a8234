/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_random - the ledger against a count by another way, over seeded records
 *
 * The other way keeps everything: how each pass ended last, and of each pendant and cable the set of
 * passes that were in the figure when it was last keyed. Its count is the figure and the traps outside
 * the set. The record has corrections, repeats, drills, passes that end out of order, books keyed
 * anew, lower ones, other serials. TL_SEED=n repeats a run, TL_ROUNDS=n changes how many.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <math.h>

#include "tests/ledger/pages.h"
#include "tests/support/splitmix.h"

enum {
    RECOVERIES = 24,
    PASSES = 41, /* numbers 1 to 40 */
    ENGINES = 4,
    THINGS = 2 * ENGINES, /* pendants, then cables */
    BACK = 20,            /* passes that a platform corrects */
    EXPONENT = 5,
    STEPS = 1500
};

/* How one pass ended. */
struct fate {
    bool ended;
    bool barricade;
    enum tl_outcome outcome;
    uint32_t wire;
    bool weighed;
    uint32_t percent[ENGINES]; /* at its first word */
};

/* A pendant or a cable. */
struct thing {
    bool known;
    uint32_t figure; /* as keyed */
    double weight;   /* of the figure */
    char serial[TL_SERIAL_CAP];
    bool in[RECOVERIES][PASSES]; /* the figure has it, or it is none of its */
};

struct other {
    uint64_t random;
    uint32_t recovery; /* that is open */
    bool drill[RECOVERIES];
    bool said[RECOVERIES]; /* that it is a drill, or not */
    bool word_since;       /* a figure was keyed in this recovery */
    uint32_t next_pass;
    uint32_t next_serial;
    uint32_t percent[ENGINES]; /* what the next pass would load */
    struct fate fate[RECOVERIES][PASSES];
    struct thing thing[THINGS];
};

static uint64_t
draw(struct other *o)
{
    return splitmix(&o->random);
}

static uint32_t
below(struct other *o, uint32_t bound)
{
    return (uint32_t)(draw(o) % bound);
}

static struct tl_event
event_at(uint32_t recovery, uint32_t pass)
{
    return (struct tl_event){PAGES_R + recovery, pass};
}

static enum tl_datum_kind
kind_of(uint32_t t)
{
    return t < ENGINES ? TL_DATUM_PENDANT_LIFE : TL_DATUM_CABLE;
}

/* ---- the count by the other way ---- */

static bool
loads(const struct other *o, uint32_t t, uint32_t recovery, uint32_t pass)
{
    const struct fate *fate = &o->fate[recovery][pass];
    uint32_t wire = t % ENGINES + 1;
    bool off = t < ENGINES && fate->barricade && wire >= 3;
    return fate->ended && !o->drill[recovery] && fate->outcome == TL_OUTCOME_TRAP && !off &&
           (fate->wire == wire || fate->wire < 1 || fate->wire > ENGINES);
}

static double
weight_of(const struct other *o, uint32_t t, uint32_t recovery, uint32_t pass)
{
    const struct fate *fate = &o->fate[recovery][pass];
    uint32_t percent = fate->percent[t % ENGINES];
    return percent == 0 ? 1.0 : pow(percent / 100.0, EXPONENT);
}

static uint32_t
traps_of(const struct other *o, uint32_t t, double *weight)
{
    const struct thing *thing = &o->thing[t];
    uint32_t traps = thing->figure;
    *weight = thing->weight;
    for (uint32_t r = 0; r <= o->recovery; r++) {
        for (uint32_t pass = 1; pass < PASSES; pass++) {
            if (!thing->in[r][pass] && loads(o, t, r, pass)) {
                traps++;
                *weight += weight_of(o, t, r, pass);
            }
        }
    }
    return traps;
}

static void
compare(const struct other *o, const struct pages *p, uint32_t step)
{
    for (uint32_t t = 0; t < THINGS; t++) {
        const struct tl_fit *fit = pages_fit(p, kind_of(t), t % ENGINES + 1);
        double weight = 0;
        uint32_t traps = traps_of(o, t, &weight);
        double ppm = (double)tl_fit_weighted_ppm(&p->ledger, fit) / 1e6;
        if (o->thing[t].known != tl_fit_is_known(fit)) {
            fail_msg("step %u: thing %u: known", step, t);
        }
        if (!o->thing[t].known) {
            continue;
        }
        if (traps != tl_fit_traps(&p->ledger, fit) ||
            strcmp(o->thing[t].serial, fit->tally.base.serial) != 0 || fabs(weight - ppm) > 1e-2) {
            fail_msg("step %u: thing %u, %s: %u traps weigh %f; ledger: %s, %u weigh %f", step, t,
                     o->thing[t].serial, traps, weight, fit->tally.base.serial,
                     tl_fit_traps(&p->ledger, fit), ppm);
        }
    }
}

/* ---- what happens ---- */

static void
say_recovery(struct other *o, struct pages *p)
{
    o->said[o->recovery] = true;
    pages_recovery(p, PAGES_R + o->recovery, o->drill[o->recovery], TL_RECOVERY_OPEN);
}

static void
open_next(struct other *o, struct pages *p)
{
    if (o->recovery + 1 == RECOVERIES) {
        return;
    }
    if (!o->said[o->recovery]) {
        say_recovery(o, p);
    }
    o->recovery++;
    o->next_pass = 1;
    o->word_since = false;
    o->drill[o->recovery] = below(o, 4) == 0;
    if (below(o, 3) != 0) { /* else after the first results */
        say_recovery(o, p);
    }
}

/* What the mechanics say of the next pass, and what the engine rooms have set. */
static void
foresee(struct other *o, struct pages *p, struct tl_event event)
{
    for (uint32_t i = 0; i < ENGINES; i++) {
        uint32_t lb = 30000 + 500 * (i + 1);
        o->percent[i] = below(o, 5) == 0 ? 0 : 60 + below(o, 60);
        pages_set(p, i + 1, o->percent[i] != 0 ? lb : 0);
        if (o->percent[i] != 0) {
            pages_foresee(p, event, lb, o->percent[i]);
        }
    }
}

static void
end_pass(struct other *o, struct pages *p, uint32_t recovery, uint32_t pass)
{
    struct fate *fate = &o->fate[recovery][pass];
    fate->ended = true;
    fate->outcome = below(o, 4) != 0   ? TL_OUTCOME_TRAP
                    : below(o, 2) == 0 ? TL_OUTCOME_BOLTER
                                       : TL_OUTCOME_WAVE_OFF;
    fate->wire =
        fate->outcome == TL_OUTCOME_TRAP ? below(o, 20) == 0 ? 0 : 1 + below(o, ENGINES) : 0;
    if (!fate->weighed) {
        fate->weighed = true;
        memcpy(fate->percent, o->percent, sizeof fate->percent);
    }
    pages_result(p, event_at(recovery, pass), fate->outcome, fate->wire);
}

/* A pass that has not ended; the numbers need not come in order. */
static void
end_some_pass(struct other *o, struct pages *p)
{
    uint32_t pass = o->next_pass;
    for (uint32_t late = 1; late < o->next_pass && late <= BACK; late++) {
        uint32_t before = o->next_pass - late;
        if (before < PASSES && !o->fate[o->recovery][before].ended && below(o, 3) == 0) {
            pass = before;
        }
    }
    if (pass >= PASSES) {
        return;
    }
    o->next_pass += pass == o->next_pass ? 1 + below(o, 8) / 7 : 0; /* one is skipped for now */
    if (below(o, 10) == 0) {
        o->fate[o->recovery][pass].barricade = true;
        pages_order(p, event_at(o->recovery, pass), true);
    }
    foresee(o, p, event_at(o->recovery, pass));
    end_pass(o, p, o->recovery, pass);
}

/* Again, or otherwise: of this recovery, or of the one before while no figure is newer. */
static void
say_again(struct other *o, struct pages *p)
{
    uint32_t recovery = o->recovery;
    uint32_t pass = o->next_pass > BACK ? o->next_pass - 1 - below(o, BACK) : 1 + below(o, BACK);
    if (recovery > 0 && !o->word_since && below(o, 4) == 0) {
        recovery--;
        pass = PASSES - 1 - below(o, BACK);
    }
    struct fate *fate = pass < PASSES ? &o->fate[recovery][pass] : NULL;
    if (fate == NULL || !fate->ended) {
        return;
    }
    if (below(o, 2) == 0) {
        pages_result(p, event_at(recovery, pass), fate->outcome, fate->wire);
    } else {
        end_pass(o, p, recovery, pass);
    }
}

/* ---- what is keyed ---- */

/* Up to the last pass that ended, without those that are none of it. */
static struct tl_counted
counted_now(const struct other *o, uint32_t t, bool fresh)
{
    struct tl_counted counted = {event_at(o->recovery, 0), 0};
    for (uint32_t pass = 1; pass < PASSES && !o->drill[o->recovery]; pass++) {
        counted.last.pass = o->fate[o->recovery][pass].ended ? pass : counted.last.pass;
    }
    for (uint32_t n = 0; n < 32 && n < counted.last.pass; n++) {
        uint32_t pass = counted.last.pass - n;
        bool in = o->fate[o->recovery][pass].ended && (fresh || loads(o, t, o->recovery, pass));
        counted.without |= in ? 0 : 1u << n;
    }
    return counted;
}

static void
note_figure(struct other *o, uint32_t t, uint32_t traps, double weight, bool fresh)
{
    struct thing *thing = &o->thing[t];
    for (uint32_t r = 0; r <= o->recovery; r++) {
        for (uint32_t pass = 1; pass < PASSES; pass++) {
            bool ended = o->fate[r][pass].ended && !o->drill[r];
            thing->in[r][pass] = fresh ? ended : ended && loads(o, t, r, pass);
            thing->in[r][pass] = thing->in[r][pass] || r < o->recovery;
        }
    }
    thing->known = true;
    thing->figure = traps;
    thing->weight = weight;
    o->word_since = true;
}

static void
key(struct other *o, struct pages *p, uint32_t t, bool fresh)
{
    struct thing *thing = &o->thing[t];
    double weight = 0;
    uint32_t traps = traps_of(o, t, &weight);
    uint32_t more = below(o, 3);
    bool lower = !fresh && thing->known && traps > 0 && below(o, 4) == 0;
    bool moved = !fresh && thing->known && below(o, 4) == 0;
    fresh = fresh || !thing->known;
    struct tl_counted counted = counted_now(o, t, fresh);
    if (counted.last.pass == 0 || !o->said[o->recovery]) {
        return; /* the station would name a pass of the recovery before */
    }
    if (fresh) {
        traps = below(o, 40);
        weight = 0;
        (void)snprintf(thing->serial, sizeof thing->serial, "S-%u", 1000 + o->next_serial++);
    }
    traps = lower ? below(o, traps) : traps + more;
    pages_word(p, (struct pages_word){kind_of(t), t % ENGINES + 1, traps,
                                      fresh || below(o, 2) == 0 ? thing->serial : "", counted, 0,
                                      moved});
    if (!lower && !moved) {
        note_figure(o, t, traps, fresh ? traps : weight + more, fresh);
    }
}

static void
step(struct other *o, struct pages *p)
{
    uint32_t which = below(o, 100);
    if (which < 3) {
        open_next(o, p);
    } else if (which < 50) {
        end_some_pass(o, p);
    } else if (which < 90) {
        say_again(o, p);
    } else if (which < 98) {
        key(o, p, below(o, THINGS), false);
    } else {
        key(o, p, below(o, THINGS), true);
    }
}

static uint64_t
number_of(const char *name, uint64_t otherwise)
{
    const char *given = getenv(name);
    return given != NULL ? strtoull(given, NULL, 10) : otherwise;
}

static void
random_records_come_to_the_same(void **state)
{
    (void)state;
    uint64_t seed = number_of("TL_SEED", 1);
    uint64_t rounds = number_of("TL_ROUNDS", 12);
    uint64_t traps = 0;
    print_message("TL_SEED=%llu, %llu rounds\n", (unsigned long long)seed,
                  (unsigned long long)rounds);
    for (uint64_t round = 0; round < rounds; round++) {
        struct pages *p = pages_new();
        struct other *o = calloc(1, sizeof *o);
        assert_non_null(o);
        o->random = seed + 1000003 * round;
        o->next_pass = 1;
        p->config.wear = (struct tl_wear_figures){EXPONENT, 100, 0};
        p->ledger.ended = NULL;
        say_recovery(o, p);
        for (uint32_t i = 0; i < STEPS; i++) {
            step(o, p);
            if (o->said[o->recovery] || !o->drill[o->recovery]) {
                compare(o, p, i);
            }
        }
        double weight = 0;
        traps += traps_of(o, 0, &weight);
        free(o);
        free(p);
    }
    assert_true(traps > 0);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(random_records_come_to_the_same),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
