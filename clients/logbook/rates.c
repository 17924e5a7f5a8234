/* SPDX-License-Identifier: Apache-2.0 */
/* rates.c - see rates.h. */
#include "clients/logbook/rates.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/ui/why.h"

enum {
    TOP = 10,
    X1000 = 1000
};

static struct tl_rate *
rate_of(struct tl_rates *rates, const char *operator)
{
    for (uint32_t i = 0; i < rates->count; i++) {
        if (strncmp(rates->rate[i].operator, operator, TL_ID_CAP) == 0) {
            return &rates->rate[i];
        }
    }
    if (rates->count > TL_OPERATORS_MAX) {
        return NULL;
    }
    struct tl_rate *rate = &rates->rate[rates->count++];
    (void)snprintf(rate->operator, sizeof rate->operator, "%s", operator);
    return rate;
}

static enum tl_err
add_to(struct tl_rates *rates, const char *operator, uint64_t wall_ms)
{
    struct tl_rate *rate = rate_of(rates, operator);
    return rate != NULL ? tl_values_add(&rate->raised_ms, wall_ms) : TL_OK;
}

/* Each who owes it, once. */
static enum tl_err
add_operators(struct tl_rates *rates, const struct tl_spell *spell)
{
    const struct tl_rule_row *row = tl_rule_row(spell->key.rule);
    enum tl_err err = TL_OK;
    for (unsigned bit = 0; row != NULL && tl_ui_act_name(bit) != NULL && err == TL_OK; bit++) {
        bool named = (1u << bit) == TL_ACTS_NAMED;
        const char *name = named ? spell->key.station : tl_ui_act_name(bit);
        bool again = !named && (row->owes & TL_ACTS_NAMED) != 0 &&
                     strncmp(name, spell->key.station, TL_ID_CAP) == 0;
        if ((row->owes >> bit & 1u) != 0 && name[0] != '\0' && !again) {
            err = add_to(rates, name, spell->from_ms);
        }
    }
    return err;
}

static enum tl_err
count_rule(struct tl_rates *rates, uint32_t rule)
{
    while (rates->by_rule.count <= rule && rule < TL_RULES_MAX) {
        enum tl_err err = tl_values_add(&rates->by_rule, 0);
        if (err != TL_OK) {
            return err;
        }
    }
    if (rule < rates->by_rule.count) {
        rates->by_rule.value[rule]++;
    }
    return TL_OK;
}

static void
count_severity(struct tl_rates *rates, const char *name)
{
    for (int i = TL_SEVERITY_EMERGENCY; i <= TL_SEVERITY_CAUTION; i++) {
        if (strcmp(name, tl_severity_name((enum tl_severity)i)) == 0) {
            rates->severity[i]++;
            return;
        }
    }
    rates->severity[TL_SEVERITY_UNKNOWN]++;
}

enum tl_err
tl_rates_add(struct tl_rates *rates, const struct tl_open_times *times,
             const struct tl_alert_told *alert)
{
    const struct tl_spell *spell = &alert->spell;
    uint64_t ms = 0;
    if (tl_open_time_at(times, spell->from_ms) == NULL) {
        rates->outside++;
        return TL_OK;
    }
    count_severity(rates, spell->severity);
    rates->fleeting += tl_spell_length(spell, &ms) && ms < TL_FLEETING_MS ? 1 : 0;
    rates->acknowledged += alert->ack_count > 0 ? 1 : 0;
    enum tl_err err = add_to(rates, "", spell->from_ms);
    if (err == TL_OK && tl_alert_first_ack(alert, &ms)) {
        err = tl_values_add(&rates->ack_ms, ms);
    }
    if (err == TL_OK) {
        err = add_operators(rates, spell);
    }
    return err == TL_OK ? count_rule(rates, spell->key.rule) : err;
}

/* How many of the sorted values are below. */
static size_t
below(const struct tl_values *values, uint64_t limit)
{
    size_t low = 0;
    size_t high = values->count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        bool less = values->value[middle] < limit;
        low = less ? middle + 1 : low;
        high = less ? high : middle;
    }
    return low;
}

/* Windows are laid from the beginning of each open time. */
static void
count_windows(struct tl_rate *rate, const struct tl_open_times *times)
{
    for (size_t i = 0; i < times->count; i++) {
        const struct tl_open_time *time = &times->time[i];
        uint64_t count = (time->to_ms - time->from_ms) / TL_RATE_WINDOW_MS + 1;
        rate->windows += count;
        for (uint64_t w = 0; w < count; w++) {
            uint64_t from_ms = time->from_ms + w * TL_RATE_WINDOW_MS;
            uint64_t end_ms = from_ms + TL_RATE_WINDOW_MS;
            end_ms = end_ms > time->to_ms ? time->to_ms + 1 : end_ms;
            size_t in = below(&rate->raised_ms, end_ms) - below(&rate->raised_ms, from_ms);
            rate->flooded += in > TL_RATE_FLOOD ? 1 : 0;
        }
    }
}

static void
close_rate(struct tl_rate *rate, const struct tl_rates *rates, const struct tl_open_times *times)
{
    tl_values_sort(&rate->raised_ms);
    rate->most = tl_most_within(&rate->raised_ms, TL_RATE_WINDOW_MS - 1);
    count_windows(rate, times);
    if (rates->open_ms > 0) {
        uint64_t scaled = (uint64_t)rate->raised_ms.count * TL_RATE_WINDOW_MS * X1000;
        rate->per_10_min_x1000 = (scaled + rates->open_ms / 2) / rates->open_ms;
    }
}

static int
compare_rates(const void *a, const void *b)
{
    const struct tl_rate *left = a;
    const struct tl_rate *right = b;
    if (left->raised_ms.count != right->raised_ms.count) {
        return left->raised_ms.count > right->raised_ms.count ? -1 : 1;
    }
    return strncmp(left->operator, right->operator, TL_ID_CAP);
}

enum tl_err
tl_rates_close(struct tl_rates *rates, const struct tl_open_times *times)
{
    if (rate_of(rates, "") == NULL) {
        return TL_NOMEM;
    }
    rates->open_ms = tl_open_times_sum(times);
    for (uint32_t i = 0; i < rates->count; i++) {
        close_rate(&rates->rate[i], rates, times);
    }
    qsort(rates->rate + 1, rates->count - 1, sizeof rates->rate[0], compare_rates);
    tl_values_sort(&rates->ack_ms);
    tl_values_sort(&rates->by_rule);
    for (size_t i = 0; i < TOP && i < rates->by_rule.count; i++) {
        rates->top_ten += rates->by_rule.value[rates->by_rule.count - 1 - i];
    }
    return TL_OK;
}

void
tl_rates_free(struct tl_rates *rates)
{
    for (uint32_t i = 0; i < rates->count; i++) {
        tl_values_free(&rates->rate[i].raised_ms);
    }
    tl_values_free(&rates->ack_ms);
    tl_values_free(&rates->by_rule);
    *rates = (struct tl_rates){0};
}
