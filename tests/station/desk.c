/* SPDX-License-Identifier: Apache-2.0 */
/* desk.c - see desk.h. */
#include "tests/station/desk.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/ship.h"

enum {
    STEP_MS = 100,
    LIFE = 5 /* of this station */
};

static void
note_change(void *ctx, const struct tl_topic *topic, const struct tl_envelope *envelope)
{
    struct desk *d = ctx;
    if (topic->kind == TL_TOPIC_CHANGE && envelope->sequence > d->last.sequence) {
        d->said++;
        d->last = envelope->as.change.datum;
    }
}

static void
note_line(void *ctx, const char *line)
{
    struct desk *d = ctx;
    assert_true(d->line_count < DESK_LINES);
    (void)snprintf(d->line[d->line_count++], sizeof d->line[0], "%s", line);
}

static void
add_recorder(struct desk *d, uint32_t n)
{
    struct tl_node *node = &d->config.node[d->config.node_count++];
    (void)snprintf(node->id, sizeof node->id, "recorder-%u", n);
    node->kind = TL_NODE_RECORDER;
}

struct desk *
desk_new(void)
{
    return desk_new_of("gear-officer");
}

struct desk *
desk_new_of(const char *id)
{
    struct desk *d = calloc(1, sizeof *d);
    assert_non_null(d);
    ship_config_full(&d->config, 2);
    add_recorder(d, 1);
    add_recorder(d, 2);
    d->now_ms = DESK_START_MS;
    tl_member_init(&d->member, &d->config, tl_config_node(&d->config, id), LIFE, d->now_ms);
    d->member.port = (struct tl_port){.ctx = d, .send = note_change};
    tl_tallies_init(&d->tallies, &d->config);
    d->tallies.say = note_line;
    d->tallies.ctx = d;
    for (uint32_t v = 0; v < 2; v++) {
        d->incarnation[v] = 9;
        d->picture[v] = (struct tl_picture){
            .number = 1, .list_heard = true, .recovery_ms = DESK_R, .open = true};
    }
    desk_turn(d);
    return d;
}

void
desk_ends_at(struct desk *d, uint32_t validator, uint32_t pass, struct tl_result result)
{
    struct tl_picture *picture = &d->picture[validator];
    struct tl_ended ended = {{DESK_R, pass}, result, false};
    uint32_t at = 0;
    while (at < picture->ended_count && picture->ended[at].event.pass < pass) {
        at++;
    }
    if (at == picture->ended_count || picture->ended[at].event.pass != pass) {
        if (picture->ended_count == TL_ENDED_SHOWN) {
            assert_true(at > 0);
            at--;
            picture->ended_count--;
            memmove(&picture->ended[0], &picture->ended[1], at * sizeof picture->ended[0]);
        }
        memmove(&picture->ended[at + 1], &picture->ended[at],
                (picture->ended_count - at) * sizeof picture->ended[0]);
        picture->ended_count++;
    }
    picture->ended[at] = ended;
    picture->number++;
}

void
desk_trap(struct desk *d, uint32_t pass, uint32_t wire)
{
    for (uint32_t v = 0; v < 2; v++) {
        desk_ends_at(d, v, pass, (struct tl_result){TL_OUTCOME_TRAP, wire});
    }
}

/* ---- validators ---- */

static struct tl_envelope *
from(struct desk *d, uint32_t v, enum tl_body_kind body)
{
    struct tl_envelope *e = calloc(1, sizeof *e);
    assert_non_null(e);
    (void)snprintf(e->node, sizeof e->node, "validator-%u", v + 1);
    e->incarnation = d->incarnation[v];
    e->sequence = ++d->sequence;
    e->event = (struct tl_event){DESK_R, 1};
    e->body = body;
    return e;
}

static void
send(struct desk *d, struct tl_envelope *e)
{
    tl_member_message(&d->member, e, d->now_ms);
    free(e);
}

static uint64_t
show(struct desk *d, uint32_t v)
{
    struct tl_envelope *e = from(d, v, TL_BODY_PICTURE);
    e->as.picture = d->picture[v];
    send(d, e);
    e = from(d, v, TL_BODY_VERDICT);
    e->as.verdict = (struct tl_verdict){.tick = e->sequence,
                                        .is_tick = true,
                                        .word = TL_WORD_NOT_READY,
                                        .kind = TL_CAUSE_SHIP,
                                        .list_heard = true,
                                        .picture = d->picture[v].number,
                                        .cause_count = 1};
    memcpy(e->as.verdict.judgement_digest, d->config.judgement_digest, TL_DIGEST_LEN);
    uint64_t verdict = e->sequence;
    send(d, e);
    return verdict;
}

static void
answer(struct desk *d, uint32_t v, uint64_t verdict)
{
    struct tl_envelope *e = from(d, v, TL_BODY_RECEIPT);
    struct tl_receipt *receipt = &e->as.receipt;
    *receipt = (struct tl_receipt){.for_incarnation = LIFE,
                                   .through = d->member.outbox.last,
                                   .nonce = d->member.beat_sequence,
                                   .verdict = verdict};
    if (d->refuse != TL_REFUSAL_UNKNOWN && d->member.outbox.last > 0) {
        receipt->refused_count = 1;
        receipt->refused[0] =
            (struct tl_refused){.sequence = d->member.outbox.last, .reason = d->refuse};
    }
    send(d, e);
}

static void
step(struct desk *d)
{
    struct tl_said_outcome outcome;
    uint64_t verdict[2] = {0};
    d->now_ms += STEP_MS;
    for (uint32_t v = 0; v < 2; v++) {
        verdict[v] = d->away[v] ? 0 : show(d, v);
    }
    tl_member_tend(&d->member, d->now_ms);
    for (uint32_t v = 0; v < 2; v++) {
        if (!d->away[v]) {
            answer(d, v, verdict[v]);
        }
    }
    tl_member_tend(&d->member, d->now_ms);
    while (tl_outbox_outcome(&d->member.outbox, &outcome)) {
        tl_tallies_outcome(&d->tallies, &outcome);
    }
    tl_tallies_tend(&d->tallies, &d->member, d->now_ms);
}

void
desk_turn(struct desk *d)
{
    for (uint32_t i = 0; i < 1000 / STEP_MS; i++) {
        step(d);
    }
}

void
desk_alone(struct desk *d, uint64_t ms)
{
    d->away[0] = d->away[1] = true;
    for (uint64_t end = d->now_ms + ms; d->now_ms < end;) {
        step(d);
    }
    d->away[0] = d->away[1] = false;
}

void
desk_recorder(struct desk *d, uint32_t recorder, const struct tl_worn *worn, uint32_t count)
{
    struct tl_envelope *e = from(d, 0, TL_BODY_RECORDED);
    (void)snprintf(e->node, sizeof e->node, "recorder-%u", recorder);
    e->as.recorded = (struct tl_recorded){
        .for_incarnation = LIFE, .through = d->member.outbox.last, .worn_count = count};
    memcpy(e->as.recorded.worn, worn, count * sizeof *worn);
    send(d, e);
}

/* ---- what is keyed ---- */

const struct tl_command *
desk_ask(struct desk *d, const char *line)
{
    struct tl_view view;
    tl_member_view(&d->member, d->now_ms, &view);
    struct tl_asking asking = {.config = &d->config,
                               .node = d->member.node,
                               .as = d->member.node,
                               .member = &d->member,
                               .view = &view,
                               .picture = tl_member_current_picture(&d->member, 0, d->now_ms),
                               .pictures_agree = true,
                               .tallies = &d->tallies,
                               .now_ms = d->now_ms,
                               .out = &d->command};
    tl_command_read(&asking, line, d->scratch, &d->command);
    return &d->command;
}

void
desk_key(struct desk *d, const char *line)
{
    const struct tl_command *command = desk_ask(d, line);
    uint64_t sequence = 0;
    if (command->kind != TL_COMMAND_SAY || !command->needs_confirm) {
        fail_msg("%s: %s", line, command->text);
    }
    for (uint32_t i = 0; i < command->count; i++) {
        assert_int_equal(tl_member_say(&d->member, &command->datum[i], d->now_ms, &sequence),
                         TL_OK);
        tl_tallies_keyed(&d->tallies, &command->datum[i]);
    }
    desk_turn(d);
}

const struct tl_wear *
desk_says(const struct desk *d, enum tl_datum_kind kind, uint32_t slot)
{
    const struct tl_own *own = tl_outbox_own(&d->member.outbox, kind, slot);
    return own == NULL || own->refused ? NULL : tl_datum_wear(&own->datum);
}

bool
desk_told(const struct desk *d, const char *text)
{
    for (uint32_t i = 0; i < d->line_count; i++) {
        if (strstr(d->line[i], text) != NULL) {
            return true;
        }
    }
    return false;
}
