/* SPDX-License-Identifier: Apache-2.0 */
/*
 * err - the one error type of the project
 *
 * An error is something the world did: a file is absent, a frame does not decode, a queue is full.
 * It is not a verdict (refused, not ready, unknown are data and travel as values) and not a bug of
 * ours (see proto/base/require.h).
 *
 * 1. TL_OK is 0. Out-parameters are written on TL_OK only, unless the contract says otherwise.
 * 2. Every function returning enum tl_err is marked TL_MUST_USE; a wanted drop is written as
 *    tl_err_ignore(err, "why").
 */
#ifndef PROTO_BASE_ERR_H
#define PROTO_BASE_ERR_H

#define TL_MUST_USE __attribute__((warn_unused_result))

enum tl_err {
    TL_OK = 0,    /* done */
    TL_EMPTY,     /* nothing there now; not a fault (queue empty, no message) */
    TL_AGAIN,     /* cannot be done now without blocking; try later */
    TL_BADARG,    /* the caller's value is out of the documented range */
    TL_FULL,      /* a named maximum is reached, or the medium has no room */
    TL_MALFORMED, /* bytes or text do not follow their format */
    TL_REFUSED,   /* well formed, and not allowed by a rule or by authority */
    TL_STALE,     /* older than its limit, or already superseded */
    TL_NOTFOUND,  /* the named thing does not exist */
    TL_EXISTS,    /* the named thing exists already */
    TL_PERM,      /* the operating system denied it */
    TL_IO,        /* the operating system or the network failed */
    TL_NOMEM,     /* memory could not be had */
    TL_CONFIG     /* a configuration file says something that cannot be used */
};

/*
 * Name the error in plain words, for a log line ("not found").
 *
 * err: any value; one outside the enumeration gives "unknown error".
 * Returns static text, never NULL.
 */
const char *tl_err_text(enum tl_err err);

/*
 * What a system call's errno means here.
 *
 * number: errno. Returns TL_NOTFOUND, TL_PERM, TL_FULL (no room), else TL_IO. Pure.
 */
TL_MUST_USE enum tl_err tl_err_of_errno(int number);

/*
 * Drop an error on purpose.
 *
 * err: the result dropped. why: the reason, for the reader of the call; not evaluated further.
 */
static inline void
tl_err_ignore(enum tl_err err, const char *why)
{
    (void)err;
    (void)why;
}

#endif
