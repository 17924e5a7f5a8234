/* SPDX-License-Identifier: Apache-2.0 */
/*
 * keys - all is checked before the first file is made, and keys.yaml is replaced last
 *
 * 1. A secret file is never overwritten.
 * 2. Whatever fails: either keys.yaml names the new keys and their secrets exist, or neither.
 * 3. One run at a time on one folder: the folder itself is locked.
 */
#include "clients/tools/keys.h"

#include <fcntl.h>
#include <inttypes.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <sysexits.h>
#include <unistd.h>

#include <sodium.h>

#include "clients/tools/keys_run.h"
#include "proto/base/conf.h"
#include "proto/base/file.h"
#include "proto/link/identity.h"

static const char usage[] =
    "usage: trapline keys new -C DIR NODE... [--epoch N]\n"
    "       trapline keys new -C DIR --all [--epoch N]\n"
    "       trapline keys rotate -C DIR NODE\n"
    "       trapline keys revoke -C DIR NODE EPOCH\n"
    "       trapline keys list -C DIR\n"
    "       trapline keys show -C DIR NODE [--json]\n"
    "       trapline keys check -C DIR [--against FILE] [--json]\n"
    "\n"
    "  new     make the first key of each node, or with --all of every node that has\n"
    "          none yet: the secret in the identity folder, the public half in\n"
    "          keys.yaml. --epoch N gives the key that number (default 1)\n"
    "  rotate  make the next key of a node beside the one it has\n"
    "  revoke  mark a key in keys.yaml as not to be believed\n"
    "  list    show every key, and whether its secret is on this host\n"
    "  show    everything about the keys of one node, with fingerprints that two\n"
    "          people can read to each other\n"
    "  check   look at the whole folder: every node has a key, what is on this host can\n"
    "          be used and is wanted, and with --against FILE that another keys.yaml is\n"
    "          the same\n"
    "\n"
    "Carry keys.yaml to every host and send the programs SIGHUP. Carry a secret to its\n"
    "node's own host only, never over the bus, and remove it elsewhere.\n"
    "\n"
    "exit status: 0 done, 1 not done (nothing is half done), or something is wrong with the\n"
    "keys, 64 usage, 78 configuration\n";

enum {
    WHY_CAP = 1024,
    NOT_DONE = TL_KEYS_NOT_DONE,
    EPOCH_MAX = 999999,
    ROW_CAP = 192,
    LAST_KEYS_BYTES = 512
};

static const char keys_header[] =
    "# Public halves of the keys of all nodes. Written by `trapline keys`: comments are not kept.\n"
    "# The same file on every host; secret halves are on each node's own host.\n"
    "keys:";

static int
say_usage(const char *what)
{
    (void)fprintf(stderr, "keys: %s; see: trapline keys --help\n", what);
    return EX_USAGE;
}

static bool
read_epoch(const char *text, uint32_t *epoch)
{
    size_t len = strlen(text);

    if (len == 0 || len > 6 || text[0] == '0' || strspn(text, "0123456789") != len) {
        return false;
    }
    *epoch = (uint32_t)strtoul(text, NULL, 10);
    return true;
}

/* Take the first of the words left. Returns how many it took up; 0 with usage said. */
static int
parse_word(char *const *words, int left, struct tl_keys_request *request)
{
    const char *word = words[0];
    const char *next = left > 1 ? words[1] : NULL;

    if (strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0) {
        request->wants_help = true;
        return 1;
    }
    if (strcmp(word, "--all") == 0) {
        request->is_all = true;
        return 1;
    }
    if (strcmp(word, "-C") == 0 && next != NULL && request->dir == NULL) {
        request->dir = next;
        return 2;
    }
    if (strcmp(word, "--json") == 0) {
        request->json = true;
        return 1;
    }
    if (strcmp(word, "--against") == 0 && next != NULL && request->against == NULL) {
        request->against = next;
        return 2;
    }
    if (strcmp(word, "--epoch") == 0 && next != NULL && read_epoch(next, &request->epoch)) {
        return 2;
    }
    if (word[0] == '-' || request->word_count == TL_NODES_MAX) {
        (void)fprintf(
            stderr,
            "keys: \"%.40s\" is not understood here (-C takes one folder, --epoch a number "
            "of 1 to 999999); see: trapline keys --help\n",
            word);
        return 0;
    }
    request->word[request->word_count++] = word;
    return 1;
}

/* Fill request from argv[2] on. Returns false with usage said. */
static bool
parse_request(int argc, char **argv, struct tl_keys_request *request)
{
    for (int i = 2; i < argc;) {
        int used = parse_word(argv + i, argc - i, request);
        if (used == 0) {
            return false;
        }
        i += used;
    }
    return true;
}

/* The whole keys.yaml for the keys of config. The caller frees it; NULL without memory. */
static char *
format_keys(const struct tl_config *config, size_t *len)
{
    size_t cap = sizeof keys_header + LAST_KEYS_BYTES + (size_t)config->key_count * ROW_CAP;
    char *text = malloc(cap);

    if (text == NULL) {
        return NULL;
    }
    size_t at =
        (size_t)snprintf(text, cap, "%s%s\n", keys_header, config->key_count == 0 ? " []" : "");
    for (uint32_t i = 0; i < config->key_count; i++) {
        const struct tl_key *key = &config->key[i];
        char hex[2 * sizeof key->identity + 1];
        (void)sodium_bin2hex(hex, sizeof hex, key->identity, sizeof key->identity);
        at += (size_t)snprintf(text + at, cap - at,
                               "  - {node: %s, epoch: %" PRIu32 ", identity: %s, revoked: %s}\n",
                               key->node, key->epoch, hex, key->revoked ? "true" : "false");
    }
    *len = at;
    return text;
}

/* Whether the file at path holds exactly the text of these len bytes. */
static bool
holds(const char *path, const uint8_t *text, size_t len)
{
    uint8_t *got = malloc(TL_CONF_FILE_MAX);
    size_t got_len = 0;
    bool is_same = got != NULL && tl_file_read(path, TL_CONF_FILE_MAX, got, &got_len) == TL_OK &&
                   got_len == len && memcmp(got, text, len) == 0;

    free(got);
    return is_same;
}

/* Replace keys.yaml by the keys of config. Returns 0 or NOT_DONE, with a line said. */
static int
write_keys(const struct tl_config *config)
{
    char path[TL_PATH_CAP + sizeof "/keys.yaml"];
    size_t len = 0;
    char *text = format_keys(config, &len);
    enum tl_err err = TL_NOMEM;

    (void)snprintf(path, sizeof path, "%s/keys.yaml", config->dir);
    if (text != NULL) {
        err = tl_file_write_atomic(path, S_IRUSR | S_IWUSR | S_IRGRP | S_IROTH, text, len);
    }
    /* It may have been replaced and only the last sync have failed; then it stands. */
    if (err == TL_IO && holds(path, (const uint8_t *)text, len)) {
        (void)fprintf(stderr, "keys: %s is written, but perhaps not safe from a power cut yet\n",
                      path);
        err = TL_OK;
    }
    free(text);
    if (err != TL_OK) {
        (void)fprintf(stderr, "keys: %s cannot be written (%s); nothing was changed\n", path,
                      tl_err_text(err));
        return NOT_DONE;
    }
    return 0;
}

static uint32_t
newest_epoch(const struct tl_config *config, const char *node)
{
    uint32_t newest = 0;

    for (uint32_t i = 0; i < config->key_count; i++) {
        const struct tl_key *key = &config->key[i];
        if (strcmp(key->node, node) == 0 && key->epoch > newest) {
            newest = key->epoch;
        }
    }
    return newest;
}

/* Put a key without its public half on the list of config, if that node may have it. */
static int
plan_key(struct tl_config *config, const char *node, uint32_t epoch)
{
    uint32_t newest = newest_epoch(config, node);

    if (tl_config_node(config, node) == NULL) {
        (void)fprintf(stderr, "keys: %.40s is not in stations.yaml; add it there first\n", node);
        return NOT_DONE;
    }
    if (epoch <= newest) {
        (void)fprintf(stderr,
                      "keys: %s has a key of epoch %" PRIu32 " already; for the next one run: "
                      "trapline keys rotate -C DIR %s\n",
                      node, newest, node);
        return NOT_DONE;
    }
    if (epoch > EPOCH_MAX) {
        (void)fprintf(stderr, "keys: %s has no epoch left after %d\n", node, EPOCH_MAX);
        return NOT_DONE;
    }
    if (tl_keys_in_use(config, node) >= TL_KEYS_PER_NODE_MAX) {
        (void)fprintf(stderr,
                      "keys: %s has two keys that are not revoked; revoke the old one: "
                      "trapline keys revoke -C DIR %s EPOCH\n",
                      node, node);
        return NOT_DONE;
    }
    if (config->key_count == TL_KEYS_MAX) {
        (void)fprintf(stderr,
                      "keys: keys.yaml has %d keys and is full; remove revoked ones that "
                      "no host uses\n",
                      TL_KEYS_MAX);
        return NOT_DONE;
    }
    struct tl_key *key = &config->key[config->key_count++];
    memset(key, 0, sizeof *key);
    (void)snprintf(key->node, sizeof key->node, "%s", node);
    key->epoch = epoch;
    return 0;
}

static void
remove_secrets(const struct tl_keys_run *run, uint32_t end)
{
    for (uint32_t i = run->old_count; i < end; i++) {
        const struct tl_key *key = &run->config->key[i];
        char path[TL_PATH_CAP];
        if (tl_identity_path(run->config, key->node, key->epoch, path, sizeof path) == TL_OK) {
            (void)unlink(path);
        }
    }
}

/* Make the secrets of all planned keys and then keys.yaml; on failure take back what was made. */
static int
make_planned(const struct tl_keys_run *run)
{
    struct tl_config *config = run->config;
    char why[WHY_CAP];

    for (uint32_t i = run->old_count; i < config->key_count; i++) {
        struct tl_key *key = &config->key[i];
        enum tl_err err =
            tl_identity_make(config, key->node, key->epoch, key->identity, why, sizeof why);
        if (err != TL_OK) {
            (void)fprintf(stderr, "keys: %s\n", why);
            remove_secrets(run, i);
            return NOT_DONE;
        }
    }
    int code = write_keys(config);
    if (code != 0) {
        remove_secrets(run, config->key_count);
        return code;
    }
    for (uint32_t i = run->old_count; i < config->key_count; i++) {
        (void)printf("%s: epoch %" PRIu32 " made\n", config->key[i].node, config->key[i].epoch);
    }
    return 0;
}

static int
run_new(struct tl_keys_run *run)
{
    const struct tl_keys_request *request = run->request;
    struct tl_config *config = run->config;
    uint32_t epoch = request->epoch == 0 ? 1 : request->epoch;
    int code = 0;

    for (size_t i = 0; i < request->word_count && code == 0; i++) {
        code = plan_key(config, request->word[i], epoch);
    }
    for (uint32_t i = 0; request->is_all && i < config->node_count && code == 0; i++) {
        if (newest_epoch(config, config->node[i].id) < epoch) {
            code = plan_key(config, config->node[i].id, epoch);
        }
    }
    if (code == 0 && config->key_count == run->old_count) {
        (void)printf("every node has a key of epoch %" PRIu32 " or later; nothing to make\n",
                     epoch);
        return 0;
    }
    return code == 0 ? make_planned(run) : code;
}

static int
run_rotate(struct tl_keys_run *run)
{
    const char *node = run->request->word[0];
    uint32_t newest = newest_epoch(run->config, node);
    int code = plan_key(run->config, node, newest + 1);

    if (code == 0) {
        code = make_planned(run);
    }
    if (code == 0 && newest > 0) {
        (void)printf("carry keys.yaml to every host, send SIGHUP, start %s again, then: trapline "
                     "keys revoke -C DIR %s %" PRIu32 "\n",
                     node, node, newest);
    }
    return code;
}

static int
run_revoke(struct tl_keys_run *run)
{
    const char *node = run->request->word[0];
    uint32_t epoch = 0;

    if (!read_epoch(run->request->word[1], &epoch)) {
        return say_usage("EPOCH is a number of 1 to 999999");
    }
    for (uint32_t i = 0; i < run->config->key_count; i++) {
        struct tl_key *key = &run->config->key[i];
        if (strcmp(key->node, node) != 0 || key->epoch != epoch) {
            continue;
        }
        bool was_revoked = key->revoked;
        key->revoked = true;
        int code = was_revoked ? 0 : write_keys(run->config);
        if (code == 0) {
            (void)printf("%s: epoch %" PRIu32 " %s%s\n", node, epoch,
                         was_revoked ? "was revoked already" : "revoked",
                         tl_keys_in_use(run->config, node) == 0 ? "; it has no other key in use"
                                                                : "");
        }
        return code;
    }
    (void)fprintf(stderr, "keys: %.40s has no key of epoch %" PRIu32 "; see: trapline keys list\n",
                  node, epoch);
    return NOT_DONE;
}

static int
run_list(struct tl_keys_run *run)
{
    const struct tl_config *config = run->config;

    for (uint32_t i = 0; i < config->key_count; i++) {
        const struct tl_key *key = &config->key[i];
        char path[TL_PATH_CAP];
        char hex[2 * sizeof key->identity + 1];
        struct stat st;
        bool is_here =
            tl_identity_path(config, key->node, key->epoch, path, sizeof path) == TL_OK &&
            lstat(path, &st) == 0;
        (void)sodium_bin2hex(hex, sizeof hex, key->identity, sizeof key->identity);
        (void)printf("%-23s epoch %-6" PRIu32 " %-8s %.16s... %s\n", key->node, key->epoch,
                     key->revoked ? "revoked" : "in use", hex,
                     is_here ? "secret on this host" : "secret elsewhere");
    }
    for (uint32_t i = 0; i < config->node_count; i++) {
        if (newest_epoch(config, config->node[i].id) == 0) {
            (void)printf("%-23s no key\n", config->node[i].id);
        }
    }
    return 0;
}

/* Options that a command takes beside -C. */
enum {
    TAKES_NEW = 1, /* --all, --epoch */
    TAKES_JSON = 2,
    TAKES_AGAINST = 4
};

static const struct command {
    const char *name;
    size_t words_min;
    size_t words_max;
    unsigned takes;
    const char *needs;
    int (*run)(struct tl_keys_run *run);
} commands[] = {
    {"new", 0, TL_NODES_MAX, TAKES_NEW, "new needs NODE... or --all", run_new},
    {"rotate", 1, 1, 0, "rotate needs one NODE", run_rotate},
    {"revoke", 2, 2, 0, "revoke needs NODE and EPOCH", run_revoke},
    {"list", 0, 0, 0, "list needs -C DIR only", run_list},
    {"show", 1, 1, TAKES_JSON, "show needs one NODE", tl_keys_show},
    {"check", 0, 0, TAKES_JSON | TAKES_AGAINST, "check needs no NODE", tl_keys_check},
};

/* Load the folder, with the folder locked, and run. */
static int
run_locked(const struct command *command, const struct tl_keys_request *request)
{
    struct tl_conf_fault fault;
    struct tl_config *config = calloc(1, sizeof *config);
    int code = NOT_DONE;

    if (config == NULL) {
        (void)fprintf(stderr, "keys: memory could not be had\n");
    } else if (tl_conf_load_unkeyed(request->dir, config, &fault) != TL_OK) {
        tl_conf_print_fault(&fault);
        code = EX_CONFIG;
    } else {
        struct tl_keys_run run = {
            .request = request, .config = config, .old_count = config->key_count};
        code = command->run(&run);
    }
    free(config);
    return code;
}

static int
run_command(const struct command *command, const struct tl_keys_request *request)
{
    int fd = open(request->dir, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    int code = 0;

    if (fd >= 0 && flock(fd, LOCK_EX | LOCK_NB) != 0) {
        (void)fprintf(stderr, "keys: another run works on %s; wait for it\n", request->dir);
        code = NOT_DONE;
    } else {
        /* A folder that does not open is said by the loading, in its own words. */
        code = run_locked(command, request);
    }
    if (fd >= 0) {
        (void)close(fd);
    }
    return code;
}

static bool
fits(const struct command *command, const struct tl_keys_request *request)
{
    unsigned given = (request->is_all || request->epoch != 0 ? TAKES_NEW : 0U) |
                     (request->json ? TAKES_JSON : 0U) |
                     (request->against != NULL ? TAKES_AGAINST : 0U);

    if (request->word_count < command->words_min || request->word_count > command->words_max ||
        (given & ~command->takes) != 0) {
        return false;
    }
    return (command->takes & TAKES_NEW) == 0 || request->is_all != (request->word_count > 0);
}

int
tl_keys_main(int argc, char **argv)
{
    struct tl_keys_request request = {.dir = NULL};
    const char *name = argc > 1 ? argv[1] : "";

    if (strcmp(name, "--help") == 0 || strcmp(name, "-h") == 0) {
        (void)fputs(usage, stdout);
        return EX_OK;
    }
    for (size_t i = 0; i < sizeof commands / sizeof commands[0]; i++) {
        const struct command *command = &commands[i];
        if (strcmp(command->name, name) != 0) {
            continue;
        }
        if (!parse_request(argc, argv, &request)) {
            return EX_USAGE;
        }
        if (request.wants_help) {
            (void)fputs(usage, stdout);
            return EX_OK;
        }
        if (request.dir == NULL) {
            return say_usage("name the configuration folder with -C DIR");
        }
        return fits(command, &request) ? run_command(command, &request) : say_usage(command->needs);
    }
    return say_usage("the first word is new, rotate, revoke, list, show or check");
}
