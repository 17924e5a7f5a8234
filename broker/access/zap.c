/* SPDX-License-Identifier: Apache-2.0 */
/* zap.c - the handler's thread and its answers. See zap.h. */
#include "broker/access/zap.h"

#include <errno.h>
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <zmq.h>

#include "proto/base/text.h"

#define STOP_ENDPOINT "inproc://trapline.zap.stop"
#define VERSION       "1.0"

/* RFC 27: version, request id, domain, address, routing id, mechanism, then the credentials. */
enum {
    FRAME_VERSION,
    FRAME_REQUEST,
    FRAME_DOMAIN,
    FRAME_ADDRESS,
    FRAME_ROUTING,
    FRAME_MECHANISM,
    FRAME_KEY,
    FRAMES_WITH_CURVE,
    FRAME_CAP = 256 /* RFC 27 allows 255 bytes for each of these */
};

struct frame {
    size_t len;
    uint8_t bytes[FRAME_CAP];
};

struct request {
    unsigned count; /* frames that came, kept or not */
    bool too_long;
    struct frame frame[FRAMES_WITH_CURVE];
};

struct answer {
    const char *code;
    const char *text;
    char user_id[TL_USER_ID_CAP];
};

struct tl_zap {
    void *rep;  /* the thread's, once it runs */
    void *told; /* the thread's end of the stop pair */
    void *stop; /* the opener's end */
    pthread_t thread;
    pthread_mutex_t lock; /* over all below */
    struct tl_access table;
    struct tl_zap_counters counters;
    bool probing;
    uint8_t probe[TL_CURVE_KEY_LEN];
};

static bool
frame_is(const struct frame *frame, const char *text)
{
    return frame->len == strlen(text) && memcmp(frame->bytes, text, frame->len) == 0;
}

/* Also leaves whole requests behind it when frames are too many or too long. */
static bool
receive_request(void *rep, struct request *request)
{
    int more = 1;
    size_t more_len = sizeof more;

    *request = (struct request){.count = 0};
    while (more) {
        struct frame frame = {.len = 0};
        int len =
            zmq_recv(rep, frame.bytes, sizeof frame.bytes, request->count == 0 ? ZMQ_DONTWAIT : 0);
        if (len < 0 && zmq_errno() == EINTR && request->count > 0) {
            continue;
        }
        if (len < 0) {
            return false;
        }
        frame.len = (size_t)len;
        request->too_long = request->too_long || frame.len >= sizeof frame.bytes;
        if (request->count < FRAMES_WITH_CURVE && !request->too_long) {
            request->frame[request->count] = frame;
        }
        request->count++;
        if (zmq_getsockopt(rep, ZMQ_RCVMORE, &more, &more_len) != 0) {
            return false;
        }
    }
    return true;
}

static struct answer
refuse_malformed(struct tl_zap *zap, const char *code, const char *text)
{
    zap->counters.malformed++;
    return (struct answer){.code = code, .text = text};
}

static struct answer
judge_key(struct tl_zap *zap, const uint8_t key[TL_CURVE_KEY_LEN])
{
    const struct tl_access_row *row = tl_access_by_key(&zap->table, key);
    struct answer accepted = {.code = "200", .text = "OK"};

    if (row == NULL && zap->probing && memcmp(key, zap->probe, TL_CURVE_KEY_LEN) == 0) {
        (void)snprintf(accepted.user_id, sizeof accepted.user_id, "%s", TL_ZAP_PROBE_ID);
        return accepted;
    }
    if (row == NULL) {
        zap->counters.unknown++;
        memcpy(zap->counters.last_unknown_key, key, TL_CURVE_KEY_LEN);
        return (struct answer){.code = "500", .text = "key not in the key list"};
    }
    if (row->revoked) {
        zap->counters.revoked++;
        memcpy(zap->counters.last_revoked_user, row->user_id, sizeof row->user_id);
        return (struct answer){.code = "400", .text = "key is revoked"};
    }
    zap->counters.accepted++;
    memcpy(accepted.user_id, row->user_id, sizeof row->user_id);
    return accepted;
}

/* Under the lock. */
static struct answer
judge_request(struct tl_zap *zap, const struct request *request)
{
    const struct frame *frame = request->frame;

    if (request->too_long || request->count < FRAME_KEY ||
        !frame_is(&frame[FRAME_VERSION], VERSION)) {
        return refuse_malformed(zap, "500", "not a request of version 1.0");
    }
    if (!frame_is(&frame[FRAME_DOMAIN], TL_ZAP_DOMAIN)) {
        return refuse_malformed(zap, "400", "unknown domain");
    }
    if (!frame_is(&frame[FRAME_MECHANISM], "CURVE") || request->count != FRAMES_WITH_CURVE ||
        frame[FRAME_KEY].len != TL_CURVE_KEY_LEN) {
        return refuse_malformed(zap, "400", "CURVE with one key of 32 bytes is needed");
    }
    return judge_key(zap, frame[FRAME_KEY].bytes);
}

static void
send_text(void *rep, const char *text, int flags)
{
    /* A reply that cannot be sent leaves that peer waiting until its handshake times out. */
    (void)zmq_send(rep, text, strlen(text), flags);
}

static void
answer_one(struct tl_zap *zap, const struct request *request)
{
    const struct frame *id = &request->frame[FRAME_REQUEST];
    const struct frame *address = &request->frame[FRAME_ADDRESS];
    struct answer answer;

    (void)pthread_mutex_lock(&zap->lock);
    answer = judge_request(zap, request);
    if (answer.code[0] != '2') {
        (void)tl_text_plain(zap->counters.last_refused_address,
                            sizeof zap->counters.last_refused_address, (const char *)address->bytes,
                            address->len);
    }
    (void)pthread_mutex_unlock(&zap->lock);

    send_text(zap->rep, VERSION, ZMQ_SNDMORE);
    (void)zmq_send(zap->rep, id->bytes, id->len, ZMQ_SNDMORE);
    send_text(zap->rep, answer.code, ZMQ_SNDMORE);
    send_text(zap->rep, answer.text, ZMQ_SNDMORE);
    send_text(zap->rep, answer.user_id, ZMQ_SNDMORE);
    send_text(zap->rep, "", 0);
}

static void *
run_handler(void *arg)
{
    struct tl_zap *zap = arg;
    struct request request;
    zmq_pollitem_t items[] = {{zap->rep, 0, ZMQ_POLLIN, 0}, {zap->told, 0, ZMQ_POLLIN, 0}};

    for (;;) {
        int ready = zmq_poll(items, 2, -1);
        if (ready < 0 && zmq_errno() != EINTR) {
            break; /* the context is shut down */
        }
        if (ready > 0 && (items[1].revents & ZMQ_POLLIN) != 0) {
            break;
        }
        if (ready > 0 && receive_request(zap->rep, &request)) {
            answer_one(zap, &request);
        }
    }
    (void)zmq_close(zap->rep);
    (void)zmq_close(zap->told);
    return NULL;
}

static enum tl_err
open_sockets(void *zmq_ctx, struct tl_zap *zap)
{
    const int zero = 0;

    zap->rep = zmq_socket(zmq_ctx, ZMQ_REP);
    zap->told = zmq_socket(zmq_ctx, ZMQ_PAIR);
    zap->stop = zmq_socket(zmq_ctx, ZMQ_PAIR);
    if (zap->rep == NULL || zap->told == NULL || zap->stop == NULL ||
        zmq_setsockopt(zap->rep, ZMQ_LINGER, &zero, sizeof zero) != 0 ||
        zmq_setsockopt(zap->stop, ZMQ_LINGER, &zero, sizeof zero) != 0) {
        return TL_IO;
    }
    if (zmq_bind(zap->rep, TL_ZAP_ENDPOINT) != 0) {
        return zmq_errno() == EADDRINUSE ? TL_EXISTS : TL_IO;
    }
    if (zmq_bind(zap->told, STOP_ENDPOINT) != 0 || zmq_connect(zap->stop, STOP_ENDPOINT) != 0) {
        return TL_IO;
    }
    return TL_OK;
}

static enum tl_err
start_thread(struct tl_zap *zap)
{
    sigset_t all;
    sigset_t before;
    int failed;

    (void)sigfillset(&all);
    (void)pthread_sigmask(SIG_SETMASK, &all, &before);
    failed = pthread_create(&zap->thread, NULL, run_handler, zap);
    (void)pthread_sigmask(SIG_SETMASK, &before, NULL);
    return failed == 0 ? TL_OK : TL_IO;
}

static void
close_socket(void *socket)
{
    if (socket != NULL) {
        (void)zmq_close(socket);
    }
}

enum tl_err
tl_zap_open(void *zmq_ctx, const struct tl_access *table, struct tl_zap **out)
{
    struct tl_zap *zap = calloc(1, sizeof *zap);
    enum tl_err err;

    if (zap == NULL) {
        return TL_NOMEM;
    }
    zap->table = *table;
    (void)pthread_mutex_init(&zap->lock, NULL);
    err = open_sockets(zmq_ctx, zap);
    if (err == TL_OK) {
        /* pthread_create is the full fence that moving a socket to another thread needs. */
        err = start_thread(zap);
    }
    if (err != TL_OK) {
        close_socket(zap->rep);
        close_socket(zap->told);
        close_socket(zap->stop);
        (void)pthread_mutex_destroy(&zap->lock);
        free(zap);
        return err;
    }
    *out = zap;
    return TL_OK;
}

uint32_t
tl_zap_update(struct tl_zap *zap, const struct tl_access *next)
{
    uint32_t reused;

    (void)pthread_mutex_lock(&zap->lock);
    reused = tl_access_update(&zap->table, next);
    (void)pthread_mutex_unlock(&zap->lock);
    return reused;
}

void
tl_zap_counters(struct tl_zap *zap, struct tl_zap_counters *out)
{
    (void)pthread_mutex_lock(&zap->lock);
    *out = zap->counters;
    (void)pthread_mutex_unlock(&zap->lock);
}

void
tl_zap_admit_probe(struct tl_zap *zap, const uint8_t curve_public[TL_CURVE_KEY_LEN])
{
    (void)pthread_mutex_lock(&zap->lock);
    memcpy(zap->probe, curve_public, TL_CURVE_KEY_LEN);
    zap->probing = true;
    (void)pthread_mutex_unlock(&zap->lock);
}

void
tl_zap_refuse_probe(struct tl_zap *zap)
{
    (void)pthread_mutex_lock(&zap->lock);
    zap->probing = false;
    (void)pthread_mutex_unlock(&zap->lock);
}

void
tl_zap_close(struct tl_zap **zap)
{
    struct tl_zap *old = *zap;

    if (old == NULL) {
        return;
    }
    *zap = NULL;
    /* When the context is already shut down, the thread has ended by itself. */
    (void)zmq_send(old->stop, "", 0, ZMQ_DONTWAIT);
    (void)pthread_join(old->thread, NULL);
    (void)zmq_close(old->stop);
    (void)pthread_mutex_destroy(&old->lock);
    free(old);
}
