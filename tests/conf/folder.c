/* SPDX-License-Identifier: Apache-2.0 */
/*
 * folder - the good texts, and writing them
 */
#include "tests/conf/folder.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <sodium.h>

#include "proto/base/require.h"

const char *const folder_names[FOLDER_FILES] = {
    "ship.yaml", "gear.yaml", "aircraft.yaml", "stations.yaml", "bus.yaml", "keys.yaml",
};

/* Block and flow style mixed on purpose: each has its own way to get a line wrong. */
static const char *const good_texts[FOLDER_FILES - 1] = {
    "name: Grey Heron\n"
    "invented: true\n"
    "deck_angle_deg: 9.0\n"
    "engine_readback: offered\n"
    "ramp_margin_s: 5\n"
    "due:\n"
    "  - {rule: not-in-battery, after_order_s: 60, before_ramp_s: 20}\n"
    "  - {rule: hook-not-down, after_order_s: 90}\n"
    "rules_off:\n"
    "  - rule: wind-unknown\n"
    "    reason: \"no wind sensor fitted\"\n"
    "  - {rule: all-of-wires, reason: not fitted}\n"
    "  - {rule: all-of-tracks, reason: not fitted}\n"
    "  - {rule: all-of-aid, reason: not fitted}\n"
    "  - {rule: all-of-gear-officer, reason: not fitted}\n"
    "  - {rule: all-of-barricade, reason: not fitted}\n"
    "  - {rule: accumulator-pressure, reason: not fitted}\n"
    "  - {rule: all-of-mechanics, reason: not fitted}\n"
    "  - {rule: over-trap-weight, reason: not fitted}\n"
    "  - {rule: setting-light, reason: not fitted}\n"
    "  - {rule: service-unknown, reason: not fitted}\n"
    "  - {rule: engine-fault, reason: not fitted}\n"
    "  - {rule: fluid-level, reason: not fitted}\n"
    "  - {rule: arrest-unread, reason: not fitted}\n"
    "  - {rule: wind-low, reason: not fitted}\n"
    "  - {rule: crosswind-over, reason: not fitted}\n"
    "  - {rule: deck-motion, reason: not fitted}\n"
    "  - {rule: ship-not-steady, reason: not fitted}\n"
    "  - {rule: not-manned, reason: not fitted}\n"
    "  - {rule: crosshead-gap, reason: not fitted}\n"
    "wind:\n"
    "  valid_ms: 3000\n"
    "  heading_valid_ms: 2500\n"
    "  speed_valid_ms: 5000\n"
    "  keyed_valid_s: 300\n"
    "  disagree_deg: 15\n"
    "  disagree_kt: 5.5\n"
    "figures:\n"
    "  - {figure: air_temperature_c, value: -2.5, source: invented}\n"
    "  - {figure: air_pressure_hpa, value: 1005, source: invented}\n",

    "engines:\n"
    "  - {unit: 1, wire: 2, in_service: true}\n"
    "  - {unit: 2, wire: 3, in_service: false}\n"
    "selector_min_lb: 10000\n"
    "selector_max_lb: 52000\n"
    "selector_step_lb: 500\n"
    "agree_tolerance_lb: 400\n"
    "source: invented\n"
    "figures:\n"
    "  - {figure: half_span_ft, value: 55, source: invented}\n"
    "  - figure: accumulator_battery_psi\n"
    "    value: 400.5\n"
    "    source: from memory\n"
    "  - {figure: accumulator_full_psi, value: 650, source: from memory}\n",

    "types:\n"
    "  - id: plover\n"
    "    setting_lb: 34000\n"
    "    setting_tolerance_lb: 300\n"
    "    max_trap_lb: 33900\n"
    "    final_approach_s: 25\n"
    "    source: invented\n"
    "  - {id: dunlin, setting_lb: 14500, setting_tolerance_lb: 500, max_trap_lb: 14500, "
    "final_approach_s: 29, source: invented}\n",

    "nodes:\n"
    "  - {id: engine-1, kind: engine, unit: 1}\n"
    "  - {id: engine-2, kind: engine, unit: 2}\n"
    "  - {id: deck, kind: deck}\n"
    "  - {id: approach, kind: approach}\n"
    "  - {id: platform, kind: platform, may_foul: true}\n"
    "  - {id: primary, kind: primary, may_foul: true}\n"
    "  - {id: validator-1, kind: validator}\n"
    "  - {id: bus-a, kind: broker}\n"
    "  - {id: bus-b, kind: broker}\n"
    "  - {id: viewer, kind: viewer}\n"
    "clear_owner: deck\n"
    "repeater_reader: primary\n",

    "buses:\n"
    "  - {id: bus-a, ingress: \"tcp://127.0.0.1:5751\", egress: \"tcp://127.0.0.1:5752\"}\n"
    "  - id: bus-b\n"
    "    ingress: tcp://127.0.0.1:5753\n"
    "    egress: tcp://127.0.0.1:5754\n"
    "identity_dir: identity\n"
    "state_dir: state\n"
    "run_dir: /run/trapline\n",
};

/* In the order of stations.yaml: line 2 is engine-1's. */
static const char *const good_nodes[] = {
    "engine-1", "engine-2",    "deck",  "approach", "platform",
    "primary",  "validator-1", "bus-a", "bus-b",    "viewer",
};

void
folder_identity(uint8_t seed, uint8_t identity[32])
{
    uint8_t bytes[crypto_sign_SEEDBYTES];
    uint8_t secret[crypto_sign_SECRETKEYBYTES];

    memset(bytes, seed, sizeof bytes);
    TL_REQUIRE(sodium_init() >= 0);
    (void)crypto_sign_seed_keypair(identity, secret, bytes);
}

static size_t
good_keys(char *text)
{
    size_t len = (size_t)snprintf(text, FOLDER_FILE_CAP, "keys:\n");

    for (size_t i = 0; i < sizeof good_nodes / sizeof good_nodes[0]; i++) {
        uint8_t identity[32];
        char hex[65];
        folder_identity((uint8_t)(i + 1), identity);
        (void)sodium_bin2hex(hex, sizeof hex, identity, sizeof identity);
        len += (size_t)snprintf(text + len, FOLDER_FILE_CAP - len,
                                "  - {node: %s, epoch: 1, identity: %s, revoked: false}\n",
                                good_nodes[i], hex);
    }
    return len;
}

size_t
folder_good_text(const char *name, char *text)
{
    for (size_t i = 0; i < FOLDER_FILES - 1; i++) {
        if (strcmp(folder_names[i], name) == 0) {
            return (size_t)snprintf(text, FOLDER_FILE_CAP, "%s", good_texts[i]);
        }
    }
    return good_keys(text);
}

static void
make_path(const struct folder *folder, const char *name, char path[FOLDER_PATH_CAP])
{
    int len = snprintf(path, FOLDER_PATH_CAP, "%s/%s", folder->dir, name);
    TL_REQUIRE(len > 0 && len < FOLDER_PATH_CAP);
}

void
folder_put(const struct folder *folder, const char *name, const char *text, size_t len)
{
    char path[FOLDER_PATH_CAP];

    make_path(folder, name, path);
    (void)remove(path);
    if (text != NULL) {
        /* Not the atomic writing of ours: its sync would take most of the time of a random test. */
        FILE *file = fopen(path, "w");
        TL_REQUIRE(file != NULL);
        TL_REQUIRE(fwrite(text, 1, len, file) == len);
        TL_REQUIRE(fclose(file) == 0);
    }
}

void
folder_mend(const struct folder *folder)
{
    char *text = malloc(FOLDER_FILE_CAP);

    TL_REQUIRE(text != NULL);
    for (size_t i = 0; i < FOLDER_FILES; i++) {
        size_t len = folder_good_text(folder_names[i], text);
        folder_put(folder, folder_names[i], text, len);
    }
    free(text);
}

void
folder_make(struct folder *folder)
{
    (void)snprintf(folder->dir, sizeof folder->dir, "/tmp/trapline-conf-XXXXXX");
    TL_REQUIRE(mkdtemp(folder->dir) != NULL);
    folder_mend(folder);
}

static void
empty_folder(const char *path)
{
    DIR *dir = opendir(path);

    if (dir == NULL) {
        return;
    }
    for (struct dirent *entry = readdir(dir); entry != NULL; entry = readdir(dir)) {
        char inner[2 * FOLDER_PATH_CAP + 256];
        (void)snprintf(inner, sizeof inner, "%s/%s", path, entry->d_name);
        if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0) {
            (void)remove(inner);
        }
    }
    (void)closedir(dir);
}

void
folder_remove(const struct folder *folder)
{
    static const char *const inner[] = {"identity", "state", "run"};
    char path[FOLDER_PATH_CAP];

    for (size_t i = 0; i < sizeof inner / sizeof inner[0]; i++) {
        make_path(folder, inner[i], path);
        empty_folder(path);
    }
    empty_folder(folder->dir);
    (void)rmdir(folder->dir);
}
