/* SPDX-License-Identifier: Apache-2.0 */
/*
 * alerts.h - each alert once, over all validators: raised, gone, acknowledged by whom and when.
 *
 * Pure but for the heap. An alert is gone when it has left every validator's set: one that was not
 * acknowledged stays there for a while after its cause has gone (broker/core/alerts/alerts.h). Its
 * severity is the one that it was raised with; that a warning grew into an alarm is not recorded.
 * Raised and gone are of the validators' clocks, an acknowledgement of its station's.
 */
#ifndef CLIENTS_LOGBOOK_ALERTS_H
#define CLIENTS_LOGBOOK_ALERTS_H

#include "clients/logbook/spells.h"

enum {
    TL_ALERT_ACKS_MAX = 8
};

struct tl_alert_ack {
    char station[TL_ID_CAP];
    char name[TL_NAME_CAP]; /* who had the watch there; empty = not said */
    uint64_t wall_ms;
};

struct tl_alert_told {
    struct tl_spell spell;
    uint32_t ack_count;
    struct tl_alert_ack ack[TL_ALERT_ACKS_MAX]; /* each station once, as they came */
};

struct tl_alerts_told {
    size_t count;
    struct tl_alert_told *alert; /* as they were raised */
};

/* alerts: zeroed; the caller frees it whatever is returned. TL_NOMEM. */
TL_MUST_USE enum tl_err tl_alerts_fold(const struct tl_book *book, struct tl_alerts_told *alerts);
void tl_alerts_free(struct tl_alerts_told *alerts);

/* True when somebody has, and his clock is not before the validators'; how long it took in *ms. */
bool tl_alert_first_ack(const struct tl_alert_told *alert, uint64_t *ms);

#endif
