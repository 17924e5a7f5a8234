/* SPDX-License-Identifier: Apache-2.0 */
/* table.c - see table.h: the cells, and text; csv.c and json.c have the other forms. */
#include "clients/logbook/table.h"

#include <stdlib.h>
#include <string.h>

#include "clients/logbook/words.h"

enum {
    FIRST_CAP = 64,
    INDENT = 10,
    CELL_CAP = TL_TABLE_TEXT_CAP + TL_TIME_CAP
};

void
tl_table_init(struct tl_table *table, const char *key, const struct tl_field_column *column,
              int columns)
{
    *table = (struct tl_table){.key = key};
    for (int i = 0; i < columns; i++) {
        tl_table_column(table, &column[i]);
    }
}

void
tl_table_column(struct tl_table *table, const struct tl_field_column *column)
{
    if (table->columns == TL_TABLE_COLUMNS_MAX || table->rows > 0) {
        table->failed = true;
        return;
    }
    table->column[table->columns++] = *column;
}

void
tl_table_free(struct tl_table *table)
{
    for (size_t i = 0; i < table->rows * (size_t)table->columns; i++) {
        free(table->field[i].text);
    }
    for (size_t i = 0; i < table->rows; i++) {
        free(table->heading[i]);
        free(table->note[i]);
    }
    free(table->field);
    free(table->heading);
    free(table->note);
    *table = (struct tl_table){0};
}

/* ---- cells ---- */

static size_t
cell_at(const struct tl_table *table, size_t row, int column)
{
    return row * (size_t)table->columns + (size_t)column;
}

static bool
grow_array(void **data, size_t size)
{
    void *larger = realloc(*data, size);
    *data = larger != NULL ? larger : *data;
    return larger != NULL;
}

static bool
grow(struct tl_table *table)
{
    size_t cap = table->rows_cap == 0 ? FIRST_CAP : 2 * table->rows_cap;
    void *field = table->field;
    void *heading = table->heading;
    void *note = table->note;
    bool good = grow_array(&field, cap * (size_t)table->columns * sizeof *table->field) &&
                grow_array(&heading, cap * sizeof *table->heading) &&
                grow_array(&note, cap * sizeof *table->note);
    table->field = field;
    table->heading = heading;
    table->note = note;
    table->rows_cap = good ? cap : table->rows_cap;
    return good;
}

void
tl_table_row(struct tl_table *table)
{
    if (table->failed || (table->rows == table->rows_cap && !grow(table))) {
        table->failed = true;
        return;
    }
    for (int i = 0; i < table->columns; i++) {
        table->field[cell_at(table, table->rows, i)] = (struct tl_field){0};
    }
    table->heading[table->rows] = NULL;
    table->note[table->rows] = NULL;
    table->rows++;
}

/* The cell of the last row, or NULL when there is none to write to. */
static struct tl_field *
last(struct tl_table *table, int column)
{
    return table->failed || table->rows == 0 || column >= table->columns
               ? NULL
               : &table->field[cell_at(table, table->rows - 1, column)];
}

static char *
keep(struct tl_table *table, const char *text)
{
    char *copy = strdup(text);
    table->failed = table->failed || copy == NULL;
    return copy;
}

void
tl_table_text(struct tl_table *table, int column, const char *text)
{
    struct tl_field *field = last(table, column);
    if (field != NULL && text != NULL && text[0] != '\0') {
        free(field->text);
        field->text = keep(table, text);
        field->known = field->text != NULL;
    }
}

void
tl_table_number(struct tl_table *table, int column, int64_t value)
{
    struct tl_field *field = last(table, column);
    if (field != NULL) {
        field->known = true;
        field->digits = table->column[column].digits;
        field->number = value;
    }
}

void
tl_table_scaled(struct tl_table *table, int column, int64_t value, int digits)
{
    struct tl_field *field = last(table, column);
    tl_table_number(table, column, value);
    if (field != NULL) {
        field->digits = digits;
    }
}

void
tl_table_time(struct tl_table *table, int column, uint64_t wall_ms)
{
    if (wall_ms != 0 && wall_ms <= INT64_MAX) {
        tl_table_number(table, column, (int64_t)wall_ms);
    }
}

void
tl_table_flag(struct tl_table *table, int column, bool value)
{
    tl_table_number(table, column, value ? 1 : 0);
}

void
tl_table_heading(struct tl_table *table, const char *text)
{
    if (!table->failed && table->rows > 0) {
        free(table->heading[table->rows - 1]);
        table->heading[table->rows - 1] = keep(table, text);
    }
}

void
tl_table_note(struct tl_table *table, const char *text)
{
    if (!table->failed && table->rows > 0 && text[0] != '\0') {
        free(table->note[table->rows - 1]);
        table->note[table->rows - 1] = keep(table, text);
    }
}

const struct tl_field *
tl_table_at(const struct tl_table *table, size_t row, int column)
{
    return &table->field[cell_at(table, row, column)];
}

/* ---- text ---- */

static const char *
cell_text(const struct tl_field_column *column, const struct tl_field *field, bool wide,
          char dst[CELL_CAP])
{
    char text[TL_TIME_CAP];
    if (!field->known) {
        return "-";
    }
    switch (column->kind) {
    case TL_FIELD_NUMBER:
        return tl_scaled_text(field->number, field->digits, dst);
    case TL_FIELD_TIME:
        (void)snprintf(dst, CELL_CAP, "%s",
                       wide ? tl_time_text((uint64_t)field->number, text)
                            : tl_clock_text((uint64_t)field->number, text));
        return dst;
    case TL_FIELD_FLAG:
        return field->number != 0 ? "yes" : "no";
    case TL_FIELD_TEXT:
        break;
    }
    return field->text;
}

/* Characters that stand on a terminal, of UTF-8 text: no byte that goes on with one. */
static int
columns_of(const char *text)
{
    int columns = 0;
    for (; *text != '\0'; text++) {
        columns += ((unsigned char)*text & 0xC0u) != 0x80u ? 1 : 0;
    }
    return columns;
}

/* Bytes of the first `columns` characters. */
static int
bytes_of(const char *text, int columns)
{
    int bytes = 0;
    while (text[bytes] != '\0' && (columns > 0 || ((unsigned char)text[bytes] & 0xC0u) == 0x80u)) {
        columns -= ((unsigned char)text[bytes] & 0xC0u) != 0x80u ? 1 : 0;
        bytes++;
    }
    return bytes;
}

static void
print_cell(const char *text, int width, bool right, FILE *out)
{
    int columns = columns_of(text);
    int shown = columns > width ? width : columns;
    (void)fprintf(out, "%*s%.*s%*s", right ? width - shown : 0, "", bytes_of(text, shown), text,
                  right ? 0 : width - shown, "");
}

/* Indented lines of at most the width, broken at blanks. */
static void
print_wrapped(const char *text, FILE *out)
{
    const int room = TL_TABLE_WIDTH - INDENT;
    while (*text != '\0') {
        int len = bytes_of(text, room);
        int at = len;
        while (text[len] != '\0' && at > 0 && text[at] != ' ') {
            at--;
        }
        len = at > 0 ? at : len;
        (void)fprintf(out, "%*s%.*s\n", INDENT, "", len, text);
        text += len;
        text += strspn(text, " ");
    }
}

/* The width of each column; 0 = it is not printed. */
static void
measure(const struct tl_table *table, bool wide, int width[TL_TABLE_COLUMNS_MAX])
{
    char text[CELL_CAP];
    for (int i = 0; i < table->columns; i++) {
        const struct tl_field_column *column = &table->column[i];
        width[i] = 0;
        if (!wide && column->narrow == 0) {
            continue;
        }
        width[i] = columns_of(column->head);
        for (size_t r = 0; r < table->rows; r++) {
            int columns = columns_of(cell_text(column, tl_table_at(table, r, i), wide, text));
            width[i] = columns > width[i] ? columns : width[i];
        }
        if (!wide && column->narrow > 0) {
            width[i] = column->narrow;
        }
    }
}

static bool
is_right(const struct tl_field_column *column)
{
    return column->kind == TL_FIELD_NUMBER;
}

/* One line of cells; row past the last is the heads. */
static void
print_line(const struct tl_table *table, size_t row, const int width[TL_TABLE_COLUMNS_MAX],
           bool wide, FILE *out)
{
    char line[CELL_CAP];
    int end = 0;
    const char *between = "";
    for (int i = 0; i < table->columns; i++) {
        end = width[i] > 0 ? i : end;
    }
    for (int i = 0; i <= end && i < table->columns; i++) {
        const struct tl_field_column *column = &table->column[i];
        if (width[i] == 0) {
            continue;
        }
        const char *text = row < table->rows
                               ? cell_text(column, tl_table_at(table, row, i), wide, line)
                               : column->head;
        bool right = is_right(column);
        int columns = columns_of(text);
        (void)fputs(between, out);
        print_cell(text, i == end && !right && columns < width[i] ? columns : width[i], right, out);
        between = " ";
    }
    (void)fputc('\n', out);
}

bool
tl_table_print(const struct tl_table *table, bool wide, FILE *out)
{
    int width[TL_TABLE_COLUMNS_MAX];
    if (table->failed) {
        return false;
    }
    measure(table, wide, width);
    print_line(table, table->rows, width, wide, out);
    for (size_t r = 0; r < table->rows; r++) {
        if (table->heading[r] != NULL) {
            (void)fprintf(out, "%s\n", table->heading[r]);
        }
        print_line(table, r, width, wide, out);
        if (table->note[r] != NULL) {
            print_wrapped(table->note[r], out);
        }
    }
    return ferror(out) == 0;
}
