/* SPDX-License-Identifier: Apache-2.0 */
/*
 * sheet.h - a page of a screen as plain cells: what is written where, before any terminal sees it.
 *
 * Pure. A cell holds one printable ASCII byte, so the page reads the same on every terminal and in
 * every locale; whatever else is put into it stands there as '?'. Ink only repeats what the words
 * say: a page whose ink is thrown away has lost nothing.
 */
#ifndef TL_UI_SHEET_H
#define TL_UI_SHEET_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* The last line of a screen that goes. */
#define TL_UI_ENDED "NOT READY: this screen has ended"

enum {
    TL_SHEET_ROWS_MAX = 100,
    TL_SHEET_COLS_MAX = 250
};

enum tl_ink {
    TL_INK_PLAIN = 0,
    TL_INK_STRONG, /* what must be seen first */
    TL_INK_FAINT,  /* what is only there to be looked up */
    TL_INK_BAD,    /* stands against READY */
    TL_INK_GOOD,   /* the word READY alone */
    TL_INK_DOUBT,  /* unknown, old */
    TL_INK_MARK    /* the small mark of what is not acknowledged */
};

struct tl_cell {
    char byte;
    uint8_t ink; /* enum tl_ink */
};
struct tl_sheet {
    uint32_t rows, cols;
    struct tl_cell cell[TL_SHEET_ROWS_MAX][TL_SHEET_COLS_MAX];
};

struct tl_sheet_size {
    uint32_t rows, cols;
};
/* All blanks; a page that is larger than the limits is cut to them. */
void tl_sheet_clear(struct tl_sheet *sheet, struct tl_sheet_size size);

/*
 * Write `text` from that cell on, at most `width` cells and never past the right edge. Text that
 * does not fit ends with '>'. Rows and columns count from 0; what is outside is not written.
 * Returns the column behind what was written.
 */
uint32_t tl_sheet_put(struct tl_sheet *sheet, uint32_t row, uint32_t col, uint32_t width,
                      enum tl_ink ink, const char *text);
/* The same to the right edge, as printf does. */
uint32_t tl_sheet_print(struct tl_sheet *sheet, uint32_t row, uint32_t col, enum tl_ink ink,
                        const char *format, ...) __attribute__((format(printf, 5, 6)));
/* One byte over `width` cells. */
void tl_sheet_rule(struct tl_sheet *sheet, uint32_t row, uint32_t col, uint32_t width, char byte);

struct tl_area {
    uint32_t row, col, width, rows;
};
/*
 * Write `text` folded at blanks into that area. Returns the rows used; a text that needs more than
 * there are ends with '>'.
 */
uint32_t tl_sheet_fold(struct tl_sheet *sheet, struct tl_area area, enum tl_ink ink,
                       const char *text);
/* How many rows of `width` cells it takes to fold that text; 0 for an empty one. */
uint32_t tl_sheet_fold_rows(const char *text, uint32_t width);

/* The row as text without blanks at its end; `dst` takes TL_SHEET_COLS_MAX + 1 bytes. */
const char *tl_sheet_text(const struct tl_sheet *sheet, uint32_t row, char *dst, size_t cap);

#endif
