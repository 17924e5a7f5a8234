/* SPDX-License-Identifier: Apache-2.0 */
/* verb_who.c - trapline log who: who sat where when, and what was signed there. */
#include "clients/logbook/sittings.h"
#include "clients/logbook/tables.h"
#include "clients/logbook/verbs.h"

enum own_option {
    OPTION_WIDE = TL_LOG_ASK_OWN
};

enum column {
    STATION = 0,
    NAME,
    FROM,
    TO,
    END,
    WORDS,
    ACKS,
    SIGNED,
    VOICED,
    REFUSED,
    RESULTS,
    CORRECTIONS,
    SIGNED_FIRST,
    SIGNED_SECOND,
    VOICED_FIRST,
    VOICED_SECOND,
    COLUMNS
};
static const struct tl_field_column columns[COLUMNS] = {
    [STATION] = {"station", "STATION", TL_FIELD_TEXT, 0, 13},
    [NAME] = {"name", "NAME", TL_FIELD_TEXT, 0, 15},
    [FROM] = {"from", "FROM", TL_FIELD_TIME, 0, 8},
    [TO] = {"to", "TO", TL_FIELD_TIME, 0, 8},
    [END] = {"ended", "ENDED", TL_FIELD_TEXT, 0, 8},
    [WORDS] = {"words", "WORDS", TL_FIELD_NUMBER, 0, 5},
    [ACKS] = {"acknowledged", "ACKS", TL_FIELD_NUMBER, 0, 4},
    [SIGNED] = {"overrides", "SIGNED", TL_FIELD_NUMBER, 0, 6},
    [VOICED] = {"by_voice", "VOICE", TL_FIELD_NUMBER, 0, 5},
    [REFUSED] = {"refused", "REFUSED", TL_FIELD_NUMBER, 0, 0},
    [RESULTS] = {"results", "RESULTS", TL_FIELD_NUMBER, 0, 0},
    [CORRECTIONS] = {"corrections", "CORRECTIONS", TL_FIELD_NUMBER, 0, 0},
    [SIGNED_FIRST] = {"overrides_said", "OVERRIDES SAID", TL_FIELD_NUMBER, 0, 0},
    [SIGNED_SECOND] = {"overrides_confirmed", "CONFIRMED", TL_FIELD_NUMBER, 0, 0},
    [VOICED_FIRST] = {"by_voice_said", "BY VOICE SAID", TL_FIELD_NUMBER, 0, 0},
    [VOICED_SECOND] = {"by_voice_confirmed", "CONFIRMED", TL_FIELD_NUMBER, 0, 0},
};

static void
add_sitting(struct tl_table *table, const struct tl_sitting *sitting)
{
    const struct {
        enum column column;
        uint32_t value;
    } counts[] = {
        {WORDS, sitting->words},
        {ACKS, sitting->acknowledged},
        {SIGNED, sitting->signed_first + sitting->signed_second},
        {VOICED, sitting->voiced_first + sitting->voiced_second},
        {REFUSED, sitting->refused},
        {RESULTS, sitting->results},
        {CORRECTIONS, sitting->corrections},
        {SIGNED_FIRST, sitting->signed_first},
        {SIGNED_SECOND, sitting->signed_second},
        {VOICED_FIRST, sitting->voiced_first},
        {VOICED_SECOND, sitting->voiced_second},
    };
    tl_table_row(table);
    tl_table_text(table, STATION, sitting->station);
    tl_table_text(table, NAME, sitting->name);
    tl_table_time(table, FROM, sitting->from_ms);
    tl_table_time(table, TO, sitting->to_ms);
    tl_table_text(table, END, tl_sitting_end_text(sitting->end));
    for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++) {
        tl_table_number(table, (int)counts[i].column, counts[i].value);
    }
}

/* It lasted at some time of those that are asked for. */
static bool
is_asked(const struct tl_filter *filter, const struct tl_sitting *sitting)
{
    return tl_filter_station(filter, sitting->station) && sitting->from_ms <= filter->to_ms &&
           sitting->to_ms >= filter->from_ms;
}

enum tl_err
tl_who_table(const struct tl_answer *answer, struct tl_table *table)
{
    struct tl_sittings sittings = {0};
    enum tl_err err = tl_sittings_fold(&answer->book, &sittings);
    tl_table_init(table, "who", columns, COLUMNS);
    for (size_t i = 0; i < sittings.count && err == TL_OK; i++) {
        if (is_asked(&answer->filter, &sittings.sitting[i])) {
            add_sitting(table, &sittings.sitting[i]);
        }
    }
    tl_sittings_free(&sittings);
    return err;
}

static enum tl_exit
run(struct tl_log *log)
{
    return tl_log_table(
        log, &(struct tl_table_verb){tl_who_table, "word of a station", OPTION_WIDE, true});
}

static const struct tl_option_row rows[] = {
    TL_LOG_ASK,
    [OPTION_WIDE] = {"--wide", TL_OPTION_FLAG, 0, 0, false, "", "all columns as text"},
};

const struct tl_log_command tl_log_who = {
    .name = "who",
    .what = "who sat where when, and what was said and signed there",
    .text = "Who had the watch at each station and from when to when, how many words were said "
            "there meanwhile, alerts acknowledged, overrides signed and words spoken by voice for "
            "others, first or second. Without a name: nobody had said. TO is the end, or the last "
            "word when the record knows no end; with a restart the name has to be said again.",
    .table = {rows, sizeof rows / sizeof rows[0]},
    .run = run,
};
