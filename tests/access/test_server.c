/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_server - the two sockets of a bus, their monitors, and the test they must pass first
 *
 * Each defect below is one that libzmq 4.3.4 accepts without an error; the self-test must see it.
 */
#include <arpa/inet.h>
#include <netinet/in.h>
#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cmocka.h>
#include <zmq.h>

#include "broker/access/self_test.h"
#include "tests/access/people.h"

enum {
    LONG_MS = 5000,
    SHORT_MS = 300
};

struct room {
    void *ctx;
    void *other_ctx; /* where a handler is of no use to the socket */
    struct people_key bus;
    struct tl_config *config;
    struct tl_access *table;
    struct tl_zap *zap;
    void *socket;
    struct tl_monitor monitor;
};

static int
set_up(void **state)
{
    struct room *room = calloc(1, sizeof *room);
    char why[TL_TEXT_CAP];

    assert_non_null(room);
    people_key("bus-a", 1, &room->bus);
    room->config = people_config();
    room->table = calloc(1, sizeof *room->table);
    assert_non_null(room->table);
    assert_int_equal(tl_access_build(room->config, room->table, why, sizeof why), TL_OK);
    room->ctx = zmq_ctx_new();
    room->other_ctx = zmq_ctx_new();
    *state = room;
    return 0;
}

static int
tear_down(void **state)
{
    struct room *room = *state;

    tl_monitor_close(&room->monitor);
    if (room->socket != NULL) {
        (void)zmq_close(room->socket);
    }
    tl_zap_close(&room->zap);
    assert_int_equal(zmq_ctx_term(room->ctx), 0);
    assert_int_equal(zmq_ctx_term(room->other_ctx), 0);
    free(room->config);
    free(room->table);
    free(room);
    return 0;
}

static void
open_server(struct room *room, enum tl_server_role role)
{
    char why[TL_TEXT_CAP] = "";

    assert_int_equal(tl_server_open(room->ctx, role, room->bus.secret_z85, &room->socket, why),
                     TL_OK);
    assert_int_equal(tl_monitor_open(room->ctx, room->socket, "inproc://watch", &room->monitor),
                     TL_OK);
}

static enum tl_err
run_self_test(struct room *room, enum tl_server_role role, uint64_t timeout_ms, char *why)
{
    const struct tl_self_test test = {
        .zmq_ctx = room->ctx,
        .zap = room->zap,
        .monitor = &room->monitor,
        .socket = room->socket,
        .role = role,
        .curve_public = room->bus.public_z85,
        .timeout_ms = timeout_ms,
    };

    return tl_self_test_run(&test, why);
}

static void
expect_sound(struct room *room, enum tl_server_role role)
{
    char why[TL_TEXT_CAP] = "";
    char rest[8];

    assert_int_equal(tl_zap_open(room->ctx, room->table, &room->zap), TL_OK);
    open_server(room, role);
    if (run_self_test(room, role, LONG_MS, why) != TL_OK) {
        fail_msg("%s", why);
    }
    assert_int_equal(tl_monitor_connections(&room->monitor), 0);
    assert_int_equal(room->monitor.counts.failed, 0);
    assert_int_equal(zmq_recv(room->socket, rest, sizeof rest, ZMQ_DONTWAIT), -1);
}

static void
a_sound_ingress_passes_and_leaves_nothing_behind(void **state)
{
    expect_sound(*state, TL_SERVER_INGRESS);
}

static void
a_sound_egress_passes_and_leaves_nothing_behind(void **state)
{
    expect_sound(*state, TL_SERVER_EGRESS);
}

/* ---- defects ---- */

static void
set_number(void *socket, int option, int value)
{
    assert_int_equal(zmq_setsockopt(socket, option, &value, sizeof value), 0);
}

/* A handler that lets everyone in under one name, until its context is shut down. */
static void *
run_gullible_handler(void *ctx)
{
    void *rep = zmq_socket(ctx, ZMQ_REP);
    char bytes[256];
    int more;
    size_t more_len = sizeof more;

    (void)zmq_bind(rep, TL_ZAP_ENDPOINT);
    while (zmq_recv(rep, bytes, sizeof bytes, 0) >= 0) {
        for (more = 1; more;) {
            (void)zmq_recv(rep, bytes, sizeof bytes, 0);
            (void)zmq_getsockopt(rep, ZMQ_RCVMORE, &more, &more_len);
        }
        (void)zmq_send(rep, "1.0", 3, ZMQ_SNDMORE);
        (void)zmq_send(rep, "1", 1, ZMQ_SNDMORE);
        (void)zmq_send(rep, "200", 3, ZMQ_SNDMORE);
        (void)zmq_send(rep, "", 0, ZMQ_SNDMORE);
        (void)zmq_send(rep, "self-test/0", 11, ZMQ_SNDMORE);
        (void)zmq_send(rep, "", 0, 0);
    }
    (void)zmq_close(rep);
    return NULL;
}

enum handler {
    HANDLER_HERE,
    HANDLER_ELSEWHERE,
    HANDLER_GULLIBLE
};

struct defect {
    const char *name;
    enum handler handler;
    bool null_mechanism;
    bool not_enforced;
    const char *domain; /* NULL = as it should be */
    bool other_server_key;
};

static const struct defect NO_DEFECT = {.name = "none"};
static const struct defect DEFECTS[] = {
    {.name = "no domain", .domain = ""},
    {.name = "no domain, not enforced", .domain = "", .not_enforced = true},
    {.name = "other domain", .domain = "bus2"},
    {.name = "no handler", .handler = HANDLER_ELSEWHERE},
    {.name = "no handler, not enforced", .handler = HANDLER_ELSEWHERE, .not_enforced = true},
    {.name = "handler that lets all in", .handler = HANDLER_GULLIBLE},
    {.name = "no CURVE", .null_mechanism = true},
    {.name = "no CURVE, no domain", .null_mechanism = true, .not_enforced = true, .domain = ""},
    {.name = "another server key", .other_server_key = true},
};

/* Built by hand: a domain that was set once cannot be taken away. */
static void
open_defect(struct room *room, enum tl_server_role role, const struct defect *defect)
{
    const char *domain = defect->domain != NULL ? defect->domain : TL_ZAP_DOMAIN;

    room->socket = zmq_socket(room->ctx, role == TL_SERVER_INGRESS ? ZMQ_SUB : ZMQ_XPUB);
    assert_non_null(room->socket);
    set_number(room->socket, ZMQ_LINGER, 0);
    if (!defect->null_mechanism) {
        set_number(room->socket, ZMQ_CURVE_SERVER, 1);
        assert_int_equal(
            zmq_setsockopt(room->socket, ZMQ_CURVE_SECRETKEY, room->bus.secret_z85, 41), 0);
    }
    set_number(room->socket, TL_ZMQ_ENFORCE_DOMAIN, defect->not_enforced ? 0 : 1);
    if (domain[0] != '\0') {
        assert_int_equal(zmq_setsockopt(room->socket, ZMQ_ZAP_DOMAIN, domain, strlen(domain)), 0);
    }
    if (role == TL_SERVER_INGRESS) {
        assert_int_equal(zmq_setsockopt(room->socket, ZMQ_SUBSCRIBE, "", 0), 0);
    }
    if (defect->other_server_key) {
        people_key("bus-b", 1, &room->bus); /* what clients are told */
    }
    assert_int_equal(tl_monitor_open(room->ctx, room->socket, "inproc://watch", &room->monitor),
                     TL_OK);
}

static void
expect_caught(const struct defect *defect, enum tl_server_role role)
{
    void *state = NULL;
    struct room *room;
    pthread_t gullible = pthread_self();
    char why[TL_TEXT_CAP] = "";
    void *zap_ctx;

    assert_int_equal(set_up(&state), 0);
    room = state;
    zap_ctx = defect->handler == HANDLER_HERE ? room->ctx : room->other_ctx;
    assert_int_equal(tl_zap_open(zap_ctx, room->table, &room->zap), TL_OK);
    if (defect->handler == HANDLER_GULLIBLE) {
        assert_int_equal(pthread_create(&gullible, NULL, run_gullible_handler, room->ctx), 0);
    }
    open_defect(room, role, defect);
    if (run_self_test(room, role, SHORT_MS, why) != TL_REFUSED) {
        fail_msg("%s passed (%s)", defect->name, why);
    }
    assert_int_equal(strncmp(why, "self-test: ", 11), 0);
    if (defect->handler == HANDLER_GULLIBLE) {
        tl_monitor_close(&room->monitor);
        (void)zmq_close(room->socket);
        room->socket = NULL;
        assert_int_equal(zmq_ctx_shutdown(room->ctx), 0);
        assert_int_equal(pthread_join(gullible, NULL), 0);
    }
    assert_int_equal(tear_down(&state), 0);
}

static void
every_defect_that_lets_a_stranger_in_is_caught(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof DEFECTS / sizeof DEFECTS[0]; i++) {
        expect_caught(&DEFECTS[i], TL_SERVER_INGRESS);
        expect_caught(&DEFECTS[i], TL_SERVER_EGRESS);
    }
}

/* So that each refusal above is owed to its defect. */
static void
the_same_socket_without_a_defect_passes(void **state)
{
    struct room *room = *state;
    char why[TL_TEXT_CAP] = "";

    assert_int_equal(tl_zap_open(room->ctx, room->table, &room->zap), TL_OK);
    open_defect(room, TL_SERVER_INGRESS, &NO_DEFECT);
    assert_int_equal(run_self_test(room, TL_SERVER_INGRESS, LONG_MS, why), TL_OK);
}

/* ---- binding ---- */

/* A listening socket on a free port of loopback below the ephemeral range; returns the port. */
static int
hold_a_port(int *held)
{
    for (int port = 21000; port < 32000; port++) {
        struct sockaddr_in address = {.sin_family = AF_INET, .sin_port = htons((uint16_t)port)};
        address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
        *held = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
        assert_true(*held >= 0);
        if (bind(*held, (struct sockaddr *)&address, sizeof address) == 0 &&
            listen(*held, 1) == 0) {
            return port;
        }
        (void)close(*held);
    }
    fail_msg("no free port");
    return 0;
}

static void
a_port_in_use_is_named_with_what_to_do(void **state)
{
    struct room *room = *state;
    char endpoint[TL_ENDPOINT_CAP];
    char expected[TL_TEXT_CAP];
    char why[TL_TEXT_CAP] = "";
    int held;

    (void)snprintf(endpoint, sizeof endpoint, "tcp://127.0.0.1:%d", hold_a_port(&held));
    open_server(room, TL_SERVER_INGRESS);
    assert_int_equal(tl_server_bind(room->socket, endpoint, why), TL_EXISTS);
    (void)snprintf(expected, sizeof expected,
                   "%s is in use by another program: stop that one, or change bus.yaml", endpoint);
    assert_string_equal(why, expected);
    (void)close(held);
}

static void
an_address_of_another_host_is_refused(void **state)
{
    struct room *room = *state;
    char why[TL_TEXT_CAP] = "";

    open_server(room, TL_SERVER_EGRESS);
    /* RFC 5737: 192.0.2.0/24 is for documentation and on no host. */
    assert_int_equal(tl_server_bind(room->socket, "tcp://192.0.2.1:21000", why), TL_IO);
    assert_non_null(strstr(why, "192.0.2.1:21000 is not an address of this host"));
}

static void
old_libraries_and_those_without_curve_are_refused(void **state)
{
    (void)state;
    assert_true(tl_server_library_is_usable(4, 3, 4, true));
    assert_true(tl_server_library_is_usable(4, 3, 5, true));
    assert_true(tl_server_library_is_usable(5, 0, 0, true));
    assert_false(tl_server_library_is_usable(4, 3, 4, false));
    assert_false(tl_server_library_is_usable(4, 3, 3, true));
    assert_false(tl_server_library_is_usable(4, 2, 9, true));
    assert_false(tl_server_library_is_usable(3, 9, 9, true));
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_sound_ingress_passes_and_leaves_nothing_behind, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(a_sound_egress_passes_and_leaves_nothing_behind, set_up,
                                        tear_down),
        cmocka_unit_test(every_defect_that_lets_a_stranger_in_is_caught),
        cmocka_unit_test_setup_teardown(the_same_socket_without_a_defect_passes, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_port_in_use_is_named_with_what_to_do, set_up, tear_down),
        cmocka_unit_test_setup_teardown(an_address_of_another_host_is_refused, set_up, tear_down),
        cmocka_unit_test(old_libraries_and_those_without_curve_are_refused),
    };

    return cmocka_run_group_tests_name("server", tests, NULL, NULL);
}
