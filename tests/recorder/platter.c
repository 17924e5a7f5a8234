/* SPDX-License-Identifier: Apache-2.0 */
/* platter.c - see platter.h. */
#include "tests/recorder/platter.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* How what was not synced is left; each file by itself, or all alike. */
enum how {
    ALL_OF_IT = 0,
    NOTHING,
    A_BEGINNING, /* and then nothing: the last of it torn */
    AN_END,      /* what came first never came */
    SOME_WRITES,
    SOME_SECTORS,
    FEW_SECTORS_LOST,
    HOWS
};

/* The leaving of one file. */
struct leaving {
    struct chance *chance;
    struct platter_file *out;
    enum how how;
    uint32_t from, to; /* of the operations since: those of A_BEGINNING, AN_END */
    bool garbage;      /* else zeros, where a file is longer and nothing came */
    struct platter_cut *cut;
};

/* ---- bytes ---- */

static void
fill(struct chance *chance, uint8_t *bytes, size_t len)
{
    for (size_t i = 0; i < len; i++) {
        bytes[i] = (uint8_t)draw(chance, 256);
    }
}

static void
make_room(struct platter_file *file, size_t len)
{
    if (len > file->cap) {
        file->cap = 2 * len;
        file->bytes = realloc(file->bytes, file->cap);
        assert_non_null(file->bytes);
    }
}

/* To that length; chance NULL: what is new is zeros. */
static void
set_len(struct platter_file *file, size_t len, struct chance *chance)
{
    make_room(file, len + 1);
    if (len > file->len && chance != NULL) {
        fill(chance, file->bytes + file->len, len - file->len);
    } else if (len > file->len) {
        memset(file->bytes + file->len, 0, len - file->len);
    }
    file->len = len;
}

static void
put(struct platter_file *file, size_t at, const uint8_t *bytes, size_t len, struct chance *chance)
{
    if (at + len > file->len) {
        set_len(file, at + len, chance);
    }
    memcpy(file->bytes + at, bytes, len);
}

static void
do_op(struct platter_file *file, const struct disk_op *op)
{
    if (op->kind == DISK_CUT) {
        set_len(file, (size_t)op->at, NULL);
    } else {
        put(file, (size_t)op->at, op->bytes, op->len, NULL);
    }
}

/* ---- what is left of what was not synced ---- */

/* One sector's part of a write, torn. */
static void
tear(struct leaving *leaving, size_t at, const uint8_t *bytes, size_t len)
{
    struct platter_file *out = leaving->out;
    struct chance *filler = leaving->garbage ? leaving->chance : NULL;
    size_t new_len = draw(leaving->chance, (uint32_t)len + 1);
    leaving->cut->torn++;
    if (at + len <= out->len && memcmp(out->bytes + at, bytes, len) == 0) {
        return;
    }
    switch (draw(leaving->chance, 3)) {
    case 0:
        put(out, at, bytes, new_len, filler);
        break;
    case 1:
        put(out, at + len - new_len, bytes + len - new_len, new_len, filler);
        break;
    default:
        if (at + len > out->len) {
            set_len(out, at + len, filler);
        }
        fill(leaving->chance, out->bytes + at, len);
        break;
    }
}

static bool
keeps_piece(struct leaving *leaving, uint32_t number)
{
    switch (leaving->how) {
    case ALL_OF_IT:
        return true;
    case A_BEGINNING:
    case AN_END:
        return number >= leaving->from && number < leaving->to;
    case SOME_SECTORS:
        return one_in(leaving->chance, 2);
    case FEW_SECTORS_LOST:
        return !one_in(leaving->chance, 40);
    case NOTHING:
    case SOME_WRITES:
    case HOWS:
        break;
    }
    return false;
}

/* number: of the operation among those since the sync. */
static void
leave_write(struct leaving *leaving, const struct disk_op *op, uint32_t number)
{
    struct chance *filler = leaving->garbage ? leaving->chance : NULL;
    bool whole = leaving->how == SOME_WRITES && one_in(leaving->chance, 2);
    bool last = leaving->how == A_BEGINNING && number + 1 == leaving->to;
    size_t end = (size_t)op->at + op->len;
    size_t torn_at = (size_t)op->at + draw(leaving->chance, op->len + 1);
    bool tears = last || (leaving->how >= SOME_WRITES && one_in(leaving->chance, 8));
    for (size_t at = (size_t)op->at; at < end;) {
        size_t next = (at / PLATTER_SECTOR + 1) * PLATTER_SECTOR;
        next = next < end ? next : end;
        const uint8_t *bytes = op->bytes + (at - (size_t)op->at);
        bool here = tears && torn_at >= at && torn_at < next;
        if (here) {
            tear(leaving, at, bytes, next - at);
        } else if ((last && at < torn_at) || (!last && (whole || keeps_piece(leaving, number)))) {
            put(leaving->out, at, bytes, next - at, filler);
            leaving->cut->kept++;
        } else {
            leaving->cut->lost++;
        }
        at = next;
    }
    if (end > leaving->out->len && leaving->how != ALL_OF_IT && one_in(leaving->chance, 4)) {
        set_len(leaving->out, end, filler);
    }
}

static void
leave_file(const struct platter *platter, const struct platter_file *file, struct leaving *leaving)
{
    struct chance *chance = leaving->chance;
    leaving->from = 0;
    leaving->to = file->later_count;
    if (leaving->how == A_BEGINNING) {
        leaving->to = draw(chance, file->later_count + 1);
    } else if (leaving->how == AN_END) {
        leaving->from = draw(chance, file->later_count + 1);
    }
    leaving->garbage = one_in(chance, 2);
    for (uint32_t i = 0; i < file->later_count; i++) {
        const struct disk_op *op = &platter->disk->op[file->later[i]];
        if (op->kind == DISK_WRITE) {
            leave_write(leaving, op, i);
        } else if (leaving->how == ALL_OF_IT || (leaving->how > AN_END && one_in(chance, 2)) ||
                   (leaving->how < SOME_WRITES && keeps_piece(leaving, i))) {
            do_op(leaving->out, op);
        }
    }
}

/* ---- the disk goes on ---- */

void
platter_init(struct platter *platter, const struct disk *disk, uint64_t seed)
{
    memset(platter, 0, sizeof *platter);
    platter->disk = disk;
    platter->chance = chance_of(seed);
}

void
platter_free(struct platter *platter)
{
    for (uint32_t i = 0; i < DISK_FILES_MAX; i++) {
        free(platter->file[i].bytes);
        free(platter->file[i].later);
    }
    memset(platter, 0, sizeof *platter);
}

static struct platter_name *
name_of(struct platter *platter, const char *name)
{
    for (uint32_t i = 0; i < platter->name_count; i++) {
        if (strcmp(platter->name[i].name, name) == 0) {
            return &platter->name[i];
        }
    }
    assert_true(platter->name_count < PLATTER_NAMES_MAX);
    struct platter_name *new = &platter->name[platter->name_count++];
    (void)snprintf(new->name, sizeof new->name, "%s", name);
    new->turn[new->turn_count++] = DISK_FILES_MAX;
    return new;
}

static void
turn_name(struct platter *platter, uint32_t file, uint32_t now)
{
    struct platter_name *name = name_of(platter, platter->disk->name[file]);
    assert_true(name->turn_count < PLATTER_TURNS_MAX);
    name->turn[name->turn_count++] = now;
}

static void
add_later(struct platter_file *file, uint32_t op)
{
    if (file->later_count == file->later_cap) {
        file->later_cap = file->later_cap == 0 ? 64 : 2 * file->later_cap;
        file->later = realloc(file->later, file->later_cap * sizeof *file->later);
        assert_non_null(file->later);
    }
    file->later[file->later_count++] = op;
}

static void
sync_names(struct platter *platter)
{
    for (uint32_t i = 0; i < platter->name_count; i++) {
        struct platter_name *name = &platter->name[i];
        name->turn[0] = name->turn[name->turn_count - 1];
        name->turn_count = 1;
    }
}

static void
sync_file(struct platter *platter, struct platter_file *file, bool failed)
{
    struct platter_cut cut = {0};
    struct leaving leaving = {.chance = &platter->chance, .out = file, .cut = &cut};
    if (failed) {
        leaving.how = (enum how)draw(&platter->chance, HOWS);
        leave_file(platter, file, &leaving);
    }
    for (uint32_t i = 0; i < file->later_count && !failed; i++) {
        do_op(file, &platter->disk->op[file->later[i]]);
    }
    file->later_count = 0;
}

void
platter_step(struct platter *platter)
{
    assert_true(platter->at < platter->disk->count);
    const struct disk_op *op = &platter->disk->op[platter->at];
    struct platter_file *file = &platter->file[op->file];
    switch (op->kind) {
    case DISK_MAKE:
        turn_name(platter, op->file, op->file);
        break;
    case DISK_REMOVE:
        turn_name(platter, op->file, DISK_FILES_MAX);
        break;
    case DISK_WRITE:
    case DISK_CUT:
        add_later(file, platter->at);
        break;
    case DISK_SYNC:
        sync_file(platter, file, op->failed);
        break;
    case DISK_FOLDER_SYNC:
        sync_names(platter);
        break;
    case DISK_FOLDER_MAKE:
        platter->folder_in_doubt = true;
        break;
    case DISK_PARENT_SYNC:
        platter->folder_in_doubt = false;
        break;
    case DISK_NOTHING:
    case DISK_KINDS:
        fail_msg("operation %u is none", (unsigned)platter->at);
    }
    platter->at++;
}

/* ---- the power goes ---- */

static void
write_out(const char *folder, const char *name, const struct platter_file *file)
{
    char path[600];
    (void)snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *out = fopen(path, "wb");
    assert_non_null(out);
    assert_int_equal(fwrite(file->bytes, 1, file->len, out), file->len);
    assert_int_equal(fclose(out), 0);
}

struct platter_cut
platter_leave(const struct platter *platter, uint64_t seed, const char *folder)
{
    struct platter_cut cut = {0};
    struct chance chance = chance_of(seed);
    struct platter_file out = {0};
    struct leaving leaving = {.chance = &chance, .out = &out, .cut = &cut};
    bool alike = one_in(&chance, 2);
    enum how how = (enum how)draw(&chance, HOWS);
    cut.folder_gone = platter->folder_in_doubt && how != ALL_OF_IT && one_in(&chance, 2);
    for (uint32_t i = 0; i < platter->name_count && !cut.folder_gone; i++) {
        const struct platter_name *name = &platter->name[i];
        uint32_t turn = how == ALL_OF_IT ? name->turn_count - 1
                        : how == NOTHING ? 0
                                         : draw(&chance, name->turn_count);
        if (name->turn[turn] == DISK_FILES_MAX) {
            continue;
        }
        const struct platter_file *file = &platter->file[name->turn[turn]];
        set_len(&out, 0, NULL);
        if (file->len > 0) {
            put(&out, 0, file->bytes, file->len, NULL);
        }
        leaving.how = alike ? how : (enum how)draw(&chance, HOWS);
        leave_file(platter, file, &leaving);
        write_out(folder, name->name, &out);
    }
    free(out.bytes);
    return cut;
}
