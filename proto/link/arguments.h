/* SPDX-License-Identifier: Apache-2.0 */
/*
 * arguments.h - the command line of a program that is one node: validator and recorder alike.
 *
 *   PROGRAM -C DIR --node ID [--incarnation-above N] [--metrics FILE] [-n] [--help]
 */
#ifndef TL_LINK_ARGUMENTS_H
#define TL_LINK_ARGUMENTS_H

#include <stdbool.h>
#include <stdint.h>

struct tl_arguments {
    const char *dir;
    const char *node;
    uint64_t above; /* --incarnation-above; 0 = none */
    bool check_only;
    const char *metrics; /* --metrics; NULL = not given */
    const char *file;    /* of the program's own option; NULL = not given */
    bool flag;           /* the program's own flag is given */
};

/* Places of words. */
enum {
    TL_ARGUMENTS_PROGRAM = 0,
    TL_ARGUMENTS_DOES,
    TL_ARGUMENTS_WHAT,
    TL_ARGUMENTS_OPTION,
    TL_ARGUMENTS_OPTION_DOES,
    TL_ARGUMENTS_FLAG,
    TL_ARGUMENTS_FLAG_DOES,
    TL_ARGUMENTS_WORDS
};

/*
 * Read them. `program` names itself in messages, `does` is one sentence for --help, `what` the kind
 * of node; `option` is the name of a long option that takes a file, or NULL, `option_does` its line
 * for --help; `flag` one that takes nothing, likewise. A program has one of the two. Returns -1 to go on, else an exit code: 0 after --help, 64 after a line on standard error.
 */
int tl_arguments_read(int argc, char **argv, const char *const words[TL_ARGUMENTS_WORDS],
                      struct tl_arguments *arguments);
#endif
