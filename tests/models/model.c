/* SPDX-License-Identifier: Apache-2.0 */
/* model.c - see model.h. */
#include "tests/models/model.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* NOLINTBEGIN(cppcoreguidelines-avoid-non-const-global-variables): set once, or before each use */
/* Of all properties only this one; NULL = each. Constant once the model has begun. */
static const char *only;
/* NOLINTEND(cppcoreguidelines-avoid-non-const-global-variables) */

static struct tl_node *
add_node(struct tl_config *config, const char *id, enum tl_node_kind kind)
{
    struct tl_node *node = &config->node[config->node_count++];
    (void)snprintf(node->id, sizeof node->id, "%s", id);
    node->kind = kind;
    return node;
}

void
model_config(struct tl_config *config, uint32_t validators, const enum tl_rule *on, size_t count)
{
    only = getenv("MODEL_ONLY");
    memset(config, 0, sizeof *config);
    add_node(config, "wires", TL_NODE_STATION)->station = TL_STATION_WIRES;
    add_node(config, "primary", TL_NODE_STATION)->station = TL_STATION_PRIMARY;
    for (uint32_t i = 1; i <= validators; i++) {
        char id[TL_ID_CAP];
        (void)snprintf(id, sizeof id, "validator-%u", i);
        (void)add_node(config, id, TL_NODE_VALIDATOR);
    }
    (void)add_node(config, "viewer", TL_NODE_VIEWER);
    config->gear.engine_count = 1;
    config->gear.engine[0] = (struct tl_engine_gear){.unit = 1, .wire = 1, .in_service = true};
    for (uint32_t rule = 0; rule < TL_RULES_MAX; rule++) {
        config->ship.rule_off[rule] = true;
    }
    for (size_t i = 0; i < count; i++) {
        config->ship.rule_off[on[i]] = false;
    }
    memset(config->judgement_digest, 7, TL_DIGEST_LEN);
    memset(config->key_digest, 8, TL_DIGEST_LEN);
}

void
model_envelope(struct tl_envelope *envelope, const char *node, uint64_t life, uint64_t sequence,
               enum tl_body_kind body)
{
    memset(envelope, 0, sizeof *envelope);
    (void)snprintf(envelope->node, sizeof envelope->node, "%s", node);
    envelope->incarnation = life;
    envelope->sequence = sequence;
    envelope->body = body;
}

uint8_t
model_older(uint8_t age, unsigned oldest)
{
    if (age == MODEL_NONE) {
        return age;
    }
    return (uint8_t)(age < oldest ? age + 1u : oldest);
}

uint8_t
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): the order of all ages: now, then */
model_age(uint64_t now_ms, uint64_t then_ms, unsigned step_ms, unsigned oldest)
{
    uint64_t age = (now_ms - then_ms) / step_ms;
    return (uint8_t)(age < oldest ? age : oldest);
}

void
model_claim(uint8_t *broken, bool holds, unsigned number, const char *property)
{
    bool asked = only == NULL || strcmp(only, property) == 0;
    if (!holds && asked && *broken == 0) {
        *broken = (uint8_t)number;
        printf("violated: %s\n", property);
    }
}

void
model_same(const void *real, const void *templ, size_t size, const char *what)
{
    const uint8_t *a = real;
    const uint8_t *b = templ;
    for (size_t i = 0; memcmp(real, templ, size) != 0; i++) {
        if (a[i] != b[i]) {
            printf("abstraction: byte %zu of %s is not carried\n", i, what);
            exit(EXIT_FAILURE);
        }
    }
}
