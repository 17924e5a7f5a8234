/* SPDX-License-Identifier: Apache-2.0 */
/* verb_passes.c - trapline log passes: the passes of a record, one a row. */
#include "clients/logbook/filter.h"
#include "clients/logbook/print.h"
#include "clients/logbook/verbs.h"

enum own_option {
    OPTION_WIDE = TL_LOG_ASK_OWN,
    OPTION_HISTORY
};

static enum tl_exit
print_table(struct tl_log *log, struct tl_table *table)
{
    enum tl_exit code = tl_log_print(log, table, tl_log_given(log, OPTION_WIDE));
    tl_table_free(table);
    return code;
}

static enum tl_exit
print_passes(struct tl_log *log, const struct tl_passes *passes, const struct tl_book *book)
{
    struct tl_table table;
    struct tl_weight_names names;
    if (tl_log_given(log, OPTION_HISTORY)) {
        tl_passes_history(passes, book, &table);
        return print_table(log, &table);
    }
    if (tl_log_given(log, TL_LOG_JSON)) {
        return tl_log_json_print(tl_passes_json(passes), stdout)
                   ? TL_EXIT_OK
                   : tl_log_refuse(log, TL_EXIT_FAILED, "the passes could not be written");
    }
    if (tl_log_given(log, OPTION_WIDE) || tl_log_given(log, TL_LOG_CSV)) {
        tl_passes_table(passes, &names, &table);
        return print_table(log, &table);
    }
    tl_passes_print(passes, stdout);
    return TL_EXIT_OK;
}

static enum tl_exit
print(struct tl_log *log, struct tl_answer *answer)
{
    tl_filter_passes(&answer->filter, &answer->passes);
    enum tl_exit code = print_passes(log, &answer->passes, &answer->book);
    if (code == TL_EXIT_OK && answer->passes.count == 0) {
        tl_filter_say_empty(log, "pass", &answer->book);
    }
    return code;
}

static enum tl_exit
run(struct tl_log *log)
{
    return tl_log_answer(log, print);
}

static const struct tl_option_row rows[] = {
    TL_LOG_ASK,
    [OPTION_WIDE] = {"--wide", TL_OPTION_FLAG, 0, 0, false, "", "all columns as text"},
    [OPTION_HISTORY] = {"--history", TL_OPTION_FLAG, 0, 0, false, "",
                        "every word on a result instead: who said what when, and which one stands"},
};

const struct tl_log_command tl_log_passes = {
    .name = "passes",
    .what = "the passes: aircraft, weights ordered, set and read back, result",
    .text = "The passes of a record, one a row: aircraft, weight ordered, weights set and read "
            "back, result; for a wave-off also why it was not ready. What the record does not hold "
            "is '-', null or empty. What is computed is called predicted. A pass is of the time of "
            "its first result, or of its order. --station: passes whose cause of a wave-off names "
            "it, or for which it was spoken by voice.",
    .table = {rows, sizeof rows / sizeof rows[0]},
    .run = run,
};
