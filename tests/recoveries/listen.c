/* SPDX-License-Identifier: Apache-2.0 */
/* listen.c - what a station tells its operator of his words: accepted, refused, taken back. */
#include "tests/recoveries/recovery.h"

static void
taken_back(struct truth_word *word, uint64_t sequence)
{
    if (word->sequence == sequence) {
        word->known = false;
    }
}

static void
listen_primary(struct recovery *r, const struct tl_said_outcome *told, bool accepted)
{
    uint32_t slot = told->datum.slot;
    if (told->datum.kind == TL_DATUM_ORDER) {
        truth_order_told(&r->truth, slot, told->sequence, accepted, r->sim->now_ms);
        r->order_refused[slot] =
            told->datum.known ? told->kind == TL_SAID_REFUSED : r->order_refused[slot];
    } else if (told->datum.kind == TL_DATUM_RECOVERY && !accepted) {
        truth_recovery_taken_back(&r->truth, told->sequence);
    } else if (told->datum.kind == TL_DATUM_REPEATER && !accepted) {
        taken_back(&r->truth.repeater[slot - 1], told->sequence);
    } else if (told->datum.kind == TL_DATUM_DECK && !accepted) {
        taken_back(&r->truth.deck[TRUTH_PRIMARY], told->sequence);
    }
}

static void
listen_platform(struct recovery *r, const struct tl_said_outcome *told, bool accepted)
{
    if (accepted) {
        return;
    }
    if (told->datum.kind == TL_DATUM_CALL) {
        taken_back(&r->truth.call, told->sequence);
    } else if (told->datum.kind == TL_DATUM_HOOK) {
        taken_back(&r->truth.hook, told->sequence);
    } else if (told->datum.kind == TL_DATUM_DECK) {
        taken_back(&r->truth.deck[TRUTH_PLATFORM], told->sequence);
    }
}

static void
listen_at(struct recovery *r, uint32_t place, const struct tl_said_outcome *told)
{
    bool accepted = told->kind == TL_SAID_ACCEPTED;
    if (place == AT_PRIMARY) {
        listen_primary(r, told, accepted);
    } else if (place == AT_PLATFORM) {
        listen_platform(r, told, accepted);
    } else if (place == AT_APPROACH) {
        truth_inbound_told(&r->truth, told->datum.slot % TRUTH_SIDES, told->sequence, accepted);
    } else if (place == AT_DECK && !accepted) {
        taken_back(&r->truth.deck[TRUTH_DECK], told->sequence);
    } else if (place < AT_DECK && !accepted) {
        bool set = told->datum.kind == TL_DATUM_SET;
        taken_back(set ? &r->truth.set[place] : &r->truth.battery[place], told->sequence);
    }
}

void
crew_listen(struct recovery *r)
{
    static const char *const WORDS[] = {
        [TL_SAID_REFUSED] = "refused", [TL_SAID_WITHDRAWN] = "withdrawn", [TL_SAID_VOID] = "void"};
    for (uint32_t place = 0; place < AT_VALIDATOR; place++) {
        struct sim_node *node = &r->sim->node[place];
        struct tl_said_outcome told;
        while (crew_is_live(r, place) && tl_outbox_outcome(&node->member->outbox, &told)) {
            listen_at(r, place, &told);
            if (told.kind != TL_SAID_ACCEPTED) {
                tell(r, "%s is told: %s %u %s (%d) #%llu", node->id,
                     tl_datum_kind_name(told.datum.kind), told.datum.slot, WORDS[told.kind],
                     (int)told.reason, (unsigned long long)told.sequence);
            }
        }
    }
}
