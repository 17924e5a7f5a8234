/* SPDX-License-Identifier: Apache-2.0 */
/*
 * keys_check - is everything about the keys of this folder as it should be, on this host
 *
 * A problem is what would keep a program from starting, or let somebody be believed who must not
 * be; a note is what is wanted for a while only, or is of no use any more. That no two rows of
 * keys.yaml are one key, or one node and epoch, is asked by the loading, in its own words.
 */
#include "clients/tools/keys_run.h"

#include <dirent.h>
#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sysexits.h>
#include <unistd.h>

#include "clients/tools/json.h"
#include "proto/base/conf.h"
#include "proto/base/text.h"

enum {
    TEXT_CAP = 1200,
    FILES_MAX = 1024 /* looked at in the identity folder */
};

/* What is found is said as it is found, or kept for one object of JSON. */
struct findings {
    bool json;
    json_t *problems; /* of strings; NULL = printed */
    json_t *notes;
    unsigned problem_count;
    unsigned here; /* secrets on this host */
};

static void find(struct findings *findings, bool is_problem, const char *fmt, ...)
    __attribute__((format(printf, 3, 4)));

static void
find(struct findings *findings, bool is_problem, const char *fmt, ...)
{
    char text[TEXT_CAP];
    char plain[TEXT_CAP];
    va_list args;

    va_start(args, fmt);
    (void)vsnprintf(text, sizeof text, fmt, args);
    va_end(args);
    (void)tl_text_plain(plain, sizeof plain, text, strlen(text)); /* it may name any file */
    findings->problem_count += is_problem ? 1 : 0;
    if (findings->json) {
        (void)json_array_append_new(is_problem ? findings->problems : findings->notes,
                                    json_string(plain));
    } else {
        (void)printf("%s%s\n", is_problem ? "" : "note: ", plain);
    }
}

/* ---- the list ---- */

static uint32_t
oldest_in_use(const struct tl_config *config, const char *node)
{
    uint32_t oldest = 0;

    for (uint32_t i = 0; i < config->key_count; i++) {
        const struct tl_key *key = &config->key[i];
        if (strcmp(key->node, node) == 0 && !key->revoked && (oldest == 0 || key->epoch < oldest)) {
            oldest = key->epoch;
        }
    }
    return oldest;
}

static void
check_nodes(const struct tl_config *config, struct findings *findings)
{
    for (uint32_t i = 0; i < config->node_count; i++) {
        const char *node = config->node[i].id;
        unsigned count = tl_keys_in_use(config, node);
        if (count == 0) {
            find(findings, true, "%s has no key in use; make one: trapline keys rotate -C DIR %s",
                 node, node);
        } else if (count > 1) {
            find(findings, false,
                 "%s has %u keys in use; when it runs with the newer one: "
                 "trapline keys revoke -C DIR %s %" PRIu32,
                 node, count, node, oldest_in_use(config, node));
        }
    }
}

/* An Ed25519 key and its negative have one key of the transport: a broker refuses such a list. */
static void
check_transport(const struct tl_config *config, struct findings *findings)
{
    char curve[TL_KEYS_MAX][TL_CURVE_CAP];

    for (uint32_t i = 0; i < config->key_count; i++) {
        const struct tl_key *key = &config->key[i];
        if (tl_identity_curve_public(key->identity, curve[i]) != TL_OK) {
            find(findings, true,
                 "%s, epoch %" PRIu32 ": its identity gives no key of the transport", key->node,
                 key->epoch);
            curve[i][0] = '\0';
            continue;
        }
        for (uint32_t k = 0; k < i; k++) {
            if (curve[k][0] != '\0' && strcmp(curve[i], curve[k]) == 0) {
                find(findings, true,
                     "%s, epoch %" PRIu32 ", and %s, epoch %" PRIu32
                     ", are one key of the transport; make a new key for one",
                     config->key[k].node, config->key[k].epoch, key->node, key->epoch);
            }
        }
    }
}

static void
check_list_file(const struct tl_config *config, struct findings *findings)
{
    char path[TL_PATH_CAP + sizeof "/keys.yaml"];
    struct stat st;

    (void)snprintf(path, sizeof path, "%s/keys.yaml", config->dir);
    if (lstat(path, &st) != 0) {
        find(findings, true, "%s does not exist; make it: trapline keys new -C DIR --all", path);
    } else if ((st.st_mode & (S_IWGRP | S_IWOTH)) != 0) {
        find(findings, true, "%s can be written by others than its owner; chmod 644 %s", path,
             path);
    }
}

/* ---- the secrets ---- */

static void
check_secret(const struct tl_config *config, const struct tl_key *key, struct findings *findings)
{
    char path[TL_PATH_CAP];
    char why[TEXT_CAP];
    struct stat st;

    if (tl_identity_path(config, key->node, key->epoch, path, sizeof path) != TL_OK ||
        lstat(path, &st) != 0) {
        return;
    }
    findings->here++;
    if (key->revoked) {
        find(findings, false, "%s is the secret of a revoked key; remove it", path);
    } else if (tl_identity_try(config, key, why, sizeof why) != TL_OK) {
        find(findings, true, "%s", why);
    }
}

/* Whether a file of that name is the secret of a key of keys.yaml. */
static bool
is_listed(const struct tl_config *config, const char *name)
{
    for (uint32_t i = 0; i < config->key_count; i++) {
        const struct tl_key *key = &config->key[i];
        char path[TL_PATH_CAP];
        if (tl_identity_path(config, key->node, key->epoch, path, sizeof path) == TL_OK &&
            strcmp(strrchr(path, '/') + 1, name) == 0) {
            return true;
        }
    }
    return false;
}

static void
check_folder(const struct tl_config *config, struct findings *findings)
{
    struct stat st;
    DIR *folder = opendir(config->identity_dir);

    if (folder == NULL) {
        return; /* a host without secrets */
    }
    if (fstat(dirfd(folder), &st) == 0 &&
        (st.st_uid != geteuid() || (st.st_mode & (S_IRWXG | S_IRWXO)) != 0)) {
        find(findings, true, "%s is not a private folder of this user; chown it, chmod 700 %s",
             config->identity_dir, config->identity_dir);
    }
    for (int i = 0; i < FILES_MAX; i++) {
        const struct dirent *entry = readdir(folder);
        if (entry == NULL) {
            break;
        }
        if (entry->d_name[0] != '.' && !is_listed(config, entry->d_name)) {
            find(findings, true,
                 "%s/%.255s is the secret file of no key in keys.yaml; remove it, or bring the "
                 "list that names it",
                 config->identity_dir, entry->d_name);
        }
    }
    (void)closedir(folder);
}

/* ---- another copy ---- */

static void
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): here before there */
compare_keys(const struct tl_config *ours, const struct tl_config *theirs, const char *file,
             struct findings *findings)
{
    for (uint32_t i = 0; i < ours->key_count; i++) {
        const struct tl_key *key = &ours->key[i];
        const struct tl_key *other = tl_config_key(theirs, key->node, key->epoch);
        const char *what = NULL;
        if (other == NULL) {
            what = "is missing there";
        } else if (memcmp(key->identity, other->identity, sizeof key->identity) != 0) {
            what = "is another key there; compare fingerprints: trapline keys show";
        } else if (key->revoked != other->revoked) {
            what = key->revoked ? "is revoked here and in use there" : "is revoked there";
        }
        if (what != NULL) {
            find(findings, true, "%s: %s, epoch %" PRIu32 ", %s", file, key->node, key->epoch,
                 what);
        }
    }
    for (uint32_t i = 0; i < theirs->key_count; i++) {
        const struct tl_key *key = &theirs->key[i];
        if (tl_config_key(ours, key->node, key->epoch) == NULL) {
            find(findings, true, "%s: %s, epoch %" PRIu32 ", is missing here", file, key->node,
                 key->epoch);
        }
    }
}

/* An exit code: that the other list cannot be read is no finding about this one. */
static int
check_against(const struct tl_config *config, const char *file, struct findings *findings)
{
    struct tl_conf_fault fault;
    struct tl_config *other = malloc(sizeof *other);
    bool is_same = false;
    int code = EX_OK;

    if (other == NULL) {
        return TL_KEYS_NOT_DONE;
    }
    *other = *config;
    if (tl_conf_compare_keys(file, other, &is_same, &fault) != TL_OK) {
        (void)fprintf(stderr, "%s:%" PRIu32 ": %s\n", file, fault.line, fault.text);
        code = EX_CONFIG;
    } else if (!is_same) {
        unsigned before = findings->problem_count;
        compare_keys(config, other, file, findings);
        if (findings->problem_count == before) {
            find(findings, true,
                 "%s: the same keys, written otherwise; digests differ, so copy the file itself",
                 file);
        }
    }
    free(other);
    return code;
}

/* ---- the whole ---- */

static bool
print_summary(const struct tl_config *config, const struct findings *findings)
{
    char digest[TL_KEYS_GROUPS_CAP];
    uint32_t revoked = 0;

    static_assert((int)TL_DIGEST_LEN == (int)TL_FINGERPRINT_LEN, "shown in the same groups");
    for (uint32_t i = 0; i < config->key_count; i++) {
        revoked += config->key[i].revoked ? 1 : 0;
    }
    (void)tl_keys_groups(config->key_digest, digest);
    if (findings->json) {
        json_t *object = json_pack(
            "{s:b, s:O, s:O, s:i, s:i, s:i, s:i, s:s}", "ok", findings->problem_count == 0 ? 1 : 0,
            "problems", findings->problems, "notes", findings->notes, "nodes",
            (int)config->node_count, "in_use", (int)(config->key_count - revoked), "revoked",
            (int)revoked, "secrets_here", (int)findings->here, "key_digest", digest);
        return tl_json_print(object, stdout);
    }
    if (findings->problem_count == 0) {
        (void)printf("keys OK: ");
    } else {
        (void)printf("%u %s: ", findings->problem_count,
                     findings->problem_count == 1 ? "problem" : "problems");
    }
    (void)printf("%" PRIu32 " nodes, %" PRIu32 " keys in use, %" PRIu32
                 " revoked, %u secrets on this host\n",
                 config->node_count, config->key_count - revoked, revoked, findings->here);
    return printf("key digest %s\n", digest) >= 0 && fflush(stdout) == 0;
}

int
tl_keys_check(struct tl_keys_run *run)
{
    const struct tl_config *config = run->config;
    const char *against = run->request->against;
    struct findings findings = {.json = run->request->json};
    int code = EX_OK;

    if (findings.json) {
        findings.problems = json_array();
        findings.notes = json_array();
    }
    check_list_file(config, &findings);
    check_nodes(config, &findings);
    check_transport(config, &findings);
    check_folder(config, &findings);
    for (uint32_t i = 0; i < config->key_count; i++) {
        check_secret(config, &config->key[i], &findings);
    }
    if (against != NULL) {
        code = check_against(config, against, &findings);
    }
    if (code == EX_OK && (!print_summary(config, &findings) || findings.problem_count > 0)) {
        code = TL_KEYS_NOT_DONE;
    }
    json_decref(findings.problems);
    json_decref(findings.notes);
    return code;
}
