/* SPDX-License-Identifier: Apache-2.0 */
/* bell.c - see bell.h. */
#include "clients/ui/bell.h"

#include <stdio.h>
#include <string.h>

bool
tl_alert_is_active(const struct tl_alert *alert)
{
    return alert->state != TL_ALERT_RETURNED;
}

uint32_t
tl_alert_waits_for(const struct tl_alert *alert)
{
    return alert->owed & ~alert->acknowledged;
}

bool
tl_alert_waits_for_place(const struct tl_alert *alert, int place)
{
    return place >= 0 && (tl_alert_waits_for(alert) >> place & 1u) != 0;
}

const char *
tl_places_text(const struct tl_config *config, uint32_t places, char *dst, size_t cap)
{
    size_t used = 0;
    dst[0] = '\0';
    for (uint32_t i = 0; i < TL_STATIONS_MAX && used < cap; i++) {
        const struct tl_node *node = (places >> i & 1u) != 0 ? tl_config_at(config, i) : NULL;
        char spoken[TL_ID_CAP];
        if (node != NULL) {
            int n = snprintf(dst + used, cap - used, "%s%s", used > 0 ? ", " : "",
                             tl_node_spoken(node->id, spoken, sizeof spoken));
            used += n > 0 ? (size_t)n : 0;
        }
    }
    return dst;
}

const struct tl_belled *
tl_bell_numbered(const struct tl_bell *bell, uint32_t number)
{
    for (uint32_t i = 0; i < bell->count; i++) {
        if (bell->entry[i].number == number) {
            return &bell->entry[i];
        }
    }
    return NULL;
}

static struct tl_belled *
find(struct tl_bell *bell, const struct tl_alert *alert)
{
    for (uint32_t i = 0; i < bell->count; i++) {
        if (tl_alert_same_instance(&bell->entry[i].alert, alert)) {
            return &bell->entry[i];
        }
    }
    return NULL;
}

static uint64_t
first_sound_ms(const struct tl_alert *alert, int place, uint64_t now_ms)
{
    uint64_t after = tl_alert_waits_for_place(alert, place) ? TL_RESOUND_MS : TL_ESCALATE_MS;
    return now_ms + (alert->raised_age_ms < after ? after - alert->raised_age_ms : 0);
}

static enum tl_bell_edge
edge_of(struct tl_belled *entry, const struct tl_alert *alert, int place, uint64_t now_ms)
{
    const struct tl_alert *was = &entry->alert;
    if (tl_alert_is_active(was) != tl_alert_is_active(alert)) {
        entry->sound_ms = first_sound_ms(alert, place, now_ms);
        return tl_alert_is_active(alert) ? TL_BELL_RAISED : TL_BELL_GONE;
    }
    if (alert->severity < was->severity) {
        return TL_BELL_GRAVER;
    }
    if (was->state == TL_ALERT_UNACKNOWLEDGED && alert->state == TL_ALERT_ACKNOWLEDGED) {
        return TL_BELL_ACKNOWLEDGED;
    }
    if (alert->state == TL_ALERT_UNACKNOWLEDGED && now_ms >= entry->sound_ms) {
        bool owed = tl_alert_waits_for_place(alert, place);
        entry->sound_ms = owed ? now_ms + TL_RESOUND_MS : UINT64_MAX;
        return TL_BELL_AGAIN;
    }
    return TL_BELL_NONE;
}

/* NULL when there is no place; then it is told again at each turn rather than never. */
static struct tl_belled *
add(struct tl_bell *bell, const struct tl_alert *alert, int place, uint64_t now_ms)
{
    if (bell->count == TL_ALERTS_MAX) {
        return NULL;
    }
    struct tl_belled *entry = &bell->entry[bell->count++];
    *entry = (struct tl_belled){.alert = *alert,
                                .number = ++bell->last_number,
                                .sound_ms = first_sound_ms(alert, place, now_ms)};
    return entry;
}

/* What is listed no more has gone; it was told before when it had returned. */
static void
drop_gone(struct tl_bell *bell, tl_bell_fn *tell, void *ctx)
{
    uint32_t kept = 0;
    for (uint32_t i = 0; i < bell->count; i++) {
        struct tl_belled entry = bell->entry[i];
        if (entry.kept) {
            bell->entry[kept++] = entry;
        } else if (tl_alert_is_active(&entry.alert)) {
            tell(ctx, TL_BELL_GONE, &entry);
        }
    }
    bell->count = kept;
}

void
tl_bell_take(struct tl_bell *bell, const struct tl_alert *alerts, uint32_t count, int place,
             uint64_t now_ms, tl_bell_fn *tell, void *ctx)
{
    for (uint32_t i = 0; i < bell->count; i++) {
        bell->entry[i].kept = false;
    }
    for (uint32_t i = 0; i < count; i++) {
        struct tl_belled *entry = find(bell, &alerts[i]);
        enum tl_bell_edge edge = TL_BELL_NONE;
        if (entry == NULL) {
            entry = add(bell, &alerts[i], place, now_ms);
            edge = tl_alert_is_active(&alerts[i]) ? TL_BELL_RAISED : TL_BELL_NONE;
        } else {
            edge = edge_of(entry, &alerts[i], place, now_ms);
        }
        if (entry != NULL) {
            entry->alert = alerts[i];
            entry->kept = true;
        }
        if (entry != NULL && edge != TL_BELL_NONE) {
            tell(ctx, edge, entry);
        }
    }
    drop_gone(bell, tell, ctx);
}
