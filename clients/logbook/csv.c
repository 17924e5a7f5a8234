/* SPDX-License-Identifier: Apache-2.0 */
/*
 * csv.c - a table as RFC 4180 has it: see table.h.
 *
 * A text that begins as a formula does in a spreadsheet gets an apostrophe before it, quoted or
 * not: a side number or a name from a record must not be computed with. Numbers are ours.
 */
#include <string.h>

#include "clients/logbook/table.h"
#include "clients/logbook/words.h"

static const char line_end[] = "\r\n";

static void
put_text(const char *text, FILE *out)
{
    bool formula = text[0] != '\0' && strchr("=+-@\t\r", text[0]) != NULL;
    bool quoted = strpbrk(text, ",\"\r\n") != NULL;
    if (quoted) {
        (void)fputc('"', out);
    }
    if (formula) {
        (void)fputc('\'', out);
    }
    for (; *text != '\0'; text++) {
        if (*text == '"') {
            (void)fputc('"', out);
        }
        (void)fputc(*text, out);
    }
    if (quoted) {
        (void)fputc('"', out);
    }
}

static void
put_field(const struct tl_field_column *column, const struct tl_field *field, FILE *out)
{
    char text[TL_NUMBER_CAP > TL_TIME_CAP ? TL_NUMBER_CAP : TL_TIME_CAP];
    if (!field->known) {
        return;
    }
    switch (column->kind) {
    case TL_FIELD_NUMBER:
        (void)fputs(tl_scaled_text(field->number, field->digits, text), out);
        break;
    case TL_FIELD_TIME:
        (void)fputs(tl_time_text((uint64_t)field->number, text), out);
        break;
    case TL_FIELD_FLAG:
        (void)fputs(field->number != 0 ? "true" : "false", out);
        break;
    case TL_FIELD_TEXT:
        put_text(field->text, out);
        break;
    }
}

bool
tl_table_print_csv(const struct tl_table *table, FILE *out)
{
    if (table->failed) {
        return false;
    }
    for (int i = 0; i < table->columns; i++) {
        (void)fputs(i > 0 ? "," : "", out);
        put_text(table->column[i].key, out);
    }
    (void)fputs(line_end, out);
    for (size_t r = 0; r < table->rows; r++) {
        for (int i = 0; i < table->columns; i++) {
            (void)fputs(i > 0 ? "," : "", out);
            put_field(&table->column[i], tl_table_at(table, r, i), out);
        }
        (void)fputs(line_end, out);
    }
    return ferror(out) == 0;
}
