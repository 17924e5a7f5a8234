/* SPDX-License-Identifier: Apache-2.0 */
/*
 * topic.c - topics as text: the one table of kinds, and what a well-formed id is
 *
 * Every level ends with '/', so that the subscription "beat/engine-1/" does not match engine-10.
 */
#include <string.h>

#include "proto/codec/codec.h"

struct kind_row {
    const char *word;
    bool addressed; /* has a third level */
    size_t frame_max;
};

static const struct kind_row kinds[TL_TOPIC_KINDS] = {
    [TL_TOPIC_BEAT] = {"beat", false, TL_FRAME_BEAT_MAX},
    [TL_TOPIC_CHANGE] = {"change", false, TL_FRAME_CHANGE_MAX},
    [TL_TOPIC_VERDICT] = {"verdict", false, TL_FRAME_VERDICT_MAX},
    [TL_TOPIC_PICTURE] = {"picture", false, TL_FRAME_LARGE_MAX},
    [TL_TOPIC_ALERT] = {"alert", false, TL_FRAME_LARGE_MAX},
    [TL_TOPIC_RECEIPT] = {"receipt", true, TL_FRAME_RECEIPT_MAX},
    [TL_TOPIC_JUDGED] = {"judged", false, TL_FRAME_SMALL_MAX},
    [TL_TOPIC_RECORDED] = {"recorded", true, TL_FRAME_LARGE_MAX},
    [TL_TOPIC_BUS] = {"bus", false, TL_FRAME_SMALL_MAX},
};

enum {
    LONGEST_LEVEL = sizeof "recorded/" - 1
};
static_assert(LONGEST_LEVEL + 2 * TL_ID_CAP < TL_TOPIC_CAP, "the longest topic and its NUL");

/* NULL for a kind that is none. */
static const struct kind_row *
find_kind(enum tl_topic_kind kind)
{
    if ((unsigned)kind >= TL_TOPIC_KINDS || kinds[kind].word == NULL) {
        return NULL;
    }
    return &kinds[kind];
}

static bool
is_id_byte(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-';
}

/* Length of a name of id bytes that ends within cap bytes with its NUL; 0 if it is none. */
static size_t
measure_name(const char *name, size_t cap)
{
    size_t len = strnlen(name, cap);

    if (len == cap) {
        return 0;
    }
    for (size_t i = 0; i < len; i++) {
        if (!is_id_byte(name[i])) {
            return 0;
        }
    }
    return len;
}

bool
tl_id_is_wellformed(const char *id)
{
    size_t len = measure_name(id, TL_ID_CAP);
    return len > 0 && id[0] != '-' && id[len - 1] != '-';
}

bool
tl_type_is_wellformed(const char *type)
{
    return measure_name(type, TL_TYPE_CAP) > 0;
}

const char *
tl_topic_word(enum tl_topic_kind kind)
{
    const struct kind_row *row = find_kind(kind);
    return row == NULL ? "" : row->word;
}

size_t
tl_frame_max(enum tl_topic_kind kind)
{
    const struct kind_row *row = find_kind(kind);
    return row == NULL ? 0 : row->frame_max;
}

/* Copy text and a '/' after it. Returns where the next one goes. */
static char *
append_level(char *at, const char *text)
{
    size_t len = strlen(text);
    memcpy(at, text, len);
    at[len] = '/';
    return at + len + 1;
}

enum tl_err
tl_topic_write(const struct tl_topic *topic, char *dst, size_t cap, size_t *len)
{
    const struct kind_row *row = find_kind(topic->kind);
    char text[TL_TOPIC_CAP];

    if (row == NULL || !tl_id_is_wellformed(topic->publisher)) {
        return TL_BADARG;
    }
    bool named = topic->addressee[0] != '\0';
    if (named != row->addressed || (named && !tl_id_is_wellformed(topic->addressee))) {
        return TL_BADARG;
    }
    char *at = append_level(append_level(text, row->word), topic->publisher);
    if (named) {
        at = append_level(at, topic->addressee);
    }
    *at = '\0';
    size_t size = (size_t)(at - text);
    if (size + 1 > cap) {
        return TL_FULL;
    }
    memcpy(dst, text, size + 1);
    *len = size;
    return TL_OK;
}

/* Take "id/" from the front of text; false when there is none. */
static bool
take_id(const char **text, size_t *len, char id[TL_ID_CAP])
{
    const char *slash = memchr(*text, '/', *len < TL_ID_CAP ? *len : TL_ID_CAP);

    if (slash == NULL) {
        return false;
    }
    size_t size = (size_t)(slash - *text);
    memcpy(id, *text, size);
    id[size] = '\0';
    *text += size + 1;
    *len -= size + 1;
    /* A NUL inside would end the copy early, and the id would not be what was signed. */
    return strlen(id) == size && tl_id_is_wellformed(id);
}

enum tl_err
tl_topic_read(const char *text, size_t len, struct tl_topic *topic)
{
    struct tl_topic found = {.kind = TL_TOPIC_UNKNOWN};

    for (unsigned kind = 1; kind < TL_TOPIC_KINDS; kind++) {
        size_t size = strlen(kinds[kind].word);
        if (len > size && memcmp(text, kinds[kind].word, size) == 0 && text[size] == '/') {
            found.kind = (enum tl_topic_kind)kind;
            text += size + 1;
            len -= size + 1;
            break;
        }
    }
    if (found.kind == TL_TOPIC_UNKNOWN || !take_id(&text, &len, found.publisher)) {
        return TL_MALFORMED;
    }
    if (kinds[found.kind].addressed && !take_id(&text, &len, found.addressee)) {
        return TL_MALFORMED;
    }
    if (len != 0) {
        return TL_MALFORMED;
    }
    *topic = found;
    return TL_OK;
}
