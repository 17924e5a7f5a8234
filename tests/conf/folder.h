/* SPDX-License-Identifier: Apache-2.0 */
/*
 * folder - a configuration folder that is good, to be spoilt by a test
 *
 * Its five texts are here and not the demo's, so that an edit of the demo moves no line that a test
 * expects. The keys are made from fixed seeds, so the sixth file is always the same too.
 */
#ifndef TESTS_CONF_FOLDER_H
#define TESTS_CONF_FOLDER_H

#include <stddef.h>
#include <stdint.h>

enum {
    FOLDER_FILES = 6,
    FOLDER_FILE_CAP = 140 * 1024,
    FOLDER_PATH_CAP = 128
};

struct folder {
    char dir[64];
};

/* "ship.yaml", ... in the order of the digests, bus.yaml and keys.yaml last. */
extern const char *const folder_names[FOLDER_FILES];

/* The good text of a file, NUL-terminated, len bytes. text: cap FOLDER_FILE_CAP. */
size_t folder_good_text(const char *name, char *text);

/* Public half made from a seed of 32 equal bytes. */
void folder_identity(uint8_t seed, uint8_t identity[32]);

/* Make a folder under /tmp with all six good files; a failure ends the test. */
void folder_make(struct folder *folder);

/* Write one file, or remove it when text is NULL. */
void folder_put(const struct folder *folder, const char *name, const char *text, size_t len);

/* Make every file good again, whatever stands in its place. */
void folder_mend(const struct folder *folder);

/* Remove the folder and all in it, one level of folders deep. */
void folder_remove(const struct folder *folder);

#endif
