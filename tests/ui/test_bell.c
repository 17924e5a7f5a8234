/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_bell - what of the alerts is told, and when
 *
 * 30 s: a temporarily silenced alarm sounds again if it is not acknowledged, IMO MSC.252(83)
 * 20.2.5. States: ISA-18.2.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/ui/bell.h"

enum {
    HERE = 3, /* place of this station */
    OTHER = 5,
    START_MS = 500000
};

struct heard {
    struct tl_bell bell;
    char told[512]; /* "raised 1, gone 1": since the last look */
};

static void
hear_edge(void *ctx, enum tl_bell_edge edge, const struct tl_belled *entry)
{
    static const char *const words[] = {"none",         "raised", "again",   "graver",
                                        "acknowledged", "gone",   "computed"};
    struct heard *heard = ctx;
    size_t used = strlen(heard->told);
    (void)snprintf(heard->told + used, sizeof heard->told - used, "%s%s %u", used > 0 ? ", " : "",
                   words[edge], entry->number);
}

static struct heard *
listen(int place)
{
    struct heard *heard = calloc(1, sizeof *heard);
    assert_non_null(heard);
    tl_bell_init(&heard->bell, place, hear_edge, heard);
    return heard;
}

/* The set that is listed at that moment; exactly these edges. */
static void
expect(struct heard *heard, const struct tl_alert *alerts, uint32_t count, uint64_t now_ms,
       const char *told)
{
    heard->told[0] = '\0';
    tl_bell_take(&heard->bell, alerts, count, now_ms);
    assert_string_equal(heard->told, told);
}

static struct tl_alert
alert_of(uint32_t rule, uint32_t owed)
{
    struct tl_alert alert = {.cause = {.rule = rule, .state = TL_CAUSE_WRONG},
                             .severity = TL_SEVERITY_WARNING,
                             .state = TL_ALERT_UNACKNOWLEDGED,
                             .owed = owed};
    return alert;
}

static void
an_owed_alert_sounds_again_each_thirty_seconds_until_acknowledged(void **state)
{
    (void)state;
    struct heard *heard = listen(HERE);
    struct tl_alert alert = alert_of(9, 1u << HERE | 1u << OTHER);
    expect(heard, &alert, 1, START_MS, "raised 1");
    expect(heard, &alert, 1, START_MS + 29999, "");
    expect(heard, &alert, 1, START_MS + 30000, "again 1");
    expect(heard, &alert, 1, START_MS + 59999, "");
    expect(heard, &alert, 1, START_MS + 60000, "again 1");
    alert.acknowledged = 1u << HERE;
    alert.raised_age_ms = 90000;
    expect(heard, &alert, 1, START_MS + 90000, "again 1"); /* once: the other has not answered */
    expect(heard, &alert, 1, START_MS + 200000, "");
    alert.acknowledged |= 1u << OTHER;
    alert.state = TL_ALERT_ACKNOWLEDGED;
    expect(heard, &alert, 1, START_MS + 200001, "acknowledged 1");
    expect(heard, &alert, 1, START_MS + 900000, "");
    free(heard);
}

/* Its acknowledgement lapsed, or the station that gave it has forgotten it: it is owed anew. */
static void
an_alert_that_is_owed_again_sounds_again(void **state)
{
    (void)state;
    struct heard *heard = listen(HERE);
    struct tl_alert alert = alert_of(9, 1u << HERE | 1u << OTHER);
    expect(heard, &alert, 1, START_MS, "raised 1");
    alert.acknowledged = 1u << HERE;
    alert.raised_age_ms = 60000;
    expect(heard, &alert, 1, START_MS + 60000, "again 1"); /* for the last time */
    alert.acknowledged = 0;
    alert.raised_age_ms = 70000;
    expect(heard, &alert, 1, START_MS + 70000, "again 1");
    expect(heard, &alert, 1, START_MS + 99999, "");
    expect(heard, &alert, 1, START_MS + 100000, "again 1");
    free(heard);
}

/* It had been there for 20 s when this screen first heard of it. */
static void
the_thirty_seconds_count_from_when_it_was_raised(void **state)
{
    (void)state;
    struct heard *heard = listen(HERE);
    struct tl_alert alert = alert_of(9, 1u << HERE);
    alert.raised_age_ms = 20000;
    expect(heard, &alert, 1, START_MS, "raised 1");
    expect(heard, &alert, 1, START_MS + 9999, "");
    expect(heard, &alert, 1, START_MS + 10000, "again 1");
    free(heard);
}

static void
others_are_told_once_after_a_minute(void **state)
{
    (void)state;
    int places[] = {OTHER, -1};
    for (size_t i = 0; i < 2; i++) {
        struct heard *heard = listen(places[i]);
        struct tl_alert alert = alert_of(9, 1u << HERE);
        expect(heard, &alert, 1, START_MS, "raised 1");
        alert.raised_age_ms = 59999;
        expect(heard, &alert, 1, START_MS + 59999, "");
        alert.raised_age_ms = 60000;
        expect(heard, &alert, 1, START_MS + 60000, "again 1");
        alert.raised_age_ms = 600000;
        expect(heard, &alert, 1, START_MS + 600000, "");
        free(heard);
    }
}

static void
an_alert_that_returns_is_gone_and_may_be_raised_again(void **state)
{
    (void)state;
    struct heard *heard = listen(HERE);
    struct tl_alert alert = alert_of(9, 1u << HERE);
    expect(heard, &alert, 1, START_MS, "raised 1");
    alert.state = TL_ALERT_RETURNED;
    expect(heard, &alert, 1, START_MS + 1, "gone 1");
    expect(heard, &alert, 1, START_MS + 60000, ""); /* silent, though not acknowledged */
    alert.state = TL_ALERT_UNACKNOWLEDGED;
    expect(heard, &alert, 1, START_MS + 60001, "raised 1");
    expect(heard, NULL, 0, START_MS + 60002, "gone 1");
    expect(heard, NULL, 0, START_MS + 60003, "");
    expect(heard, &alert, 1, START_MS + 60004, "raised 2"); /* a number is never used again */
    alert.state = TL_ALERT_RETURNED;
    expect(heard, &alert, 1, START_MS + 60005, "gone 2");
    expect(heard, NULL, 0, START_MS + 60006, ""); /* told already */
    free(heard);
}

/* It came and went while no validator was heard here, or before this program was started. */
static void
one_that_has_returned_before_it_was_shown_is_told_once(void **state)
{
    (void)state;
    struct heard *heard = listen(HERE);
    struct tl_alert alert = alert_of(9, 1u << HERE);
    alert.state = TL_ALERT_RETURNED;
    expect(heard, &alert, 1, START_MS, "gone 1");
    expect(heard, &alert, 1, START_MS + 60000, "");
    alert.state = TL_ALERT_UNACKNOWLEDGED;
    expect(heard, &alert, 1, START_MS + 60001, "raised 1");
    expect(heard, NULL, 0, START_MS + 60002, "gone 1");
    free(heard);
}

/* The alert was out before the mechanics had answered; then their answer is told, once. */
static void
what_a_wrong_setting_would_do_is_told_when_it_is_known(void **state)
{
    (void)state;
    struct heard *heard = listen(HERE);
    struct tl_alert alert = alert_of(4, 1u << HERE);
    expect(heard, &alert, 1, START_MS, "raised 1");
    alert.cause.would = (struct tl_would){.set_lb = 34000, .bottoms = true};
    expect(heard, &alert, 1, START_MS + 10, "computed 1");
    alert.cause.would.hook_lbf = 90000;
    expect(heard, &alert, 1, START_MS + 20, "");
    alert.state = TL_ALERT_RETURNED;
    alert.cause.would.set_lb = 0;
    expect(heard, &alert, 1, START_MS + 30, "gone 1");
    alert.cause.would.set_lb = 34000;
    expect(heard, &alert, 1, START_MS + 40, "");
    free(heard);
    heard = listen(HERE);
    alert.state = TL_ALERT_UNACKNOWLEDGED;
    expect(heard, &alert, 1, START_MS, "raised 1"); /* known from the start: told with it */
    expect(heard, &alert, 1, START_MS + 1, "");
    free(heard);
}

static void
a_graver_severity_is_told(void **state)
{
    (void)state;
    struct heard *heard = listen(HERE);
    struct tl_alert alert = alert_of(9, 1u << HERE);
    expect(heard, &alert, 1, START_MS, "raised 1");
    alert.severity = TL_SEVERITY_ALARM;
    expect(heard, &alert, 1, START_MS + 1, "graver 1");
    expect(heard, &alert, 1, START_MS + 2, "");
    alert.severity = TL_SEVERITY_WARNING;
    expect(heard, &alert, 1, START_MS + 3, "");
    free(heard);
}

static void
alerts_are_told_each_by_itself(void **state)
{
    (void)state;
    struct heard *heard = listen(HERE);
    struct tl_alert alerts[2] = {alert_of(9, 1u << HERE), alert_of(10, 1u << OTHER)};
    expect(heard, alerts, 2, START_MS, "raised 1, raised 2");
    expect(heard, &alerts[1], 1, START_MS + 30000, "gone 1");
    assert_null(tl_bell_numbered(&heard->bell, 1));
    assert_int_equal(tl_bell_numbered(&heard->bell, 2)->alert.cause.rule, 10);
    expect(heard, alerts, 2, START_MS + 30001, "raised 3");
    free(heard);
}

static void
a_full_set_is_told_whole(void **state)
{
    (void)state;
    struct heard *heard = listen(HERE);
    struct tl_alert *alerts = calloc(TL_ALERTS_MAX, sizeof *alerts);
    assert_non_null(alerts);
    for (uint32_t i = 0; i < TL_ALERTS_MAX; i++) {
        alerts[i] = alert_of(9, 0);
        alerts[i].state = TL_ALERT_ACKNOWLEDGED;
        alerts[i].cause.subject.sequence = i + 1;
    }
    tl_bell_take(&heard->bell, alerts, TL_ALERTS_MAX, START_MS);
    assert_int_equal(heard->bell.count, TL_ALERTS_MAX);
    assert_int_equal(heard->bell.last_number, TL_ALERTS_MAX);
    expect(heard, alerts, TL_ALERTS_MAX, START_MS + 1, "");
    free(alerts);
    free(heard);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_owed_alert_sounds_again_each_thirty_seconds_until_acknowledged),
        cmocka_unit_test(an_alert_that_is_owed_again_sounds_again),
        cmocka_unit_test(the_thirty_seconds_count_from_when_it_was_raised),
        cmocka_unit_test(others_are_told_once_after_a_minute),
        cmocka_unit_test(an_alert_that_returns_is_gone_and_may_be_raised_again),
        cmocka_unit_test(one_that_has_returned_before_it_was_shown_is_told_once),
        cmocka_unit_test(what_a_wrong_setting_would_do_is_told_when_it_is_known),
        cmocka_unit_test(a_graver_severity_is_told),
        cmocka_unit_test(alerts_are_told_each_by_itself),
        cmocka_unit_test(a_full_set_is_told_whole),
    };
    return cmocka_run_group_tests_name("ui_bell", tests, NULL, NULL);
}
