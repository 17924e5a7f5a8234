/* SPDX-License-Identifier: Apache-2.0 */
/* tables.c - see tables.h. */
#include "clients/logbook/tables.h"

/* The verb's own part of reading is done; what is left is one table. */
static enum tl_exit
print_answer(struct tl_log *log, const struct tl_table_verb *verb, const struct tl_answer *answer)
{
    struct tl_table table;
    enum tl_exit code = tl_log_folded(log, "the rows", verb->make(answer, &table));
    if (code == TL_EXIT_OK) {
        code = tl_log_print(log, &table, tl_log_given(log, verb->wide));
    }
    if (code == TL_EXIT_OK && table.rows == 0) {
        tl_filter_say_empty(log, verb->what, &answer->book);
    }
    tl_table_free(&table);
    return code;
}

enum tl_exit
tl_log_table(struct tl_log *log, const struct tl_table_verb *verb)
{
    struct tl_answer answer = {0};
    bool of_pass = tl_log_given(log, TL_LOG_EVENT) || tl_log_given(log, TL_LOG_AIRCRAFT) ||
                   tl_log_given(log, TL_LOG_TYPE);
    if (verb->of_no_pass && of_pass) {
        return tl_log_refuse(log, TL_EXIT_USAGE,
                             "that is of no pass; ask with --from, --to and --station");
    }
    enum tl_exit code = tl_log_read_answer(log, &answer);
    if (code == TL_EXIT_OK) {
        code = print_answer(log, verb, &answer);
    }
    tl_answer_free(&answer);
    return code;
}
