/* SPDX-License-Identifier: Apache-2.0 */
/* row.c - see row.h. */
#include "broker/recorder/row.h"

#include <string.h>

static void
note_code(struct tl_row *row, int code)
{
    row->code = row->code == SQLITE_OK ? code : row->code;
}

void
tl_row_begin(struct tl_row *row, sqlite3_stmt *statement, enum tl_record_table table,
             const struct tl_chain_head *head)
{
    row->statement = statement;
    uint64_t id = head->id + 1;
    row->code = SQLITE_OK;
    row->table = table;
    row->at = 1;
    note_code(row, sqlite3_bind_int64(statement, 1, (sqlite3_int64)id));
    tl_chain_begin(&row->chain, tl_record_table_name(table), head->hash, id);
}

int
tl_row_end(struct tl_row *row, uint8_t hash[TL_CHAIN_LEN])
{
    tl_chain_end(&row->chain, hash);
    note_code(row, sqlite3_bind_blob(row->statement, ++row->at, hash, TL_CHAIN_LEN, SQLITE_STATIC));
    return row->code;
}

void
tl_row_number(struct tl_row *row, uint64_t number)
{
    tl_row_signed(row, number > INT64_MAX ? INT64_MAX : (int64_t)number);
}

void
tl_row_signed(struct tl_row *row, int64_t number)
{
    tl_chain_integer(&row->chain, number);
    note_code(row, sqlite3_bind_int64(row->statement, ++row->at, number));
}

/* What is not bound is NULL. */
static void
add_null(struct tl_row *row)
{
    tl_chain_null(&row->chain);
    row->at++;
}

void
tl_row_text(struct tl_row *row, const char *text)
{
    if (text == NULL) {
        add_null(row);
        return;
    }
    size_t len = strlen(text);
    tl_chain_text(&row->chain, text, len);
    note_code(row, sqlite3_bind_text(row->statement, ++row->at, text, (int)len, SQLITE_STATIC));
}

void
tl_row_blob(struct tl_row *row, const void *bytes, size_t len)
{
    if (bytes == NULL) {
        add_null(row);
        return;
    }
    tl_chain_blob(&row->chain, bytes, len);
    note_code(row, sqlite3_bind_blob(row->statement, ++row->at, bytes, (int)len, SQLITE_STATIC));
}

void
tl_row_event(struct tl_row *row, struct tl_event event)
{
    tl_row_number(row, event.recovery_ms);
    tl_row_number(row, event.pass);
}

static void
add_maybe(struct tl_row *row, bool known, int64_t value)
{
    if (known) {
        tl_row_signed(row, value);
    } else {
        add_null(row);
    }
}

void
tl_row_column(struct tl_row *row, int64_t value)
{
    add_maybe(row, value >= 0, value);
}

/* What names a judged message. */
static void
add_name(struct tl_row *row, const struct tl_envelope *envelope)
{
    tl_row_text(row, envelope->node);
    tl_row_number(row, envelope->incarnation);
    tl_row_number(row, envelope->sequence);
}

static void
add_ramp(struct tl_row *row, const struct tl_predicted_ramp *ramp)
{
    tl_row_text(row, ramp->known ? ramp->aid_type : NULL);
    add_maybe(row, ramp->known, ramp->angle_deg_x100);
    add_maybe(row, ramp->known && ramp->target_wire != 0, ramp->target_wire);
    add_maybe(row, ramp->known, ramp->pitch_deg_x10);
    add_maybe(row, ramp->known, ramp->clearance_ft_x10);
    add_maybe(row, ramp->known, ramp->touchdown_ft_x10);
}

void
tl_row_predicted(struct tl_row *row, const struct tl_envelope *envelope)
{
    const struct tl_predicted *predicted = &envelope->as.judged.predicted;
    const struct tl_predicted_arrest *arrest = &predicted->arrest;
    const struct tl_predicted_time *time = &predicted->time;
    const uint32_t times[] = {time->ramp_s_x10, time->wave_off_gear_s_x10,
                              time->wave_off_people_s_x10, time->reset_s_x10};
    add_name(row, envelope);
    tl_row_event(row, predicted->event);
    tl_row_text(row, predicted->type);
    add_maybe(row, predicted->weight_lb != 0, predicted->weight_lb);
    tl_row_number(row, predicted->barricade ? 1 : 0);
    add_maybe(row, arrest->known, arrest->headwind_kt_x10);
    add_maybe(row, arrest->known, arrest->engaging_kt_x10);
    add_maybe(row, arrest->known, arrest->energy_kftlb);
    add_maybe(row, arrest->known, arrest->margin_percent);
    add_ramp(row, &predicted->ramp);
    for (size_t i = 0; i < sizeof times / sizeof times[0]; i++) {
        add_maybe(row, time->known && times[i] != 0, times[i]);
    }
}

void
tl_row_setting(struct tl_row *row, const struct tl_envelope *envelope, const struct tl_would *would)
{
    add_name(row, envelope);
    tl_row_number(row, would->set_lb);
    tl_row_number(row, would->bottoms ? 1 : 0);
    tl_row_number(row, would->parts ? 1 : 0);
    tl_row_number(row, would->end_kt_x10);
    tl_row_number(row, would->hook_lbf);
    tl_row_number(row, would->tension_percent);
    tl_row_number(row, would->stroke_in_x10);
    tl_row_number(row, would->expect_in_x10);
    tl_row_number(row, would->runout_ft_x10);
}

void
tl_row_expected(struct tl_row *row, const struct tl_envelope *envelope)
{
    const struct tl_expected *expected = &envelope->as.judged.expected;
    add_name(row, envelope);
    tl_row_number(row, expected->unit);
    tl_row_event(row, expected->event);
    tl_row_number(row, expected->ram_in_x10);
}
