/* SPDX-License-Identifier: Apache-2.0 */
/*
 * disk.h - a disk that notes in order what is done to the files of one folder
 *
 * A VFS of SQLite over the one for unix, the default one while a disk runs: all passes through to
 * real files, and what changes them is noted. The shared memory of a log is not: it need not
 * outlive anything. What SQLite does not do through its VFS, the folder that a store makes and a
 * sync of a folder, is noted by wrapping mkdir and fsync in the link of the test, and by the
 * system call that the VFS for unix lets be replaced, the opening of a folder to sync it.
 *
 * One disk runs at a time.
 */
#ifndef TESTS_RECORDER_DISK_H
#define TESTS_RECORDER_DISK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum {
    DISK_FILES_MAX = 64,
    DISK_NAME_CAP = 32
};

enum disk_kind {
    DISK_NOTHING = 0,
    DISK_MAKE,        /* a file, by opening it */
    DISK_WRITE,       /* `len` bytes at `at` */
    DISK_CUT,         /* to the length `at` */
    DISK_SYNC,        /* of a file; `failed` says what was answered */
    DISK_REMOVE,      /* the name of a file */
    DISK_FOLDER_SYNC, /* names of files */
    DISK_FOLDER_MAKE, /* the folder of the files */
    DISK_PARENT_SYNC, /* the name of that folder */
    DISK_KINDS
};

struct disk_op {
    enum disk_kind kind;
    bool failed;
    uint32_t file; /* each making of a name is another file */
    uint32_t len;
    uint64_t at;
    uint8_t *bytes;
};

/*
 * The `first` operation of a kind, from 1, and the `count` - 1 after it, fail: DISK_SYNC or
 * DISK_WRITE, a write after its half. DISK_KINDS: the process dies at the `first` of any kind, of a
 * write after its half. DISK_NOTHING: all goes well.
 */
struct disk_fault {
    enum disk_kind kind;
    uint32_t first;
    uint32_t count;
};

struct disk {
    char folder[512]; /* whose files are noted */
    struct disk_fault fault;
    bool dead; /* the process: what it still asks for does nothing */
    uint32_t count, cap;
    struct disk_op *op;
    uint32_t done[DISK_KINDS]; /* how many of each kind */
    uint32_t file_count;
    char name[DISK_FILES_MAX][DISK_NAME_CAP]; /* within the folder */
};

/* Make it the default; op is empty. The caller keeps it until disk_stop. */
void disk_start(struct disk *disk, const char *folder);
/* SQLite's own VFS is the default again; what was noted stays. */
void disk_stop(void);
void disk_free(struct disk *disk);

#endif
