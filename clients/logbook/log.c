/* SPDX-License-Identifier: Apache-2.0 */
/* log.c - which verb, its options, and one way out. See log.h. */
#include "clients/logbook/log.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/logbook/verbs.h"
#include "clients/plan/say.h"
#include "clients/tools/near.h"
#include "proto/base/text.h"

enum {
    SHOWN_CAP = 33,
    NAME_EDITS = 4
};

/* clang-format off: a line each, so that one more is one more line */
static const struct tl_log_command *const commands[] = {
    &tl_log_passes,  &tl_log_alerts,  &tl_log_who,     &tl_log_overrides, &tl_log_faults,
    &tl_log_seconds, &tl_log_figures, &tl_log_wires,   &tl_log_report,    &tl_log_chapters,
    &tl_log_replay,  &tl_log_verify,  &tl_log_compare, &tl_log_merge,
};
/* clang-format on */
enum {
    COUNT = sizeof commands / sizeof commands[0]
};

static const char exits[] =
    "Exit: 0 printed, also when nothing was found; 1 the record cannot be read, or\n"
    "(verify, compare, merge, replay) differs, is not whole or was refused; 3 no\n"
    "record, 64 usage, 78 configuration.\n";

static void
print_usage(FILE *out)
{
    static const struct tl_option_row common[] = {TL_LOG_COMMON};
    (void)fputs("usage: trapline log VERB [-C DIR] [--record FILE] ...\n\n"
                "What a record says. Reads the recorder's file, joins no bus; merge alone writes.\n"
                "Only words that no validator refused count.\n\n",
                out);
    for (size_t i = 0; i < COUNT; i++) {
        (void)fprintf(out, "  %-10s %s\n", commands[i]->name, commands[i]->what);
    }
    (void)fputs("\nEvery verb takes these; trapline log VERB --help has the rest.\n\n", out);
    tl_options_print(&(struct tl_option_table){common, TL_LOG_OWN}, out);
    (void)fprintf(out, "\n%s", exits);
}

static void
print_command(const struct tl_log_command *command, FILE *out)
{
    (void)fprintf(out, "usage: trapline log %s%s%s [-C DIR] [--record FILE] ...\n\n", command->name,
                  command->words != NULL ? " " : "", command->words != NULL ? command->words : "");
    tl_say_wrap(command->text, out);
    (void)fputc('\n', out);
    tl_options_print(&command->table, out);
    (void)fprintf(out, "\n%s", exits);
}

static const struct tl_log_command *
find_command(const char *word)
{
    for (size_t i = 0; i < COUNT; i++) {
        if (strcmp(word, commands[i]->name) == 0) {
            return commands[i];
        }
    }
    return NULL;
}

static int
say_unknown(const char *word)
{
    char text[SHOWN_CAP];
    const char *near = NULL;
    unsigned best = NAME_EDITS;
    for (size_t i = 0; i < COUNT; i++) {
        unsigned edits = tl_edits_between(word, commands[i]->name);
        if (edits < best) {
            best = edits;
            near = commands[i]->name;
        }
    }
    (void)tl_text_plain(text, sizeof text, word, strlen(word));
    if (near != NULL) {
        (void)fprintf(stderr, "trapline log: unknown '%s'; did you mean '%s'?\n", text, near);
        return TL_EXIT_USAGE;
    }
    (void)fprintf(stderr, "trapline log: unknown '%s'; there is:", text);
    for (size_t i = 0; i < COUNT; i++) {
        (void)fprintf(stderr, " %s", commands[i]->name);
    }
    (void)fputc('\n', stderr);
    return TL_EXIT_USAGE;
}

static bool
asks_for_help(const char *word)
{
    return strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0 || strcmp(word, "help") == 0;
}

/* argv[0] is the verb. */
static enum tl_exit
run_command(const struct tl_log_command *command, struct tl_log *log, int argc, char **argv)
{
    int words = 1;
    while (words < argc && argv[words][0] != '-') {
        words++;
    }
    if (words > 1 && command->words == NULL) {
        char text[SHOWN_CAP];
        (void)tl_text_plain(text, sizeof text, argv[1], strlen(argv[1]));
        return tl_log_refuse(log, TL_EXIT_USAGE, "'%s' is not an option; --help lists them", text);
    }
    const struct tl_option_words options = {.argc = argc - words + 1, .argv = argv + words - 1};
    log->argc = words - 1;
    log->argv = argv + 1;
    if (tl_options_read(&command->table, &options, log->option, log->why) != TL_OK) {
        return TL_EXIT_USAGE;
    }
    log->why[0] = '\0'; /* an option that could be read leaves a word there too */
    if (tl_log_given(log, TL_LOG_HELP)) {
        print_command(command, stdout);
        return TL_EXIT_OK;
    }
    return command->run(log);
}

int
tl_log_main(int argc, char **argv)
{
    if (argc < 2) {
        print_usage(stderr);
        return TL_EXIT_USAGE;
    }
    if (asks_for_help(argv[1])) {
        print_usage(stdout);
        return TL_EXIT_OK;
    }
    const struct tl_log_command *command = find_command(argv[1]);
    if (command == NULL) {
        return say_unknown(argv[1]);
    }
    if (argc > 2 && asks_for_help(argv[2])) {
        print_command(command, stdout);
        return TL_EXIT_OK;
    }
    struct tl_log log = {.name = command->name, .row = command->table.row};
    enum tl_exit code = run_command(command, &log, argc - 1, argv + 1);
    if (code == TL_EXIT_OK && fflush(stdout) != 0) {
        code = tl_log_refuse(&log, TL_EXIT_FAILED, "the output cannot be written");
    }
    if (code != TL_EXIT_OK && log.why[0] != '\0') {
        char why[TL_LOG_WHY_CAP]; /* of a record that may be anybody's */
        (void)tl_text_plain(why, sizeof why, log.why, strlen(log.why));
        (void)fprintf(stderr, "trapline log %s: %s\n", command->name, why);
    }
    free(log.config);
    return code;
}
