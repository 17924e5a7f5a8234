/* SPDX-License-Identifier: Apache-2.0 */
/* held.c - requests that wait for news before they are answered, and whoever asked for them. */
#include "clients/station/session.h"

#include <stdio.h>
#include <string.h>

#include "proto/base/clock.h"

static struct tl_held_request *
held_of(struct tl_session *session, int client)
{
    for (size_t i = 0; i < TL_LOCAL_CLIENTS + 1; i++) {
        if (session->held[i].used && session->held[i].client == client) {
            return &session->held[i];
        }
    }
    return NULL;
}

bool
tl_session_holds(struct tl_session *session, int client)
{
    return held_of(session, client) != NULL;
}

bool
tl_session_hold(struct tl_session *session, const char *line, bool confirm, int client)
{
    struct tl_held_request *held = held_of(session, client);
    if (held != NULL) {
        bool waits = tl_clock_boot_ms() < held->until_ms;
        held->used = waits;
        return waits;
    }
    for (size_t i = 0; i < TL_LOCAL_CLIENTS + 1; i++) {
        held = &session->held[i];
        if (!held->used) {
            *held = (struct tl_held_request){.used = true,
                                             .confirm = confirm,
                                             .client = client,
                                             .until_ms = tl_clock_boot_ms() + TL_HELD_MS};
            (void)snprintf(held->line, sizeof held->line, "%s", line);
            return true;
        }
    }
    return false;
}

void
tl_session_forget_held(struct tl_session *session, int client)
{
    struct tl_held_request *held = held_of(session, client);
    if (held != NULL) {
        held->used = false;
    }
}

void
tl_session_end_hold(struct tl_session *session)
{
    struct tl_held_request *held = held_of(session, -1);
    if (held != NULL) {
        held->until_ms = 0;
        struct tl_held_request last = *held;
        tl_session_line(session, last.line, last.confirm, -1);
    }
}

void
tl_session_try_held(struct tl_session *session)
{
    for (size_t i = 0; i < TL_LOCAL_CLIENTS + 1; i++) {
        struct tl_held_request held = session->held[i];
        if (held.used) {
            tl_session_line(session, held.line, held.confirm, held.client);
        }
    }
}

void
tl_session_leave_gone(struct tl_session *session)
{
    for (size_t i = 0; i < TL_WAITS_MAX; i++) {
        struct tl_wait *wait = &session->wait[i];
        if (wait->used && wait->client >= 0 && session->local.client[wait->client].fd < 0) {
            wait->client = -1;
        }
    }
    for (size_t i = 0; i < TL_LOCAL_CLIENTS + 1; i++) {
        struct tl_held_request *held = &session->held[i];
        if (held->used && held->client >= 0 && session->local.client[held->client].fd < 0) {
            held->used = false;
        }
    }
}
