/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_typing - the keys of a screen: what no sequence of keys may do, every one of them tried.
 *
 * A desk stands in for the session: a line of the table of safe words acts at once, every other
 * line is read back and waits. What is said without its read-back and its confirm is a fault.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <string.h>

#include "clients/station/typing.h"

enum {
    KEYS_MAX = 24,
    DEEP = 5,
    APART_MS = 450, /* between two keys of a person who reads */
    QUICK_MS = 300, /* of one who does not */
    CONFIRM_MS = 5000
};

struct desk {
    struct tl_typing typing;
    uint64_t now_ms;
    uint64_t take; /* number of the read in hand, and what it gave */
    const char *keys;
    size_t key_count;
    bool waits; /* a read-back stands on the screen */
    uint64_t waits_since;
    uint64_t until_ms;
    char asked[TL_LINE_MAX];
    /* what was said */
    uint32_t safe, unsafe, cancelled, unread, too_fast, acknowledged, quit;
    char said[TL_LINE_MAX];
    bool
        out_of_turn; /* said without its read-back, in the read that brought it, or not by y alone */
};

/* Words toward safe, as datum.c has them; `c` of the deck, `in` of an engine and the rest are not. */
static bool
is_safe(const char *line)
{
    static const char *const words[] = {"foul",     "stop",   "wave-off",   "battery out",
                                        "held",     "open",   "fault",      "barricade partial",
                                        "wind off", "bolter", "retracting", "hook not down"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        if (strcmp(line, words[i]) == 0) {
            return true;
        }
    }
    return strncmp(line, "foul ", 5) == 0 || strncmp(line, "trap ", 5) == 0;
}

static void
run(struct desk *desk, const char *line)
{
    desk->waits = false;
    if (is_safe(line)) {
        desk->safe++;
        (void)snprintf(desk->said, sizeof desk->said, "%s", line);
        return;
    }
    (void)snprintf(desk->asked, sizeof desk->asked, "%s", line);
    desk->waits = true;
    desk->waits_since = desk->take;
    desk->until_ms = desk->now_ms + CONFIRM_MS;
}

static void
act(void *ctx, enum tl_typed_kind kind)
{
    struct desk *desk = ctx;
    switch (kind) {
    case TL_TYPED_SAFE:
        run(desk, desk->typing.table->safe_line);
        break;
    case TL_TYPED_LINE:
        run(desk, desk->typing.taken);
        break;
    case TL_TYPED_CONFIRM:
        desk->out_of_turn = desk->out_of_turn || !desk->waits || desk->waits_since == desk->take ||
                            desk->key_count != 1 || desk->keys[0] != 'y';
        desk->unsafe += desk->waits ? 1 : 0;
        (void)snprintf(desk->said, sizeof desk->said, "%s", desk->asked);
        desk->waits = false;
        break;
    case TL_TYPED_UNREAD:
        desk->unread++;
        desk->waits = false;
        break;
    case TL_TYPED_CANCEL:
        desk->waits = false;
        desk->cancelled++;
        break;
    case TL_TYPED_TOO_FAST:
        desk->too_fast++;
        break;
    case TL_TYPED_ACKNOWLEDGE:
        desk->acknowledged++;
        break;
    case TL_TYPED_QUIT:
        desk->quit++;
        break;
    case TL_TYPED_NOTHING:
    case TL_TYPED_NIGHT:
    case TL_TYPED_REPAINT:
    case TL_TYPED_MORE:
        break;
    }
}

/* As the pane does after each read: a read-back that stands takes the keys. */
static void
settle(struct desk *desk)
{
    if (desk->waits && desk->now_ms < desk->until_ms) {
        if (desk->typing.mode != TL_TYPING_READ_BACK) {
            tl_typing_read_back(&desk->typing);
        }
    } else {
        desk->waits = false;
        tl_typing_let_go(&desk->typing);
    }
}

static void
type_at(struct desk *desk, const char *keys, size_t count)
{
    desk->take++;
    desk->keys = keys;
    desk->key_count = count;
    settle(desk);
    tl_typing_take(&desk->typing, keys, count, desk->now_ms, act, desk);
    settle(desk);
    tl_typing_painted(&desk->typing, desk->now_ms);
}

static void
type(struct desk *desk, const char *keys)
{
    for (; *keys != '\0'; keys++) {
        desk->now_ms += APART_MS;
        type_at(desk, keys, 1);
    }
}

static void
open_desk(struct desk *desk, enum tl_station_kind kind)
{
    *desk = (struct desk){.now_ms = 100000};
    tl_typing_init(&desk->typing, tl_keys_of(kind));
}

/* Keys that mean something in that room, and some that mean nothing. */
static size_t
alphabet(enum tl_station_kind kind, char keys[KEYS_MAX])
{
    const struct tl_key_table *table = tl_keys_of(kind);
    size_t used = 0;
    for (size_t i = 0; i < table->count && used < KEYS_MAX - 9; i++) {
        keys[used++] = table->row[i].key;
    }
    const char others[] = {'\t', '\r', 'y', 'a', '3', ' ', 0x1b, 0x7f, '?'};
    for (size_t i = 0; i < sizeof others; i++) {
        keys[used++] = others[i];
    }
    return used;
}

/* The keys before the confirm must have run a line, and nothing may stand between. */
static bool
is_read_back_and_confirmed(const struct desk *desk)
{
    return !desk->out_of_turn;
}

struct tally {
    uint64_t tried, unsafe, safe;
};

static void
try_all(enum tl_station_kind kind, uint64_t apart_ms, uint32_t together, struct tally *tally)
{
    char keys[KEYS_MAX];
    const size_t many = alphabet(kind, keys);
    size_t at[DEEP] = {0};
    struct desk desk;
    while (true) {
        open_desk(&desk, kind);
        for (uint32_t i = 0; i < DEEP;) {
            char read[DEEP];
            uint32_t count = 0;
            for (; count < together && i < DEEP; i++) {
                read[count++] = keys[at[i]];
            }
            desk.now_ms += apart_ms;
            type_at(&desk, read, count);
        }
        tally->tried++;
        tally->unsafe += desk.unsafe;
        tally->safe += desk.safe;
        assert_true(is_read_back_and_confirmed(&desk));
        size_t place = 0;
        while (place < DEEP && ++at[place] == many) {
            at[place++] = 0;
        }
        if (place == DEEP) {
            return;
        }
    }
}

static void
no_five_keys_say_a_word_that_was_not_read_back(void **state)
{
    (void)state;
    static const enum tl_station_kind kinds[] = {TL_STATION_DECK, TL_STATION_ENGINE,
                                                 TL_STATION_PLATFORM};
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        struct tally apart = {0};
        struct tally pairs = {0};
        struct tally quick = {0};
        try_all(kinds[i], APART_MS, 1, &apart);
        try_all(kinds[i], APART_MS, 2, &pairs);
        try_all(kinds[i], QUICK_MS, 1, &quick);
        print_message("%s: %llu sequences one by one, %llu in pairs; said toward READY %llu, "
                      "toward safe %llu\n",
                      tl_keys_of(kinds[i])->safe_label, (unsigned long long)apart.tried,
                      (unsigned long long)pairs.tried, (unsigned long long)apart.unsafe,
                      (unsigned long long)apart.safe);
        assert_true(apart.unsafe > 0 && apart.safe > 0);
        assert_true(quick.tried == apart.tried && quick.unsafe == 0 && quick.safe > 0);
    }
}

/* Text that was meant for another window: c and y stand in it, a third of a second apart. */
static void
text_that_is_typed_says_nothing(void **state)
{
    (void)state;
    static const char *const texts[] = {"emergency", "fancy why", "is it busy", "my bay", "policy"};
    for (int kind = TL_STATION_UNKNOWN + 1; kind < TL_STATION_KINDS; kind++) {
        for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
            struct desk desk;
            open_desk(&desk, (enum tl_station_kind)kind);
            for (const char *key = texts[i]; *key != '\0'; key++) {
                desk.now_ms += QUICK_MS;
                type_at(&desk, key, 1);
            }
            assert_int_equal(desk.unsafe, 0);
        }
    }
}

/* What has not been painted cannot have been read, however long ago it was asked. */
static void
a_confirm_before_the_paint_says_nothing(void **state)
{
    (void)state;
    struct desk desk;
    open_desk(&desk, TL_STATION_DECK);
    desk.waits = true;
    desk.until_ms = desk.now_ms + CONFIRM_MS;
    tl_typing_read_back(&desk.typing);
    desk.now_ms += 2000; /* the terminal took nothing */
    type_at(&desk, "y", 1);
    assert_int_equal(desk.unread, 1);
    assert_int_equal(desk.unsafe, 0);
    /* nor one that comes just after it; the help row does not offer it either */
    char help[200];
    for (int later = 0; later < 2; later++) {
        open_desk(&desk, TL_STATION_DECK);
        type(&desk, "c");
        desk.now_ms += later == 0 ? TL_TYPING_READ_MS - 1 : TL_TYPING_READ_MS;
        (void)tl_typing_help(&desk.typing, true, desk.now_ms, help, sizeof help);
        assert_int_equal(strstr(help, "y THAT IS RIGHT") != NULL, later == 1);
        type_at(&desk, "y", 1);
        assert_int_equal(desk.unread, later == 0);
        assert_int_equal(desk.unsafe, later == 1);
    }
}

static void
the_safe_key_acts_in_every_mode(void **state)
{
    (void)state;
    static const char *const before[] = {"", "\r", "\rclear", "c", "?", "\x1b", "\x1b[", "f"};
    for (size_t i = 0; i < sizeof before / sizeof before[0]; i++) {
        struct desk desk;
        open_desk(&desk, TL_STATION_DECK);
        type(&desk, before[i]);
        type_at(&desk, "\t", 1); /* at the same moment as the last key */
        assert_int_equal(desk.safe, 1);
        assert_string_equal(desk.said, "foul");
        type(&desk, "y"); /* what stood there before is gone */
        assert_int_equal(desk.unsafe, 0);
    }
}

static void
the_safe_key_acts_inside_a_paste(void **state)
{
    (void)state;
    struct desk desk;
    open_desk(&desk, TL_STATION_DECK);
    type_at(&desk, "clear\r\tclear\r", 13);
    assert_int_equal(desk.safe, 1);
    assert_int_equal(desk.unsafe, 0);
}

static void
the_safe_key_held_down_says_it_once(void **state)
{
    (void)state;
    struct desk desk;
    open_desk(&desk, TL_STATION_DECK);
    for (int i = 0; i < 60; i++) {
        desk.now_ms += i == 1 ? 600 : 30; /* a keyboard waits before it repeats */
        type_at(&desk, "\t", 1);
    }
    assert_int_equal(desk.safe, 1);
    desk.now_ms += 700; /* and a second word is a second word */
    type_at(&desk, "\t", 1);
    assert_int_equal(desk.safe, 2);
}

static void
a_paste_is_not_taken(void **state)
{
    (void)state;
    static const char *const pastes[] = {"set 34000\r", "cccccc", "34000", "clear\ry"};
    for (size_t i = 0; i < sizeof pastes / sizeof pastes[0]; i++) {
        struct desk desk;
        open_desk(&desk, TL_STATION_ENGINE);
        type_at(&desk, pastes[i], strlen(pastes[i]));
        assert_int_equal(desk.too_fast, 1);
        assert_int_equal(desk.safe + desk.unsafe, 0);
        assert_false(desk.waits);
        assert_int_equal(desk.typing.mode, TL_TYPING_KEYS);
    }
}

static void
a_key_held_down_in_a_line_drops_the_line(void **state)
{
    (void)state;
    struct desk desk;
    open_desk(&desk, TL_STATION_ENGINE);
    type(&desk, "34");
    desk.now_ms += 30;
    type_at(&desk, "4", 1);
    assert_int_equal(desk.too_fast, 1);
    assert_int_equal(desk.typing.mode, TL_TYPING_KEYS);
    /* the same digit twice by a person is two digits */
    type(&desk, "34400\r");
    assert_string_equal(desk.asked, "set 34400");
}

static void
the_key_that_asked_does_not_cancel_while_it_is_held(void **state)
{
    (void)state;
    struct desk desk;
    open_desk(&desk, TL_STATION_DECK);
    type(&desk, "c");
    for (int i = 0; i < 10; i++) {
        desk.now_ms += i == 0 ? 500 : 30;
        type_at(&desk, "c", 1);
    }
    assert_true(desk.waits);
    type(&desk, "y");
    assert_int_equal(desk.unsafe, 1);
    assert_string_equal(desk.said, "clear");
}

static void
what_function_keys_send_means_nothing(void **state)
{
    (void)state;
    static const char *const keys[] = {"\x1b[A",    "\x1bOy", "\x1b[11~",
                                       "\x1b[1;5C", "\x1bOP", "\x1b[200~"};
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
        struct desk desk;
        open_desk(&desk, TL_STATION_DECK);
        type(&desk, "c");
        desk.now_ms += APART_MS;
        type_at(&desk, keys[i], strlen(keys[i]));
        assert_int_equal(desk.unsafe, 0);
        open_desk(&desk, TL_STATION_DECK);
        for (const char *key = keys[i]; *key != '\0'; key++) { /* over a slow line */
            desk.now_ms += 2;
            type_at(&desk, key, 1);
        }
        assert_int_equal(desk.typing.mode, TL_TYPING_KEYS);
        assert_int_equal(desk.safe + desk.unsafe, 0);
    }
}

static void
counts_of_keys_are_those_of_the_plan(void **state)
{
    (void)state;
    struct desk desk;
    open_desk(&desk, TL_STATION_DECK);
    type(&desk, "\t"); /* FOUL: 1 */
    assert_int_equal(desk.safe, 1);
    type(&desk, "cy"); /* CLEAR: 2 */
    assert_int_equal(desk.unsafe, 1);
    type(&desk, "a"); /* acknowledge: 1 */
    assert_int_equal(desk.acknowledged, 1);
    open_desk(&desk, TL_STATION_ENGINE);
    type(&desk, "34000\r" /* 6 */ "y");
    assert_string_equal(desk.said, "set 34000");
    open_desk(&desk, TL_STATION_PLATFORM);
    type(&desk, "\t");
    assert_string_equal(desk.said, "wave-off");
}

static void
the_help_row_has_every_key_and_fits(void **state)
{
    (void)state;
    for (int kind = TL_STATION_UNKNOWN + 1; kind < TL_STATION_KINDS; kind++) {
        struct desk desk;
        char help[200];
        open_desk(&desk, (enum tl_station_kind)kind);
        (void)tl_typing_help(&desk.typing, true, desk.now_ms, help, sizeof help);
        if (strlen(help) > 79) { /* the very last cell of a terminal is left alone */
            fail_msg("%d: %zu cells: %s", kind, strlen(help), help);
        }
        for (size_t i = 0; i < desk.typing.table->count; i++) {
            char part[64];
            (void)snprintf(part, sizeof part, "%c %s", desk.typing.table->row[i].key,
                           desk.typing.table->row[i].label);
            if (strstr(help, part) == NULL) {
                fail_msg("%d: '%s' is not in: %s", kind, part, help);
            }
        }
        bool has_safe = desk.typing.table->safe_line != NULL;
        assert_true(has_safe == (strncmp(help, "TAB ", 4) == 0));
    }
}

/* A key stands once in its room, and none of those that mean the same everywhere. */
static void
no_key_means_two_things(void **state)
{
    (void)state;
    for (int kind = TL_STATION_UNKNOWN + 1; kind < TL_STATION_KINDS; kind++) {
        const struct tl_key_table *table = tl_keys_of((enum tl_station_kind)kind);
        for (size_t i = 0; i < table->count; i++) {
            assert_null(strchr("anqy?0123456789\t\r\n", table->row[i].key));
            for (size_t k = 0; k < i; k++) {
                assert_int_not_equal(table->row[i].key, table->row[k].key);
            }
        }
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_five_keys_say_a_word_that_was_not_read_back),
        cmocka_unit_test(text_that_is_typed_says_nothing),
        cmocka_unit_test(a_confirm_before_the_paint_says_nothing),
        cmocka_unit_test(the_safe_key_acts_in_every_mode),
        cmocka_unit_test(the_safe_key_acts_inside_a_paste),
        cmocka_unit_test(the_safe_key_held_down_says_it_once),
        cmocka_unit_test(a_paste_is_not_taken),
        cmocka_unit_test(a_key_held_down_in_a_line_drops_the_line),
        cmocka_unit_test(the_key_that_asked_does_not_cancel_while_it_is_held),
        cmocka_unit_test(what_function_keys_send_means_nothing),
        cmocka_unit_test(counts_of_keys_are_those_of_the_plan),
        cmocka_unit_test(the_help_row_has_every_key_and_fits),
        cmocka_unit_test(no_key_means_two_things),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
