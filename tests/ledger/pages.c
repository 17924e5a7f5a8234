/* SPDX-License-Identifier: Apache-2.0 */
/* pages.c - see pages.h. */
#include "tests/ledger/pages.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/ship.h"

static void
note_removed(void *ctx, const struct tl_fit *fit)
{
    struct pages *p = ctx;
    assert_true(p->removed_count < PAGES_REMOVED);
    p->removed[p->removed_count++] = *fit;
}

static void
note_back(void *ctx, const struct tl_fit *fit)
{
    struct pages *p = ctx;
    assert_int_equal(fit->removed_ms, 0);
    p->back_count++;
}

struct pages *
pages_new(void)
{
    struct pages *p = calloc(1, sizeof *p);
    assert_non_null(p);
    ship_config_full(&p->config, 1);
    tl_ledger_init(&p->ledger, &p->config);
    p->ledger.ended = note_removed;
    p->ledger.goes_on = note_back;
    p->ledger.ctx = p;
    p->wall_ms = 1000000;
    p->incarnation = 1;
    return p;
}

void
pages_change(struct pages *p, const char *node, const struct tl_datum *datum)
{
    struct tl_datum said = *datum;
    p->wall_ms += PAGES_STEP_MS;
    said.sequence = ++p->sequence;
    struct tl_entry entry = {.incarnation = p->incarnation,
                             .sequence = p->sequence,
                             .wall_ms = p->wall_ms,
                             .datum = &said};
    memcpy(entry.node, node, strlen(node));
    tl_ledger_change(&p->ledger, &entry);
}

void
pages_recovery(struct pages *p, uint64_t recovery_ms, bool drill, enum tl_recovery_state state)
{
    struct tl_datum datum = {
        .kind = TL_DATUM_RECOVERY, .known = true, .as.recovery = {recovery_ms, state, drill}};
    pages_change(p, "primary", &datum);
}

void
pages_order(struct pages *p, struct tl_event event, bool barricade)
{
    struct tl_datum datum = {.kind = TL_DATUM_ORDER,
                             .slot = event.pass,
                             .stated_for_count = 1,
                             .stated_for = {event},
                             .known = true,
                             .as.order = {.side = 101,
                                          .type = "plover",
                                          .weight_lb = 34000,
                                          .state = TL_ORDER_ORDERED,
                                          .barricade = barricade}};
    pages_change(p, "primary", &datum);
}

void
pages_set(struct pages *p, uint32_t unit, uint32_t lb)
{
    char node[TL_ID_CAP] = "engine-0";
    node[7] = (char)('0' + unit);
    struct tl_datum datum = {.kind = TL_DATUM_SET, .known = lb != 0, .as.set_lb = lb};
    pages_change(p, node, &datum);
}

void
pages_result(struct pages *p, struct tl_event event, enum tl_outcome outcome, uint32_t wire)
{
    struct tl_datum datum = {.kind = TL_DATUM_RESULT,
                             .slot = event.pass,
                             .stated_for_count = 1,
                             .stated_for = {event},
                             .known = true,
                             .as.result = {outcome, wire}};
    pages_change(p, "platform", &datum);
}

void
pages_trap(struct pages *p, uint32_t pass, uint32_t wire)
{
    pages_result(p, (struct tl_event){PAGES_R, pass}, TL_OUTCOME_TRAP, wire);
}

static struct tl_datum
datum_of(const struct pages_word *word)
{
    struct tl_datum datum = {.kind = word->kind, .slot = word->slot, .known = true};
    struct tl_wear *wear = tl_datum_wear_of(&datum);
    *wear = (struct tl_wear){.traps = word->traps, .counted = word->counted, .moved = word->moved};
    memcpy(wear->serial, word->serial, strlen(word->serial));
    if (word->kind == TL_DATUM_CABLE) {
        datum.as.cable.detorqued_at = word->detorqued_at;
    }
    return datum;
}

void
pages_word(struct pages *p, struct pages_word word)
{
    struct tl_datum datum = datum_of(&word);
    pages_change(p, "gear-officer", &datum);
}

void
pages_unknown(struct pages *p, enum tl_datum_kind kind, uint32_t slot)
{
    struct tl_datum datum = {.kind = kind, .slot = slot};
    pages_change(p, "gear-officer", &datum);
}

void
pages_inspected(struct pages *p, uint32_t unit, enum tl_inspection_state state)
{
    struct tl_datum datum = {.kind = TL_DATUM_INSPECTED,
                             .slot = unit,
                             .known = true,
                             .as.inspected = {.state = state, .name = "invented"}};
    pages_change(p, "gear-officer", &datum);
}

void
pages_foresee(struct pages *p, struct tl_event event, uint32_t set_lb, uint32_t percent)
{
    const struct tl_would would = {.set_lb = set_lb, .tension_percent = percent};
    tl_ledger_foresee(&p->ledger, event, &would);
}

void
pages_judged(struct pages *p, const char *node, enum tl_judged_kind kind)
{
    struct tl_judged judged = {.incarnation = p->incarnation,
                               .sequence = p->sequence,
                               .kind = kind,
                               .reason = TL_REFUSAL_LOWER_COUNT};
    memcpy(judged.node, node, strlen(node));
    tl_ledger_judged(&p->ledger, &judged);
}

const struct tl_fit *
pages_fit(const struct pages *p, enum tl_datum_kind kind, uint32_t slot)
{
    for (uint32_t i = 0; i < p->ledger.fit_count; i++) {
        if (p->ledger.fit[i].kind == kind && p->ledger.fit[i].slot == slot) {
            return &p->ledger.fit[i];
        }
    }
    fail_msg("no place %u", slot);
    return NULL;
}

uint32_t
pages_traps(const struct pages *p, enum tl_datum_kind kind, uint32_t slot)
{
    const struct tl_fit *fit = pages_fit(p, kind, slot);
    assert_true(tl_fit_is_known(fit));
    return tl_fit_traps(&p->ledger, fit);
}
