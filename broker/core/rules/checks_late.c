/* SPDX-License-Identifier: Apache-2.0 */
/*
 * checks_late.c - what the causes found mean in the last seconds before the ramp. See check.h.
 *
 * The last seconds run from the pilot's call to the predicted crossing of the ramp, and a margin
 * after it. Without a call, or a type, there is no prediction and none of this is judged.
 */
#include <string.h>

#include "broker/core/rules/check.h"

/* When the pilot called for the current event, while the ramp has not been crossed; 0 = not. */
static uint64_t
call_in_window(const struct tl_check *check)
{
    const struct tl_told *platform = tl_told_of(check->fold, TL_STATION_PLATFORM, 0);
    if (check->current == NULL || check->type == NULL) {
        return 0;
    }
    const struct tl_held *call = tl_said(check, platform, TL_DATUM_CALL, 0);
    if (call == NULL) {
        return 0;
    }
    uint64_t ramp_ms = call->said_ms + tl_final_approach_ms(check) +
                       1000ull * check->fold->config->ship.ramp_margin_s;
    return check->now_ms <= ramp_ms ? call->said_ms : 0;
}

/* A sensor's words are keyed without their sequence: the one of the rule's kind. */
static uint64_t
sensor_said_ms(const struct tl_told *told, const struct tl_cause *cause)
{
    const struct tl_rule_row *row = tl_rule_row(cause->rule);
    const struct tl_held *held = row != NULL ? tl_told_held(told, row->subject, 0) : NULL;
    return held != NULL ? held->said_ms : 0;
}

/* When the word that keys the cause was said; 0 = it is not keyed by a word that is held. */
static uint64_t
said_ms_of(const struct tl_fold *fold, const struct tl_cause *cause)
{
    const struct tl_told *told = tl_fold_told_const(fold, cause->subject.node);
    if (told == NULL) {
        return 0;
    }
    if (cause->subject.sequence == 0) {
        return sensor_said_ms(told, cause);
    }
    bool own = told->incarnation == cause->subject.incarnation;
    for (uint32_t i = 0; own && i < told->held_count; i++) {
        const struct tl_held *held = &told->held[i];
        if (held->datum.sequence == cause->subject.sequence) {
            return held->said_ms;
        }
    }
    for (uint32_t i = 0; i < fold->voice_count; i++) {
        if (fold->voice[i].told == told &&
            fold->voice[i].held.datum.sequence == cause->subject.sequence) {
            return fold->voice[i].held.said_ms;
        }
    }
    return 0;
}

/* Advice to wave off: a reported fact has turned bad since the call. One cause, of the first. */
void
tl_check_wave_off(struct tl_check *check)
{
    uint64_t call_ms = call_in_window(check);
    for (uint32_t i = 0; call_ms != 0 && i < check->found->count; i++) {
        const struct tl_cause *found = &check->found->cause[i];
        const struct tl_rule_row *row = tl_rule_row_in(check->rows, found->rule);
        if (row == NULL || row->kind != TL_CAUSE_SHIP || found->state != TL_CAUSE_WRONG ||
            said_ms_of(check->fold, found) <= call_ms) {
            continue;
        }
        struct tl_cause *cause = tl_cause_add(
            check, tl_config_node(check->fold->config, found->station), TL_CAUSE_WRONG);
        tl_cause_number(&cause->reported, found->rule);
        cause->subject = found->subject;
        return;
    }
}

static bool
is_picture_lost(const struct tl_rule_index *rows, const struct tl_cause *cause)
{
    const struct tl_rule_row *row = tl_rule_row_in(rows, cause->rule);
    bool forces = row != NULL && row->kind == TL_CAUSE_PICTURE && row->effect == TL_EFFECT_FORCE &&
                  cause->state == TL_CAUSE_WRONG;
    return forces || cause->rule == TL_RULE_VALIDATOR_LOST;
}

/* The tool is blind while an aircraft is on its way in: an alarm, never an advice. */
void
tl_check_picture_lost(struct tl_check *check)
{
    bool coming = call_in_window(check) != 0;
    for (uint32_t i = 0; coming && i < check->found->count; i++) {
        const struct tl_cause *found = &check->found->cause[i];
        if (!is_picture_lost(check->rows, found)) {
            continue;
        }
        struct tl_cause *cause =
            tl_cause_add(check, tl_config_node(check->fold->config, found->station), TL_CAUSE_NOTE);
        tl_cause_number(&cause->reported, found->rule);
        cause->subject = found->subject;
        return;
    }
}

/* One note a station that has been given more alerts than people can read. */
void
tl_check_alarm_flood(struct tl_check *check)
{
    for (uint32_t i = 0; i < check->fold->told_count; i++) {
        const struct tl_told *told = &check->fold->told[i];
        if ((check->outside->flood_places >> i & 1u) != 0) {
            struct tl_cause *cause = tl_cause_add(check, told->node, TL_CAUSE_NOTE);
            memcpy(cause->subject.node, told->node->id, TL_ID_CAP);
            cause->subject.incarnation = told->incarnation;
        }
    }
}
