/* SPDX-License-Identifier: Apache-2.0 */
/* state.c - see state.h. */
#include "broker/core/judge/state.h"

#include <string.h>

#include "broker/core/judge/state_io.h"
#include "proto/vocab/mix.h"
#include "proto/vocab/wear.h"

static void
walk_held(struct tl_state_io *io, struct tl_held *held)
{
    if (io->mode != TL_STATE_DIGEST) { /* what was said is digested among the inputs */
        tl_io_datum(io, &held->datum);
    }
    tl_io_u64(io, &held->said_ms);
    tl_io_flag(io, &held->by_change);
    tl_io_u64(io, &held->barred);
    tl_io_flag(io, &held->stood_known);
    tl_io_u32(io, &held->stood_lb);
}

static void
walk_samples(struct tl_state_io *io, struct tl_told *told)
{
    if (io->mode == TL_STATE_DIGEST) {
        return;
    }
    tl_io_max(io, &told->sample_count, TL_SAMPLES_MAX);
    for (uint32_t i = 0; i < told->sample_count; i++) {
        tl_io_sample(io, &told->samples[i]);
    }
    tl_io_u64(io, &told->samples_ms);
}

/* The station in that place must be the one that was written. */
static void
walk_name(struct tl_state_io *io, const struct tl_told *told)
{
    char id[TL_ID_CAP];
    memcpy(id, told->node->id, sizeof id);
    tl_io_text(io, id, sizeof id);
    io->bad = io->bad || strncmp(id, told->node->id, sizeof id) != 0;
}

static void
walk_told(struct tl_state_io *io, struct tl_told *told)
{
    if (io->mode != TL_STATE_DIGEST) {
        walk_name(io, told);
    }
    tl_io_u64(io, &told->incarnation);
    tl_io_flag(io, &told->based);
    tl_io_u64(io, &told->applied);
    tl_io_max(io, &told->held_count, TL_DATA_MAX);
    for (uint32_t i = 0; i < told->held_count; i++) {
        walk_held(io, &told->held[i]);
    }
    walk_samples(io, told);
    tl_io_flag(io, &told->live);
    tl_io_u64(io, &told->away_ms);
    tl_io_u64(io, &told->back_ms);
    tl_io_flag(io, &told->ever_live);
    tl_io_flag(io, &told->twin);
    tl_io_flag(io, &told->old_foul);
    if (told->old_foul) {
        tl_io_datum(io, &told->old_foul_datum);
        tl_io_u64(io, &told->old_foul_incarnation);
    }
    tl_io_flag(io, &told->voice_differed);
    tl_io_u64(io, &told->voice_differs_ms);
}

static void
walk_listed(struct tl_state_io *io, struct tl_listed_event *listed)
{
    tl_io_event(io, &listed->event);
    tl_io_flag(io, &listed->order_known);
    tl_io_order(io, &listed->order);
    tl_io_u64(io, &listed->order_sequence);
    tl_io_flag(io, &listed->result_known);
    tl_io_result(io, &listed->result);
    tl_io_flag(io, &listed->ended);
}

static void
walk_ends(struct tl_state_io *io, struct tl_ends *ends)
{
    tl_io_max(io, &ends->count, TL_ENDED_MAX);
    for (uint32_t i = 0; i < ends->count; i++) {
        tl_io_event(io, &ends->end[i].ended.event);
        tl_io_result(io, &ends->end[i].ended.result);
        tl_io_flag(io, &ends->end[i].ended.barricade);
        tl_io_u32(io, &ends->end[i].wires_before);
    }
    tl_io_event(io, &ends->below);
    for (uint32_t i = 0; i < TL_ENGINES_MAX; i++) {
        tl_io_event(io, &ends->gone_pendant[i]);
        tl_io_event(io, &ends->gone_cable[i]);
    }
}

/* What was known of each serial; what stands of it now is among the inputs. */
static void
walk_book(struct tl_state_io *io, struct tl_fold *fold)
{
    tl_io_max(io, &fold->book_count, TL_BOOKED_MAX);
    for (uint32_t i = 0; i < fold->book_count; i++) {
        tl_io_datum(io, &fold->book[i].datum);
        io->bad = io->bad || tl_datum_wear(&fold->book[i].datum) == NULL;
        tl_io_flag(io, &fold->book[i].fitted);
        tl_io_u32(io, &fold->book[i].corrected);
    }
}

static void
walk_list(struct tl_state_io *io, struct tl_list *list)
{
    tl_io_flag(io, &list->heard);
    tl_io_flag(io, &list->results_heard);
    tl_io_flag(io, &list->open);
    tl_io_flag(io, &list->drill);
    tl_io_flag(io, &list->restarted);
    tl_io_u64(io, &list->recovery_ms);
    tl_io_u64(io, &list->highest_recovery_ms);
    tl_io_u32(io, &list->highest_pass);
    tl_io_max(io, &list->count, TL_LIST_MAX);
    for (uint32_t i = 0; i < list->count; i++) {
        walk_listed(io, &list->event[i]);
    }
    tl_io_flag(io, &list->last_known);
    walk_listed(io, &list->last);
    tl_io_u64(io, &list->last_ms);
    for (uint32_t i = 0; i < TL_ENGINES_MAX; i++) {
        tl_io_event(io, &list->trap[i]);
    }
    walk_ends(io, &list->ends);
    tl_io_event(io, &list->current);
    tl_io_u64(io, &list->current_since_ms);
}

static void
walk_peer(struct tl_state_io *io, struct tl_peer_state *peer)
{
    tl_io_text(io, peer->id, sizeof peer->id);
    tl_io_u64(io, &peer->incarnation);
    tl_io_flag(io, &peer->lost);
    tl_io_flag(io, &peer->differ);
    tl_io_u64(io, &peer->differ_back_ms);
    tl_io_flag(io, &peer->keys_differ);
}

/* How often and when it was last seen again changes nothing until it lapses. */
static void
walk_notice(struct tl_state_io *io, struct tl_notice *notice)
{
    tl_io_max(io, &notice->rule, TL_RULES_MAX - 1);
    tl_io_text(io, notice->node, sizeof notice->node);
    TL_IO_ENUM(io, notice->reason, TL_REFUSAL_LOWER_COUNT);
    tl_io_u64(io, &notice->incarnation);
}

static void
walk_outside(struct tl_state_io *io, struct tl_outside *outside)
{
    tl_io_flag(io, &outside->recorder_lost);
    tl_io_max(io, &outside->peer_count, TL_VALIDATORS_MAX);
    for (uint32_t i = 0; i < outside->peer_count; i++) {
        walk_peer(io, &outside->peer[i]);
    }
    tl_io_max(io, &outside->bus_count, TL_BUSES_MAX);
    for (uint32_t i = 0; i < outside->bus_count; i++) {
        tl_io_text(io, outside->bus[i].id, sizeof outside->bus[i].id);
        tl_io_flag(io, &outside->bus[i].degraded);
    }
    tl_io_max(io, &outside->notice_count, TL_NOTICES_MAX);
    for (uint32_t i = 0; i < outside->notice_count; i++) {
        walk_notice(io, &outside->notice[i]);
    }
    tl_io_u32(io, &outside->flood_places);
    tl_io_predicted(io, &outside->predicted);
    tl_io_u64(io, &outside->sea_late_ms);
    tl_io_max(io, &outside->expected_count, TL_ENGINES_MAX);
    for (uint32_t i = 0; i < outside->expected_count; i++) {
        tl_io_u32(io, &outside->expected[i].unit);
        tl_io_event(io, &outside->expected[i].event);
        tl_io_u32(io, &outside->expected[i].ram_in_x10);
    }
}

/* Who has shown it is seen by the echo, and who listed it first by what was published: not held. */
static void
walk_alert(struct tl_state_io *io, struct tl_active_alert *active)
{
    struct tl_alert *alert = &active->alert;
    tl_io_cause(io, &alert->cause);
    tl_io_event(io, &alert->event);
    TL_IO_ENUM(io, alert->severity, TL_SEVERITY_CAUTION);
    TL_IO_ENUM(io, alert->state, TL_ALERT_RETURNED);
    tl_io_u32(io, &alert->owed);
    tl_io_u32(io, &alert->acknowledged);
    tl_io_u64(io, &active->raised_ms);
    tl_io_u64(io, &active->returned_ms);
}

static void
walk_alerts(struct tl_state_io *io, struct tl_alert_book *book)
{
    tl_io_max(io, &book->count, TL_ALERTS_MAX);
    for (uint32_t i = 0; i < book->count; i++) {
        walk_alert(io, &book->active[i]);
    }
    for (uint32_t place = 0; place < TL_STATIONS_MAX; place++) {
        tl_io_u32(io, &book->owed_count[place]);
        for (uint32_t i = 0; book->owed_count[place] != 0 && i <= TL_FLOOD_ALERTS; i++) {
            tl_io_u64(io, &book->owed_ms[place][i]);
        }
    }
}

static void
walk(struct tl_state_io *io, struct tl_judge *judge)
{
    struct tl_fold *fold = &judge->fold;
    uint32_t version = TL_STATE_VERSION;
    uint32_t stations = fold->told_count;
    tl_io_u32(io, &version);
    tl_io_u32(io, &stations);
    io->bad = io->bad || version != TL_STATE_VERSION || stations != fold->told_count;
    for (uint32_t i = 0; !io->bad && i < fold->told_count; i++) {
        walk_told(io, &fold->told[i]);
    }
    walk_list(io, &fold->list);
    walk_book(io, fold);
    tl_io_flag(io, &fold->clear_refused);
    tl_io_max(io, &fold->clear_refused_rule, TL_RULES_MAX - 1);
    walk_outside(io, &judge->outside);
    walk_alerts(io, &judge->alerts);
}

static void
store_digest(uint64_t digest, uint8_t bytes[TL_DATA_DIGEST_LEN])
{
    for (size_t i = 0; i < TL_DATA_DIGEST_LEN; i++) {
        bytes[i] = (uint8_t)(digest >> (8 * i));
    }
}

void
tl_state_digest(struct tl_judge *judge, uint8_t held[TL_DATA_DIGEST_LEN])
{
    struct tl_state_io io = {.mode = TL_STATE_DIGEST, .digest = 1};
    walk(&io, judge);
    store_digest(io.digest, held);
}

void
tl_state_inputs(const struct tl_judge *judge, uint8_t inputs[TL_DATA_DIGEST_LEN])
{
    uint64_t sum = 1;
    for (uint32_t i = 0; i < judge->fold.told_count; i++) {
        const struct tl_told *told = &judge->fold.told[i];
        uint8_t data[TL_DATA_DIGEST_LEN];
        uint64_t word = 0;
        tl_told_digest(told, data);
        for (size_t k = 0; k < sizeof data; k++) {
            word |= (uint64_t)data[k] << (8 * k);
        }
        sum = tl_mix(tl_mix(tl_mix(sum, told->incarnation), told->applied), word);
    }
    store_digest(sum, inputs);
}

void
tl_state_causes(const struct tl_decision *decision, uint8_t causes[TL_DATA_DIGEST_LEN])
{
    uint64_t sum = tl_mix(1, decision->cause_count);
    for (uint32_t i = 0; i < decision->cause_count; i++) {
        const struct tl_cause *cause = &decision->cause[i];
        sum = tl_mix_words(tl_mix(sum, cause->rule), cause->station, sizeof cause->station);
        sum = tl_mix(sum, (uint64_t)cause->state);
        sum = tl_mix_words(sum, cause->subject.node, sizeof cause->subject.node);
        sum = tl_mix(tl_mix(sum, cause->subject.incarnation), cause->subject.sequence);
    }
    store_digest(sum, causes);
}

size_t
tl_state_write(struct tl_judge *judge, size_t from, uint8_t *bytes, size_t cap)
{
    struct tl_state_io io = {.mode = TL_STATE_WRITE};
    io.as.out.bytes = bytes;
    io.as.out.from = from;
    io.as.out.cap = cap;
    walk(&io, judge);
    return io.at;
}

enum tl_err
tl_state_read(struct tl_judge *judge, const uint8_t *bytes, size_t len)
{
    struct tl_state_io io = {.mode = TL_STATE_READ, .as.in = {.bytes = bytes, .len = len}};
    walk(&io, judge);
    if (io.bad || io.at != len) {
        return TL_REFUSED;
    }
    for (uint32_t i = 0; i < judge->fold.told_count; i++) {
        judge->fold.told[i].echoed = judge->fold.told[i].live;
    }
    return TL_OK;
}
