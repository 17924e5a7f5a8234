/* SPDX-License-Identifier: Apache-2.0 */
/* figures_table.c - every figure as a row, with what it is compared with. See figures.h. */
#include <inttypes.h>
#include <string.h>

#include "clients/logbook/figures.h"
#include "clients/logbook/words.h"

enum column {
    SECTION = 0,
    GROUP,
    FIGURE,
    VALUE,
    UNIT,
    TARGET,
    SOURCE,
    COLUMNS
};
static const struct tl_field_column columns[COLUMNS] = {
    [SECTION] = {"section", "SECTION", TL_FIELD_TEXT, 0, 0},
    [GROUP] = {"group", "OF", TL_FIELD_TEXT, 0, 30},
    [FIGURE] = {"figure", "FIGURE", TL_FIELD_TEXT, 0, 26},
    [VALUE] = {"value", "VALUE", TL_FIELD_NUMBER, 0, 9},
    [UNIT] = {"unit", "UNIT", TL_FIELD_TEXT, 0, 12},
    [TARGET] = {"target", "TARGET", TL_FIELD_TEXT, 0, 0},
    [SOURCE] = {"source", "SOURCE", TL_FIELD_TEXT, 0, 0},
};

/* As the design's sources restate them: neither standard was read in its own text. */
static const char isa[] = "ISA-18.2-2016 clause 16.4, tables 5 and 6, as restated";
static const char eemua[] = "EEMUA 191, as a vendor summarises it";
static const char practice[] = "common practice, no source";

/* Where a figure stands. */
struct place {
    const char *section;
    const char *group;
};

/* One figure; digits are decimals of the value. */
struct figure {
    const char *section;
    const char *group;
    const char *name;
    int64_t value;
    int digits;
    const char *unit;
    const char *target; /* NULL = none */
    const char *source;
};

static void
add(struct tl_table *table, const struct figure *figure)
{
    const struct tl_field *before =
        table->rows > 0 ? tl_table_at(table, table->rows - 1, SECTION) : NULL;
    bool same = before != NULL && before->known && strcmp(before->text, figure->section) == 0;
    char heading[TL_TIME_CAP];
    tl_table_row(table);
    tl_table_text(table, SECTION, figure->section);
    tl_table_text(table, GROUP, figure->group);
    tl_table_text(table, FIGURE, figure->name);
    tl_table_scaled(table, VALUE, figure->value, figure->digits);
    tl_table_text(table, UNIT, figure->unit);
    tl_table_text(table, TARGET, figure->target);
    tl_table_text(table, SOURCE, figure->source);
    if (!same) {
        (void)snprintf(heading, sizeof heading, "-- %s", figure->section);
        tl_table_heading(table, heading);
    }
}

static void
add_count(struct tl_table *table, struct place place, const char *name, uint64_t count)
{
    add(table,
        &(struct figure){place.section, place.group, name, (int64_t)count, 0, "count", NULL, NULL});
}

static void
add_rate(struct tl_table *table, const struct tl_group *group, const char *name, bool known,
         uint64_t permille)
{
    if (known) {
        add(table, &(struct figure){"passes", group->name, name, (int64_t)permille, 1, "%", NULL,
                                    practice});
    }
}

/* ---- passes ---- */

static void
add_group(struct tl_table *table, const struct tl_group *group)
{
    const struct tl_boarding *boarding = &group->boarding;
    uint64_t permille = 0;
    bool known = false;
    add_count(table, (struct place){"passes", group->name}, "ended", boarding->ended);
    add_count(table, (struct place){"passes", group->name}, "traps", boarding->traps);
    add_count(table, (struct place){"passes", group->name}, "bolters", boarding->bolters);
    add_count(table, (struct place){"passes", group->name}, "wave-offs while READY",
              boarding->waved_ready);
    add_count(table, (struct place){"passes", group->name}, "wave-offs, foul deck",
              boarding->waved_not_ready);
    if (boarding->waved_unknown > 0) {
        add_count(table, (struct place){"passes", group->name}, "wave-offs, not judged",
                  boarding->waved_unknown);
    }
    if (boarding->other > 0) {
        add_count(table, (struct place){"passes", group->name}, "no known outcome",
                  boarding->other);
    }
    known = tl_boarding_boarding(boarding, &permille);
    add_rate(table, group, "boarding rate", known, permille);
    known = tl_boarding_hook(boarding, &permille);
    add_rate(table, group, "traps of touchdowns", known, permille);
    known = tl_boarding_deck(boarding, &permille);
    add_rate(table, group, "traps of all passes", known, permille);
}

static void
add_wires(struct tl_table *table, const struct tl_boarding *boarding)
{
    char name[TL_NUMBER_CAP];
    for (uint32_t i = 0; i < TL_BOARDING_WIRES_MAX; i++) {
        uint32_t wire = (i + 1) % TL_BOARDING_WIRES_MAX; /* the unnamed one last */
        if (boarding->wire[wire] == 0) {
            continue;
        }
        (void)snprintf(name, sizeof name, wire > 0 ? "wire %" PRIu32 : "no wire named", wire);
        add_count(table, (struct place){"wires", name}, "traps", boarding->wire[wire]);
        add(table, &(struct figure){"wires", name, "share of traps",
                                    (int64_t)tl_permille(
                                        (struct tl_share){boarding->wire[wire], boarding->traps}),
                                    1, "%", NULL, NULL});
    }
}

static void
add_fouls(struct tl_table *table, const struct tl_fouls *fouls)
{
    char name[TL_RULE_NAME_CAP + TL_ID_CAP + 8];
    for (uint32_t i = 0; i < fouls->count; i++) {
        const struct tl_foul *foul = &fouls->foul[i];
        (void)snprintf(name, sizeof name, "%s%s%s", foul->rule, foul->station[0] != '\0' ? " " : "",
                       foul->station);
        add_count(table, (struct place){"foul decks", name}, "wave-offs", foul->count);
    }
    if (fouls->others > 0) {
        add_count(table, (struct place){"foul decks", "other, or no cause recorded"}, "wave-offs",
                  fouls->others);
    }
}

/* ---- seconds ---- */

static void
add_quartiles(struct tl_table *table, struct place place, const struct tl_values *values)
{
    static const char *const names[] = {"least", "first quartile", "median", "third quartile",
                                        "most"};
    add_count(table, place, "count", values->count);
    for (unsigned k = 0; k <= 4 && values->count > 0; k++) {
        add(table, &(struct figure){place.section, place.group, names[k],
                                    (int64_t)tl_quartile(values, k), 3, "s", NULL, NULL});
    }
}

static void
add_bins(struct tl_table *table, const struct tl_values *values)
{
    struct tl_bins bins;
    char name[2 * TL_NUMBER_CAP];
    if (values->count == 0) {
        return;
    }
    tl_interval_bins(values, &bins);
    for (size_t i = 0; i < bins.count; i++) {
        uint64_t from_s = (bins.first + i * bins.width) / 1000;
        bool open = i + 1 == TL_BINS_MAX;
        (void)snprintf(name, sizeof name,
                       open ? "%" PRIu64 " s and more" : "%" PRIu64 " to %" PRIu64 " s", from_s,
                       from_s + bins.width / 1000);
        add_count(table, (struct place){"interval bins", name}, "passes", bins.in[i]);
    }
}

static void
add_resets(struct tl_table *table, const struct tl_reset_parts *parts)
{
    add_quartiles(table, (struct place){"trap to READY", "all stations"}, &parts->ready_ms);
    add_count(table, (struct place){"trap to READY", "all stations"}, "never before the next end",
              parts->never);
    for (uint32_t i = 0; i < parts->count; i++) {
        const struct tl_reset_part *part = &parts->part[i];
        add_count(table, (struct place){"trap to READY", part->station}, "times last", part->last);
        add(table, &(struct figure){"trap to READY", part->station, "waited for in all",
                                    (int64_t)part->margin_ms, 3, "s", NULL, NULL});
        add(table, &(struct figure){"trap to READY", part->station, "median of last word",
                                    (int64_t)tl_quartile(&part->after_ms, 2), 3, "s", NULL, NULL});
    }
}

/* ---- alerts ---- */

static void
add_operator(struct tl_table *table, const struct tl_rates *rates, uint32_t i)
{
    const struct tl_rate *rate = &rates->rate[i];
    bool all = i == 0;
    const char *group = all ? "all, whoever owes them" : rate->operator;
    add_count(table, (struct place){"alerts", group}, "alerts", rate->raised_ms.count);
    if (rates->open_ms >= TL_RATE_WINDOW_MS) { /* of less it would be a guess */
        add(table, &(struct figure){
                       "alerts", group, "average in 10 min", (int64_t)rate->per_10_min_x1000, 3, "",
                       all ? NULL : "about 1, at most 2 for one operator", all ? NULL : isa});
    }
    add(table, &(struct figure){"alerts", group, "most in any 10 min", (int64_t)rate->most, 0,
                                "count", all ? NULL : "10 for one operator", all ? NULL : eemua});
    if (rate->windows > 0) {
        add(table,
            &(struct figure){"alerts", group, "10 min with more than 10",
                             (int64_t)tl_permille((struct tl_share){rate->flooded, rate->windows}),
                             1, "%", all ? NULL : "below 1 %", all ? NULL : isa});
    }
}

static void
add_shares(struct tl_table *table, const struct tl_rates *rates)
{
    static const char *const targets[] = {NULL, "below 1 %", "about 5 %", "about 15 %",
                                          "about 80 %"};
    uint64_t all = rates->rate[0].raised_ms.count;
    for (int i = TL_SEVERITY_EMERGENCY; i <= TL_SEVERITY_CAUTION && all > 0; i++) {
        add(table,
            &(struct figure){"alerts", tl_severity_name((enum tl_severity)i), "share of alerts",
                             (int64_t)tl_permille((struct tl_share){rates->severity[i], all}), 1,
                             "%", targets[i], isa});
    }
    if (all > 0) {
        add(table, &(struct figure){"alerts", "all, whoever owes them", "share of the top 10 rules",
                                    (int64_t)tl_permille((struct tl_share){rates->top_ten, all}), 1,
                                    "%", "1 to 5 %; of plants with many alarms", isa});
        add(table, &(struct figure){"alerts", "all, whoever owes them", "gone within 10 s",
                                    (int64_t)rates->fleeting, 0, "count", "0", isa});
    }
}

static void
add_alerts(struct tl_table *table, const struct tl_figures_told *figures)
{
    const struct tl_rates *rates = &figures->rates;
    add(table, &(struct figure){"alerts", "recoveries", "open time",
                                (int64_t)(rates->open_ms / 1000), 0, "s", NULL, NULL});
    for (uint32_t i = 0; i < rates->count; i++) {
        add_operator(table, rates, i);
    }
    add_shares(table, rates);
    add_count(table, (struct place){"alerts", "all, whoever owes them"}, "acknowledged",
              rates->acknowledged);
    if (rates->ack_ms.count > 0) {
        add(table, &(struct figure){"alerts", "all, whoever owes them", "median to acknowledgement",
                                    (int64_t)tl_quartile(&rates->ack_ms, 2), 3, "s", NULL, NULL});
    }
    if (rates->outside > 0) {
        add_count(table, (struct place){"alerts", "no recovery open"}, "alerts not counted",
                  rates->outside);
    }
}

void
tl_figures_table(const struct tl_figures_told *figures, struct tl_table *table)
{
    tl_table_init(table, "figures", columns, COLUMNS);
    for (uint32_t i = 0; i < figures->group_count; i++) {
        add_group(table, &figures->group[i]);
    }
    if (figures->drills > 0) {
        add_count(table, (struct place){"passes", "drills"}, "passes left out", figures->drills);
    }
    if (figures->no_group > 0) {
        add_count(table, (struct place){"passes", "more recoveries or types"}, "not listed",
                  figures->no_group);
    }
    add_wires(table, &figures->group[0].boarding);
    add_fouls(table, &figures->fouls);
    add_quartiles(table, (struct place){"intervals", "all"}, &figures->interval_ms);
    add_bins(table, &figures->interval_ms);
    add_resets(table, &figures->parts);
    add_alerts(table, figures);
}
