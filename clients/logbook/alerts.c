/* SPDX-License-Identifier: Apache-2.0 */
/* alerts.c - see alerts.h. */
#include "clients/logbook/alerts.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* An acknowledgement names an alert by a number made of what it is. */
struct named {
    uint64_t instance;
    size_t place;
};
struct names {
    size_t count;
    struct named *named;
};

/* Who has the watch, while the words are walked through. */
struct watches {
    uint32_t count;
    struct {
        const char *station;
        uint64_t incarnation;
        const char *name;
    } watch[TL_STATIONS_MAX];
};

/* The number in the file: what does not fit is kept as far as it does. */
static uint64_t
instance_of(const struct tl_spell_key *key)
{
    struct tl_alert alert = {.event = key->event};
    alert.cause.rule = key->rule;
    alert.cause.subject = key->subject;
    memcpy(alert.cause.station, key->station, TL_ID_CAP);
    return tl_alert_instance(&alert) & INT64_MAX;
}

static int
compare_named(const void *a, const void *b)
{
    const struct named *left = a;
    const struct named *right = b;
    if (left->instance != right->instance) {
        return left->instance < right->instance ? -1 : 1;
    }
    return left->place < right->place ? -1 : (left->place > right->place ? 1 : 0);
}

static enum tl_err
list_names(const struct tl_alerts_told *alerts, struct names *names)
{
    names->named = calloc(alerts->count + 1, sizeof *names->named);
    if (names->named == NULL) {
        return TL_NOMEM;
    }
    names->count = alerts->count;
    for (size_t i = 0; i < alerts->count; i++) {
        names->named[i] = (struct named){instance_of(&alerts->alert[i].spell.key), i};
    }
    qsort(names->named, names->count, sizeof names->named[0], compare_named);
    return TL_OK;
}

/* The first place of that number or above. */
static size_t
lower_bound(const struct names *names, uint64_t instance)
{
    size_t low = 0;
    size_t high = names->count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        bool below = names->named[middle].instance < instance;
        low = below ? middle + 1 : low;
        high = below ? high : middle;
    }
    return low;
}

/* The same alert may have come again: the last one that had been raised by then. */
static struct tl_alert_told *
find(const struct tl_alerts_told *alerts, const struct names *names, const struct tl_word_row *word)
{
    struct tl_alert_told *found = NULL;
    uint64_t instance = word->datum.as.instance & INT64_MAX;
    for (size_t i = lower_bound(names, instance);
         i < names->count && names->named[i].instance == instance; i++) {
        struct tl_alert_told *alert = &alerts->alert[names->named[i].place];
        if (found == NULL || alert->spell.from_ms <= word->stated.wall_ms) {
            found = alert;
        }
    }
    return found;
}

static void
take_watch(struct watches *watches, const struct tl_word_row *word)
{
    uint32_t i = 0;
    while (i < watches->count &&
           strncmp(watches->watch[i].station, word->stated.node, TL_ID_CAP) != 0) {
        i++;
    }
    if (i == TL_STATIONS_MAX) {
        return;
    }
    if (i == watches->count) {
        watches->count++;
        watches->watch[i].station = word->stated.node;
        watches->watch[i].name = "";
    }
    if (word->stated.incarnation > watches->watch[i].incarnation) {
        watches->watch[i].incarnation = word->stated.incarnation;
        watches->watch[i].name = ""; /* a new life has said nothing yet */
    }
    if (word->datum.kind == TL_DATUM_WATCH && !tl_datum_is_voice(&word->datum)) {
        watches->watch[i].name = word->datum.known ? word->datum.as.watch : "";
    }
}

static const char *
watch_of(const struct watches *watches, const char *station)
{
    for (uint32_t i = 0; i < watches->count; i++) {
        if (strncmp(watches->watch[i].station, station, TL_ID_CAP) == 0) {
            return watches->watch[i].name;
        }
    }
    return "";
}

static void
take_ack(struct tl_alert_told *alert, const struct tl_word_row *word, const char *name)
{
    for (uint32_t i = 0; i < alert->ack_count; i++) {
        if (strncmp(alert->ack[i].station, word->stated.node, TL_ID_CAP) == 0) {
            return;
        }
    }
    if (alert->ack_count < TL_ALERT_ACKS_MAX) {
        struct tl_alert_ack *ack = &alert->ack[alert->ack_count++];
        memcpy(ack->station, word->stated.node, TL_ID_CAP);
        (void)snprintf(ack->name, sizeof ack->name, "%s", name);
        ack->wall_ms = word->stated.wall_ms;
    }
}

static void
take_acks(const struct tl_book *book, struct tl_alerts_told *alerts, const struct names *names)
{
    struct watches watches = {0};
    for (size_t i = 0; i < book->word_count; i++) {
        const struct tl_word_row *word = &book->word[i];
        if (!tl_word_counts(word)) {
            continue;
        }
        take_watch(&watches, word);
        if (word->datum.kind == TL_DATUM_ACKNOWLEDGED && word->datum.known) {
            struct tl_alert_told *alert = find(alerts, names, word);
            if (alert != NULL) {
                take_ack(alert, word, watch_of(&watches, word->stated.node));
            }
        }
    }
}

static enum tl_err
take_spans(const struct tl_book *book, struct tl_spells *spells)
{
    enum tl_err err = TL_OK;
    for (size_t i = 0; i < book->alert_count && err == TL_OK; i++) {
        const struct tl_alert_row *row = &book->alert[i];
        struct tl_spell_key key = {.rule = row->rule, .event = row->event, .subject = row->subject};
        memcpy(key.name, row->name, sizeof key.name);
        memcpy(key.station, row->station, sizeof key.station);
        if (row->raised) {
            err = tl_spells_begin(spells, &key, &row->stated, row->severity);
        } else {
            tl_spells_end(spells, &key, &row->stated);
        }
    }
    tl_spells_close(spells);
    return err;
}

enum tl_err
tl_alerts_fold(const struct tl_book *book, struct tl_alerts_told *alerts)
{
    struct tl_spells spells = {0};
    struct names names = {0};
    enum tl_err err = take_spans(book, &spells);
    if (err == TL_OK) {
        alerts->alert = calloc(spells.count + 1, sizeof *alerts->alert);
        err = alerts->alert != NULL ? TL_OK : TL_NOMEM;
    }
    for (size_t i = 0; i < spells.count && err == TL_OK; i++) {
        alerts->alert[alerts->count++].spell = spells.spell[i];
    }
    if (err == TL_OK) {
        err = list_names(alerts, &names);
    }
    if (err == TL_OK) {
        take_acks(book, alerts, &names);
    }
    free(names.named);
    tl_spells_free(&spells);
    return err;
}

void
tl_alerts_free(struct tl_alerts_told *alerts)
{
    free(alerts->alert);
    *alerts = (struct tl_alerts_told){0};
}

bool
tl_alert_first_ack(const struct tl_alert_told *alert, uint64_t *ms)
{
    bool known = alert->ack_count > 0 && alert->ack[0].wall_ms >= alert->spell.from_ms;
    if (known) {
        *ms = alert->ack[0].wall_ms - alert->spell.from_ms;
    }
    return known;
}
