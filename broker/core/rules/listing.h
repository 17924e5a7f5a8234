/* SPDX-License-Identifier: Apache-2.0 */
/* listing.h - of all causes that were found, those that are told, in their fixed order. */
#ifndef TL_CORE_RULES_LISTING_H
#define TL_CORE_RULES_LISTING_H

#include "broker/core/rules/check.h"

/*
 * Fill the causes of `out`, their number and how many force. Advice to wave off is first, then by
 * urgency, and in the order of the table within each. When there are more than TL_CAUSES_MAX, one
 * place is taken by LIMIT_REACHED and what matters least falls off: of notes, what is overridden,
 * not yet said, held, unknown, overdue and wrong in this order, and within each, who repeats a rule
 * before the first of a rule; the last first.
 */
void tl_causes_list(struct tl_found *found, struct tl_decision *out);

#endif
