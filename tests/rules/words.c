/* SPDX-License-Identifier: Apache-2.0 */
/* words.c - see words.h. */
#include "tests/rules/words.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

void
words_spoil(struct scene *scene, const struct word_row *row)
{
    if (row->unsaid) {
        scene_drop(scene, row->station, row->kind, row->slot);
        return;
    }
    struct tl_held *held = scene_held(scene, row->station, row->kind, row->slot);
    if (row->other_event) {
        held->datum.stated_for[0].pass = 2;
    } else {
        held->datum.as = row->value.as;
    }
}

void
words_each(const struct word_row *rows, size_t count)
{
    struct tl_told *before = calloc(1, sizeof *before);
    assert_non_null(before);
    for (size_t i = 0; i < count; i++) {
        struct scene *scene = scene_ready_full();
        scene_expect(scene, "before", "");
        struct tl_told *told = scene_told(scene, rows[i].station);
        memcpy(before, told, sizeof *before);
        words_spoil(scene, &rows[i]);
        scene_expect(scene, rows[i].name, rows[i].causes);
        memcpy(told, before, sizeof *before);
        scene_expect(scene, "after", "");
        free(scene);
    }
    free(before);
}

void
words_unproven(const struct word_row *rows, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        struct scene *scene = scene_ready_full();
        assert_true(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
        words_spoil(scene, &rows[i]);
        bool proven = tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS);
        if (proven != (rows[i].causes[0] == '\0')) {
            fail_msg("%s: proven %d", rows[i].name, proven);
        }
        free(scene);
    }
}

const struct tl_cause *
words_cause(const struct scene *scene, enum tl_rule rule)
{
    for (uint32_t i = 0; i < scene->decision.cause_count; i++) {
        if (scene->decision.cause[i].rule == (uint32_t)rule) {
            return &scene->decision.cause[i];
        }
    }
    return NULL;
}
