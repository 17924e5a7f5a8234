/* SPDX-License-Identifier: Apache-2.0 */
/* disk.c - see disk.h. */
#include "tests/recorder/disk.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>
#include <sqlite3.h>

enum {
    PRNG_SEED = 53
};

enum fate {
    GOES_WELL = 0,
    FAILS,
    DIES, /* in the middle of it */
    DEAD
};

typedef int open_folder_fn(const char *path, int *fd);

/* A file as SQLite holds it; the one beneath follows in memory. */
struct handle {
    sqlite3_file base;
    struct disk *disk; /* NULL: not of its folder */
    uint32_t file;
    sqlite3_file *under;
};

/* NOLINTBEGIN(cppcoreguidelines-avoid-non-const-global-variables): mkdir and a system call of the
 * VFS have no place for a context */
static struct disk *running;
static sqlite3_vfs *under;
static open_folder_fn *open_folder;
/* NOLINTEND(cppcoreguidelines-avoid-non-const-global-variables) */

/* ---- noting ---- */

static struct disk_op *
note(struct disk *disk, enum disk_kind kind, uint32_t file)
{
    if (disk->count == disk->cap) {
        disk->cap = disk->cap == 0 ? 1024 : 2 * disk->cap;
        disk->op = realloc(disk->op, disk->cap * sizeof *disk->op);
        assert_non_null(disk->op);
    }
    struct disk_op *op = &disk->op[disk->count++];
    *op = (struct disk_op){.kind = kind, .file = file};
    disk->done[kind]++;
    return op;
}

/* What becomes of the next operation of that kind. */
static enum fate
fate_of(struct disk *disk, enum disk_kind kind)
{
    struct disk_fault *fault = &disk->fault;
    uint32_t number = disk->done[kind] + 1;
    if (disk->dead) {
        return DEAD;
    }
    if (fault->kind == DISK_KINDS && disk->count + 1 == fault->first) {
        fault->kind = DISK_NOTHING;
        disk->dead = true;
        return DIES;
    }
    bool fails =
        fault->kind == kind && number >= fault->first && number - fault->first < fault->count;
    return fails ? FAILS : GOES_WELL;
}

/* The name within the folder, or NULL: another file. */
static const char *
name_of(const struct disk *disk, const char *path)
{
    size_t len = strlen(disk->folder);
    bool ours = path != NULL && strncmp(path, disk->folder, len) == 0 && path[len] == '/';
    return ours ? path + len + 1 : NULL;
}

static uint32_t
newest_of(const struct disk *disk, const char *name)
{
    uint32_t i = disk->file_count;
    while (i > 0 && strcmp(disk->name[i - 1], name) != 0) {
        i--;
    }
    assert_true(i > 0);
    return i - 1;
}

static bool
is_there(const char *path)
{
    return access(path, F_OK) == 0;
}

/* ---- files ---- */

static struct handle *
handle_of(sqlite3_file *file)
{
    return (struct handle *)(void *)file;
}

static sqlite3_file *
below(sqlite3_file *file)
{
    return handle_of(file)->under;
}

static bool
is_dead(sqlite3_file *file)
{
    struct disk *disk = handle_of(file)->disk;
    return disk != NULL && disk->dead;
}

static int
close_file(sqlite3_file *file)
{
    return below(file)->pMethods->xClose(below(file));
}

static int
read_file(sqlite3_file *file, void *bytes, int len, sqlite3_int64 at)
{
    return is_dead(file) ? SQLITE_IOERR_READ
                         : below(file)->pMethods->xRead(below(file), bytes, len, at);
}

static int
write_file(sqlite3_file *file, const void *bytes, int len, sqlite3_int64 at)
{
    struct disk *disk = handle_of(file)->disk;
    if (disk == NULL) {
        return below(file)->pMethods->xWrite(below(file), bytes, len, at);
    }
    enum fate fate = fate_of(disk, DISK_WRITE);
    if (fate == DEAD) {
        return SQLITE_IOERR_WRITE;
    }
    len = fate == GOES_WELL ? len : len / 2;
    struct disk_op *op = note(disk, DISK_WRITE, handle_of(file)->file);
    op->failed = fate != GOES_WELL;
    op->at = (uint64_t)at;
    op->len = (uint32_t)len;
    op->bytes = malloc(op->len + 1);
    assert_non_null(op->bytes);
    memcpy(op->bytes, bytes, op->len);
    int code = below(file)->pMethods->xWrite(below(file), bytes, len, at);
    assert_int_equal(code, SQLITE_OK);
    return fate == GOES_WELL ? SQLITE_OK : SQLITE_FULL;
}

static int
cut_file(sqlite3_file *file, sqlite3_int64 len)
{
    struct disk *disk = handle_of(file)->disk;
    if (disk != NULL && fate_of(disk, DISK_CUT) != GOES_WELL) {
        return SQLITE_IOERR_TRUNCATE;
    }
    if (disk != NULL) {
        note(disk, DISK_CUT, handle_of(file)->file)->at = (uint64_t)len;
    }
    return below(file)->pMethods->xTruncate(below(file), len);
}

static int
sync_file(sqlite3_file *file, int flags)
{
    struct disk *disk = handle_of(file)->disk;
    enum fate fate = disk != NULL ? fate_of(disk, DISK_SYNC) : GOES_WELL;
    if (disk != NULL && (fate == GOES_WELL || fate == FAILS)) {
        note(disk, DISK_SYNC, handle_of(file)->file)->failed = fate == FAILS;
    }
    if (fate != GOES_WELL) {
        return SQLITE_IOERR_FSYNC;
    }
    return below(file)->pMethods->xSync(below(file), flags);
}

static int
size_file(sqlite3_file *file, sqlite3_int64 *len)
{
    return is_dead(file) ? SQLITE_IOERR_FSTAT : below(file)->pMethods->xFileSize(below(file), len);
}

static int
lock_file(sqlite3_file *file, int lock)
{
    return is_dead(file) ? SQLITE_IOERR_LOCK : below(file)->pMethods->xLock(below(file), lock);
}

static int
unlock_file(sqlite3_file *file, int lock)
{
    return below(file)->pMethods->xUnlock(below(file), lock);
}

static int
check_lock(sqlite3_file *file, int *held)
{
    return below(file)->pMethods->xCheckReservedLock(below(file), held);
}

static int
control_file(sqlite3_file *file, int what, void *value)
{
    return is_dead(file) ? SQLITE_IOERR
                         : below(file)->pMethods->xFileControl(below(file), what, value);
}

static int
sector_of(sqlite3_file *file)
{
    return below(file)->pMethods->xSectorSize(below(file));
}

static int
traits_of(sqlite3_file *file)
{
    return below(file)->pMethods->xDeviceCharacteristics(below(file));
}

static int
map_shm(sqlite3_file *file, int page, int len, int extend, void volatile **out)
{
    return below(file)->pMethods->xShmMap(below(file), page, len, extend, out);
}

static int
lock_shm(sqlite3_file *file, int first, int count, int flags)
{
    return below(file)->pMethods->xShmLock(below(file), first, count, flags);
}

static void
order_shm(sqlite3_file *file)
{
    below(file)->pMethods->xShmBarrier(below(file));
}

static int
unmap_shm(sqlite3_file *file, int remove)
{
    return below(file)->pMethods->xShmUnmap(below(file), is_dead(file) ? 0 : remove);
}

static const sqlite3_io_methods METHODS = {
    .iVersion = 2, /* without mapped pages: every byte is written by xWrite */
    .xClose = close_file,
    .xRead = read_file,
    .xWrite = write_file,
    .xTruncate = cut_file,
    .xSync = sync_file,
    .xFileSize = size_file,
    .xLock = lock_file,
    .xUnlock = unlock_file,
    .xCheckReservedLock = check_lock,
    .xFileControl = control_file,
    .xSectorSize = sector_of,
    .xDeviceCharacteristics = traits_of,
    .xShmMap = map_shm,
    .xShmLock = lock_shm,
    .xShmBarrier = order_shm,
    .xShmUnmap = unmap_shm,
};

/* ---- the VFS ---- */

static int
open_file(sqlite3_vfs *vfs, const char *path, sqlite3_file *file, int flags, int *got)
{
    struct handle *handle = handle_of(file);
    const char *name = running != NULL ? name_of(running, path) : NULL;
    (void)vfs;
    memset(handle, 0, sizeof *handle);
    bool made = name != NULL && !is_there(path);
    if (name != NULL && (running->dead || (made && fate_of(running, DISK_MAKE) != GOES_WELL))) {
        return SQLITE_CANTOPEN;
    }
    handle->under = (sqlite3_file *)(void *)(handle + 1);
    int code = under->xOpen(under, path, handle->under, flags, got);
    if (code != SQLITE_OK) {
        return code;
    }
    file->pMethods = &METHODS;
    if (name == NULL) {
        return SQLITE_OK;
    }
    handle->disk = running;
    if (made) {
        assert_true(running->file_count < DISK_FILES_MAX);
        (void)snprintf(running->name[running->file_count], DISK_NAME_CAP, "%s", name);
        (void)note(running, DISK_MAKE, running->file_count++);
    }
    handle->file = newest_of(running, name);
    return SQLITE_OK;
}

static int
remove_file(sqlite3_vfs *vfs, const char *path, int sync)
{
    const char *name = running != NULL ? name_of(running, path) : NULL;
    (void)vfs;
    bool removes = name != NULL && is_there(path);
    if (removes && fate_of(running, DISK_REMOVE) != GOES_WELL) {
        return SQLITE_IOERR_DELETE;
    }
    if (removes) {
        (void)note(running, DISK_REMOVE, newest_of(running, name));
    }
    return under->xDelete(under, path, sync);
}

/* SQLite opens a folder for nothing else than to sync it. */
static int
open_folder_noted(const char *path, int *fd)
{
    if (running != NULL && name_of(running, path) != NULL && !running->dead) {
        (void)note(running, DISK_FOLDER_SYNC, 0);
    }
    return open_folder(path, fd);
}

/* NOLINTBEGIN(bugprone-reserved-identifier,readability-identifier-naming): names of the linker */
int __real_mkdir(const char *path, mode_t mode);
int __real_fsync(int fd);
int __wrap_mkdir(const char *path, mode_t mode);
int __wrap_fsync(int fd);

int
__wrap_mkdir(const char *path, mode_t mode)
{
    int made = __real_mkdir(path, mode);
    if (made == 0 && running != NULL && strcmp(path, running->folder) == 0) {
        (void)note(running, DISK_FOLDER_MAKE, 0);
    }
    return made;
}

int
__wrap_fsync(int fd)
{
    struct stat it;
    struct stat folder;
    struct stat parent;
    char above[sizeof running->folder + 4];
    if (running != NULL && fstat(fd, &it) == 0 && stat(running->folder, &folder) == 0) {
        (void)snprintf(above, sizeof above, "%s/..", running->folder);
        assert_int_equal(stat(above, &parent), 0);
        if (it.st_dev == parent.st_dev && it.st_ino == parent.st_ino) {
            (void)note(running, DISK_PARENT_SYNC, 0);
        } else if (it.st_dev == folder.st_dev && it.st_ino == folder.st_ino) {
            (void)note(running, DISK_FOLDER_SYNC, 0);
        }
    }
    return __real_fsync(fd);
}
/* NOLINTEND(bugprone-reserved-identifier,readability-identifier-naming) */

/* POSIX lets what is a system call be a function; ISO C has no conversion between such types. */
static void
take_folder_call(void)
{
    sqlite3_syscall_ptr found = under->xGetSystemCall(under, "openDirectory");
    sqlite3_syscall_ptr noted = NULL;
    open_folder_fn *ours = open_folder_noted;
    assert_non_null(found);
    memcpy(&open_folder, &found, sizeof found);
    memcpy(&noted, &ours, sizeof ours);
    assert_int_equal(under->xSetSystemCall(under, "openDirectory", noted), SQLITE_OK);
}

static sqlite3_vfs *
vfs_of_disks(void)
{
    static sqlite3_vfs vfs;
    if (under == NULL) {
        under = sqlite3_vfs_find("unix");
        assert_non_null(under);
        vfs = *under;
        vfs.zName = "disk";
        vfs.pNext = NULL;
        vfs.szOsFile = (int)sizeof(struct handle) + under->szOsFile;
        vfs.xOpen = open_file;
        vfs.xDelete = remove_file;
        take_folder_call();
    }
    return &vfs;
}

void
disk_start(struct disk *disk, const char *folder)
{
    memset(disk, 0, sizeof *disk);
    (void)snprintf(disk->folder, sizeof disk->folder, "%s", folder);
    assert_int_equal(sqlite3_vfs_register(vfs_of_disks(), 1), SQLITE_OK);
    /* the salts of a log too come again */
    (void)sqlite3_test_control(SQLITE_TESTCTRL_PRNG_SEED, PRNG_SEED, NULL);
    running = disk;
}

void
disk_stop(void)
{
    running = NULL;
    assert_int_equal(sqlite3_vfs_register(under, 1), SQLITE_OK);
}

void
disk_free(struct disk *disk)
{
    for (uint32_t i = 0; i < disk->count; i++) {
        free(disk->op[i].bytes);
    }
    free(disk->op);
    memset(disk, 0, sizeof *disk);
}
