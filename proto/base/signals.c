/* SPDX-License-Identifier: Apache-2.0 */
/* signals - see signals.h. */
#include "proto/base/signals.h"

#include <signal.h>
#include <sys/signalfd.h>

int
tl_signals_open(void)
{
    sigset_t set;
    if (sigemptyset(&set) != 0 || sigaddset(&set, SIGTERM) != 0 || sigaddset(&set, SIGINT) != 0 ||
        sigaddset(&set, SIGHUP) != 0 || sigprocmask(SIG_BLOCK, &set, NULL) != 0) {
        return -1;
    }
    (void)signal(SIGPIPE, SIG_IGN); /* a closed pipe is an error of the write, not of us */
    return signalfd(-1, &set, SFD_NONBLOCK | SFD_CLOEXEC);
}
