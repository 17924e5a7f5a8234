/* SPDX-License-Identifier: Apache-2.0 */
/*
 * target_zap - the handler that says who may join: requests of any frames, asked as libzmq asks
 *
 * An input is the frames of one request: of each a length and so many bytes. In a frame of 32 bytes
 * that begins with 0 the next byte chooses a key of the table, so that some are known; a frame of
 * 255 'L' is 300 long. Whatever is asked is answered once, in the form of RFC 27; 200 is given to
 * the right form and a listed key that is not revoked, and to nothing else.
 */
#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include <sodium.h>
#include <zmq.h>

#include "broker/access/zap.h"
#include "tests/access/people.h"
#include "tests/fuzz/fuzz.h"

enum {
    FRAMES_MAX = 12,
    FRAME_MAX = 300,
    LONG_AS = 255,
    REPLY_FRAMES = 6,
    ANSWER_MS = 60000 /* of a machine with other work */
};

struct frame {
    size_t len;
    uint8_t bytes[FRAME_MAX + 1]; /* of a reply: ended by NUL */
};
struct message {
    uint32_t count;
    struct frame frame[FRAMES_MAX];
};

struct world {
    struct tl_access *table;
    struct tl_zap *zap;
    void *req;
};

const char *const fuzz_name = "zap";

void *
fuzz_open(void)
{
    struct world *w = calloc(1, sizeof *w);
    TL_REQUIRE(w != NULL);
    const int wait_ms = ANSWER_MS;
    struct tl_config *config = people_config();
    char why[TL_TEXT_CAP];
    static struct tl_access made;

    people_add_key(config, "deck", 2, true);
    TL_REQUIRE(tl_access_build(config, &made, why, sizeof why) == TL_OK);
    w->table = &made;
    void *ctx = zmq_ctx_new();
    TL_REQUIRE(ctx != NULL && tl_zap_open(ctx, w->table, &w->zap) == TL_OK);
    w->req = zmq_socket(ctx, ZMQ_REQ);
    TL_REQUIRE(w->req != NULL &&
               zmq_setsockopt(w->req, ZMQ_RCVTIMEO, &wait_ms, sizeof wait_ms) == 0 &&
               zmq_connect(w->req, TL_ZAP_ENDPOINT) == 0);
    return w;
}

static void
read_request(struct world *w, struct fuzz_input input, struct message *request)
{
    while (input.len > 0 && request->count < FRAMES_MAX) {
        struct frame *frame = &request->frame[request->count++];
        struct fuzz_input piece = fuzz_piece(&input, LONG_AS);
        frame->len = piece.len;
        memcpy(frame->bytes, piece.bytes, piece.len);
        if (frame->len == TL_CURVE_KEY_LEN && frame->bytes[0] == 0) {
            memcpy(frame->bytes, w->table->row[frame->bytes[1] % w->table->count].curve_public,
                   TL_CURVE_KEY_LEN);
        }
        if (frame->len == LONG_AS && frame->bytes[0] == 'L') {
            frame->len = FRAME_MAX;
        }
    }
}

/* A timer of plain.c may interrupt it. */
static int
receive(void *socket, struct frame *frame)
{
    int len = 0;
    do {
        len = zmq_recv(socket, frame->bytes, FRAME_MAX, 0);
    } while (len < 0 && zmq_errno() == EINTR);
    return len;
}

static void
ask(struct world *w, const struct message *request, struct message *reply)
{
    int more = 1;
    size_t more_len = sizeof more;

    for (uint32_t i = 0; i < request->count; i++) {
        const struct frame *frame = &request->frame[i];
        int flags = i + 1 < request->count ? ZMQ_SNDMORE : 0;
        while (zmq_send(w->req, frame->bytes, frame->len, flags) < 0) {
            TL_REQUIRE(zmq_errno() == EINTR);
        }
    }
    while (more) {
        TL_REQUIRE(reply->count < REPLY_FRAMES);
        struct frame *frame = &reply->frame[reply->count++];
        int len = receive(w->req, frame);
        TL_REQUIRE(len >= 0 && len < FRAME_MAX); /* else: no answer in time */
        frame->len = (size_t)len;
        frame->bytes[len] = 0;
        TL_REQUIRE(zmq_getsockopt(w->req, ZMQ_RCVMORE, &more, &more_len) == 0);
    }
    TL_REQUIRE(reply->count == REPLY_FRAMES);
}

static bool
is(const struct frame *frame, const char *text)
{
    return frame->len == strlen(text) && memcmp(frame->bytes, text, frame->len) == 0;
}

/* The form of a request for CURVE, as RFC 27 has it. */
static bool
is_right(const struct message *request)
{
    bool right = request->count == 7;
    for (uint32_t i = 0; i < request->count; i++) {
        right = right && request->frame[i].len <= LONG_AS;
    }
    return right && is(&request->frame[0], "1.0") && is(&request->frame[2], TL_ZAP_DOMAIN) &&
           is(&request->frame[5], "CURVE") && request->frame[6].len == TL_CURVE_KEY_LEN;
}

static void
must_be_right(struct world *w, const struct message *request, const struct message *reply)
{
    const struct tl_access_row *row = NULL;
    const struct frame *user = &reply->frame[4];
    bool right = is_right(request);

    if (right) {
        row = tl_access_by_key(w->table, request->frame[6].bytes);
    }
    TL_REQUIRE(is(&reply->frame[0], "1.0") && reply->frame[5].len == 0);
    TL_REQUIRE(fuzz_is_sentence((const char *)reply->frame[3].bytes));
    TL_REQUIRE(is(&reply->frame[2], "200") == (row != NULL && !row->revoked));
    TL_REQUIRE(is(user, row != NULL && !row->revoked ? row->user_id : ""));
    if (right) {
        const struct frame *id = &request->frame[1];
        TL_REQUIRE(reply->frame[1].len == id->len &&
                   memcmp(reply->frame[1].bytes, id->bytes, id->len) == 0);
        TL_REQUIRE(is(&reply->frame[2], row == NULL ? "500" : row->revoked ? "400" : "200"));
    } else {
        TL_REQUIRE(is(&reply->frame[2], "400") || is(&reply->frame[2], "500"));
    }
}

void
fuzz_take(void *world, const uint8_t *bytes, size_t len)
{
    struct world *w = world;
    static struct message request, reply;
    struct tl_zap_counters before, after;

    request.count = reply.count = 0;
    read_request(w, (struct fuzz_input){bytes, len}, &request);
    if (request.count == 0) {
        return; /* no message at all */
    }
    tl_zap_counters(w->zap, &before);
    ask(w, &request, &reply);
    must_be_right(w, &request, &reply);
    tl_zap_counters(w->zap, &after);
    TL_REQUIRE(after.accepted + after.unknown + after.revoked + after.malformed ==
               before.accepted + before.unknown + before.revoked + before.malformed + 1);
    TL_REQUIRE(fuzz_is_plain(after.last_refused_address));
    TL_REQUIRE(fuzz_is_plain(after.last_revoked_user));
}
