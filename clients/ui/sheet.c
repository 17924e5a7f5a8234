/* SPDX-License-Identifier: Apache-2.0 */
/* sheet.c - see sheet.h. */
#include "clients/ui/sheet.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static uint32_t
less(uint32_t a, uint32_t b)
{
    return a < b ? a : b;
}

void
tl_sheet_clear(struct tl_sheet *sheet, struct tl_sheet_size size)
{
    sheet->rows = less(size.rows, TL_SHEET_ROWS_MAX);
    sheet->cols = less(size.cols, TL_SHEET_COLS_MAX);
    for (uint32_t row = 0; row < sheet->rows; row++) {
        for (uint32_t col = 0; col < sheet->cols; col++) {
            sheet->cell[row][col] = (struct tl_cell){.byte = ' ', .ink = TL_INK_PLAIN};
        }
    }
}

static char
printable(char byte)
{
    if (byte >= ' ' && byte <= '~') {
        return byte;
    }
    return '?';
}

/* The first bytes of a text; `cut` says that more belongs there. */
struct part {
    const char *text;
    uint32_t length;
    bool cut;
};

/* The last cell is '>' where more belongs there. Returns the column behind it. */
static uint32_t
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): row before column, as everywhere */
write_part(struct tl_sheet *sheet, uint32_t row, uint32_t col, enum tl_ink ink, struct part part)
{
    for (uint32_t i = 0; i < part.length; i++) {
        sheet->cell[row][col + i] =
            (struct tl_cell){.byte = printable(part.text[i]), .ink = (uint8_t)ink};
    }
    if (part.cut && part.length > 0) {
        sheet->cell[row][col + part.length - 1].byte = '>';
    }
    return col + part.length;
}

uint32_t
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): row, column, width */
tl_sheet_put(struct tl_sheet *sheet, uint32_t row, uint32_t col, uint32_t width, enum tl_ink ink,
             const char *text)
{
    if (row >= sheet->rows || col >= sheet->cols) {
        return col;
    }
    uint32_t room = less(width, sheet->cols - col);
    uint32_t length = (uint32_t)strnlen(text, (size_t)room + 1);
    return write_part(sheet, row, col, ink, (struct part){text, less(length, room), length > room});
}

uint32_t
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): row before column */
tl_sheet_print(struct tl_sheet *sheet, uint32_t row, uint32_t col, enum tl_ink ink,
               const char *format, ...)
{
    char text[2 * TL_SHEET_COLS_MAX];
    va_list values;
    va_start(values, format);
    (void)vsnprintf(text, sizeof text, format, values);
    va_end(values);
    return tl_sheet_put(sheet, row, col, TL_SHEET_COLS_MAX, ink, text);
}

void
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): row, column, width */
tl_sheet_rule(struct tl_sheet *sheet, uint32_t row, uint32_t col, uint32_t width, char byte)
{
    for (uint32_t i = 0; row < sheet->rows && i < width && col + i < sheet->cols; i++) {
        sheet->cell[row][col + i] = (struct tl_cell){.byte = byte, .ink = TL_INK_FAINT};
    }
}

/* How many bytes of text go on a line of `width` cells: whole words, or the part of one that fits. */
static uint32_t
line_length(const char *text, uint32_t width)
{
    uint32_t length = (uint32_t)strnlen(text, (size_t)width + 1);
    if (length <= width) {
        return length;
    }
    for (uint32_t at = width; at > 0; at--) {
        if (text[at] == ' ') {
            return at;
        }
    }
    return width;
}

uint32_t
tl_sheet_fold(struct tl_sheet *sheet, struct tl_area area, enum tl_ink ink, const char *text)
{
    uint32_t used = 0;
    if (area.col >= sheet->cols) {
        return 0;
    }
    uint32_t width = less(area.width, sheet->cols - area.col);
    while (*text != '\0' && used < area.rows && area.row + used < sheet->rows && width > 0) {
        struct part part = {text, line_length(text, width), false};
        part.cut = used + 1 == area.rows && text[part.length] != '\0';
        if (part.cut) {
            part.length = (uint32_t)strnlen(text, width);
        }
        (void)write_part(sheet, area.row + used, area.col, ink, part);
        used++;
        text += part.length;
        text += strspn(text, " ");
    }
    return used;
}

uint32_t
tl_sheet_fold_rows(const char *text, uint32_t width)
{
    uint32_t rows = 0;
    while (*text != '\0' && width > 0) {
        text += line_length(text, width);
        text += strspn(text, " ");
        rows++;
    }
    return rows;
}

const char *
tl_sheet_text(const struct tl_sheet *sheet, uint32_t row, char *dst, size_t cap)
{
    size_t length = row < sheet->rows ? sheet->cols : 0;
    length = length < cap ? length : cap - 1;
    while (length > 0 && sheet->cell[row][length - 1].byte == ' ') {
        length--;
    }
    for (size_t i = 0; i < length; i++) {
        dst[i] = sheet->cell[row][i].byte;
    }
    dst[length] = '\0';
    return dst;
}
