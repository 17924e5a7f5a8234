/* SPDX-License-Identifier: Apache-2.0 */
/*
 * target_record - trapline log on a file that says it is a record
 *
 * The first byte of an input chooses the question, the second how the file of $TL_FUZZ_RECORD is
 * spoilt before it is asked: values of its rows (any type in any column, frames byte by byte), bytes of
 * the file, or SQL by whoever made it (tables that are views, triggers, other columns). Whatever the
 * file is, the question is answered or refused with a sentence, in bounded time, and what is printed
 * is plain; JSON is JSON.
 */
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <jansson.h>
#include <sodium.h>
#include <sqlite3.h>

#include "clients/logbook/log.h"
#include "tests/fuzz/fuzz.h"

enum {
    FILE_CAP = 1024 * 1024,
    TABLES_MAX = 32,
    NAME_CAP = 64,
    COLUMNS_MAX = 64,
    SPOILINGS_MAX = 24,
    VALUE_MAX = 250,
    SQL_CAP = 4096,
    SQL_OPS = 100000, /* of the maker of the file; not of the program that reads it */
    WORDS_MAX = 8
};

struct table {
    char name[NAME_CAP];
    int columns;
    char column[COLUMNS_MAX][NAME_CAP];
    int rows;
};

struct world {
    uint8_t base[FILE_CAP];
    size_t base_len;
    struct table tables[TABLES_MAX];
    int table_count;
    char path[FUZZ_PATH_CAP];
    char demo[FUZZ_PATH_CAP];
};

#define FILE_WORD   "FILE"
#define FOLDER_WORD "FOLDER"
static const char *const questions[][WORDS_MAX] = {
    {"passes", "--record", FILE_WORD},
    {"passes", "--record", FILE_WORD, "--json"},
    {"passes", "--record", FILE_WORD, "--csv"},
    {"alerts", "--record", FILE_WORD},
    {"alerts", "--record", FILE_WORD, "--json"},
    {"who", "--record", FILE_WORD, "--csv"},
    {"overrides", "--record", FILE_WORD},
    {"faults", "--record", FILE_WORD, "--json"},
    {"seconds", "--record", FILE_WORD},
    {"figures", "--record", FILE_WORD},
    {"figures", "--record", FILE_WORD, "--json"},
    {"wires", "--record", FILE_WORD, "-C", FOLDER_WORD},
    {"report", "--record", FILE_WORD},
    {"chapters", "--record", FILE_WORD},
    {"verify", "--record", FILE_WORD},
    {"verify", "--record", FILE_WORD, "--json"},
    {"replay", "--record", FILE_WORD, "-C", FOLDER_WORD},
    {"compare", FILE_WORD, FILE_WORD},
};

const char *const fuzz_name = "record";

/* ---- the file as it is made ---- */

static void
open_table(struct world *w, sqlite3 *db, const char *name)
{
    struct table *table = &w->tables[w->table_count++];
    char sql[2 * NAME_CAP];
    sqlite3_stmt *row = NULL;

    TL_REQUIRE(w->table_count <= TABLES_MAX);
    (void)snprintf(table->name, sizeof table->name, "%s", name);
    (void)snprintf(sql, sizeof sql, "SELECT * FROM \"%s\"", name);
    TL_REQUIRE(sqlite3_prepare_v2(db, sql, -1, &row, NULL) == SQLITE_OK);
    table->columns = sqlite3_column_count(row);
    TL_REQUIRE(table->columns <= COLUMNS_MAX);
    for (int i = 0; i < table->columns; i++) {
        (void)snprintf(table->column[i], NAME_CAP, "%s", sqlite3_column_name(row, i));
    }
    while (sqlite3_step(row) == SQLITE_ROW) {
        table->rows++;
    }
    (void)sqlite3_finalize(row);
}

void *
fuzz_open(void)
{
    struct world *w = calloc(1, sizeof *w);
    TL_REQUIRE(w != NULL);
    static const char list[] = "SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name";
    const char *record = getenv("TL_FUZZ_RECORD");
    const char *root = getenv("TL_SOURCE_DIR");
    sqlite3 *db = NULL;
    sqlite3_stmt *row = NULL;

    TL_REQUIRE(sodium_init() >= 0 && record != NULL && root != NULL); /* tests/fuzz/run sets them */
    (void)snprintf(w->demo, sizeof w->demo, "%s/configs/demo", root);
    FILE *file = fopen(record, "rb");
    TL_REQUIRE(file != NULL);
    w->base_len = fread(w->base, 1, sizeof w->base, file);
    TL_REQUIRE(feof(file) != 0 && fclose(file) == 0);
    fuzz_put("record.db", w->base, w->base_len, w->path);
    TL_REQUIRE(sqlite3_open_v2(w->path, &db, SQLITE_OPEN_READONLY, NULL) == SQLITE_OK);
    TL_REQUIRE(sqlite3_prepare_v2(db, list, -1, &row, NULL) == SQLITE_OK);
    while (sqlite3_step(row) == SQLITE_ROW) {
        open_table(w, db, (const char *)sqlite3_column_text(row, 0));
    }
    (void)sqlite3_finalize(row);
    (void)sqlite3_close(db);
    TL_REQUIRE(w->table_count > 0);
    return w;
}

/* ---- and as it is spoilt ---- */

static void
spoil_bytes(struct world *w, struct fuzz_input *input)
{
    int fd = open(w->path, O_WRONLY | O_CLOEXEC);
    TL_REQUIRE(fd >= 0);
    for (int i = 0; i < SPOILINGS_MAX && input->len > 0; i++) {
        size_t at = (size_t)fuzz_number(input, 3) % w->base_len;
        struct fuzz_input piece = fuzz_piece(input, VALUE_MAX);
        TL_REQUIRE(pwrite(fd, piece.bytes, piece.len, (off_t)at) == (ssize_t)piece.len);
    }
    TL_REQUIRE(close(fd) == 0);
}

static void
bind_value(sqlite3_stmt *statement, uint8_t kind, struct fuzz_input *input)
{
    struct fuzz_input piece;
    switch (kind % 5) {
    case 0:
        (void)sqlite3_bind_null(statement, 1);
        break;
    case 1:
        (void)sqlite3_bind_int64(statement, 1, (sqlite3_int64)fuzz_number(input, 8));
        break;
    case 2:
        (void)sqlite3_bind_int64(statement, 1, (int8_t)fuzz_number(input, 1));
        break;
    case 3:
        piece = fuzz_piece(input, VALUE_MAX);
        (void)sqlite3_bind_text(statement, 1, (const char *)piece.bytes, (int)piece.len,
                                SQLITE_TRANSIENT);
        break;
    default:
        piece = fuzz_piece(input, VALUE_MAX);
        (void)sqlite3_bind_blob(statement, 1, piece.bytes, (int)piece.len, SQLITE_TRANSIENT);
        break;
    }
}

/* One byte of a frame, or of whatever text or blob is there. */
static void
spoil_cell(sqlite3 *db, const struct table *table, const char *column, sqlite3_int64 id,
           struct fuzz_input *input)
{
    sqlite3_blob *blob = NULL;
    if (sqlite3_blob_open(db, "main", table->name, column, id, 1, &blob) == SQLITE_OK) {
        int len = sqlite3_blob_bytes(blob);
        int at = len > 0 ? (int)(fuzz_number(input, 2) % (uint64_t)len) : 0;
        uint8_t byte = fuzz_byte(input);
        if (len > 0) {
            (void)sqlite3_blob_write(blob, &byte, 1, at);
        }
    }
    (void)sqlite3_blob_close(blob);
}

static void
spoil_row(struct world *w, sqlite3 *db, struct fuzz_input *input)
{
    const struct table *table = &w->tables[fuzz_byte(input) % w->table_count];
    const char *column = table->column[fuzz_byte(input) % table->columns];
    sqlite3_int64 id = 1 + (table->rows > 0 ? fuzz_byte(input) % table->rows : 0);
    uint8_t kind = fuzz_byte(input);
    char sql[4 * NAME_CAP];
    sqlite3_stmt *statement = NULL;

    if (kind >= 0x80) {
        spoil_cell(db, table, column, id, input);
        return;
    }
    (void)snprintf(sql, sizeof sql, "UPDATE \"%s\" SET \"%s\" = ?1 WHERE rowid = ?2", table->name,
                   column);
    if (sqlite3_prepare_v2(db, sql, -1, &statement, NULL) == SQLITE_OK) {
        bind_value(statement, kind, input);
        (void)sqlite3_bind_int64(statement, 2, id);
        (void)sqlite3_step(statement); /* what a constraint refuses stays as it is */
    }
    (void)sqlite3_finalize(statement);
}

static int
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters,readability-function-size): of SQLite */
may_do(void *ctx, int action, const char *first, const char *second, const char *where,
       const char *inside)
{
    static const char *const pragmas[] = {"writable_schema", "user_version", "encoding"};
    (void)ctx;
    (void)second;
    (void)where;
    (void)inside;
    if (action == SQLITE_ATTACH || action == SQLITE_DETACH) {
        return SQLITE_DENY;
    }
    for (size_t i = 0; action == SQLITE_PRAGMA && i < sizeof pragmas / sizeof pragmas[0]; i++) {
        if (strcmp(first, pragmas[i]) == 0) {
            return SQLITE_OK;
        }
    }
    return action == SQLITE_PRAGMA ? SQLITE_DENY : SQLITE_OK;
}

static int
is_enough(void *ctx)
{
    (void)ctx;
    return 1;
}

static void
spoil_by_sql(sqlite3 *db, struct fuzz_input *input)
{
    char sql[SQL_CAP];
    (void)sqlite3_set_authorizer(db, may_do, NULL);
    sqlite3_progress_handler(db, SQL_OPS, is_enough, NULL);
    while (input->len > 0) {
        (void)fuzz_line(input, sql, sizeof sql);
        (void)sqlite3_exec(db, sql, NULL, NULL, NULL);
    }
}

static void
spoil(struct world *w, struct fuzz_input *input)
{
    uint8_t way = fuzz_byte(input) % 3;
    sqlite3 *db = NULL;

    fuzz_put("record.db", w->base, w->base_len, w->path);
    if (way == 0) {
        spoil_bytes(w, input);
        return;
    }
    TL_REQUIRE(sqlite3_open(w->path, &db) == SQLITE_OK);
    (void)sqlite3_exec(db, "PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF; BEGIN", NULL, NULL,
                       NULL);
    if (way == 1) {
        for (int i = 0; i < SPOILINGS_MAX && input->len > 0; i++) {
            spoil_row(w, db, input);
        }
    } else {
        spoil_by_sql(db, input);
    }
    (void)sqlite3_exec(db, "COMMIT", NULL, NULL, NULL);
    (void)sqlite3_close(db);
}

/* ---- and as it is read ---- */

struct said {
    char *text;
    size_t len;
};

static int
ask(struct world *w, const char *const *question, struct said *out, struct said *error)
{
    char words[WORDS_MAX + 1][FUZZ_PATH_CAP];
    char *argv[WORDS_MAX + 2] = {words[WORDS_MAX]};
    int argc = 1;
    FILE *kept_out = stdout;
    FILE *kept_error = stderr;

    (void)snprintf(words[WORDS_MAX], FUZZ_PATH_CAP, "log");
    for (int i = 0; i < WORDS_MAX && question[i] != NULL; i++) {
        const char *word = strcmp(question[i], FILE_WORD) == 0     ? w->path
                           : strcmp(question[i], FOLDER_WORD) == 0 ? w->demo
                                                                   : question[i];
        (void)snprintf(words[i], FUZZ_PATH_CAP, "%s", word);
        argv[argc++] = words[i];
    }
    stdout = open_memstream(&out->text, &out->len);
    stderr = open_memstream(&error->text, &error->len);
    TL_REQUIRE(stdout != NULL && stderr != NULL);
    int code = tl_log_main(argc, argv);
    (void)fclose(stdout);
    (void)fclose(stderr);
    stdout = kept_out;
    stderr = kept_error;
    return code;
}

/* Lines of plain text; those of CSV end as RFC 4180 has it. */
static void
must_be_plain(const struct said *said)
{
    TL_REQUIRE(strlen(said->text) == said->len);
    for (char *line = said->text; line != NULL && *line != '\0';) {
        char *end = strchr(line, '\n');
        if (end != NULL) {
            *end = '\0';
            size_t len = strlen(line);
            line[len > 0 && line[len - 1] == '\r' ? len - 1 : len] = '\0';
        }
        TL_REQUIRE(fuzz_is_plain(line));
        line = end != NULL ? end + 1 : NULL;
    }
}

void
fuzz_take(void *world, const uint8_t *bytes, size_t len)
{
    struct world *w = world;
    struct fuzz_input input = {bytes, len};
    const char *const *question =
        questions[fuzz_byte(&input) % (sizeof questions / sizeof questions[0])];
    struct said out = {NULL, 0};
    struct said error = {NULL, 0};

    spoil(w, &input);
    int code = ask(w, question, &out, &error);
    TL_REQUIRE(code == 0 || error.len > 0 || out.len > 0);
    if (code == 0 && question[3] != NULL && strcmp(question[3], "--json") == 0) {
        json_t *json = json_loadb(out.text, out.len, 0, NULL);
        TL_REQUIRE(json != NULL);
        json_decref(json);
    }
    must_be_plain(&out);
    must_be_plain(&error);
    free(out.text);
    free(error.text);
}
