/* SPDX-License-Identifier: Apache-2.0 */
/*
 * ship.h - an invented ship in memory: the configuration that the pure tests judge by.
 *
 * Four engines; types dunlin, plover, curlew; deck owns CLEAR, platform and primary may foul;
 * two validators unless told otherwise. The same figures as configs/demo, which another test holds.
 */
#ifndef TESTS_SUPPORT_SHIP_H
#define TESTS_SUPPORT_SHIP_H

#include "proto/vocab/config.h"

enum {
    SHIP_DUE_S = 60
};

/* Write the whole configuration; never fails. */
void ship_config(struct tl_config *config, uint32_t validators);

/*
 * The same ship with everyone who has a say: wires, tracks, aid, gear-officer, barricade, safety;
 * every rule on but those on computed figures, the bounds of configs/demo, two tracks; plover and dunlin share a hook-to-eye
 * distance. Primary, gear-officer and safety sign overrides; primary, deck and gear-officer may
 * speak by voice for any other.
 */
void ship_config_full(struct tl_config *config, uint32_t validators);

/* The full ship with so many engines, a wire each: 4 to TL_ENGINES_MAX. */
void ship_config_engines(struct tl_config *config, uint32_t validators, uint32_t engines);

#endif
