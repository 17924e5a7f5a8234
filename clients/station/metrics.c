/* SPDX-License-Identifier: Apache-2.0 */
/* metrics.c - see metrics.h. */
#include "clients/station/metrics.h"

#include "proto/link/metrics.h"

/* The verdict as people see it here, and how many causes explain it: the screen itself is one. */
static void
put_shown(struct tl_session *session, uint64_t now_ms, struct tl_metrics_page *page)
{
    struct tl_member *member = &session->seat.member;
    struct tl_alert_counts counts = {0};
    struct tl_view view;
    bool old = false;
    tl_member_view(member, now_ms, &view);
    const struct tl_picture *picture = tl_member_picture(member, &view, &old);
    uint32_t causes = view.word == TL_WORD_READY ? 0 : 1;
    if (view.from_known && picture != NULL && !old) {
        causes = picture->cause_count;
    }
    tl_put_verdict(page, view.word, causes);
    for (uint32_t i = 0; i < session->bell.count; i++) {
        tl_count_alert(&counts, session->bell.entry[i].alert.state);
    }
    tl_put_alerts(page, &counts);
    for (uint32_t i = 0; i < member->hear.count; i++) {
        const struct tl_heard *heard = &member->hear.validator[i];
        tl_metrics_put(page, TL_METRIC_VALIDATOR_FRESH, heard->id,
                       tl_heard_is_fresh(heard, now_ms) ? 1U : 0U);
    }
}

static void
put_said(const struct tl_session *session, struct tl_metrics_page *page)
{
    const struct tl_outbox *box = &session->seat.member.outbox;
    uint32_t unsettled = 0;
    uint32_t unrecorded = 0;
    for (uint32_t i = 0; i < box->said_count; i++) {
        unsettled += box->said[i].datum.sequence > box->settled ? 1U : 0U;
        unrecorded += box->recorder && box->said[i].datum.sequence > box->recorded ? 1U : 0U;
    }
    tl_metrics_put(page, TL_METRIC_OUTBOX, NULL, box->said_count);
    tl_metrics_put(page, TL_METRIC_UNSETTLED, NULL, unsettled);
    tl_metrics_put(page, TL_METRIC_UNRECORDED, NULL, unrecorded);
    tl_metrics_put(page, TL_METRIC_OUTBOX_DROPPED, NULL, box->not_recorded);
    tl_metrics_put(page, TL_METRIC_COMMANDS_DROPPED, NULL, session->hook.dropped);
}

void
tl_session_tell_metrics(struct tl_session *session, uint64_t now_ms)
{
    struct tl_metrics_page *page = tl_metrics_due(session->metrics, now_ms);
    if (page == NULL) {
        return;
    }
    tl_join_put_metrics(&session->seat.join, "trapline", session->start_ms, now_ms, page);
    put_shown(session, now_ms, page);
    put_said(session, page);
    tl_metrics_hand(session->metrics);
}
