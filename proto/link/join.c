/* SPDX-License-Identifier: Apache-2.0 */
/* join.c - see join.h. */
#include "proto/link/join.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "proto/base/clock.h"
#include "proto/base/conf.h"
#include "proto/base/log.h"

enum {
    WHY_CAP = 1024
};

static enum tl_exit
fail(const struct tl_join_options *options, enum tl_exit code, const char *why)
{
    tl_log_fault("%s: %s", options->program, why);
    return code;
}

/* The first node of that kind whose secret file is here; many viewers share one host. */
static const struct tl_node *
find_local_node(const struct tl_join_options *options, const struct tl_config *config)
{
    for (uint32_t i = 0; i < config->node_count; i++) {
        const struct tl_node *node = &config->node[i];
        for (uint32_t k = 0; node->kind == options->kind && k < config->key_count; k++) {
            if (strncmp(config->key[k].node, node->id, TL_ID_CAP) == 0 &&
                tl_identity_is_here(config, node->id, config->key[k].epoch)) {
                return node;
            }
        }
    }
    return NULL;
}

static enum tl_exit
choose_node(const struct tl_join_options *options, struct tl_join *join)
{
    char why[WHY_CAP];
    if (options->node == NULL) {
        join->node = find_local_node(options, &join->config);
        if (join->node == NULL) {
            (void)snprintf(why, sizeof why,
                           "no identity of a %s in %s; make one with 'trapline keys new'",
                           tl_node_kind_name(options->kind), join->config.identity_dir);
            return fail(options, TL_EXIT_CONFIG, why);
        }
        return TL_EXIT_OK;
    }
    join->node = tl_config_node(&join->config, options->node);
    if (join->node == NULL || join->node->kind != options->kind) {
        (void)snprintf(why, sizeof why, "stations.yaml has no %s named '%.40s'; see its nodes",
                       tl_node_kind_name(options->kind), options->node);
        return fail(options, TL_EXIT_CONFIG, why);
    }
    return TL_EXIT_OK;
}

enum tl_exit
tl_join_configure(const struct tl_join_options *options, struct tl_join *join)
{
    struct tl_conf_fault fault;
    memset(join, 0, sizeof *join);
    join->lock.fd = -1;
    tl_notify_open(&join->notify);
    (void)snprintf(join->dir, sizeof join->dir, "%s", options->dir);
    if (tl_conf_load(options->dir, &join->config, &fault) != TL_OK) {
        tl_conf_print_fault(&fault);
        return TL_EXIT_CONFIG;
    }
    return choose_node(options, join);
}

static enum tl_exit
take_life(const struct tl_join_options *options, struct tl_join *join)
{
    char why[WHY_CAP];
    if (options->alone && tl_incarnation_lock(join->config.state_dir, join->node->id, &join->lock,
                                              why, sizeof why) != TL_OK) {
        return fail(options, TL_EXIT_FAILED, why);
    }
    if (tl_incarnation_take(join->config.state_dir, join->node->id, options->incarnation_above,
                            tl_clock_wall_ms(), &join->incarnation, why, sizeof why) != TL_OK) {
        return fail(options, TL_EXIT_FAILED, why);
    }
    return TL_EXIT_OK;
}

enum tl_exit
tl_join_open(const struct tl_join_options *options, struct tl_join *join)
{
    char why[WHY_CAP];
    if (tl_identity_open(&join->config, join->node->id, 0, &join->identity, why, sizeof why) !=
        TL_OK) {
        return fail(options, TL_EXIT_CONFIG, why);
    }
    enum tl_exit life = take_life(options, join);
    if (life != TL_EXIT_OK || options->off_the_bus) {
        return life;
    }
    struct tl_link_options link = {.config = &join->config,
                                   .identity = &join->identity,
                                   .incarnation = join->incarnation,
                                   .listen = options->listen,
                                   .listen_count = options->listen_count};
    if (tl_link_open(&link, &join->link, why, sizeof why) != TL_OK) {
        return fail(options, TL_EXIT_FAILED, why);
    }
    return TL_EXIT_OK;
}

void
tl_join_close(struct tl_join *join)
{
    tl_notify_close(&join->notify);
    tl_link_close(&join->link);
    tl_incarnation_unlock(&join->lock);
    tl_identity_close(&join->identity);
}

enum tl_err
tl_join_reload_keys(struct tl_join *join, char said[TL_REKEY_CAP])
{
    struct tl_conf_fault fault;
    struct tl_rekey before;

    tl_rekey_keep(&before, &join->config);
    enum tl_err err = tl_conf_reload_keys(join->dir, &join->config, &fault);
    if (err != TL_OK) {
        (void)snprintf(said, TL_REKEY_CAP, "keys stay as they were: %s:%" PRIu32 ": %s", fault.file,
                       fault.line, fault.text);
        return err;
    }
    (void)tl_rekey_text(&before, &join->config, &join->identity, said);
    tl_link_keys_changed(join->link);
    return TL_OK;
}

void
tl_join_reload_and_log(struct tl_join *join, const char *id)
{
    char said[TL_REKEY_CAP];
    bool is_done = tl_join_reload_keys(join, said) == TL_OK;
    bool is_well = is_done && tl_rekey_believed(&join->config, &join->identity);

    tl_log(is_well ? TL_LOG_NOTICE : TL_LOG_ERROR, id, "%s: %s", join->node->id, said);
}
