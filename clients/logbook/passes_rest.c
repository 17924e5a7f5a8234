/* SPDX-License-Identifier: Apache-2.0 */
/* passes_rest.c - see passes_rest.h. */
#include "clients/logbook/passes_rest.h"

#include <stdlib.h>
#include <string.h>

enum {
    SIDES = 10000, /* side numbers are 1..9999 */
    WIND_AGE_MS = 10000
};

/* The passes that have ended, in the order of their ends. */
struct ends {
    struct tl_passes *passes;
    size_t count;
    struct end {
        size_t word; /* place of the first result among the words */
        size_t pass; /* among the passes */
    } * end;
};

/* What stands at one moment of the walk through the words. */
struct standing {
    uint32_t lives;
    struct {
        const char *node;
        uint64_t incarnation;
    } life[TL_NODES_MAX];
    const struct tl_word_row *inbound[SIDES]; /* by side number */
    uint32_t engines;
    struct {
        char station[TL_ID_CAP];
        const struct tl_word_row *word; /* accumulator, NULL = not said or taken back */
        struct tl_pass *trapped;        /* its last trap, while nothing was said after it */
    } engine[TL_STATIONS_MAX];
};

static bool
same_id(const char *a, const char *b)
{
    return strncmp(a, b, TL_ID_CAP) == 0;
}

static struct tl_pass *
find(struct tl_passes *passes, struct tl_event event)
{
    const struct tl_pass *pass = tl_passes_find(passes, event);
    return pass != NULL ? passes->pass + (pass - passes->pass) : NULL;
}

/* ---- which engine, and what was read there ---- */

/*
 * Of the text of a change only the pass number is known, and the recovery that its message spoke
 * of: when that one has no such trap it is the newest before it.
 */
static struct tl_pass *
arrested_pass(struct tl_passes *passes, const struct tl_arrest *arrest, uint64_t until_ms)
{
    struct tl_pass *named = find(passes, arrest->event);
    if (named != NULL && tl_pass_trapped(named)) {
        return named;
    }
    for (size_t i = passes->count; i > 0 && passes->pass != NULL; i--) {
        struct tl_pass *pass = &passes->pass[i - 1];
        if (pass->event.pass == arrest->event.pass && pass->event.recovery_ms <= until_ms &&
            tl_pass_trapped(pass)) {
            return pass;
        }
    }
    return NULL;
}

static void
take_arrests(const struct tl_book *book, struct tl_passes *passes)
{
    for (size_t i = 0; i < book->word_count; i++) {
        const struct tl_word_row *word = &book->word[i];
        const struct tl_arrest *arrest = &word->datum.as.arrest;
        if (word->datum.kind != TL_DATUM_ARREST || !word->datum.known || !tl_word_counts(word) ||
            arrest->event.pass == 0) {
            continue;
        }
        struct tl_pass *pass = arrested_pass(passes, arrest, word->stated.wall_ms);
        if (pass != NULL) {
            memcpy(pass->engine, tl_word_station(word), TL_ID_CAP);
            pass->arrest = *arrest;
            pass->arrest_known = true;
        }
    }
}

static void
take_engines(const struct tl_config *config, struct tl_passes *passes)
{
    for (size_t i = 0; i < passes->count && config != NULL; i++) {
        struct tl_pass *pass = &passes->pass[i];
        for (uint32_t k = 0; k < config->gear.engine_count; k++) {
            const struct tl_engine_gear *gear = &config->gear.engine[k];
            const struct tl_node *node = tl_config_station(config, TL_STATION_ENGINE, gear->unit);
            if (tl_pass_trapped(pass) && gear->wire == pass->result.wire && node != NULL &&
                pass->engine[0] == '\0') {
                memcpy(pass->engine, node->id, TL_ID_CAP);
            }
        }
    }
}

/* ---- what stood when it ended ---- */

static int
compare_ends(const void *a, const void *b)
{
    const struct end *left = a;
    const struct end *right = b;
    if (left->word != right->word) {
        return left->word < right->word ? -1 : 1;
    }
    return left->pass < right->pass ? -1 : 1; /* one word for two events */
}

static enum tl_err
list_ends(struct tl_passes *passes, struct ends *ends)
{
    ends->passes = passes;
    ends->end = calloc(passes->count + 1, sizeof *ends->end);
    if (ends->end == NULL) {
        return TL_NOMEM;
    }
    for (size_t i = 0; i < passes->count; i++) {
        if (tl_pass_ended(&passes->pass[i])) {
            ends->end[ends->count++] = (struct end){passes->pass[i].ended_at, i};
        }
    }
    qsort(ends->end, ends->count, sizeof ends->end[0], compare_ends);
    return TL_OK;
}

static struct tl_pass *
ended_pass(const struct ends *ends, size_t i)
{
    return &ends->passes->pass[ends->end[i].pass];
}

static uint32_t
engine_place(struct standing *standing, const char *station)
{
    uint32_t i = 0;
    while (i < standing->engines && !same_id(standing->engine[i].station, station)) {
        i++;
    }
    if (i == standing->engines && i < TL_STATIONS_MAX) {
        memcpy(standing->engine[standing->engines++].station, station, TL_ID_CAP);
    }
    return i;
}

static void
take_accumulator(struct standing *standing, const struct tl_word_row *word)
{
    uint32_t i = engine_place(standing, tl_word_station(word));
    if (i == TL_STATIONS_MAX) {
        return;
    }
    struct tl_pass *trapped = standing->engine[i].trapped;
    standing->engine[i].word = word->datum.known ? word : NULL;
    if (trapped != NULL && word->datum.known) {
        trapped->after_psi = (struct tl_figure_read){true, word->datum.as.accumulator_psi};
        standing->engine[i].trapped = NULL;
    }
}

/* Nothing that a node said before its new life stands any more. */
static void
take_life(struct standing *standing, const struct tl_stated *stated)
{
    uint32_t i = 0;
    while (i < standing->lives && !same_id(standing->life[i].node, stated->node)) {
        i++;
    }
    if (i == standing->lives && i < TL_NODES_MAX) {
        standing->life[standing->lives++].node = stated->node;
    }
    if (i < TL_NODES_MAX && stated->incarnation > standing->life[i].incarnation) {
        standing->life[i].incarnation = stated->incarnation;
    }
}

static bool
stands(const struct standing *standing, const struct tl_word_row *word)
{
    for (uint32_t i = 0; i < standing->lives && word != NULL; i++) {
        if (same_id(standing->life[i].node, word->stated.node)) {
            return word->stated.incarnation == standing->life[i].incarnation;
        }
    }
    return word != NULL;
}

static void
take_standing(struct standing *standing, const struct tl_word_row *word)
{
    uint32_t side = word->datum.slot;
    take_life(standing, &word->stated);
    if (word->datum.kind == TL_DATUM_INBOUND && side < SIDES) {
        standing->inbound[side] = word->datum.known ? word : NULL;
    } else if (word->datum.kind == TL_DATUM_ACCUMULATOR) {
        take_accumulator(standing, word);
    }
}

static void
take_end(struct standing *standing, const struct tl_signatures *signatures, struct tl_pass *pass)
{
    uint32_t side = pass->order_stated.sequence != 0 ? pass->order.side : pass->call.side;
    const struct tl_word_row *inbound = side < SIDES ? standing->inbound[side] : NULL;
    if (side != 0 && stands(standing, inbound)) {
        pass->inbound = inbound->datum.as.inbound;
    }
    for (size_t i = 0; i < signatures->count; i++) {
        pass->overrides += tl_signature_live(&signatures->one[i], pass->ended.wall_ms) ? 1 : 0;
    }
    uint32_t i = pass->engine[0] != '\0' ? engine_place(standing, pass->engine) : TL_STATIONS_MAX;
    if (i == TL_STATIONS_MAX || !tl_pass_trapped(pass)) {
        return;
    }
    const struct tl_word_row *word = standing->engine[i].word;
    if (stands(standing, word)) {
        pass->before_psi = (struct tl_figure_read){true, word->datum.as.accumulator_psi};
    }
    standing->engine[i].trapped = pass;
}

/* Of the pass that ended before it in the same recovery; a clock that went back gives none. */
static void
take_interval(const struct ends *ends, size_t i)
{
    struct tl_pass *pass = ended_pass(ends, i);
    for (size_t k = i; k > 0; k--) {
        const struct tl_pass *before = ended_pass(ends, k - 1);
        if (before->event.recovery_ms != pass->event.recovery_ms) {
            continue;
        }
        pass->has_interval = pass->ended.wall_ms >= before->ended.wall_ms;
        pass->interval_ms = pass->has_interval ? pass->ended.wall_ms - before->ended.wall_ms : 0;
        return;
    }
}

static enum tl_err
walk(const struct tl_book *book, const struct tl_signatures *signatures, const struct ends *ends)
{
    struct standing *standing = calloc(1, sizeof *standing);
    size_t next = 0;
    if (standing == NULL) {
        return TL_NOMEM;
    }
    for (size_t i = 0; i < book->word_count; i++) {
        for (; next < ends->count && ends->end[next].word == i; next++) {
            take_end(standing, signatures, ended_pass(ends, next));
            take_interval(ends, next);
        }
        if (tl_word_counts(&book->word[i])) {
            take_standing(standing, &book->word[i]);
        }
    }
    free(standing);
    return TL_OK;
}

static enum tl_err
take_ends(const struct tl_book *book, struct tl_passes *passes)
{
    struct ends ends = {0};
    struct tl_signatures signatures = {0};
    enum tl_err err = tl_signatures_fold(book, &signatures);
    if (err == TL_OK) {
        err = list_ends(passes, &ends);
    }
    if (err == TL_OK) {
        err = walk(book, &signatures, &ends);
    }
    free(ends.end);
    tl_signatures_free(&signatures);
    return err;
}

/* ---- verdicts, predictions, drill ---- */

static void
take_verdicts(const struct tl_book *book, struct tl_passes *passes)
{
    for (size_t i = 0; i < book->verdict_count; i++) {
        const struct tl_verdict_row *verdict = &book->verdict[i];
        struct tl_pass *pass = tl_event_is(verdict->event) ? find(passes, verdict->event) : NULL;
        uint32_t k = 0;
        if (pass == NULL) {
            continue;
        }
        while (k < TL_VALIDATORS_MAX && pass->verdict[k] != NULL &&
               !same_id(pass->verdict[k]->stated.node, verdict->stated.node)) {
            k++;
        }
        if (k < TL_VALIDATORS_MAX) {
            pass->verdict[k] = verdict;
        }
        pass->drill = pass->drill || verdict->drill;
    }
}

/* The weight that the engine of the trap was set to; of no known engine, that of all. */
static uint32_t
set_for_arrest(const struct tl_pass *pass)
{
    uint32_t lb = 0;
    if (pass->engine[0] == '\0') {
        return tl_weights_agree(pass->set, pass->set_count, &lb) ? lb : 0;
    }
    for (uint32_t i = 0; i < pass->set_count; i++) {
        lb = same_id(pass->set[i].station, pass->engine) ? pass->set[i].lb : lb;
    }
    return lb;
}

static void
take_predicted(const struct tl_book *book, struct tl_passes *passes)
{
    for (size_t i = 0; i < book->predicted_count; i++) {
        const struct tl_predicted_row *row = &book->predicted[i];
        struct tl_pass *pass = find(passes, row->event);
        if (pass == NULL) {
            continue;
        }
        pass->predicted = row;
        if (row->set_lb != 0 && row->set_lb == set_for_arrest(pass)) {
            pass->predicted_set = row;
        }
    }
}

/* By the clocks of bridge and platform. */
static void
take_wind(const struct tl_book *book, struct tl_passes *passes)
{
    for (size_t i = 0; i < passes->count; i++) {
        struct tl_pass *pass = &passes->pass[i];
        for (size_t k = 0; k < book->wind_count && tl_pass_ended(pass); k++) {
            const struct tl_wind_row *wind = &book->wind[k];
            uint64_t at_ms = wind->stated.wall_ms;
            if (at_ms <= pass->ended.wall_ms && at_ms + WIND_AGE_MS >= pass->ended.wall_ms) {
                pass->wind = wind;
            }
        }
    }
}

static void
take_drills(const struct tl_book *book, struct tl_passes *passes)
{
    for (size_t i = 0; i < book->word_count; i++) {
        const struct tl_word_row *word = &book->word[i];
        const struct tl_recovery *recovery = &word->datum.as.recovery;
        if (word->datum.kind != TL_DATUM_RECOVERY || !word->datum.known || !recovery->drill ||
            !tl_word_counts(word)) {
            continue;
        }
        for (size_t k = 0; k < passes->count; k++) {
            struct tl_pass *pass = &passes->pass[k];
            pass->drill = pass->drill || pass->event.recovery_ms == recovery->recovery_ms;
        }
    }
}

enum tl_err
tl_passes_rest(const struct tl_book *book, const struct tl_config *config, struct tl_passes *passes)
{
    take_arrests(book, passes);
    take_engines(config, passes);
    enum tl_err err = take_ends(book, passes);
    take_verdicts(book, passes);
    take_predicted(book, passes);
    take_wind(book, passes);
    take_drills(book, passes);
    return err;
}
