/* SPDX-License-Identifier: Apache-2.0 */
/*
 * compare.h - do two records hold the same reports?
 *
 * A report is named by station, life and sequence. Two recorders may hold it in frames that differ,
 * since a report that is sent again is signed anew: what was said is compared, by the digest that
 * the validators use, else, for rows of an older schema, by its words. The frames of both are what
 * log verify looks at.
 */
#ifndef CLIENTS_LOGBOOK_COMPARE_H
#define CLIENTS_LOGBOOK_COMPARE_H

#include "proto/base/err.h"
#include "proto/vocab/limits.h"

#include <stddef.h>
#include <stdint.h>

struct tl_compared_station {
    char node[TL_ID_CAP];
    uint64_t both, only_first, only_second, differ;
    uint64_t incarnation, sequence; /* of the first that differs or is in one only; 0 = none */
};

enum {
    TL_COMPARED_MAX = 4 * TL_STATIONS_MAX /* records may hold stations of other configurations */
};

struct tl_compared {
    uint32_t count;
    struct tl_compared_station station[TL_COMPARED_MAX]; /* in the order of their ids */
};

/*
 * compared: out, meaningful on TL_OK. why: one sentence on error.
 * Errors: TL_NOTFOUND one of the files is not there; TL_REFUSED a schema that is not known; TL_FULL
 * more stations than fit; TL_NOMEM; TL_IO.
 */
TL_MUST_USE enum tl_err tl_compare(const char *const paths[2], struct tl_compared *compared,
                                   char *why, size_t why_cap);

#endif
