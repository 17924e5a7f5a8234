/* SPDX-License-Identifier: Apache-2.0 */
/* arguments.c - see arguments.h. */
#include "proto/link/arguments.h"

#include <getopt.h>
#include <stdio.h>

#include "proto/base/text.h"
#include "proto/link/join.h"

enum {
    OPTION_CAP = 40,
    LINE_CAP = 160
};

static void
print_usage(const char *const words[TL_ARGUMENTS_WORDS], FILE *out)
{
    const char *option = words[TL_ARGUMENTS_OPTION];
    const char *flag = words[TL_ARGUMENTS_FLAG];
    char usage[OPTION_CAP] = "";
    char does[LINE_CAP] = "";
    if (option != NULL) {
        char name[OPTION_CAP];
        (void)snprintf(usage, sizeof usage, " [--%s FILE]", option);
        (void)snprintf(name, sizeof name, "--%s FILE", option);
        (void)snprintf(does, sizeof does, "  %-23s  %s\n", name, words[TL_ARGUMENTS_OPTION_DOES]);
    }
    if (flag != NULL) {
        char name[OPTION_CAP];
        (void)snprintf(usage, sizeof usage, " [--%s]", flag);
        (void)snprintf(name, sizeof name, "--%s", flag);
        (void)snprintf(does, sizeof does, "  %-23s  %s\n", name, words[TL_ARGUMENTS_FLAG_DOES]);
    }
    (void)fprintf(
        out,
        "usage: %s -C DIR --node ID [--incarnation-above N] [--metrics FILE]%s [-n]\n"
        "\n"
        "%s\n"
        "\n"
        "  -C DIR                   configuration folder\n"
        "  --node ID                which %s of stations.yaml this is\n"
        "  --incarnation-above N    take an incarnation above N (after 'old incarnation')\n"
        "  --metrics FILE           keep a page of counters there (docs/monitoring.md)\n"
        "%s"
        "  -n                       check the configuration and stop\n"
        "  --help                   this text\n"
        "\n"
        "SIGHUP reads keys.yaml again. Exit: 0 ended by a signal, 1 failed, 64 usage,\n"
        "78 configuration.\n",
        words[TL_ARGUMENTS_PROGRAM], usage, words[TL_ARGUMENTS_DOES], words[TL_ARGUMENTS_WHAT],
        does);
}

int
tl_arguments_read(int argc, char **argv, const char *const words[TL_ARGUMENTS_WORDS],
                  struct tl_arguments *arguments)
{
    const bool is_flag = words[TL_ARGUMENTS_FLAG] != NULL;
    const struct option own = {is_flag ? words[TL_ARGUMENTS_FLAG] : words[TL_ARGUMENTS_OPTION],
                               is_flag ? no_argument : required_argument, NULL,
                               is_flag ? 'G' : 'F'};
    const struct option options[] = {{"node", required_argument, NULL, 'N'},
                                     {"incarnation-above", required_argument, NULL, 'I'},
                                     {"metrics", required_argument, NULL, 'M'},
                                     {"help", no_argument, NULL, 'h'},
                                     own,
                                     {NULL, 0, NULL, 0}}; /* an own one without a name ends it */
    const char *program = words[TL_ARGUMENTS_PROGRAM];
    int c = 0;
    while ((c = getopt_long(argc, argv, "C:n", options, NULL)) != -1) {
        switch (c) {
        case 'C':
            arguments->dir = optarg;
            break;
        case 'N':
            arguments->node = optarg;
            break;
        case 'I':
            if (!tl_text_number(optarg, &arguments->above)) {
                (void)fprintf(stderr, "%s: --incarnation-above takes a number\n", program);
                return TL_EXIT_USAGE;
            }
            break;
        case 'M':
            arguments->metrics = optarg;
            break;
        case 'F':
            arguments->file = optarg;
            break;
        case 'G':
            arguments->flag = true;
            break;
        case 'n':
            arguments->check_only = true;
            break;
        case 'h':
            print_usage(words, stdout);
            return TL_EXIT_OK;
        default:
            (void)fprintf(stderr, "see %s --help\n", program);
            return TL_EXIT_USAGE;
        }
    }
    if (arguments->dir == NULL || arguments->node == NULL || optind != argc) {
        print_usage(words, stderr);
        return TL_EXIT_USAGE;
    }
    return -1;
}
