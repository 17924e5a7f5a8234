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
    if (tl_alert_waits_for_place(alert, place) && !tl_alert_waits_for_place(was, place)) {
        entry->sound_ms = first_sound_ms(alert, place, now_ms); /* owed again */
    }
    if (alert->severity < was->severity) {
        return TL_BELL_GRAVER;
    }
    if (was->state == TL_ALERT_UNACKNOWLEDGED && alert->state == TL_ALERT_ACKNOWLEDGED) {
        return TL_BELL_ACKNOWLEDGED;
    }
    if (alert->state == TL_ALERT_UNACKNOWLEDGED && now_ms >= entry->sound_ms) {
        bool owed = tl_alert_waits_for_place(alert, place);
        if (!owed && alert->raised_age_ms < TL_ESCALATE_MS) {
            entry->sound_ms = now_ms + TL_ESCALATE_MS - alert->raised_age_ms; /* no longer owed */
            return TL_BELL_NONE;
        }
        entry->sound_ms = owed ? now_ms + TL_RESOUND_MS : UINT64_MAX;
        return TL_BELL_AGAIN;
    }
    bool computed = was->cause.would.set_lb == 0 && alert->cause.would.set_lb != 0;
    return computed && tl_alert_is_active(alert) ? TL_BELL_COMPUTED : TL_BELL_NONE;
}

/* NULL when there is no place for one more; there are no more than can be listed. */
static struct tl_belled *
add(struct tl_bell *bell, const struct tl_alert *alert, uint64_t now_ms)
{
    if (bell->count == TL_ALERTS_MAX) {
        return NULL;
    }
    struct tl_belled *entry = &bell->entry[bell->count++];
    *entry = (struct tl_belled){.alert = *alert,
                                .number = ++bell->last_number,
                                .sound_ms = first_sound_ms(alert, bell->place, now_ms)};
    return entry;
}

static void
tell_edge(const struct tl_bell *bell, enum tl_bell_edge edge, const struct tl_belled *entry)
{
    if (bell->tell != NULL && edge != TL_BELL_NONE) {
        bell->tell(bell->ctx, edge, entry);
    }
}

/* What is listed no more has gone; it was told before when it had returned. */
static void
drop_gone(struct tl_bell *bell)
{
    uint32_t kept = 0;
    for (uint32_t i = 0; i < bell->count; i++) {
        struct tl_belled entry = bell->entry[i];
        if (entry.kept) {
            bell->entry[kept++] = entry;
        } else if (tl_alert_is_active(&entry.alert)) {
            tell_edge(bell, TL_BELL_GONE, &entry);
        }
    }
    bell->count = kept;
}

/* What must be told of one alert that is listed now. */
static enum tl_bell_edge
take_one(struct tl_bell *bell, const struct tl_alert *alert, uint64_t now_ms,
         struct tl_belled **entry)
{
    enum tl_bell_edge edge = TL_BELL_NONE;
    *entry = find(bell, alert);
    if (*entry != NULL) {
        edge = edge_of(*entry, alert, bell->place, now_ms);
    } else {
        *entry = add(bell, alert, now_ms);
        edge = tl_alert_is_active(alert) ? TL_BELL_RAISED : TL_BELL_GONE; /* not heard meanwhile */
    }
    if (*entry == NULL) {
        return TL_BELL_NONE;
    }
    (*entry)->alert = *alert;
    (*entry)->kept = true;
    return edge;
}

void
tl_bell_init(struct tl_bell *bell, int place, tl_bell_fn *tell, void *ctx)
{
    memset(bell, 0, sizeof *bell);
    bell->place = place;
    bell->tell = tell;
    bell->ctx = ctx;
}

void
tl_bell_take(struct tl_bell *bell, const struct tl_alert *alerts, uint32_t count, uint64_t now_ms)
{
    for (uint32_t i = 0; i < bell->count; i++) {
        bell->entry[i].kept = false;
    }
    for (uint32_t i = 0; i < count; i++) {
        struct tl_belled *entry = NULL;
        enum tl_bell_edge edge = take_one(bell, &alerts[i], now_ms, &entry);
        tell_edge(bell, edge, entry);
    }
    drop_gone(bell);
}
