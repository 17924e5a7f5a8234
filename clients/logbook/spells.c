/* SPDX-License-Identifier: Apache-2.0 */
/* spells.c - see spells.h. */
#include "clients/logbook/spells.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    FIRST_CAP = 64,
    LOOK_BACK = 512 /* spells; what is open, or has just ended, is near the end */
};

static bool
same_id(const char *a, const char *b)
{
    return strncmp(a, b, TL_ID_CAP) == 0;
}

static bool
same_key(const struct tl_spell_key *a, const struct tl_spell_key *b)
{
    return strncmp(a->name, b->name, sizeof a->name) == 0 && same_id(a->station, b->station) &&
           tl_event_equal(a->event, b->event) && same_id(a->subject.node, b->subject.node) &&
           a->subject.incarnation == b->subject.incarnation &&
           a->subject.sequence == b->subject.sequence;
}

static struct tl_teller *
find_teller(struct tl_spell *spell, const char *id)
{
    for (uint32_t i = 0; i < spell->teller_count; i++) {
        if (same_id(spell->teller[i].id, id)) {
            return &spell->teller[i];
        }
    }
    return NULL;
}

static struct tl_spell *
find_open(struct tl_spells *spells, const struct tl_spell_key *key)
{
    for (size_t i = 0; i < spells->open_count; i++) {
        struct tl_spell *spell = &spells->spell[spells->open[i]];
        if (same_key(&spell->key, key)) {
            return spell;
        }
    }
    return NULL;
}

/* One that has just ended, and that this validator did not tell. */
static struct tl_spell *
find_slower(struct tl_spells *spells, const struct tl_spell_key *key,
            const struct tl_stated *teller)
{
    for (size_t i = spells->count; i > 0 && spells->count - i < LOOK_BACK; i--) {
        struct tl_spell *spell = &spells->spell[i - 1];
        if (spell->ended && spell->to_ms != 0 && same_key(&spell->key, key) &&
            teller->wall_ms <= spell->to_ms + TL_DIFFER_MS &&
            find_teller(spell, teller->node) == NULL) {
            return spell;
        }
    }
    return NULL;
}

static bool
grow(void **data, size_t *cap, size_t size)
{
    size_t larger = *cap == 0 ? FIRST_CAP : 2 * *cap;
    void *moved = realloc(*data, larger * size);
    *data = moved != NULL ? moved : *data;
    *cap = moved != NULL ? larger : *cap;
    return moved != NULL;
}

static enum tl_err
list_open(struct tl_spells *spells, size_t place)
{
    void *open = spells->open;
    if (spells->open_count == spells->open_cap &&
        !grow(&open, &spells->open_cap, sizeof *spells->open)) {
        return TL_NOMEM;
    }
    spells->open = open;
    spells->open[spells->open_count++] = place;
    return TL_OK;
}

/* The place of a new one. */
static enum tl_err
add(struct tl_spells *spells, size_t *place)
{
    void *spell = spells->spell;
    if (spells->count == spells->cap && !grow(&spell, &spells->cap, sizeof *spells->spell)) {
        return TL_NOMEM;
    }
    spells->spell = spell;
    *place = spells->count++;
    memset(&spells->spell[*place], 0, sizeof *spells->spell);
    return TL_OK;
}

static void
tell(struct tl_spell *spell, const struct tl_stated *stated)
{
    struct tl_teller *teller = find_teller(spell, stated->node);
    if (teller == NULL && spell->teller_count < TL_VALIDATORS_MAX) {
        teller = &spell->teller[spell->teller_count++];
        memcpy(teller->id, stated->node, TL_ID_CAP);
    }
    if (teller != NULL) {
        teller->active = true;
        teller->doubted = false;
    }
    if (spell->from_ms == 0 || stated->wall_ms < spell->from_ms) {
        spell->from_ms = stated->wall_ms;
    }
    spell->ended = false;
}

/* Take those off the list of open ones that no validator tells any more. */
static void
end_those_of_nobody(struct tl_spells *spells)
{
    size_t kept = 0;
    for (size_t i = 0; i < spells->open_count; i++) {
        struct tl_spell *spell = &spells->spell[spells->open[i]];
        bool active = false;
        for (uint32_t k = 0; k < spell->teller_count; k++) {
            active = active || spell->teller[k].active;
        }
        spell->ended = !active;
        if (active) {
            spells->open[kept++] = spells->open[i];
        }
    }
    spells->open_count = kept;
}

/* ---- the recorder began anew ---- */

static struct tl_stated *
find_anew(struct tl_spells *spells, const char *id)
{
    for (uint32_t i = 0; i < spells->anew_count; i++) {
        if (same_id(spells->anew[i].node, id)) {
            return &spells->anew[i];
        }
    }
    return NULL;
}

static void
doubt_all(struct tl_spells *spells, const struct tl_stated *stated)
{
    struct tl_stated *anew = find_anew(spells, stated->node);
    if (anew == NULL && spells->anew_count == TL_VALIDATORS_MAX) {
        return;
    }
    anew = anew != NULL ? anew : &spells->anew[spells->anew_count++];
    *anew = *stated;
    for (size_t i = 0; i < spells->open_count; i++) {
        struct tl_spell *spell = &spells->spell[spells->open[i]];
        struct tl_teller *teller = find_teller(spell, stated->node);
        if (teller != NULL && teller->active) {
            teller->doubted = true;
        }
    }
}

/* The set is complete: what is doubted still has ended. */
static void
settle(struct tl_spells *spells, const char *id)
{
    for (size_t i = 0; i < spells->open_count; i++) {
        struct tl_teller *teller = find_teller(&spells->spell[spells->open[i]], id);
        if (teller != NULL && teller->doubted) {
            teller->active = false;
            teller->doubted = false;
        }
    }
    end_those_of_nobody(spells);
}

/* A row of another set than the one that told again. */
static void
settle_before(struct tl_spells *spells, const struct tl_stated *stated)
{
    struct tl_stated *anew = find_anew(spells, stated->node);
    if (anew != NULL && anew->sequence != 0 &&
        (anew->sequence != stated->sequence || anew->incarnation != stated->incarnation)) {
        anew->sequence = 0;
        settle(spells, stated->node);
    }
}

/* ---- rows ---- */

enum tl_err
tl_spells_begin(struct tl_spells *spells, const struct tl_spell_key *key,
                const struct tl_stated *teller, const char *severity)
{
    settle_before(spells, teller);
    struct tl_spell *spell = find_open(spells, key);
    struct tl_teller *known = spell != NULL ? find_teller(spell, teller->node) : NULL;
    if (known != NULL && known->active) {
        const struct tl_stated *anew = find_anew(spells, teller->node);
        if (anew == NULL || anew->sequence != teller->sequence ||
            anew->incarnation != teller->incarnation) {
            doubt_all(spells, teller);
        }
        known->doubted = false;
        return TL_OK;
    }
    if (spell != NULL) {
        tell(spell, teller);
        return TL_OK;
    }
    spell = find_slower(spells, key, teller);
    if (spell != NULL) {
        tell(spell, teller);
        return list_open(spells, (size_t)(spell - spells->spell));
    }
    size_t place = 0;
    enum tl_err err = add(spells, &place);
    if (err == TL_OK) {
        spell = &spells->spell[place];
        spell->key = *key;
        (void)snprintf(spell->severity, sizeof spell->severity, "%s", severity);
        tell(spell, teller);
        err = list_open(spells, place);
    }
    return err;
}

void
tl_spells_end(struct tl_spells *spells, const struct tl_spell_key *key,
              const struct tl_stated *teller)
{
    settle_before(spells, teller);
    struct tl_spell *spell = find_open(spells, key);
    struct tl_teller *known = spell != NULL ? find_teller(spell, teller->node) : NULL;
    if (known == NULL || !known->active) {
        return;
    }
    known->active = false;
    known->doubted = false;
    spell->to_ms = teller->wall_ms > spell->to_ms ? teller->wall_ms : spell->to_ms;
    end_those_of_nobody(spells);
}

void
tl_spells_close(struct tl_spells *spells)
{
    for (uint32_t i = 0; i < spells->anew_count; i++) {
        if (spells->anew[i].sequence != 0) {
            spells->anew[i].sequence = 0;
            settle(spells, spells->anew[i].node);
        }
    }
}

void
tl_spells_free(struct tl_spells *spells)
{
    free(spells->spell);
    free(spells->open);
    *spells = (struct tl_spells){0};
}

bool
tl_spell_length(const struct tl_spell *spell, uint64_t *ms)
{
    bool known = spell->ended && spell->to_ms != 0 && spell->to_ms >= spell->from_ms;
    if (known) {
        *ms = spell->to_ms - spell->from_ms;
    }
    return known;
}
