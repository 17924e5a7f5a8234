/* SPDX-License-Identifier: Apache-2.0 */
/* credential - see credential.h. */
#include "proto/base/credential.h"

#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

bool
tl_credential_find(const char *name, char *dst, size_t cap)
{
    const char *dir = getenv("CREDENTIALS_DIRECTORY");
    struct stat st;

    if (dir == NULL || dir[0] != '/') {
        return false;
    }
    int len = snprintf(dst, cap, "%s/%s", dir, name);
    return len > 0 && (size_t)len < cap && lstat(dst, &st) == 0;
}

bool
tl_credential_is_private(const char *path)
{
    struct stat st;

    return lstat(path, &st) == 0 && S_ISREG(st.st_mode) &&
           (st.st_uid == 0 || st.st_uid == geteuid()) &&
           (st.st_mode & (S_IWGRP | S_IXGRP | S_IRWXO)) == 0;
}
