/* SPDX-License-Identifier: Apache-2.0 */
/* checks_picture.c - rules about the tool and its data. See check.h and proto/vocab/rules.h. */
#include <string.h>

#include "broker/core/rules/check.h"

static void
key_by_node(struct tl_cause *cause, const char *node, uint64_t incarnation)
{
    memcpy(cause->subject.node, node, TL_ID_CAP);
    cause->subject.incarnation = incarnation;
}

void
tl_check_two_writers(struct tl_check *check)
{
    for (uint32_t i = 0; i < check->fold->told_count; i++) {
        const struct tl_told *told = &check->fold->told[i];
        if (told->twin) {
            struct tl_cause *cause = tl_cause_add(check, told->node, TL_CAUSE_WRONG);
            key_by_node(cause, told->node->id, told->incarnation);
        }
    }
}

/*
 * A station that has never joined is a fault only once a recovery is open, and once this validator
 * has itself been there for long enough to have heard it.
 */
static enum tl_cause_state
absence_state(const struct tl_check *check, const struct tl_told *told)
{
    bool waited = check->now_ms - told->away_ms > TL_NOT_READY_MS;
    return told->ever_live || (check->fold->list.open && waited) ? TL_CAUSE_WRONG
                                                                 : TL_CAUSE_PENDING;
}

void
tl_check_station_lost(struct tl_check *check)
{
    for (uint32_t i = 0; i < check->fold->told_count; i++) {
        const struct tl_told *told = &check->fold->told[i];
        bool fresh = told->live && check->now_ms - told->echo_sent_ms <= TL_LOST_MS;
        struct tl_cause *cause = NULL;
        if (!fresh && tl_is_covered_by_voice(check->fold, check->now_ms, told)) {
            cause = tl_cause_add(check, told->node, TL_CAUSE_NOTE);
        } else if (!fresh) {
            cause = tl_cause_add(check, told->node, absence_state(check, told));
        } else if (check->now_ms - told->back_ms < TL_HOLD_MS) {
            cause = tl_cause_add(check, told->node, TL_CAUSE_HOLDING);
        } else if (!told->based) {
            cause = tl_cause_add(check, told->node, TL_CAUSE_WRONG);
        }
        if (cause != NULL) {
            key_by_node(cause, told->node->id, told->incarnation);
        }
    }
}

void
tl_check_validators_differ(struct tl_check *check)
{
    for (uint32_t i = 0; i < check->outside->peer_count; i++) {
        const struct tl_peer_state *peer = &check->outside->peer[i];
        bool held = peer->differ_back_ms != 0 && check->now_ms - peer->differ_back_ms < TL_HOLD_MS;
        if (!peer->differ && !held) {
            continue;
        }
        struct tl_cause *cause = tl_cause_add(check, tl_config_node(check->fold->config, peer->id),
                                              peer->differ ? TL_CAUSE_WRONG : TL_CAUSE_HOLDING);
        key_by_node(cause, peer->id, peer->incarnation);
    }
}

static bool
primary_has_no_recovery(const struct tl_check *check)
{
    const struct tl_told *primary = tl_told_of(check->fold, TL_STATION_PRIMARY, 0);
    return primary != NULL && primary->live && primary->based &&
           tl_told_held(primary, TL_DATUM_RECOVERY, 0) == NULL;
}

void
tl_check_list_not_heard(struct tl_check *check)
{
    if (!check->fold->list.heard && !primary_has_no_recovery(check)) {
        (void)tl_cause_add(check, NULL, TL_CAUSE_PENDING);
    }
}

void
tl_check_primary_restarted(struct tl_check *check)
{
    const struct tl_told *primary = tl_told_of(check->fold, TL_STATION_PRIMARY, 0);
    if (check->fold->list.restarted && primary != NULL) {
        struct tl_cause *cause = tl_cause_add(check, primary->node, TL_CAUSE_WRONG);
        key_by_node(cause, primary->node->id, primary->incarnation);
    }
}

static void
add_notices(struct tl_check *check, uint32_t rule)
{
    for (uint32_t i = 0; i < check->outside->notice_count; i++) {
        const struct tl_notice *notice = &check->outside->notice[i];
        if (notice->rule != rule) {
            continue;
        }
        struct tl_cause *cause = tl_cause_add(check, NULL, TL_CAUSE_NOTE);
        memcpy(cause->station, notice->node, TL_ID_CAP);
        cause->reason = notice->reason;
        if (notice->schema != 0) {
            cause->reported = (struct tl_cause_value){.known = true, .number = notice->schema};
            cause->needed = (struct tl_cause_value){.known = true, .number = TL_SCHEMA_VERSION};
        }
        key_by_node(cause, notice->node, notice->incarnation);
    }
}

void
tl_check_refused_publisher(struct tl_check *check)
{
    add_notices(check, TL_RULE_REFUSED_PUBLISHER);
}

void
tl_check_other_body(struct tl_check *check)
{
    add_notices(check, TL_RULE_OTHER_BODY);
}

void
tl_check_validator_lost(struct tl_check *check)
{
    for (uint32_t i = 0; i < check->outside->peer_count; i++) {
        const struct tl_peer_state *peer = &check->outside->peer[i];
        if (peer->lost) {
            struct tl_cause *cause =
                tl_cause_add(check, tl_config_node(check->fold->config, peer->id), TL_CAUSE_NOTE);
            key_by_node(cause, peer->id, peer->incarnation);
        }
    }
}

void
tl_check_bus_degraded(struct tl_check *check)
{
    for (uint32_t i = 0; i < check->outside->bus_count; i++) {
        const struct tl_bus_condition *bus = &check->outside->bus[i];
        if (bus->degraded) {
            struct tl_cause *cause =
                tl_cause_add(check, tl_config_node(check->fold->config, bus->id), TL_CAUSE_NOTE);
            key_by_node(cause, bus->id, 0);
        }
    }
}

void
tl_check_keys_differ(struct tl_check *check)
{
    for (uint32_t i = 0; i < check->outside->peer_count; i++) {
        const struct tl_peer_state *peer = &check->outside->peer[i];
        if (peer->keys_differ && !peer->lost) {
            struct tl_cause *cause =
                tl_cause_add(check, tl_config_node(check->fold->config, peer->id), TL_CAUSE_NOTE);
            key_by_node(cause, peer->id, peer->incarnation);
        }
    }
}

/* One note a station: what is known of it by voice, and what waits for the second signature. */
void
tl_check_by_voice(struct tl_check *check)
{
    const struct tl_fold *fold = check->fold;
    for (uint32_t i = 0; i < fold->told_count; i++) {
        const struct tl_told *told = &fold->told[i];
        uint32_t words = 0;
        for (uint32_t k = 0; k < fold->voice_count; k++) {
            words += fold->voice[k].told == told && fold->voice[k].confirmed_by != NULL ? 1 : 0;
        }
        if (words > 0) {
            struct tl_cause *cause = tl_cause_add(check, told->node, TL_CAUSE_NOTE);
            key_by_node(cause, told->node->id, told->incarnation);
        }
    }
}

void
tl_check_voice_differs(struct tl_check *check)
{
    for (uint32_t i = 0; i < check->fold->told_count; i++) {
        const struct tl_told *told = &check->fold->told[i];
        if (told->voice_differed && check->now_ms - told->voice_differs_ms < TL_NOTICE_MS) {
            struct tl_cause *cause = tl_cause_add(check, told->node, TL_CAUSE_NOTE);
            key_by_node(cause, told->node->id, told->incarnation);
        }
    }
}

void
tl_check_override_live(struct tl_check *check)
{
    const struct tl_fold *fold = check->fold;
    for (uint32_t i = 0; i < fold->signed_count; i++) {
        const struct tl_signed *entry = &fold->signed_by_two[i];
        if (entry->confirmed_by == NULL) {
            continue;
        }
        struct tl_cause *cause = tl_cause_add(check, entry->said_by->node, TL_CAUSE_NOTE);
        tl_cause_number(&cause->reported, entry->override.rule);
        key_by_node(cause, entry->said_by->node->id, entry->said_by->incarnation);
        cause->subject.sequence = entry->override.rule;
    }
}

void
tl_check_one_validator(struct tl_check *check)
{
    for (uint32_t i = 0; i < check->fold->out_count; i++) {
        const char *id = check->fold->out_of_service[i];
        struct tl_cause *cause =
            tl_cause_add(check, tl_config_node(check->fold->config, id), TL_CAUSE_NOTE);
        key_by_node(cause, id, 0);
    }
}

void
tl_check_recorder_lost(struct tl_check *check)
{
    if (check->outside->recorder_lost) {
        struct tl_cause *cause = tl_cause_add(
            check, tl_config_node(check->fold->config, check->outside->recorder), TL_CAUSE_NOTE);
        key_by_node(cause, check->outside->recorder, 0);
    }
}
