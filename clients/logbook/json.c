/* SPDX-License-Identifier: Apache-2.0 */
/* json.c - see json.h. */
#include "clients/logbook/json.h"

#include "clients/logbook/words.h"

enum {
    PRECISION = 15 /* decimal digits that a double holds: 27.5 is printed as 27.5 */
};

json_t *
tl_scaled_json(int64_t value, int digits)
{
    double scale = 1.0;
    for (int i = 0; i < digits; i++) {
        scale *= 10.0;
    }
    return digits == 0 ? json_integer(value) : json_real((double)value / scale);
}

json_t *
tl_field_json(const struct tl_field_column *column, const struct tl_field *field)
{
    char time[TL_TIME_CAP];
    if (!field->known) {
        return json_null();
    }
    switch (column->kind) {
    case TL_FIELD_NUMBER:
        return tl_scaled_json(field->number, field->digits);
    case TL_FIELD_TIME:
        return json_string(tl_time_text((uint64_t)field->number, time));
    case TL_FIELD_FLAG:
        return json_boolean(field->number != 0);
    case TL_FIELD_TEXT:
        break;
    }
    return json_string(field->text);
}

static json_t *
row_json(const struct tl_table *table, size_t row)
{
    json_t *object = json_object();
    for (int i = 0; i < table->columns && object != NULL; i++) {
        if (json_object_set_new(object, table->column[i].key,
                                tl_field_json(&table->column[i], tl_table_at(table, row, i))) !=
            0) {
            json_decref(object);
            object = NULL;
        }
    }
    return object;
}

json_t *
tl_table_json(const struct tl_table *table)
{
    json_t *list = table->failed ? NULL : json_array();
    for (size_t r = 0; r < table->rows && list != NULL; r++) {
        if (json_array_append_new(list, row_json(table, r)) != 0) {
            json_decref(list);
            list = NULL;
        }
    }
    return list;
}

bool
tl_log_json_print(json_t *object, FILE *out)
{
    size_t flags = JSON_PRESERVE_ORDER | JSON_COMPACT | JSON_REAL_PRECISION(PRECISION);
    bool good = object != NULL && json_dumpf(object, out, flags) == 0 && fputc('\n', out) != EOF;
    json_decref(object);
    return good;
}
