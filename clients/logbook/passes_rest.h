/* SPDX-License-Identifier: Apache-2.0 */
/* passes_rest.h - what a pass takes from words that do not name it, and from other tables. */
#ifndef CLIENTS_LOGBOOK_PASSES_REST_H
#define CLIENTS_LOGBOOK_PASSES_REST_H

#include "clients/logbook/passes.h"

/*
 * Fill in arrest and engine, inbound aircraft, accumulator, intervals, predictions, verdicts,
 * overrides and drill. passes: sorted. Errors: TL_NOMEM.
 */
TL_MUST_USE enum tl_err tl_passes_rest(const struct tl_book *book, const struct tl_config *config,
                                       struct tl_passes *passes);

#endif
