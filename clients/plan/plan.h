/* SPDX-License-Identifier: Apache-2.0 */
/* plan.h - `trapline plan`: figures to plan a recovery with. Joins no bus and needs no keys. */
#ifndef CLIENTS_PLAN_PLAN_H
#define CLIENTS_PLAN_PLAN_H

/* argv[0] is the subcommand. Exit: 0 printed, 1 it could not be written, 64 usage, 78. */
int tl_plan_main(int argc, char **argv);

#endif
