/* SPDX-License-Identifier: Apache-2.0 */
/*
 * trapline-broker - runs one bus (see relay.h)
 *
 * Start: configuration (-n ends here), identity, the number of this life, sockets and their test,
 * the line "ready", the loop. After that line nothing is written to disk.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <unistd.h>

#include <sodium.h>
#include <zmq.h>

#include "broker/access/server.h"
#include "broker/relay/options.h"
#include "broker/relay/relay.h"
#include "proto/base/clock.h"
#include "proto/base/conf.h"
#include "proto/base/log.h"
#include "proto/base/signals.h"
#include "proto/link/identity.h"
#include "proto/link/incarnation.h"

enum {
    EXIT_WORLD = 1,
    EXIT_USAGE = 64,
    EXIT_CONFIG = 78
};
/* 256 nodes on two sockets, the library's own, and room for strangers until they are turned away. */
enum {
    OPEN_FILES = 4096
};

struct program {
    struct tl_relay_options options;
    struct tl_config config;
    const struct tl_bus *bus;
    struct tl_access access;
    struct tl_identity identity;
    uint64_t incarnation;
    struct tl_notify notify;
    int signal_fd;
    struct tl_metrics *metrics;
    struct tl_relay *relay;
};

static int
complain(int status, const char *what)
{
    tl_log_fault("trapline-broker: %s", what);
    return status;
}

/* ---- configuration ---- */

static int
find_bus(struct program *program)
{
    for (uint32_t i = 0; i < program->config.bus_count; i++) {
        if (strcmp(program->config.bus[i].id, program->options.bus) == 0) {
            program->bus = &program->config.bus[i];
            return 0;
        }
    }
    return complain(EXIT_CONFIG, "bus.yaml has no bus of the id given with --bus");
}

static int
configure(struct program *program)
{
    struct tl_conf_fault fault;
    char why[TL_TEXT_CAP];
    int status;

    if (tl_conf_load(program->options.dir, &program->config, &fault) != TL_OK) {
        tl_conf_print_fault(&fault);
        return EXIT_CONFIG;
    }
    status = find_bus(program);
    if (status == 0 &&
        tl_access_build(&program->config, &program->access, why, sizeof why) != TL_OK) {
        tl_log_fault("keys.yaml: %s", why);
        status = EXIT_CONFIG;
    }
    return status;
}

/* ---- what the bus needs of this host ---- */

static int
check_libraries(void)
{
    int major;
    int minor;
    int patch;

    zmq_version(&major, &minor, &patch);
    if (!tl_server_library_is_usable(major, minor, patch, zmq_has("curve") == 1)) {
        return complain(EXIT_WORLD, "libzmq is too old or has no CURVE: install 4.3.4 or later");
    }
    if (sodium_init() < 0) {
        return complain(EXIT_WORLD, "libsodium does not start: no source of random numbers");
    }
    return 0;
}

/* Before any thread exists, so that all have the signals blocked. */
static int
open_signals(struct program *program)
{
    tl_notify_open(&program->notify);
    program->signal_fd = tl_signals_open();
    return program->signal_fd >= 0 ? 0 : complain(EXIT_WORLD, "cannot read signals");
}

/* Best effort: the system may allow less, and the bus runs all the same. */
static void
set_limits(void)
{
    struct rlimit files;
    const struct rlimit none = {0, 0};

    if (getrlimit(RLIMIT_NOFILE, &files) == 0 && files.rlim_cur < OPEN_FILES) {
        files.rlim_cur = files.rlim_max < OPEN_FILES ? files.rlim_max : OPEN_FILES;
        (void)setrlimit(RLIMIT_NOFILE, &files);
    }
    (void)setrlimit(RLIMIT_CORE, &none); /* a core would hold secret keys */
    (void)prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0);
}

static int
open_node(struct program *program)
{
    char why[2 * TL_PATH_CAP]; /* names a file */
    enum tl_err err = tl_metrics_open(program->options.metrics, &program->metrics, why, sizeof why);
    if (err != TL_OK) {
        return complain(err == TL_BADARG ? EXIT_USAGE : EXIT_WORLD, why);
    }

    if (tl_identity_open(&program->config, program->bus->id, 0, &program->identity, why,
                         sizeof why) != TL_OK) {
        return complain(EXIT_CONFIG, why);
    }
    if (tl_incarnation_take(program->config.state_dir, program->bus->id,
                            program->options.incarnation_above, tl_clock_wall_ms(),
                            &program->incarnation, why, sizeof why) != TL_OK) {
        return complain(EXIT_WORLD, why);
    }
    return 0;
}

static int
open_relay(struct program *program)
{
    const struct tl_relay_start start = {
        .config = &program->config,
        .bus = program->bus,
        .access = &program->access,
        .identity = &program->identity,
        .incarnation = program->incarnation,
        .metrics = program->metrics,
        .notify = &program->notify,
        .signal_fd = program->signal_fd,
    };
    char why[TL_TEXT_CAP];

    if (tl_relay_open(&start, &program->relay, why) != TL_OK) {
        tl_log_fault("trapline-broker: %s: %s", program->bus->id, why);
        return EXIT_WORLD;
    }
    return 0;
}

static int
serve(struct program *program)
{
    (void)printf("trapline-broker: %s ready on %s %s\n", program->bus->id, program->bus->ingress,
                 program->bus->egress);
    (void)fflush(stdout);
    tl_notify_ready(&program->notify, "serves");
    return tl_relay_run(program->relay) == TL_OK
               ? 0
               : complain(EXIT_WORLD, "the message library failed; start again");
}

static int
run(struct program *program)
{
    int status = check_libraries();

    if (status == 0) {
        status = configure(program);
    }
    if (status == 0 && program->options.check_only) {
        (void)puts("configuration OK");
        return 0;
    }
    if (status == 0) {
        status = open_signals(program);
    }
    if (status == 0) {
        set_limits();
        status = open_node(program);
    }
    if (status == 0) {
        status = open_relay(program);
    }
    return status == 0 ? serve(program) : status;
}

int
main(int argc, char **argv)
{
    struct program *program = calloc(1, sizeof *program);
    char why[TL_TEXT_CAP];
    int status;

    if (program == NULL) {
        return complain(EXIT_WORLD, "no memory");
    }
    program->signal_fd = -1;
    if (tl_relay_options_read(argc, argv, &program->options, why) != TL_OK) {
        status = complain(EXIT_USAGE, why);
    } else if (program->options.help) {
        status = fputs(tl_relay_help, stdout) < 0 ? EXIT_WORLD : 0;
    } else {
        status = run(program);
    }
    tl_notify_close(&program->notify);
    tl_relay_close(&program->relay);
    tl_metrics_close(&program->metrics);
    tl_identity_close(&program->identity);
    if (program->signal_fd >= 0) {
        (void)close(program->signal_fd);
    }
    free(program);
    return status;
}
