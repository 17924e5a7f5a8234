/* SPDX-License-Identifier: Apache-2.0 */
/*
 * recoveries - simulate whole recoveries from seeds, with faults and without, and count
 *
 *   recoveries --count N --seed S [--trace] [--only faulty|free] [--replay]
 *
 * Seeds S, S+1, ... S+N-1; each is run with its faults and once more without them. With --replay
 * all that the validators judged is judged again, and must be the same. Exit 0: no
 * unsafe READY, READY wherever it must come, and as much happened as the minimums ask for. Exit 1:
 * something did not hold; the seed is printed. Exit 64: usage.
 */
#include <inttypes.h>
#include <malloc.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/recoveries/recovery.h"

enum {
    EXIT_USAGE = 64,
    SHOW_MINIMUMS_FROM = 200 /* recoveries: fewer may miss a kind of fault by chance */
};

struct options {
    uint64_t count, seed;
    bool trace, faulty, clean, replay;
};

static bool
read_number(const char *text, uint64_t *number)
{
    char *end = NULL;
    *number = strtoull(text, &end, 10);
    return *text != '\0' && *end == '\0';
}

static bool
read_options(int argc, char **argv, struct options *o)
{
    *o = (struct options){.count = 1, .seed = 1, .faulty = true, .clean = true};
    for (int i = 1; i < argc; i++) {
        bool more = i + 1 < argc;
        if (strcmp(argv[i], "--trace") == 0) {
            o->trace = true;
        } else if (strcmp(argv[i], "--replay") == 0) {
            o->replay = true;
        } else if (more && strcmp(argv[i], "--count") == 0) {
            if (!read_number(argv[++i], &o->count)) {
                return false;
            }
        } else if (more && strcmp(argv[i], "--seed") == 0) {
            if (!read_number(argv[++i], &o->seed)) {
                return false;
            }
        } else if (more && strcmp(argv[i], "--only") == 0) {
            i++;
            o->clean = strcmp(argv[i], "free") == 0;
            o->faulty = strcmp(argv[i], "faulty") == 0;
        } else {
            return false;
        }
    }
    return o->faulty || o->clean;
}

static void
print_counts(const char *name, const struct counts *c)
{
    (void)printf("%s: %" PRIu64 " recoveries, %" PRIu64 " passes, %" PRIu64
                 " READY periods, %.1f h simulated, %" PRIu64 " looks at a screen, %" PRIu64
                 " of them READY\n",
                 name, c->recoveries, c->passes, c->ready_periods,
                 (double)c->simulated_ms / 3600000.0, c->judged, c->ready_screens);
    (void)printf("    answers of the mechanics %" PRIu64 ", old ones %" PRIu64 "\n", c->answers,
                 c->old_answers);
    if (c->replayed.rows > 0) {
        (void)printf("    judged again: %" PRIu64 " lives, %" PRIu64 " rows, %" PRIu64
                     " judgements compared, %" PRIu64 " of them equal, %" PRIu64
                     " before the first base\n",
                     c->replayed.lives, c->replayed.rows, c->replayed.checked, c->replayed.equal,
                     c->replayed.unchecked);
    }
    (void)printf("    traps %" PRIu64 ", bolters %" PRIu64 ", wave-offs %" PRIu64
                 ", re-orders %" PRIu64 "; digest %016" PRIx64 "\n",
                 c->happening[HAPPENS_TRAP], c->happening[HAPPENS_BOLTER],
                 c->happening[HAPPENS_WAVE_OFF], c->happening[HAPPENS_RE_ORDER], c->digest);
}

static void
print_faults(const struct counts *c)
{
    uint64_t all = 0;
    for (int kind = 0; kind < FAULT_KINDS; kind++) {
        all += c->fault[kind];
    }
    (void)printf("faults: %" PRIu64 ":", all);
    for (int kind = 0; kind < FAULT_KINDS; kind++) {
        (void)printf(" %s %" PRIu64, fault_name((enum fault)kind), c->fault[kind]);
    }
    (void)printf("\n");
    (void)printf("longest READY without right: %" PRIu64 " ms (limit %d; seed %" PRIu64 ")\n",
                 c->late_max_ms, DEADLINE_MS, c->late_max_seed);
    (void)printf("READY again at most %" PRIu64 " ms after the faults ended (limit %d); %" PRIu64
                 " event words spared (a known gap)\n",
                 c->recover_max_ms, RECOVER_LIMIT_MS, c->spared);
}

static bool
at_least(const char *what, uint64_t found, uint64_t wanted)
{
    if (found < wanted) {
        (void)printf("TOO LITTLE HAPPENED: %s %" PRIu64 ", at least %" PRIu64 " wanted\n", what,
                     found, wanted);
    }
    return found >= wanted;
}

/* An empty simulation must not pass. */
static bool
enough(const struct options *o, const struct counts *faulty, const struct counts *clean)
{
    bool ok = true;
    if (o->replay) {
        ok = at_least("judgements compared", faulty->replayed.equal + clean->replayed.equal,
                      50 * o->count) &&
             ok;
    }
    if (o->clean) {
        ok = at_least("recoveries without faults", clean->recoveries, o->count) && ok;
        ok = at_least("passes without faults", clean->passes, 3 * o->count) && ok;
        ok = at_least("READY periods without faults", clean->ready_periods, clean->passes) && ok;
    }
    if (o->faulty && o->count >= SHOW_MINIMUMS_FROM) {
        ok = at_least("recoveries", faulty->recoveries, o->count) && ok;
        ok = at_least("passes", faulty->passes, o->count) && ok;
        ok = at_least("old answers", faulty->old_answers, o->count / 5) && ok;
        ok = at_least("READY periods", faulty->ready_periods, 2 * o->count) && ok;
        for (int kind = 0; kind < FAULT_KINDS; kind++) {
            ok = at_least(fault_name((enum fault)kind), faulty->fault[kind], o->count / 25) && ok;
        }
        for (int kind = 0; kind < HAPPENING_KINDS; kind++) {
            ok = at_least("of a kind of pass", faulty->happening[kind], o->count / 20) && ok;
        }
    }
    return ok;
}

int
main(int argc, char **argv)
{
    struct options o;
    struct counts faulty = {0};
    struct counts clean = {0};
    bool passed = true;
    if (!read_options(argc, argv, &o)) {
        (void)fprintf(stderr, "usage: recoveries --count N --seed S [--trace] "
                              "[--only faulty|free] [--replay]\n");
        return EXIT_USAGE;
    }
    /* The nodes of one ship are megabytes, and given back after each recovery: keep them mapped. */
    (void)mallopt(M_MMAP_THRESHOLD, 1 << 30);
    (void)mallopt(M_TRIM_THRESHOLD, 1 << 30);
    for (uint64_t seed = o.seed; passed && seed < o.seed + o.count; seed++) {
        struct how how = {.faulty = true, .trace = o.trace, .replay = o.replay};
        passed = !o.faulty || recovery_run(seed, &how, &faulty);
        how.faulty = false;
        passed = passed && (!o.clean || recovery_run(seed, &how, &clean));
    }
    if (o.clean) {
        print_counts("without faults", &clean);
        (void)printf("    READY at most %" PRIu64 " ms after an aircraft became the current one "
                     "(limit %d); alerts raised %" PRIu64 "\n",
                     clean.pass_max_ms, PASS_LIMIT_MS, clean.alerts);
    }
    if (o.faulty) {
        print_counts("with faults", &faulty);
        print_faults(&faulty);
    }
    (void)printf("%s\n", passed ? "unsafe READY: 0" : "FAILED");
    return passed && enough(&o, &faulty, &clean) ? 0 : 1;
}
