/* SPDX-License-Identifier: Apache-2.0 */
/*
 * check - the configuration as the programs would load it, and a summary that fits one look
 */
#include "clients/tools/check.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sysexits.h>

#include "proto/base/conf.h"
#include "proto/link/identity.h"

static const char usage[] =
    "usage: trapline check -C DIR\n"
    "\n"
    "Read the configuration folder DIR as every program does, and open the secret\n"
    "keys that are on this host. Prints \"configuration OK\" and a summary, or the\n"
    "file, the line and what is wrong. Starts nothing and changes nothing.\n"
    "\n"
    "exit status: 0 OK, 64 usage, 78 configuration\n";

enum {
    WHY_CAP = 1024
};

/* How many of the keys in keys.yaml are not revoked, and how many of those are on this host. */
struct secrets {
    unsigned live;
    unsigned here;
    unsigned bad;
};

static bool
is_here(const struct tl_config *config, const struct tl_key *key)
{
    char path[TL_PATH_CAP];
    struct stat st;

    return tl_identity_path(config, key->node, key->epoch, path, sizeof path) == TL_OK &&
           lstat(path, &st) == 0;
}

static void
check_secrets(const struct tl_config *config, struct secrets *secrets)
{
    char why[WHY_CAP];

    for (uint32_t i = 0; i < config->key_count; i++) {
        const struct tl_key *key = &config->key[i];
        struct tl_identity identity;
        if (key->revoked) {
            continue;
        }
        secrets->live++;
        if (!is_here(config, key)) {
            continue;
        }
        secrets->here++;
        if (tl_identity_open(config, key->node, key->epoch, &identity, why, sizeof why) == TL_OK) {
            tl_identity_close(&identity);
        } else {
            secrets->bad++;
            (void)fprintf(stderr, "%s\n", why);
        }
    }
}

static unsigned
count_kind(const struct tl_config *config, enum tl_node_kind kind)
{
    unsigned count = 0;

    for (uint32_t i = 0; i < config->node_count; i++) {
        count += config->node[i].kind == kind ? 1 : 0;
    }
    return count;
}

static void
print_digest(const char *label, const uint8_t digest[TL_DIGEST_LEN])
{
    (void)printf("  %s", label);
    for (size_t i = 0; i < TL_DIGEST_LEN; i++) {
        (void)printf("%02x", digest[i]);
    }
    (void)printf("\n");
}

static void
print_rules_off(const struct tl_ship *ship)
{
    size_t count = 0;
    size_t off = 0;
    const struct tl_rule_row *rows = tl_rule_rows(&count);

    for (size_t i = 0; i < count; i++) {
        if (ship->rule_off[rows[i].rule]) {
            (void)printf("  rule off: %s (%s)\n", rows[i].name,
                         ship->rule_off_reason[rows[i].rule]);
            off++;
        }
    }
    if (off == 0) {
        (void)printf("  rules off: none\n");
    }
}

static void
print_summary(const struct tl_config *config, const struct secrets *secrets)
{
    unsigned in_service = 0;

    for (uint32_t i = 0; i < config->gear.engine_count; i++) {
        in_service += config->gear.engine[i].in_service ? 1 : 0;
    }
    (void)printf("configuration OK\n");
    (void)printf("  ship %s%s\n", config->ship.name, config->ship.invented ? " (invented)" : "");
    (void)printf("  %u stations, %u engines (%u in service), %u aircraft types\n",
                 count_kind(config, TL_NODE_STATION), config->gear.engine_count, in_service,
                 config->type_count);
    (void)printf("  %u buses, %u validators, %u recorders, %u viewers\n", config->bus_count,
                 count_kind(config, TL_NODE_VALIDATOR), count_kind(config, TL_NODE_RECORDER),
                 count_kind(config, TL_NODE_VIEWER));
    (void)printf("  %u keys in use, %u of them on this host\n", secrets->live, secrets->here);
    print_digest("judgement digest ", config->judgement_digest);
    print_digest("key digest       ", config->key_digest);
    print_rules_off(&config->ship);
}

static int
run(const char *dir)
{
    struct tl_conf_fault fault;
    struct secrets secrets = {0, 0, 0};
    struct tl_config *config = malloc(sizeof *config);

    if (config == NULL) {
        (void)fprintf(stderr, "check: memory could not be had\n");
        return EX_CONFIG;
    }
    if (tl_conf_load(dir, config, &fault) != TL_OK) {
        tl_conf_print_fault(&fault);
        free(config);
        return EX_CONFIG;
    }
    check_secrets(config, &secrets);
    if (secrets.bad == 0) {
        print_summary(config, &secrets);
    }
    free(config);
    return secrets.bad == 0 ? EX_OK : EX_CONFIG;
}

int
tl_check_main(int argc, char **argv)
{
    const char *dir = NULL;

    for (int i = 1; i < argc; i++) {
        if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0) {
            (void)fputs(usage, stdout);
            return EX_OK;
        }
        if (strcmp(argv[i], "-C") == 0 && i + 1 < argc && dir == NULL) {
            dir = argv[++i];
        } else {
            (void)fprintf(stderr,
                          "check: \"%.40s\" is not understood; see: trapline check --help\n",
                          argv[i]);
            return EX_USAGE;
        }
    }
    if (dir == NULL) {
        (void)fprintf(stderr, "check: no configuration folder; name it with -C DIR\n");
        return EX_USAGE;
    }
    return run(dir);
}
