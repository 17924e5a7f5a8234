/* SPDX-License-Identifier: Apache-2.0 */
/* The table of rules: unique, worded, and the same as docs/rules.md. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "proto/base/file.h"
#include "proto/vocab/rules.h"

enum {
    DOC_MAX = 65536
};

static const char *
effect_name(enum tl_effect effect)
{
    return effect == TL_EFFECT_NOTE ? "note" : (effect == TL_EFFECT_HOLD ? "hold" : "force");
}

static void
every_rule_is_named_once_and_worded(void **state)
{
    (void)state;
    size_t count = 0;
    const struct tl_rule_row *rows = tl_rule_rows(&count);
    for (size_t i = 0; i < count; i++) {
        assert_true((unsigned)rows[i].rule > 0 && (unsigned)rows[i].rule < TL_RULES_MAX);
        assert_true(strlen(rows[i].short_text) > 0 && strlen(rows[i].short_text) <= 40);
        assert_int_equal(tl_rule_by_name(rows[i].name), rows[i].rule);
        assert_ptr_equal(tl_rule_row((uint32_t)rows[i].rule), &rows[i]);
        for (size_t k = 0; k < i; k++) {
            assert_string_not_equal(rows[i].name, rows[k].name);
            assert_string_not_equal(rows[i].short_text, rows[k].short_text);
            assert_int_not_equal(rows[i].rule, rows[k].rule);
        }
    }
    assert_int_equal(tl_rule_by_name("no-such-rule"), TL_RULE_NONE);
    assert_null(tl_rule_row(TL_RULES_MAX));
}

/* What must never be said, and what must never reach a terminal. */
static void
every_text_is_plain_and_promises_nothing(void **state)
{
    (void)state;
    size_t count = 0;
    const struct tl_rule_row *rows = tl_rule_rows(&count);
    for (size_t i = 0; i < count; i++) {
        for (int s = TL_CAUSE_UNKNOWN; s <= TL_CAUSE_NOTE; s++) {
            struct tl_cause cause = {.rule = (uint32_t)rows[i].rule,
                                     .station = "engine-3",
                                     .state = (enum tl_cause_state)s};
            char text[TL_TEXT_CAP];
            (void)tl_cause_text(&cause, (struct tl_event){1, 7}, text, sizeof text);
            assert_true(strlen(text) < TL_TEXT_CAP - 1);
            assert_non_null(strstr(text, "engine 3: "));
            for (size_t k = 0; text[k] != '\0'; k++) {
                assert_true(text[k] >= 0x20 && text[k] < 0x7f);
            }
            assert_null(strstr(text, "safe"));
            assert_null(strstr(text, "cleared"));
            assert_null(strstr(text, "land "));
        }
    }
}

static void
the_document_says_the_same_as_the_table(void **state)
{
    (void)state;
    const char *root = getenv("TL_SOURCE_DIR");
    char path[1024];
    char *doc = calloc(1, DOC_MAX);
    size_t len = 0;
    size_t count = 0;
    size_t listed = 0;
    const struct tl_rule_row *rows = tl_rule_rows(&count);
    assert_non_null(doc);
    (void)snprintf(path, sizeof path, "%s/docs/rules.md", root != NULL ? root : ".");
    assert_int_equal(tl_file_read(path, DOC_MAX - 1, doc, &len), TL_OK);
    for (size_t i = 0; i < count; i++) {
        char line[512];
        (void)snprintf(line, sizeof line, "\n| %d | %s | %s | %s | %s | %s | %s | ",
                       (int)rows[i].rule, rows[i].name, tl_severity_name(rows[i].severity),
                       effect_name(rows[i].effect),
                       rows[i].kind == TL_CAUSE_SHIP ? "ship" : "picture",
                       rows[i].transport ? "yes" : "no", rows[i].refuses_clear ? "yes" : "no");
        const char *at = strstr(doc, line);
        if (at == NULL) {
            fail_msg("docs/rules.md has no row%s...", line);
            break;
        }
        const char *end = strchr(at + 1, '\n');
        const char *basis = strstr(at, rows[i].basis);
        assert_true(basis != NULL && basis < end);
    }
    for (const char *at = strstr(doc, "\n| "); at != NULL; at = strstr(at + 1, "\n| ")) {
        listed += at[3] >= '0' && at[3] <= '9' ? 1 : 0;
    }
    assert_int_equal(listed, count);
    free(doc);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_rule_is_named_once_and_worded),
        cmocka_unit_test(every_text_is_plain_and_promises_nothing),
        cmocka_unit_test(the_document_says_the_same_as_the_table),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
