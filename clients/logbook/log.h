/* SPDX-License-Identifier: Apache-2.0 */
/* log.h - trapline log: what a record says, without the bus. */
#ifndef TL_LOGBOOK_LOG_H
#define TL_LOGBOOK_LOG_H

int tl_log_main(int argc, char **argv);

#endif
