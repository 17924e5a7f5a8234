/* SPDX-License-Identifier: Apache-2.0 */
/* plan.c - which plan, its options, its configuration, and one way out. See plan.h. */
#include "clients/plan/plan.h"

#include <stdlib.h>
#include <string.h>

#include "clients/plan/command.h"
#include "clients/tools/near.h"
#include "proto/base/conf.h"
#include "proto/base/text.h"

enum {
    SHOWN_CAP = 33,
    NAME_EDITS = 4
};

static const char advice[] = "these figures are advice. The ship's own bulletins and licensed "
                             "practice rule.";
static const char invented[] = " The configuration says that its figures are invented.";

static const struct tl_plan_command *const commands[] = {
    &tl_plan_wind,     &tl_plan_arrest,   &tl_plan_aid,
    &tl_plan_wave_off, &tl_plan_interval, &tl_plan_bulletin,
};
enum {
    COUNT = sizeof commands / sizeof commands[0]
};

static void
print_caution(FILE *out)
{
    char sentence[TL_PLAN_CAUTION_CAP];
    (void)snprintf(sentence, sizeof sentence, "Caution: %s", advice);
    tl_say_wrap(sentence, out);
}

static void
print_usage(FILE *out)
{
    (void)fputs("usage: trapline plan PLAN [-C DIR] [--json] ...\n\n"
                "Figures to plan a recovery with. Joins no bus and needs no keys; what is not\n"
                "given comes from the configuration folder.\n\n",
                out);
    for (size_t i = 0; i < COUNT; i++) {
        (void)fprintf(out, "  %-10s %s\n", commands[i]->name, commands[i]->what);
    }
    (void)fputs("\ntrapline plan PLAN --help has the options of one.\n"
                "Exit: 0 printed, 1 it could not be written, 64 usage or a figure that does\n"
                "not fit, 78 configuration.\n\n",
                out);
    print_caution(out);
}

static void
print_command(const struct tl_plan_command *command, FILE *out)
{
    (void)fprintf(out, "usage: trapline plan %s [-C DIR] [--json] ...\n\n", command->name);
    tl_say_wrap(command->text, out);
    (void)fputc('\n', out);
    tl_options_print(&command->table, out);
    (void)fputc('\n', out);
    print_caution(out);
}

static const struct tl_plan_command *
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
    (void)fprintf(stderr, "trapline plan: unknown plan '%s'; %s%s%s\n", text,
                  near != NULL ? "did you mean '" : "see trapline plan --help",
                  near != NULL ? near : "", near != NULL ? "'?" : "");
    return TL_EXIT_USAGE;
}

static bool
asks_for_help(const char *word)
{
    return strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0 || strcmp(word, "help") == 0;
}

/* Into *config, to be freed; NULL when no folder is named. */
static enum tl_exit
load(const char *dir, struct tl_config **config)
{
    struct tl_conf_fault fault;
    if (dir == NULL || dir[0] == '\0') {
        return TL_EXIT_OK;
    }
    *config = malloc(sizeof **config);
    if (*config == NULL) {
        (void)fprintf(stderr, "trapline plan: out of memory\n");
        return TL_EXIT_FAILED;
    }
    if (tl_conf_load_unkeyed(dir, *config, &fault) != TL_OK) {
        tl_conf_print_fault(&fault);
        return TL_EXIT_CONFIG;
    }
    return TL_EXIT_OK;
}

/* Compute, and print what came of it. */
static enum tl_exit
run_plan(const struct tl_plan_command *command, struct tl_plan *plan)
{
    char caution[TL_PLAN_CAUTION_CAP];
    bool made_up = plan->config != NULL && plan->config->ship.invented;
    (void)snprintf(caution, sizeof caution, "%s%s", advice, made_up ? invented : "");
    plan->caution = caution;
    enum tl_exit code = command->run(plan);
    if (code == TL_EXIT_OK) {
        tl_say_caution(plan->say, caution);
        enum tl_err err = tl_say_print(plan->say, plan->option[TL_PLAN_JSON].given, stdout);
        if (err != TL_OK) {
            code =
                tl_plan_refuse(plan, TL_EXIT_FAILED, "%s",
                               err == TL_NOMEM ? "out of memory" : "the output cannot be written");
        }
    }
    if (code != TL_EXIT_OK) {
        (void)fprintf(stderr, "trapline plan %s: %s\n", command->name, plan->why);
    }
    return code;
}

int
tl_plan_main(int argc, char **argv)
{
    if (argc < 2) {
        print_usage(stderr);
        return TL_EXIT_USAGE;
    }
    if (asks_for_help(argv[1])) {
        print_usage(stdout);
        return TL_EXIT_OK;
    }
    const struct tl_plan_command *command = find_command(argv[1]);
    if (command == NULL) {
        return say_unknown(argv[1]);
    }
    if (argc > 2 && asks_for_help(argv[2])) {
        print_command(command, stdout);
        return TL_EXIT_OK;
    }
    struct tl_plan plan = {.name = command->name, .row = command->table.row};
    const struct tl_option_words words = {.argc = argc - 1, .argv = argv + 1};
    if (tl_options_read(&command->table, &words, plan.option, plan.why) != TL_OK) {
        (void)fprintf(stderr, "trapline plan %s: %s\n", command->name, plan.why);
        return TL_EXIT_USAGE;
    }
    if (plan.option[TL_PLAN_HELP].given) {
        print_command(command, stdout);
        return TL_EXIT_OK;
    }
    struct tl_config *config = NULL;
    const char *dir =
        plan.option[TL_PLAN_DIR].given ? plan.option[TL_PLAN_DIR].word : getenv("TRAPLINE_CONFIG");
    enum tl_exit code = load(dir, &config);
    plan.config = config;
    plan.say = code == TL_EXIT_OK ? tl_say_open() : NULL;
    if (plan.say != NULL) {
        code = run_plan(command, &plan);
    } else if (code == TL_EXIT_OK) {
        (void)fprintf(stderr, "trapline plan: out of memory\n");
        code = TL_EXIT_FAILED;
    }
    tl_say_close(&plan.say);
    free(config);
    return code;
}
