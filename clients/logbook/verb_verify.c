/* SPDX-License-Identifier: Apache-2.0 */
/* verb_verify.c - trapline log verify: is the record whole? */
#include <inttypes.h>
#include <jansson.h>
#include <sodium.h>
#include <stdio.h>

#include "clients/logbook/json.h"
#include "clients/logbook/verbs.h"
#include "clients/logbook/verify.h"
#include "clients/logbook/words.h"

enum {
    MARK_BYTES = 8, /* of a seal's signature: enough to write down, too many to make */
    MARK_CAP = 2 * MARK_BYTES + 1
};

/* The first bytes of a seal's signature, by which it is known again. */
static void
write_mark(const struct tl_seal *seal, char mark[MARK_CAP])
{
    (void)sodium_bin2hex(mark, MARK_CAP, seal->signature, MARK_BYTES);
}

/* ---- text ---- */

static void
print_tables(const struct tl_verified *verified)
{
    (void)printf("%-18s %10s %10s %10s  %s\n", "TABLE", "CHAINED", "UNCHAINED", "NOT SEALED",
                 "FIRST BAD ROW");
    for (int i = 0; i < TL_TABLES; i++) {
        const struct tl_verified_table *table = &verified->table[i];
        (void)printf("%-18s %10" PRIu64 " %10" PRIu64 " %10" PRIu64 "  ",
                     tl_record_table_name((enum tl_record_table)i), table->rows, table->unchained,
                     table->newer);
        if (table->bad_id != 0) {
            (void)printf("row %" PRIu64 " %s\n", table->bad_id, table->bad);
        } else {
            (void)printf("-\n");
        }
    }
}

static void
print_signed(const struct tl_verified *verified)
{
    (void)printf("frames  %" PRIu64 " signed reports", verified->frames);
    if (verified->frames_absent > 0) {
        (void)printf(", %" PRIu64 " rows without theirs", verified->frames_absent);
    }
    if (verified->frames_unchecked > 0) {
        (void)printf(", %" PRIu64 " by keys not known here: signature not looked at",
                     verified->frames_unchecked);
    }
    if (verified->frames_bad > 0) {
        (void)printf(", %" PRIu64 " BAD: %s", verified->frames_bad, verified->frame);
    }
    (void)printf("\nseals   %" PRIu64, verified->seals);
    if (verified->seals_unchecked > 0) {
        (void)printf(", %" PRIu64 " by keys not known here: signature not looked at",
                     verified->seals_unchecked);
    }
    if (verified->bad_seal != 0) {
        (void)printf(", BAD from seal %" PRIu64 ": %s", verified->bad_seal, verified->seal);
    }
    if (verified->seals > 0) {
        char time[TL_TIME_CAP];
        char mark[MARK_CAP];
        (void)tl_time_text(verified->last.wall_ms, time);
        write_mark(&verified->last, mark);
        (void)printf("\n        the last is number %" PRIu64 " of %s at %s, mark %s",
                     verified->last.id, verified->last.node, time, mark);
    }
    (void)printf("\n");
}

static uint64_t
unchecked(const struct tl_verified *verified)
{
    return verified->frames_unchecked + verified->seals_unchecked;
}

static void
print_text(const struct tl_log *log, const struct tl_verified *verified)
{
    (void)printf("record %s, schema %d\n", log->path, verified->schema);
    if (verified->file[0] != '\0') {
        (void)printf("file    DAMAGED: %s\n", verified->file);
    }
    print_tables(verified);
    print_signed(verified);
    if (!tl_verified_whole(verified)) {
        (void)printf("NOT WHOLE\n");
    } else if (unchecked(verified) > 0) {
        (void)printf("nothing found, but %" PRIu64
                     " signatures were not looked at: the keys are in "
                     "the configuration folder, -C DIR\n",
                     unchecked(verified));
    } else {
        (void)printf("whole: nothing is missing or altered\n");
    }
}

/* ---- JSON ---- */

static json_t *
text_or_null(const char *text)
{
    return text[0] != '\0' ? json_string(text) : json_null();
}

static json_t *
tables_json(const struct tl_verified *verified)
{
    json_t *list = json_array();
    for (int i = 0; i < TL_TABLES && list != NULL; i++) {
        const struct tl_verified_table *table = &verified->table[i];
        json_t *bad = table->bad_id == 0 ? json_null()
                                         : json_pack("{s:I,s:s}", "row", (json_int_t)table->bad_id,
                                                     "text", table->bad);
        json_t *row = json_pack("{s:s,s:I,s:I,s:I,s:o}", "table",
                                tl_record_table_name((enum tl_record_table)i), "chained",
                                (json_int_t)table->rows, "unchained", (json_int_t)table->unchained,
                                "not_sealed", (json_int_t)table->newer, "first_bad", bad);
        if (json_array_append_new(list, row) != 0) {
            json_decref(list);
            list = NULL;
        }
    }
    return list;
}

static json_t *
last_json(const struct tl_verified *verified)
{
    char time[TL_TIME_CAP];
    char mark[MARK_CAP];
    if (verified->seals == 0) {
        return json_null();
    }
    (void)tl_time_text(verified->last.wall_ms, time);
    write_mark(&verified->last, mark);
    return json_pack("{s:I,s:s,s:s,s:s}", "number", (json_int_t)verified->last.id, "recorder",
                     verified->last.node, "time", time, "mark", mark);
}

static json_t *
verified_json(const struct tl_log *log, const struct tl_verified *verified)
{
    json_t *frames = json_pack(
        "{s:I,s:I,s:I,s:I,s:o}", "signed", (json_int_t)verified->frames, "absent",
        (json_int_t)verified->frames_absent, "unchecked", (json_int_t)verified->frames_unchecked,
        "bad", (json_int_t)verified->frames_bad, "first_bad", text_or_null(verified->frame));
    json_t *seals =
        json_pack("{s:I,s:I,s:I,s:o,s:o}", "count", (json_int_t)verified->seals, "unchecked",
                  (json_int_t)verified->seals_unchecked, "bad_from", (json_int_t)verified->bad_seal,
                  "text", text_or_null(verified->seal), "last", last_json(verified));
    return json_pack("{s:s,s:i,s:b,s:I,s:o,s:o,s:o,s:o}", "record", log->path, "schema",
                     verified->schema, "whole", tl_verified_whole(verified) ? 1 : 0,
                     "signatures_unchecked", (json_int_t)unchecked(verified), "file",
                     text_or_null(verified->file), "tables", tables_json(verified), "frames",
                     frames, "seals", seals);
}

static enum tl_exit
run(struct tl_log *log)
{
    struct tl_verified verified;
    enum tl_exit code = tl_log_find(log);
    if (code != TL_EXIT_OK) {
        return code;
    }
    if (sodium_init() < 0) {
        return tl_log_refuse(log, TL_EXIT_FAILED, "the library for signatures cannot start");
    }
    enum tl_err err = tl_verify(log->path, log->config, &verified, log->why, sizeof log->why);
    if (err != TL_OK) {
        return err == TL_NOTFOUND ? TL_EXIT_UNANSWERED : TL_EXIT_FAILED;
    }
    if (!tl_log_given(log, TL_LOG_JSON)) {
        print_text(log, &verified);
    } else if (!tl_log_json_print(verified_json(log, &verified), stdout)) {
        return tl_log_refuse(log, TL_EXIT_FAILED, "the answer could not be written");
    }
    return tl_verified_whole(&verified) ? TL_EXIT_OK : TL_EXIT_FAILED;
}

static const struct tl_option_row rows[] = {TL_LOG_COMMON};

const struct tl_log_command tl_log_verify = {
    .name = "verify",
    .what = "whether the record is whole: its rows, seals and signed reports",
    .text = "Looks at every row of a record: whether the file is sound, each row hangs on the row "
            "before it, the seals of the recorder fit the rows, and each report is signed by its "
            "station and says what its row says. Names the first bad row of each table. Signatures "
            "need the keys of a configuration folder. That the newest rows were all cut off shows "
            "only against another record (log compare), or against the mark of a seal that was "
            "written down. Exit 1 also when the record is not whole.",
    .table = {rows, sizeof rows / sizeof rows[0]},
    .run = run,
};
