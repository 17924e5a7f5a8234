/* SPDX-License-Identifier: Apache-2.0 */
/*
 * options - the command line of trapline-broker
 */
#ifndef BROKER_RELAY_OPTIONS_H
#define BROKER_RELAY_OPTIONS_H

#include <stdbool.h>
#include <stdint.h>

#include "proto/base/err.h"
#include "proto/vocab/limits.h"

struct tl_relay_options {
    const char *dir; /* all borrowed from argv */
    const char *bus;
    const char *metrics;        /* NULL = not given */
    uint64_t incarnation_above; /* 0 = not given */
    bool check_only;
    bool help;
};

/*
 * Read the arguments. out: written on TL_OK only. why: out on error, one line.
 * Errors: TL_BADARG. With help set, nothing else is checked. Uses getopt, so one thread.
 */
TL_MUST_USE enum tl_err tl_relay_options_read(int argc, char **argv, struct tl_relay_options *out,
                                              char why[TL_TEXT_CAP]);

/* What --help prints. */
extern const char tl_relay_help[];

#endif
