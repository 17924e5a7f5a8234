/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_conf_bad - every wrong file is refused with its name, its line and a sentence about it
 *
 * Each row spoils one good folder by one change and states what a person must be told.
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
#include "proto/base/require.h"
#include "tests/conf/folder.h"

struct bad {
    const char *name;
    const char *file;  /* that is spoilt */
    const char *find;  /* first place of this text; NULL: the whole file */
    const char *put;   /* takes its place; NULL with find NULL: the file is removed */
    const char *where; /* file that is blamed; NULL: the one spoilt */
    uint32_t line;
    const char *word; /* in the sentence */
};

#define SHIP  "ship.yaml"
#define GEAR  "gear.yaml"
#define CRAFT "aircraft.yaml"
#define NODES "stations.yaml"
#define BUS   "bus.yaml"
#define KEYS  "keys.yaml"

/* clang-format off */
static const struct bad rows[] = {
    /* the files themselves */
    {"no ship file", SHIP, NULL, NULL, NULL, 0, "does not exist"},
    {"no gear file", GEAR, NULL, NULL, NULL, 0, "does not exist"},
    {"no aircraft file", CRAFT, NULL, NULL, NULL, 0, "does not exist"},
    {"no stations file", NODES, NULL, NULL, NULL, 0, "does not exist"},
    {"no bus file", BUS, NULL, NULL, NULL, 0, "does not exist"},
    {"no keys file", KEYS, NULL, NULL, NULL, 0, "trapline keys new"},
    {"empty file", GEAR, NULL, "", NULL, 1, "is empty"},
    {"only a comment", GEAR, NULL, "# later\n", NULL, 1, "is empty"},
    {"only a marker", GEAR, NULL, "---\n", NULL, 1, "must be settings"},
    {"not UTF-8", SHIP, "Heron", "H\xe9ron", NULL, 1, "UTF-8"},
    {"UTF-16 mark", SHIP, "name", "\xff\xfename", NULL, 1, "UTF-8"},
    {"byte order mark", SHIP, "name", "\xef\xbb\xbfname", NULL, 1, "byte order mark"},
    {"control byte", SHIP, "offered", "offer\x1b[2Jed", NULL, 4, "control byte"},
    {"delete byte in a comment", SHIP, "due:", "due: # \x7f", NULL, 6, "control byte"},
    {"right-to-left override", SHIP, "no wind", "no \xe2\x80\xaewind", NULL, 11, "invisible"},
    {"the same by an escape", SHIP, "no wind", "no \\u202ewind", NULL, 11, "invisible"},
    {"carriage returns", SHIP, "true\n", "true\r\n", NULL, 2, "carriage return"},
    {"tab", SHIP, "  valid_ms", "\tvalid_ms", NULL, 32, "tab"},

    /* YAML */
    {"broken quote", SHIP, "\"no wind", "no \"wind\": x", NULL, 11, "not YAML"},
    {"open brace", NODES, "kind: deck}", "kind: deck", NULL, 5, "not YAML"},
    {"wrong indentation", GEAR, "selector_max_lb", "   selector_max_lb", NULL, 5, "not YAML"},
    {"a list at the top", SHIP, NULL, "- name\n", NULL, 1, "must be settings"},
    {"a word at the top", SHIP, NULL, "name\n", NULL, 1, "must be settings"},
    {"second document", SHIP, "wind:\n", "---\nwind:\n", NULL, 31, "second document"},
    {"anchor", GEAR, "10000", "&a 10000", NULL, 4, "anchor"},
    {"alias", GEAR, "52000", "*a", NULL, 5, "alias"},
    {"tag", GEAR, "52000", "!!str 52000", NULL, 5, "tag"},
    {"anchor on a list", GEAR, "engines:", "engines: &a", NULL, 1, "anchor"},
    {"merge key", NODES, "id: viewer", "<<: viewer", NULL, 11, "unknown key"},
    {"a key that is a list", SHIP, "invented:", "[invented]:", NULL, 2, "key must stand"},
    {"a value of two lines", SHIP, "name: Grey Heron", "name: |\n  Grey\n  Heron", NULL, 1, "several lines"},
    {"NUL by an escape", SHIP, "Grey Heron", "\"Grey\\0Heron\"", NULL, 1, "control character"},
    {"deep nesting", SHIP, "Grey Heron", "[[[[[[x]]]]]]", NULL, 1, "nested too deep"},
    {"key twice", SHIP, "invented: true\n", "invented: true\ninvented: false\n", NULL, 3, "given twice (first on line 2)"},
    {"key twice in an item", NODES, "kind: deck}", "kind: deck, id: deck}", NULL, 4, "given twice"},
    {"list twice", GEAR, "source:", "engines:\n  - {unit: 9}\nsource:", NULL, 8, "given twice"},

    /* the schema */
    {"unknown key", SHIP, "invented: true\n", "invented: true\ncolour: grey\n", NULL, 3, "unknown key \"colour\""},
    {"unknown key, misspelt", GEAR, "agree_tolerance_lb", "agree_tolerence_lb", NULL, 7, "unknown key \"agree_tolerence_lb\""},
    {"unknown key in an item", NODES, "kind: deck}", "kind: deck, unti: 1}", NULL, 4, "unknown key \"unti\""},
    {"unknown key in a block item", CRAFT, "    source", "    sauce: 1\n    source", NULL, 7, "unknown key \"sauce\""},
    {"unknown key in wind", SHIP, "  disagree_deg: 15\n", "  disagree_deg: 15\n  gust: 2\n", NULL, 37, "unknown key \"gust\""},
    {"a long key", SHIP, "invented", "invented_by_somebody_who_is_not_there", NULL, 2, "unknown key"},
    {"a key in capitals", SHIP, "invented", "Invented", NULL, 2, "unknown key \"Invented\""},
    {"key missing", SHIP, "deck_angle_deg: 9.0\n", "", NULL, 1, "\"deck_angle_deg\" is missing"},
    {"key missing in an item", NODES, "{id: approach, kind: approach}", "{id: approach}", NULL, 5, "\"kind\" is missing in nodes[3]"},
    {"key missing in a block item", CRAFT, "    max_trap_lb: 33900\n", "", NULL, 2, "\"max_trap_lb\" is missing"},
    {"key missing in wind", SHIP, "  valid_ms: 3000\n", "", NULL, 31, "\"valid_ms\" is missing in wind"},
    {"list missing", CRAFT, NULL, "{}\n", NULL, 1, "\"types\" is missing"},
    {"list empty", CRAFT, NULL, "types: []\n", NULL, 1, "types is empty"},
    {"a word for a list", NODES, NULL, "nodes: deck\nclear_owner: deck\nrepeater_reader: deck\n", NULL, 1, "nodes must be a list"},
    {"a mapping for a list", NODES, NULL, "nodes: {a: b}\nclear_owner: deck\nrepeater_reader: deck\n", NULL, 1, "nodes must be a list"},
    {"a word for an item", NODES, "{id: approach, kind: approach}", "approach", NULL, 5, "nodes[3] must be settings"},
    {"a list for a value", NODES, "id: approach", "id: [approach]", NULL, 5, "nodes[3].id must be one value"},
    {"a mapping for a value", SHIP, "9.0", "{deg: 9.0}", NULL, 3, "deck_angle_deg must be one value"},
    {"no value", GEAR, "52000", "", NULL, 5, "selector_max_lb has no value"},
    {"very long value", GEAR, "52000", "520000000000000000000000000000000000000000000000000000000000000000000000000000000000000000000000000", NULL, 5, "longer than"},

    /* numbers */
    {"number with a comma", CRAFT, "34000", "34,000", NULL, 3, "not a whole number"},
    {"number with a sign", CRAFT, "34000", "+34000", NULL, 3, "not a whole number"},
    {"negative number", CRAFT, "34000", "-34000", NULL, 3, "not a whole number"},
    {"octal", CRAFT, "34000", "034000", NULL, 3, "not a whole number"},
    {"hexadecimal", CRAFT, "34000", "0x84d0", NULL, 3, "not a whole number"},
    {"exponent", CRAFT, "34000", "34e3", NULL, 3, "not a whole number"},
    {"decimals", CRAFT, "34000", "34000.0", NULL, 3, "not a whole number"},
    {"unit in the number", CRAFT, "34000", "34000 lb", NULL, 3, "not a whole number"},
    {"a word for a number", CRAFT, "34000", "heavy", NULL, 3, "not a whole number"},
    {"too many digits", CRAFT, "34000", "4294967296034000", NULL, 3, "not a whole number"},
    {"time of 0 s", CRAFT, "25", "0", NULL, 6, "out of range"},
    {"time of 301 s", CRAFT, "25", "301", NULL, 6, "out of range; write 1 to 300 s"},
    {"angle not a number", SHIP, "9.0", "nan", NULL, 3, "not a number"},
    {"angle infinite", SHIP, "9.0", "inf", NULL, 3, "not a number"},
    {"angle with a comma", SHIP, "9.0", "9,0", NULL, 3, "not a number"},
    {"angle with a bare point", SHIP, "9.0", "9.", NULL, 3, "not a number"},
    {"angle too fine", SHIP, "9.0", "9.0001", NULL, 3, "not a number"},
    {"angle negative", SHIP, "9.0", "-9.0", NULL, 3, "not a number"},
    {"angle just too wide", SHIP, "9.0", "20.001", NULL, 3, "out of range"},
    {"wind validity too short", SHIP, "3000", "199", NULL, 32, "out of range"},
    {"wind validity too long", SHIP, "5000", "60001", NULL, 34, "out of range"},
    {"wind disagreement of 0", SHIP, "5.5", "0", NULL, 37, "out of range"},

    /* ship */
    {"name too long", SHIP, "Grey Heron", "Grey Heron of the North Sh", NULL, 1, "longer than 23 bytes"},
    {"name blank", SHIP, "Grey Heron", "\"   \"", NULL, 1, "blank"},
    {"invented maybe", SHIP, "invented: true", "invented: yes", NULL, 2, "write one of: false, true"},
    {"read-back unknown", SHIP, "offered", "spoken", NULL, 4, "offered, keyed"},
    {"unknown rule due", SHIP, "not-in-battery", "not-in-batery", NULL, 7, "\"not-in-batery\" is not known"},
    {"due twice", SHIP, "hook-not-down", "not-in-battery", NULL, 8, "due twice"},
    {"due of the picture", SHIP, "hook-not-down", "station-lost", NULL, 8, "picture itself"},
    {"due too late", SHIP, "90", "3601", NULL, 8, "after_order_s"},
    {"due far before the ramp", SHIP, "20}", "601}", NULL, 7, "before_ramp_s"},
    {"unknown rule off", SHIP, "rule: wind-unknown", "rule: wind", NULL, 10, "not known"},
    {"rule of the picture off", SHIP, "rule: wind-unknown", "rule: station-lost", NULL, 10, "picture itself"},
    {"rule of a screen off", SHIP, "rule: wind-unknown", "rule: no-validator", NULL, 10, "picture itself"},
    {"rule off without a reason", SHIP, "    reason: \"no wind sensor fitted\"\n", "", NULL, 10, "\"reason\" is missing"},
    {"rule off, empty reason", SHIP, "\"no wind sensor fitted\"", "\"\"", NULL, 11, "reason has no value"},
    {"rule off, blank reason", SHIP, "\"no wind sensor fitted\"", "\" \"", NULL, 11, "reason is blank"},
    {"rule off twice", SHIP, "wind:\n", "  - {rule: wind-unknown, reason: again}\nwind:\n", NULL, 31, "off twice"},

    /* gear */
    {"engine unit 0", GEAR, "unit: 1", "unit: 0", NULL, 2, "unit 0 is out of range"},
    {"engine unit 9", GEAR, "unit: 1", "unit: 9", NULL, 2, "unit 9 is out of range"},
    {"unit twice in gear", GEAR, "unit: 2", "unit: 1", NULL, 3, "unit 1 is given twice"},
    {"wire with two engines", GEAR, "wire: 3", "wire: 2", NULL, 3, "wire 2 has two engines"},
    {"service maybe", GEAR, "in_service: false", "in_service: no", NULL, 3, "in_service \"no\""},
    {"selector upside down", GEAR, "52000", "10000", NULL, 5, "not above selector_min_lb"},
    {"step that does not fit", GEAR, "500", "900", NULL, 6, "steps of 900 lb"},
    {"step of 0", GEAR, "500", "0", NULL, 6, "out of range"},
    {"tolerance too wide", GEAR, "400", "5001", NULL, 7, "out of range"},
    {"gear without source", GEAR, "source: invented", "source: \" \"", NULL, 8, "source is blank"},

    /* aircraft */
    {"type id in capitals", CRAFT, "plover", "Plover", NULL, 2, "is not an id"},
    {"type id of 16 bytes", CRAFT, "plover", "ploverploverplov", NULL, 2, "1 to 15"},
    {"type twice", CRAFT, "dunlin", "plover", NULL, 8, "\"plover\" is given twice"},
    {"setting between steps", CRAFT, "34000", "34250", NULL, 3, "step of 500 lb"},
    {"setting under the selector", CRAFT, "34000", "9500", NULL, 3, "outside the selector's 10000 to 52000"},
    {"setting over the selector", CRAFT, "34000", "52500", NULL, 3, "outside the selector's 10000 to 52000"},
    {"setting too light for the type", CRAFT, "33900", "34301", NULL, 5, "too light"},
    {"type without source", CRAFT, "    source: invented", "    source: ' '", NULL, 7, "source is blank"},

    /* stations */
    {"id twice", NODES, "id: approach", "id: deck", NULL, 5, "\"deck\" is given twice (first on line 4)"},
    {"id with a dot", NODES, "id: approach", "id: approach.1", NULL, 5, "is not an id"},
    {"id with a slash", NODES, "id: approach", "id: ../approach", NULL, 5, "is not an id"},
    {"id of 24 bytes", NODES, "id: approach", "id: approachapproachapproach", NULL, 5, "1 to 23"},
    {"id that ends in a hyphen", NODES, "id: approach", "id: approach-", NULL, 5, "is not an id"},
    {"id that begins with a hyphen", NODES, "id: approach", "id: -approach", NULL, 5, "is not an id"},
    {"unknown kind", NODES, "kind: approach", "kind: tower", NULL, 5, "engine, deck, approach"},
    {"engine without a unit", NODES, "kind: engine, unit: 2", "kind: engine", NULL, 3, "has no unit"},
    {"one unit, two stations", NODES, "id: engine-2, kind: engine, unit: 2", "id: engine-b, kind: engine, unit: 1", NULL, 3, "two stations, engine-1 and engine-b"},
    {"id says another unit", NODES, "unit: 2", "unit: 3", NULL, 3, "mix up"},
    {"unit on the deck", NODES, "kind: deck", "kind: deck, unit: 1", NULL, 4, "no engine"},
    {"two primaries", NODES, "kind: approach", "kind: primary", NULL, 7, "two stations of kind primary"},
    {"two decks", NODES, "kind: approach", "kind: deck", NULL, 5, "two stations of kind deck"},
    {"two platforms", NODES, "kind: approach", "kind: platform", NULL, 6, "two stations of kind platform"},
    {"viewer that may foul", NODES, "kind: viewer", "kind: viewer, may_foul: true", NULL, 11, "cannot say foul"},
    {"may foul, perhaps", NODES, "may_foul: true", "may_foul: 1", NULL, 6, "may_foul \"1\""},
    {"no validator", NODES, "  - {id: validator-1, kind: validator}\n", "", NULL, 1, "0 nodes of kind validator"},
    {"clear owner unknown", NODES, "clear_owner: deck", "clear_owner: desk", NULL, 12, "not among the nodes"},
    {"clear owner a viewer", NODES, "clear_owner: deck", "clear_owner: viewer", NULL, 12, "is a viewer; name a station"},
    {"clear owner a validator", NODES, "clear_owner: deck", "clear_owner: validator-1", NULL, 12, "is a validator"},
    {"repeater reader unknown", NODES, "reader: primary", "reader: primry", NULL, 13, "not among the nodes"},
    {"repeater reader an engine", NODES, "reader: primary", "reader: engine-1", NULL, 13, "check its own setting"},
    {"repeater reader a broker", NODES, "reader: primary", "reader: bus-a", NULL, 13, "is a broker"},

    /* bus */
    {"two buses of one id", BUS, "id: bus-b", "id: bus-a", NULL, 3, "\"bus-a\" is given twice"},
    {"host name", BUS, "tcp://127.0.0.1:5753", "tcp://localhost:5753", NULL, 4, "numeric IPv4"},
    {"any address", BUS, "tcp://127.0.0.1:5753", "tcp://0.0.0.0:5753", NULL, 4, "numeric IPv4"},
    {"wildcard", BUS, "tcp://127.0.0.1:5753", "tcp://*:5753", NULL, 4, "numeric IPv4"},
    {"multicast", BUS, "tcp://127.0.0.1:5753", "tcp://224.0.0.1:5753", NULL, 4, "numeric IPv4"},
    {"octal address", BUS, "tcp://127.0.0.1:5753", "tcp://127.0.0.01:5753", NULL, 4, "numeric IPv4"},
    {"IPv6", BUS, "tcp://127.0.0.1:5753", "\"tcp://[::1]:5753\"", NULL, 4, "numeric IPv4"},
    {"another transport", BUS, "tcp://127.0.0.1:5753", "ipc:///tmp/x", NULL, 4, "tcp://ADDRESS:PORT"},
    {"multicast transport", BUS, "tcp://127.0.0.1:5753", "pgm://127.0.0.1:5753", NULL, 4, "tcp://ADDRESS:PORT"},
    {"port 1023", BUS, "5753", "1023", NULL, 4, "1024 to 32767"},
    {"port 32768", BUS, "5753", "32768", NULL, 4, "1024 to 32767"},
    {"port with a zero in front", BUS, "5753", "05753", NULL, 4, "1024 to 32767"},
    {"no port", BUS, "tcp://127.0.0.1:5753", "tcp://127.0.0.1", NULL, 4, "1024 to 32767"},
    {"text after the port", BUS, "5753", "5753/x", NULL, 4, "1024 to 32767"},
    {"source address", BUS, "tcp://127.0.0.1:5753", "tcp://127.0.0.1:0;127.0.0.1:5753", NULL, 4, "tcp://ADDRESS:PORT"},
    {"ingress is egress", BUS, "5754", "5753", NULL, 5, "the same as ingress"},
    {"endpoint of the other bus", BUS, "5754", "5751", NULL, 5, "used by bus bus-a"},
    {"ingress of the other bus", BUS, "5753", "5752", NULL, 4, "used by bus bus-a"},
    {"record folder blank", BUS, "state_dir: state", "state_dir: s\nrecord_dir: ' '", NULL, 8, "record_dir is blank"},
    {"folder blank", BUS, "state_dir: state", "state_dir: ' '", NULL, 7, "state_dir is blank"},

    /* one file against another */
    {"engine without a station", NODES, "  - {id: engine-2, kind: engine, unit: 2}\n", "", GEAR, 3, "engine 2 has no station"},
    {"station without an engine", GEAR, "  - {unit: 2, wire: 3, in_service: false}\n", "", NODES, 3, "gear.yaml does not have"},
    {"bus without a broker", NODES, "  - {id: bus-b, kind: broker}\n", "", BUS, 3, "no node of kind broker"},
    {"bus that is a viewer", NODES, "{id: bus-b, kind: broker}", "{id: bus-b, kind: viewer}", BUS, 3, "no node of kind broker"},
    {"broker without a bus", BUS, "  - id: bus-b\n    ingress: tcp://127.0.0.1:5753\n    egress: tcp://127.0.0.1:5754\n", "", NODES, 10, "not in bus.yaml"},
    {"rule without a source", SHIP, "rule: wind-unknown", "rule: hook-not-down", NODES, 1, "no station of kind bridge"},
    {"hook rule without a platform", NODES, "id: platform, kind: platform", "id: platform, kind: bridge", NULL, 1, "no station of kind platform"},
    {"no primary", NODES, "{id: primary, kind: primary, may_foul: true}", "{id: primary, kind: bridge}", NULL, 1, "no station of kind primary"},

    /* keys */
    {"key of an unknown node", KEYS, "node: deck", "node: desk", NULL, 4, "not in stations.yaml"},
    {"node without a key", KEYS, "node: deck, epoch: 1", "node: approach, epoch: 2", NULL, 1, "node deck of stations.yaml has no key"},
    {"no keys", KEYS, NULL, "keys: []\n", NULL, 1, "has no key"},
    {"epoch 0", KEYS, "deck, epoch: 1", "deck, epoch: 0", NULL, 4, "epoch 0 is out of range"},
    {"epoch beyond the last", KEYS, "deck, epoch: 1", "deck, epoch: 1000000", NULL, 4, "out of range"},
    {"epoch twice", KEYS, "node: approach", "node: deck", NULL, 5, "deck has epoch 1 twice"},
    {"identity of 63 digits", KEYS, NULL, "keys:\n  - {node: deck, epoch: 1, identity: 012345678901234567890123456789012345678901234567890123456789012, revoked: false}\n", NULL, 2, "not 64 hexadecimal digits"},
    {"identity of 65 digits", KEYS, NULL, "keys:\n  - {node: deck, epoch: 1, identity: 01234567890123456789012345678901234567890123456789012345678901234, revoked: false}\n", NULL, 2, "not 64 hexadecimal digits"},
    {"identity not hexadecimal", KEYS, NULL, "keys:\n  - {node: deck, epoch: 1, identity: g123456789012345678901234567890123456789012345678901234567890123, revoked: false}\n", NULL, 2, "not 64 hexadecimal digits"},
    {"identity of zeros", KEYS, NULL, "keys:\n  - {node: deck, epoch: 1, identity: 0000000000000000000000000000000000000000000000000000000000000000, revoked: false}\n", NULL, 2, "not an Ed25519 public key"},
    {"revoked perhaps", KEYS, "revoked: false", "revoked: flase", NULL, 2, "revoked \"flase\""},
    {"key without revoked", KEYS, ", revoked: false", "", NULL, 2, "\"revoked\" is missing"},
};
/* clang-format on */

enum {
    ROW_COUNT = sizeof rows / sizeof rows[0],
    SPOILT_CAP = 2 * FOLDER_FILE_CAP,
    UNTOUCHED = 0x5a
};
static_assert(ROW_COUNT >= 60, "bad input is the point");

struct room {
    struct folder folder;
    struct tl_config *config;
    struct tl_config *untouched;
    char *text;
    char *spoilt;
};

static int
set_up(void **state)
{
    struct room *room = calloc(1, sizeof *room);

    assert_non_null(room);
    room->config = malloc(sizeof *room->config);
    room->untouched = malloc(sizeof *room->untouched);
    room->text = malloc(FOLDER_FILE_CAP);
    room->spoilt = malloc(SPOILT_CAP);
    assert_true(room->config != NULL && room->untouched != NULL && room->text != NULL &&
                room->spoilt != NULL);
    memset(room->config, UNTOUCHED, sizeof *room->config);
    memset(room->untouched, UNTOUCHED, sizeof *room->untouched);
    folder_make(&room->folder);
    *state = room;
    return 0;
}

static int
tear_down(void **state)
{
    struct room *room = *state;

    folder_remove(&room->folder);
    free(room->config);
    free(room->untouched);
    free(room->text);
    free(room->spoilt);
    free(room);
    return 0;
}

/* Replace the first `find` in a good file; a row whose text is not there is a fault of the row. */
static void
spoil(struct room *room, const struct bad *row)
{
    if (row->find == NULL) {
        folder_put(&room->folder, row->file, row->put, row->put == NULL ? 0 : strlen(row->put));
        return;
    }
    (void)folder_good_text(row->file, room->text);
    char *at = strstr(room->text, row->find);
    if (at == NULL) {
        fail_msg("row \"%s\": \"%s\" is not in %s", row->name, row->find, row->file);
        return;
    }
    int len = snprintf(room->spoilt, SPOILT_CAP, "%.*s%s%s", (int)(at - room->text), room->text,
                       row->put, at + strlen(row->find));
    assert_true(len > 0);
    folder_put(&room->folder, row->file, room->spoilt, (size_t)len);
}

/* Returns false, and prints why, if the load was not refused as the row says. */
static bool
refused_as(const struct room *room, const struct bad *row)
{
    struct tl_conf_fault fault = {.line = UINT32_MAX};
    const char *where = row->where == NULL ? row->file : row->where;
    enum tl_err err = tl_conf_load(room->folder.dir, room->config, &fault);

    if (err == TL_CONFIG && strcmp(fault.file, where) == 0 && fault.line == row->line &&
        strstr(fault.text, row->word) != NULL) {
        return true;
    }
    print_error("row \"%s\": want %s:%u ...%s...\n    got %s, %s:%u: %s\n", row->name, where,
                row->line, row->word, tl_err_text(err), err == TL_OK ? "" : fault.file,
                err == TL_OK ? 0 : fault.line, err == TL_OK ? "" : fault.text);
    return false;
}

static void
conf_bad_file_is_refused_by_file_line_and_word(void **state)
{
    struct room *room = *state;
    unsigned wrong = 0;

    for (size_t i = 0; i < ROW_COUNT; i++) {
        spoil(room, &rows[i]);
        wrong += refused_as(room, &rows[i]) ? 0 : 1;
        folder_mend(&room->folder);
    }
    assert_int_equal(wrong, 0);
    assert_memory_equal(room->config, room->untouched, sizeof *room->config);
}

/* Each spoilt folder was good before: otherwise a row could be refused for another's reason. */
static void
conf_good_folder_loads(void **state)
{
    struct room *room = *state;
    struct tl_conf_fault fault;

    assert_int_equal(tl_conf_load(room->folder.dir, room->config, &fault), TL_OK);
}

static void
expect_fault(const struct room *room, const struct tl_conf_fault *want)
{
    struct tl_conf_fault fault = {.line = UINT32_MAX};

    assert_int_equal(tl_conf_load(room->folder.dir, room->config, &fault), TL_CONFIG);
    assert_string_equal(fault.file, want->file);
    assert_int_equal(fault.line, want->line);
    if (strstr(fault.text, want->text) == NULL) {
        fail_msg("want ...%s..., got %s", want->text, fault.text);
    }
}

static void
conf_file_in_the_way_is_refused(void **state)
{
    struct room *room = *state;
    char path[FOLDER_PATH_CAP];

    (void)snprintf(path, sizeof path, "%s/gear.yaml", room->folder.dir);
    folder_put(&room->folder, GEAR, NULL, 0);
    assert_int_equal(mkdir(path, 0700), 0);
    expect_fault(room, &(struct tl_conf_fault){GEAR, 0, "not a regular file"});

    assert_int_equal(rmdir(path), 0);
    assert_int_equal(mkfifo(path, 0600), 0);
    expect_fault(room, &(struct tl_conf_fault){GEAR, 0, "not a regular file"});
}

static void
conf_unreadable_file_is_refused(void **state)
{
    struct room *room = *state;
    char path[FOLDER_PATH_CAP];
    bool is_root = geteuid() == 0;

    (void)snprintf(path, sizeof path, "%s/bus.yaml", room->folder.dir);
    assert_int_equal(chmod(path, 0), 0);
    assert_int_equal(chmod(room->folder.dir, 0755), 0);
    /* The kernel lets root read everything, so another effective user looks. */
    assert_true(!is_root || seteuid(65534) == 0);
    expect_fault(room, &(struct tl_conf_fault){BUS, 0, "may not be read"});
    assert_true(!is_root || seteuid(0) == 0);
}

static void
conf_file_of_64_kib_is_the_longest(void **state)
{
    struct room *room = *state;
    struct tl_conf_fault fault;
    size_t len = folder_good_text(SHIP, room->text);

    memset(room->text + len, '#', TL_CONF_FILE_MAX + 1 - len);
    folder_put(&room->folder, SHIP, room->text, TL_CONF_FILE_MAX);
    assert_int_equal(tl_conf_load(room->folder.dir, room->config, &fault), TL_OK);
    folder_put(&room->folder, SHIP, room->text, TL_CONF_FILE_MAX + 1);
    expect_fault(room, &(struct tl_conf_fault){SHIP, 0, "longer than 131072 bytes"});
}

/* Write stations.yaml with `count` more nodes of a kind in front of "clear_owner". */
static void
put_more_nodes(struct room *room, const char *kind, unsigned count)
{
    (void)folder_good_text(NODES, room->text);
    char *tail = strstr(room->text, "clear_owner");
    assert_non_null(tail);
    int len = snprintf(room->spoilt, FOLDER_FILE_CAP, "%.*s", (int)(tail - room->text), room->text);
    for (unsigned i = 0; i < count; i++) {
        len += snprintf(room->spoilt + len, (size_t)FOLDER_FILE_CAP - (size_t)len,
                        "  - {id: more-%u, kind: %s}\n", i, kind);
    }
    len += snprintf(room->spoilt + len, (size_t)FOLDER_FILE_CAP - (size_t)len, "%s", tail);
    folder_put(&room->folder, NODES, room->spoilt, (size_t)len);
}

static void
conf_lists_have_their_maximum(void **state)
{
    struct room *room = *state;

    put_more_nodes(room, "viewer", 246); /* 256 with the 10 that are there: no list is too long */
    expect_fault(room, &(struct tl_conf_fault){KEYS, 1, "node more-0 of stations.yaml has no key"});
    put_more_nodes(room, "viewer", 247);
    expect_fault(room, &(struct tl_conf_fault){NODES, 258, "more items than the 256"});
    put_more_nodes(room, "validator", 3);
    expect_fault(room, &(struct tl_conf_fault){KEYS, 1, "has no key"});
    put_more_nodes(room, "validator", 4);
    expect_fault(room, &(struct tl_conf_fault){NODES, 1, "5 nodes of kind validator; have 1 to 4"});
}

static void
conf_third_key_in_use_is_refused(void **state)
{
    struct room *room = *state;
    size_t len = folder_good_text(KEYS, room->text);
    static const char *const revoked[] = {"false", "true"};
    struct tl_conf_fault fault;

    for (size_t i = 0; i < 2; i++) {
        size_t at = len;
        for (unsigned epoch = 2; epoch <= 3; epoch++) {
            uint8_t identity[32];
            folder_identity((uint8_t)(100 + epoch), identity);
            at += (size_t)snprintf(room->text + at, FOLDER_FILE_CAP - at,
                                   "  - {node: deck, epoch: %u, identity: ", epoch);
            for (size_t b = 0; b < sizeof identity; b++) {
                at += (size_t)snprintf(room->text + at, FOLDER_FILE_CAP - at, "%02X", identity[b]);
            }
            at += (size_t)snprintf(room->text + at, FOLDER_FILE_CAP - at, ", revoked: %s}\n",
                                   revoked[i]);
        }
        folder_put(&room->folder, KEYS, room->text, at);
        if (i == 0) {
            expect_fault(room, &(struct tl_conf_fault){KEYS, 13, "deck has more than 2 keys"});
        }
    }
    assert_int_equal(tl_conf_load(room->folder.dir, room->config, &fault), TL_OK);
    assert_int_equal(room->config->key_count, 12);
}

static void
conf_same_identity_twice_is_refused(void **state)
{
    struct room *room = *state;
    size_t len = folder_good_text(KEYS, room->text);
    char *first = strstr(room->text, "node: deck, epoch: 1, identity: ");
    char *second = strstr(room->text, "node: approach, epoch: 1, identity: ");

    TL_REQUIRE(first != NULL && second != NULL);
    memcpy(second + strlen("node: approach, epoch: 1, identity: "),
           first + strlen("node: deck, epoch: 1, identity: "), 64);
    folder_put(&room->folder, KEYS, room->text, len);
    expect_fault(room, &(struct tl_conf_fault){KEYS, 5, "identity is that of deck, epoch 1, too"});
}

/* A folder of 512 - 64 bytes with its NUL leaves room for every file name in it. */
static void
conf_folder_path_has_its_maximum(void **state)
{
    struct room *room = *state;
    static const struct {
        unsigned len;
        enum tl_err want;
    } limits[] = {{448, TL_OK}, {449, TL_CONFIG}};

    for (size_t i = 0; i < 2; i++) {
        char path[512];
        memset(path, 'x', sizeof path);
        path[0] = '/';
        (void)folder_good_text(BUS, room->text);
        int len = snprintf(room->spoilt, FOLDER_FILE_CAP,
                           "%.*sidentity_dir: %.*s\nstate_dir: s\n"
                           "run_dir: r\n",
                           (int)(strstr(room->text, "identity_dir") - room->text), room->text,
                           (int)limits[i].len, path);
        folder_put(&room->folder, BUS, room->spoilt, (size_t)len);
        struct tl_conf_fault fault = {.line = 0};
        assert_int_equal(tl_conf_load(room->folder.dir, room->config, &fault), limits[i].want);
        if (limits[i].want == TL_CONFIG) {
            assert_int_equal(fault.line, 6);
            assert_non_null(strstr(fault.text, "longer than 448 bytes"));
        }
    }
}

static void
conf_folder_that_is_none_is_refused(void **state)
{
    struct room *room = *state;
    static const char *const suffixes[] = {"/nowhere", "/gear.yaml"};
    static const char *const words[] = {"cannot be found", "is a file"};
    struct tl_conf_fault fault;
    char path[FOLDER_PATH_CAP];

    for (size_t i = 0; i < 2; i++) {
        (void)snprintf(path, sizeof path, "%s%s", room->folder.dir, suffixes[i]);
        assert_int_equal(tl_conf_load(path, room->config, &fault), TL_CONFIG);
        assert_string_equal(fault.file, "configuration folder");
        assert_int_equal(fault.line, 0);
        assert_non_null(strstr(fault.text, words[i]));
    }
    assert_int_equal(tl_conf_load("", room->config, &fault), TL_CONFIG);
    memset(room->text, '/', FOLDER_FILE_CAP);
    room->text[TL_PATH_CAP] = '\0';
    assert_int_equal(tl_conf_load(room->text, room->config, &fault), TL_CONFIG);
    assert_non_null(strstr(fault.text, "too long"));
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(conf_bad_file_is_refused_by_file_line_and_word, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(conf_good_folder_loads, set_up, tear_down),
        cmocka_unit_test_setup_teardown(conf_file_in_the_way_is_refused, set_up, tear_down),
        cmocka_unit_test_setup_teardown(conf_unreadable_file_is_refused, set_up, tear_down),
        cmocka_unit_test_setup_teardown(conf_file_of_64_kib_is_the_longest, set_up, tear_down),
        cmocka_unit_test_setup_teardown(conf_lists_have_their_maximum, set_up, tear_down),
        cmocka_unit_test_setup_teardown(conf_third_key_in_use_is_refused, set_up, tear_down),
        cmocka_unit_test_setup_teardown(conf_same_identity_twice_is_refused, set_up, tear_down),
        cmocka_unit_test_setup_teardown(conf_folder_path_has_its_maximum, set_up, tear_down),
        cmocka_unit_test_setup_teardown(conf_folder_that_is_none_is_refused, set_up, tear_down),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
