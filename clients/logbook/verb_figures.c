/* SPDX-License-Identifier: Apache-2.0 */
/* verb_figures.c - trapline log figures: the questions of numbers. */
#include <inttypes.h>
#include <stdlib.h>

#include "clients/logbook/figures.h"
#include "clients/logbook/verbs.h"
#include "clients/plan/say.h"

enum own_option {
    OPTION_DRILLS = TL_LOG_ASK_OWN,
    OPTION_WIDE
};

enum {
    BAR_COLUMNS = 50
};

/* Marks that need no colour and no locale; whole: the most of all bars. */
static void
print_bar(const char *name, struct tl_share bar)
{
    uint64_t marks =
        bar.whole > BAR_COLUMNS ? (bar.part * BAR_COLUMNS + bar.whole - 1) / bar.whole : bar.part;
    (void)printf("%-14s %5" PRIu64 " ", name, bar.part);
    for (uint64_t i = 0; i < marks; i++) {
        (void)putchar('#');
    }
    (void)putchar('\n');
}

static void
print_intervals(const struct tl_values *values)
{
    struct tl_bins bins;
    uint64_t most = 0;
    char name[64];
    if (values->count == 0) {
        return;
    }
    tl_interval_bins(values, &bins);
    for (size_t i = 0; i < bins.count; i++) {
        most = bins.in[i] > most ? bins.in[i] : most;
    }
    (void)printf("\nIntervals, passes each\n");
    for (size_t i = 0; i < bins.count; i++) {
        uint64_t from_s = (bins.first + i * bins.width) / 1000;
        (void)snprintf(name, sizeof name, "%4" PRIu64 " s %s", from_s,
                       i + 1 == TL_BINS_MAX ? "on" : "");
        print_bar(name, (struct tl_share){bins.in[i], most});
    }
}

static void
print_wires(const struct tl_boarding *boarding)
{
    char name[64];
    uint64_t most = 0;
    for (uint32_t i = 1; i < TL_BOARDING_WIRES_MAX; i++) {
        most = boarding->wire[i] > most ? boarding->wire[i] : most;
    }
    if (most == 0) {
        return;
    }
    (void)printf("\nWires, traps each\n");
    for (uint32_t i = 1; i < TL_BOARDING_WIRES_MAX; i++) {
        if (boarding->wire[i] > 0) {
            (void)snprintf(name, sizeof name, "wire %" PRIu32, i);
            print_bar(name, (struct tl_share){boarding->wire[i], most});
        }
    }
}

static void
print_targets(void)
{
    static const char targets[] =
        "Targets for one operator, as restated, of plants with desks: on average about 1 alert in "
        "10 min, at most 2; at most 10 in any 10 min, more in below 1 % of them; about 80 % "
        "cautions, 15 % warnings, 5 % alarms, below 1 % emergencies; none gone within 10 s "
        "(ISA-18.2-2016 clause 16.4, EEMUA 191; neither read in its own text). --csv and --json "
        "have them beside each figure.";
    (void)putchar('\n');
    tl_say_wrap(targets, stdout);
}

static enum tl_exit
print(struct tl_log *log, struct tl_answer *answer)
{
    struct tl_figures_told *figures = calloc(1, sizeof *figures);
    struct tl_table table;
    if (figures == NULL) {
        return tl_log_refuse(log, TL_EXIT_FAILED, "out of memory");
    }
    bool text = !tl_log_given(log, TL_LOG_JSON) && !tl_log_given(log, TL_LOG_CSV);
    enum tl_exit code = tl_log_folded(
        log, "the figures", tl_figures_fold(answer, tl_log_given(log, OPTION_DRILLS), figures));
    if (code == TL_EXIT_OK) {
        tl_figures_table(figures, &table);
        code = tl_log_print(log, &table, tl_log_given(log, OPTION_WIDE));
        tl_table_free(&table);
    }
    if (code == TL_EXIT_OK && text) {
        print_wires(&figures->group[0].boarding);
        print_intervals(&figures->interval_ms);
        print_targets();
    }
    if (code == TL_EXIT_OK && figures->group[0].boarding.ended == 0) {
        tl_filter_say_empty(log, "pass that ended", &answer->book);
    }
    tl_figures_free(figures);
    free(figures);
    return code;
}

static enum tl_exit
run(struct tl_log *log)
{
    return tl_log_answer(log, print);
}

static const struct tl_option_row rows[] = {
    TL_LOG_ASK,
    [OPTION_DRILLS] = {"--drills", TL_OPTION_FLAG, 0, 0, false, "", "count passes of drills too"},
    [OPTION_WIDE] = {"--wide", TL_OPTION_FLAG, 0, 0, false, "", "all columns as text"},
};

const struct tl_log_command tl_log_figures = {
    .name = "figures",
    .what = "boarding rate, wires, intervals, foul decks, alert rates",
    .text =
        "How passes ended, in numbers, of all, of each recovery and of each type. Boarding "
        "rate: traps of traps, bolters and wave-offs while READY; a wave-off while NOT READY is "
        "a foul deck in the wide sense and not the pilot's. Quartiles lie between the nearest "
        "two values. Alert rates are those of whoever owes the acknowledgement, while a "
        "recovery was open; their targets are of plants with operators at desks, restated, and "
        "stand beside for comparison. Drills are left out and counted.",
    .table = {rows, sizeof rows / sizeof rows[0]},
    .run = run,
};
