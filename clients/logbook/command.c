/* SPDX-License-Identifier: Apache-2.0 */
/* command.c - see command.h. */
#include "clients/logbook/command.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#include "clients/logbook/record.h"
#include "proto/base/conf.h"

enum tl_exit
tl_log_refuse(struct tl_log *log, enum tl_exit code, const char *fmt, ...)
{
    va_list arguments;
    va_start(arguments, fmt);
    (void)vsnprintf(log->why, sizeof log->why, fmt, arguments);
    va_end(arguments);
    return code;
}

bool
tl_log_given(const struct tl_log *log, size_t option)
{
    return log->option[option].given;
}

const char *
tl_log_word(const struct tl_log *log, size_t option)
{
    return log->option[option].given ? log->option[option].word : NULL;
}

enum tl_exit
tl_log_configure(struct tl_log *log)
{
    struct tl_conf_fault fault;
    const char *dir = tl_log_word(log, TL_LOG_DIR);
    if (dir == NULL && !tl_log_given(log, TL_LOG_RECORD)) {
        dir = getenv("TRAPLINE_CONFIG");
    }
    if (dir == NULL || dir[0] == '\0' || log->config != NULL) {
        return TL_EXIT_OK;
    }
    log->config = malloc(sizeof *log->config);
    if (log->config == NULL) {
        return tl_log_refuse(log, TL_EXIT_FAILED, "out of memory");
    }
    if (tl_conf_load_unkeyed(dir, log->config, &fault) != TL_OK) {
        tl_conf_print_fault(&fault);
        free(log->config);
        log->config = NULL;
        return TL_EXIT_CONFIG;
    }
    return TL_EXIT_OK;
}

enum tl_exit
tl_log_find(struct tl_log *log)
{
    const char *record = tl_log_word(log, TL_LOG_RECORD);
    enum tl_exit code = tl_log_configure(log);
    if (code != TL_EXIT_OK) {
        return code;
    }
    if (record != NULL) {
        int len = snprintf(log->path, sizeof log->path, "%s", record);
        return len < (int)sizeof log->path
                   ? TL_EXIT_OK
                   : tl_log_refuse(log, TL_EXIT_USAGE, "the path of --record is too long");
    }
    if (log->config == NULL) {
        return tl_log_refuse(log, TL_EXIT_USAGE,
                             "no record; name it with --record FILE, or the configuration folder "
                             "with -C DIR");
    }
    if (tl_record_find(log->config, log->path) != TL_OK) {
        return tl_log_refuse(log, TL_EXIT_UNANSWERED,
                             "no record of a recorder of stations.yaml in %s",
                             log->config->record_dir);
    }
    return TL_EXIT_OK;
}
