/* SPDX-License-Identifier: Apache-2.0 */
/* computed.h - the ship of the pictures with the rules on computed figures on. */
#ifndef TESTS_ORACLE_COMPUTED_H
#define TESTS_ORACLE_COMPUTED_H

#include "tests/oracle/fields.h"

/* Bounds for those rules, and everything computed for the good picture, at the bound. */
void computed_open(struct scene *scene);

#endif
