/* SPDX-License-Identifier: Apache-2.0 */
/*
 * command.h - what the verbs of trapline log share: their options, their record, how they refuse.
 *
 * A verb is one constant: name, help, its table of options, a function. log.c has the list of them.
 * A verb reads what it needs and prints last: what cannot be read prints nothing. A verb that
 * cannot go on calls tl_log_refuse once and returns what that returns; the sentence is printed by
 * log.c. Private to this room.
 */
#ifndef CLIENTS_LOGBOOK_COMMAND_H
#define CLIENTS_LOGBOOK_COMMAND_H

#include "clients/plan/options.h"
#include "proto/link/join.h"
#include "proto/vocab/config.h"

enum {
    TL_LOG_WHY_CAP = TL_PATH_CAP + 256
};

/* Rows that every verb's table begins with. */
enum tl_log_option {
    TL_LOG_HELP = 0,
    TL_LOG_DIR,
    TL_LOG_RECORD,
    TL_LOG_JSON,
    TL_LOG_OWN, /* first of the verb's own */
};
#define TL_LOG_COMMON                                                                              \
    [TL_LOG_HELP] = {"--help", TL_OPTION_FLAG, 0, 0, false, "", "this text"},                      \
    [TL_LOG_DIR] =                                                                                 \
        {"-C",                                                                                     \
         TL_OPTION_WORD,                                                                           \
         0,                                                                                        \
         0,                                                                                        \
         false,                                                                                    \
         "DIR",                                                                                    \
         "configuration folder, else $TRAPLINE_CONFIG; of its recorders the first that "           \
         "has a record is read"},                                                                  \
    [TL_LOG_RECORD] = {"--record",                                                                 \
                       TL_OPTION_WORD,                                                             \
                       0,                                                                          \
                       0,                                                                          \
                       false,                                                                      \
                       "FILE",                                                                     \
                       "read this record; then no configuration folder is needed"},                \
    [TL_LOG_JSON] = {"--json", TL_OPTION_FLAG, 0, 0, false, "", "one JSON object; docs/json.md"}

struct tl_log {
    const char *name; /* of the verb */
    const struct tl_option_row *row;
    struct tl_option option[TL_OPTIONS_MAX];
    int argc; /* words between the verb and its first option */
    char **argv;
    struct tl_config *config; /* NULL = not loaded */
    char path[TL_PATH_CAP];   /* of the record; empty = not looked for */
    char why[TL_LOG_WHY_CAP]; /* of a refusal */
};

struct tl_log_command {
    const char *name;
    const char *what;  /* a line of the help */
    const char *text;  /* of its own help, one paragraph */
    const char *words; /* in the usage: "[FILE...]"; NULL = takes none */
    struct tl_option_table table;
    enum tl_exit (*run)(struct tl_log *log);
};

/* Writes the sentence that is printed; returns the code. */
enum tl_exit tl_log_refuse(struct tl_log *log, enum tl_exit code, const char *fmt, ...)
    __attribute__((format(printf, 3, 4)));

bool tl_log_given(const struct tl_log *log, size_t option);
/* The word of an option, or NULL. */
const char *tl_log_word(const struct tl_log *log, size_t option);

/*
 * Load the configuration that -C names, or, when no record is named either, $TRAPLINE_CONFIG; keys
 * are not needed. With neither log->config stays NULL. TL_EXIT_CONFIG: a line has been printed.
 */
enum tl_exit tl_log_configure(struct tl_log *log);

/* Where the record is: log->path. Configures. TL_EXIT_USAGE nothing names one, _UNANSWERED. */
enum tl_exit tl_log_find(struct tl_log *log);

#endif
