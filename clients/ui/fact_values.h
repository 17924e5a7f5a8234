/* SPDX-License-Identifier: Apache-2.0 */
/* fact_values.h - what stands in each row of facts.h, from the words of the picture alone. */
#ifndef TL_UI_FACT_VALUES_H
#define TL_UI_FACT_VALUES_H

#include "clients/ui/facts.h"

/*
 * Fill value, needed and places of an empty row; the picture is there. GOOD: every word of it is
 * known (which is not yet that it is right). UNKNOWN: one is not. UNUSED: this ship has none.
 */
enum tl_fact_state tl_fact_values(const struct tl_ui_state *state, enum tl_fact_row row,
                                  struct tl_fact *fact);

#endif
