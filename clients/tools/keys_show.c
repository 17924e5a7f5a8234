/* SPDX-License-Identifier: Apache-2.0 */
/*
 * keys_show - all about the keys of one node: epochs, fingerprints, and how its secrets are kept
 */
#include "clients/tools/keys_run.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sysexits.h>

#include <sodium.h>

#include "clients/tools/json.h"

enum {
    WHY_CAP = 1024,
    HEX_CAP = 65
};

/* One key with what was found of its secret on this host. */
struct shown {
    const struct tl_key *key;
    char path[TL_PATH_CAP];
    char fingerprint[TL_KEYS_GROUPS_CAP];
    enum tl_err secret; /* TL_NOTFOUND: not on this host */
    char why[WHY_CAP];
    bool has_mode;
    unsigned mode;
    unsigned owner;
};

unsigned
tl_keys_in_use(const struct tl_config *config, const char *node)
{
    unsigned count = 0;

    for (uint32_t i = 0; i < config->key_count; i++) {
        const struct tl_key *key = &config->key[i];
        count += strcmp(key->node, node) == 0 && !key->revoked ? 1 : 0;
    }
    return count;
}

const char *
tl_keys_groups(const uint8_t bytes[TL_FINGERPRINT_LEN], char dst[TL_KEYS_GROUPS_CAP])
{
    size_t used = 0;

    for (size_t i = 0; i < TL_FINGERPRINT_LEN; i++) {
        used += (size_t)snprintf(dst + used, TL_KEYS_GROUPS_CAP - used, "%s%02x",
                                 i > 0 && i % 2 == 0 ? " " : "", bytes[i]);
    }
    return dst;
}

static void
look_at(const struct tl_config *config, const struct tl_key *key, struct shown *shown)
{
    uint8_t fingerprint[TL_FINGERPRINT_LEN];
    struct stat st;

    memset(shown, 0, sizeof *shown);
    shown->key = key;
    tl_identity_fingerprint(key, fingerprint);
    (void)tl_keys_groups(fingerprint, shown->fingerprint);
    shown->secret =
        tl_identity_path(config, key->node, key->epoch, shown->path, sizeof shown->path);
    if (shown->secret != TL_OK) {
        (void)snprintf(shown->why, sizeof shown->why, "%s is too long a path",
                       config->identity_dir);
        return;
    }
    shown->secret = tl_identity_try(config, key, shown->why, sizeof shown->why);
    shown->has_mode = lstat(shown->path, &st) == 0;
    if (shown->has_mode) {
        shown->mode = st.st_mode & 07777U;
        shown->owner = st.st_uid;
    }
}

static const char *
kind_of(const struct tl_node *node)
{
    return node->kind == TL_NODE_STATION ? tl_station_kind_name(node->station)
                                         : tl_node_kind_name(node->kind);
}

static const char *
secret_word(const struct shown *shown)
{
    if (shown->secret == TL_OK) {
        return "good";
    }
    return shown->secret == TL_NOTFOUND ? "not on this host" : "cannot be used";
}

static void
print_key(const struct shown *shown)
{
    (void)printf("  epoch %" PRIu32 ", %s\n", shown->key->epoch,
                 shown->key->revoked ? "revoked: nobody believes it" : "in use");
    (void)printf("    fingerprint  %s\n", shown->fingerprint);
    (void)printf("    secret file  %s\n", shown->path);
    if (shown->has_mode) {
        (void)printf("    secret       %s, mode %04o, owner %u\n", secret_word(shown), shown->mode,
                     shown->owner);
    } else {
        (void)printf("    secret       %s\n", secret_word(shown));
    }
    if (shown->secret != TL_OK && shown->secret != TL_NOTFOUND) {
        (void)printf("    %s\n", shown->why);
    }
}

static json_t *
key_json(const struct shown *shown)
{
    static const char *const none = NULL;
    char hex[HEX_CAP];
    bool is_bad = shown->secret != TL_OK && shown->secret != TL_NOTFOUND;

    (void)sodium_bin2hex(hex, sizeof hex, shown->key->identity, sizeof shown->key->identity);
    json_t *object = json_pack(
        "{s:I, s:b, s:s, s:s, s:s, s:s, s:s?}", "epoch", (json_int_t)shown->key->epoch, "revoked",
        shown->key->revoked ? 1 : 0, "identity", hex, "fingerprint", shown->fingerprint, "file",
        shown->path, "secret", secret_word(shown), "wrong", is_bad ? shown->why : none);
    if (object != NULL) {
        char mode[8];
        (void)snprintf(mode, sizeof mode, "%04o", shown->mode);
        (void)json_object_set_new(object, "mode",
                                  shown->has_mode ? json_string(mode) : json_null());
        (void)json_object_set_new(object, "owner",
                                  shown->has_mode ? json_integer(shown->owner) : json_null());
    }
    return object;
}

/* Whether one of its secrets is here and could not be used by a program of this user. */
static bool
show_keys(const struct tl_config *config, const char *node, json_t *keys)
{
    bool is_bad = false;

    for (uint32_t i = 0; i < config->key_count; i++) {
        struct shown shown;
        if (strcmp(config->key[i].node, node) != 0) {
            continue;
        }
        look_at(config, &config->key[i], &shown);
        is_bad =
            is_bad || (shown.secret != TL_OK && shown.secret != TL_NOTFOUND && !shown.key->revoked);
        if (keys != NULL) {
            (void)json_array_append_new(keys, key_json(&shown));
        } else {
            print_key(&shown);
        }
    }
    return is_bad;
}

int
tl_keys_show(struct tl_keys_run *run)
{
    const struct tl_config *config = run->config;
    const struct tl_node *node = tl_config_node(config, run->request->word[0]);

    if (node == NULL) {
        (void)fprintf(stderr, "keys: %.40s is not in stations.yaml; see: trapline keys list\n",
                      run->request->word[0]);
        return TL_KEYS_NOT_DONE;
    }
    unsigned in_use = tl_keys_in_use(config, node->id);
    json_t *keys = run->request->json ? json_array() : NULL;
    if (keys == NULL) {
        (void)printf("%s: %s, %u %s in use\n", node->id, kind_of(node), in_use,
                     in_use == 1 ? "key" : "keys");
    }
    bool is_bad = show_keys(config, node->id, keys);
    if (keys != NULL &&
        !tl_json_print(json_pack("{s:s, s:s, s:i, s:o}", "node", node->id, "kind", kind_of(node),
                                 "in_use", (int)in_use, "keys", keys),
                       stdout)) {
        return TL_KEYS_NOT_DONE;
    }
    if (in_use == 0) {
        (void)fprintf(stderr,
                      "keys: %s has no key in use; make one: trapline keys rotate -C DIR %s\n",
                      node->id, node->id);
    }
    return is_bad || in_use == 0 ? TL_KEYS_NOT_DONE : EX_OK;
}
