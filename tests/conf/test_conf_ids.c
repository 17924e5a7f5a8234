/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_conf_ids - an id that the configuration takes is one that the bus takes, and the reverse
 *
 * The two grammars are written twice, because proto/base cannot use the codec.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "proto/base/conf_value.h"
#include "proto/codec/codec.h"

static const char *const words[] = {
    "a",
    "0",
    "-",
    "a-",
    "-a",
    "a-b",
    "a--b",
    "abcdefghijklmno",
    "abcdefghijklmnop",
    "abcdefghijklmnopqrstuvw",
    "abcdefghijklmnopqrstuvwx",
    "A",
    "aB",
    "a.b",
    "a/b",
    "a b",
    "a_b",
    "\xc3\xa5",
    "engine-3",
    "3",
};

/* A file without entries: the fault is not of interest here, only whether there is one. */
static bool
conf_takes(const char *word, size_t cap)
{
    static struct tl_conf_file file;
    struct tl_conf_fault fault;
    char id[TL_ID_CAP];

    file.name = "stations.yaml";
    struct tl_conf_item item = tl_conf_item_of(&file, &fault, NULL, 0);
    return tl_conf_id((struct tl_conf_field){&item, "id", word}, id, cap) == TL_OK;
}

static void
conf_id_is_an_id_of_the_bus(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        bool taken = conf_takes(words[i], TL_ID_CAP);
        if (taken != tl_id_is_wellformed(words[i])) {
            fail_msg("\"%s\": the configuration %s it, the bus does not agree", words[i],
                     taken ? "takes" : "refuses");
        }
    }
}

/* One way only: the configuration takes no type that ends or begins with a hyphen. */
static void
conf_type_is_a_type_of_the_bus(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        if (conf_takes(words[i], TL_TYPE_CAP) && !tl_type_is_wellformed(words[i])) {
            fail_msg("type \"%s\" is taken, and is none on the bus", words[i]);
        }
    }
    assert_true(conf_takes("abcdefghijklmno", TL_TYPE_CAP));
    assert_false(conf_takes("abcdefghijklmnop", TL_TYPE_CAP));
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(conf_id_is_an_id_of_the_bus),
        cmocka_unit_test(conf_type_is_a_type_of_the_bus),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
