/* SPDX-License-Identifier: Apache-2.0 */
/* check_validator.c - what a validator may publish: receipts, verdicts, pictures and alerts. */
#include <string.h>

#include "proto/codec/check.h"
#include "proto/codec/map.h"
#include "proto/vocab/rules.h"
#include "proto/vocab/wear.h"

/* Ids of rules index tables of that size in every program. */
enum {
    RULE_LAST = TL_RULES_MAX - 1
};

static const struct tl_check_row refused_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .required = true, .max = UINT64_MAX}, /* sequence */
    {.field = 2, .kind = TL_CHECK_ENUM, .required = true},                    /* reason */
    {.field = 3, .kind = TL_CHECK_UINT, .max = RULE_LAST},                    /* rule */
};
static const struct tl_check_message check_refused = {
    .descriptor = &trapline__v1__refused__descriptor, TL_CHECK_ROWS(refused_rows)};

/* "A newer life is known" names one that is not older than the addressee's. */
static enum tl_refusal
judge_receipt(const ProtobufCMessage *message)
{
    const wire_receipt *receipt = (const wire_receipt *)message;
    bool lower =
        receipt->higher_incarnation != 0 && receipt->higher_incarnation < receipt->for_incarnation;
    return lower ? TL_REFUSAL_RANGE : TL_FAULT_NONE;
}

static const struct tl_check_row receipt_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .required = true, .max = UINT64_MAX}, /* for_incarnation */
    {.field = 2, .kind = TL_CHECK_UINT, .max = UINT64_MAX},                   /* through */
    {.field = 3, .kind = TL_CHECK_MESSAGE, .count_max = TL_REFUSED_MAX, .sub = &check_refused},
    {.field = 4, .kind = TL_CHECK_UINT, .max = UINT64_MAX}, /* nonce */
    {.field = 5, .kind = TL_CHECK_UINT, .max = UINT64_MAX}, /* verdict */
    {.field = 6, .kind = TL_CHECK_UINT, .max = UINT64_MAX}, /* higher_incarnation */
    {.field = 7, .kind = TL_CHECK_UINT, .max = UINT32_MAX}, /* oldest_ms */
};
const struct tl_check_message tl_check_receipt = {.descriptor = &trapline__v1__receipt__descriptor,
                                                  TL_CHECK_ROWS(receipt_rows),
                                                  .rule = judge_receipt};

static const struct tl_check_row subject_rows[] = {
    {.field = 1, .kind = TL_CHECK_ID, .required = true},    /* node */
    {.field = 2, .kind = TL_CHECK_UINT, .max = UINT64_MAX}, /* incarnation; 0 = never heard */
    {.field = 3, .kind = TL_CHECK_UINT, .max = UINT64_MAX}, /* sequence; 0 = the node */
};
static const struct tl_check_message check_subject = {
    .descriptor = &trapline__v1__subject__descriptor, TL_CHECK_ROWS(subject_rows)};

static const struct tl_check_row cause_value_rows[] = {
    {.field = 1, .kind = TL_CHECK_SINT, .min = INT64_MIN, .max = INT64_MAX}, /* number */
    {.field = 2, .kind = TL_CHECK_TEXT, .max = TL_TYPE_CAP - 1},             /* word */
};
static const struct tl_check_message check_cause_value = {
    .descriptor = &trapline__v1__cause_value__descriptor,
    TL_CHECK_ROWS(cause_value_rows),
    .may_be_empty = true}; /* known, and 0 */

static const struct tl_check_row cause_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .required = true, .max = RULE_LAST}, /* rule */
    {.field = 2, .kind = TL_CHECK_ID},                                       /* station */
    {.field = 3, .kind = TL_CHECK_ENUM, .required = true},                   /* state */
    {.field = 4, .kind = TL_CHECK_MESSAGE, .sub = &check_subject},
    {.field = 5, .kind = TL_CHECK_MESSAGE, .sub = &check_cause_value}, /* reported */
    {.field = 6, .kind = TL_CHECK_MESSAGE, .sub = &check_cause_value}, /* needed */
    {.field = 7, .kind = TL_CHECK_ENUM},                               /* reason */
    {.field = 8, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_would},
};
static const struct tl_check_message check_cause = {.descriptor = &trapline__v1__cause__descriptor,
                                                    TL_CHECK_ROWS(cause_rows)};

/*
 * READY has nothing against it; NOT READY says what, and of which kind. What a setting would do is
 * in the picture: a verdict is small enough to be sent at once, whatever it says.
 */
static enum tl_refusal
judge_verdict(const ProtobufCMessage *message)
{
    const wire_verdict *verdict = (const wire_verdict *)message;
    bool has_kind = verdict->kind != TRAPLINE__V1__CAUSE_KIND__CAUSE_KIND_UNKNOWN;

    if (verdict->is_tick && verdict->tick == 0) {
        return TL_REFUSAL_MISSING;
    }
    if (verdict->word == TRAPLINE__V1__VERDICT_WORD__VERDICT_WORD_READY) {
        bool against = verdict->first != NULL || verdict->cause_count != 0 || has_kind;
        return against ? TL_REFUSAL_RANGE : TL_FAULT_NONE;
    }
    if (verdict->first != NULL && verdict->first->would != NULL) {
        return TL_REFUSAL_RANGE;
    }
    bool said = verdict->first != NULL && verdict->cause_count != 0 && has_kind;
    return said ? TL_FAULT_NONE : TL_REFUSAL_MISSING;
}

static const struct tl_check_row verdict_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .max = UINT64_MAX}, /* tick; 0 before the first */
    {.field = 2, .kind = TL_CHECK_ENUM, .required = true},  /* word */
    {.field = 3, .kind = TL_CHECK_ENUM},                    /* kind */
    {.field = 4, .kind = TL_CHECK_FLAG},                    /* list_heard */
    {.field = 5, .kind = TL_CHECK_MESSAGE, .sub = &check_cause},
    {.field = 6, .kind = TL_CHECK_UINT, .max = TL_CHECK_CAUSES_MAX}, /* cause_count */
    {.field = 7, .kind = TL_CHECK_UINT, .max = UINT64_MAX},          /* picture */
    {.field = 8, .kind = TL_CHECK_BYTES, .required = true, .max = TL_DIGEST_LEN},
    {.field = 9, .kind = TL_CHECK_BYTES, .required = true, .max = TL_DIGEST_LEN},
    {.field = 10, .kind = TL_CHECK_ID, .count_max = TL_VALIDATORS_MAX}, /* out_of_service */
    {.field = 11, .kind = TL_CHECK_FLAG},                               /* drill */
    {.field = 12, .kind = TL_CHECK_FLAG},                               /* is_tick */
};
const struct tl_check_message tl_check_verdict = {.descriptor = &trapline__v1__verdict__descriptor,
                                                  TL_CHECK_ROWS(verdict_rows),
                                                  .rule = judge_verdict};

static enum tl_refusal
judge_station(const ProtobufCMessage *message)
{
    const wire_station *station = (const wire_station *)message;
    return tl_check_names_differ(station->data, station->n_data);
}

static const struct tl_check_row station_rows[] = {
    {.field = 1, .kind = TL_CHECK_ID, .required = true},    /* node */
    {.field = 2, .kind = TL_CHECK_UINT, .max = UINT64_MAX}, /* incarnation; 0 = never heard */
    {.field = 3, .kind = TL_CHECK_ENUM, .required = true},  /* live */
    {.field = 4, .kind = TL_CHECK_UINT, .max = UINT32_MAX}, /* age_ms */
    {.field = 5, .kind = TL_CHECK_UINT, .max = UINT64_MAX}, /* applied */
    {.field = 6, .kind = TL_CHECK_BYTES, .required = true, .max = TL_DATA_DIGEST_LEN},
    {.field = 7, .kind = TL_CHECK_MESSAGE, .count_max = TL_DATA_MAX, .sub = &tl_check_datum},
    {.field = 8, .kind = TL_CHECK_MESSAGE, .count_max = TL_SAMPLES_MAX, .sub = &tl_check_sample},
    {.field = 9, .kind = TL_CHECK_FLAG}, /* by_voice */
};
static const struct tl_check_message check_station = {.descriptor =
                                                          &trapline__v1__station_state__descriptor,
                                                      TL_CHECK_ROWS(station_rows),
                                                      .rule = judge_station};

static const struct tl_check_row listed_rows[] = {
    {.field = 1, .kind = TL_CHECK_MESSAGE, .required = true, .sub = &tl_check_event},
    {.field = 2, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_order},
    {.field = 3, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_result},
    {.field = 4, .kind = TL_CHECK_FLAG}, /* ended */
};
static const struct tl_check_message check_listed = {
    .descriptor = &trapline__v1__listed_event__descriptor, TL_CHECK_ROWS(listed_rows)};

static const struct tl_check_row voiced_rows[] = {
    {.field = 1, .kind = TL_CHECK_ID, .required = true}, /* station */
    {.field = 2, .kind = TL_CHECK_MESSAGE, .required = true, .sub = &tl_check_datum},
    {.field = 3, .kind = TL_CHECK_ID, .required = true}, /* said_by */
    {.field = 4, .kind = TL_CHECK_ID},                   /* confirmed_by */
};
static const struct tl_check_message check_voiced = {
    .descriptor = &trapline__v1__voiced__descriptor, TL_CHECK_ROWS(voiced_rows)};

static const struct tl_check_row override_live_rows[] = {
    {.field = 1, .kind = TL_CHECK_MESSAGE, .required = true, .sub = &tl_check_word_override},
    {.field = 2, .kind = TL_CHECK_ID, .required = true},    /* said_by */
    {.field = 3, .kind = TL_CHECK_ID},                      /* confirmed_by */
    {.field = 4, .kind = TL_CHECK_UINT, .max = UINT32_MAX}, /* left_s */
};
static const struct tl_check_message check_override_live = {
    .descriptor = &trapline__v1__override_live__descriptor, TL_CHECK_ROWS(override_live_rows)};

static bool
is_shown_before(const wire_picture *picture, size_t i)
{
    for (size_t j = 0; j < i; j++) {
        if (strcmp(picture->station[j]->node, picture->station[i]->node) == 0) {
            return true;
        }
    }
    return false;
}

static bool
is_expected_before(const wire_picture *picture, size_t i)
{
    for (size_t j = 0; j < i; j++) {
        if (picture->expected[j]->unit == picture->expected[i]->unit) {
            return true;
        }
    }
    return false;
}

/*
 * One entry a station, and an engine: a reader that takes the first must see what one that takes
 * the last sees. So with passes that ended, which rise.
 */
static enum tl_refusal
judge_picture(const ProtobufCMessage *message)
{
    const wire_picture *picture = (const wire_picture *)message;

    for (size_t i = 1; i < picture->n_station; i++) {
        if (is_shown_before(picture, i)) {
            return TL_REFUSAL_TOO_MANY;
        }
    }
    for (size_t i = 1; i < picture->n_expected; i++) {
        if (is_expected_before(picture, i)) {
            return TL_REFUSAL_TOO_MANY;
        }
    }
    for (size_t i = 1; i < picture->n_ended; i++) {
        if (!tl_event_after(tl_map_event_in(picture->ended[i]->event),
                            tl_map_event_in(picture->ended[i - 1]->event))) {
            return TL_REFUSAL_RANGE;
        }
    }
    return TL_FAULT_NONE;
}

static const struct tl_check_row picture_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .required = true, .max = UINT64_MAX}, /* number */
    {.field = 2, .kind = TL_CHECK_FLAG},                                      /* list_heard */
    {.field = 3, .kind = TL_CHECK_UINT, .max = UINT64_MAX},                   /* recovery_ms */
    {.field = 4, .kind = TL_CHECK_FLAG},                                      /* open */
    {.field = 5, .kind = TL_CHECK_FLAG},                                      /* drill */
    {.field = 6, .kind = TL_CHECK_MESSAGE, .count_max = TL_LIST_MAX, .sub = &check_listed},
    {.field = 7, .kind = TL_CHECK_MESSAGE, .count_max = TL_STATIONS_MAX, .sub = &check_station},
    {.field = 8, .kind = TL_CHECK_MESSAGE, .count_max = TL_CAUSES_MAX, .sub = &check_cause},
    {.field = 9, .kind = TL_CHECK_UINT, .max = UINT32_MAX},  /* highest_pass */
    {.field = 10, .kind = TL_CHECK_UINT, .max = UINT64_MAX}, /* highest_recovery_ms */
    {.field = 11, .kind = TL_CHECK_MESSAGE, .sub = &check_listed},
    {.field = 12, .kind = TL_CHECK_MESSAGE, .count_max = TL_VOICED_MAX, .sub = &check_voiced},
    {.field = 13,
     .kind = TL_CHECK_MESSAGE,
     .count_max = TL_OVERRIDES_MAX,
     .sub = &check_override_live},
    {.field = 14, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_predicted},
    {.field = 15, .kind = TL_CHECK_MESSAGE, .count_max = TL_ENGINES_MAX, .sub = &tl_check_expected},
    {.field = 16, .kind = TL_CHECK_MESSAGE, .count_max = TL_ENDED_SHOWN, .sub = &tl_check_ended},
};
const struct tl_check_message tl_check_picture = {.descriptor = &trapline__v1__picture__descriptor,
                                                  TL_CHECK_ROWS(picture_rows),
                                                  .rule = judge_picture};

static const struct tl_check_row alert_rows[] = {
    {.field = 1, .kind = TL_CHECK_MESSAGE, .required = true, .sub = &check_cause},
    {.field = 2, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_event},
    {.field = 3, .kind = TL_CHECK_ENUM, .required = true},  /* severity */
    {.field = 4, .kind = TL_CHECK_UINT, .max = UINT32_MAX}, /* raised_age_ms */
    {.field = 5, .kind = TL_CHECK_ENUM, .required = true},  /* state */
    {.field = 6, .kind = TL_CHECK_UINT, .max = UINT32_MAX}, /* owed */
    {.field = 7, .kind = TL_CHECK_UINT, .max = UINT32_MAX}, /* acknowledged */
    {.field = 8, .kind = TL_CHECK_UINT, .max = UINT32_MAX}, /* delivered */
};
static const struct tl_check_message check_alert = {.descriptor = &trapline__v1__alert__descriptor,
                                                    TL_CHECK_ROWS(alert_rows)};

static const struct tl_check_row alert_set_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .max = UINT64_MAX}, /* picture */
    {.field = 2, .kind = TL_CHECK_MESSAGE, .count_max = TL_ALERTS_MAX, .sub = &check_alert},
};
const struct tl_check_message tl_check_alert_set = {.descriptor =
                                                        &trapline__v1__alert_set__descriptor,
                                                    TL_CHECK_ROWS(alert_set_rows),
                                                    .may_be_empty = true}; /* no alert is active */
