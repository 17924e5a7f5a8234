/* SPDX-License-Identifier: Apache-2.0 */
/*
 * signals - the signals of a program as one more thing to wait for
 *
 * Called before any thread exists, so that every thread has them blocked; libzmq's own threads too.
 */
#ifndef PROTO_BASE_SIGNALS_H
#define PROTO_BASE_SIGNALS_H

/*
 * Block SIGTERM, SIGINT and SIGHUP, ignore SIGPIPE, and give a descriptor that reads the blocked
 * ones (struct signalfd_siginfo), non-blocking and closed on exec; -1 when the system refuses.
 */
int tl_signals_open(void);

#endif
