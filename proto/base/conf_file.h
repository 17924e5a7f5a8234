/* SPDX-License-Identifier: Apache-2.0 */
/*
 * conf_file - one configuration file: its bytes, and the line of everything in it
 *
 * Private to conf. A file that opens here is plain UTF-8 text and one YAML document of mappings,
 * lists and one-line values, without anchors, aliases, tags or a key given twice: the parts of YAML
 * in which what a person sees and what a program reads can differ.
 */
#ifndef PROTO_BASE_CONF_FILE_H
#define PROTO_BASE_CONF_FILE_H

#include <stddef.h>
#include <stdint.h>

#include "proto/base/conf.h"

enum {
    TL_CONF_KEY_CAP = 32,
    TL_CONF_ENTRIES_MAX = 3072, /* 512 keys of 5 entries are the most that any file needs */
    TL_CONF_DEPTH_MAX = 4       /* mapping, list, mapping; one to spare */
};
static_assert(TL_CONF_ENTRIES_MAX > TL_KEYS_MAX * 5 + 2, "the largest keys.yaml must fit");

/* One key of a mapping or one item of a list; entry 0 is the document. */
struct tl_conf_entry {
    uint32_t parent;
    uint32_t index;            /* place among its parent's entries, from 0 */
    uint32_t line;             /* of the key or of the item's first byte, from 1 */
    char key[TL_CONF_KEY_CAP]; /* "" for an item of a list */
};

struct tl_conf_file {
    const char *name; /* "ship.yaml" */
    size_t len;
    uint32_t entry_count;
    struct tl_conf_entry entry[TL_CONF_ENTRIES_MAX];
    uint8_t bytes[TL_CONF_FILE_MAX];
};

/*
 * Read the bytes of the file of that name in dir.
 *
 * file: name is set by the caller and borrowed as long as the file is used; bytes and len are out;
 * the entries are not made.
 * Errors: TL_CONFIG with fault: missing, unreadable, not a regular file, too long, path too long.
 */
TL_MUST_USE enum tl_err tl_conf_file_read(const char *dir, struct tl_conf_file *file,
                                          struct tl_conf_fault *fault);

/*
 * Check that the bytes are plain text and YAML of the kind used here, and note the lines.
 * Errors: TL_CONFIG with fault; TL_NOMEM with fault.
 */
TL_MUST_USE enum tl_err tl_conf_file_outline(struct tl_conf_file *file,
                                             struct tl_conf_fault *fault);

/*
 * Find the line of a path such as "nodes[3].id" (items from 0); of the deepest part that exists if
 * the whole does not, so that a missing key points at the mapping that lacks it.
 */
uint32_t tl_conf_file_line(const struct tl_conf_file *file, const char *path);

/*
 * Fill a fault and return TL_CONFIG. The text is made plain, so words of the file may be arguments.
 * name: the file's. line: 0 for none.
 */
TL_MUST_USE enum tl_err tl_conf_fault_at(struct tl_conf_fault *fault, const char *name,
                                         uint32_t line, const char *fmt, ...)
    __attribute__((format(printf, 4, 5)));

#endif
