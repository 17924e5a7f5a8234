/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_crash - no power cut at any operation of the disk loses what was acknowledged
 *
 * A recorder's work (work.h) runs over a disk that notes what is done to it (disk.h). For each
 * operation, and from several seeds, the files are made as the power may leave them there
 * (platter.h states what a disk may do, with its sources), opened again, and audited (audit.h).
 * Then each sync of the work fails in turn, and the power goes somewhere after that.
 *
 *     recorder_crash [long] [SEED]    the seed is printed; the same seed gives the same images
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>
#include <sqlite3.h>

#include "tests/recorder/audit.h"
#include "tests/recorder/disk.h"
#include "tests/recorder/platter.h"

enum {
    TURNS = 12,
    SEED = 1,
    OPERATIONS_MAX = 4096,
    SOON = 60, /* operations */
    PATH_LEN = 256,
    CHECKPOINT_PAGES = 24, /* of the log, so that it begins anew within a few turns */
    CACHE_PAGES = 10,      /* so that pages go to the log before their commit */
#ifdef __SANITIZE_ADDRESS__
    WORKS = 1, /* there it is the code that is looked at, six times as slowly */
    PER_FAULT = 1
#else
    WORKS = 2,
    PER_FAULT = 3
#endif
};

struct room {
    uint64_t seed;
    bool is_long;
    uint32_t works;     /* of seeds one after another */
    uint32_t per_op;    /* images of each operation */
    uint32_t per_fault; /* and of each fault */
    char base[PATH_LEN / 4];
    char folder[PATH_LEN], path[PATH_LEN + 16];
    char image_folder[PATH_LEN], image_path[PATH_LEN + 16];
    struct disk disk;
    struct work work;
    struct audit audit;
    struct platter platter;
    /* figures */
    uint32_t all_images, images, operations, torn, half_done, came_back, told, refused;
    uint32_t rows[ROW_TABLES]; /* of the works without a fault */
};

/* ---- files ---- */

static void
empty(const char *folder)
{
    static const char *const tails[] = {"", "-wal", "-shm", "-journal"};
    char path[PATH_LEN + 32];
    for (size_t i = 0; i < sizeof tails / sizeof tails[0]; i++) {
        (void)snprintf(path, sizeof path, "%s/recorder-1.db%s", folder, tails[i]);
        (void)unlink(path);
    }
    (void)rmdir(folder);
}

/* ---- the work ---- */

/* NOLINTNEXTLINE(cppcoreguidelines-avoid-non-const-global-variables): an extension has no context */
static sqlite3 *newest;

static int
note_newest(sqlite3 *db, const char **why, const void *api)
{
    (void)why;
    (void)api;
    newest = db;
    return SQLITE_OK;
}

static void
make_small(void)
{
    (void)sqlite3_wal_autocheckpoint(newest, CHECKPOINT_PAGES);
}

static void
make_very_small(void)
{
    make_small();
    (void)sqlite3_exec(newest, "PRAGMA cache_size = 10", NULL, NULL, NULL);
}

static void
play(struct room *room, uint64_t seed, struct disk_fault fault, bool dies)
{
    disk_free(&room->disk);
    empty(room->folder);
    disk_start(&room->disk, room->folder);
    room->disk.fault = fault;
    work_init(&room->work, seed, room->path);
    room->work.clock = &room->disk.count;
    room->work.dead = &room->disk.dead;
    room->work.dies_of_errors = dies;
    room->work.opened = seed % 2 == 0 ? make_small : make_very_small;
    work_open(&room->work);
    for (int i = 0; i < TURNS; i++) {
        work_turn(&room->work);
    }
    work_close(&room->work);
    disk_stop();
    audit_init(&room->audit, &room->work);
    room->audit.may_refuse = fault.kind == DISK_SYNC;
}

/* ---- the images ---- */

static void
cut_power(struct room *room, uint64_t seed, uint32_t image, const char *when)
{
    uint64_t mixed = (seed << 32) + ((uint64_t)room->platter.at << 12) + image;
    assert_int_equal(mkdir(room->image_folder, 0700), 0);
    struct platter_cut cut = platter_leave(&room->platter, mixed, room->image_folder);
    if (cut.folder_gone) {
        assert_int_equal(rmdir(room->image_folder), 0);
    }
    if (!audit_file(&room->audit, room->platter.at, room->image_path)) {
        fail_msg("seed %llu, %s, operation %u of %u, image %u%s: %s", (unsigned long long)seed,
                 when, room->platter.at, room->disk.count, image,
                 cut.folder_gone ? ", the folder is gone" : "", room->audit.why);
    }
    empty(room->image_folder);
    room->images++;
    room->all_images++;
    room->torn += cut.torn;
    room->refused += room->audit.refused ? 1 : 0;
    room->half_done += room->audit.open_turns;
    room->came_back += room->audit.open_turns_there;
}

static void
crash_at_every_operation_loses_nothing(void **state)
{
    struct room *room = *state;
    for (uint32_t i = 0; i < room->works; i++) {
        uint64_t seed = room->seed + i;
        play(room, seed, (struct disk_fault){0}, true);
        assert_int_equal(room->work.errors, 0);
        for (uint32_t j = 0; j < room->work.row_count; j++) {
            room->rows[room->work.row[j].row.table]++;
        }
        platter_init(&room->platter, &room->disk, seed);
        for (uint32_t at = 0; at <= room->disk.count; at++) {
            for (uint32_t image = 0; image < room->per_op; image++) {
                cut_power(room, seed, image, "no fault");
            }
            if (at < room->disk.count) {
                platter_step(&room->platter);
            }
        }
        platter_free(&room->platter);
        room->operations += room->disk.count;
    }
    print_message(
        "power cut: %u works, %u operations, %u images from seed %llu; %u sectors torn; of"
        " %u commits half done %u came back whole\n",
        room->works, room->operations, room->images, (unsigned long long)room->seed, room->torn,
        room->half_done, room->came_back);
    assert_true(room->came_back > 0 && room->came_back < room->half_done && room->torn > 0);
    for (enum row_table table = 0; table < ROW_TABLES; table++) {
        if (room->rows[table] == 0 && (room->seed == SEED || room->is_long)) {
            fail_msg("nothing was tried on this: %s", row_select[table]);
        }
    }
}

/* ---- a fault, and then the power ---- */

struct fault_row {
    const char *name;
    enum disk_kind kind;
    uint32_t count;
    bool dies; /* the process, of an error; else it closes its store and opens it again */
    uint32_t step, long_step; /* every how many of the kind */
};

static const struct fault_row FAULTS[] = {
    {"a sync fails, the process lives", DISK_SYNC, 1, false, 1, 1},
    {"a sync fails, the process dies", DISK_SYNC, 1, true, 1, 1},
    {"three syncs fail, the process lives", DISK_SYNC, 3, false, 1, 1},
    {"three syncs fail, the process dies", DISK_SYNC, 3, true, 1, 1},
    {"a write fails, the process lives", DISK_WRITE, 1, false, 17, 1},
    {"a write fails, the process dies", DISK_WRITE, 1, true, 17, 1},
    {"the process is killed", DISK_KINDS, 1, true, 17, 1},
};

/* The first operation that failed; how many there are when none did. */
static uint32_t
failed_at(const struct disk *disk)
{
    uint32_t at = 0;
    while (at < disk->count && !disk->op[at].failed) {
        at++;
    }
    return at;
}

/*
 * Of the log or the journal, with something to sync: then nothing that rests on it may be answered
 * well. What fails while the log is copied into the file is done again, and nobody need know.
 */
static bool
must_be_told(const struct room *room)
{
    const struct disk_op *op = &room->disk.op[room->platter.at];
    return op->kind == DISK_SYNC && op->failed && room->platter.file[op->file].later_count > 0 &&
           strstr(room->disk.name[op->file], ".db-") != NULL;
}

/* The power goes at some moments after the fault, most of them soon after it. */
static void
crash_after(struct room *room, uint64_t seed, uint32_t first, const char *when)
{
    static bool wanted[OPERATIONS_MAX];
    struct chance chance = chance_of(seed ^ first);
    uint32_t told = 0;
    memset(wanted, 0, sizeof wanted);
    assert_true(room->disk.count < OPERATIONS_MAX);
    first = first < room->disk.count ? first : room->disk.count; /* killed at the last of all */
    for (uint32_t i = 0; i < room->per_fault; i++) {
        uint32_t left = room->disk.count - first + 1;
        wanted[first + draw(&chance, one_in(&chance, 4) || left < SOON ? left : SOON)] = true;
    }
    platter_init(&room->platter, &room->disk, seed);
    for (uint32_t at = 0; at <= room->disk.count; at++) {
        if (wanted[at]) {
            cut_power(room, seed, 0, when);
        }
        if (at < room->disk.count) {
            told += must_be_told(room) ? 1 : 0;
            platter_step(&room->platter);
        }
    }
    platter_free(&room->platter);
    room->told += told;
    if (told > 0 && room->work.errors == 0) {
        fail_msg("seed %llu, %s: and nobody was told", (unsigned long long)seed, when);
    }
}

static uint32_t
play_faults(struct room *room, uint64_t seed, const struct fault_row *row)
{
    char when[96];
    uint32_t step = room->is_long ? row->long_step : row->step;
    uint32_t faults = 0;
    play(room, seed, (struct disk_fault){0}, row->dies);
    uint32_t count = row->kind == DISK_KINDS ? room->disk.count : room->disk.done[row->kind];
    for (uint32_t number = 1 + (uint32_t)seed % step; number <= count; number += step) {
        (void)snprintf(when, sizeof when, "%s at %u", row->name, number);
        play(room, seed, (struct disk_fault){row->kind, number, row->count}, row->dies);
        crash_after(room, seed, row->kind == DISK_KINDS ? number : failed_at(&room->disk) + 1,
                    when);
        faults++;
    }
    return faults;
}

static void
crash_after_a_fault_loses_nothing(void **state)
{
    struct room *room = *state;
    for (size_t i = 0; i < sizeof FAULTS / sizeof FAULTS[0]; i++) {
        uint32_t faults = 0;
        room->images = 0;
        room->told = 0;
        for (uint32_t j = 0; j < (room->is_long ? room->works / 2 : room->works); j++) {
            faults += play_faults(room, room->seed + j, &FAULTS[i]);
        }
        print_message("%s: %u faults, %u images; of the log with something to sync, and told: %u\n",
                      FAULTS[i].name, faults, room->images, room->told);
        assert_true(room->images > faults / 2);
    }
    print_message(
        "in all %u images of the disk after a power cut: 0 lost; refused before anything was"
        " committed: %u\n",
        room->all_images, room->refused);
}

int
main(int argc, char **argv)
{
    static struct room room;
    bool is_long = argc > 1 && strcmp(argv[1], "long") == 0;
    const char *seed = argc > (is_long ? 2 : 1) ? argv[is_long ? 2 : 1] : getenv("TL_SEED");
    room.seed = seed != NULL ? strtoull(seed, NULL, 10) : SEED;
    room.works = is_long ? 10 : WORKS;
    room.is_long = is_long;
    room.per_fault = is_long ? 16 : PER_FAULT;
    room.per_op = is_long ? 6 : 1;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_prestate(crash_at_every_operation_loses_nothing, &room),
        cmocka_unit_test_prestate(crash_after_a_fault_loses_nothing, &room)};
    (void)snprintf(room.base, sizeof room.base, "%s/trapline-crash-XXXXXX",
                   access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp");
    if (mkdtemp(room.base) == NULL) {
        perror(room.base);
        return 1;
    }
    (void)snprintf(room.folder, sizeof room.folder, "%s/record", room.base);
    (void)snprintf(room.path, sizeof room.path, "%s/recorder-1.db", room.folder);
    (void)snprintf(room.image_folder, sizeof room.image_folder, "%s/image", room.base);
    (void)snprintf(room.image_path, sizeof room.image_path, "%s/recorder-1.db", room.image_folder);
    (void)sqlite3_auto_extension((void (*)(void))note_newest);
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    empty(room.image_folder);
    empty(room.folder);
    (void)rmdir(room.base);
    disk_free(&room.disk);
    return failed;
}
