/* SPDX-License-Identifier: Apache-2.0 */
/* options.c - see options.h. */
#include "broker/relay/options.h"

#include <getopt.h>
#include <stdio.h>
#include <string.h>

#include "proto/base/text.h"

const char tl_relay_help[] =
    "usage: trapline-broker -C DIR --bus ID [-n] [--incarnation-above N]\n"
    "                       [--metrics FILE]\n"
    "\n"
    "Runs one bus: takes in what nodes publish, checks who they are and which topic it is, and\n"
    "passes it on unchanged to all who subscribe. It does not read or judge what is said.\n"
    "\n"
    "  -C DIR                  configuration folder\n"
    "  --bus ID                which bus of bus.yaml to run\n"
    "  -n                      read the configuration, say whether it can be used, and end\n"
    "  --incarnation-above N   start with a higher number than N, when others say that they know\n"
    "                          a newer life of this bus\n"
    "  --metrics FILE          keep a page of counters there (docs/monitoring.md)\n"
    "  --help                  this text\n"
    "\n"
    "Says \"ready\" on standard output when it serves. SIGHUP reads keys.yaml again; SIGTERM and\n"
    "SIGINT end it.\n"
    "Exit status: 0 ended as asked, 1 it could not run here, 64 usage, 78 configuration.\n";

enum {
    OPTION_BUS = 256,
    OPTION_ABOVE,
    OPTION_METRICS,
    OPTION_HELP
};

static const struct option LONG_OPTIONS[] = {
    {"bus", required_argument, NULL, OPTION_BUS},
    {"incarnation-above", required_argument, NULL, OPTION_ABOVE},
    {"metrics", required_argument, NULL, OPTION_METRICS},
    {"help", no_argument, NULL, OPTION_HELP},
    {NULL, 0, NULL, 0},
};

static enum tl_err
refuse(char why[TL_TEXT_CAP], const char *what, const char *text)
{
    char plain[TL_ID_CAP];

    (void)tl_text_plain(plain, sizeof plain, what, strlen(what));
    (void)snprintf(why, TL_TEXT_CAP, "%s%s%s; see trapline-broker --help", plain,
                   plain[0] != '\0' ? ": " : "", text);
    return TL_BADARG;
}

static enum tl_err
take(int option, struct tl_relay_options *options, char why[TL_TEXT_CAP])
{
    switch (option) {
    case 'C':
        options->dir = optarg;
        return TL_OK;
    case 'n':
        options->check_only = true;
        return TL_OK;
    case OPTION_BUS:
        options->bus = optarg;
        return TL_OK;
    case OPTION_METRICS:
        options->metrics = optarg;
        return TL_OK;
    case OPTION_HELP:
        options->help = true;
        return TL_OK;
    case OPTION_ABOVE:
        return tl_text_number(optarg, &options->incarnation_above)
                   ? TL_OK
                   : refuse(why, optarg, "--incarnation-above needs a whole number");
    case ':':
        return refuse(why, "", "an option lacks its value");
    default:
        return refuse(why, "", "no such option");
    }
}

enum tl_err
tl_relay_options_read(int argc, char **argv, struct tl_relay_options *out, char why[TL_TEXT_CAP])
{
    struct tl_relay_options options = {.dir = NULL};
    int option;

    optind = 0; /* start over, whoever used getopt before */
    while ((option = getopt_long(argc, argv, "+:C:n", LONG_OPTIONS, NULL)) != -1) {
        enum tl_err err = take(option, &options, why);
        if (err != TL_OK) {
            return err;
        }
        if (options.help) {
            *out = options;
            return TL_OK;
        }
    }
    if (optind < argc) {
        return refuse(why, argv[optind], "not an option");
    }
    if (options.dir == NULL) {
        return refuse(why, "", "-C DIR is missing: name the configuration folder");
    }
    if (options.bus == NULL) {
        return refuse(why, "", "--bus ID is missing: name the bus to run");
    }
    *out = options;
    return TL_OK;
}
