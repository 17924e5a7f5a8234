/* SPDX-License-Identifier: Apache-2.0 */
/*
 * home - made and removed for each test
 */
#include "tests/identity/home.h"

#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "proto/base/require.h"

const char *
home_path(const struct home *home, const char *name, char path[HOME_PATH_CAP])
{
    (void)snprintf(path, HOME_PATH_CAP, "%s/%s", home->dir, name);
    return path;
}

int
home_set_up(void **state)
{
    struct home *home = calloc(1, sizeof *home);

    TL_REQUIRE(home != NULL);
    home->config = calloc(1, sizeof *home->config);
    TL_REQUIRE(home->config != NULL);
    (void)snprintf(home->dir, sizeof home->dir, "/tmp/trapline-identity-XXXXXX");
    TL_REQUIRE(mkdtemp(home->dir) != NULL);
    (void)snprintf(home->config->identity_dir, TL_PATH_CAP, "%s/identity", home->dir);
    (void)snprintf(home->config->state_dir, TL_PATH_CAP, "%s/state", home->dir);
    home->config->node_count = 2;
    (void)snprintf(home->config->node[0].id, TL_ID_CAP, "deck");
    (void)snprintf(home->config->node[1].id, TL_ID_CAP, "bridge");
    *state = home;
    return 0;
}

static int
remove_one(const char *path, const struct stat *st, int type, struct FTW *walk)
{
    (void)st;
    (void)type;
    (void)walk;
    return remove(path);
}

int
home_tear_down(void **state)
{
    struct home *home = *state;
    char path[HOME_PATH_CAP];

    (void)chmod(home->dir, S_IRWXU);
    (void)chmod(home_path(home, "state", path), S_IRWXU);
    (void)nftw(home->dir, remove_one, 8, FTW_DEPTH | FTW_PHYS);
    free(home->config);
    free(home);
    return 0;
}

void
home_write(const char *path, const char *text, unsigned mode)
{
    (void)remove(path);
    FILE *file = fopen(path, "w");
    TL_REQUIRE(file != NULL);
    TL_REQUIRE(fputs(text, file) >= 0);
    TL_REQUIRE(fclose(file) == 0);
    TL_REQUIRE(chmod(path, (mode_t)mode) == 0);
}

void
home_read(const char *path, char text[HOME_PATH_CAP])
{
    FILE *file = fopen(path, "r");

    text[0] = '\0';
    if (file != NULL) {
        size_t len = fread(text, 1, HOME_PATH_CAP - 1, file);
        text[len] = '\0';
        (void)fclose(file);
    }
}

void
home_add_key(const struct home *home, const char *node, uint32_t epoch, const uint8_t identity[32])
{
    TL_REQUIRE(home->config->key_count < TL_KEYS_MAX);
    struct tl_key *key = &home->config->key[home->config->key_count++];
    (void)snprintf(key->node, sizeof key->node, "%s", node);
    key->epoch = epoch;
    memcpy(key->identity, identity, sizeof key->identity);
}
