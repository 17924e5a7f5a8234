/* SPDX-License-Identifier: Apache-2.0 */
/* loads.c - what each trap weighs, and what a fit comes to. See ledger.h. */
#include "broker/core/ledger/ledger.h"
#include "broker/core/ledger/ledger_internal.h"

#include <string.h>

enum {
    PPM = 1000000
};
/* More than a load of this many traps is a slip of a figure: it is not counted further. */
static const uint64_t ppm_most = 1000000000000ull;
/* Nor is more of one load: times that many traps it fits 64 bits. */
static const uint32_t percent_most = 1000000;

uint64_t
tl_load_ppm(uint32_t percent, const struct tl_wear_figures *figures)
{
    uint64_t ppm = PPM;
    percent = percent < percent_most ? percent : percent_most;
    for (uint32_t i = 0; i < figures->exponent; i++) {
        ppm = (ppm * percent + figures->reference_percent - 1) / figures->reference_percent;
        ppm = ppm < ppm_most ? ppm : ppm_most;
    }
    return ppm;
}

/* ---- what the mechanics gave ---- */

static struct tl_foreseen *
foreseen_of(struct tl_ledger *ledger, struct tl_event event)
{
    for (uint32_t i = 0; i < TL_LEDGER_PREDICTED; i++) {
        if (tl_event_equal(ledger->foreseen[i].event, event)) {
            return &ledger->foreseen[i];
        }
    }
    struct tl_foreseen *place =
        &ledger->foreseen[ledger->foreseen_next++ % (uint32_t)TL_LEDGER_PREDICTED];
    memset(place, 0, sizeof *place);
    place->event = event;
    return place;
}

static struct tl_loads *
loads_of(struct tl_ledger *ledger, struct tl_event event)
{
    for (uint32_t i = 0; i < TL_LOADS_MAX; i++) {
        if (tl_event_equal(ledger->load[i].event, event)) {
            return &ledger->load[i];
        }
    }
    return NULL;
}

/* An answer that came after the pass had ended. */
static void
note_late(struct tl_loads *loads, const struct tl_would *would)
{
    for (uint32_t i = 0; i < TL_ENGINES_MAX; i++) {
        bool its = would->set_lb != 0 && loads->set_lb[i] == would->set_lb;
        bool more = its && would->tension_percent > loads->percent[i];
        loads->percent[i] = more ? would->tension_percent : loads->percent[i];
    }
}

void
tl_ledger_foresee(struct tl_ledger *ledger, struct tl_event event, const struct tl_would *would)
{
    struct tl_loads *loads = loads_of(ledger, event);
    if (loads != NULL) {
        note_late(loads, would);
        return;
    }
    struct tl_foreseen *foreseen = foreseen_of(ledger, event);
    for (uint32_t i = 0; i < foreseen->count; i++) {
        if (foreseen->set_lb[i] == would->set_lb) {
            bool more = would->tension_percent > foreseen->percent[i];
            foreseen->percent[i] = more ? would->tension_percent : foreseen->percent[i];
            return;
        }
    }
    if (foreseen->count < TL_WOULDS_MAX) {
        foreseen->set_lb[foreseen->count] = would->set_lb;
        foreseen->percent[foreseen->count++] = would->tension_percent;
    }
}

void
tl_ledger_predicted(struct tl_ledger *ledger, const struct tl_predicted *predicted)
{
    const struct tl_predicted_arrest *arrest = &predicted->arrest;
    for (uint32_t i = 0; arrest->known && i < arrest->would_count; i++) {
        tl_ledger_foresee(ledger, predicted->event, &arrest->would[i]);
    }
}

static uint32_t
percent_at(const struct tl_ledger *ledger, struct tl_event event, uint32_t set_lb)
{
    for (uint32_t i = 0; set_lb != 0 && i < TL_LEDGER_PREDICTED; i++) {
        const struct tl_foreseen *foreseen = &ledger->foreseen[i];
        for (uint32_t k = 0; tl_event_equal(foreseen->event, event) && k < foreseen->count; k++) {
            if (foreseen->set_lb[k] == set_lb) {
                return foreseen->percent[k];
            }
        }
    }
    return 0;
}

/* The loads of the engines at the first word of how that pass ended: another wire may follow. */
void
tl_ledger_note_loads(struct tl_ledger *ledger, struct tl_event event)
{
    struct tl_loads *place = NULL;
    if (loads_of(ledger, event) != NULL) {
        return;
    }
    for (uint32_t i = 0; place == NULL && i < TL_LOADS_MAX; i++) {
        bool used = tl_ends_find(&ledger->ends, ledger->load[i].event) != NULL;
        place = used ? NULL : &ledger->load[i]; /* free, or of an end that was let go */
    }
    if (place == NULL) {
        return;
    }
    *place = (struct tl_loads){.event = event};
    for (uint32_t i = 0; i < ledger->config->gear.engine_count; i++) {
        place->set_lb[i] = ledger->set[i].lb;
        place->percent[i] = percent_at(ledger, event, ledger->set[i].lb);
    }
}

/* Of the engine of that fit; 0 = not known. */
static uint32_t
percent_of(const struct tl_ledger *ledger, const struct tl_fit *fit, struct tl_event event)
{
    const struct tl_gear *gear = &ledger->config->gear;
    for (uint32_t i = 0; i < TL_LOADS_MAX; i++) {
        if (!tl_event_equal(ledger->load[i].event, event)) {
            continue;
        }
        for (uint32_t k = 0; k < gear->engine_count; k++) {
            uint32_t slot =
                fit->kind == TL_DATUM_CABLE ? gear->engine[k].unit : gear->engine[k].wire;
            if (slot == fit->slot) {
                return ledger->load[i].percent[k];
            }
        }
    }
    return 0;
}

/* ---- what a fit comes to ---- */

static bool
is_load_not_in(const struct tl_ledger *ledger, const struct tl_fit *fit,
               const struct tl_ended *ended, const struct tl_counted *counted)
{
    return !tl_counted_has(counted, ended->event) &&
           tl_ended_loads(&ledger->config->gear, ended, fit->kind, fit->slot);
}

struct tl_sum
tl_ledger_sum(const struct tl_ledger *ledger, const struct tl_fit *fit,
              const struct tl_counted *counted)
{
    struct tl_sum sum = {0};
    for (uint32_t i = 0; i < ledger->ends.count; i++) {
        const struct tl_ended *ended = &ledger->ends.end[i].ended;
        if (is_load_not_in(ledger, fit, ended, counted)) {
            uint32_t percent = percent_of(ledger, fit, ended->event);
            sum.traps++;
            sum.unweighed += percent == 0 ? 1 : 0;
            sum.ppm += percent == 0 ? PPM : tl_load_ppm(percent, &ledger->config->wear);
        }
    }
    return sum;
}

static void
let_go(const struct tl_ledger *ledger, struct tl_fit *fit, const struct tl_ended *gone)
{
    uint32_t percent = percent_of(ledger, fit, gone->event);
    fit->uninspected_gone =
        fit->uninspected_gone || is_load_not_in(ledger, fit, gone, &fit->inspected);
    if (fit->tally.known && is_load_not_in(ledger, fit, gone, &fit->tally.base.counted)) {
        fit->base_unweighed += percent == 0 ? 1 : 0;
        fit->base_ppm += percent == 0 ? PPM : tl_load_ppm(percent, &ledger->config->wear);
    }
    tl_tally_let_go(&fit->tally, &ledger->config->gear, fit->kind, fit->slot, gone);
}

/*
 * An end is let go: what it was goes into the base of each fit that did not have it, and of what is
 * there again when the last word turns out not to count.
 */
void
tl_ledger_let_go(struct tl_ledger *ledger, const struct tl_ended *gone)
{
    for (uint32_t i = 0; i < ledger->fit_count; i++) {
        let_go(ledger, &ledger->fit[i], gone);
        if (ledger->undo[i].open) {
            let_go(ledger, &ledger->undo[i].before, gone);
        }
    }
}

bool
tl_fit_is_known(const struct tl_fit *fit)
{
    return fit->tally.known;
}

uint32_t
tl_fit_traps(const struct tl_ledger *ledger, const struct tl_fit *fit)
{
    if (fit->removed_ms != 0) {
        return fit->tally.base.traps;
    }
    return tl_tally_traps(&fit->tally, &ledger->ends, &ledger->config->gear, fit->kind, fit->slot);
}

uint64_t
tl_fit_weighted_ppm(const struct tl_ledger *ledger, const struct tl_fit *fit)
{
    if (ledger->config->wear.exponent == 0 || !fit->tally.known) {
        return 0;
    }
    return fit->base_ppm +
           (fit->removed_ms != 0 ? 0 : tl_ledger_sum(ledger, fit, &fit->tally.base.counted).ppm);
}

uint32_t
tl_fit_unweighed(const struct tl_ledger *ledger, const struct tl_fit *fit)
{
    return fit->base_unweighed +
           (fit->removed_ms != 0 || !fit->tally.known
                ? 0
                : tl_ledger_sum(ledger, fit, &fit->tally.base.counted).unweighed);
}

static bool
is_over(const struct tl_ledger *ledger, uint64_t recovery_ms)
{
    if (recovery_ms < ledger->newest_recovery_ms) {
        return true;
    }
    for (uint32_t i = 0; i < TL_LEDGER_RECOVERIES; i++) {
        if (ledger->recovery[i].recovery_ms == recovery_ms) {
            return ledger->recovery[i].closed;
        }
    }
    return false;
}

bool
tl_fit_needs_inspection(const struct tl_ledger *ledger, const struct tl_fit *fit)
{
    uint32_t most = ledger->config->wear.inspect_percent;
    if (fit->removed_ms != 0) {
        return false;
    }
    for (uint32_t i = 0; i < ledger->ends.count; i++) {
        const struct tl_ended *ended = &ledger->ends.end[i].ended;
        bool excess = most != 0 && percent_of(ledger, fit, ended->event) > most;
        if (is_load_not_in(ledger, fit, ended, &fit->inspected) &&
            (excess || is_over(ledger, ended->event.recovery_ms))) {
            return true;
        }
    }
    return fit->uninspected_gone;
}

bool
tl_fit_stated_traps(const struct tl_ledger *ledger, const struct tl_fit *fit, uint32_t *traps)
{
    *traps = fit->said.traps;
    if (fit->removed_ms == 0) {
        *traps += tl_ends_not_in(&ledger->ends, &ledger->config->gear, fit->kind, fit->slot,
                                 &fit->said.counted);
    }
    return fit->stated;
}

/* ---- what is published ---- */

static struct tl_worn
worn_of(const struct tl_ledger *ledger, const struct tl_fit *fit)
{
    bool pendant = fit->kind == TL_DATUM_PENDANT_LIFE;
    uint64_t weighted_x1000 = (tl_fit_weighted_ppm(ledger, fit) + 999) / 1000;
    struct tl_worn worn = {.wire = pendant ? fit->slot : 0,
                           .engine = pendant ? 0 : fit->slot,
                           .wear = fit->tally.base,
                           .detorqued_at = fit->detorqued_at,
                           .weighted_x1000 =
                               weighted_x1000 < UINT32_MAX ? (uint32_t)weighted_x1000 : UINT32_MAX,
                           .not_weighed = tl_fit_unweighed(ledger, fit),
                           .inspect = tl_fit_needs_inspection(ledger, fit),
                           .removed = fit->removed_ms != 0};
    worn.wear.traps = tl_fit_traps(ledger, fit);
    worn.wear.moved = false;
    if (fit->removed_ms == 0) {
        worn.wear.counted = tl_ends_counted(&ledger->ends, &ledger->config->gear, fit->kind,
                                            fit->slot, &fit->tally.base.counted);
    }
    worn.wear.traps = worn.wear.traps < TL_TRAPS_MAX ? worn.wear.traps : TL_TRAPS_MAX;
    worn.not_weighed = worn.not_weighed < worn.wear.traps ? worn.not_weighed : worn.wear.traps;
    return worn;
}

uint32_t
tl_ledger_worn(const struct tl_ledger *ledger, struct tl_worn out[TL_WORN_MAX])
{
    uint32_t count = 0;
    for (uint32_t i = 0; i < ledger->fit_count; i++) {
        if (ledger->fit[i].tally.known) {
            out[count++] = worn_of(ledger, &ledger->fit[i]);
        }
    }
    for (uint32_t i = ledger->removed_count; i > 0 && count < TL_WORN_MAX; i--) {
        out[count++] = worn_of(ledger, &ledger->removed[i - 1]);
    }
    return count;
}
