/* SPDX-License-Identifier: Apache-2.0 */
/*
 * local.h - the socket by which `--do` reaches the running station of its unit on this host.
 *
 * AF_UNIX, 0600, in the run folder (0700). A request is one line: "do confirm ASKED TEXT" or
 * "do plain ASKED TEXT", ASKED being CLOCK_BOOTTIME in ms when it was asked: both are on one host.
 * A station that stood still reads it late, when whoever asked has long been told that nobody
 * answered. The answer is lines of text; the last one is "exit N". So the command runs in
 * the one process that holds the station's incarnation, never in a second one.
 */
#ifndef TL_STATION_LOCAL_H
#define TL_STATION_LOCAL_H

#include "clients/station/command.h"
#include "proto/base/err.h"

enum {
    TL_LOCAL_CLIENTS = 8,
    TL_REQUEST_CAP = TL_LINE_MAX + 40 /* the words before the text, with 20 digits, and the NUL */
};

struct tl_local_client {
    int fd; /* -1 = free */
    char line[TL_REQUEST_CAP];
    size_t used;
    uint64_t asked_ms; /* of its last request */
};
struct tl_local {
    int fd;
    char path[TL_PATH_CAP];
    struct tl_local_client client[TL_LOCAL_CLIENTS];
};

/*
 * Make the run folder and listen. TL_EXISTS: another process answers there. TL_PERM, TL_IO,
 * TL_FULL (path too long for a socket): `why` says what to do.
 */
TL_MUST_USE enum tl_err tl_local_open(const char *run_dir, const char *node, struct tl_local *local,
                                      char *why, size_t cap);
/* Closes clients, removes the socket file. */
void tl_local_close(struct tl_local *local);

/* Accept whoever waits; more than TL_LOCAL_CLIENTS are turned away. */
void tl_local_accept(struct tl_local *local);

/*
 * Read from one client. True when a request is whole: *confirm and text (TL_LINE_MAX bytes).
 * A client that hangs up or talks nonsense is closed.
 */
bool tl_local_read(struct tl_local_client *client, bool *confirm, char *text);
/* Whether whoever asked has hung up. */
bool tl_local_gone(const struct tl_local_client *client);
void tl_local_tell(struct tl_local_client *client, const char *line);
/* Say "exit N" and close. */
void tl_local_end(struct tl_local_client *client, int code);

/*
 * The other side: hand a command to the running station, print its answer, return its exit code.
 * TL_EXIT_UNANSWERED and one line when no such station runs on this host.
 */
int tl_local_do(const char *run_dir, const char *node, const char *text, bool confirm);

#endif
