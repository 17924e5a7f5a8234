/* SPDX-License-Identifier: Apache-2.0 */
/* sound.c - see sound.h. */
#include "clients/ui/sound.h"

static enum tl_hook_edge
hook_edge(enum tl_bell_edge edge)
{
    static const enum tl_hook_edge edges[] = {
        [TL_BELL_NONE] = TL_HOOK_EDGE_UNKNOWN,
        [TL_BELL_RAISED] = TL_HOOK_EDGE_RAISED,
        [TL_BELL_AGAIN] = TL_HOOK_EDGE_AGAIN,
        [TL_BELL_GRAVER] = TL_HOOK_EDGE_RAISED,
        [TL_BELL_GONE] = TL_HOOK_EDGE_GONE,
        [TL_BELL_ACKNOWLEDGED] = TL_HOOK_EDGE_ACKNOWLEDGED,
        [TL_BELL_COMPUTED] = TL_HOOK_EDGE_UNKNOWN, /* the edge before has sounded */
    };
    return edges[edge];
}

/* Borrows from the alert and from text. */
static struct tl_hook_alert
words_of(const struct tl_alert *alert, char text[TL_TEXT_CAP])
{
    const struct tl_rule_row *row = tl_rule_row(alert->cause.rule);
    return (struct tl_hook_alert){
        .severity = tl_severity_name(alert->severity),
        .rule = row != NULL ? row->name : "unknown",
        .station = alert->cause.station,
        .text = tl_cause_text(&alert->cause, alert->event, text, TL_TEXT_CAP)};
}

void
tl_ui_sound(struct tl_hook *hook, enum tl_bell_edge edge, const struct tl_alert *alert,
            uint64_t now_ms)
{
    char text[TL_TEXT_CAP];
    if (hook_edge(edge) != TL_HOOK_EDGE_UNKNOWN) {
        struct tl_hook_alert words = words_of(alert, text);
        tl_hook_edge(hook, hook_edge(edge), &words, now_ms);
    }
}

void
tl_ui_signal(struct tl_lamp *lamp, enum tl_bell_edge edge, const struct tl_alert *alert)
{
    char text[TL_TEXT_CAP];
    if (hook_edge(edge) != TL_HOOK_EDGE_UNKNOWN) {
        struct tl_hook_alert words = words_of(alert, text);
        tl_lamp_edge(lamp, hook_edge(edge), &words);
    }
}
