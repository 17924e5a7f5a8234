/* SPDX-License-Identifier: Apache-2.0 */
/*
 * target_relay - what a bus makes of the bytes of a node: a message, or a subscription
 *
 * The first byte of an input chooses who is behind the session (a row of the table, a user id that
 * is in none, no user id), the second the socket and whether more frames follow. What passes has a
 * topic that belongs to that node, a size of its kind and a signature's room; what does not is told
 * with a reason that the book of refusals has a place for, and with a topic that is plain.
 */
#include <stdlib.h>
#include <string.h>

#include "broker/relay/check.h"
#include "broker/relay/refusals.h"
#include "proto/codec/codec.h"
#include "tests/access/people.h"
#include "tests/fuzz/fuzz.h"

enum {
    SUBSCRIBED = 3,
    LATER_MS = 60 * 1000
};

struct world {
    struct tl_access table;
    struct tl_refusal_book empty, book;
};

const char *const fuzz_name = "relay";

void *
fuzz_open(void)
{
    struct world *w = calloc(1, sizeof *w);
    TL_REQUIRE(w != NULL);
    struct tl_config *config = people_config();
    char why[TL_TEXT_CAP];
    people_add_key(config, "deck", 2, true);
    TL_REQUIRE(tl_access_build(config, &w->table, why, sizeof why) == TL_OK);
    return w;
}

static const char *
user_of(struct world *w, uint8_t choice)
{
    static const char *const nobodies[] = {NULL, "", "deck/7", "self-test/0", "/", "deck"};
    if (choice % 4 == 3) {
        return nobodies[choice / 4 % (sizeof nobodies / sizeof nobodies[0])];
    }
    return w->table.row[choice / 4 % w->table.count].user_id;
}

/* Said once, whatever came, and within the first second. */
static void
must_be_told(struct world *w, const struct tl_relay_frame *frame, enum tl_refusal reason)
{
    const struct tl_access_row *row = tl_access_by_user(&w->table, frame->user_id);
    struct tl_refusals lines;
    char topic[TL_TOPIC_CAP];

    TL_REQUIRE((uint32_t)reason < TL_REFUSAL_REASONS);
    TL_REQUIRE(fuzz_is_sentence(tl_refusal_text(reason)));
    tl_relay_topic_text(frame, topic);
    TL_REQUIRE(fuzz_is_plain(topic));
    w->book = w->empty;
    tl_refusals_note(&w->book, row != NULL ? row->node.id : "", reason, topic);
    TL_REQUIRE(tl_refusals_take(&w->book, 1, &lines) == 1 && lines.refusal[0].reason == reason);
    TL_REQUIRE(strcmp(lines.refusal[0].topic, topic) == 0 && lines.refusal[0].count == 1);
    TL_REQUIRE(tl_refusals_take(&w->book, LATER_MS, &lines) == 0);
}

/* "KIND/NODE/" with more behind it only for kinds that are addressed; looked at by hand. */
static bool
begins_with_node(const struct tl_relay_frame *frame, const char *node)
{
    const uint8_t *slash = memchr(frame->bytes, '/', frame->len);
    size_t len = strlen(node);
    return slash != NULL && (size_t)(frame->bytes + frame->len - slash) > len + 1 &&
           memcmp(slash + 1, node, len) == 0 && slash[1 + len] == '/';
}

static void
take_message(struct world *w, const struct tl_relay_frame *frame)
{
    enum tl_topic_kind kind = TL_TOPIC_UNKNOWN;
    enum tl_refusal reason = tl_relay_check(&w->table, frame, &kind);
    TL_REQUIRE((kind == TL_TOPIC_UNKNOWN) == (reason != TL_REFUSAL_UNKNOWN));
    if (reason != TL_REFUSAL_UNKNOWN) {
        must_be_told(w, frame, reason);
        return;
    }
    const struct tl_access_row *row = tl_access_by_user(&w->table, frame->user_id);
    const uint8_t *nul = memchr(frame->bytes, 0, frame->len);
    TL_REQUIRE(frame->alone && frame->len <= TL_FRAME_MAX);
    TL_REQUIRE(row != NULL && !row->revoked && begins_with_node(frame, row->node.id));
    TL_REQUIRE(nul != NULL && frame->len > (size_t)(nul - frame->bytes) + 1 + TL_SIGNATURE_LEN);
    TL_REQUIRE(fuzz_is_sentence((const char *)frame->bytes));
    TL_REQUIRE(memcmp(frame->bytes, tl_topic_word(kind), strlen(tl_topic_word(kind))) == 0);
}

static void
take_subscription(struct world *w, const struct tl_relay_frame *frame)
{
    uint64_t count = SUBSCRIBED;
    uint64_t none = 0;
    bool is_one = tl_relay_subscribes(frame, &count);

    TL_REQUIRE(tl_relay_subscribes(frame, &none) == is_one);
    TL_REQUIRE(is_one == (frame->len > 0 && frame->bytes[0] <= 1));
    TL_REQUIRE(none <= 1 && count >= SUBSCRIBED - 1 && count <= SUBSCRIBED + 1);
    if (!is_one) {
        TL_REQUIRE(none == 0 && count == SUBSCRIBED);
        must_be_told(w, frame, TL_REFUSAL_NOT_YOUR_TOPIC);
    }
}

void
fuzz_take(void *world, const uint8_t *bytes, size_t len)
{
    struct world *w = world;
    struct fuzz_input input = {bytes, len};
    const char *user = user_of(w, fuzz_byte(&input));
    uint8_t socket = fuzz_byte(&input);
    const struct tl_relay_frame frame = {
        .bytes = input.bytes, .len = input.len, .alone = socket % 8 != 7, .user_id = user};

    if (socket % 2 == 0) {
        take_subscription(w, &frame);
    } else {
        take_message(w, &frame);
    }
}
