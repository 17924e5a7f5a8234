/* SPDX-License-Identifier: Apache-2.0 */
/* options.c - see options.h. */
#include "clients/plan/options.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "clients/tools/near.h"
#include "proto/base/text.h"

enum {
    SHOWN_CAP = 33, /* of a word that is not understood */
    DIGITS_MAX = 18,
    NAME_EDITS = 4,
    FIGURE_CAP = 32,
    HELP_INDENT = 24,
    HELP_WIDTH = 80
};

/* Half a step may be missing to `to` from rounding, and no more. */
static const double span_slack = 1e-9;

/* What came, so that a terminal may have it. */
static const char *
shown(const char *text, char dst[SHOWN_CAP])
{
    (void)tl_text_plain(dst, SHOWN_CAP, text, strlen(text));
    return dst;
}

/* 1234567 as "1,234,567", 0.25 as "0.25". */
static const char *
figure_text(double value, char dst[FIGURE_CAP])
{
    char digits[FIGURE_CAP];
    (void)snprintf(digits, sizeof digits, "%.10g", value);
    size_t whole = strcspn(digits, ".e");
    size_t n = 0;
    for (size_t i = 0; digits[i] != '\0' && n + 2 < FIGURE_CAP; i++) {
        if (i > 0 && i < whole && (whole - i) % 3 == 0 && digits[i - 1] != '-') {
            dst[n++] = ',';
        }
        dst[n++] = digits[i];
    }
    dst[n] = '\0';
    return dst;
}

/* Digits, with at most one point between digits, and a sign before them: no locale, no exponent. */
static bool
is_decimal(const char *text, size_t length, bool whole)
{
    size_t at = text[0] == '-' ? 1 : 0;
    size_t points = 0;
    if (length == at || length > DIGITS_MAX) {
        return false;
    }
    for (size_t i = at; i < length; i++) {
        bool inside = i > at && i + 1 < length;
        bool point = text[i] == '.' && inside && !whole;
        points += point ? 1 : 0;
        if (!point && (text[i] < '0' || text[i] > '9')) {
            return false;
        }
    }
    return points <= 1;
}

static bool
in_range(const struct tl_option_row *row, double value)
{
    return isfinite(value) && (row->above ? value > row->least : value >= row->least) &&
           value <= row->most;
}

static void
range_text(const struct tl_option_row *row, char *dst, size_t cap)
{
    char least[FIGURE_CAP];
    char most[FIGURE_CAP];
    (void)snprintf(dst, cap, "%s%s to %s%s%s", row->above ? "above " : "",
                   figure_text(row->least, least), figure_text(row->most, most),
                   row->unit[0] != '\0' ? " " : "", row->unit);
}

static enum tl_err
read_number(const struct tl_option_row *row, const char *text, struct tl_option *value, char *why)
{
    char word[SHOWN_CAP];
    char range[2 * FIGURE_CAP + 32];
    bool whole = row->kind == TL_OPTION_WHOLE;
    range_text(row, range, sizeof range);
    if (!is_decimal(text, strlen(text), whole)) {
        (void)snprintf(why, TL_OPTIONS_WHY_CAP, "%s '%s' is not a %snumber; write %s in digits",
                       row->name, shown(text, word), whole ? "whole " : "", range);
        return TL_MALFORMED;
    }
    double number = strtod(text, NULL);
    if (!in_range(row, number)) {
        (void)snprintf(why, TL_OPTIONS_WHY_CAP, "%s %s is out of range; write %s", row->name,
                       shown(text, word), range);
        return TL_MALFORMED;
    }
    value->number = number == 0.0 ? 0.0 : number; /* no -0 on a screen */
    return TL_OK;
}

/* Three decimals with colons between; false when the shape is another. */
static bool
split_span(const char *text, double part[3])
{
    const char *at = text;
    for (int i = 0; i < 3; i++) {
        size_t length = strcspn(at, ":");
        char digits[DIGITS_MAX + 1];
        if (!is_decimal(at, length, false) || at[length] != (i < 2 ? ':' : '\0')) {
            return false;
        }
        (void)snprintf(digits, sizeof digits, "%.*s", (int)length, at);
        part[i] = strtod(digits, NULL);
        at += length + 1;
    }
    return true;
}

static enum tl_err
read_span(const struct tl_option_row *row, const char *text, struct tl_option *value, char *why)
{
    char word[SHOWN_CAP];
    char range[2 * FIGURE_CAP + 32];
    double part[3];
    range_text(row, range, sizeof range);
    if (!split_span(text, part)) {
        (void)snprintf(why, TL_OPTIONS_WHY_CAP,
                       "%s '%s' is not a span; write FROM:TO:STEP in digits, such as 5:30:5",
                       row->name, shown(text, word));
        return TL_MALFORMED;
    }
    if (!in_range(row, part[0]) || !in_range(row, part[1]) || part[1] < part[0]) {
        (void)snprintf(why, TL_OPTIONS_WHY_CAP,
                       "%s %s is out of range; FROM and TO are %s, TO not below FROM", row->name,
                       shown(text, word), range);
        return TL_MALFORMED;
    }
    if (part[2] <= 0.0 || (part[1] - part[0]) / part[2] > TL_SPAN_ROWS_MAX - 1) {
        (void)snprintf(why, TL_OPTIONS_WHY_CAP,
                       "%s %s has no rows or too many; STEP is above 0 and gives at most %d rows",
                       row->name, shown(text, word), TL_SPAN_ROWS_MAX);
        return TL_MALFORMED;
    }
    value->span = (struct tl_span){.from = part[0], .to = part[1], .step = part[2]};
    return TL_OK;
}

static enum tl_err
read_value(const struct tl_option_row *row, const char *text, struct tl_option *value, char *why)
{
    switch (row->kind) {
    case TL_OPTION_NUMBER:
    case TL_OPTION_WHOLE:
        return read_number(row, text, value, why);
    case TL_OPTION_SPAN:
        return read_span(row, text, value, why);
    case TL_OPTION_WORD:
        value->word = text;
        if (text[0] != '\0') {
            return TL_OK;
        }
        break;
    case TL_OPTION_FLAG:
        break;
    }
    (void)snprintf(why, TL_OPTIONS_WHY_CAP, "%s is empty; write %s %s", row->name, row->name,
                   row->unit);
    return TL_MALFORMED;
}

static bool
is_name(const struct tl_option_row *row, const char *word)
{
    size_t length = strlen(row->name);
    return strncmp(word, row->name, length) == 0 &&
           (word[length] == '\0' || (word[length] == '=' && strncmp(word, "--", 2) == 0));
}

static size_t
find_row(const struct tl_option_table *table, const char *word)
{
    size_t i = 0;
    while (i < table->count && !is_name(&table->row[i], word)) {
        i++;
    }
    return i;
}

static void
say_unknown(const struct tl_option_table *table, const char *word, char *why)
{
    char text[SHOWN_CAP];
    char name[SHOWN_CAP];
    const char *near = NULL;
    unsigned best = NAME_EDITS;
    (void)snprintf(name, sizeof name, "%.*s", (int)strcspn(word, "="), word);
    for (size_t i = 0; i < table->count && word[0] == '-'; i++) {
        unsigned edits = tl_edits_between(name, table->row[i].name);
        if (edits < best) {
            best = edits;
            near = table->row[i].name;
        }
    }
    (void)snprintf(why, TL_OPTIONS_WHY_CAP, "'%s' is not an option%s%s%s", shown(word, text),
                   near != NULL ? "; did you mean " : "; --help lists them",
                   near != NULL ? near : "", near != NULL ? "?" : "");
}

/* The option at argv[*at], its value too; *at is then at the last word of it. */
static enum tl_err
read_option(const struct tl_option_table *table, const struct tl_option_words *words, int *at,
            struct tl_option *value, char *why)
{
    const char *word = words->argv[*at];
    size_t i = find_row(table, word);
    if (i == table->count) {
        say_unknown(table, word, why);
        return TL_MALFORMED;
    }
    const struct tl_option_row *row = &table->row[i];
    const char *equals = word[strlen(row->name)] == '=' ? word + strlen(row->name) + 1 : NULL;
    const char *next = *at + 1 < words->argc ? words->argv[*at + 1] : NULL;
    if (value[i].given) {
        (void)snprintf(why, TL_OPTIONS_WHY_CAP, "%s is given twice; give it once", row->name);
        return TL_MALFORMED;
    }
    value[i].given = true;
    if (row->kind == TL_OPTION_FLAG) {
        (void)snprintf(why, TL_OPTIONS_WHY_CAP, "%s takes no value", row->name);
        return equals == NULL ? TL_OK : TL_MALFORMED;
    }
    if (equals == NULL && (next == NULL || find_row(table, next) < table->count)) {
        (void)snprintf(why, TL_OPTIONS_WHY_CAP, "%s has no value; write %s %s", row->name,
                       row->name, row->kind == TL_OPTION_SPAN ? "FROM:TO:STEP" : row->unit);
        return TL_MALFORMED;
    }
    *at += equals == NULL ? 1 : 0;
    return read_value(row, equals != NULL ? equals : next, &value[i], why);
}

enum tl_err
tl_options_read(const struct tl_option_table *table, const struct tl_option_words *words,
                struct tl_option *value, char why[TL_OPTIONS_WHY_CAP])
{
    struct tl_option read[TL_OPTIONS_MAX] = {0};
    for (int at = 1; at < words->argc; at++) {
        enum tl_err err = read_option(table, words, &at, read, why);
        if (err != TL_OK) {
            return err;
        }
    }
    memcpy(value, read, table->count * sizeof *value);
    return TL_OK;
}

uint32_t
tl_span_rows(const struct tl_span *span)
{
    /* `to` is a row of its own when the steps do not meet it. */
    return (uint32_t)ceil((span->to - span->from) / span->step - span_slack) + 1;
}

double
tl_span_at(const struct tl_span *span, uint32_t i)
{
    return i + 1 < tl_span_rows(span) ? span->from + i * span->step : span->to;
}

static void
print_wrapped(const char *text, int column, FILE *out)
{
    while (*text != '\0') {
        size_t length = strcspn(text, " ");
        if (column + 1 + (int)length > HELP_WIDTH) {
            column = fprintf(out, "\n%*s", HELP_INDENT, "") - 1;
        } else if (column > HELP_INDENT) {
            column += fprintf(out, " ");
        }
        column += fprintf(out, "%.*s", (int)length, text);
        text += length;
        text += strspn(text, " ");
    }
    (void)fprintf(out, "\n");
}

void
tl_options_print(const struct tl_option_table *table, FILE *out)
{
    for (size_t i = 0; i < table->count; i++) {
        const struct tl_option_row *row = &table->row[i];
        char range[2 * FIGURE_CAP + 32] = "";
        char text[TL_OPTIONS_WHY_CAP];
        const char *place = "";
        if (row->kind == TL_OPTION_WORD) {
            place = row->unit;
        } else if (row->kind != TL_OPTION_FLAG) {
            range_text(row, range, sizeof range);
            place = row->kind == TL_OPTION_SPAN ? "FROM:TO:STEP" : "N";
        }
        int column = fprintf(out, "  %s %s", row->name, place);
        column += column < HELP_INDENT - 1 ? fprintf(out, "%*s", HELP_INDENT - column, "")
                                           : fprintf(out, "\n%*s", HELP_INDENT, "") - 1 - column;
        (void)snprintf(text, sizeof text, "%s%s%s", row->help, range[0] != '\0' ? "; " : "", range);
        print_wrapped(text, column, out);
    }
}
