/* SPDX-License-Identifier: Apache-2.0 */
/*
 * tool - run a subcommand in this process and keep what it says and returns
 */
#ifndef TESTS_IDENTITY_TOOL_H
#define TESTS_IDENTITY_TOOL_H

enum {
    TOOL_TEXT_CAP = 163840,
    TOOL_WORDS_MAX = 16
};

struct tool {
    int code;
    char out[TOOL_TEXT_CAP];
    char err[TOOL_TEXT_CAP];
};

/*
 * Call tool_main with these words, ended by NULL; words[0] is the name of the tool. A failure of
 * the system ends the test program.
 */
void tool_run(struct tool *tool, int (*tool_main)(int argc, char **argv), const char *const *words);

#endif
