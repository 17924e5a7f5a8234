/* SPDX-License-Identifier: Apache-2.0 */
/* replay_show.c - see replay_show.h. */
#include "clients/logbook/replay_show.h"

#include <stdlib.h>
#include <string.h>

#include "broker/core/judge/publish.h"

struct tl_replay_show {
    const struct tl_config *config;
    struct tl_picture picture;
    struct tl_alert_set alerts;
    struct tl_view view;
    struct tl_ui_state state;
};

struct tl_replay_show *
tl_replay_show_open(const struct tl_config *config)
{
    struct tl_replay_show *show = calloc(1, sizeof *show);
    if (show != NULL) {
        show->config = config;
    }
    return show;
}

void
tl_replay_show_close(struct tl_replay_show **show)
{
    free(*show);
    *show = NULL;
}

static void
keep(void *ctx, const struct tl_topic *topic, const struct tl_envelope *envelope)
{
    struct tl_replay_show *show = ctx;
    if (topic->kind == TL_TOPIC_PICTURE) {
        memcpy(&show->picture, &envelope->as.picture, sizeof show->picture);
    } else if (topic->kind == TL_TOPIC_ALERT) {
        memcpy(&show->alerts, &envelope->as.alerts, sizeof show->alerts);
    }
}

struct tl_port
tl_replay_show_port(struct tl_replay_show *show)
{
    return (struct tl_port){.ctx = show, .send = keep};
}

static void
fill_view(const struct tl_judge *judge, struct tl_view *view)
{
    const struct tl_decision *decision = &judge->decision;
    bool ready = decision->word == TL_WORD_READY;
    *view = (struct tl_view){.word = ready ? TL_WORD_READY : TL_WORD_NOT_READY,
                             .from_known = true,
                             .any_verdict = true,
                             .all_verdicts = true,
                             .event_known = true,
                             .event = judge->fold.list.current,
                             .drill = judge->fold.list.drill,
                             .out_of_service = judge->fold.out_count > 0 ? 1u : 0u};
    if (!ready) {
        view->kind = decision->kind;
        view->first = decision->cause[0];
    }
}

const struct tl_ui_state *
tl_replay_show_take(struct tl_replay_show *show, struct tl_replay *replay)
{
    tl_publish_picture(&replay->judge, replay->now_ms);
    for (uint32_t i = 0; i < show->alerts.alert_count; i++) {
        struct tl_alert *alert = &show->alerts.alert[i];
        alert->delivered = alert->owed; /* no record has it: nobody is said not to have seen it */
    }
    fill_view(&replay->judge, &show->view);
    show->state = (struct tl_ui_state){.config = show->config,
                                       .view = &show->view,
                                       .picture = &show->picture,
                                       .alert = show->alerts.alert,
                                       .alert_count = show->alerts.alert_count};
    return &show->state;
}
