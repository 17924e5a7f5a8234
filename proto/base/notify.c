/* SPDX-License-Identifier: Apache-2.0 */
/* notify - see notify.h. */
#include "proto/base/notify.h"

#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "proto/base/text.h"

enum {
    MESSAGE_CAP = TL_NOTIFY_STATUS_CAP + 32,
    USEC_PER_MS = 1000,
    FEEDS_A_PERIOD = 3
};

/* A path from the root, or '@' and a name of the abstract space, where a NUL byte stands for it. */
static bool
find_address(const char *name, struct tl_notify *notify)
{
    size_t len = name != NULL ? strlen(name) : 0;
    struct sockaddr_un *to = &notify->to;

    if (len < 2 || len >= sizeof to->sun_path || (name[0] != '/' && name[0] != '@')) {
        return false;
    }
    to->sun_family = AF_UNIX;
    memcpy(to->sun_path, name, len + 1);
    notify->to_len = (socklen_t)(offsetof(struct sockaddr_un, sun_path) + len);
    if (name[0] == '@') {
        to->sun_path[0] = '\0';
    } else {
        notify->to_len++;
    }
    return true;
}

/* How often to feed; 0 when no watchdog waits, or waits for another process. */
static uint64_t
find_period(void)
{
    const char *usec = getenv("WATCHDOG_USEC");
    const char *pid = getenv("WATCHDOG_PID");
    uint64_t period = 0;
    uint64_t whose = 0;

    if (usec == NULL || !tl_text_number(usec, &period) || period == 0 ||
        (pid != NULL && (!tl_text_number(pid, &whose) || whose != (uint64_t)getpid()))) {
        return 0;
    }
    period = period / USEC_PER_MS / FEEDS_A_PERIOD;
    return period > 0 ? period : 1;
}

void
tl_notify_open(struct tl_notify *notify)
{
    memset(notify, 0, sizeof *notify);
    if (find_address(getenv("NOTIFY_SOCKET"), notify)) {
        notify->fd = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
        notify->is_open = notify->fd >= 0;
        notify->status_taken = true; /* there is none yet */
        notify->feed_every_ms = find_period();
    }
    (void)unsetenv("NOTIFY_SOCKET");
    (void)unsetenv("WATCHDOG_USEC");
    (void)unsetenv("WATCHDOG_PID");
}

/* Addressed anew each time, so that a manager that bound its socket again is found. */
static bool
tell(const struct tl_notify *notify, const char *message)
{
    return notify->is_open &&
           sendto(notify->fd, message, strlen(message), MSG_DONTWAIT | MSG_NOSIGNAL,
                  (const struct sockaddr *)&notify->to, notify->to_len) >= 0;
}

/* With the word that it serves as long as that has not been taken. */
static void
tell_status(struct tl_notify *notify)
{
    char message[MESSAGE_CAP];
    bool first = notify->is_ready && !notify->ready_taken;

    (void)snprintf(message, sizeof message, "%sSTATUS=%s", first ? "READY=1\n" : "",
                   notify->status);
    notify->status_taken = tell(notify, message);
    notify->ready_taken = notify->ready_taken || (first && notify->status_taken);
}

void
tl_notify_ready(struct tl_notify *notify, const char *status)
{
    notify->is_ready = true;
    tl_notify_status(notify, status);
}

void
tl_notify_status(struct tl_notify *notify, const char *status)
{
    char plain[TL_NOTIFY_STATUS_CAP];

    if (!notify->is_open) {
        return;
    }
    (void)tl_text_plain(plain, sizeof plain, status, strlen(status));
    if (strcmp(plain, notify->status) != 0 || notify->is_ready != notify->ready_taken) {
        memcpy(notify->status, plain, sizeof plain);
        tell_status(notify);
    }
}

void
tl_notify_turn(struct tl_notify *notify, uint64_t now_ms)
{
    if (!notify->is_open || !notify->is_ready) {
        return;
    }
    if (!notify->status_taken) {
        tell_status(notify);
    }
    if (notify->feed_every_ms > 0 && now_ms - notify->fed_ms >= notify->feed_every_ms &&
        tell(notify, "WATCHDOG=1")) {
        notify->fed_ms = now_ms;
    }
}

void
tl_notify_close(struct tl_notify *notify)
{
    if (notify->is_open) {
        (void)tell(notify, "STOPPING=1");
        (void)close(notify->fd);
        notify->is_open = false;
    }
}
