/* SPDX-License-Identifier: Apache-2.0 */
/* pack.h - what a program would send must be what every receiver takes */
#ifndef TESTS_FUZZ_PACK_H
#define TESTS_FUZZ_PACK_H

#include "proto/vocab/message.h"

/*
 * Require that the codec builds that envelope on that topic and decodes it again. What the shell of a
 * node fills in (schema, node, epoch, incarnation, clock) is filled in here where it is 0.
 */
void fuzz_pack(const struct tl_topic *topic, const struct tl_envelope *given);

#endif
