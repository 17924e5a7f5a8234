/* SPDX-License-Identifier: Apache-2.0 */
/*
 * verb_merge.c - trapline log merge: a recorder takes what another has.
 *
 * One program writes records: the recorder, which signs them. This finds it and hands over.
 */
#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "clients/logbook/verbs.h"

static const char program[] = "trapline-recorder";

enum own_option {
    OPTION_INTO = TL_LOG_OWN
};

/* The recorder beside this program; else the path is left to be searched. */
static void
find_program(char path[TL_PATH_CAP])
{
    char own[TL_PATH_CAP - sizeof program - 1];
    ssize_t len = readlink("/proc/self/exe", own, sizeof own - 1);
    own[len > 0 ? len : 0] = '\0';
    char *slash = strrchr(own, '/');
    if (slash != NULL) {
        *slash = '\0';
        (void)snprintf(path, TL_PATH_CAP, "%s/%s", own, program);
    }
    if (slash == NULL || access(path, X_OK) != 0) {
        (void)snprintf(path, TL_PATH_CAP, "%s", program);
    }
}

/* The recorder that is named, else the only one that there is. */
static const char *
find_recorder(struct tl_log *log)
{
    const char *into = tl_log_word(log, OPTION_INTO);
    const char *only = NULL;
    uint32_t count = 0;
    for (uint32_t i = 0; i < log->config->node_count; i++) {
        const struct tl_node *node = &log->config->node[i];
        if (node->kind == TL_NODE_RECORDER) {
            count++;
            only = node->id;
        }
    }
    return into != NULL ? into : (count == 1 ? only : NULL);
}

static enum tl_exit
run(struct tl_log *log)
{
    char path[TL_PATH_CAP];
    char dir[TL_PATH_CAP];
    char node[TL_PATH_CAP];
    char from[TL_PATH_CAP];
    enum tl_exit code = tl_log_configure(log);
    if (code != TL_EXIT_OK) {
        return code;
    }
    if (log->argc != 1 || log->config == NULL) {
        return tl_log_refuse(log, TL_EXIT_USAGE,
                             "name one record to take from, and the configuration folder with -C");
    }
    const char *recorder = find_recorder(log);
    if (recorder == NULL) {
        return tl_log_refuse(log, TL_EXIT_USAGE,
                             "stations.yaml has several recorders; name the one of this host with "
                             "--into ID");
    }
    const char *folder = tl_log_word(log, TL_LOG_DIR);
    (void)snprintf(dir, sizeof dir, "%s", folder != NULL ? folder : getenv("TRAPLINE_CONFIG"));
    (void)snprintf(node, sizeof node, "%s", recorder);
    (void)snprintf(from, sizeof from, "%s", log->argv[0]);
    find_program(path);
    char own[] = "trapline-recorder";
    char option_dir[] = "-C";
    char option_node[] = "--node";
    char option_merge[] = "--merge";
    char *const words[] = {own, option_dir, dir, option_node, node, option_merge, from, NULL};
    (void)fflush(stdout);
    (void)execvp(path, words);
    return tl_log_refuse(log, TL_EXIT_FAILED, "%s cannot be started: %s", path,
                         strerror(errno)); // NOLINT(concurrency-mt-unsafe): one thread
}

static const struct tl_option_row rows[] = {
    TL_LOG_COMMON,
    [OPTION_INTO] = {"--into", TL_OPTION_WORD, 0, 0, false, "ID",
                     "the recorder whose record takes them; needed when there are several"},
};

const struct tl_log_command tl_log_merge = {
    .name = "merge",
    .what = "take the reports that another recorder has and this one lacks",
    .text = "The recorder of this host takes from the record FILE of another what its own record "
            "lacks: reports of stations, and the beats that validators named, each only as its "
            "station signed it. The recorder must not be running meanwhile (stations hold what it "
            "misses); it is started for this by the name trapline-recorder, with its own key. "
            "Whatever is not signed by its station is refused and named; then exit 1.",
    .words = "FILE",
    .table = {rows, sizeof rows / sizeof rows[0]},
    .run = run,
};
