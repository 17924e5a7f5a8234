/* SPDX-License-Identifier: Apache-2.0 */
/*
 * conf_value - the text of one setting becomes a value, or a sentence that says why not
 *
 * Private to conf. The schema gives every value as text; what it means is decided here and nowhere
 * else, so that 010, 0x10, 1e4, 34,000 and "flase" are refused rather than guessed.
 *
 * Each function: out is untouched on error; TL_CONFIG with fault is the only error.
 */
#ifndef PROTO_BASE_CONF_VALUE_H
#define PROTO_BASE_CONF_VALUE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "proto/base/conf_file.h"

/* One mapping of a file: the document itself or an item of one of its lists. */
struct tl_conf_item {
    const struct tl_conf_file *file;
    struct tl_conf_fault *fault;
    char path[2 * TL_CONF_KEY_CAP]; /* "nodes[3]"; "" for the document */
};

/* One setting of it. An optional setting that is absent has text "". */
struct tl_conf_field {
    const struct tl_conf_item *item;
    const char *key;
    const char *text;
};

/* Both ends are allowed. For decimals both are in thousandths. */
struct tl_conf_range {
    uint32_t min;
    uint32_t max;
    const char *unit; /* "lb", "s", "" */
};

/* What is still believed of a measure, both ends allowed; its name, which ends in the unit. */
struct tl_conf_span {
    const char *name; /* "half_span_ft" */
    double least, most;
};

/* The document (list NULL), or item number index of a list. */
struct tl_conf_item tl_conf_item_of(const struct tl_conf_file *file, struct tl_conf_fault *fault,
                                    const char *list, size_t index);

/* A fault on the line of that key of the item; key "" is the item. Returns TL_CONFIG. */
TL_MUST_USE enum tl_err tl_conf_say(const struct tl_conf_item *item, const char *key,
                                    const char *fmt, ...) __attribute__((format(printf, 3, 4)));

/* The line that tl_conf_say would name. */
uint32_t tl_conf_item_line(const struct tl_conf_item *item, const char *key);

/* Decimal digits without a leading zero, in range. */
TL_MUST_USE enum tl_err tl_conf_number(struct tl_conf_field field,
                                       const struct tl_conf_range *range, uint32_t *out);

/* Digits, and at most three after one point; in range. */
TL_MUST_USE enum tl_err tl_conf_decimal(struct tl_conf_field field,
                                        const struct tl_conf_range *range, double *out);

/* The same with at most two digits that count after the point, as hundredths. */
TL_MUST_USE enum tl_err tl_conf_hundredths(struct tl_conf_field field,
                                           const struct tl_conf_range *range, uint32_t *out);

/* The same with at most one digit that counts after the point, as tenths. */
TL_MUST_USE enum tl_err tl_conf_tenths(struct tl_conf_field field,
                                       const struct tl_conf_range *range, uint32_t *out);

/* A measure: maybe -, 1 to 9 digits, and at most four after one point; in the span. */
TL_MUST_USE enum tl_err tl_conf_real(struct tl_conf_field field, const struct tl_conf_span *span,
                                     double *out);

/* true or false, and no other word. */
TL_MUST_USE enum tl_err tl_conf_bool(struct tl_conf_field field, bool *out);

/* One of count words; *out is its place. */
TL_MUST_USE enum tl_err tl_conf_choice(struct tl_conf_field field, const char *const *words,
                                       size_t count, size_t *out);

/* An id as the bus knows it: a-z, 0-9 and -, not at either end; 1 to cap - 1 bytes into dst. */
TL_MUST_USE enum tl_err tl_conf_id(struct tl_conf_field field, char *dst, size_t cap);

/* A line for people: not blank, 1 to cap - 1 bytes into dst. */
TL_MUST_USE enum tl_err tl_conf_text(struct tl_conf_field field, char *dst, size_t cap);

#endif
