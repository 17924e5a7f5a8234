/* SPDX-License-Identifier: Apache-2.0 */
/*
 * sound - is a loaded configuration free of contradictions?
 *
 * Written again from the list of promises, without a line of the loader, so that a check that the
 * loader forgot is found here.
 */
#ifndef TESTS_CONF_SOUND_H
#define TESTS_CONF_SOUND_H

#include "proto/vocab/config.h"

/* The first promise that does not hold, in words; NULL if all hold. */
const char *sound_fault(const struct tl_config *config);

#endif
