/* SPDX-License-Identifier: Apache-2.0 */
/*
 * conf - the six files in their order, the digests, and the reload of the keys
 */
#include "proto/base/conf.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include <sodium.h>

#include "proto/base/conf_take.h"
#include "proto/base/log.h"

static const struct {
    const char *name;
    /* NULL for the keys, which come after the other files have been held against each other */
    enum tl_err (*take)(const struct tl_conf_file *file, struct tl_config *config,
                        struct tl_conf_fault *fault);
} forms[TL_CONF_FORMS] = {
    [TL_CONF_SHIP] = {"ship.yaml", tl_conf_take_ship},
    [TL_CONF_GEAR] = {"gear.yaml", tl_conf_take_gear},
    [TL_CONF_AIRCRAFT] = {"aircraft.yaml", tl_conf_take_aircraft},
    [TL_CONF_STATIONS] = {"stations.yaml", tl_conf_take_stations},
    [TL_CONF_BUS] = {"bus.yaml", tl_conf_take_bus},
    [TL_CONF_KEYS] = {"keys.yaml", NULL},
};

static const char folder_name[] = "configuration folder";

/* Half a megabyte of files and their outlines: on the heap, for the time of one load. */
struct work {
    struct tl_conf_file file[TL_CONF_FORMS];
    struct tl_config config;
};

static enum tl_err
begin_work(struct work **work, struct tl_conf_fault *fault)
{
    *work = sodium_init() < 0 ? NULL : calloc(1, sizeof **work);
    if (*work == NULL) {
        tl_err_ignore(tl_conf_fault_at(fault, folder_name, 0, "memory could not be had"), "NOMEM");
        return TL_NOMEM;
    }
    for (size_t form = 0; form < TL_CONF_FORMS; form++) {
        (*work)->file[form].name = forms[form].name;
    }
    return TL_OK;
}

static enum tl_err
check_folder(const char *dir, struct tl_conf_fault *fault)
{
    struct stat st;

    if (dir[0] == '\0' || stat(dir, &st) != 0) {
        return tl_conf_fault_at(fault, folder_name, 0,
                                "\"%s\" cannot be found; name it with -C DIR", dir);
    }
    if (!S_ISDIR(st.st_mode)) {
        return tl_conf_fault_at(fault, folder_name, 0, "\"%s\" is a file; name its folder with -C",
                                dir);
    }
    if (strlen(dir) >= TL_PATH_CAP) {
        return tl_conf_fault_at(fault, folder_name, 0, "has a path that is too long; move it");
    }
    return TL_OK;
}

static void
digest_file(crypto_generichash_state *state, const struct tl_conf_file *file)
{
    uint8_t length[8];

    for (size_t i = 0; i < sizeof length; i++) {
        length[i] = (uint8_t)((uint64_t)file->len >> (8 * i));
    }
    (void)crypto_generichash_update(state, (const uint8_t *)file->name, strlen(file->name) + 1);
    (void)crypto_generichash_update(state, length, sizeof length);
    (void)crypto_generichash_update(state, file->bytes, file->len);
}

static void
digest_files(const struct work *work, const enum tl_conf_form *which, size_t count,
             uint8_t digest[TL_DIGEST_LEN])
{
    crypto_generichash_state state;

    (void)crypto_generichash_init(&state, NULL, 0, TL_DIGEST_LEN);
    for (size_t i = 0; i < count; i++) {
        digest_file(&state, &work->file[which[i]]);
    }
    (void)crypto_generichash_final(&state, digest, TL_DIGEST_LEN);
}

static void
digest_judgement(const struct work *work, uint8_t digest[TL_DIGEST_LEN])
{
    static const enum tl_conf_form which[] = {TL_CONF_SHIP, TL_CONF_GEAR, TL_CONF_AIRCRAFT,
                                              TL_CONF_STATIONS};

    digest_files(work, which, sizeof which / sizeof which[0], digest);
}

static void
digest_keys(const struct work *work, uint8_t digest[TL_DIGEST_LEN])
{
    static const enum tl_conf_form which[] = {TL_CONF_KEYS, TL_CONF_STATIONS};

    digest_files(work, which, sizeof which / sizeof which[0], digest);
}

static bool
is_absent(const char *dir, enum tl_conf_form form)
{
    char path[TL_PATH_CAP + 32];
    struct stat st;

    (void)snprintf(path, sizeof path, "%s/%s", dir, forms[form].name);
    return lstat(path, &st) != 0;
}

static enum tl_err
read_file(struct work *work, const char *dir, enum tl_conf_form form, struct tl_conf_fault *fault)
{
    struct tl_conf_file *file = &work->file[form];

    if (form == TL_CONF_KEYS && is_absent(dir, form)) {
        return tl_conf_fault_at(
            fault, forms[form].name, 0,
            "does not exist; bring it from the host that made the keys, or run: "
            "trapline keys new -C DIR --all");
    }
    enum tl_err err = tl_conf_file_read(dir, file, fault);
    return err == TL_OK ? tl_conf_file_outline(file, fault) : err;
}

/* The keys last: what is wrong with a station is better said of the station than of its key. */
static enum tl_err
take_files(struct work *work, bool has_keys, struct tl_conf_fault *fault)
{
    const struct tl_conf_file *files[TL_CONF_FORMS] = {NULL};
    enum tl_err err = TL_OK;

    for (int form = TL_CONF_SHIP; form < TL_CONF_KEYS && err == TL_OK; form++) {
        files[form] = &work->file[form];
        err = forms[form].take(files[form], &work->config, fault);
    }
    if (err == TL_OK) {
        err = tl_conf_check_cross(files, &work->config, fault);
    }
    tl_conf_set_bounds(&work->config);
    if (err == TL_OK && has_keys) {
        err = tl_conf_take_keys(&work->file[TL_CONF_KEYS], &work->config, fault);
    }
    return err;
}

static enum tl_err
load(struct work *work, const char *dir, bool is_unkeyed, struct tl_conf_fault *fault)
{
    /* The keys tool starts from a folder without keys.yaml, which stands for an empty list. */
    bool has_keys = !is_unkeyed || !is_absent(dir, TL_CONF_KEYS);
    enum tl_err err = TL_OK;

    for (int form = TL_CONF_SHIP; form < TL_CONF_KEYS + (has_keys ? 1 : 0) && err == TL_OK;
         form++) {
        err = read_file(work, dir, (enum tl_conf_form)form, fault);
    }
    (void)snprintf(work->config.dir, sizeof work->config.dir, "%s", dir);
    if (err == TL_OK) {
        err = take_files(work, has_keys, fault);
    }
    if (err == TL_OK && !is_unkeyed) {
        err = tl_conf_check_keyed(&work->file[TL_CONF_KEYS], &work->config, fault);
    }
    digest_judgement(work, work->config.judgement_digest);
    digest_keys(work, work->config.key_digest);
    return err;
}

static enum tl_err
load_folder(const char *dir, bool is_unkeyed, struct tl_config *out, struct tl_conf_fault *fault)
{
    struct work *work = NULL;
    enum tl_err err = check_folder(dir, fault);

    if (err == TL_OK) {
        err = begin_work(&work, fault);
    }
    if (err == TL_OK) {
        err = load(work, dir, is_unkeyed, fault);
    }
    if (err == TL_OK) {
        *out = work->config;
    }
    free(work);
    return err;
}

enum tl_err
tl_conf_load(const char *dir, struct tl_config *out, struct tl_conf_fault *fault)
{
    return load_folder(dir, false, out, fault);
}

enum tl_err
tl_conf_load_unkeyed(const char *dir, struct tl_config *out, struct tl_conf_fault *fault)
{
    return load_folder(dir, true, out, fault);
}

/*
 * The digest after a reload. When the disk no longer holds what this program judges by, its
 * authority is a mixture that no file set describes, and the digest must not claim otherwise.
 */
static void
digest_reload(struct work *work, const char *dir)
{
    struct tl_conf_fault unread;
    uint8_t on_disk[TL_DIGEST_LEN];
    bool is_same = true;

    for (int form = TL_CONF_SHIP; form <= TL_CONF_STATIONS; form++) {
        enum tl_err err = tl_conf_file_read(dir, &work->file[form], &unread);
        is_same = is_same && err == TL_OK;
    }
    digest_judgement(work, on_disk);
    is_same = is_same && memcmp(on_disk, work->config.judgement_digest, sizeof on_disk) == 0;
    if (!is_same) {
        work->file[TL_CONF_STATIONS].name = "as loaded";
        work->file[TL_CONF_STATIONS].len = sizeof on_disk;
        memcpy(work->file[TL_CONF_STATIONS].bytes, work->config.judgement_digest, sizeof on_disk);
    }
    digest_keys(work, work->config.key_digest);
}

static enum tl_err
reload(struct work *work, const char *dir, struct tl_conf_fault *fault)
{
    const struct tl_conf_file *file = &work->file[TL_CONF_KEYS];
    enum tl_err err = read_file(work, dir, TL_CONF_KEYS, fault);

    if (err == TL_OK) {
        err = tl_conf_take_keys(file, &work->config, fault);
    }
    if (err == TL_OK) {
        err = tl_conf_check_keyed(file, &work->config, fault);
    }
    if (err == TL_OK) {
        digest_reload(work, dir);
    }
    return err;
}

enum tl_err
tl_conf_reload_keys(const char *dir, struct tl_config *inout, struct tl_conf_fault *fault)
{
    struct work *work = NULL;
    enum tl_err err = check_folder(dir, fault);

    if (err == TL_OK) {
        err = begin_work(&work, fault);
    }
    if (err == TL_OK) {
        work->config = *inout;
        err = reload(work, dir, fault);
    }
    if (err == TL_OK) {
        *inout = work->config;
    }
    free(work);
    return err;
}

/* The file is read by itself: only its folder and name differ from those of a reload. */
static enum tl_err
compare(struct work *work, const char *path, bool *is_same, struct tl_conf_fault *fault)
{
    struct tl_conf_file *other = &work->file[TL_CONF_SHIP]; /* any place but that of the keys */
    struct tl_conf_file *own = &work->file[TL_CONF_KEYS];
    const char *slash = strrchr(path, '/');
    char dir[TL_PATH_CAP] = ".";

    if (strlen(path) >= sizeof dir) {
        return tl_conf_fault_at(fault, "--against", 0, "the path is too long; move the file");
    }
    if (slash != NULL) {
        (void)snprintf(dir, sizeof dir, "%.*s", slash == path ? 1 : (int)(slash - path), path);
    }
    other->name = slash != NULL ? slash + 1 : path;
    enum tl_err err = tl_conf_file_read(dir, other, fault);
    if (err == TL_OK) {
        err = tl_conf_file_outline(other, fault);
    }
    if (err == TL_OK) {
        err = tl_conf_file_read(work->config.dir, own, fault);
    }
    if (err == TL_OK) {
        err = tl_conf_take_keys(other, &work->config, fault);
    }
    *is_same =
        err == TL_OK && own->len == other->len && memcmp(own->bytes, other->bytes, own->len) == 0;
    return err;
}

enum tl_err
tl_conf_compare_keys(const char *path, struct tl_config *inout, bool *is_same,
                     struct tl_conf_fault *fault)
{
    struct work *work = NULL;
    enum tl_err err = begin_work(&work, fault);

    if (err == TL_OK) {
        work->config = *inout;
        err = compare(work, path, is_same, fault);
    }
    if (err == TL_OK) {
        *inout = work->config;
    }
    free(work);
    return err;
}

void
tl_conf_print_fault(const struct tl_conf_fault *fault)
{
    if (fault->line == 0) {
        tl_log_fault("%s: %s", fault->file, fault->text);
    } else {
        tl_log_fault("%s:%u: %s", fault->file, fault->line, fault->text);
    }
}
