/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_tables - the tables of the codec are the schema, whole
 *
 * A field or an enum value added to trapline.proto without its row, or without a place in a golden
 * message, fails here.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "proto/codec/check.h"
#include "proto/codec/enums.h"
#include "proto/codec/field.h"
#include "tests/codec/samples.h"
#include "tests/codec/support.h"

enum {
    MESSAGES_MAX = 96,
    FIELDS_MAX = 64,
    DISTANCE_MIN = 3
};

/* Every message that an envelope can hold, each once. */
struct census {
    size_t count;
    const struct tl_check_message *tables[MESSAGES_MAX];
    bool seen[MESSAGES_MAX][FIELDS_MAX]; /* set in some golden message */
};

static size_t
find_table(const struct census *census, const ProtobufCMessageDescriptor *descriptor)
{
    size_t i = 0;
    while (i < census->count && census->tables[i]->descriptor != descriptor) {
        i++;
    }
    return i;
}

static void
collect(struct census *census, const struct tl_check_message *table)
{
    size_t at = find_table(census, table->descriptor);

    if (at < census->count) {
        assert_ptr_equal(census->tables[at], table); /* one table a message */
        return;
    }
    assert_true(census->count < MESSAGES_MAX);
    census->tables[census->count++] = table;
    for (size_t i = 0; i < table->count; i++) {
        if (table->rows[i].sub != NULL) {
            collect(census, table->rows[i].sub);
        }
    }
}

static bool
suits(const struct tl_check_row *row, const ProtobufCFieldDescriptor *field)
{
    const struct tl_check_message *sub = row->sub;

    switch (row->kind) {
    case TL_CHECK_UINT:
        return (field->type == PROTOBUF_C_TYPE_UINT32 || field->type == PROTOBUF_C_TYPE_UINT64) &&
               row->max > 0;
    case TL_CHECK_SINT:
        return (field->type == PROTOBUF_C_TYPE_SINT32 || field->type == PROTOBUF_C_TYPE_SINT64) &&
               row->min < 0 && row->max > 0;
    case TL_CHECK_FLAG:
        return field->type == PROTOBUF_C_TYPE_BOOL && !row->required;
    case TL_CHECK_ENUM:
        return field->type == PROTOBUF_C_TYPE_ENUM;
    case TL_CHECK_ID:
    case TL_CHECK_TYPE:
        return field->type == PROTOBUF_C_TYPE_STRING;
    case TL_CHECK_TEXT:
        return field->type == PROTOBUF_C_TYPE_STRING && row->max > 0;
    case TL_CHECK_BYTES:
        return field->type == PROTOBUF_C_TYPE_BYTES && row->max > 0;
    case TL_CHECK_MESSAGE:
        return field->type == PROTOBUF_C_TYPE_MESSAGE && sub->descriptor == field->descriptor;
    case TL_CHECK_VALUE:
        return field->type == PROTOBUF_C_TYPE_MESSAGE && sub->descriptor == field->descriptor &&
               row->max > 0 && sub->count == 1 && sub->rows[0].kind == TL_CHECK_SINT;
    case TL_CHECK_NONE:
        break;
    }
    return false;
}

static void
tables_every_field_has_its_row(void **state)
{
    struct census census = {0};
    size_t fields = 0;

    (void)state;
    collect(&census, &tl_check_envelope);
    for (size_t i = 0; i < census.count; i++) {
        const struct tl_check_message *table = census.tables[i];
        const ProtobufCMessageDescriptor *descriptor = table->descriptor;
        if (table->count != descriptor->n_fields) {
            fail_msg("%s: %zu rows for %u fields", descriptor->name, table->count,
                     descriptor->n_fields);
        }
        for (size_t j = 0; j < table->count; j++) {
            const ProtobufCFieldDescriptor *field = &descriptor->fields[j];
            bool repeated = field->label == PROTOBUF_C_LABEL_REPEATED;
            if (table->rows[j].field != field->id || !suits(&table->rows[j], field) ||
                (table->rows[j].count_max > 0) != repeated) {
                fail_msg("%s.%s: its row does not suit it", descriptor->name, field->name);
            }
            fields++;
        }
    }
    print_message("%zu messages, %zu fields\n", census.count, fields);
}

/* Every sub-message of the schema is reached; a field of a type without table would be missed. */
static void
tables_every_message_field_leads_to_a_table(void **state)
{
    struct census census = {0};

    (void)state;
    collect(&census, &tl_check_envelope);
    for (size_t i = 0; i < census.count; i++) {
        const ProtobufCMessageDescriptor *descriptor = census.tables[i]->descriptor;
        for (unsigned j = 0; j < descriptor->n_fields; j++) {
            const ProtobufCFieldDescriptor *field = &descriptor->fields[j];
            if (field->type == PROTOBUF_C_TYPE_MESSAGE &&
                find_table(&census, field->descriptor) == census.count) {
                fail_msg("%s.%s: no table", descriptor->name, field->name);
            }
        }
    }
}

static void
mark_fields(struct census *census, const ProtobufCMessage *message)
{
    size_t at = find_table(census, message->descriptor);

    assert_true(at < census->count);
    for (unsigned i = 0; i < message->descriptor->n_fields; i++) {
        const ProtobufCFieldDescriptor *field = &message->descriptor->fields[i];
        size_t count = tl_field_count(message, field);
        census->seen[at][i] = census->seen[at][i] || count > 0;
        for (size_t j = 0; field->type == PROTOBUF_C_TYPE_MESSAGE && j < count; j++) {
            mark_fields(census, tl_field_message(message, field, j));
        }
    }
}

static void
tables_every_field_is_set_in_some_golden_message(void **state)
{
    struct world *world = *state;
    struct census *census = calloc(1, sizeof *census);
    uint8_t bytes[TL_FRAME_MAX];
    size_t count;
    size_t missing = 0;
    const struct sample *samples = samples_all(&count);

    assert_non_null(census);
    collect(census, &tl_check_envelope);
    for (size_t i = 0; i < count; i++) {
        struct tl_arena arena;
        wire_envelope *envelope = NULL;
        size_t len = golden_read(samples[i].name, bytes, sizeof bytes);
        tl_arena_init(&arena, &world->codec);
        assert_int_equal(tl_unpack(&arena, bytes, len, &envelope), TL_FAULT_NONE);
        mark_fields(census, &envelope->base);
    }
    for (size_t i = 0; i < census->count; i++) {
        const ProtobufCMessageDescriptor *descriptor = census->tables[i]->descriptor;
        for (unsigned j = 0; j < descriptor->n_fields; j++) {
            if (!census->seen[i][j]) {
                print_error("%s.%s is in no golden message\n", descriptor->name,
                            descriptor->fields[j].name);
                missing++;
            }
        }
    }
    free(census);
    assert_int_equal(missing, 0);
}

static void
tables_a_field_without_its_row_is_refused(void **state)
{
    struct world *world = *state;
    struct tl_arena arena;
    uint8_t bytes[TL_FRAME_MAX];
    wire_envelope *envelope = NULL;
    struct tl_check_row rows[2];
    struct tl_check_message table = tl_check_event;
    size_t len = golden_read("change", bytes, sizeof bytes);

    tl_arena_init(&arena, &world->codec);
    assert_int_equal(tl_unpack(&arena, bytes, len, &envelope), TL_FAULT_NONE);
    const ProtobufCMessage *event = &envelope->event->base;
    memcpy(rows, tl_check_event.rows, sizeof rows);
    table.rows = rows;
    assert_int_equal(tl_check_message(&table, event), TL_FAULT_NONE);
    table.count = 1;
    assert_int_equal(tl_check_message(&table, event), TL_REFUSAL_NEWER_SCHEMA);
    table.count = 2;
    rows[1].field = 3;
    assert_int_equal(tl_check_message(&table, event), TL_REFUSAL_NEWER_SCHEMA);
    rows[1].field = 2;
    rows[1].kind = TL_CHECK_NONE;
    assert_int_equal(tl_check_message(&table, event), TL_REFUSAL_NEWER_SCHEMA);
}

/* The numbers of both sides are equal, which shows a row that maps a value to its neighbour. */
static void
tables_every_enum_value_is_mapped_to_its_equal(void **state)
{
    (void)state;
    for (int id = 0; id < TL_ENUMS; id++) {
        const struct tl_enum_table *table = tl_enum_table((enum tl_enum)id);
        const ProtobufCEnumDescriptor *descriptor = table->descriptor;
        if (table->count != descriptor->n_values) {
            fail_msg("%s: %zu rows for %u values", descriptor->name, table->count,
                     descriptor->n_values);
        }
        for (unsigned i = 0; i < descriptor->n_values; i++) {
            uint32_t value = (uint32_t)descriptor->values[i].value;
            uint32_t wire = 999;
            if (tl_enum_from_wire((enum tl_enum)id, value) != value ||
                !tl_enum_to_wire((enum tl_enum)id, value, &wire) || wire != value) {
                fail_msg("%s: %s is another value on our side", descriptor->name,
                         descriptor->values[i].name);
            }
        }
    }
}

static void
tables_another_enum_value_is_unknown(void **state)
{
    (void)state;
    for (int id = 0; id < TL_ENUMS; id++) {
        uint32_t wire = 999;
        assert_int_equal(tl_enum_from_wire((enum tl_enum)id, 77), 0);
        assert_int_equal(tl_enum_from_wire((enum tl_enum)id, UINT32_MAX), 0);
        assert_false(tl_enum_to_wire((enum tl_enum)id, 77, &wire));
        assert_int_equal(wire, 999);
    }
}

/* Bits between that row and the nearest of those before it. */
static int
measure_distance(const struct tl_enum_table *table, size_t row)
{
    int nearest = 32;

    for (size_t i = 0; i < row; i++) {
        int bits = __builtin_popcount(table->rows[row].wire ^ table->rows[i].wire);
        nearest = bits < nearest ? bits : nearest;
    }
    return nearest;
}

/* One or two flipped bits make no value of these into another. */
static void
tables_values_toward_ready_are_far_from_all_others(void **state)
{
    static const enum tl_enum ids[] = {
        TL_ENUM_RECOVERY_STATE, TL_ENUM_ORDER_STATE, TL_ENUM_BATTERY_STATE,
        TL_ENUM_DECK_STATE,     TL_ENUM_HOOK_STATE,  TL_ENUM_PASS_OUTCOME,
        TL_ENUM_WIND_STATE,     TL_ENUM_LIVENESS,    TL_ENUM_VERDICT_WORD,
    };

    (void)state;
    for (size_t i = 0; i < sizeof ids / sizeof ids[0]; i++) {
        const struct tl_enum_table *table = tl_enum_table(ids[i]);
        for (size_t row = 1; row < table->count; row++) {
            int distance = measure_distance(table, row);
            if (distance < DISTANCE_MIN) {
                fail_msg("%s: %u is %d bits from another", table->descriptor->name,
                         table->rows[row].wire, distance);
            }
        }
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tables_every_field_has_its_row),
        cmocka_unit_test(tables_every_message_field_leads_to_a_table),
        cmocka_unit_test(tables_every_field_is_set_in_some_golden_message),
        cmocka_unit_test(tables_a_field_without_its_row_is_refused),
        cmocka_unit_test(tables_every_enum_value_is_mapped_to_its_equal),
        cmocka_unit_test(tables_another_enum_value_is_unknown),
        cmocka_unit_test(tables_values_toward_ready_are_far_from_all_others),
    };
    return cmocka_run_group_tests_name("tables", tests, world_open, world_close);
}
