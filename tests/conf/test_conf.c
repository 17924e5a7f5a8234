/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_conf - what a good folder becomes, its digests, and the reload of the keys
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "proto/base/conf.h"
#include "proto/base/file.h"
#include "tests/base/capture.h"
#include "tests/conf/folder.h"

struct room {
    struct folder folder;
    struct tl_config *config;
    struct tl_config *before;
    char *text;
};

static int
set_up(void **state)
{
    struct room *room = calloc(1, sizeof *room);
    struct tl_conf_fault fault;

    assert_non_null(room);
    room->config = calloc(1, sizeof *room->config);
    room->before = calloc(1, sizeof *room->before);
    room->text = malloc(FOLDER_FILE_CAP);
    assert_true(room->config != NULL && room->before != NULL && room->text != NULL);
    folder_make(&room->folder);
    assert_int_equal(tl_conf_load(room->folder.dir, room->config, &fault), TL_OK);
    *room->before = *room->config;
    *state = room;
    return 0;
}

static int
tear_down(void **state)
{
    struct room *room = *state;

    folder_remove(&room->folder);
    free(room->config);
    free(room->before);
    free(room->text);
    free(room);
    return 0;
}

/* Replace the first `find` of a good file. */
static void
edit(struct room *room, const char *name, const char *find, const char *put)
{
    char tail[4096];

    (void)folder_good_text(name, room->text);
    char *at = strstr(room->text, find);
    assert_non_null(at);
    (void)snprintf(tail, sizeof tail, "%s", at + strlen(find));
    int len = snprintf(at, FOLDER_FILE_CAP - (size_t)(at - room->text), "%s%s", put, tail);
    folder_put(&room->folder, name, room->text, (size_t)(at - room->text) + (size_t)len);
}

static void
assert_loads(struct room *room)
{
    struct tl_conf_fault fault = {.line = 0};
    enum tl_err err = tl_conf_load(room->folder.dir, room->config, &fault);

    if (err != TL_OK) {
        fail_msg("%s:%u: %s", fault.file, fault.line, fault.text);
    }
}

static bool
is_listed_off(enum tl_rule rule)
{
    static const enum tl_rule listed[] = {
        TL_RULE_OVER_TRAP_WEIGHT, TL_RULE_SETTING_LIGHT,  TL_RULE_SERVICE_UNKNOWN,
        TL_RULE_ENGINE_FAULT,     TL_RULE_FLUID_LEVEL,    TL_RULE_ARREST_UNREAD,
        TL_RULE_WIND_LOW,         TL_RULE_CROSSWIND_OVER, TL_RULE_DECK_MOTION,
        TL_RULE_SHIP_NOT_STEADY,  TL_RULE_NOT_MANNED,
    };
    for (size_t i = 0; i < sizeof listed / sizeof listed[0]; i++) {
        if (listed[i] == rule) {
            return true;
        }
    }
    return false;
}

static void
conf_ship_is_as_written(void **state)
{
    struct room *room = *state;
    const struct tl_ship *ship = &room->config->ship;

    assert_string_equal(ship->name, "Grey Heron");
    assert_true(ship->invented);
    assert_true(ship->deck_angle_deg > 8.9999 && ship->deck_angle_deg < 9.0001);
    assert_int_equal(ship->engine_readback_keyed, 0);
    assert_int_equal(ship->ramp_margin_s, 5);
    assert_int_equal(ship->due_after_order_s[TL_RULE_NOT_IN_BATTERY], 60);
    assert_int_equal(ship->due_before_ramp_s[TL_RULE_NOT_IN_BATTERY], 20);
    assert_int_equal(ship->due_after_order_s[TL_RULE_HOOK_NOT_DOWN], 90);
    assert_int_equal(ship->due_before_ramp_s[TL_RULE_HOOK_NOT_DOWN], 0);
    assert_int_equal(ship->due_after_order_s[TL_RULE_DECK_FOUL], 0);
    for (size_t rule = 0; rule < TL_RULES_MAX; rule++) {
        const struct tl_rule_row *row = tl_rule_row((uint32_t)rule);
        bool off = rule == TL_RULE_WIND_UNKNOWN || rule == TL_RULE_ACCUMULATOR ||
                   rule == TL_RULE_CROSSHEAD_GAP ||
                   (row != NULL && (row->from >= TL_STATION_WIRES || row->computed)) ||
                   is_listed_off((enum tl_rule)rule);
        assert_int_equal(ship->rule_off[rule], off);
    }
    assert_string_equal(ship->rule_off_reason[TL_RULE_WIND_UNKNOWN], "no wind sensor fitted");
    assert_int_equal(ship->wind_valid_ms, 3000);
    assert_int_equal(ship->heading_valid_ms, 2500);
    assert_int_equal(ship->speed_valid_ms, 5000);
    assert_int_equal(ship->keyed_wind_valid_s, 300);
    assert_true(ship->wind_disagree_deg > 14.9999 && ship->wind_disagree_deg < 15.0001);
    assert_true(ship->wind_disagree_kt > 5.4999 && ship->wind_disagree_kt < 5.5001);
}

static void
conf_gear_and_types_are_as_written(void **state)
{
    struct room *room = *state;
    const struct tl_config *config = room->config;

    assert_int_equal(config->gear.engine_count, 2);
    assert_int_equal(config->gear.engine[0].unit, 1);
    assert_int_equal(config->gear.engine[0].wire, 2);
    assert_true(config->gear.engine[0].in_service);
    assert_int_equal(config->gear.engine[1].wire, 3);
    assert_false(config->gear.engine[1].in_service);
    assert_int_equal(config->gear.selector_min_lb, 10000);
    assert_int_equal(config->gear.selector_max_lb, 52000);
    assert_int_equal(config->gear.selector_step_lb, 500);
    assert_int_equal(config->gear.agree_tolerance_lb, 400);
    assert_int_equal(config->type_count, 2);
    const struct tl_aircraft_type *plover = tl_config_type(config, "plover");
    assert_non_null(plover);
    assert_int_equal(plover->setting_lb, 34000);
    assert_int_equal(plover->setting_tolerance_lb, 300);
    assert_int_equal(plover->max_trap_lb, 33900);
    assert_int_equal(plover->final_approach_s, 25);
}

static void
conf_nodes_are_as_written(void **state)
{
    struct room *room = *state;
    const struct tl_config *config = room->config;
    static const struct {
        const char *id;
        enum tl_node_kind kind;
        enum tl_station_kind station;
        uint32_t unit;
        bool may_foul;
    } want[] = {
        {"engine-1", TL_NODE_STATION, TL_STATION_ENGINE, 1, false},
        {"engine-2", TL_NODE_STATION, TL_STATION_ENGINE, 2, false},
        {"deck", TL_NODE_STATION, TL_STATION_DECK, 0, false},
        {"approach", TL_NODE_STATION, TL_STATION_APPROACH, 0, false},
        {"platform", TL_NODE_STATION, TL_STATION_PLATFORM, 0, true},
        {"primary", TL_NODE_STATION, TL_STATION_PRIMARY, 0, true},
        {"validator-1", TL_NODE_VALIDATOR, TL_STATION_UNKNOWN, 0, false},
        {"bus-a", TL_NODE_RELAY, TL_STATION_UNKNOWN, 0, false},
        {"bus-b", TL_NODE_RELAY, TL_STATION_UNKNOWN, 0, false},
        {"viewer", TL_NODE_VIEWER, TL_STATION_UNKNOWN, 0, false},
    };

    assert_int_equal(config->node_count, sizeof want / sizeof want[0]);
    for (size_t i = 0; i < sizeof want / sizeof want[0]; i++) {
        assert_string_equal(config->node[i].id, want[i].id);
        assert_int_equal(config->node[i].kind, want[i].kind);
        assert_int_equal(config->node[i].station, want[i].station);
        assert_int_equal(config->node[i].unit, want[i].unit);
        assert_int_equal(config->node[i].may_foul, want[i].may_foul);
    }
    assert_string_equal(config->clear_owner, "deck");
    assert_string_equal(config->repeater_reader, "primary");
}

static void
conf_buses_folders_and_keys_are_as_written(void **state)
{
    struct room *room = *state;
    const struct tl_config *config = room->config;
    char path[FOLDER_PATH_CAP];
    uint8_t identity[32];

    assert_int_equal(config->bus_count, 2);
    assert_string_equal(config->bus[0].id, "bus-a");
    assert_string_equal(config->bus[0].ingress, "tcp://127.0.0.1:5751");
    assert_string_equal(config->bus[1].egress, "tcp://127.0.0.1:5754");
    assert_string_equal(config->dir, room->folder.dir);
    (void)snprintf(path, sizeof path, "%s/identity", room->folder.dir);
    assert_string_equal(config->identity_dir, path);
    assert_string_equal(config->run_dir, "/run/trapline");
    (void)snprintf(path, sizeof path, "%s/record", room->folder.dir);
    assert_string_equal(config->record_dir, path); /* the key is left out */
    assert_int_equal(config->key_count, 10);
    const struct tl_key *key = tl_config_key(config, "deck", 1);
    assert_non_null(key);
    folder_identity(3, identity);
    assert_memory_equal(key->identity, identity, sizeof identity);
    assert_false(key->revoked);
}

/* The ends of ranges that the table of bad files passes by one. */
static void
conf_values_at_the_boundary_are_taken(void **state)
{
    struct room *room = *state;
    static const struct {
        const char *file;
        const char *find;
        const char *put;
    } rows[] = {
        {"ship.yaml", "9.0", "20"},
        {"ship.yaml", "9.0", "0"},
        {"ship.yaml", "9.0", "10.125"},
        {"ship.yaml", "3000", "200"},
        {"ship.yaml", "5000", "60000"},
        {"ship.yaml", "90}", "3600}"},
        {"ship.yaml", "20}", "600}"},
        {"ship.yaml", "20}", "0}"},
        {"ship.yaml", "Grey Heron", "Grey Heron of the North"},
        {"ship.yaml", "Grey Heron", "Gr\xc3\xa5 Hegre"},
        {"ship.yaml", "Grey Heron", "'Grey Heron'"},
        {"ship.yaml", "offered", "keyed"},
        {"aircraft.yaml", "34000", "\"34000\""},
        {"aircraft.yaml", "34000", "52000"},
        {"aircraft.yaml", "setting_lb: 14500", "setting_lb: 14000"}, /* tolerance 500 */
        {"aircraft.yaml", "33900", "34300"},
        {"aircraft.yaml", "25", "300"},
        {"aircraft.yaml", "25", "1"},
        {"aircraft.yaml", "plover", "ploverploverplo"},
        {"gear.yaml", "400", "0"},
        {"gear.yaml", "400", "5000"},
        {"gear.yaml", "500", "1 # a comment"},
        {"bus.yaml", "5753", "1024"},
        {"bus.yaml", "5753", "32767"},
        {"bus.yaml", "127.0.0.1:5753", "10.20.30.40:5751"},
        {"stations.yaml", "clear_owner: deck", "clear_owner: platform"},
        {"keys.yaml", "deck, epoch: 1", "deck, epoch: 999999"},
        {"keys.yaml", "revoked: false", "revoked: true"},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_conf_fault fault = {.line = 0};
        edit(room, rows[i].file, rows[i].find, rows[i].put);
        if (tl_conf_load(room->folder.dir, room->config, &fault) != TL_OK) {
            fail_msg("row %zu, %s -> %s: %s:%u: %s", i, rows[i].find, rows[i].put, fault.file,
                     fault.line, fault.text);
        }
        folder_mend(&room->folder);
    }
}

static void
conf_optional_lists_may_be_absent(void **state)
{
    struct room *room = *state;
    static const char dues[] = "due:\n"
                               "  - {rule: not-in-battery, after_order_s: 60, before_ramp_s: 20}\n"
                               "  - {rule: hook-not-down, after_order_s: 90}\n";

    edit(room, "ship.yaml", dues, "");
    assert_loads(room);
    assert_int_equal(room->config->ship.due_after_order_s[TL_RULE_NOT_IN_BATTERY], 0);
    edit(room, "ship.yaml", dues, "due: []\n");
    assert_loads(room);
}

/*
 * BLAKE2b (RFC 7693) with a digest of 16 bytes, computed over the same bytes by another
 * implementation: Python's hashlib.blake2b(digest_size=16).
 */
static void
conf_digests_are_those_of_another_implementation(void **state)
{
    struct room *room = *state;
    static const uint8_t judgement[TL_DIGEST_LEN] = {0x75, 0x33, 0xad, 0x04, 0x98, 0x69,
                                                     0x03, 0x31, 0xb5, 0x12, 0xbd, 0x97,
                                                     0x1e, 0x56, 0x24, 0x82};
    static const uint8_t key[TL_DIGEST_LEN] = {0x21, 0x4e, 0xc3, 0x89, 0xcd, 0x5d, 0xb6, 0xdc,
                                               0xe2, 0x59, 0xf5, 0x77, 0xaf, 0x76, 0x21, 0xf8};

    assert_memory_equal(room->config->judgement_digest, judgement, sizeof judgement);
    assert_memory_equal(room->config->key_digest, key, sizeof key);
}

static void
conf_digests_cover_their_files_and_no_other(void **state)
{
    struct room *room = *state;
    static const struct {
        const char *file;
        const char *find;
        bool judgement;
        bool key;
    } rows[] = {
        {"ship.yaml", "9.0", true, false},        {"gear.yaml", "400", true, false},
        {"aircraft.yaml", "25", true, false},     {"stations.yaml", "nodes:", true, true},
        {"bus.yaml", "identity\n", false, false}, {"keys.yaml", "keys:", false, true},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char put[64];
        (void)snprintf(put, sizeof put, "%s # a comment\n",
                       strcmp(rows[i].find, "identity\n") == 0 ? "identity" : rows[i].find);
        edit(room, rows[i].file, rows[i].find, put);
        assert_loads(room);
        bool judgement = memcmp(room->config->judgement_digest, room->before->judgement_digest,
                                TL_DIGEST_LEN) != 0;
        bool key = memcmp(room->config->key_digest, room->before->key_digest, TL_DIGEST_LEN) != 0;
        if (judgement != rows[i].judgement || key != rows[i].key) {
            fail_msg("%s: judgement digest %s, key digest %s", rows[i].file,
                     judgement ? "changed" : "same", key ? "changed" : "same");
        }
        folder_mend(&room->folder);
    }
}

static void
conf_reload_takes_a_revocation_as_a_load_would(void **state)
{
    struct room *room = *state;
    struct tl_conf_fault fault;

    edit(room, "keys.yaml", "revoked: false", "revoked: true");
    assert_int_equal(tl_conf_reload_keys(room->folder.dir, room->before, &fault), TL_OK);
    assert_true(room->before->key[0].revoked);
    assert_loads(room);
    assert_memory_equal(room->before, room->config, sizeof *room->config);
}

static void
conf_reload_of_bad_keys_changes_nothing(void **state)
{
    struct room *room = *state;
    static const struct {
        const char *find;
        const char *put;
        uint32_t line;
    } rows[] = {
        {"node: deck", "node: desk", 4},
        {"deck, epoch: 1", "deck, epoch: x", 4},
        {"node: deck, epoch: 1", "node: approach, epoch: 2", 1},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_conf_fault fault = {.line = UINT32_MAX};
        edit(room, "keys.yaml", rows[i].find, rows[i].put);
        assert_int_equal(tl_conf_reload_keys(room->folder.dir, room->config, &fault), TL_CONFIG);
        assert_string_equal(fault.file, "keys.yaml");
        assert_int_equal(fault.line, rows[i].line);
        assert_memory_equal(room->config, room->before, sizeof *room->config);
    }
    folder_put(&room->folder, "keys.yaml", NULL, 0);
    struct tl_conf_fault fault = {.line = UINT32_MAX};
    assert_int_equal(tl_conf_reload_keys(room->folder.dir, room->config, &fault), TL_CONFIG);
    assert_int_equal(fault.line, 0);
    assert_memory_equal(room->config, room->before, sizeof *room->config);
}

/* A revocation must not wait for a restart that other edits would need, and must not look agreed. */
static void
conf_reload_on_other_files_takes_keys_and_shows_a_difference(void **state)
{
    struct room *room = *state;
    struct tl_conf_fault fault;

    edit(room, "gear.yaml", "400", "300");
    edit(room, "keys.yaml", "revoked: false", "revoked: true");
    assert_int_equal(tl_conf_reload_keys(room->folder.dir, room->before, &fault), TL_OK);
    assert_true(room->before->key[0].revoked);
    assert_int_equal(room->before->gear.agree_tolerance_lb, 400);
    assert_memory_equal(room->before->judgement_digest, room->config->judgement_digest,
                        TL_DIGEST_LEN);
    assert_loads(room);
    assert_memory_not_equal(room->before->key_digest, room->config->key_digest, TL_DIGEST_LEN);
}

static void
conf_unkeyed_load_does_without_keys(void **state)
{
    struct room *room = *state;
    struct tl_conf_fault fault;

    folder_put(&room->folder, "keys.yaml", NULL, 0);
    assert_int_equal(tl_conf_load_unkeyed(room->folder.dir, room->config, &fault), TL_OK);
    assert_int_equal(room->config->key_count, 0);
    assert_int_equal(room->config->node_count, 10);
    edit(room, "keys.yaml", "node: deck, epoch: 1", "node: approach, epoch: 2");
    assert_int_equal(tl_conf_load_unkeyed(room->folder.dir, room->config, &fault), TL_OK);
    assert_int_equal(room->config->key_count, 10);
    edit(room, "keys.yaml", "node: deck", "node: desk");
    assert_int_equal(tl_conf_load_unkeyed(room->folder.dir, room->config, &fault), TL_CONFIG);
}

static void
print_with_line(void)
{
    tl_conf_print_fault(&(struct tl_conf_fault){"stations.yaml", 7, "no such thing"});
}

static void
print_without_line(void)
{
    tl_conf_print_fault(&(struct tl_conf_fault){"keys.yaml", 0, "does not exist"});
}

static void
conf_fault_is_printed_as_one_line(void **state)
{
    char text[128];

    (void)state;
    (void)capture_stderr(print_with_line, text, sizeof text);
    assert_string_equal(text, "stations.yaml:7: no such thing\n");
    (void)capture_stderr(print_without_line, text, sizeof text);
    assert_string_equal(text, "keys.yaml: does not exist\n");
}

/* The folder that is delivered, with keys from fixed seeds. */
static void
conf_demo_folder_loads(void **state)
{
    struct room *room = *state;
    const char *source = getenv("TL_SOURCE_DIR");
    struct tl_conf_fault fault = {.line = 0};

    assert_non_null(source);
    for (size_t i = 0; i < FOLDER_FILES - 1; i++) {
        char path[TL_PATH_CAP];
        size_t len = 0;
        (void)snprintf(path, sizeof path, "%s/configs/demo/%s", source, folder_names[i]);
        assert_int_equal(tl_file_read(path, FOLDER_FILE_CAP, room->text, &len), TL_OK);
        folder_put(&room->folder, folder_names[i], room->text, len);
    }
    folder_put(&room->folder, "keys.yaml", NULL, 0);
    enum tl_err err = tl_conf_load_unkeyed(room->folder.dir, room->config, &fault);
    if (err != TL_OK) {
        fail_msg("%s:%u: %s", fault.file, fault.line, fault.text);
    }
    assert_true(room->config->ship.invented);
    assert_int_equal(room->config->gear.engine_count, 4);
    assert_true(room->config->type_count >= 3);
    assert_int_equal(room->config->bus_count, 2);
    assert_string_equal(room->config->clear_owner, "deck");
    assert_non_null(tl_config_node(room->config, "validator-2"));
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(conf_ship_is_as_written, set_up, tear_down),
        cmocka_unit_test_setup_teardown(conf_gear_and_types_are_as_written, set_up, tear_down),
        cmocka_unit_test_setup_teardown(conf_nodes_are_as_written, set_up, tear_down),
        cmocka_unit_test_setup_teardown(conf_buses_folders_and_keys_are_as_written, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(conf_values_at_the_boundary_are_taken, set_up, tear_down),
        cmocka_unit_test_setup_teardown(conf_optional_lists_may_be_absent, set_up, tear_down),
        cmocka_unit_test_setup_teardown(conf_digests_are_those_of_another_implementation, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(conf_digests_cover_their_files_and_no_other, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(conf_reload_takes_a_revocation_as_a_load_would, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(conf_reload_of_bad_keys_changes_nothing, set_up, tear_down),
        cmocka_unit_test_setup_teardown(
            conf_reload_on_other_files_takes_keys_and_shows_a_difference, set_up, tear_down),
        cmocka_unit_test_setup_teardown(conf_unkeyed_load_does_without_keys, set_up, tear_down),
        cmocka_unit_test_setup_teardown(conf_fault_is_printed_as_one_line, set_up, tear_down),
        cmocka_unit_test_setup_teardown(conf_demo_folder_loads, set_up, tear_down),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
