/* SPDX-License-Identifier: Apache-2.0 */
/* passes.c - see passes.h. */
#include "clients/logbook/passes.h"

#include <stdlib.h>
#include <string.h>

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

/*
 * True when a, which arrived after b, also counts after it: of one station its own order decides.
 */
static bool
is_later(const struct tl_stated *a, const struct tl_stated *b)
{
    if (strncmp(a->node, b->node, TL_ID_CAP) != 0) {
        return true;
    }
    return a->incarnation > b->incarnation ||
           (a->incarnation == b->incarnation && a->sequence > b->sequence);
}

static void
take_weight(struct tl_weight *weights, uint32_t *count, const struct tl_weight *weight)
{
    for (uint32_t i = 0; i < *count; i++) {
        bool same = weights[i].unit == weight->unit &&
                    (weight->unit != 0 ||
                     strncmp(weights[i].stated.node, weight->stated.node, TL_ID_CAP) == 0);
        if (same) {
            weights[i] = is_later(&weight->stated, &weights[i].stated) ? *weight : weights[i];
            return;
        }
    }
    if (*count < TL_ENGINES_MAX) {
        weights[(*count)++] = *weight;
    }
}

static void
take_result(struct tl_pass *pass, const struct tl_recorded_word *word)
{
    const struct tl_result *result = &word->datum.as.result;
    bool had = pass->result_stated.sequence != 0;
    bool differs = result->outcome != pass->result.outcome || result->wire != pass->result.wire;
    pass->corrected = pass->corrected || (had && differs);
    if (is_later(&word->stated, &pass->result_stated)) {
        pass->result = *result;
        pass->result_stated = word->stated;
    }
}

static void
take_word(struct tl_pass *pass, const struct tl_recorded_word *word)
{
    const struct tl_datum *datum = &word->datum;
    struct tl_weight weight = {.stated = word->stated};
    if (datum->kind == TL_DATUM_ORDER) {
        if (is_later(&word->stated, &pass->order_stated)) {
            pass->order = datum->as.order;
            pass->order_stated = word->stated;
        }
    } else if (datum->kind == TL_DATUM_SET) {
        weight.lb = datum->as.set_lb;
        take_weight(pass->set, &pass->set_count, &weight);
    } else if (datum->kind == TL_DATUM_REPEATER) {
        weight.lb = datum->as.repeater_lb;
        weight.unit = datum->slot;
        take_weight(pass->repeater, &pass->repeater_count, &weight);
    } else if (datum->kind == TL_DATUM_RESULT) {
        take_result(pass, word);
    }
}

enum tl_err
tl_passes_word(struct tl_passes *passes, const struct tl_recorded_word *word)
{
    enum tl_err err = TL_OK;
    for (uint32_t i = 0; i < word->datum.stated_for_count && err == TL_OK; i++) {
        struct tl_pass *pass = NULL;
        err = find_or_add(passes, word->datum.stated_for[i], &pass);
        if (err == TL_OK) {
            take_word(pass, word);
        }
    }
    return err;
}

void
tl_passes_verdict(struct tl_passes *passes, const struct tl_recorded_verdict *verdict)
{
    struct tl_pass *pass = find(passes, verdict->event);
    if (pass != NULL) {
        pass->verdict = *verdict;
    }
}

static int
compare_weights(const void *a, const void *b)
{
    const struct tl_weight *left = a;
    const struct tl_weight *right = b;
    if (left->unit != right->unit) {
        return left->unit < right->unit ? -1 : 1;
    }
    return strncmp(left->stated.node, right->stated.node, TL_ID_CAP);
}

static int
compare_passes(const void *a, const void *b)
{
    const struct tl_event *left = &((const struct tl_pass *)a)->event;
    const struct tl_event *right = &((const struct tl_pass *)b)->event;
    if (left->recovery_ms != right->recovery_ms) {
        return left->recovery_ms < right->recovery_ms ? -1 : 1;
    }
    return left->pass == right->pass ? 0 : (left->pass < right->pass ? -1 : 1);
}

void
tl_passes_sort(struct tl_passes *passes)
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

void
tl_passes_free(struct tl_passes *passes)
{
    free(passes->pass);
    *passes = (struct tl_passes){0};
}

bool
tl_pass_has_cause(const struct tl_pass *pass)
{
    return pass->result_stated.sequence != 0 && pass->result.outcome == TL_OUTCOME_WAVE_OFF &&
           tl_event_is(pass->verdict.event) && !pass->verdict.ready &&
           pass->verdict.rule[0] != '\0';
}

uint64_t
tl_pass_wall_ms(const struct tl_pass *pass)
{
    return pass->result_stated.sequence != 0 ? pass->result_stated.wall_ms
                                             : pass->order_stated.wall_ms;
}

bool
tl_weights_agree(const struct tl_weight *weights, uint32_t count, uint32_t *lb)
{
    for (uint32_t i = 1; i < count; i++) {
        if (weights[i].lb != weights[0].lb) {
            return false;
        }
    }
    *lb = count > 0 ? weights[0].lb : 0;
    return count > 0;
}
