/* SPDX-License-Identifier: Apache-2.0 */
/*
 * rates.h - how many alerts people were given, against the figures of alarm management.
 *
 * Pure but for the heap. An operator is who owes an acknowledgement by the row of the rule: the
 * station that the alert names, or a kind of station by its name. Alerts that nobody owes are in the
 * sum alone. Only alerts that were raised while a recovery was open count, and the time is the open
 * time.
 */
#ifndef CLIENTS_LOGBOOK_RATES_H
#define CLIENTS_LOGBOOK_RATES_H

#include "clients/logbook/alerts.h"
#include "clients/logbook/hours.h"
#include "clients/logbook/stats.h"

enum {
    TL_RATE_WINDOW_MS = 600000, /* 10 minutes */
    TL_RATE_FLOOD = 10,         /* more in a window are a flood */
    TL_FLEETING_MS = 10000,
    TL_OPERATORS_MAX = TL_STATIONS_MAX
};

/* Alerts of one operator, or of all. */
struct tl_rate {
    char operator[TL_ID_CAP]; /* empty = all alerts, whoever owes them */
    struct tl_values raised_ms;
    uint64_t windows; /* of 10 minutes in the open time, the last of each begun one too */
    uint64_t flooded; /* of them with more than 10 */
    uint64_t most;    /* in any 10 minutes */
    uint64_t per_10_min_x1000;
};
struct tl_rates {
    uint64_t open_ms;
    uint64_t outside; /* raised while no recovery was open */
    uint32_t count;
    struct tl_rate rate[TL_OPERATORS_MAX + 1]; /* [0] is all */
    uint64_t severity[TL_SEVERITY_CAUTION + 1];
    uint64_t fleeting; /* gone within 10 s */
    uint64_t acknowledged, ack_known;
    struct tl_values ack_ms;  /* first acknowledgements, sorted when closed */
    uint64_t top_ten;         /* alerts of the ten rules that had most */
    struct tl_values by_rule; /* counts by rule id */
};

/* rates: zeroed; freed by the caller. TL_NOMEM. */
TL_MUST_USE enum tl_err tl_rates_add(struct tl_rates *rates, const struct tl_open_times *times,
                                     const struct tl_alert_told *alert);
/* When all are in. */
TL_MUST_USE enum tl_err tl_rates_close(struct tl_rates *rates, const struct tl_open_times *times);
void tl_rates_free(struct tl_rates *rates);

#endif
