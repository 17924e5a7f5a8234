/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_err - every error has words of its own
 */
#include <errno.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "proto/base/err.h"

static const enum tl_err all[] = {TL_OK,        TL_EMPTY,   TL_AGAIN, TL_BADARG,   TL_FULL,
                                  TL_MALFORMED, TL_REFUSED, TL_STALE, TL_NOTFOUND, TL_EXISTS,
                                  TL_PERM,      TL_IO,      TL_NOMEM, TL_CONFIG};

#define ALL_COUNT (sizeof all / sizeof all[0])

static void
err_ok_is_zero_and_values_are_dense(void **state)
{
    (void)state;
    for (size_t i = 0; i < ALL_COUNT; i++) {
        assert_int_equal(all[i], i);
    }
}

static void
err_each_value_has_words_of_its_own(void **state)
{
    (void)state;
    for (size_t i = 0; i < ALL_COUNT; i++) {
        assert_string_not_equal(tl_err_text(all[i]), "unknown error");
        for (size_t j = 0; j < i; j++) {
            assert_string_not_equal(tl_err_text(all[i]), tl_err_text(all[j]));
        }
    }
}

static void
err_value_outside_the_enumeration_has_words(void **state)
{
    (void)state;
    assert_string_equal(tl_err_text((enum tl_err)ALL_COUNT), "unknown error");
    assert_string_equal(tl_err_text((enum tl_err)0x7FFFFFFF), "unknown error");
}

static void
err_of_errno_names_absence_rights_and_room(void **state)
{
    (void)state;
    assert_int_equal(tl_err_of_errno(ENOENT), TL_NOTFOUND);
    assert_int_equal(tl_err_of_errno(EACCES), TL_PERM);
    assert_int_equal(tl_err_of_errno(EPERM), TL_PERM);
    assert_int_equal(tl_err_of_errno(EROFS), TL_PERM);
    assert_int_equal(tl_err_of_errno(ENOSPC), TL_FULL);
    assert_int_equal(tl_err_of_errno(EDQUOT), TL_FULL);
    assert_int_equal(tl_err_of_errno(EIO), TL_IO);
    assert_int_equal(tl_err_of_errno(0), TL_IO);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(err_of_errno_names_absence_rights_and_room),
        cmocka_unit_test(err_ok_is_zero_and_values_are_dense),
        cmocka_unit_test(err_each_value_has_words_of_its_own),
        cmocka_unit_test(err_value_outside_the_enumeration_has_words),
    };

    return cmocka_run_group_tests_name("err", tests, NULL, NULL);
}
