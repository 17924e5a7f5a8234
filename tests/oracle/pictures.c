/* SPDX-License-Identifier: Apache-2.0 */
/*
 * pictures - pictures of a ship, by enumeration or by chance, and what the judgement says of each
 *
 *   pictures describe             the ship, and every field with all its values, as JSON
 *   pictures single               the good picture, and every value of every field by itself
 *   pictures pairs                every two fields over all their values, all else good
 *   pictures model                the fields of the abstract model, in full
 *   pictures random COUNT SEED    by chance: a few fields of each picture are not good
 *   pictures these                those on standard input, one a line, FIELD=VALUE as they are printed
 *   pictures count COUNT SEED     the same without output: how many were READY, and how many a second
 *
 * With `barricade` as the last word the good picture is that of a pass into the barricade; with
 * `computed`, only what the rules on computed figures look at is not good, and oftener. In `model`
 * those rules are off.
 *
 * A picture is one value for each field. Output is a line a picture: the number of the value of
 * each field that is not the first (good) one, as FIELD=VALUE, a tab, READY or NOT, a tab, and each
 * cause that forces, is held or is overridden, and each note, as RULE:STATION:STATE, in order.
 *
 * tests/oracle/oracle.py judges the same pictures from the description and docs/rules.md alone.
 */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "broker/core/picture/word.h"
#include "tests/oracle/fields.h"
#include "tests/support/splitmix.h"

static void
die(const char *what)
{
    (void)fprintf(stderr, "pictures: %s\n", what);
    exit(64);
}

static const char *
state_name(enum tl_cause_state state)
{
    static const char *const names[] = {
        [TL_CAUSE_UNKNOWN] = "unknown",      [TL_CAUSE_WRONG] = "wrong",
        [TL_CAUSE_PENDING] = "pending",      [TL_CAUSE_OVERDUE] = "overdue",
        [TL_CAUSE_HOLDING] = "holding",      [TL_CAUSE_NOTE] = "note",
        [TL_CAUSE_OVERRIDDEN] = "overridden"};
    return names[state];
}

static void
judge(struct scene *scene)
{
    tl_people_update(&scene->fold, SCENE_NOW_MS);
    tl_decide(&scene->fold, &scene->outside, SCENE_NOW_MS, &scene->decision);
}

static void
print_picture(struct scene *scene, const uint32_t *value)
{
    const char *space = "";
    for (size_t i = 0; i < fields_count(); i++) {
        if (value[i] != 0) {
            (void)printf("%s%zu=%" PRIu32, space, i, value[i]);
            space = " ";
        }
    }
    (void)printf("\t%s\t", scene->decision.word == TL_WORD_READY ? "READY" : "NOT");
    space = "";
    for (uint32_t i = 0; i < scene->decision.cause_count; i++) {
        const struct tl_cause *cause = &scene->decision.cause[i];
        (void)printf("%s%" PRIu32 ":%s:%s", space, cause->rule, cause->station,
                     state_name(cause->state));
        space = " ";
    }
    (void)printf("\n");
}

/* The pictures of one ship. */
struct walk {
    struct fields_ship ship;
    uint32_t base[FIELDS_MAX]; /* the good value of each field: 0, but for the barricade */
    uint32_t value[FIELDS_MAX];
    bool near_computed; /* nothing else is drawn */
};

/* Set what is not good, judge, print, put it back. */
static void
one(struct walk *walk)
{
    fields_set(&walk->ship, walk->value);
    judge(walk->ship.scene);
    print_picture(walk->ship.scene, walk->value);
    fields_restore(&walk->ship, walk->value);
}

static void
single(struct walk *walk)
{
    one(walk);
    for (size_t i = 0; i < fields_count(); i++) {
        for (walk->value[i] = 0; walk->value[i] < fields_at(i)->count; walk->value[i]++) {
            if (walk->value[i] != walk->base[i]) {
                one(walk);
            }
        }
        walk->value[i] = walk->base[i];
    }
}

/* Every value of every later field, with what is set of the earlier ones. */
static void
each_after(struct walk *walk, size_t i)
{
    for (size_t k = i + 1; k < fields_count(); k++) {
        for (walk->value[k] = 0; walk->value[k] < fields_at(k)->count; walk->value[k]++) {
            if (walk->value[k] != walk->base[k]) {
                one(walk);
            }
        }
        walk->value[k] = walk->base[k];
    }
}

static void
pairs(struct walk *walk)
{
    for (size_t i = 0; i < fields_count(); i++) {
        for (walk->value[i] = 0; walk->value[i] < fields_at(i)->count; walk->value[i]++) {
            if (walk->value[i] != walk->base[i]) {
                each_after(walk, i);
            }
        }
        walk->value[i] = walk->base[i];
    }
}

/* Every combination of the fields of the model, from that one on. */
static void
model_from(struct walk *walk, size_t at)
{
    while (at < fields_count() && fields_at(at)->in_model == 0) {
        at++;
    }
    if (at == fields_count()) {
        one(walk);
        return;
    }
    for (uint32_t k = 0; k < fields_at(at)->in_model; k++) {
        walk->value[at] = k;
        model_from(walk, at + 1);
    }
    walk->value[at] = walk->base[at];
}

/* None to all of them: how many are not good is itself by chance, mostly few. */
static void
draw(uint64_t *state, struct walk *walk)
{
    uint64_t thousandth =
        5 + (splitmix(state) % 8 == 0 ? splitmix(state) % 400 : splitmix(state) % 40);
    thousandth *= walk->near_computed ? 4 : 1;
    for (size_t i = 0; i < fields_count(); i++) {
        bool fixed = walk->near_computed && !fields_is_near_computed(fields_at(i));
        bool good = fixed || splitmix(state) % 1000 >= thousandth;
        walk->value[i] = good ? walk->base[i] : (uint32_t)(splitmix(state) % fields_at(i)->count);
    }
}

static void
chance(struct walk *walk, uint64_t count, uint64_t seed, bool print)
{
    struct timespec from;
    struct timespec to;
    const struct scene *scene = walk->ship.scene;
    uint64_t ready = 0;
    (void)clock_gettime(CLOCK_MONOTONIC, &from);
    for (uint64_t i = 0; i < count; i++) {
        draw(&seed, walk);
        if (print) {
            one(walk);
            continue;
        }
        fields_set(&walk->ship, walk->value);
        judge(walk->ship.scene);
        ready += scene->decision.word == TL_WORD_READY ? 1 : 0;
        if ((scene->decision.word == TL_WORD_READY) != (scene->decision.forcing == 0)) {
            die("READY and a forcing cause");
        }
        fields_restore(&walk->ship, walk->value);
    }
    (void)clock_gettime(CLOCK_MONOTONIC, &to);
    double s = (double)(to.tv_sec - from.tv_sec) + (double)(to.tv_nsec - from.tv_nsec) / 1e9;
    if (!print) {
        (void)printf("%" PRIu64 " pictures, %" PRIu64 " READY, %.0f a second\n", count, ready,
                     (double)count / s);
    }
}

static void
these(struct walk *walk)
{
    char line[4096];
    while (fgets(line, sizeof line, stdin) != NULL) {
        char *at = line;
        memset(walk->value, 0, sizeof walk->value);
        while (*at >= '0' && *at <= '9') {
            size_t field = strtoul(at, &at, 10);
            uint64_t value = *at == '=' ? strtoull(at + 1, &at, 10) : UINT64_MAX;
            if (field >= fields_count() || value >= fields_at(field)->count) {
                die("not FIELD=VALUE ...");
            }
            walk->value[field] = (uint32_t)value;
            at += strspn(at, " ");
        }
        one(walk);
    }
}

int
main(int argc, char **argv)
{
    const char *verb = argc > 1 ? argv[1] : "";
    struct walk *walk = calloc(1, sizeof *walk);
    if (walk == NULL || !fields_open(&walk->ship)) {
        die("no memory");
    }
    if (argc > 2 && strcmp(argv[argc - 1], "barricade") == 0) {
        fields_barricade(walk->base);
        argc--;
    } else if (argc > 2 && strcmp(argv[argc - 1], "computed") == 0) {
        walk->near_computed = true;
        argc--;
    }
    if (strcmp(verb, "model") == 0) {
        fields_uncomputed(walk->base);
    }
    memcpy(walk->value, walk->base, sizeof walk->value);
    bool by_chance = strcmp(verb, "random") == 0 || strcmp(verb, "count") == 0;
    if (by_chance && argc == 4) {
        chance(walk, strtoull(argv[2], NULL, 10), strtoull(argv[3], NULL, 10), verb[0] == 'r');
    } else if (strcmp(verb, "describe") == 0) {
        fields_describe(walk->ship.scene);
    } else if (strcmp(verb, "single") == 0) {
        single(walk);
    } else if (strcmp(verb, "pairs") == 0) {
        pairs(walk);
    } else if (strcmp(verb, "these") == 0) {
        these(walk);
    } else if (strcmp(verb, "model") == 0) {
        model_from(walk, 0);
    } else {
        die("describe, single, pairs, model, these, random COUNT SEED or count COUNT SEED");
    }
    free(walk->ship.scene);
    free(walk);
    return 0;
}
