/* SPDX-License-Identifier: Apache-2.0 */
/*
 * clerk - the work of the crash tests as a process of its own, to be killed
 *
 *     recorder_clerk PATH SEED TURNS
 *
 * Prints "key NODE EPOCH HEX", by which its seals are signed; each mark that it tells, "covered NODE
 * INCARNATION THROUGH", after its commit; and "done" at its end. Started again it does the same work on the same file: what is there stays as it is.
 */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

#include "tests/recorder/work.h"

enum {
    EXIT_USAGE = 64,
    BASE = 10
};

static uint32_t
print_told(const struct work *work, uint32_t from)
{
    for (; from < work->told_count; from++) {
        const struct work_told *told = &work->told[from];
        (void)printf("covered %s %" PRIu64 " %" PRIu64 "\n", row_stations[told->station],
                     (uint64_t)ROW_INCARNATION + told->life, told->through);
    }
    (void)fflush(stdout);
    return from;
}

int
main(int argc, char **argv)
{
    static struct work work;
    if (argc != 4) {
        (void)fprintf(stderr, "usage: recorder_clerk PATH SEED TURNS\n");
        return EXIT_USAGE;
    }
    work_init(&work, strtoull(argv[2], NULL, BASE), argv[1]);
    uint32_t turns = (uint32_t)strtoul(argv[3], NULL, BASE);
    (void)printf("key %s %" PRIu32 " ", work.identity.node, work.identity.epoch);
    for (size_t i = 0; i < sizeof work.identity.identity; i++) {
        (void)printf("%02x", work.identity.identity[i]);
    }
    (void)printf("\n");
    work_open(&work);
    uint32_t printed = print_told(&work, 0);
    for (uint32_t i = 0; i < turns; i++) {
        work_turn(&work);
        printed = print_told(&work, printed);
    }
    work_close(&work);
    (void)printf("done\n");
    return work.errors == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
