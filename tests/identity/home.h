/* SPDX-License-Identifier: Apache-2.0 */
/*
 * home - a temporary folder with identity and state in it, and a configuration of two nodes for it
 */
#ifndef TESTS_IDENTITY_HOME_H
#define TESTS_IDENTITY_HOME_H

#include "proto/vocab/config.h"

enum {
    HOME_PATH_CAP = 256,
    HOME_WHY_CAP = 1024
};

struct home {
    char dir[64];
    struct tl_config *config; /* nodes deck and bridge, no keys; its folders do not exist yet */
    char why[HOME_WHY_CAP];
};

/* Setup and teardown of cmocka; *state is the struct home. */
int home_set_up(void **state);
int home_tear_down(void **state);

/* dir/name, in path. Returns path. */
const char *home_path(const struct home *home, const char *name, char path[HOME_PATH_CAP]);

/* Write a file of that mode, replacing whatever file is there. */
void home_write(const char *path, const char *text, unsigned mode);

/* Read a file as text of at most 255 bytes into text; "" if there is none. */
void home_read(const char *path, char text[HOME_PATH_CAP]);

/* Put a key on the configuration's list. */
void home_add_key(const struct home *home, const char *node, uint32_t epoch,
                  const uint8_t identity[32]);

#endif
