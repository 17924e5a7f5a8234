/* SPDX-License-Identifier: Apache-2.0 */
/* paper.h - a record in a folder of its own, and what is written into it */
#ifndef TESTS_RECORDER_PAPER_H
#define TESTS_RECORDER_PAPER_H

#include "broker/recorder/store.h"

#define PAPER_RECOVERY 1700000000000u
#define PAPER_LIFE     7u /* incarnation of every station here */

struct paper {
    char dir[TL_PATH_CAP];
    char path[TL_PATH_CAP];
    struct tl_store *store;
    struct tl_config config;     /* engine-1, engine-2, platform, primary */
    uint64_t validator_sequence; /* last one used by the validator here */
    char why[2 * TL_PATH_CAP];
};

/* A folder is made, the record is opened. Any failure ends the test. */
int paper_setup(void **state);
int paper_teardown(void **state);

void paper_reopen(struct paper *paper);

struct tl_event paper_event(uint32_t pass);
/* A known datum of that kind for one event. */
struct tl_datum paper_datum(enum tl_datum_kind kind, uint32_t slot, uint32_t pass);
/* Write it as change `sequence` of the node; wall clock is the recovery plus sequence seconds. */
void paper_change(struct paper *paper, const char *node, uint64_t sequence, struct tl_datum datum);
/* The validator refused (or applied) it. */
void paper_judged(struct paper *paper, const char *node, uint64_t sequence, bool refused);
/* A prediction, or an expected ram travel, that it took. */
void paper_computed(struct paper *paper, const struct tl_judged *judged);
/* A verdict for the event; rule 0 = READY. */
void paper_verdict(struct paper *paper, uint32_t pass, uint32_t rule, const char *station);
void paper_commit(struct paper *paper);

/* What the file says, read through the program under test: the mark of the node. */
uint64_t paper_through(struct paper *paper, const char *node);

#endif
