/* SPDX-License-Identifier: Apache-2.0 */
/* sound.c - see sound.h. */
#include "clients/ui/sound.h"

void
tl_ui_sound(struct tl_hook *hook, enum tl_bell_edge edge, const struct tl_alert *alert,
            uint64_t now_ms)
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
    if (edges[edge] == TL_HOOK_EDGE_UNKNOWN) {
        return;
    }
    char text[TL_TEXT_CAP];
    const struct tl_rule_row *row = tl_rule_row(alert->cause.rule);
    struct tl_hook_alert words = {
        .severity = tl_severity_name(alert->severity),
        .rule = row != NULL ? row->name : "unknown",
        .station = alert->cause.station,
        .text = tl_cause_text(&alert->cause, alert->event, text, sizeof text)};
    tl_hook_edge(hook, edges[edge], &words, now_ms);
}
