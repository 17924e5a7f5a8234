/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_conf_random - random damage to good files: no crash, and nothing contradictory is loaded
 *
 * Two kinds of damage. Bytes: changed, removed, put in, or a piece of the file repeated. Words: one
 * word of a file in the place of another, which more often gives a file that parses and lies.
 *
 *     conf_random [SEED]      the seed is printed; the same seed gives the same files
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "proto/base/clock.h"
#include "proto/base/conf.h"
#include "proto/base/require.h"
#include "proto/base/text.h"
#include "tests/conf/folder.h"
#include "tests/conf/sound.h"

enum {
    ROUNDS = 4000,
    CHANGES_MAX = 4,
    PIECE_MAX = 40
};

struct room {
    struct folder folder;
    struct tl_config *config;
    char *text; /* FOLDER_FILE_CAP */
    size_t len;
    uint64_t random;
    unsigned loaded;
    unsigned refused;
};

/* xorshift64*: small, and the same on every host. */
static uint32_t
draw(struct room *room, size_t below)
{
    room->random ^= room->random >> 12;
    room->random ^= room->random << 25;
    room->random ^= room->random >> 27;
    return (uint32_t)((room->random * 2685821657736338717U) >> 32) % (uint32_t)below;
}

static void
replace(struct room *room, size_t at, size_t old_len, const char *piece)
{
    size_t len = strlen(piece);

    memmove(room->text + at + len, room->text + at + old_len, room->len - at - old_len);
    memcpy(room->text + at, piece, len);
    room->len = room->len - old_len + len;
}

/* Copy a piece of the file, so that it can be put elsewhere in it. */
static void
copy_piece(const struct room *room, size_t at, size_t len, char piece[PIECE_MAX + 1])
{
    len = len > PIECE_MAX ? PIECE_MAX : len;
    len = len > room->len - at ? room->len - at : len;
    memcpy(piece, room->text + at, len);
    piece[len] = '\0';
}

static void
damage_bytes(struct room *room)
{
    static const char liked[] = "\n\t :-[]{}&*!|>'\"%@`#,0123456789.~\\";
    char piece[PIECE_MAX + 1] = "";
    size_t at = draw(room, room->len);

    switch (draw(room, 5)) {
    case 0:
        room->text[at] = (char)(1 + draw(room, 255));
        break;
    case 1:
        room->text[at] = (char)((uint8_t)room->text[at] ^ (1U << draw(room, 8)));
        if (room->text[at] == '\0') {
            room->text[at] = '0';
        }
        break;
    case 2:
        replace(room, at, room->len - at > 3 ? 1 + draw(room, 3) : 1, "");
        break;
    case 3:
        piece[0] = liked[draw(room, sizeof liked - 1)];
        replace(room, at, 0, piece);
        break;
    default:
        copy_piece(room, at, 1 + draw(room, PIECE_MAX), piece);
        replace(room, draw(room, room->len), 0, piece);
        break;
    }
}

/* A word is what stands between these; its place and length. */
static size_t
find_word(struct room *room, size_t *len)
{
    static const char between[] = " \n,{}:-";
    size_t at = draw(room, room->len);

    at += strcspn(room->text + at, between);
    at += strspn(room->text + at, between);
    *len = strcspn(room->text + at, between);
    return at;
}

static void
damage_words(struct room *room)
{
    char piece[PIECE_MAX + 1];
    size_t from_len = 0;
    size_t to_len = 0;
    size_t from = find_word(room, &from_len);
    size_t to = find_word(room, &to_len);

    copy_piece(room, from, from_len, piece);
    piece[from_len < PIECE_MAX ? from_len : PIECE_MAX] = '\0';
    replace(room, to, to_len, piece);
}

static bool
is_plain(const char *text)
{
    char plain[TL_CONF_FAULT_TEXT_CAP];
    size_t len = tl_text_plain(plain, sizeof plain, text, strlen(text));

    return len > 0 && strcmp(plain, text) == 0;
}

/* A fault points into the file that was damaged, or at one that does not agree with it. */
static const char *
fault_fault(const struct tl_conf_fault *fault)
{
    bool is_named = false;

    for (size_t i = 0; i < FOLDER_FILES; i++) {
        is_named = is_named || strcmp(fault->file, folder_names[i]) == 0;
    }
    if (!is_named) {
        return "the fault names no file";
    }
    if (fault->line == 0 || fault->line > 200) {
        return "the fault names no line of the file";
    }
    return is_plain(fault->text) ? NULL : "the fault is not plain text";
}

static void
run_round(struct room *room, unsigned round)
{
    const char *name = folder_names[draw(room, FOLDER_FILES)];
    struct tl_conf_fault fault = {.line = 0};
    uint32_t changes = 1 + draw(room, CHANGES_MAX);
    bool by_word = draw(room, 2) == 0;

    room->len = folder_good_text(name, room->text);
    for (uint32_t i = 0; i < changes && room->len > PIECE_MAX; i++) {
        if (by_word) {
            damage_words(room);
        } else {
            damage_bytes(room);
        }
        room->text[room->len] = '\0';
    }
    folder_put(&room->folder, name, room->text, room->len);
    enum tl_err err = tl_conf_load(room->folder.dir, room->config, &fault);
    const char *wrong = err == TL_OK ? sound_fault(room->config) : fault_fault(&fault);
    if (wrong != NULL || (err != TL_OK && err != TL_CONFIG)) {
        fail_msg("round %u, %s: %s, %s\n%s:%u: %s\n%s", round, name, tl_err_text(err),
                 wrong == NULL ? "" : wrong, fault.file, fault.line, fault.text, room->text);
    }
    room->loaded += err == TL_OK ? 1 : 0;
    room->refused += err == TL_OK ? 0 : 1;
    room->len = folder_good_text(name, room->text);
    folder_put(&room->folder, name, room->text, room->len);
}

static void
conf_random_damage_never_loads_a_contradiction(void **state)
{
    struct room *room = *state;

    for (unsigned round = 0; round < ROUNDS; round++) {
        run_round(room, round);
    }
    print_message("%u loaded, %u refused\n", room->loaded, room->refused);
    /* Else the damage is too weak or too strong to mean anything. */
    assert_true(room->loaded > ROUNDS / 100);
    assert_true(room->refused > ROUNDS / 4);
}

int
main(int argc, char **argv)
{
    struct room room = {.loaded = 0};
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_prestate(conf_random_damage_never_loads_a_contradiction, &room),
    };

    room.random = argc > 1 ? strtoull(argv[1], NULL, 10) : tl_clock_wall_ms();
    room.random = room.random == 0 ? 1 : room.random;
    print_message("seed %llu\n", (unsigned long long)room.random);
    room.config = calloc(1, sizeof *room.config);
    room.text = malloc(FOLDER_FILE_CAP);
    TL_REQUIRE(room.config != NULL && room.text != NULL);
    folder_make(&room.folder);
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    folder_remove(&room.folder);
    free(room.config);
    free(room.text);
    return failed;
}
