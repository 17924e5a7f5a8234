/* SPDX-License-Identifier: Apache-2.0 */
/* fields.h - the fields of a picture and their values; the first of each is good. */
#ifndef TESTS_ORACLE_FIELDS_H
#define TESTS_ORACLE_FIELDS_H

#include "tests/rules/scene.h"

enum {
    FIELDS_MAX = 256,
    FIELD_VALUES_MAX = 20
};

/* How a value of a word differs from the good one. */
enum field_how {
    FIELD_SAID = 0,    /* `as`, for the current event, 5 s ago */
    FIELD_UNSAID,      /* never said */
    FIELD_UNKNOWN,     /* said to be unknown */
    FIELD_OTHER_EVENT, /* the good value, for another event */
    FIELD_AGED,        /* `as`, said `age_ms` ago */
    FIELD_BY_HAND      /* not a word: set by a function of its own */
};

struct field_value {
    enum field_how how;
    struct tl_datum as; /* its `as` alone counts */
    uint64_t age_ms;
    const char *text; /* for what is set by hand */
};

/* Which value of which field a function of its own shall set. */
struct field_setting {
    uint32_t value;
    uint32_t slot;
    const char *station;
    const char *text; /* of that value */
};

typedef void field_set_fn(struct scene *scene, const struct field_setting *to);

struct field {
    const char *name; /* for what is set by hand */
    const char *station;
    enum tl_datum_kind kind;
    uint32_t slot;
    uint32_t in_model; /* so many of its values are in the abstract model; 0 = it is not */
    uint32_t count;
    struct field_value value[FIELD_VALUES_MAX];
    field_set_fn *set; /* NULL: a word */
};

size_t fields_count(void);
const struct field *fields_at(size_t i);

/* A ship, where each word is held on it, and what that word is when it is good. */
struct fields_ship {
    struct scene *scene;
    struct tl_held *held_of[FIELDS_MAX];
    struct tl_held good[FIELDS_MAX];
};

/* The good picture on the full ship, with times of validity and dues before the ramp. */
bool fields_open(struct fields_ship *ship);
/* The values that make a pass into the barricade READY; all others 0. */
void fields_barricade(uint32_t *value);
/* Add to them that no rule on computed figures is on. */
void fields_uncomputed(uint32_t *value);
/* A word or a figure that those rules look at, or a rule that is off. */
bool fields_is_near_computed(const struct field *field);
/* Set every field that is not at its first value; and put them back. */
void fields_set(struct fields_ship *ship, const uint32_t *value);
void fields_restore(struct fields_ship *ship, const uint32_t *value);
/* Print the ship and the fields as JSON. */
void fields_describe(const struct scene *scene);

#endif
