/* SPDX-License-Identifier: Apache-2.0 */
/*
 * checks_sea.c - rules about the wind over the deck and the motion of the ship. See check.h.
 *
 * What is too old is not known, and a limit is never judged by it.
 */
#include <string.h>

#include "broker/core/rules/check.h"

static const struct tl_sample *
sample_of(const struct tl_fold *fold, enum tl_sample_kind kind, uint64_t now_ms, uint64_t *age_ms)
{
    const struct tl_told *bridge = tl_told_of(fold, TL_STATION_BRIDGE, 0);
    for (uint32_t i = 0; bridge != NULL && i < bridge->sample_count; i++) {
        if (bridge->samples[i].kind == kind) {
            *age_ms = bridge->samples[i].age_ms + (now_ms - bridge->samples_ms);
            return &bridge->samples[i];
        }
    }
    return NULL;
}

const struct tl_wind *
tl_wind_of(const struct tl_fold *fold, uint64_t now_ms)
{
    uint64_t age_ms = 0;
    const struct tl_sample *sample = sample_of(fold, TL_SAMPLE_WIND, now_ms, &age_ms);
    if (sample == NULL) {
        return NULL;
    }
    uint64_t valid_ms = sample->as.wind.keyed ? 1000ull * fold->config->ship.keyed_wind_valid_s
                                              : fold->config->ship.wind_valid_ms;
    return age_ms <= valid_ms ? &sample->as.wind : NULL;
}

const struct tl_motion *
tl_motion_of(const struct tl_fold *fold, uint64_t now_ms)
{
    uint64_t age_ms = 0;
    const struct tl_sample *sample = sample_of(fold, TL_SAMPLE_MOTION, now_ms, &age_ms);
    bool fresh = sample != NULL && age_ms <= fold->config->ship.motion.valid_ms;
    return fresh ? &sample->as.motion : NULL;
}

enum tl_wind_state
tl_wind_now(const struct tl_fold *fold, uint64_t now_ms)
{
    const struct tl_wind *wind = tl_wind_of(fold, now_ms);
    return wind != NULL ? wind->state : TL_WIND_UNKNOWN;
}

void
tl_check_wind(struct tl_check *check)
{
    const struct tl_told *bridge = tl_told_of(check->fold, TL_STATION_BRIDGE, 0);
    enum tl_wind_state wind = tl_wind_now(check->fold, check->now_ms);
    if (check->current == NULL || wind == TL_WIND_KNOWN) {
        return;
    }
    struct tl_cause *cause =
        tl_cause_add(check, bridge != NULL ? bridge->node : NULL,
                     wind == TL_WIND_DISAGREE ? TL_CAUSE_WRONG : tl_due_state(check));
    tl_key_by_order(check, cause);
}

/* The wind that a limit can be judged by: known, for a pass; or NULL. */
static const struct tl_wind *
wind_to_judge(const struct tl_check *check)
{
    const struct tl_wind *wind = tl_wind_of(check->fold, check->now_ms);
    bool usable = check->current != NULL && wind != NULL && wind->state == TL_WIND_KNOWN;
    return usable ? wind : NULL;
}

static struct tl_cause *
add_reading(struct tl_check *check, enum tl_cause_state state)
{
    const struct tl_told *bridge = tl_told_of(check->fold, TL_STATION_BRIDGE, 0);
    struct tl_cause *cause = tl_cause_add(check, bridge != NULL ? bridge->node : NULL, state);
    if (state == TL_CAUSE_WRONG) {           /* then there is a bridge that said it */
        tl_key_by_held(cause, bridge, NULL); /* one situation, whoever is next */
    } else {
        tl_key_by_order(check, cause);
    }
    return cause;
}

void
tl_check_wind_low(struct tl_check *check)
{
    const struct tl_wind *wind = wind_to_judge(check);
    if (wind == NULL || check->type == NULL) {
        return;
    }
    int64_t needed = check->type->min_headwind_kt_x10;
    if (wind->headwind_kt_x10 < needed) {
        struct tl_cause *cause = add_reading(check, TL_CAUSE_WRONG);
        tl_cause_number(&cause->reported, wind->headwind_kt_x10);
        tl_cause_number(&cause->needed, needed);
    }
}

static int64_t
size_of(int64_t value)
{
    return value < 0 ? -value : value;
}

void
tl_check_crosswind(struct tl_check *check)
{
    const struct tl_wind *wind = wind_to_judge(check);
    int64_t most = check->fold->config->ship.crosswind_max_kt_x10;
    if (wind != NULL && size_of(wind->crosswind_kt_x10) > most) {
        struct tl_cause *cause = add_reading(check, TL_CAUSE_WRONG);
        tl_cause_number(&cause->reported, size_of(wind->crosswind_kt_x10));
        tl_cause_number(&cause->needed, most);
    }
}

/* One movement of the ship against its limit; figures in tenths of `unit`. */
struct movement {
    const struct tl_maybe *is;
    int64_t most;
    const char *word, *unit;
    bool hundredths;
};

/* Not said is one cause for all; over its limit is a cause each. */
static void
judge_movements(struct tl_check *check, const struct movement *movements, size_t count)
{
    bool missing = false;
    for (size_t i = 0; i < count; i++) {
        const struct movement *m = &movements[i];
        if (m->is == NULL || !m->is->known) {
            missing = true;
        } else if (size_of(m->is->value) > m->most) {
            int64_t scale = m->hundredths ? 10 : 1;
            struct tl_cause *cause = add_reading(check, TL_CAUSE_WRONG);
            tl_cause_number(&cause->reported, (size_of(m->is->value) + scale - 1) / scale);
            tl_cause_word(&cause->reported, m->word);
            tl_cause_number(&cause->needed, m->most / scale);
            tl_cause_word(&cause->needed, m->unit);
        }
    }
    if (missing) {
        (void)add_reading(check, tl_due_state(check));
    }
}

void
tl_check_not_steady(struct tl_check *check)
{
    const struct tl_motion_limits *limits = &check->fold->config->ship.motion;
    const struct tl_motion *motion = tl_motion_of(check->fold, check->now_ms);
    const struct movement movements[] = {
        {motion != NULL ? &motion->turn_deg_min_x10 : NULL, limits->turn_max_deg_min_x10, "turning",
         "deg/min", false},
        {motion != NULL ? &motion->roll_deg_x10 : NULL, limits->roll_max_deg_x10, "rolled", "deg",
         false},
    };
    if (check->current != NULL) {
        judge_movements(check, movements, sizeof movements / sizeof movements[0]);
    }
}

void
tl_check_deck_motion(struct tl_check *check)
{
    const struct tl_motion_limits *limits = &check->fold->config->ship.motion;
    const struct tl_motion *motion = tl_motion_of(check->fold, check->now_ms);
    const struct movement movements[] = {
        {motion != NULL ? &motion->pitch_deg_x10 : NULL, limits->pitch_max_deg_x10, "pitch", "deg",
         false},
        {motion != NULL ? &motion->heave_m_x100 : NULL, limits->heave_max_m_x100, "heave", "m",
         true},
    };
    if (check->current != NULL) {
        judge_movements(check, movements, sizeof movements / sizeof movements[0]);
    }
}
