/* SPDX-License-Identifier: Apache-2.0 */
/*
 * faults.h - what was wrong with the tool itself: who was lost, what was refused, what is missing.
 *
 * Pure but for the heap. From five places of the record: losses as the validators judged them,
 * alerts of the rules on the picture, times that a validator's first cause against READY was of that
 * kind, refused words, gaps. A loss begins 0.8 s after the station was heard last.
 */
#ifndef CLIENTS_LOGBOOK_FAULTS_H
#define CLIENTS_LOGBOOK_FAULTS_H

#include "clients/logbook/alerts.h"

enum tl_fault_kind {
    TL_FAULT_UNKNOWN = 0,
    TL_FAULT_STATION,   /* lost */
    TL_FAULT_VALIDATOR, /* lost, or validators differ */
    TL_FAULT_BUS,
    TL_FAULT_RECORDER,
    TL_FAULT_TWIN,
    TL_FAULT_REFUSED, /* a publisher, or one number with two messages */
    TL_FAULT_WORD,    /* refused */
    TL_FAULT_GAP,
    TL_FAULT_NOT_READY, /* of kind picture */
    TL_FAULT_OTHER,
    TL_FAULT_KINDS
};

struct tl_fault {
    enum tl_fault_kind kind;
    uint64_t from_ms, to_ms; /* to 0 = not known, or it has no length */
    bool ended;
    char station[TL_ID_CAP]; /* or validator, bus; empty = none named */
    char rule[TL_RULE_NAME_CAP];
    char text[TL_TEXT_CAP];
    uint64_t count; /* of a gap: changes; else 1 */
};
struct tl_faults {
    size_t count, cap;
    struct tl_fault *fault;
};

/* By their beginnings. faults: zeroed; freed by the caller. TL_NOMEM. */
TL_MUST_USE enum tl_err tl_faults_fold(const struct tl_book *book, struct tl_faults *faults);
void tl_faults_free(struct tl_faults *faults);
/* "station lost", ...; never NULL. */
const char *tl_fault_kind_text(enum tl_fault_kind kind);

#endif
