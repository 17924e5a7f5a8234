/* SPDX-License-Identifier: Apache-2.0 */
/* figures.c - see figures.h: the folding; figures_table.c has the rows. */
#include "clients/logbook/figures.h"

#include <stdio.h>
#include <string.h>

#include "clients/logbook/words.h"

static struct tl_group *
add_group(struct tl_figures_told *figures)
{
    if (figures->group_count == TL_GROUPS_MAX) {
        figures->no_group++;
        return NULL;
    }
    return &figures->group[figures->group_count++];
}

static struct tl_group *
recovery_group(struct tl_figures_told *figures, uint64_t recovery_ms)
{
    char time[TL_TIME_CAP];
    for (uint32_t i = 0; i < figures->group_count; i++) {
        if (figures->group[i].recovery_ms == recovery_ms) {
            return &figures->group[i];
        }
    }
    struct tl_group *group = add_group(figures);
    if (group != NULL) {
        group->recovery_ms = recovery_ms;
        (void)snprintf(group->name, sizeof group->name, "recovery %.19sZ",
                       tl_time_text(recovery_ms, time));
    }
    return group;
}

static struct tl_group *
type_group(struct tl_figures_told *figures, const char *type)
{
    for (uint32_t i = 0; i < figures->group_count; i++) {
        if (strncmp(figures->group[i].type, type, TL_TYPE_CAP) == 0) {
            return &figures->group[i];
        }
    }
    struct tl_group *group = add_group(figures);
    if (group != NULL) {
        memcpy(group->type, type, TL_TYPE_CAP);
        (void)snprintf(group->name, sizeof group->name, "type %s", type);
    }
    return group;
}

static enum tl_err
take_pass(struct tl_figures_told *figures, const struct tl_pass *pass)
{
    struct tl_group *recovery = recovery_group(figures, pass->event.recovery_ms);
    struct tl_group *type =
        pass->order.type[0] != '\0' ? type_group(figures, pass->order.type) : NULL;
    tl_boarding_add(&figures->group[0].boarding, pass);
    if (recovery != NULL) {
        tl_boarding_add(&recovery->boarding, pass);
    }
    if (type != NULL) {
        tl_boarding_add(&type->boarding, pass);
    }
    tl_fouls_add(&figures->fouls, pass);
    return pass->has_interval ? tl_values_add(&figures->interval_ms, pass->interval_ms) : TL_OK;
}

static enum tl_err
take_passes(const struct tl_answer *answer, bool drills, struct tl_figures_told *figures)
{
    enum tl_err err = TL_OK;
    figures->group_count = 1;
    (void)snprintf(figures->group[0].name, sizeof figures->group[0].name, "all");
    figures->group[0].recovery_ms = UINT64_MAX; /* of none */
    figures->group[0].type[0] = '*';
    for (size_t i = 0; i < answer->passes.count && err == TL_OK; i++) {
        const struct tl_pass *pass = &answer->passes.pass[i];
        if (!tl_pass_ended(pass) || !tl_filter_pass(&answer->filter, pass)) {
            continue;
        }
        if (pass->drill && !drills) {
            figures->drills++;
        } else {
            err = take_pass(figures, pass);
        }
    }
    tl_fouls_sort(&figures->fouls);
    tl_values_sort(&figures->interval_ms);
    return err;
}

static enum tl_err
take_resets(const struct tl_answer *answer, bool drills, struct tl_figures_told *figures)
{
    struct tl_resets resets = {0};
    enum tl_err err = tl_resets_fold(&answer->book, &answer->passes, &resets);
    for (size_t i = 0; i < resets.count && err == TL_OK; i++) {
        const struct tl_reset *reset = &resets.reset[i];
        if (reset->outcome == TL_OUTCOME_TRAP && (drills || !reset->drill) &&
            tl_filter_time(&answer->filter, reset->from_ms) &&
            tl_filter_event(&answer->filter, &answer->passes, reset->ended)) {
            err = tl_reset_parts_add(&figures->parts, reset);
        }
    }
    tl_reset_parts_close(&figures->parts);
    tl_resets_free(&resets);
    return err;
}

/* Alerts are given to people whatever aircraft is asked for: only the time and the station count. */
static enum tl_err
take_alerts(const struct tl_answer *answer, struct tl_figures_told *figures)
{
    struct tl_alerts_told alerts = {0};
    const struct tl_filter *filter = &answer->filter;
    enum tl_err err = tl_open_times_fold(&answer->book, &figures->times);
    tl_open_times_cut(&figures->times, &(struct tl_time_span){filter->from_ms, filter->to_ms});
    if (err == TL_OK) {
        err = tl_alerts_fold(&answer->book, &alerts);
    }
    for (size_t i = 0; i < alerts.count && err == TL_OK; i++) {
        const struct tl_alert_told *alert = &alerts.alert[i];
        if (tl_filter_time(filter, alert->spell.from_ms) &&
            tl_filter_station(filter, alert->spell.key.station)) {
            err = tl_rates_add(&figures->rates, &figures->times, alert);
        }
    }
    if (err == TL_OK) {
        err = tl_rates_close(&figures->rates, &figures->times);
    }
    tl_alerts_free(&alerts);
    return err;
}

enum tl_err
tl_figures_fold(const struct tl_answer *answer, bool drills, struct tl_figures_told *figures)
{
    enum tl_err err = take_passes(answer, drills, figures);
    if (err == TL_OK) {
        err = take_resets(answer, drills, figures);
    }
    return err == TL_OK ? take_alerts(answer, figures) : err;
}

void
tl_figures_free(struct tl_figures_told *figures)
{
    tl_values_free(&figures->interval_ms);
    tl_reset_parts_free(&figures->parts);
    tl_open_times_free(&figures->times);
    tl_rates_free(&figures->rates);
}

void
tl_interval_bins(const struct tl_values *values, struct tl_bins *bins)
{
    static const uint64_t units_ms[] = {5000, 10000, 15000, 30000, 60000, 300000, 3600000};
    tl_bins_fill(values, units_ms, sizeof units_ms / sizeof units_ms[0], bins);
}
