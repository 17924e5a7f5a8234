/* SPDX-License-Identifier: Apache-2.0 */
/*
 * conf_file - bytes of a configuration file: read, checked as text, and faults put into words
 */
#include "proto/base/conf_file.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "proto/base/file.h"
#include "proto/base/text.h"

enum tl_err
tl_conf_fault_at(struct tl_conf_fault *fault, const char *name, uint32_t line, const char *fmt, ...)
{
    char text[TL_CONF_FAULT_TEXT_CAP];
    va_list args;

    va_start(args, fmt);
    int len = vsnprintf(text, sizeof text, fmt, args);
    va_end(args);
    if (len < 0) {
        text[0] = '\0';
    }
    fault->line = line;
    (void)snprintf(fault->file, sizeof fault->file, "%s", name);
    (void)tl_text_plain(fault->text, sizeof fault->text, text, strlen(text));
    return TL_CONFIG;
}

static_assert(TL_CONF_FILE_MAX == 131072, "the advice below names it");

/* What to tell a person about a file that did not read. */
static const char *
read_advice(enum tl_err err)
{
    static const char *const advice[] = {
        [TL_NOTFOUND] = "does not exist; a configuration folder has six files, see the demo folder",
        [TL_PERM] = "may not be read by this user; correct its owner or its permissions",
        [TL_BADARG] = "is not a regular file; put a file in its place",
        [TL_FULL] = "is longer than 131072 bytes; shorten it",
    };
    if ((size_t)err < sizeof advice / sizeof advice[0] && advice[err] != NULL) {
        return advice[err];
    }
    return "could not be read; check the disk";
}

enum tl_err
tl_conf_file_read(const char *dir, struct tl_conf_file *file, struct tl_conf_fault *fault)
{
    const char *name = file->name;
    char path[TL_PATH_CAP];
    size_t len = 0;

    file->len = 0;
    file->entry_count = 0;
    int need = snprintf(path, sizeof path, "%s/%s", dir, name);
    if (need < 0 || (size_t)need >= sizeof path) {
        return tl_conf_fault_at(fault, name, 0, "the path of its folder is too long; move it");
    }
    enum tl_err err = tl_file_read(path, sizeof file->bytes, file->bytes, &len);
    if (err != TL_OK) {
        return tl_conf_fault_at(fault, name, 0, "%s", read_advice(err));
    }
    file->len = len;
    return TL_OK;
}
