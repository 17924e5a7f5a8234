/* SPDX-License-Identifier: Apache-2.0 */
/* check_judged.c - what a validator may tell of its inputs. */
#include "proto/codec/check.h"
#include "proto/vocab/rules.h"

enum {
    RULE_LAST = TL_RULES_MAX - 1
};

/* Has it, exactly when it owes it? */
static enum tl_refusal
judge_part(bool has, bool owes)
{
    if (has == owes) {
        return TL_FAULT_NONE;
    }
    return owes ? TL_REFUSAL_MISSING : TL_REFUSAL_RANGE;
}

static enum tl_refusal
first_fault(const enum tl_refusal *faults, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (faults[i] != TL_FAULT_NONE) {
            return faults[i];
        }
    }
    return TL_FAULT_NONE;
}

/* Who was refused may have no name; everything else is about somebody, and has no reason. */
static enum tl_refusal
judge_seen(const ProtobufCMessage *message)
{
    const wire_seen *seen = (const wire_seen *)message;
    bool refused = seen->rule == TL_RULE_REFUSED_PUBLISHER || seen->rule == TL_RULE_OTHER_BODY;
    if (!refused && seen->node[0] == '\0') {
        return TL_REFUSAL_MISSING;
    }
    return judge_part(seen->reason != TRAPLINE__V1__REFUSAL_REASON__REFUSAL_REASON_UNKNOWN,
                      refused);
}

static const struct tl_check_row seen_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .required = true, .max = RULE_LAST}, /* rule */
    {.field = 2, .kind = TL_CHECK_ID},                                       /* node */
    {.field = 3, .kind = TL_CHECK_UINT, .max = UINT64_MAX},                  /* incarnation */
    {.field = 4, .kind = TL_CHECK_ENUM},                                     /* reason */
    {.field = 5, .kind = TL_CHECK_FLAG},                                     /* gone */
};
static const struct tl_check_message check_seen = {
    .descriptor = &trapline__v1__seen__descriptor, TL_CHECK_ROWS(seen_rows), .rule = judge_seen};

static enum tl_refusal
judge_base(const ProtobufCMessage *message)
{
    const wire_base *base = (const wire_base *)message;
    return base->part > base->parts ? TL_REFUSAL_RANGE : TL_FAULT_NONE;
}

static const struct tl_check_row base_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .required = true, .max = TL_BASE_PARTS_MAX}, /* part */
    {.field = 2, .kind = TL_CHECK_UINT, .required = true, .max = TL_BASE_PARTS_MAX}, /* parts */
    {.field = 3, .kind = TL_CHECK_BYTES, .required = true, .max = TL_DIGEST_LEN},
    {.field = 4, .kind = TL_CHECK_BYTES, .required = true, .min = 1, .max = TL_BASE_PART_LEN},
};
static const struct tl_check_message check_base = {
    .descriptor = &trapline__v1__base__descriptor, TL_CHECK_ROWS(base_rows), .rule = judge_base};

/* NOT READY has a cause; READY may have notes; the first one has its rule, and only it. */
static enum tl_refusal
judge_outcome(const ProtobufCMessage *message)
{
    const wire_outcome *outcome = (const wire_outcome *)message;
    bool any = outcome->cause_count != 0;
    bool ready = outcome->word == TRAPLINE__V1__VERDICT_WORD__VERDICT_WORD_READY;
    if (!any && (!ready || outcome->station[0] != '\0')) {
        return ready ? TL_REFUSAL_RANGE : TL_REFUSAL_MISSING;
    }
    return judge_part(outcome->rule != 0, any);
}

static const struct tl_check_row outcome_rows[] = {
    {.field = 1, .kind = TL_CHECK_ENUM, .required = true},     /* word */
    {.field = 2, .kind = TL_CHECK_UINT, .max = TL_CAUSES_MAX}, /* cause_count */
    {.field = 3, .kind = TL_CHECK_UINT, .max = RULE_LAST},     /* rule */
    {.field = 4, .kind = TL_CHECK_ID},                         /* station */
    {.field = 5, .kind = TL_CHECK_BYTES, .required = true, .max = TL_DATA_DIGEST_LEN},
    {.field = 6, .kind = TL_CHECK_BYTES, .required = true, .max = TL_DATA_DIGEST_LEN},
    {.field = 7, .kind = TL_CHECK_BYTES, .required = true, .max = TL_DATA_DIGEST_LEN},
};
static const struct tl_check_message check_outcome = {.descriptor =
                                                          &trapline__v1__outcome__descriptor,
                                                      TL_CHECK_ROWS(outcome_rows),
                                                      .rule = judge_outcome};

/* Of what has an own part the part is there, and with nothing else. */
static enum tl_refusal
judge_judged(const ProtobufCMessage *message)
{
    const wire_judged *judged = (const wire_judged *)message;
    Trapline__V1__JudgedKind kind = judged->kind;
    bool applied = kind == TRAPLINE__V1__JUDGED_KIND__JUDGED_KIND_APPLIED;
    bool refused = kind == TRAPLINE__V1__JUDGED_KIND__JUDGED_KIND_REFUSED;
    bool predicted = kind == TRAPLINE__V1__JUDGED_KIND__JUDGED_KIND_PREDICTED;
    bool untold = kind == TRAPLINE__V1__JUDGED_KIND__JUDGED_KIND_TIME && judged->outcome == NULL;
    const enum tl_refusal parts[] = {
        judge_part(judged->reason != TRAPLINE__V1__REFUSAL_REASON__REFUSAL_REASON_UNKNOWN, refused),
        judge_part(judged->predicted != NULL, predicted),
        judge_part(judged->expected != NULL,
                   kind == TRAPLINE__V1__JUDGED_KIND__JUDGED_KIND_EXPECTED),
        judge_part(judged->seen != NULL, kind == TRAPLINE__V1__JUDGED_KIND__JUDGED_KIND_SEEN),
        judge_part(judged->basis != NULL, kind == TRAPLINE__V1__JUDGED_KIND__JUDGED_KIND_BASE),
        judged->said_age_ms != 0 && !applied && !refused ? TL_REFUSAL_RANGE : TL_FAULT_NONE,
        judged->sea_late_ms != 0 && !predicted ? TL_REFUSAL_RANGE : TL_FAULT_NONE,
        untold ? TL_REFUSAL_MISSING : TL_FAULT_NONE,
    };
    return first_fault(parts, sizeof parts / sizeof parts[0]);
}

static const struct tl_check_row judged_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .max = UINT64_MAX}, /* now_ms */
    {.field = 2, .kind = TL_CHECK_ID, .required = true},    /* node */
    {.field = 3, .kind = TL_CHECK_UINT, .max = UINT64_MAX}, /* incarnation; 0 = never heard */
    {.field = 4, .kind = TL_CHECK_UINT, .max = UINT64_MAX}, /* sequence; 0 = the node */
    {.field = 5, .kind = TL_CHECK_ENUM, .required = true},  /* kind */
    {.field = 6, .kind = TL_CHECK_ENUM},                    /* reason */
    {.field = 7, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_predicted},
    {.field = 8, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_expected},
    {.field = 9, .kind = TL_CHECK_UINT, .max = UINT32_MAX},  /* said_age_ms */
    {.field = 10, .kind = TL_CHECK_UINT, .max = UINT64_MAX}, /* sea_late_ms */
    {.field = 11, .kind = TL_CHECK_MESSAGE, .sub = &check_seen},
    {.field = 12, .kind = TL_CHECK_MESSAGE, .sub = &check_base},
    {.field = 13, .kind = TL_CHECK_MESSAGE, .sub = &check_outcome},
};
const struct tl_check_message tl_check_judged = {.descriptor = &trapline__v1__judged__descriptor,
                                                 TL_CHECK_ROWS(judged_rows),
                                                 .rule = judge_judged};
