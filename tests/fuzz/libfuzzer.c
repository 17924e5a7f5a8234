/* SPDX-License-Identifier: Apache-2.0 */
/* libfuzzer.c - a target as libFuzzer calls it; its own main has the options. */
#include "tests/fuzz/fuzz.h"

/* Names of the library's. */
int LLVMFuzzerInitialize(int *argc, char ***argv);
int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len);

static void *
world_of(void)
{
    static void *world;
    static bool is_open;

    world = is_open ? world : fuzz_open();
    is_open = true;
    return world;
}

/* So that no input is charged with the opening. */
int
LLVMFuzzerInitialize(int *argc, char ***argv)
{
    (void)argc;
    (void)argv;
    (void)world_of();
    return 0;
}

int
LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
    fuzz_take(world_of(), bytes, len);
    return 0;
}
