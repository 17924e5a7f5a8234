/* SPDX-License-Identifier: Apache-2.0 */
/*
 * clock - the only place that reads a clock
 *
 * 1. Ages and limits are measured with the boot clock, which counts through suspend and is never
 *    set; two hosts' boot clocks have nothing to do with each other.
 * 2. The wall clock is for the record and for people. No decision rests on it: it may jump.
 */
#ifndef PROTO_BASE_CLOCK_H
#define PROTO_BASE_CLOCK_H

#include <stdint.h>

/*
 * Read the milliseconds since this host started, suspend included. Never goes back. Does not block.
 */
uint64_t tl_clock_boot_ms(void);

/*
 * Read the milliseconds since 1970-01-01 00:00 UTC by this host's wall clock; 0 if it is set before
 * that. May go back. Does not block.
 */
uint64_t tl_clock_wall_ms(void);

/*
 * Read nanoseconds of a clock that is only good for short spans within one process: what a piece
 * of code takes. Never goes back. Does not block.
 */
uint64_t tl_clock_span_ns(void);

#endif
