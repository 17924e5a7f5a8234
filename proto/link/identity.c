/* SPDX-License-Identifier: Apache-2.0 */
/*
 * identity - the secret file, read and written; the keys derived from its seed
 */
#include "proto/link/identity.h"

#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <sodium.h>
#include <zmq.h>

#include "proto/base/credential.h"
#include "proto/base/file.h"

static_assert(crypto_sign_PUBLICKEYBYTES == 32, "the size in keys.yaml");
static_assert(crypto_sign_SECRETKEYBYTES == sizeof(struct tl_signer), "a signer is a secret key");

enum {
    SECRET_FILE_CAP = 160, /* header, seed, newlines */
    SEED_LEN = 32,
    SEED_HEX = 64,
    CURVE_LEN = 32
};
static_assert(crypto_sign_SEEDBYTES == SEED_LEN && SEED_HEX == 2 * SEED_LEN, "the file's form");

#define HEADER_FORM "trapline-secret-key 1 %s %" PRIu32 "\n"
/* As a service manager names the files of a folder that it was given as "identity". */
#define CREDENTIAL_FORM "identity_%s.%" PRIu32 ".key"

/* Where a secret file is, or would be. */
struct place {
    char path[TL_PATH_CAP];
    bool is_handed; /* by the service manager */
};

/* Where the sentence for a person goes. */
struct reason {
    char *text;
    size_t cap;
};

static enum tl_err say(const struct reason *why, enum tl_err err, const char *fmt, ...)
    __attribute__((format(printf, 3, 4)));

static enum tl_err
say(const struct reason *why, enum tl_err err, const char *fmt, ...)
{
    va_list args;

    va_start(args, fmt);
    (void)vsnprintf(why->text, why->cap, fmt, args);
    va_end(args);
    return err;
}

enum tl_err
tl_identity_path(const struct tl_config *config, const char *node, uint32_t epoch, char *dst,
                 size_t cap)
{
    int len = snprintf(dst, cap, "%s/%s.%" PRIu32 ".key", config->identity_dir, node, epoch);

    return len < 0 || (size_t)len >= cap ? TL_FULL : TL_OK;
}

static enum tl_err
find_place(const struct tl_config *config, const char *node, uint32_t epoch, struct place *place)
{
    char name[TL_ID_CAP + sizeof CREDENTIAL_FORM + 10]; /* ten digits at most */

    (void)snprintf(name, sizeof name, CREDENTIAL_FORM, node, epoch);
    place->is_handed = tl_credential_find(name, place->path, sizeof place->path);
    return place->is_handed
               ? TL_OK
               : tl_identity_path(config, node, epoch, place->path, sizeof place->path);
}

bool
tl_identity_is_here(const struct tl_config *config, const char *node, uint32_t epoch)
{
    struct place place;
    struct stat st;

    return find_place(config, node, epoch, &place) == TL_OK && lstat(place.path, &st) == 0;
}

enum tl_err
tl_identity_curve_public(const uint8_t identity[32], char z85[TL_CURVE_CAP])
{
    uint8_t curve[CURVE_LEN];
    char text[TL_CURVE_CAP];

    if (crypto_sign_ed25519_pk_to_curve25519(curve, identity) != 0) {
        return TL_MALFORMED;
    }
    if (zmq_z85_encode(text, curve, sizeof curve) == NULL) {
        return TL_IO;
    }
    memcpy(z85, text, sizeof text);
    return TL_OK;
}

/* Fill keys from a seed. The transport's own library must agree on the public half. */
static enum tl_err
derive(const uint8_t seed[SEED_LEN], struct tl_identity *identity)
{
    uint8_t curve[CURVE_LEN];
    char again[TL_CURVE_CAP] = "";
    enum tl_err err = TL_IO;

    if (crypto_sign_seed_keypair(identity->identity, identity->signer.secret, seed) != 0 ||
        crypto_sign_ed25519_sk_to_curve25519(curve, identity->signer.secret) != 0 ||
        zmq_z85_encode(identity->curve_secret, curve, sizeof curve) == NULL) {
        goto out;
    }
    err = tl_identity_curve_public(identity->identity, identity->curve_public);
    if (err == TL_OK && (zmq_curve_public(again, identity->curve_secret) != 0 ||
                         strcmp(again, identity->curve_public) != 0)) {
        err = TL_IO;
    }
out:
    sodium_memzero(curve, sizeof curve);
    return err;
}

/* Header and seed, nothing before, between or after. text: len bytes and a NUL. */
static bool
parse_secret(const char *text, size_t len, const struct tl_identity *want, uint8_t seed[SEED_LEN])
{
    char header[SECRET_FILE_CAP];
    size_t got = 0;
    const char *end = NULL;
    int head = snprintf(header, sizeof header, HEADER_FORM, want->node, want->epoch);

    if (head < 0 || len != (size_t)head + SEED_HEX + 1 || memcmp(text, header, (size_t)head) != 0 ||
        text[len - 1] != '\n') {
        return false;
    }
    return sodium_hex2bin(seed, SEED_LEN, text + head, SEED_HEX, NULL, &got, &end) == 0 &&
           got == SEED_LEN && end == text + len - 1;
}

static bool
is_private(const struct place *place)
{
    return place->is_handed ? tl_credential_is_private(place->path)
                            : tl_file_is_private(place->path);
}

/* Read the file at that place for want->node and want->epoch, and fill the keys. */
static enum tl_err
read_secret(const struct place *place, struct tl_identity *want, const struct reason *why)
{
    const char *path = place->path;
    char text[SECRET_FILE_CAP];
    uint8_t seed[SEED_LEN];
    size_t len = 0;
    struct stat st;

    if (lstat(path, &st) == 0 && !is_private(place)) {
        return say(why, TL_PERM,
                   "%s is not a private file of this user; make it a regular file owned by the "
                   "user that runs this, with chmod 600",
                   path);
    }
    enum tl_err err = tl_file_read(path, sizeof text - 1, text, &len);
    if (err == TL_NOTFOUND) {
        return say(why, err,
                   "%s does not exist; bring the file to this host, or where keys are made run: "
                   "trapline keys rotate -C DIR %s",
                   path, want->node);
    }
    if (err != TL_OK && err != TL_FULL) {
        return say(why, err == TL_PERM ? err : TL_IO,
                   "%s cannot be read (%s); check its folder and the disk", path, tl_err_text(err));
    }
    if (err == TL_FULL || !parse_secret(text, len, want, seed)) {
        err =
            say(why, TL_MALFORMED,
                "%s is not the secret key of %s, epoch %" PRIu32 "; bring the right file, or make "
                "a new key: trapline keys rotate -C DIR %s",
                path, want->node, want->epoch, want->node);
    } else if (derive(seed, want) != TL_OK) {
        err =
            say(why, TL_IO,
                "%s gives no usable keys; make a new one: trapline keys rotate -C DIR NODE", path);
    }
    sodium_memzero(text, sizeof text);
    sodium_memzero(seed, sizeof seed);
    return err;
}

/*
 * The newest key to use. While a key is changed over, keys.yaml may name the new one before its
 * secret file has reached this host: then it is still the old one. NULL if all are revoked.
 */
static const struct tl_key *
find_newest(const struct tl_config *config, const char *node)
{
    const struct tl_key *best = NULL;
    const struct tl_key *best_here = NULL;

    for (uint32_t i = 0; i < config->key_count; i++) {
        const struct tl_key *key = &config->key[i];
        if (key->revoked || strcmp(key->node, node) != 0) {
            continue;
        }
        if (best == NULL || key->epoch > best->epoch) {
            best = key;
        }
        if (tl_identity_is_here(config, node, key->epoch) &&
            (best_here == NULL || key->epoch > best_here->epoch)) {
            best_here = key;
        }
    }
    return best_here != NULL ? best_here : best;
}

static enum tl_err
choose_key(const struct tl_config *config, const struct tl_identity *want, const struct reason *why,
           const struct tl_key **key)
{
    const char *node = want->node;

    *key = want->epoch == 0 ? find_newest(config, node) : tl_config_key(config, node, want->epoch);
    if (*key == NULL && want->epoch == 0) {
        return say(why, TL_NOTFOUND,
                   "%s has no key in keys.yaml that is not revoked; where keys are made run: "
                   "trapline keys rotate -C DIR %s, then bring keys.yaml and the new secret here",
                   node, node);
    }
    if (*key == NULL) {
        return say(why, TL_NOTFOUND,
                   "%s has no key of epoch %" PRIu32 " in keys.yaml; see: trapline keys list", node,
                   want->epoch);
    }
    if ((*key)->revoked) {
        return say(why, TL_REFUSED,
                   "the key of %s, epoch %" PRIu32 ", is revoked in keys.yaml; use a newer one, or "
                   "make it: trapline keys rotate -C DIR %s",
                   node, want->epoch, node);
    }
    return TL_OK;
}

/* The secret of that key, which must be the one whose public half keys.yaml has. */
static enum tl_err
open_secret(const struct tl_config *config, const struct tl_key *key, struct tl_identity *identity,
            const struct reason *why)
{
    struct place place;

    if (sodium_init() < 0) {
        return say(why, TL_IO, "the cryptographic library does not start");
    }
    identity->epoch = key->epoch;
    if (find_place(config, key->node, key->epoch, &place) != TL_OK) {
        return say(why, TL_IO, "%s is too long a path; use shorter folder names",
                   config->identity_dir);
    }
    enum tl_err err = read_secret(&place, identity, why);
    if (err == TL_OK && memcmp(identity->identity, key->identity, sizeof key->identity) != 0) {
        err = say(why, TL_REFUSED,
                  "%s is not the secret of the key that keys.yaml has for %s, epoch %" PRIu32
                  "; bring the right one of the two files",
                  place.path, key->node, key->epoch);
    }
    return err;
}

static enum tl_err
open_identity(const struct tl_config *config, struct tl_identity *identity,
              const struct reason *why)
{
    const struct tl_key *key = NULL;
    enum tl_err err = choose_key(config, identity, why, &key);

    return err == TL_OK ? open_secret(config, key, identity, why) : err;
}

enum tl_err
/* NOLINTNEXTLINE(readability-function-size): the parameters are the contract's */
tl_identity_open(const struct tl_config *config, const char *node, uint32_t epoch,
                 struct tl_identity *out, char *why, size_t cap)
{
    struct tl_identity identity = {.epoch = epoch};

    (void)snprintf(identity.node, sizeof identity.node, "%s", node);
    enum tl_err err = open_identity(config, &identity, &(struct reason){why, cap});
    if (err == TL_OK) {
        *out = identity;
    }
    tl_identity_close(&identity);
    return err;
}

enum tl_err
tl_identity_try(const struct tl_config *config, const struct tl_key *key, char *why, size_t cap)
{
    struct tl_identity identity = {.epoch = key->epoch};

    (void)snprintf(identity.node, sizeof identity.node, "%s", key->node);
    enum tl_err err = open_secret(config, key, &identity, &(struct reason){why, cap});
    tl_identity_close(&identity);
    return err;
}

void
tl_identity_fingerprint(const struct tl_key *key, uint8_t fingerprint[TL_FINGERPRINT_LEN])
{
    char hex[2 * sizeof key->identity + 1];
    char text[TL_ID_CAP + sizeof hex + 16];

    (void)sodium_bin2hex(hex, sizeof hex, key->identity, sizeof key->identity);
    (void)snprintf(text, sizeof text, "%s %" PRIu32 " %s", key->node, key->epoch, hex);
    (void)crypto_generichash(fingerprint, TL_FINGERPRINT_LEN, (const uint8_t *)text, strlen(text),
                             NULL, 0);
}

void
tl_identity_close(struct tl_identity *identity)
{
    if (identity != NULL) {
        sodium_memzero(identity, sizeof *identity);
    }
}

static enum tl_err
make_folder(const struct tl_config *config, const struct reason *why)
{
    if (mkdir(config->identity_dir, S_IRWXU) == 0 || errno == EEXIST) {
        return TL_OK;
    }
    enum tl_err err = tl_err_of_errno(errno);
    return say(why, err, "%s cannot be made (%s); make it with mkdir -m 700", config->identity_dir,
               tl_err_text(err));
}

/* So that the file's name survives a power cut, as its content does. */
static bool
sync_folder(const char *folder)
{
    int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    bool is_synced = fd >= 0 && fsync(fd) == 0;

    if (fd >= 0) {
        (void)close(fd);
    }
    return is_synced;
}

struct secret {
    const char *folder;
    char path[TL_PATH_CAP];
    char text[SECRET_FILE_CAP];
    size_t len;
};

/* Not a replacement by renaming: that would overwrite a secret made meanwhile. */
static enum tl_err
write_secret(const struct secret *secret)
{
    int fd =
        open(secret->path, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, S_IRUSR | S_IWUSR);

    if (fd < 0) {
        return errno == EEXIST ? TL_EXISTS : tl_err_of_errno(errno);
    }
    bool is_written = fchmod(fd, S_IRUSR | S_IWUSR) == 0 &&
                      tl_file_write_all(fd, secret->text, secret->len) == TL_OK && fsync(fd) == 0;
    is_written = close(fd) == 0 && is_written;
    if (!is_written || !sync_folder(secret->folder)) {
        (void)unlink(secret->path);
        return TL_IO;
    }
    return TL_OK;
}

/* Write the text of a new secret file, and the public half. The caller wipes the text. */
static void
make_secret(struct secret *secret, const struct tl_identity *want, uint8_t identity[32])
{
    char hex[SEED_HEX + 1];
    uint8_t seed[SEED_LEN];
    uint8_t signing[crypto_sign_SECRETKEYBYTES];

    randombytes_buf(seed, sizeof seed);
    (void)crypto_sign_seed_keypair(identity, signing, seed);
    (void)sodium_bin2hex(hex, sizeof hex, seed, sizeof seed);
    int len = snprintf(secret->text, sizeof secret->text, HEADER_FORM "%s\n", want->node,
                       want->epoch, hex);
    secret->len = len < 0 ? 0 : (size_t)len;
    sodium_memzero(seed, sizeof seed);
    sodium_memzero(signing, sizeof signing);
    sodium_memzero(hex, sizeof hex);
}

/* NOLINTBEGIN(readability-*): the parameters are like those of tl_identity_open */
enum tl_err
tl_identity_make(const struct tl_config *config, const char *node, uint32_t epoch,
                 uint8_t identity[32], char *why, size_t cap)
/* NOLINTEND(readability-*) */
{
    const struct reason reason = {why, cap};
    struct secret secret = {.folder = config->identity_dir};
    struct tl_identity want = {.epoch = epoch};

    (void)snprintf(want.node, sizeof want.node, "%s", node);
    if (sodium_init() < 0 ||
        tl_identity_path(config, want.node, epoch, secret.path, sizeof secret.path) != TL_OK) {
        return say(&reason, TL_IO, "%s cannot hold the key of %s", config->identity_dir, node);
    }
    enum tl_err err = make_folder(config, &reason);
    if (err != TL_OK) {
        return err;
    }
    make_secret(&secret, &want, identity);
    err = write_secret(&secret);
    sodium_memzero(secret.text, sizeof secret.text);
    if (err == TL_EXISTS) {
        return say(&reason, err,
                   "%s exists and is never overwritten; remove it or use another epoch",
                   secret.path);
    }
    if (err != TL_OK) {
        return say(&reason, err, "%s cannot be written (%s); check its folder and the disk",
                   secret.path, tl_err_text(err));
    }
    return TL_OK;
}
