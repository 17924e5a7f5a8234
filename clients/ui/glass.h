/* SPDX-License-Identifier: Apache-2.0 */
/*
 * glass.h - the terminal under a sheet: curses, and nothing else of it anywhere.
 *
 * One glass a process, on standard input and output. Only cells that have changed are written. The
 * terminal is given back on every way out but SIGKILL: by tl_glass_close, and by the handlers of
 * the signals that kill (abort, segmentation fault, ...), which then let the signal do its work. No
 * page is left standing behind it.
 */
#ifndef TL_UI_GLASS_H
#define TL_UI_GLASS_H

#include "clients/ui/sheet.h"
#include "proto/base/err.h"

/* Whether standard input and output are one terminal that can be written to at any place. */
bool tl_glass_possible(void);

/*
 * Take the terminal. Colour is used unless NO_COLOR is set and not empty, or the terminal has none.
 * TL_IO with a sentence in `why` (cap bytes): it cannot be done here.
 */
TL_MUST_USE enum tl_err tl_glass_open(char *why, size_t cap);
void tl_glass_close(void);

/* As it is now, and no larger than a sheet may be. */
struct tl_sheet_size tl_glass_size(void);
/*
 * Read the keyboard of who only looks: n is night or day, CTRL-L paints anew. False: q or CTRL-C, or the
 * terminal is gone.
 */
bool tl_glass_goes_on(bool *night);

/*
 * Show the sheet but its very last cell, which makes some terminals scroll; by night nothing is bright
 * or reversed. cursor row < 0: hidden.
 */
void tl_glass_paint(const struct tl_sheet *sheet, bool night, int cursor_row, int cursor_col);
/* Write everything anew with the next paint. */
void tl_glass_repaint(void);
void tl_glass_ring(void);

#endif
