/* SPDX-License-Identifier: Apache-2.0 */
/* show.h - `trapline show` and `trapline watch`: look without saying anything. */
#ifndef TL_TOOLS_SHOW_H
#define TL_TOOLS_SHOW_H

/* argv[0] is the subcommand. Exit: 0 READY, 1 NOT READY, 3 no verdict heard, 64, 78. */
int tl_show_main(int argc, char **argv);
int tl_watch_main(int argc, char **argv);

#endif
