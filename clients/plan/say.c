/* SPDX-License-Identifier: Apache-2.0 */
/* say.c - see say.h. */
#include "clients/plan/say.h"

#include <jansson.h>
#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

enum {
    LABEL_WIDTH = 44,
    VALUE_WIDTH = 14,
    NUMBER_CAP = 48,
    SENTENCE_CAP = 400,
    JSON_DIGITS = 10
};

struct tl_say {
    json_t *root;
    FILE *text;
    char *bytes; /* of text */
    size_t length;
    bool failed;
};

struct tl_say *
tl_say_open(void)
{
    struct tl_say *say = calloc(1, sizeof *say);
    if (say == NULL) {
        return NULL;
    }
    say->root = json_object();
    say->text = open_memstream(&say->bytes, &say->length);
    say->failed = say->root == NULL || say->text == NULL;
    if (say->failed) {
        tl_say_close(&say);
    }
    return say;
}

void
tl_say_close(struct tl_say **say)
{
    if (*say == NULL) {
        return;
    }
    json_decref((*say)->root);
    if ((*say)->text != NULL) {
        (void)fclose((*say)->text);
    }
    free((*say)->bytes);
    free(*say);
    *say = NULL;
}

const char *
tl_say_digits(double value, int digits, char *dst, size_t cap)
{
    char plain[NUMBER_CAP];
    (void)snprintf(plain, sizeof plain, "%.*f", digits, value);
    const char *at = plain[0] == '-' ? plain + 1 : plain;
    bool zero = strspn(at, "0.") == strlen(at);
    size_t whole = strcspn(at, ".");
    size_t n = 0;
    if (at != plain && !zero && n + 1 < cap) {
        dst[n++] = '-'; /* -0.0 would puzzle */
    }
    for (size_t i = 0; at[i] != '\0' && n + 2 < cap; i++) {
        if (i > 0 && i < whole && (whole - i) % 3 == 0) {
            dst[n++] = ',';
        }
        dst[n++] = at[i];
    }
    dst[n] = '\0';
    return dst;
}

static void
add(struct tl_say *say, const char *key, json_t *value)
{
    if (json_object_set_new(say->root, key, value) != 0) {
        say->failed = true;
    }
}

static void
add_line(struct tl_say *say, const struct tl_say_item *item, const char *value)
{
    int left = LABEL_WIDTH - 2 - (int)strlen(item->label) - 1;
    (void)fprintf(say->text, "  %s ", item->label);
    for (int i = 0; i < left; i++) {
        (void)fputc('.', say->text);
    }
    (void)fprintf(say->text, " %*s%s%s\n", VALUE_WIDTH, value, item->unit[0] != '\0' ? " " : "",
                  item->unit);
}

static json_t *
number_json(double value)
{
    return isfinite(value) ? json_real(value == 0.0 ? 0.0 : value) : json_null();
}

void
tl_say_number(struct tl_say *say, const struct tl_say_item *item, double value)
{
    char text[NUMBER_CAP];
    add(say, item->key, number_json(value));
    add_line(say, item, tl_say_digits(value, item->digits, text, sizeof text));
}

void
tl_say_whole(struct tl_say *say, const struct tl_say_item *item, uint32_t value)
{
    char text[NUMBER_CAP];
    add(say, item->key, json_integer((json_int_t)value));
    add_line(say, item, tl_say_digits(value, 0, text, sizeof text));
}

void
tl_say_word(struct tl_say *say, const struct tl_say_item *item, const char *word)
{
    add(say, item->key, json_string(word));
    add_line(say, item, word);
}

void
tl_say_flag(struct tl_say *say, const struct tl_say_item *item, bool value)
{
    add(say, item->key, json_boolean(value));
    add_line(say, item, value ? "YES" : "no");
}

void
tl_say_unknown(struct tl_say *say, const struct tl_say_item *item)
{
    struct tl_say_item bare = *item;
    bare.unit = "";
    add(say, item->key, json_null());
    add_line(say, &bare, "not given");
}

void
tl_say_heading(struct tl_say *say, const char *fmt, ...)
{
    va_list arguments;
    if (ftell(say->text) > 0) {
        (void)fputc('\n', say->text);
    }
    va_start(arguments, fmt);
    (void)vfprintf(say->text, fmt, arguments);
    va_end(arguments);
    (void)fputc('\n', say->text);
}

/* The array of that key, made when it is not there. Borrowed. */
static json_t *
array_of(struct tl_say *say, const char *key)
{
    json_t *array = json_object_get(say->root, key);
    if (array == NULL) {
        add(say, key, json_array());
        array = json_object_get(say->root, key);
    }
    return array;
}

void
tl_say_table(struct tl_say *say, const struct tl_say_table *table)
{
    (void)array_of(say, table->key);
    for (int line = 0; line < 2; line++) {
        int blanks = 1; /* held back, so that none ends a line */
        for (size_t i = 0; i < table->count; i++) {
            const struct tl_say_column *column = &table->column[i];
            const char *head = line == 0 ? column->label : column->unit;
            int length = (int)strlen(head);
            if (column->width == 0) {
                continue;
            }
            blanks += 1 + column->width - length;
            if (length > 0) {
                (void)fprintf(say->text, "%*s%s", blanks, "", head);
                blanks = 0;
            }
        }
        (void)fputc('\n', say->text);
    }
}

struct tl_cell
tl_cell_number(double value)
{
    return (struct tl_cell){.kind = TL_CELL_NUMBER, .number = value};
}

struct tl_cell
tl_cell_word(const char *word)
{
    return (struct tl_cell){.kind = word != NULL ? TL_CELL_WORD : TL_CELL_UNKNOWN, .word = word};
}

static json_t *
cell_json(const struct tl_cell *cell)
{
    switch (cell->kind) {
    case TL_CELL_NUMBER:
        return number_json(cell->number);
    case TL_CELL_WORD:
        return json_string(cell->word);
    case TL_CELL_FLAG:
        return json_boolean(cell->number > 0.0);
    case TL_CELL_UNKNOWN:
        break;
    }
    return json_null();
}

struct tl_cell
tl_cell_flag(bool value)
{
    return (struct tl_cell){.kind = TL_CELL_FLAG, .number = value ? 1.0 : 0.0};
}

static const char *
cell_text(const struct tl_cell *cell, int digits, char *dst, size_t cap)
{
    if (cell->kind == TL_CELL_NUMBER) {
        return tl_say_digits(cell->number, digits, dst, cap);
    }
    if (cell->kind == TL_CELL_FLAG) {
        return cell->number > 0.0 ? "YES" : "no";
    }
    return cell->kind == TL_CELL_WORD ? cell->word : "-";
}

void
tl_say_row(struct tl_say *say, const struct tl_say_table *table, const struct tl_cell *cells)
{
    json_t *row = json_object();
    (void)fputc(' ', say->text);
    for (size_t i = 0; i < table->count; i++) {
        const struct tl_say_column *column = &table->column[i];
        char text[NUMBER_CAP];
        if (json_object_set_new(row, column->key, cell_json(&cells[i])) != 0) {
            say->failed = true;
        }
        if (column->width > 0) {
            (void)fprintf(say->text, " %*s", column->width,
                          cell_text(&cells[i], column->digits, text, sizeof text));
        }
    }
    (void)fputc('\n', say->text);
    if (json_array_append_new(array_of(say, table->key), row) != 0) {
        say->failed = true;
    }
}

void
tl_say_wrap(const char *text, FILE *out)
{
    int column = 0;
    while (*text != '\0') {
        size_t length = strcspn(text, " ");
        if (column > 0 && column + 1 + (int)length > TL_SAY_WIDTH - 1) {
            (void)fputc('\n', out);
            column = 0;
        }
        column += fprintf(out, "%s%.*s", column > 0 ? " " : "", (int)length, text);
        text += length;
        text += strspn(text, " ");
    }
    (void)fputc('\n', out);
}

void
tl_say_note(struct tl_say *say, const char *fmt, ...)
{
    char sentence[SENTENCE_CAP];
    va_list arguments;
    va_start(arguments, fmt);
    (void)vsnprintf(sentence, sizeof sentence, fmt, arguments);
    va_end(arguments);
    tl_say_wrap(sentence, say->text);
    if (json_array_append_new(array_of(say, "notes"), json_string(sentence)) != 0) {
        say->failed = true;
    }
}

void
tl_say_caution(struct tl_say *say, const char *caution)
{
    char sentence[SENTENCE_CAP];
    add(say, "caution", json_string(caution));
    (void)snprintf(sentence, sizeof sentence, "Caution: %s", caution);
    (void)fputc('\n', say->text);
    tl_say_wrap(sentence, say->text);
}

FILE *
tl_say_lines(struct tl_say *say)
{
    return say->text;
}

enum tl_err
tl_say_print(struct tl_say *say, bool json, FILE *out)
{
    const size_t flags = JSON_PRESERVE_ORDER | JSON_COMPACT | JSON_REAL_PRECISION(JSON_DIGITS);
    if (say->failed || fflush(say->text) != 0) {
        return TL_NOMEM;
    }
    if (json) {
        return json_dumpf(say->root, out, flags) == 0 && fputc('\n', out) != EOF && fflush(out) == 0
                   ? TL_OK
                   : TL_IO;
    }
    return fwrite(say->bytes, 1, say->length, out) == say->length && fflush(out) == 0 ? TL_OK
                                                                                      : TL_IO;
}
