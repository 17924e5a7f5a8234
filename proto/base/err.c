/* SPDX-License-Identifier: Apache-2.0 */
/*
 * err - words for the error values
 *
 * A switch without default, so that the compiler names a value that has no words.
 */
#include "proto/base/err.h"

#include <errno.h>

const char *
tl_err_text(enum tl_err err)
{
    switch (err) {
    case TL_OK:
        return "ok";
    case TL_EMPTY:
        return "nothing there";
    case TL_AGAIN:
        return "try again later";
    case TL_BADARG:
        return "value out of range";
    case TL_FULL:
        return "full";
    case TL_MALFORMED:
        return "malformed";
    case TL_REFUSED:
        return "refused";
    case TL_STALE:
        return "stale";
    case TL_NOTFOUND:
        return "not found";
    case TL_EXISTS:
        return "exists already";
    case TL_PERM:
        return "permission denied";
    case TL_IO:
        return "input/output failure";
    case TL_NOMEM:
        return "out of memory";
    case TL_CONFIG:
        return "configuration unusable";
    }
    return "unknown error";
}

enum tl_err
tl_err_of_errno(int number)
{
    switch (number) {
    case ENOENT:
        return TL_NOTFOUND;
    case EACCES:
    case EPERM:
    case EROFS:
        return TL_PERM;
    case ENOSPC:
    case EDQUOT:
        return TL_FULL;
    default:
        return TL_IO;
    }
}
