/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_identity - which secret files open, which are refused and why, and the keys they give
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
#include <sodium.h>
#include <zmq.h>

#include "proto/link/identity.h"
#include "tests/identity/home.h"

#define UNTOUCHED 0x5a

/* Make a key of a node and put it on the list. */
static void
add_node(struct home *home, const char *node, uint32_t epoch)
{
    uint8_t identity[32];

    assert_int_equal(
        tl_identity_make(home->config, node, epoch, identity, home->why, sizeof home->why), TL_OK);
    home_add_key(home, node, epoch, identity);
}

/* Opening deck must end so; the sentence must hold a word, and name the path where one is given. */
static void
expect(struct home *home, uint32_t epoch, enum tl_err want, const char *word)
{
    struct tl_identity identity;
    uint8_t untouched[sizeof identity];

    memset(&identity, UNTOUCHED, sizeof identity);
    memset(untouched, UNTOUCHED, sizeof untouched);
    home->why[0] = '\0';
    enum tl_err err =
        tl_identity_open(home->config, "deck", epoch, &identity, home->why, sizeof home->why);
    if (err != want || strstr(home->why, word) == NULL) {
        fail_msg("want %s ...%s..., got %s %s", tl_err_text(want), word, tl_err_text(err),
                 home->why);
    }
    if (want == TL_OK) {
        assert_string_equal(home->why, "");
        tl_identity_close(&identity);
    } else {
        assert_memory_equal(&identity, untouched, sizeof identity);
    }
}

static void
identity_made_is_opened(void **state)
{
    struct home *home = *state;
    struct tl_identity identity;
    struct stat st;
    char path[TL_PATH_CAP];

    add_node(home, "deck", 1);
    assert_int_equal(tl_identity_path(home->config, "deck", 1, path, sizeof path), TL_OK);
    assert_int_equal(lstat(path, &st), 0);
    assert_int_equal(st.st_mode & 07777, 0600);
    assert_int_equal(lstat(home->config->identity_dir, &st), 0);
    assert_int_equal(st.st_mode & 07777, 0700);
    assert_int_equal(
        tl_identity_open(home->config, "deck", 1, &identity, home->why, sizeof home->why), TL_OK);
    assert_string_equal(identity.node, "deck");
    assert_int_equal(identity.epoch, 1);
    assert_memory_equal(identity.identity, home->config->key[0].identity, 32);
    tl_identity_close(&identity);
}

static void
identity_signs_for_its_public_half(void **state)
{
    struct home *home = *state;
    static const uint8_t words[] = "trapline.v1";
    uint8_t signature[crypto_sign_BYTES];
    struct tl_identity identity;

    add_node(home, "deck", 1);
    assert_int_equal(
        tl_identity_open(home->config, "deck", 1, &identity, home->why, sizeof home->why), TL_OK);
    assert_int_equal(
        crypto_sign_detached(signature, NULL, words, sizeof words, identity.signer.secret), 0);
    assert_int_equal(
        crypto_sign_verify_detached(signature, words, sizeof words, home->config->key[0].identity),
        0);
    tl_identity_close(&identity);
}

static void
identity_curve_pair_is_what_libzmq_makes_of_the_secret(void **state)
{
    struct home *home = *state;
    char public[TL_CURVE_CAP];

    for (uint32_t epoch = 1; epoch <= 16; epoch++) {
        struct tl_identity identity;
        add_node(home, "deck", epoch);
        assert_int_equal(
            tl_identity_open(home->config, "deck", epoch, &identity, home->why, sizeof home->why),
            TL_OK);
        assert_int_equal(strlen(identity.curve_secret), TL_CURVE_CAP - 1);
        assert_int_equal(zmq_curve_public(public, identity.curve_secret), 0);
        assert_string_equal(public, identity.curve_public);
        memset(public, 0, sizeof public);
        assert_int_equal(tl_identity_curve_public(home->config->key[epoch - 1].identity, public),
                         TL_OK);
        assert_string_equal(public, identity.curve_public);
        tl_identity_close(&identity);
    }
}

/*
 * Ed25519 pair: RFC 8032, section 7.1, test 1. Its X25519 form and the Z85 text (ZeroMQ RFC 32)
 * were computed with independent arithmetic: u = (1 + y) / (1 - y) mod 2^255 - 19, in Python.
 */
static void
identity_of_a_published_seed_has_the_published_keys(void **state)
{
    struct home *home = *state;
    static const char file[] = "trapline-secret-key 1 deck 1\n"
                               "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60\n";
    static const uint8_t want[32] = {0xd7, 0x5a, 0x98, 0x01, 0x82, 0xb1, 0x0a, 0xb7,
                                     0xd5, 0x4b, 0xfe, 0xd3, 0xc9, 0x64, 0x07, 0x3a,
                                     0x0e, 0xe1, 0x72, 0xf3, 0xda, 0xa6, 0x23, 0x25,
                                     0xaf, 0x02, 0x1a, 0x68, 0xf7, 0x07, 0x51, 0x1a};
    struct tl_identity identity;
    char path[HOME_PATH_CAP];

    assert_int_equal(mkdir(home->config->identity_dir, 0700), 0);
    home_write(home_path(home, "identity/deck.1.key", path), file, 0600);
    home_add_key(home, "deck", 1, want);
    assert_int_equal(
        tl_identity_open(home->config, "deck", 0, &identity, home->why, sizeof home->why), TL_OK);
    assert_memory_equal(identity.identity, want, sizeof want);
    assert_string_equal(identity.curve_public, "/J[*HbcXh96/T24o>C%}6G(dA-D]V]1>W7aKOlan");
    tl_identity_close(&identity);
}

static void
identity_secret_is_wiped_on_close(void **state)
{
    struct home *home = *state;
    static const struct tl_identity empty;
    struct tl_identity identity;

    add_node(home, "deck", 1);
    assert_int_equal(
        tl_identity_open(home->config, "deck", 1, &identity, home->why, sizeof home->why), TL_OK);
    tl_identity_close(&identity);
    assert_memory_equal(&identity, &empty, sizeof identity);
    tl_identity_close(&identity);
    tl_identity_close(NULL);
}

static void
identity_file_that_others_may_read_is_refused(void **state)
{
    struct home *home = *state;
    static const mode_t modes[] = {0640, 0604, 0660, 0610, 0777};
    char path[TL_PATH_CAP];

    add_node(home, "deck", 1);
    assert_int_equal(tl_identity_path(home->config, "deck", 1, path, sizeof path), TL_OK);
    for (size_t i = 0; i < sizeof modes / sizeof modes[0]; i++) {
        assert_int_equal(chmod(path, modes[i]), 0);
        expect(home, 1, TL_PERM, path);
    }
    assert_int_equal(chmod(path, 0400), 0);
    expect(home, 1, TL_OK, "");
}

static void
identity_file_that_is_no_file_is_refused(void **state)
{
    struct home *home = *state;
    char path[TL_PATH_CAP];
    char real[HOME_PATH_CAP];

    add_node(home, "deck", 1);
    assert_int_equal(tl_identity_path(home->config, "deck", 1, path, sizeof path), TL_OK);
    assert_int_equal(rename(path, home_path(home, "elsewhere", real)), 0);
    expect(home, 1, TL_NOTFOUND, path);
    assert_int_equal(symlink(real, path), 0);
    expect(home, 1, TL_PERM, "regular file");
    assert_int_equal(unlink(path), 0);
    assert_int_equal(mkdir(path, 0700), 0);
    expect(home, 1, TL_PERM, "regular file");
}

static void
identity_file_of_another_owner_is_refused(void **state)
{
    struct home *home = *state;
    char path[TL_PATH_CAP];

    if (geteuid() != 0) {
        skip();
    }
    add_node(home, "deck", 1);
    assert_int_equal(tl_identity_path(home->config, "deck", 1, path, sizeof path), TL_OK);
    assert_int_equal(chown(path, 65534, 65534), 0);
    expect(home, 1, TL_PERM, "owned by the user");
}

/*
 * Hand the secret of deck 1 over as a service manager does: as "identity_deck.1.key" in the folder of
 * $CREDENTIALS_DIRECTORY (systemd.exec(5)), and in no other place.
 */
static void
hand_over(struct home *home, char handed[HOME_PATH_CAP])
{
    char path[TL_PATH_CAP];

    add_node(home, "deck", 1);
    assert_int_equal(tl_identity_path(home->config, "deck", 1, path, sizeof path), TL_OK);
    assert_int_equal(rename(path, home_path(home, "identity_deck.1.key", handed)), 0);
    expect(home, 1, TL_NOTFOUND, path);
    assert_false(tl_identity_is_here(home->config, "deck", 1));
    assert_int_equal(setenv("CREDENTIALS_DIRECTORY", home->dir, 1), 0);
}

static int
tear_down_handed(void **state)
{
    (void)unsetenv("CREDENTIALS_DIRECTORY");
    return home_tear_down(state);
}

/* The mask of an access list stands where the rights of a group do. */
static void
identity_handed_over_is_opened(void **state)
{
    struct home *home = *state;
    static const mode_t good[] = {0400, 0440, 0600};
    static const mode_t bad[] = {0404, 0444, 0460, 0450, 0401};
    char handed[HOME_PATH_CAP];

    hand_over(home, handed);
    assert_true(tl_identity_is_here(home->config, "deck", 1));
    assert_false(tl_identity_is_here(home->config, "deck", 2));
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        assert_int_equal(chmod(handed, good[i]), 0);
        expect(home, 1, TL_OK, "");
        expect(home, 0, TL_OK, "");
    }
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        assert_int_equal(chmod(handed, bad[i]), 0);
        expect(home, 1, TL_PERM, handed);
    }
}

/* Also when a good one is in the identity folder: what the manager says is not guessed around. */
static void
identity_handed_over_must_be_the_right_one(void **state)
{
    struct home *home = *state;
    char handed[HOME_PATH_CAP];
    char path[TL_PATH_CAP];
    char text[HOME_PATH_CAP];

    hand_over(home, handed);
    home_read(handed, text);
    assert_int_equal(tl_identity_path(home->config, "deck", 1, path, sizeof path), TL_OK);
    home_write(path, text, 0600);
    home_write(handed, "trapline-secret-key 1 deck 1\n", 0400);
    expect(home, 1, TL_MALFORMED, handed);
    if (geteuid() == 0) {
        home_write(handed, text, 0400);
        assert_int_equal(chown(handed, 65534, 65534), 0);
        expect(home, 1, TL_PERM, handed);
    }
    assert_int_equal(unlink(handed), 0);
    expect(home, 1, TL_OK, "");
}

static void
identity_file_of_other_form_is_refused(void **state)
{
    struct home *home = *state;
    static const char *const texts[] = {
        "",
        "\n",
        "trapline-secret-key 1 deck 1\n",
        "trapline-secret-key 2 deck 1\n"
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60\n",
        "trapline-secret-key 1 bridge 1\n"
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60\n",
        "trapline-secret-key 1 deck 2\n"
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60\n",
        "trapline-secret-key 1 deck 1\n"
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f6\n",
        "trapline-secret-key 1 deck 1\n"
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f6g\n",
        "trapline-secret-key 1 deck 1\n"
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "trapline-secret-key 1 deck 1\n"
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60\n\n",
        "trapline-secret-key 1 deck 1\n"
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60#",
        "trapline-secret-key 1 deck 1\r\n"
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60\n",
        "trapline-secret-key 1 deck 1\n"
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60\n"
        "################################################################\n"
        "################################################################\n",
    };
    char path[HOME_PATH_CAP];

    add_node(home, "deck", 1);
    (void)home_path(home, "identity/deck.1.key", path);
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        home_write(path, texts[i], 0600);
        expect(home, 1, TL_MALFORMED, "is not the secret key of deck, epoch 1");
    }
}

static void
identity_that_keys_yaml_does_not_have_is_refused(void **state)
{
    struct home *home = *state;

    add_node(home, "deck", 1);
    add_node(home, "bridge", 1);
    expect(home, 2, TL_NOTFOUND, "no key of epoch 2");
    home->config->key[0].identity[5] ^= 1;
    expect(home, 1, TL_REFUSED, "is not the secret of the key that keys.yaml has");
    expect(home, 0, TL_REFUSED, "is not the secret of the key that keys.yaml has");
    home->config->key[0].identity[5] ^= 1;
    home->config->key[0].revoked = true;
    expect(home, 1, TL_REFUSED, "revoked");
    expect(home, 0, TL_NOTFOUND, "not revoked");
    expect(home, 0, TL_NOTFOUND, "trapline keys rotate -C DIR deck");
    home->config->key_count = 0;
    expect(home, 0, TL_NOTFOUND, "no key in keys.yaml");
}

static void
identity_newest_is_the_highest_in_use_that_is_here(void **state)
{
    struct home *home = *state;
    struct tl_identity identity;
    char path[TL_PATH_CAP];

    add_node(home, "deck", 2);
    add_node(home, "deck", 10);
    add_node(home, "deck", 3);
    add_node(home, "bridge", 11);
    struct {
        uint32_t revoke;
        uint32_t remove;
        uint32_t want;
    } steps[] = {{0, 0, 10}, {0, 10, 3}, {3, 0, 2}};
    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
        for (uint32_t k = 0; k < home->config->key_count; k++) {
            struct tl_key *key = &home->config->key[k];
            key->revoked = key->revoked || key->epoch == steps[i].revoke;
        }
        if (steps[i].remove != 0) {
            assert_int_equal(
                tl_identity_path(home->config, "deck", steps[i].remove, path, sizeof path), TL_OK);
            assert_int_equal(unlink(path), 0);
        }
        assert_int_equal(
            tl_identity_open(home->config, "deck", 0, &identity, home->why, sizeof home->why),
            TL_OK);
        assert_int_equal(identity.epoch, steps[i].want);
        tl_identity_close(&identity);
    }
}

static void
identity_make_never_overwrites(void **state)
{
    struct home *home = *state;
    char path[HOME_PATH_CAP];
    char text[HOME_PATH_CAP];
    uint8_t identity[32];

    assert_int_equal(mkdir(home->config->identity_dir, 0700), 0);
    home_write(home_path(home, "identity/deck.1.key", path), "precious", 0600);
    assert_int_equal(
        tl_identity_make(home->config, "deck", 1, identity, home->why, sizeof home->why),
        TL_EXISTS);
    assert_non_null(strstr(home->why, "never overwritten"));
    home_read(path, text);
    assert_string_equal(text, "precious");
    /* A link that leads nowhere is not followed either. */
    assert_int_equal(unlink(path), 0);
    assert_int_equal(symlink("nowhere", path), 0);
    assert_int_equal(
        tl_identity_make(home->config, "deck", 1, identity, home->why, sizeof home->why),
        TL_EXISTS);
}

static void
identity_make_says_why_it_cannot(void **state)
{
    struct home *home = *state;
    uint8_t identity[32];

    (void)snprintf(home->config->identity_dir, TL_PATH_CAP, "%s/no/identity", home->dir);
    assert_int_equal(
        tl_identity_make(home->config, "deck", 1, identity, home->why, sizeof home->why),
        TL_NOTFOUND);
    assert_non_null(strstr(home->why, "/no/identity cannot be made"));
}

static void
identity_two_made_are_two(void **state)
{
    struct home *home = *state;

    add_node(home, "deck", 1);
    add_node(home, "deck", 2);
    assert_memory_not_equal(home->config->key[0].identity, home->config->key[1].identity, 32);
}

static void
identity_curve_public_refuses_what_is_no_key(void **state)
{
    uint8_t identity[32] = {0};
    char z85[TL_CURVE_CAP] = "untouched";

    (void)state;
    assert_int_equal(tl_identity_curve_public(identity, z85), TL_MALFORMED);
    memset(identity, 0xff, sizeof identity);
    assert_int_equal(tl_identity_curve_public(identity, z85), TL_MALFORMED);
    assert_string_equal(z85, "untouched");
}

static void
identity_path_that_does_not_fit_is_refused(void **state)
{
    struct home *home = *state;
    char path[TL_PATH_CAP];
    size_t need = strlen(home->config->identity_dir) + sizeof "/deck.1.key";

    assert_int_equal(tl_identity_path(home->config, "deck", 1, path, need), TL_OK);
    assert_int_equal(tl_identity_path(home->config, "deck", 1, path, need - 1), TL_FULL);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(identity_made_is_opened, home_set_up, home_tear_down),
        cmocka_unit_test_setup_teardown(identity_signs_for_its_public_half, home_set_up,
                                        home_tear_down),
        cmocka_unit_test_setup_teardown(identity_curve_pair_is_what_libzmq_makes_of_the_secret,
                                        home_set_up, home_tear_down),
        cmocka_unit_test_setup_teardown(identity_of_a_published_seed_has_the_published_keys,
                                        home_set_up, home_tear_down),
        cmocka_unit_test_setup_teardown(identity_secret_is_wiped_on_close, home_set_up,
                                        home_tear_down),
        cmocka_unit_test_setup_teardown(identity_file_that_others_may_read_is_refused, home_set_up,
                                        home_tear_down),
        cmocka_unit_test_setup_teardown(identity_file_that_is_no_file_is_refused, home_set_up,
                                        home_tear_down),
        cmocka_unit_test_setup_teardown(identity_file_of_another_owner_is_refused, home_set_up,
                                        home_tear_down),
        cmocka_unit_test_setup_teardown(identity_handed_over_is_opened, home_set_up,
                                        tear_down_handed),
        cmocka_unit_test_setup_teardown(identity_handed_over_must_be_the_right_one, home_set_up,
                                        tear_down_handed),
        cmocka_unit_test_setup_teardown(identity_file_of_other_form_is_refused, home_set_up,
                                        home_tear_down),
        cmocka_unit_test_setup_teardown(identity_that_keys_yaml_does_not_have_is_refused,
                                        home_set_up, home_tear_down),
        cmocka_unit_test_setup_teardown(identity_newest_is_the_highest_in_use_that_is_here,
                                        home_set_up, home_tear_down),
        cmocka_unit_test_setup_teardown(identity_make_never_overwrites, home_set_up,
                                        home_tear_down),
        cmocka_unit_test_setup_teardown(identity_make_says_why_it_cannot, home_set_up,
                                        home_tear_down),
        cmocka_unit_test_setup_teardown(identity_two_made_are_two, home_set_up, home_tear_down),
        cmocka_unit_test(identity_curve_public_refuses_what_is_no_key),
        cmocka_unit_test_setup_teardown(identity_path_that_does_not_fit_is_refused, home_set_up,
                                        home_tear_down),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
