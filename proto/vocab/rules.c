/* SPDX-License-Identifier: Apache-2.0 */
/*
 * rules.c - the table of rules. See rules.h; words.c says the rest.
 *
 * Within one urgency (wrong or overdue, held, not yet said) the order of the rows is the order of
 * causes on every screen: the tool's own blindness first, then the aircraft, the gear, the deck.
 */
#include "proto/vocab/rules.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#define ROW(id, n, sev, eff, knd, act, ow, subj, clr, ovr, tra, txt, bas)                          \
    {                                                                                              \
        .rule = (id), .name = (n), .severity = TL_SEVERITY_##sev, .effect = TL_EFFECT_##eff,       \
        .kind = TL_CAUSE_##knd, .acts = (act), .owes = (ow), .subject = TL_DATUM_##subj,           \
        .refuses_clear = (clr), .overridable = (ovr), .transport = (tra), .short_text = (txt),     \
        .basis = (bas)                                                                             \
    }
#define PRI   TL_ACTS_PRIMARY
#define NAMED TL_ACTS_NAMED

/* clang-format off */
static const struct tl_rule_row ROWS[] = {
    ROW(TL_RULE_TWO_WRITERS, "two-writers", ALARM, FORCE, PICTURE, PRI | NAMED, PRI | NAMED, UNKNOWN,
        false, false, true, "two programs claim one station", "project"),
    ROW(TL_RULE_STATION_LOST, "station-lost", ALARM, FORCE, PICTURE, PRI | NAMED, PRI, UNKNOWN,
        false, false, true, "station lost or stale", "project"),
    ROW(TL_RULE_VALIDATORS_DIFFER, "validators-differ", ALARM, FORCE, PICTURE, PRI, PRI, UNKNOWN,
        false, false, true, "validators differ", "project"),
    ROW(TL_RULE_LIST_NOT_HEARD, "list-not-heard", ALARM, FORCE, PICTURE, PRI, PRI, UNKNOWN,
        false, false, false, "primary's list not heard yet", "project"),
    ROW(TL_RULE_PRIMARY_RESTARTED, "primary-restarted", ALARM, FORCE, PICTURE, PRI, PRI, UNKNOWN,
        false, false, false, "primary restarted: resume or open", "project"),
    ROW(TL_RULE_LIMIT_REACHED, "limit-reached", ALARM, FORCE, PICTURE, PRI, PRI, UNKNOWN,
        false, false, false, "more causes than can be listed", "project"),
    ROW(TL_RULE_UNPROVEN, "unproven", ALARM, FORCE, PICTURE, PRI, PRI, UNKNOWN,
        false, false, false, "not every fact is there", "project"),
    ROW(TL_RULE_NO_EVENT, "no-event", CAUTION, FORCE, SHIP, PRI, 0, RECOVERY,
        false, false, false, "no aircraft ordered", "common practice, no source"),
    ROW(TL_RULE_ORDER_UNKNOWN, "order-unknown", WARNING, FORCE, SHIP, PRI, PRI, ORDER,
        false, false, false, "order not complete", "NAVEDTRA 14001 p. 3-9"),
    ROW(TL_RULE_TYPE_UNKNOWN, "type-unknown", ALARM, FORCE, SHIP, PRI, PRI, ORDER,
        false, false, false, "type not in the table", "project"),
    ROW(TL_RULE_TYPE_CALLED_DIFFERS, "type-called-differs", ALARM, FORCE, SHIP,
        PRI | TL_ACTS_PLATFORM, PRI | TL_ACTS_PLATFORM, CALL,
        false, false, false, "type called is not the type ordered",
        "pilot's call restates the type: NAVAIR 00-80T-104 6.6.3, as quoted"),
    ROW(TL_RULE_SETTING_OTHER_AIRCRAFT, "setting-other-aircraft", ALARM, FORCE, SHIP,
        NAMED | PRI, NAMED | PRI, SET,
        false, false, false, "weight set for another aircraft", "NAVEDTRA 14001 p. 3-9"),
    ROW(TL_RULE_SETTING_NOT_ORDERED, "setting-not-ordered", ALARM, FORCE, SHIP, NAMED | PRI,
        NAMED | PRI, SET,
        false, false, false, "weight set is not the one ordered", "NAVEDTRA 14001 p. 3-9"),
    ROW(TL_RULE_ENGINES_DISAGREE, "engines-disagree", ALARM, FORCE, SHIP, PRI | TL_ACTS_ENGINES,
        PRI | TL_ACTS_ENGINES, ORDER,
        false, false, false, "engines are not set alike", "common practice, no source"),
    ROW(TL_RULE_REPEATER_DIFFERS, "repeater-differs", ALARM, FORCE, SHIP, NAMED | PRI,
        NAMED | PRI, SET,
        false, false, false, "repeater differs from the setting", "NAVEDTRA 14001 p. 3-9"),
    ROW(TL_RULE_NOT_IN_BATTERY, "not-in-battery", ALARM, FORCE, SHIP, NAMED, NAMED | PRI, BATTERY,
        true, false, false, "engine not in battery",
        "battery light: NAVEDTRA 14310 p. 97"),
    ROW(TL_RULE_NO_ENGINE, "no-engine", ALARM, FORCE, SHIP, PRI, PRI, UNKNOWN,
        false, false, false, "no engine in service", "project"),
    ROW(TL_RULE_LINE_CROSSED, "line-crossed", ALARM, FORCE, SHIP, NAMED, NAMED | PRI, DECK,
        false, false, false, "person or aircraft over the line", "foul line: NAVEDTRA 14014 p. 248"),
    ROW(TL_RULE_DECK_FOUL, "deck-foul", ALARM, FORCE, SHIP, NAMED, NAMED | PRI, DECK,
        false, false, false, "deck foul", "common practice, no source"),
    ROW(TL_RULE_FOUL_WORD_MISSING, "foul-word-missing", WARNING, FORCE, SHIP, NAMED, NAMED | PRI,
        DECK, false, false, false, "has not said foul or no foul", "project"),
    ROW(TL_RULE_HOOK_NOT_DOWN, "hook-not-down", ALARM, FORCE, SHIP, TL_ACTS_PLATFORM,
        TL_ACTS_PLATFORM | PRI, HOOK,
        false, false, false, "hook not reported down", "common practice, from memory"),
    ROW(TL_RULE_WIND_UNKNOWN, "wind-unknown", WARNING, FORCE, SHIP, TL_ACTS_BRIDGE,
        TL_ACTS_BRIDGE | PRI, UNKNOWN,
        false, false, false, "wind not known", "common practice, no source"),
    ROW(TL_RULE_REFUSED_PUBLISHER, "refused-publisher", ALARM, NOTE, PICTURE, PRI, PRI, UNKNOWN,
        false, false, false, "publisher refused", "EN 50159, masquerade"),
    ROW(TL_RULE_OTHER_BODY, "other-body", ALARM, NOTE, PICTURE, PRI | NAMED, PRI, UNKNOWN,
        false, false, false, "one number, two messages", "EN 50159, corruption"),
    ROW(TL_RULE_VALIDATOR_LOST, "validator-lost", ALARM, NOTE, PICTURE, PRI, PRI, UNKNOWN,
        false, false, false, "validator lost", "project"),
    ROW(TL_RULE_BUS_DEGRADED, "bus-degraded", CAUTION, NOTE, PICTURE, PRI, 0, UNKNOWN,
        false, false, false, "bus down or behind", "IEC 62439-3, life check"),
    ROW(TL_RULE_KEYS_DIFFER, "keys-differ", CAUTION, NOTE, PICTURE, PRI, 0, UNKNOWN,
        false, false, false, "validators hold other key files", "project"),
    ROW(TL_RULE_SCREEN_NO_VALIDATOR, "no-validator", ALARM, FORCE, PICTURE, PRI | NAMED, 0, UNKNOWN,
        false, false, true, "validator not heard here", "project"),
    ROW(TL_RULE_SCREEN_HOLDING, "holding", ALARM, FORCE, PICTURE, PRI, 0, UNKNOWN,
        false, false, false, "verdict back, held 3 s", "project"),
    ROW(TL_RULE_SCREEN_OTHER_CONFIGURATION, "other-configuration", ALARM, FORCE, PICTURE, PRI, 0,
        UNKNOWN, false, false, false, "this screen has other configuration", "project"),
    ROW(TL_RULE_SCREEN_VALIDATORS_DIFFER, "verdicts-differ", ALARM, FORCE, PICTURE, PRI, 0, UNKNOWN,
        false, false, false, "validators speak of other events", "project"),
};
/* clang-format on */

enum {
    ROW_COUNT = sizeof ROWS / sizeof ROWS[0]
};

const struct tl_rule_row *
tl_rule_rows(size_t *count)
{
    *count = ROW_COUNT;
    return ROWS;
}

const struct tl_rule_row *
tl_rule_row(uint32_t rule)
{
    for (size_t i = 0; i < ROW_COUNT; i++) {
        if ((uint32_t)ROWS[i].rule == rule) {
            return &ROWS[i];
        }
    }
    return NULL;
}

enum tl_rule
tl_rule_by_name(const char *name)
{
    for (size_t i = 0; i < ROW_COUNT; i++) {
        if (strcmp(ROWS[i].name, name) == 0) {
            return ROWS[i].rule;
        }
    }
    return TL_RULE_NONE;
}

const char *
tl_severity_name(enum tl_severity severity)
{
    switch (severity) {
    case TL_SEVERITY_EMERGENCY:
        return "emergency alarm";
    case TL_SEVERITY_ALARM:
        return "alarm";
    case TL_SEVERITY_WARNING:
        return "warning";
    case TL_SEVERITY_CAUTION:
        return "caution";
    case TL_SEVERITY_UNKNOWN:
        break;
    }
    return "unknown";
}

bool
tl_alert_same_instance(const struct tl_alert *a, const struct tl_alert *b)
{
    const struct tl_cause *x = &a->cause;
    const struct tl_cause *y = &b->cause;
    return x->rule == y->rule && strncmp(x->station, y->station, TL_ID_CAP) == 0 &&
           tl_event_equal(a->event, b->event) &&
           strncmp(x->subject.node, y->subject.node, TL_ID_CAP) == 0 &&
           x->subject.incarnation == y->subject.incarnation &&
           x->subject.sequence == y->subject.sequence;
}

bool
tl_alert_is_listed(const struct tl_alert *set, uint32_t count, const struct tl_alert *alert)
{
    for (uint32_t i = 0; i < count; i++) {
        if (tl_alert_same_instance(&set[i], alert)) {
            return true;
        }
    }
    return false;
}
