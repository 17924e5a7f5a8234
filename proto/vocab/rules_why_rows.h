/* SPDX-License-Identifier: Apache-2.0 */
/* rules_why_rows.h - the parts of the table of reasons, a file each. See rules_why.h. */
#ifndef TL_VOCAB_RULES_WHY_ROWS_H
#define TL_VOCAB_RULES_WHY_ROWS_H

#include "proto/vocab/rules_why.h"

/* The tool and its data. */
const struct tl_rule_why *tl_rule_why_picture(size_t *count);
/* The aircraft, the order, the settings, the deck, the aid, the wind. */
const struct tl_rule_why *tl_rule_why_pass(size_t *count);
/* Engines, wires, tracks, barricade. */
const struct tl_rule_why *tl_rule_why_gear(size_t *count);

/* Actual weight, wind, the aid's aim, people, the last seconds, computed figures. */
const struct tl_rule_why *tl_rule_why_sea(size_t *count);
/* An engine's state, the last arrest, the pass into the barricade. */
const struct tl_rule_why *tl_rule_why_engine(size_t *count);

#endif
