/* SPDX-License-Identifier: Apache-2.0 */
/* ship.c - see ship.h. */
#include "tests/relay/ship.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <ftw.h>
#include <netinet/in.h>
#include <poll.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>
#include <sodium.h>
#include <zmq.h>

#include "proto/base/clock.h"
#include "proto/base/conf.h"
#include "proto/base/file.h"

enum {
    PATH_CAP = 512,
    PORTS = 4,
    PROBE_GAP_MS = 2
};

#define PROBE_TOPIC "beat/viewer/"

/* ---- the folder ---- */

static void
copy_demo_file(const struct ship *ship, const char *name)
{
    static const char *const ROOT = "TL_SOURCE_DIR";
    const char *root = getenv(ROOT);
    char from[PATH_CAP];
    char to[PATH_CAP];
    char *bytes = malloc(TL_CONF_FILE_MAX);
    size_t len = 0;

    assert_non_null(root);
    assert_non_null(bytes);
    (void)snprintf(from, sizeof from, "%s/configs/demo/%s", root, name);
    (void)snprintf(to, sizeof to, "%s/%s", ship->config_dir, name);
    assert_int_equal(tl_file_read(from, TL_CONF_FILE_MAX, bytes, &len), TL_OK);
    assert_int_equal(tl_file_write_atomic(to, 0644, bytes, len), TL_OK);
    free(bytes);
}

/* Ports that are free now, below those that the kernel hands out. */
static void
find_ports(int port[PORTS])
{
    int found = 0;
    int held[PORTS];
    int next = 12000 + (int)(randombytes_uniform(18000));

    for (int tries = 0; found < PORTS && tries < 2000; tries++, next++) {
        struct sockaddr_in address = {.sin_family = AF_INET, .sin_port = htons((uint16_t)next)};
        int fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
        address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
        assert_true(fd >= 0);
        if (bind(fd, (struct sockaddr *)&address, sizeof address) == 0) {
            held[found] = fd;
            port[found++] = next;
        } else {
            (void)close(fd);
        }
    }
    assert_int_equal(found, PORTS);
    for (int i = 0; i < PORTS; i++) {
        (void)close(held[i]);
    }
}

static void
write_text(const struct ship *ship, const char *name, const char *text)
{
    char path[PATH_CAP];

    (void)snprintf(path, sizeof path, "%s/%s", ship->config_dir, name);
    assert_int_equal(tl_file_write_atomic(path, 0644, text, strlen(text)), TL_OK);
}

static void
write_bus(const struct ship *ship)
{
    int port[PORTS];
    char text[SHIP_TEXT_CAP];

    find_ports(port);
    (void)snprintf(text, sizeof text,
                   "buses:\n"
                   "  - {id: bus-a, ingress: \"tcp://127.0.0.1:%d\", egress: "
                   "\"tcp://127.0.0.1:%d\"}\n"
                   "  - {id: bus-b, ingress: \"tcp://127.0.0.1:%d\", egress: "
                   "\"tcp://127.0.0.1:%d\"}\n"
                   "identity_dir: identity\nstate_dir: state\nrun_dir: run\n",
                   port[0], port[1], port[2], port[3]);
    write_text(ship, "bus.yaml", text);
}

void
ship_write_keys(const struct ship *ship)
{
    char *text = calloc(TL_KEYS_MAX, 256);
    size_t used = 0;

    assert_non_null(text);
    used += (size_t)sprintf(text, "keys:\n");
    for (uint32_t i = 0; i < ship->config->key_count; i++) {
        const struct tl_key *key = &ship->config->key[i];
        char hex[65];
        (void)sodium_bin2hex(hex, sizeof hex, key->identity, sizeof key->identity);
        used += (size_t)sprintf(
            text + used, "  - {node: %s, epoch: %u, identity: \"%s\", revoked: %s}\n", key->node,
            (unsigned)key->epoch, hex, key->revoked ? "true" : "false");
    }
    write_text(ship, "keys.yaml", text);
    free(text);
}

void
ship_add_key(struct ship *ship, const char *node, uint32_t epoch)
{
    struct tl_key *key = &ship->config->key[ship->config->key_count];
    char why[PATH_CAP] = "";

    assert_in_range(ship->config->key_count, 0, TL_KEYS_MAX - 1);
    *key = (struct tl_key){.epoch = epoch};
    (void)snprintf(key->node, sizeof key->node, "%s", node);
    if (tl_identity_make(ship->config, node, epoch, key->identity, why, sizeof why) != TL_OK) {
        fail_msg("%s", why);
    }
    ship->config->key_count++;
}

void
ship_revoke(struct ship *ship, const char *node, uint32_t epoch)
{
    for (uint32_t i = 0; i < ship->config->key_count; i++) {
        struct tl_key *key = &ship->config->key[i];
        if (strcmp(key->node, node) == 0 && key->epoch == epoch) {
            key->revoked = true;
            return;
        }
    }
    fail_msg("no key %s/%u", node, (unsigned)epoch);
}

static void
make_keys(struct ship *ship)
{
    struct tl_conf_fault fault;

    if (tl_conf_load_unkeyed(ship->config_dir, ship->config, &fault) != TL_OK) {
        fail_msg("%s:%u: %s", fault.file, (unsigned)fault.line, fault.text);
    }
    for (uint32_t i = 0; i < ship->config->node_count; i++) {
        ship_add_key(ship, ship->config->node[i].id, 1);
    }
    ship_write_keys(ship);
    if (tl_conf_load(ship->config_dir, ship->config, &fault) != TL_OK) {
        fail_msg("%s:%u: %s", fault.file, (unsigned)fault.line, fault.text);
    }
    ship->bus = &ship->config->bus[0];
    assert_string_equal(ship->bus->id, "bus-a");
    assert_int_equal(
        tl_identity_curve_public(tl_config_key(ship->config, "bus-a", 1)->identity, ship->bus_key),
        TL_OK);
}

int
ship_set_up(void **state)
{
    struct ship *ship = calloc(1, sizeof *ship);

    assert_non_null(ship);
    assert_true(sodium_init() >= 0);
    ship->out = -1;
    (void)snprintf(ship->dir, sizeof ship->dir, "/tmp/trapline-relay-XXXXXX");
    assert_non_null(mkdtemp(ship->dir));
    (void)snprintf(ship->config_dir, sizeof ship->config_dir, "%s/ship", ship->dir);
    (void)snprintf(ship->log, sizeof ship->log, "%s/log", ship->dir);
    assert_int_equal(mkdir(ship->config_dir, 0755), 0);
    ship->config = calloc(1, sizeof *ship->config);
    ship->codec = calloc(1, sizeof *ship->codec);
    assert_non_null(ship->config);
    assert_non_null(ship->codec);
    copy_demo_file(ship, "ship.yaml");
    copy_demo_file(ship, "gear.yaml");
    copy_demo_file(ship, "aircraft.yaml");
    copy_demo_file(ship, "stations.yaml");
    write_bus(ship);
    make_keys(ship);
    ship->ctx = zmq_ctx_new();
    assert_non_null(ship->ctx);
    *state = ship;
    return 0;
}

int
ship_set_up_running(void **state)
{
    int failed = ship_set_up(state);

    if (failed == 0) {
        ship_start(*state);
    }
    return failed;
}

static int
remove_one(const char *path, const struct stat *info, int type, struct FTW *place)
{
    (void)info;
    (void)type;
    (void)place;
    return remove(path);
}

int
ship_tear_down(void **state)
{
    struct ship *ship = *state;

    while (ship->socket_count > 0) {
        (void)zmq_close(ship->socket[--ship->socket_count]);
    }
    if (ship->pid > 0) {
        (void)kill(ship->pid, SIGKILL);
        (void)ship_wait(ship);
    }
    if (ship->out >= 0) {
        (void)close(ship->out);
    }
    assert_int_equal(zmq_ctx_term(ship->ctx), 0);
    assert_int_equal(nftw(ship->dir, remove_one, 8, FTW_DEPTH | FTW_PHYS), 0);
    free(ship->config);
    free(ship->codec);
    free(ship);
    return 0;
}

/* ---- the broker ---- */

static _Noreturn void
become_broker(const struct ship *ship, const char *const *args, int out, int err_fd)
{
    char path[PATH_CAP];
    char *argv[16] = {path};
    const char *root = getenv("TL_BUILD_DIR");
    int log = err_fd >= 0 ? err_fd : open(ship->log, O_WRONLY | O_CREAT | O_TRUNC, 0600);

    (void)snprintf(path, sizeof path, "%s/broker/relay/trapline-broker", root != NULL ? root : ".");
    for (int i = 0; i < 14 && args[i] != NULL; i++) {
        argv[i + 1] = strdup(args[i]);
    }
    (void)dup2(out, STDOUT_FILENO);
    (void)dup2(log, STDERR_FILENO);
    (void)execv(path, argv);
    _exit(127);
}

void
ship_spawn(struct ship *ship, const char *const *args, int err_fd)
{
    int out[2];

    assert_int_equal(pipe2(out, O_CLOEXEC), 0);
    ship->pid = fork();
    assert_true(ship->pid >= 0);
    if (ship->pid == 0) {
        become_broker(ship, args, out[1], err_fd);
    }
    (void)close(out[1]);
    if (ship->out >= 0) {
        (void)close(ship->out);
    }
    ship->out = out[0];
}

void
ship_read_log(const struct ship *ship, char text[SHIP_TEXT_CAP])
{
    FILE *log = fopen(ship->log, "r");
    size_t len = log != NULL ? fread(text, 1, SHIP_TEXT_CAP - 1, log) : 0;

    text[len] = '\0';
    if (log != NULL) {
        (void)fclose(log);
    }
}

void
ship_read_output(struct ship *ship, char text[SHIP_TEXT_CAP])
{
    size_t len = 0;
    struct pollfd item = {.fd = ship->out, .events = POLLIN};

    while (len < SHIP_TEXT_CAP - 1 && memchr(text, '\n', len) == NULL &&
           poll(&item, 1, SHIP_WAIT_MS) == 1) {
        ssize_t got = read(ship->out, text + len, SHIP_TEXT_CAP - 1 - len);
        if (got <= 0) {
            break;
        }
        len += (size_t)got;
    }
    text[len] = '\0';
}

void
ship_start(struct ship *ship)
{
    const char *const args[] = {"-C", ship->config_dir, "--bus", "bus-a", NULL};
    char text[SHIP_TEXT_CAP];
    char expected[SHIP_TEXT_CAP];

    ship_spawn(ship, args, -1);
    ship_read_output(ship, text);
    (void)snprintf(expected, sizeof expected, "trapline-broker: bus-a ready on %s %s\n",
                   ship->bus->ingress, ship->bus->egress);
    if (strcmp(text, expected) != 0) {
        ship_read_log(ship, expected);
        fail_msg("no ready line: %s%s", text, expected);
    }
}

int
ship_wait(struct ship *ship)
{
    int status = 0;

    assert_int_equal(waitpid(ship->pid, &status, 0), ship->pid);
    ship->pid = 0;
    return WIFEXITED(status) ? WEXITSTATUS(status) : 256 + WTERMSIG(status);
}

/* ---- nodes ---- */

void *
ship_socket(struct ship *ship, int type, const char *node, uint32_t epoch)
{
    struct tl_identity identity;
    char why[PATH_CAP] = "";
    const int zero = 0;
    void *socket = zmq_socket(ship->ctx, type);

    assert_non_null(socket);
    assert_in_range(ship->socket_count, 0, SHIP_SOCKETS_MAX - 1);
    ship->socket[ship->socket_count++] = socket;
    if (tl_identity_open(ship->config, node, epoch, &identity, why, sizeof why) != TL_OK) {
        fail_msg("%s", why);
    }
    assert_int_equal(zmq_setsockopt(socket, ZMQ_LINGER, &zero, sizeof zero), 0);
    assert_int_equal(zmq_setsockopt(socket, ZMQ_CURVE_SERVERKEY, ship->bus_key, TL_CURVE_CAP), 0);
    assert_int_equal(
        zmq_setsockopt(socket, ZMQ_CURVE_PUBLICKEY, identity.curve_public, TL_CURVE_CAP), 0);
    assert_int_equal(
        zmq_setsockopt(socket, ZMQ_CURVE_SECRETKEY, identity.curve_secret, TL_CURVE_CAP), 0);
    tl_identity_close(&identity);
    return socket;
}

void
ship_close(struct ship *ship, void *socket)
{
    for (unsigned i = 0; i < ship->socket_count; i++) {
        if (ship->socket[i] == socket) {
            (void)zmq_close(socket);
            ship->socket[i] = ship->socket[--ship->socket_count];
            return;
        }
    }
    fail_msg("not a socket of the ship");
}

bool
ship_is_invited(void *publisher, int wait_ms)
{
    zmq_pollitem_t item = {publisher, 0, ZMQ_POLLIN, 0};
    uint8_t bytes[8];

    return zmq_poll(&item, 1, wait_ms) == 1 &&
           zmq_recv(publisher, bytes, sizeof bytes, ZMQ_DONTWAIT) == 1 && bytes[0] == 1;
}

void *
ship_publisher(struct ship *ship, const char *node)
{
    const int one = 1;
    void *publisher = ship_socket(ship, ZMQ_XPUB, node, 0);

    /* Without it a second invitation, after a reconnection, would not be seen. */
    assert_int_equal(zmq_setsockopt(publisher, ZMQ_XPUB_VERBOSE, &one, sizeof one), 0);
    assert_int_equal(zmq_connect(publisher, ship->bus->ingress), 0);
    assert_true(ship_is_invited(publisher, SHIP_WAIT_MS));
    return publisher;
}

void *
ship_listener(struct ship *ship, const char *prefix)
{
    void *listener = ship_socket(ship, ZMQ_SUB, "viewer", 0);
    zmq_pollitem_t item = {listener, 0, ZMQ_POLLIN, 0};
    uint64_t end_ms = tl_clock_boot_ms() + SHIP_WAIT_MS;

    if (ship->probe == NULL) {
        ship->probe = ship_publisher(ship, "viewer");
    }
    assert_int_equal(zmq_setsockopt(listener, ZMQ_SUBSCRIBE, prefix, strlen(prefix)), 0);
    assert_int_equal(zmq_setsockopt(listener, ZMQ_SUBSCRIBE, PROBE_TOPIC, strlen(PROBE_TOPIC)), 0);
    assert_int_equal(zmq_connect(listener, ship->bus->egress), 0);
    do {
        assert_true(tl_clock_boot_ms() < end_ms);
        ship_say(ship->probe, PROBE_TOPIC);
    } while (zmq_poll(&item, 1, PROBE_GAP_MS) == 0);
    return listener;
}

uint8_t *
ship_frame(const char *topic, size_t len, unsigned seed)
{
    uint8_t key[randombytes_SEEDBYTES] = {(uint8_t)seed, (uint8_t)(seed >> 8)};
    uint8_t *bytes = malloc(len);
    size_t topic_len = strlen(topic) + 1;

    assert_non_null(bytes);
    assert_true(topic_len <= len);
    randombytes_buf_deterministic(bytes, len, key);
    memcpy(bytes, topic, topic_len);
    return bytes;
}

void
ship_send(void *publisher, const void *bytes, size_t len)
{
    assert_int_equal(zmq_send(publisher, bytes, len, 0), len);
}

void
ship_say(void *publisher, const char *topic)
{
    uint8_t *bytes = ship_frame(topic, 200, 1);

    ship_send(publisher, bytes, 200);
    free(bytes);
}

int
ship_hear(void *listener, uint8_t *dst, size_t cap, int wait_ms)
{
    uint64_t end_ms = tl_clock_boot_ms() + (uint64_t)wait_ms;
    uint64_t now_ms = tl_clock_boot_ms();

    for (; now_ms <= end_ms; now_ms = tl_clock_boot_ms()) {
        zmq_pollitem_t item = {listener, 0, ZMQ_POLLIN, 0};
        int len = -1;
        if (zmq_poll(&item, 1, (long)(end_ms - now_ms)) == 1) {
            len = zmq_recv(listener, dst, cap, ZMQ_DONTWAIT);
        }
        if (len >= 0 && ((size_t)len < sizeof PROBE_TOPIC ||
                         memcmp(dst, PROBE_TOPIC, sizeof PROBE_TOPIC) != 0)) {
            return len;
        }
    }
    return -1;
}

void
ship_expect_topic(void *listener, const char *topic)
{
    uint8_t bytes[SHIP_TEXT_CAP];
    int len = ship_hear(listener, bytes, sizeof bytes - 1, SHIP_WAIT_MS);

    assert_in_range(len, 1, sizeof bytes - 1);
    bytes[len] = 0;
    assert_string_equal((const char *)bytes, topic);
}

void
ship_hear_bus(struct ship *ship, void *listener, enum tl_body_kind body, struct tl_envelope *out)
{
    const uint8_t *identity = tl_config_key(ship->config, "bus-a", 1)->identity;
    uint8_t bytes[TL_FRAME_SMALL_MAX];

    do {
        struct tl_frame frame;
        enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
        int len = ship_hear(listener, bytes, sizeof bytes, SHIP_WAIT_MS);
        assert_in_range(len, 1, sizeof bytes);
        assert_int_equal(tl_frame_split(bytes, (size_t)len, &frame, &reason), TL_OK);
        assert_int_equal(frame.topic.kind, TL_TOPIC_BUS);
        assert_string_equal(frame.topic.publisher, "bus-a");
        assert_true(tl_frame_verify(&frame, identity));
        assert_int_equal(tl_frame_decode(ship->codec, &frame, out, &reason), TL_OK);
    } while (out->body != body);
}
