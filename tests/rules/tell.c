/* SPDX-License-Identifier: Apache-2.0 */
/* tell.c - see tell.h. */
#include "tests/rules/tell.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "broker/core/picture/word.h"

static const char *
state_word(enum tl_cause_state state)
{
    switch (state) {
    case TL_CAUSE_WRONG:
        return "wrong";
    case TL_CAUSE_OVERDUE:
        return "overdue";
    case TL_CAUSE_PENDING:
        return "pending";
    case TL_CAUSE_HOLDING:
        return "holding";
    case TL_CAUSE_NOTE:
        return "note";
    case TL_CAUSE_OVERRIDDEN:
        return "overridden";
    case TL_CAUSE_UNKNOWN:
        break;
    }
    return "unknown";
}

static void
write_value(FILE *file, const char *name, const struct tl_cause_value *value)
{
    if (value->known) {
        (void)fprintf(file, " %s %" PRId64 "%s%s", name, value->number,
                      value->word[0] != '\0' ? "/" : "", value->word);
    }
}

/* By the datum that has that number, so that a line stays as it is when a scene gets more words. */
static void
write_key(FILE *file, const struct tl_fold *fold, const struct tl_subject *key)
{
    const struct tl_told *told = tl_fold_told_const(fold, key->node);
    bool present = told != NULL && told->incarnation == key->incarnation;
    (void)fprintf(file, " key %s", key->node);
    if (!present && key->incarnation != 0) {
        (void)fprintf(file, "!%" PRIu64, key->incarnation);
    }
    for (uint32_t i = 0; present && i < told->held_count; i++) {
        const struct tl_datum *datum = &told->held[i].datum;
        if (datum->sequence == key->sequence) {
            (void)fprintf(file, " %s %" PRIu32, tl_datum_kind_name(datum->kind), datum->slot);
            return;
        }
    }
    if (key->sequence != 0) {
        (void)fprintf(file, " #%" PRIu64, key->sequence);
    }
}

static void
write_cause(FILE *file, const struct tl_fold *fold, const struct tl_cause *cause)
{
    (void)fprintf(file, "%s%s%s %s", tl_rule_row(cause->rule)->name,
                  cause->station[0] != '\0' ? ":" : "", cause->station, state_word(cause->state));
    write_value(file, "said", &cause->reported);
    write_value(file, "needs", &cause->needed);
    if (cause->subject.node[0] != '\0') {
        write_key(file, fold, &cause->subject);
    }
    if (cause->reason != TL_REFUSAL_UNKNOWN) {
        (void)fprintf(file, " reason %d", (int)cause->reason);
    }
}

const char *
tell_causes(struct scene *scene, char *dst, size_t cap)
{
    FILE *file = fmemopen(dst, cap, "w");
    assert_non_null(file);
    tl_people_update(&scene->fold, SCENE_NOW_MS);
    tl_decide(&scene->fold, &scene->outside, SCENE_NOW_MS, &scene->decision);
    for (uint32_t i = 0; i < scene->decision.cause_count; i++) {
        (void)fprintf(file, "%s", i > 0 ? "\n" : "");
        write_cause(file, &scene->fold, &scene->decision.cause[i]);
    }
    (void)fputc('\0', file);
    (void)fclose(file);
    return dst;
}

void
tell_expect(struct scene *scene, const char *row, const char *lines)
{
    char text[8192];
    (void)tell_causes(scene, text, sizeof text);
    if (strcmp(text, lines) != 0) {
        fail_msg("%s: wanted\n%s\ngot\n%s", row, lines, text);
    }
}

void
tell_lose(struct scene *scene, const char *station)
{
    struct tl_told *told = scene_told(scene, station);
    told->live = false;
    told->away_ms = SCENE_NOW_MS - 5000;
    told->echo_sent_ms = SCENE_NOW_MS - 5000;
}

struct tl_held *
tell_voice(struct scene *scene, const char *signer, const char *station,
           const struct tl_datum *word)
{
    struct tl_told *told = scene_told(scene, signer);
    struct tl_held *held = &told->held[told->held_count++];
    assert_true(told->held_count <= TL_DATA_MAX);
    memset(held, 0, sizeof *held);
    held->datum = *word;
    held->datum.known = true;
    held->datum.sequence = 100 + told->held_count;
    memcpy(held->datum.voice_for, station, strlen(station) + 1);
    held->datum.stated_for_count = 1;
    held->datum.stated_for[0] = scene_event();
    held->said_ms = SCENE_NOW_MS - 2000;
    return held;
}

void
tell_voices(struct scene *scene, const char *one, const char *two, const char *station,
            const struct tl_datum *word)
{
    (void)tell_voice(scene, one, station, word);
    (void)tell_voice(scene, two, station, word);
}

void
tell_remove(struct scene *scene, const char *station)
{
    for (uint32_t i = 0; i < scene->config.node_count; i++) {
        if (strcmp(scene->config.node[i].id, station) == 0) {
            scene->config.node[i].station = TL_STATION_UNKNOWN;
        }
    }
}
