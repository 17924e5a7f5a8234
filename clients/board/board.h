/* SPDX-License-Identifier: Apache-2.0 */
/* board.h - `trapline board`: the combined recovery-readiness picture on a whole terminal. */
#ifndef TL_BOARD_BOARD_H
#define TL_BOARD_BOARD_H

/* Arguments as of main; returns an exit code (enum tl_exit; 1 when it ends with NOT READY). */
int tl_board_main(int argc, char **argv);

#endif
