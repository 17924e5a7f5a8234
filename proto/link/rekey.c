/* SPDX-License-Identifier: Apache-2.0 */
/* rekey.c - see rekey.h. */
#include "proto/link/rekey.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

struct line {
    char *text;
    size_t used;
    uint32_t named;
    uint32_t more;
};

static void add(struct line *line, const char *fmt, ...) __attribute__((format(printf, 2, 3)));

static void
add(struct line *line, const char *fmt, ...)
{
    va_list args;

    va_start(args, fmt);
    int n = vsnprintf(line->text + line->used, TL_REKEY_CAP - line->used, fmt, args);
    va_end(args);
    line->used += n > 0 ? (size_t)n : 0;
    line->used = line->used < TL_REKEY_CAP ? line->used : TL_REKEY_CAP - 1;
}

static void
name_key(struct line *line, const struct tl_key *key, const char *what)
{
    if (line->named == TL_REKEY_NAMED_MAX) {
        line->more++;
        return;
    }
    line->named++;
    add(line, "; %s %" PRIu32 " %s", key->node, key->epoch, what);
}

static const struct tl_key *
find(const struct tl_rekey *before, const struct tl_key *key)
{
    for (uint32_t i = 0; i < before->count; i++) {
        const struct tl_key *old = &before->key[i];
        if (old->epoch == key->epoch && strncmp(old->node, key->node, TL_ID_CAP) == 0) {
            return old;
        }
    }
    return NULL;
}

void
tl_rekey_keep(struct tl_rekey *before, const struct tl_config *config)
{
    before->count = config->key_count;
    memcpy(before->key, config->key, config->key_count * sizeof config->key[0]);
}

void
tl_rekey_put_back(const struct tl_rekey *before, struct tl_config *config)
{
    config->key_count = before->count;
    memcpy(config->key, before->key, before->count * sizeof before->key[0]);
}

bool
tl_rekey_believed(const struct tl_config *config, const struct tl_identity *own)
{
    const struct tl_key *key = tl_config_key(config, own->node, own->epoch);

    return key != NULL && !key->revoked &&
           memcmp(key->identity, own->identity, sizeof key->identity) == 0;
}

static void
name_changes(struct line *line, const struct tl_rekey *before, const struct tl_config *config)
{
    for (uint32_t i = 0; i < config->key_count; i++) {
        const struct tl_key *key = &config->key[i];
        const struct tl_key *old = find(before, key);
        if (old == NULL) {
            name_key(line, key, key->revoked ? "new, revoked" : "new");
        } else if (memcmp(old->identity, key->identity, sizeof key->identity) != 0) {
            name_key(line, key, "IS ANOTHER KEY NOW");
        } else if (key->revoked != old->revoked) {
            name_key(line, key, key->revoked ? "revoked" : "no longer revoked");
        }
    }
    for (uint32_t i = 0; i < before->count; i++) {
        const struct tl_key *old = &before->key[i];
        if (tl_config_key(config, old->node, old->epoch) == NULL) {
            name_key(line, old, "gone");
        }
    }
}

/* What it means for the program itself. */
static void
name_own(struct line *line, const struct tl_config *config, const struct tl_identity *own)
{
    uint32_t newest = 0;

    for (uint32_t i = 0; i < config->key_count; i++) {
        const struct tl_key *key = &config->key[i];
        bool is_own = strncmp(key->node, own->node, TL_ID_CAP) == 0;
        newest = is_own && !key->revoked && key->epoch > newest ? key->epoch : newest;
    }
    if (!tl_rekey_believed(config, own)) {
        add(line,
            "; THE KEY OF THIS PROGRAM, %s %" PRIu32 ", IS NOT BELIEVED ANY MORE: bring its next "
            "secret to this host and start it again",
            own->node, own->epoch);
    } else if (newest > own->epoch) {
        add(line,
            "; this program runs with %s %" PRIu32 ", and with %" PRIu32 " when started again",
            own->node, own->epoch, newest);
    }
}

/* NOLINTBEGIN(readability-non-const-parameter): the line is written into dst */
const char *
tl_rekey_text(const struct tl_rekey *before, const struct tl_config *config,
              const struct tl_identity *own, char dst[TL_REKEY_CAP])
/* NOLINTEND(readability-non-const-parameter) */
{
    struct line line = {.text = dst};
    uint32_t revoked = 0;

    for (uint32_t i = 0; i < config->key_count; i++) {
        revoked += config->key[i].revoked ? 1 : 0;
    }
    add(&line, "keys.yaml read again: %" PRIu32 " keys, %" PRIu32 " revoked", config->key_count,
        revoked);
    name_changes(&line, before, config);
    if (line.more > 0) {
        add(&line, "; and %" PRIu32 " more", line.more);
    }
    if (line.named == 0) {
        add(&line, "; as before");
    }
    name_own(&line, config, own);
    return dst;
}
