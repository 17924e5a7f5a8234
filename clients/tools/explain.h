/* SPDX-License-Identifier: Apache-2.0 */
/* explain.h - `trapline explain`: a rule of the table in plain words. */
#ifndef TL_TOOLS_EXPLAIN_H
#define TL_TOOLS_EXPLAIN_H

/* argv[0] is the subcommand. Exit: 0 printed, 1 it could not be written, 64 usage, 78. */
int tl_explain_main(int argc, char **argv);

#endif
