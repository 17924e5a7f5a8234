/* SPDX-License-Identifier: Apache-2.0 */
/*
 * writer.h - the page of a program in a file, replaced as a whole every second
 *
 * The program's loop fills a page in memory and hands it over; a thread of its own adds the figures
 * of the process and writes it, so that no loop ever waits for a disk. The file is a new one each
 * time, renamed over the old: a reader finds one page or the next, never a part. Nothing is synced:
 * the page is of use while the program lives. At a regular end it is removed; after a kill it
 * stays, and its trapline_page_timestamp_seconds grows old.
 *
 *   loop:    due --fill--> handed ..... due: the one before is still on its way: skipped, counted
 *   thread:  asleep --handed--> written, or failed: said once, counted, tried with the next
 *
 * Invariants:
 *  1. A call never waits longer than it takes to copy a flag.
 *  2. What cannot be written changes nothing else: not the bus, not the exit status.
 *  3. Nothing is overwritten that is not a page of ours.
 */
#ifndef TL_METRICS_WRITER_H
#define TL_METRICS_WRITER_H

#include "proto/base/err.h"
#include "proto/metrics/page.h"

enum {
    TL_METRICS_MS = 1000
};

struct tl_metrics;

/*
 * Start the thread, with all signals blocked in it; no file is touched yet. path: borrowed until
 * tl_metrics_close; NULL = no page is wanted, and *out stays NULL, which the calls below accept.
 *
 * why: out on error, one sentence. Errors: TL_BADARG the path is empty, too long, or names what is
 * there and is no page of ours; TL_NOMEM; TL_IO no thread.
 */
TL_MUST_USE enum tl_err tl_metrics_open(const char *path, struct tl_metrics **out, char *why,
                                        size_t why_cap);

/*
 * The page to fill, empty, when one is due; NULL when not, or while the one before is on its way.
 * To be handed over before the next call.
 */
struct tl_metrics_page *tl_metrics_due(struct tl_metrics *metrics, uint64_t now_ms);
/* The page is filled but for the process and the last line. */
void tl_metrics_hand(struct tl_metrics *metrics);

/* What every page begins with. */
struct tl_metrics_program {
    const char *program;
    const char *node;
    const char *kind; /* of node: "station", "bus", ... */
    uint32_t schema;  /* of the bus */
    uint64_t incarnation;
    uint64_t uptime_ms;
    uint64_t wall_ms;
};
void tl_metrics_begin(struct tl_metrics_page *page, const struct tl_metrics_program *program);

/*
 * Remove the page and end the thread; one that hangs in the disk is given a second and then left.
 * Accepts NULL; sets the caller's pointer to NULL.
 */
void tl_metrics_close(struct tl_metrics **closing);

#endif
