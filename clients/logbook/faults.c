/* SPDX-License-Identifier: Apache-2.0 */
/* faults.c - see faults.h. */
#include "clients/logbook/faults.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    FIRST_CAP = 64,
    SAME_LOSS_MS = 3000 /* a loss and its alert */
};

static struct tl_fault *
add(struct tl_faults *faults, enum tl_fault_kind kind)
{
    if (faults->count == faults->cap) {
        size_t cap = faults->cap == 0 ? FIRST_CAP : 2 * faults->cap;
        struct tl_fault *fault = realloc(faults->fault, cap * sizeof *fault);
        if (fault == NULL) {
            return NULL;
        }
        faults->fault = fault;
        faults->cap = cap;
    }
    struct tl_fault *fault = &faults->fault[faults->count++];
    *fault = (struct tl_fault){.kind = kind, .count = 1};
    return fault;
}

/* Rules on the picture; UNKNOWN for those that tell what people do, and for those on the ship. */
static enum tl_fault_kind
kind_of(uint32_t rule)
{
    const struct tl_rule_row *row = tl_rule_row(rule);
    switch ((int)rule) {
    case TL_RULE_STATION_LOST:
        return TL_FAULT_STATION;
    case TL_RULE_VALIDATOR_LOST:
    case TL_RULE_VALIDATORS_DIFFER:
        return TL_FAULT_VALIDATOR;
    case TL_RULE_BUS_DEGRADED:
        return TL_FAULT_BUS;
    case TL_RULE_RECORDER_LOST:
        return TL_FAULT_RECORDER;
    case TL_RULE_TWO_WRITERS:
        return TL_FAULT_TWIN;
    case TL_RULE_REFUSED_PUBLISHER:
    case TL_RULE_OTHER_BODY:
        return TL_FAULT_REFUSED;
    case TL_RULE_BY_VOICE:
    case TL_RULE_VOICE_DIFFERS:
    case TL_RULE_OVERRIDE_LIVE:
    case TL_RULE_ONE_VALIDATOR:
    case TL_RULE_ALARM_FLOOD:
        return TL_FAULT_UNKNOWN;
    default:
        return row != NULL && row->kind == TL_CAUSE_PICTURE ? TL_FAULT_OTHER : TL_FAULT_UNKNOWN;
    }
}

static enum tl_err
add_spell(struct tl_faults *faults, enum tl_fault_kind kind, const struct tl_spell *spell)
{
    const struct tl_rule_row *row = tl_rule_row(spell->key.rule);
    struct tl_fault *fault = add(faults, kind);
    if (fault == NULL) {
        return TL_NOMEM;
    }
    fault->from_ms = spell->from_ms;
    fault->ended = spell->ended;
    fault->to_ms = spell->ended ? spell->to_ms : 0;
    memcpy(fault->station, spell->key.station, sizeof fault->station);
    memcpy(fault->rule, spell->key.name, sizeof fault->rule);
    (void)snprintf(fault->text, sizeof fault->text, "%s",
                   row != NULL ? row->short_text : spell->key.name);
    return TL_OK;
}

/* ---- losses of stations, as the validators judged them ---- */

static enum tl_err
find_losses(const struct tl_book *book, struct tl_spells *losses)
{
    enum tl_err err = TL_OK;
    for (size_t i = 0; i < book->loss_count && err == TL_OK; i++) {
        const struct tl_loss_row *row = &book->loss[i];
        struct tl_spell_key key = {.rule = TL_RULE_STATION_LOST, .name = "station-lost"};
        memcpy(key.station, row->node, sizeof key.station);
        if (row->lost) {
            err = tl_spells_begin(losses, &key, &row->stated, "");
        } else {
            tl_spells_end(losses, &key, &row->stated);
        }
    }
    tl_spells_close(losses);
    return err;
}

/* The alert of a loss lasts until it is acknowledged: the loss itself says more. */
static bool
is_told(const struct tl_spells *losses, const struct tl_spell *alert)
{
    for (size_t i = 0; i < losses->count; i++) {
        const struct tl_spell *loss = &losses->spell[i];
        bool within = alert->from_ms + SAME_LOSS_MS >= loss->from_ms &&
                      (!loss->ended || alert->from_ms <= loss->to_ms + SAME_LOSS_MS);
        if (within && strncmp(loss->key.station, alert->key.station, TL_ID_CAP) == 0) {
            return true;
        }
    }
    return false;
}

static enum tl_err
take_alerts(const struct tl_book *book, const struct tl_spells *losses, struct tl_faults *faults)
{
    struct tl_alerts_told alerts = {0};
    enum tl_err err = tl_alerts_fold(book, &alerts);
    for (size_t i = 0; i < alerts.count && err == TL_OK; i++) {
        const struct tl_spell *spell = &alerts.alert[i].spell;
        enum tl_fault_kind kind = kind_of(spell->key.rule);
        bool told = kind == TL_FAULT_STATION && is_told(losses, spell);
        if (kind != TL_FAULT_UNKNOWN && !told) {
            err = add_spell(faults, kind, spell);
        }
    }
    tl_alerts_free(&alerts);
    return err;
}

static enum tl_err
take_losses(const struct tl_book *book, struct tl_faults *faults)
{
    struct tl_spells losses = {0};
    enum tl_err err = find_losses(book, &losses);
    for (size_t i = 0; i < losses.count && err == TL_OK; i++) {
        err = add_spell(faults, TL_FAULT_STATION, &losses.spell[i]);
    }
    if (err == TL_OK) {
        err = take_alerts(book, &losses, faults);
    }
    tl_spells_free(&losses);
    return err;
}

/* ---- NOT READY of kind picture ---- */

/* What each validator holds against READY now. */
struct holdings {
    uint32_t count;
    struct {
        const char *validator;
        bool held;
        struct tl_spell_key key;
    } of[TL_VALIDATORS_MAX];
};

static bool
is_of_picture(const struct tl_verdict_row *verdict)
{
    const struct tl_rule_row *row = tl_rule_row(verdict->rule);
    return !verdict->ready && row != NULL && row->kind == TL_CAUSE_PICTURE;
}

static enum tl_err
take_verdict(struct holdings *holdings, struct tl_spells *spells,
             const struct tl_verdict_row *verdict)
{
    struct tl_spell_key key = {.rule = verdict->rule};
    uint32_t i = 0;
    memcpy(key.name, verdict->name, sizeof key.name);
    memcpy(key.station, verdict->station, sizeof key.station);
    while (i < holdings->count &&
           strncmp(holdings->of[i].validator, verdict->stated.node, TL_ID_CAP) != 0) {
        i++;
    }
    if (i == TL_VALIDATORS_MAX) {
        return TL_OK;
    }
    if (i == holdings->count) {
        holdings->count++;
        holdings->of[i].validator = verdict->stated.node;
    }
    bool now = is_of_picture(verdict);
    bool same = now && holdings->of[i].held &&
                strncmp(holdings->of[i].key.name, key.name, sizeof key.name) == 0 &&
                strncmp(holdings->of[i].key.station, key.station, TL_ID_CAP) == 0;
    if (same) {
        return TL_OK;
    }
    if (holdings->of[i].held) {
        tl_spells_end(spells, &holdings->of[i].key, &verdict->stated);
    }
    holdings->of[i].held = now;
    holdings->of[i].key = key;
    return now ? tl_spells_begin(spells, &key, &verdict->stated, "") : TL_OK;
}

static enum tl_err
take_verdicts(const struct tl_book *book, struct tl_faults *faults)
{
    struct holdings holdings = {0};
    struct tl_spells spells = {0};
    enum tl_err err = TL_OK;
    for (size_t i = 0; i < book->verdict_count && err == TL_OK; i++) {
        err = take_verdict(&holdings, &spells, &book->verdict[i]);
    }
    tl_spells_close(&spells);
    for (size_t i = 0; i < spells.count && err == TL_OK; i++) {
        err = add_spell(faults, TL_FAULT_NOT_READY, &spells.spell[i]);
    }
    tl_spells_free(&spells);
    return err;
}

/* ---- words and gaps ---- */

static enum tl_err
take_words(const struct tl_book *book, struct tl_faults *faults)
{
    for (size_t i = 0; i < book->word_count; i++) {
        const struct tl_word_row *word = &book->word[i];
        if (tl_word_counts(word)) {
            continue;
        }
        struct tl_fault *fault = add(faults, TL_FAULT_WORD);
        if (fault == NULL) {
            return TL_NOMEM;
        }
        fault->from_ms = word->stated.wall_ms;
        memcpy(fault->station, word->stated.node, sizeof fault->station);
        (void)snprintf(fault->rule, sizeof fault->rule, "%.*s", (int)sizeof fault->rule - 1,
                       word->refused);
        (void)snprintf(fault->text, sizeof fault->text, "%s by %s: %.100s", word->refused,
                       word->refused_by, word->text);
    }
    return TL_OK;
}

static enum tl_err
take_gaps(const struct tl_book *book, struct tl_faults *faults)
{
    for (size_t i = 0; i < book->gap_count; i++) {
        const struct tl_gap_row *gap = &book->gap[i];
        struct tl_fault *fault = add(faults, TL_FAULT_GAP);
        if (fault == NULL) {
            return TL_NOMEM;
        }
        fault->from_ms = gap->wall_ms;
        fault->count = gap->last >= gap->first ? gap->last - gap->first + 1 : 0;
        memcpy(fault->station, gap->node, sizeof fault->station);
        (void)snprintf(fault->text, sizeof fault->text,
                       "changes %" PRIu64 " to %" PRIu64 " are not recorded", gap->first,
                       gap->last);
    }
    return TL_OK;
}

static int
compare_faults(const void *a, const void *b)
{
    const struct tl_fault *left = a;
    const struct tl_fault *right = b;
    if (left->from_ms != right->from_ms) {
        return left->from_ms < right->from_ms ? -1 : 1;
    }
    int order = left->kind < right->kind ? -1 : (left->kind > right->kind ? 1 : 0);
    return order != 0 ? order : strncmp(left->station, right->station, TL_ID_CAP);
}

enum tl_err
tl_faults_fold(const struct tl_book *book, struct tl_faults *faults)
{
    enum tl_err err = take_losses(book, faults);
    if (err == TL_OK) {
        err = take_verdicts(book, faults);
    }
    if (err == TL_OK) {
        err = take_words(book, faults);
    }
    if (err == TL_OK) {
        err = take_gaps(book, faults);
    }
    if (err == TL_OK && faults->count > 0) {
        qsort(faults->fault, faults->count, sizeof faults->fault[0], compare_faults);
    }
    return err;
}

void
tl_faults_free(struct tl_faults *faults)
{
    free(faults->fault);
    *faults = (struct tl_faults){0};
}

const char *
tl_fault_kind_text(enum tl_fault_kind kind)
{
    static const char *const texts[TL_FAULT_KINDS] = {[TL_FAULT_UNKNOWN] = "unknown",
                                                      [TL_FAULT_STATION] = "station lost",
                                                      [TL_FAULT_VALIDATOR] = "validator",
                                                      [TL_FAULT_BUS] = "bus",
                                                      [TL_FAULT_RECORDER] = "recorder",
                                                      [TL_FAULT_TWIN] = "twin",
                                                      [TL_FAULT_REFUSED] = "refused frames",
                                                      [TL_FAULT_WORD] = "refused word",
                                                      [TL_FAULT_GAP] = "gap",
                                                      [TL_FAULT_NOT_READY] = "NOT READY",
                                                      [TL_FAULT_OTHER] = "picture"};
    return (size_t)kind < TL_FAULT_KINDS ? texts[kind] : texts[0];
}
