/* SPDX-License-Identifier: Apache-2.0 */
/*
 * platter.h - what a power cut may leave of the files whose history a disk noted
 *
 * What a disk and its file system may do here:
 *  1. What was written before a sync of that file that was answered well is there afterwards.
 *  2. Of what was written since, any part is there and any is not, whatever was written first, in
 *     pieces of a sector of 512 bytes; a file may already have its new length, with zeros or
 *     garbage where nothing came.
 *  3. The sector being written is torn: its first or its last bytes are new and the rest old, or
 *     it is garbage; but only within what was written to it, and not where that changed nothing.
 *  4. A sync that fails: of what it was for, any part is on the disk; the rest never comes, though
 *     readers see it until the power goes, and the next sync is answered well.
 *  5. A name of a file that was made or removed is there as it was at the last sync of its folder,
 *     or at any time since; a sync of the file itself does not help. A folder that was made is
 *     there for certain after a sync of the one that it is in.
 * Not here: what was synced and spoils later (row 62 of the fault catalogue), a disk that answers
 * a sync and has not done it, a sync of a folder that fails.
 *
 * Sources: D. R. Hipp et al., "Atomic Commit In SQLite", sqlite.org/atomiccommit.html, sections 2
 * (hardware assumptions: order, lengths before contents, sectors) and 9 (incomplete flushes);
 * "Powersafe Overwrite", sqlite.org/psow.html (the second half of 3, on which the log of SQLite
 * rests by default on unix); A. Rebello et al., "Can Applications Recover from fsync Failures?",
 * USENIX ATC 2020 (4); fsync(2) of the Linux man-pages (5). The pages of sqlite.org from memory.
 */
#ifndef TESTS_RECORDER_PLATTER_H
#define TESTS_RECORDER_PLATTER_H

#include "tests/recorder/chance.h"
#include "tests/recorder/disk.h"

enum {
    PLATTER_SECTOR = 512,
    PLATTER_NAMES_MAX = 4,
    PLATTER_TURNS_MAX = 64
};

/* One file: what is safe, and the operations since. */
struct platter_file {
    uint8_t *bytes;
    size_t len, cap;
    uint32_t later_count, later_cap;
    uint32_t *later; /* indices of disk->op */
};

/* Which file a name has been of since the last sync of its folder; [0] is safe. */
struct platter_name {
    char name[DISK_NAME_CAP];
    uint32_t turn_count;
    uint32_t turn[PLATTER_TURNS_MAX]; /* an index of disk->name, or DISK_FILES_MAX: none */
};

struct platter {
    const struct disk *disk;
    uint32_t at; /* operations that were begun */
    struct chance chance;
    bool folder_in_doubt;
    struct platter_file file[DISK_FILES_MAX];
    uint32_t name_count;
    struct platter_name name[PLATTER_NAMES_MAX];
};

/* What one cut did; for the figures. */
struct platter_cut {
    uint32_t kept, lost; /* pieces that were written and not synced */
    uint32_t torn;
    bool folder_gone;
};

/* Before the first operation. seed: of what failed syncs leave. */
void platter_init(struct platter *platter, const struct disk *disk, uint64_t seed);
void platter_free(struct platter *platter);

/* One operation more. */
void platter_step(struct platter *platter);

/* The power goes: write into the folder, which is there and empty, what may be left. */
struct platter_cut platter_leave(const struct platter *platter, uint64_t seed, const char *folder);

#endif
