/* SPDX-License-Identifier: Apache-2.0 */
/* boarding.c - see boarding.h. */
#include "clients/logbook/boarding.h"

#include <stdlib.h>
#include <string.h>

static void
add_wave_off(struct tl_boarding *boarding, const struct tl_pass *pass)
{
    switch (tl_pass_wave_off(pass)) {
    case TL_WAVE_OFF_READY:
        boarding->waved_ready++;
        break;
    case TL_WAVE_OFF_NOT_READY:
        boarding->waved_not_ready++;
        break;
    case TL_WAVE_OFF_UNKNOWN:
        boarding->waved_unknown++;
        break;
    case TL_WAVE_OFF_NONE:
        break;
    }
}

void
tl_boarding_add(struct tl_boarding *boarding, const struct tl_pass *pass)
{
    if (!tl_pass_ended(pass)) {
        return;
    }
    boarding->ended++;
    switch (pass->result.outcome) {
    case TL_OUTCOME_TRAP:
        boarding->traps++;
        boarding->wire[pass->result.wire < TL_BOARDING_WIRES_MAX ? pass->result.wire : 0]++;
        return;
    case TL_OUTCOME_BOLTER:
        boarding->bolters++;
        return;
    case TL_OUTCOME_WAVE_OFF:
        add_wave_off(boarding, pass);
        return;
    case TL_OUTCOME_UNKNOWN:
        break;
    }
    boarding->other++;
}

static bool
rate(struct tl_share share, uint64_t *permille)
{
    if (share.whole > 0) {
        *permille = tl_permille(share);
    }
    return share.whole > 0;
}

bool
tl_boarding_hook(const struct tl_boarding *boarding, uint64_t *permille)
{
    return rate((struct tl_share){boarding->traps, boarding->traps + boarding->bolters}, permille);
}

bool
tl_boarding_boarding(const struct tl_boarding *boarding, uint64_t *permille)
{
    return rate((struct tl_share){boarding->traps,
                                  boarding->traps + boarding->bolters + boarding->waved_ready},
                permille);
}

bool
tl_boarding_deck(const struct tl_boarding *boarding, uint64_t *permille)
{
    return rate((struct tl_share){boarding->traps, boarding->ended}, permille);
}

void
tl_fouls_add(struct tl_fouls *fouls, const struct tl_pass *pass)
{
    const struct tl_verdict_row *cause = tl_pass_cause(pass);
    if (tl_pass_wave_off(pass) != TL_WAVE_OFF_NOT_READY) {
        return;
    }
    for (uint32_t i = 0; i < fouls->count && cause != NULL; i++) {
        struct tl_foul *foul = &fouls->foul[i];
        if (strncmp(foul->rule, cause->name, sizeof foul->rule) == 0 &&
            strncmp(foul->station, cause->station, TL_ID_CAP) == 0) {
            foul->count++;
            return;
        }
    }
    if (cause == NULL || fouls->count == TL_BOARDING_CAUSES_MAX) {
        fouls->others++;
        return;
    }
    struct tl_foul *foul = &fouls->foul[fouls->count++];
    memcpy(foul->rule, cause->name, sizeof foul->rule);
    memcpy(foul->station, cause->station, TL_ID_CAP);
    foul->id = cause->rule;
    foul->count = 1;
}

static int
compare(const void *a, const void *b)
{
    const struct tl_foul *left = a;
    const struct tl_foul *right = b;
    if (left->count != right->count) {
        return left->count > right->count ? -1 : 1;
    }
    int order = strncmp(left->rule, right->rule, sizeof left->rule);
    return order != 0 ? order : strncmp(left->station, right->station, TL_ID_CAP);
}

void
tl_fouls_sort(struct tl_fouls *fouls)
{
    qsort(fouls->foul, fouls->count, sizeof fouls->foul[0], compare);
}
