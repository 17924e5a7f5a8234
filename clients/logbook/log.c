/* SPDX-License-Identifier: Apache-2.0 */
/* log.c - see log.h. */
#include "clients/logbook/log.h"

#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/logbook/print.h"
#include "clients/logbook/record.h"
#include "proto/base/conf.h"
#include "proto/link/join.h"

static const char usage[] =
    "usage: trapline log passes [-C DIR] [--record FILE] [--json]\n"
    "\n"
    "Print the passes of a record, one a row: aircraft, weight ordered, weights set and read\n"
    "back, result. Only words that no validator refused count. Reads the file, joins no bus.\n"
    "\n"
    "  -C DIR         configuration folder (else $TRAPLINE_CONFIG), to find the record\n"
    "  --record FILE  this record; then no configuration folder is needed\n"
    "  --json         one JSON object; docs/json.md lists its fields\n"
    "  --help         this text\n"
    "\n"
    "Exit: 0 printed, 1 the record cannot be read, 3 no record, 64 usage, 78 configuration.\n";

enum {
    WHY_CAP = TL_PATH_CAP + 256
};

struct arguments {
    const char *dir;
    const char *record;
    bool json;
};

static int
print_passes(const char *path, bool json)
{
    struct tl_passes passes = {0};
    char why[WHY_CAP];
    enum tl_err err = tl_record_passes(path, &passes, why, sizeof why);
    int code = err == TL_NOTFOUND ? TL_EXIT_UNANSWERED : TL_EXIT_FAILED;
    if (err != TL_OK) {
        (void)fprintf(stderr, "trapline log: %s\n", why);
    } else if (json && !tl_passes_print_json(&passes, stdout)) {
        (void)fprintf(stderr, "trapline log: the passes could not be written\n");
    } else {
        if (!json) {
            tl_passes_print(&passes, stdout);
        }
        code = fflush(stdout) == 0 ? TL_EXIT_OK : TL_EXIT_FAILED;
    }
    tl_passes_free(&passes);
    return code;
}

/* The record of the configuration in `dir`. */
static int
find_record(const char *dir, char path[TL_PATH_CAP])
{
    struct tl_conf_fault fault;
    struct tl_config *config = malloc(sizeof *config);
    if (config == NULL) {
        (void)fprintf(stderr, "trapline log: out of memory\n");
        return TL_EXIT_FAILED;
    }
    int code = TL_EXIT_OK;
    if (tl_conf_load(dir, config, &fault) != TL_OK) {
        tl_conf_print_fault(&fault);
        code = TL_EXIT_CONFIG;
    } else if (tl_record_find(config, path) != TL_OK) {
        (void)fprintf(stderr, "trapline log: no record of a recorder of stations.yaml in %s\n",
                      config->record_dir);
        code = TL_EXIT_UNANSWERED;
    }
    free(config);
    return code;
}

static int
run(const struct arguments *arguments)
{
    char path[TL_PATH_CAP] = "";
    if (arguments->record != NULL) {
        return print_passes(arguments->record, arguments->json);
    }
    if (arguments->dir == NULL) {
        (void)fprintf(stderr, "trapline log: no record; name it with --record FILE, or the "
                              "configuration folder with -C DIR\n");
        return TL_EXIT_USAGE;
    }
    int code = find_record(arguments->dir, path);
    return code == TL_EXIT_OK ? print_passes(path, arguments->json) : code;
}

int
tl_log_main(int argc, char **argv)
{
    static const struct option options[] = {{"record", required_argument, NULL, 'R'},
                                            {"json", no_argument, NULL, 'j'},
                                            {"help", no_argument, NULL, 'h'},
                                            {NULL, 0, NULL, 0}};
    struct arguments arguments = {.dir = getenv("TRAPLINE_CONFIG")};
    int c = 0;
    optind = 1;
    while ((c = getopt_long(argc, argv, "C:", options, NULL)) != -1) {
        switch (c) {
        case 'C':
            arguments.dir = optarg;
            break;
        case 'R':
            arguments.record = optarg;
            break;
        case 'j':
            arguments.json = true;
            break;
        case 'h':
            (void)fputs(usage, stdout);
            return TL_EXIT_OK;
        default:
            (void)fprintf(stderr, "see trapline log --help\n");
            return TL_EXIT_USAGE;
        }
    }
    if (optind + 1 != argc) {
        (void)fputs(usage, stderr);
        return TL_EXIT_USAGE;
    }
    if (strcmp(argv[optind], "passes") != 0) {
        (void)fprintf(stderr, "trapline log: unknown '%.24s'; there is: passes\n", argv[optind]);
        return TL_EXIT_USAGE;
    }
    return run(&arguments);
}
