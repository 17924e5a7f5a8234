/* SPDX-License-Identifier: Apache-2.0 */
/* verb_compare.c - trapline log compare: do two records hold the same reports of each station? */
#include <inttypes.h>
#include <jansson.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>

#include "clients/logbook/compare.h"
#include "clients/logbook/json.h"
#include "clients/logbook/verbs.h"

static bool
is_same(const struct tl_compared_station *station)
{
    return station->only_first + station->only_second + station->differ == 0;
}

static bool
all_same(const struct tl_compared *compared)
{
    for (uint32_t i = 0; i < compared->count; i++) {
        if (!is_same(&compared->station[i])) {
            return false;
        }
    }
    return true;
}

static void
print_text(const char *const paths[2], const struct tl_compared *compared)
{
    (void)printf("A %s\nB %s\n%-23s %9s %9s %9s %9s  %s\n", paths[0], paths[1], "STATION", "BOTH",
                 "ONLY A", "ONLY B", "DIFFER", "FIRST");
    for (uint32_t i = 0; i < compared->count; i++) {
        const struct tl_compared_station *station = &compared->station[i];
        (void)printf("%-23s %9" PRIu64 " %9" PRIu64 " %9" PRIu64 " %9" PRIu64, station->node,
                     station->both, station->only_first, station->only_second, station->differ);
        if (station->sequence != 0) {
            (void)printf("  %" PRIu64 ":%" PRIu64, station->incarnation, station->sequence);
        }
        (void)printf("\n");
    }
    (void)printf("%s\n", all_same(compared) ? "the same reports of every station" : "NOT THE SAME");
}

static json_t *
station_json(const struct tl_compared_station *station)
{
    json_t *first = station->sequence == 0
                        ? json_null()
                        : json_pack("{s:I,s:I}", "incarnation", (json_int_t)station->incarnation,
                                    "sequence", (json_int_t)station->sequence);
    return json_pack("{s:s,s:I,s:I,s:I,s:I,s:o}", "station", station->node, "both",
                     (json_int_t)station->both, "only_a", (json_int_t)station->only_first, "only_b",
                     (json_int_t)station->only_second, "differ", (json_int_t)station->differ,
                     "first", first);
}

static json_t *
compared_json(const char *const paths[2], const struct tl_compared *compared)
{
    json_t *list = json_array();
    for (uint32_t i = 0; i < compared->count && list != NULL; i++) {
        if (json_array_append_new(list, station_json(&compared->station[i])) != 0) {
            json_decref(list);
            list = NULL;
        }
    }
    return json_pack("{s:s,s:s,s:b,s:o}", "a", paths[0], "b", paths[1], "same",
                     all_same(compared) ? 1 : 0, "stations", list);
}

static enum tl_exit
compare(struct tl_log *log, const char *const paths[2], struct tl_compared *compared)
{
    enum tl_err err = tl_compare(paths, compared, log->why, sizeof log->why);
    if (err != TL_OK) {
        return err == TL_NOTFOUND ? TL_EXIT_UNANSWERED : TL_EXIT_FAILED;
    }
    if (!tl_log_given(log, TL_LOG_JSON)) {
        print_text(paths, compared);
    } else if (!tl_log_json_print(compared_json(paths, compared), stdout)) {
        return tl_log_refuse(log, TL_EXIT_FAILED, "the answer could not be written");
    }
    return all_same(compared) ? TL_EXIT_OK : TL_EXIT_FAILED;
}

static enum tl_exit
run(struct tl_log *log)
{
    const char *paths[2] = {NULL, NULL};
    if (log->argc < 1 || log->argc > 2) {
        return tl_log_refuse(log, TL_EXIT_USAGE, "name one record to compare with, or two");
    }
    if (log->argc == 1) {
        enum tl_exit code = tl_log_find(log);
        if (code != TL_EXIT_OK) {
            return code;
        }
        paths[0] = log->path;
        paths[1] = log->argv[0];
    } else {
        paths[0] = log->argv[0];
        paths[1] = log->argv[1];
    }
    if (sodium_init() < 0) {
        return tl_log_refuse(log, TL_EXIT_FAILED, "the library for digests cannot start");
    }
    struct tl_compared *compared = malloc(sizeof *compared);
    if (compared == NULL) {
        return tl_log_refuse(log, TL_EXIT_FAILED, "out of memory");
    }
    enum tl_exit code = compare(log, paths, compared);
    free(compared);
    return code;
}

static const struct tl_option_row rows[] = {TL_LOG_COMMON};

const struct tl_log_command tl_log_compare = {
    .name = "compare",
    .what = "whether two records hold the same reports of each station",
    .text = "Compares the reports of two records, station by station: with one FILE that of the "
            "configuration (or of --record) with it, with two these. A report that was sent again "
            "is signed anew, so what was said is compared. FIRST names the life and sequence of "
            "the first that is in one of them only, or differs. What one lacks, trapline log merge "
            "takes from the other. Exit 1 also when they are not the same.",
    .words = "FILE [FILE]",
    .table = {rows, sizeof rows / sizeof rows[0]},
    .run = run,
};
