/* SPDX-License-Identifier: Apache-2.0 */
/* passes.c - see passes.h: the passes, and the words that name one; passes_rest.c has the rest. */
#include "clients/logbook/passes.h"

#include <stdlib.h>
#include <string.h>

#include "clients/logbook/passes_rest.h"

enum {
    FIRST_CAP = 64
};

static struct tl_pass *
find(struct tl_passes *passes, struct tl_event event)
{
    for (size_t i = passes->count; i > 0; i--) { /* most words are for a late one */
        if (tl_event_equal(passes->pass[i - 1].event, event)) {
            return &passes->pass[i - 1];
        }
    }
    return NULL;
}

static enum tl_err
grow(struct tl_passes *passes)
{
    size_t cap = passes->cap == 0 ? FIRST_CAP : 2 * passes->cap;
    struct tl_pass *pass = realloc(passes->pass, cap * sizeof *pass);
    if (pass == NULL) {
        return TL_NOMEM;
    }
    passes->pass = pass;
    passes->cap = cap;
    return TL_OK;
}

static enum tl_err
find_or_add(struct tl_passes *passes, struct tl_event event, struct tl_pass **pass)
{
    *pass = find(passes, event);
    if (*pass != NULL) {
        return TL_OK;
    }
    if (passes->count == TL_PASSES_MAX) {
        return TL_FULL;
    }
    enum tl_err err = passes->count == passes->cap ? grow(passes) : TL_OK;
    if (err == TL_OK) {
        *pass = &passes->pass[passes->count++];
        memset(*pass, 0, sizeof **pass);
        (*pass)->event = event;
    }
    return err;
}

static bool
same_id(const char *a, const char *b)
{
    return strncmp(a, b, TL_ID_CAP) == 0;
}

/*
 * True when a, which arrived after b, also counts after it: of one author its own order decides.
 */
static bool
is_later(const struct tl_stated *a, const struct tl_stated *b)
{
    if (!same_id(a->node, b->node)) {
        return true;
    }
    return a->incarnation > b->incarnation ||
           (a->incarnation == b->incarnation && a->sequence > b->sequence);
}

/* ---- settings and repeaters ---- */

static struct tl_weight *
find_weight(struct tl_weight *weights, uint32_t count, const char *station, uint32_t unit)
{
    for (uint32_t i = 0; i < count; i++) {
        if (weights[i].unit == unit && (unit != 0 || same_id(weights[i].station, station))) {
            return &weights[i];
        }
    }
    return NULL;
}

static void
take_weight(struct tl_weight *weights, uint32_t *count, const struct tl_weight *weight)
{
    struct tl_weight *held = find_weight(weights, *count, weight->station, weight->unit);
    if (held == NULL && *count < TL_ENGINES_MAX) {
        weights[(*count)++] = *weight;
    } else if (held != NULL && is_later(&weight->stated, &held->stated)) {
        *held = *weight;
    }
}

static void
drop_weight(struct tl_weight *weights, uint32_t *count, const struct tl_weight *gone)
{
    struct tl_weight *held = find_weight(weights, *count, gone->station, gone->unit);
    if (held != NULL && same_id(held->stated.node, gone->stated.node) &&
        is_later(&gone->stated, &held->stated)) {
        *held = weights[--*count];
    }
}

static struct tl_weight
weight_of(const struct tl_word_row *word)
{
    const struct tl_datum *datum = &word->datum;
    bool repeater = datum->kind == TL_DATUM_REPEATER;
    struct tl_weight weight = {.stated = word->stated,
                               .unit = repeater ? datum->slot : 0,
                               .lb = repeater ? datum->as.repeater_lb : datum->as.set_lb};
    memcpy(weight.station, tl_word_station(word), TL_ID_CAP);
    return weight;
}

/* It names no event any more: it goes from every pass that has not ended. */
static void
take_back_weight(struct tl_passes *passes, const struct tl_word_row *word)
{
    struct tl_weight gone = weight_of(word);
    for (size_t i = 0; i < passes->count; i++) {
        struct tl_pass *pass = &passes->pass[i];
        if (tl_pass_ended(pass)) {
            continue;
        }
        if (word->datum.kind == TL_DATUM_SET) {
            drop_weight(pass->set, &pass->set_count, &gone);
        } else {
            drop_weight(pass->repeater, &pass->repeater_count, &gone);
        }
    }
}

/* ---- other words of a pass ---- */

static void
take_result(struct tl_pass *pass, const struct tl_word_row *word, size_t place)
{
    const struct tl_result *result = &word->datum.as.result;
    bool had = tl_pass_ended(pass);
    bool differs = result->outcome != pass->result.outcome || result->wire != pass->result.wire;
    pass->corrected = pass->corrected || (had && differs);
    if (!had || is_later(&word->stated, &pass->result_stated)) {
        pass->result = *result;
        pass->result_stated = word->stated;
    }
    /* one author's earlier word may have come by the slower way */
    if (!had ||
        (same_id(word->stated.node, pass->ended.node) && !is_later(&word->stated, &pass->ended))) {
        pass->ended = word->stated;
        pass->ended_at = had ? pass->ended_at : place;
    }
}

static void
take_order(struct tl_pass *pass, const struct tl_word_row *word)
{
    if (pass->order_stated.sequence == 0 || is_later(&word->stated, &pass->order_stated)) {
        pass->order = word->datum.as.order;
        pass->order_stated = word->stated;
    }
}

static void
take_call(struct tl_pass *pass, const struct tl_word_row *word)
{
    if (pass->call_stated.sequence == 0 || is_later(&word->stated, &pass->call_stated)) {
        pass->call = word->datum.as.call;
        pass->call_stated = word->stated;
    }
}

static void
note_voice(struct tl_pass *pass, const struct tl_word_row *word)
{
    const char *station = word->datum.voice_for;
    for (uint32_t i = 0; i < pass->voiced_count; i++) {
        if (same_id(pass->voiced[i], station)) {
            return;
        }
    }
    if (tl_datum_is_voice(&word->datum) && pass->voiced_count < TL_VOICED_STATIONS_MAX) {
        memcpy(pass->voiced[pass->voiced_count++], station, TL_ID_CAP);
    }
}

static bool
makes_a_pass(enum tl_datum_kind kind)
{
    return kind == TL_DATUM_ORDER || kind == TL_DATUM_SET || kind == TL_DATUM_REPEATER ||
           kind == TL_DATUM_RESULT;
}

static void
take_word(struct tl_pass *pass, const struct tl_word_row *word, size_t place)
{
    struct tl_weight weight = weight_of(word);
    note_voice(pass, word);
    if (word->datum.kind == TL_DATUM_ORDER) {
        take_order(pass, word);
    } else if (word->datum.kind == TL_DATUM_SET) {
        take_weight(pass->set, &pass->set_count, &weight);
    } else if (word->datum.kind == TL_DATUM_REPEATER) {
        take_weight(pass->repeater, &pass->repeater_count, &weight);
    } else if (word->datum.kind == TL_DATUM_RESULT) {
        take_result(pass, word, place);
    } else if (word->datum.kind == TL_DATUM_CALL) {
        take_call(pass, word);
    }
}

static enum tl_err
take_for_events(struct tl_passes *passes, const struct tl_word_row *word, size_t place)
{
    const struct tl_datum *datum = &word->datum;
    enum tl_err err = TL_OK;
    for (uint32_t i = 0; i < datum->stated_for_count && err == TL_OK; i++) {
        struct tl_pass *pass = find(passes, datum->stated_for[i]);
        if (pass == NULL && makes_a_pass(datum->kind)) {
            err = find_or_add(passes, datum->stated_for[i], &pass);
        }
        if (err == TL_OK && pass != NULL) {
            take_word(pass, word, place);
        }
    }
    return err;
}

static enum tl_err
take_words(const struct tl_book *book, struct tl_passes *passes)
{
    enum tl_err err = TL_OK;
    for (size_t i = 0; i < book->word_count && err == TL_OK; i++) {
        const struct tl_word_row *word = &book->word[i];
        bool weight = word->datum.kind == TL_DATUM_SET || word->datum.kind == TL_DATUM_REPEATER;
        if (!tl_word_counts(word)) {
            continue;
        }
        if (word->datum.known) {
            err = take_for_events(passes, word, i);
        } else if (weight) {
            take_back_weight(passes, word);
        }
    }
    return err;
}

/* ---- order ---- */

static int
compare_weights(const void *a, const void *b)
{
    const struct tl_weight *left = a;
    const struct tl_weight *right = b;
    if (left->unit != right->unit) {
        return left->unit < right->unit ? -1 : 1;
    }
    return strncmp(left->station, right->station, TL_ID_CAP);
}

static int
compare_events(struct tl_event a, struct tl_event b)
{
    if (a.recovery_ms != b.recovery_ms) {
        return a.recovery_ms < b.recovery_ms ? -1 : 1;
    }
    return a.pass == b.pass ? 0 : (a.pass < b.pass ? -1 : 1);
}

static int
compare_passes(const void *a, const void *b)
{
    return compare_events(((const struct tl_pass *)a)->event, ((const struct tl_pass *)b)->event);
}

static void
sort(struct tl_passes *passes)
{
    for (size_t i = 0; i < passes->count; i++) {
        struct tl_pass *pass = &passes->pass[i];
        qsort(pass->set, pass->set_count, sizeof pass->set[0], compare_weights);
        qsort(pass->repeater, pass->repeater_count, sizeof pass->repeater[0], compare_weights);
    }
    if (passes->count > 0) {
        qsort(passes->pass, passes->count, sizeof passes->pass[0], compare_passes);
    }
}

enum tl_err
tl_passes_fold(const struct tl_book *book, const struct tl_config *config, struct tl_passes *passes)
{
    enum tl_err err = take_words(book, passes);
    if (err == TL_OK) {
        sort(passes);
        err = tl_passes_rest(book, config, passes);
    }
    return err;
}

void
tl_passes_free(struct tl_passes *passes)
{
    free(passes->pass);
    *passes = (struct tl_passes){0};
}

const struct tl_pass *
tl_passes_find(const struct tl_passes *passes, struct tl_event event)
{
    size_t low = 0;
    size_t high = passes->count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        int order = compare_events(passes->pass[middle].event, event);
        if (order == 0) {
            return &passes->pass[middle];
        }
        low = order < 0 ? middle + 1 : low;
        high = order < 0 ? high : middle;
    }
    return NULL;
}

/* ---- what is asked of a pass ---- */

bool
tl_pass_ended(const struct tl_pass *pass)
{
    return pass->ended.sequence != 0;
}

bool
tl_pass_trapped(const struct tl_pass *pass)
{
    return tl_pass_ended(pass) && pass->result.outcome == TL_OUTCOME_TRAP;
}

bool
tl_pass_cancelled(const struct tl_pass *pass)
{
    return pass->order_stated.sequence != 0 && pass->order.state == TL_ORDER_CANCELLED;
}

enum tl_wave_off
tl_pass_wave_off(const struct tl_pass *pass)
{
    enum tl_wave_off wave_off = TL_WAVE_OFF_UNKNOWN;
    if (!tl_pass_ended(pass) || pass->result.outcome != TL_OUTCOME_WAVE_OFF) {
        return TL_WAVE_OFF_NONE;
    }
    for (uint32_t i = 0; i < TL_VALIDATORS_MAX && pass->verdict[i] != NULL; i++) {
        if (!pass->verdict[i]->ready) {
            return TL_WAVE_OFF_NOT_READY;
        }
        wave_off = TL_WAVE_OFF_READY;
    }
    return wave_off;
}

const struct tl_verdict_row *
tl_pass_cause(const struct tl_pass *pass)
{
    for (uint32_t i = 0; i < TL_VALIDATORS_MAX && pass->verdict[i] != NULL; i++) {
        const struct tl_verdict_row *verdict = pass->verdict[i];
        if (tl_pass_wave_off(pass) == TL_WAVE_OFF_NOT_READY && !verdict->ready &&
            verdict->name[0] != '\0') {
            return verdict;
        }
    }
    return NULL;
}

uint64_t
tl_pass_wall_ms(const struct tl_pass *pass)
{
    if (tl_pass_ended(pass)) {
        return pass->ended.wall_ms;
    }
    return pass->order_stated.sequence != 0 ? pass->order_stated.wall_ms
                                            : pass->call_stated.wall_ms;
}

const char *
tl_outcome_name(enum tl_outcome outcome)
{
    switch (outcome) {
    case TL_OUTCOME_TRAP:
        return "trap";
    case TL_OUTCOME_BOLTER:
        return "bolter";
    case TL_OUTCOME_WAVE_OFF:
        return "wave-off";
    case TL_OUTCOME_UNKNOWN:
        break;
    }
    return "unknown";
}

const char *
tl_pass_result_name(const struct tl_pass *pass)
{
    return tl_pass_ended(pass) ? tl_outcome_name(pass->result.outcome) : NULL;
}

bool
tl_weights_agree(const struct tl_weight *weights, uint32_t count, uint32_t *lb)
{
    for (uint32_t i = 1; i < count; i++) {
        if (weights[i].lb != weights[0].lb) {
            return false;
        }
    }
    if (count > 0) {
        *lb = weights[0].lb;
    }
    return count > 0;
}
