/* SPDX-License-Identifier: Apache-2.0 */
/*
 * tool - standard output and standard error through temporary files
 */
#include "tests/identity/tool.h"

#include <stdio.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

#include "proto/base/require.h"

/* Send a descriptor to a file of its own. Returns what it was, to be put back. */
static int
divert(int fd, FILE *file)
{
    int saved = dup(fd);

    TL_REQUIRE(saved >= 0);
    TL_REQUIRE(dup2(fileno(file), fd) == fd);
    return saved;
}

static void
restore(int fd, int saved)
{
    TL_REQUIRE(dup2(saved, fd) == fd);
    (void)close(saved);
}

static void
read_back(FILE *file, char text[TOOL_TEXT_CAP])
{
    ssize_t len = pread(fileno(file), text, TOOL_TEXT_CAP - 1, 0);

    TL_REQUIRE(len >= 0);
    text[len] = '\0';
    (void)fclose(file);
}

void
tool_run(struct tool *tool, int (*tool_main)(int argc, char **argv), const char *const *words)
{
    static char copies[TOOL_WORDS_MAX][512];
    char *argv[TOOL_WORDS_MAX + 1] = {NULL};
    FILE *out = tmpfile();
    FILE *err = tmpfile();
    int argc = 0;

    for (; words[argc] != NULL; argc++) {
        TL_REQUIRE(argc < TOOL_WORDS_MAX);
        (void)snprintf(copies[argc], sizeof copies[argc], "%s", words[argc]);
        argv[argc] = copies[argc];
    }
    TL_REQUIRE(out != NULL && err != NULL);
    (void)fflush(NULL);
    int saved_out = divert(STDOUT_FILENO, out);
    int saved_err = divert(STDERR_FILENO, err);
    tool->code = tool_main(argc, argv);
    (void)fflush(NULL);
    restore(STDOUT_FILENO, saved_out);
    restore(STDERR_FILENO, saved_err);
    read_back(out, tool->out);
    read_back(err, tool->err);
}
