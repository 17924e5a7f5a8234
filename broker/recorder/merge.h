/* SPDX-License-Identifier: Apache-2.0 */
/*
 * merge.h - what another recorder has and this one lacks: its reports, verified one by one
 *
 * Reports are taken, and the beats that validators named; both only in their frames, as their
 * stations signed them, named by station, life and sequence. What a validator judged and computed is
 * not signed row by row, and stays where it is. A gap that is filled stays a gap of the bus.
 */
#ifndef TL_RECORDER_MERGE_H
#define TL_RECORDER_MERGE_H

#include "proto/link/join.h"

/*
 * Add to this recorder's record what the one at `from` has. All of it or, on an error, nothing.
 * Prints what was done. join: its configuration and identity. Returns an exit code: 0 every row was
 * good, 1 some was not and was left out, or nothing could be done.
 */
int tl_merge_run(const struct tl_join *join, const char *from);

#endif
