/* SPDX-License-Identifier: Apache-2.0 */
/* verbs.h - the verbs of trapline log, a line each; log.c lists them in the order of its help. */
#ifndef CLIENTS_LOGBOOK_VERBS_H
#define CLIENTS_LOGBOOK_VERBS_H

#include "clients/logbook/command.h"

extern const struct tl_log_command tl_log_passes;
extern const struct tl_log_command tl_log_alerts;
extern const struct tl_log_command tl_log_who;
extern const struct tl_log_command tl_log_overrides;
extern const struct tl_log_command tl_log_faults;
extern const struct tl_log_command tl_log_seconds;
extern const struct tl_log_command tl_log_figures;
extern const struct tl_log_command tl_log_wires;
extern const struct tl_log_command tl_log_report;
extern const struct tl_log_command tl_log_chapters;
extern const struct tl_log_command tl_log_replay;
extern const struct tl_log_command tl_log_verify;
extern const struct tl_log_command tl_log_compare;
extern const struct tl_log_command tl_log_merge;

#endif
