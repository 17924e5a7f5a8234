/* SPDX-License-Identifier: Apache-2.0 */
/* test_trace - a row for what changed, none for what is only said again */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "broker/recorder/trace.h"

struct bench {
    struct tl_trace trace;
    struct tl_envelope envelope;
    struct tl_alert_step steps[TL_ALERT_STEPS_MAX];
};

static struct tl_envelope *
next_of(struct bench *bench, const char *validator)
{
    (void)snprintf(bench->envelope.node, TL_ID_CAP, "%s", validator);
    bench->envelope.incarnation = 1;
    bench->envelope.sequence++;
    return &bench->envelope;
}

static int
setup(void **state)
{
    static struct bench bench;
    memset(&bench, 0, sizeof bench);
    tl_trace_init(&bench.trace);
    *state = &bench;
    return 0;
}

static bool
verdict(struct bench *bench, enum tl_word word, uint32_t rule)
{
    struct tl_envelope *envelope = next_of(bench, "validator-1");
    envelope->as.verdict.word = word;
    envelope->as.verdict.first.rule = rule;
    return tl_trace_verdict(&bench->trace, envelope);
}

static void
trace_counts_a_verdict_once_until_it_changes(void **state)
{
    struct bench *bench = *state;
    assert_true(verdict(bench, TL_WORD_NOT_READY, TL_RULE_DECK_FOUL));
    bench->envelope.as.verdict.tick = 9;
    assert_false(verdict(bench, TL_WORD_NOT_READY, TL_RULE_DECK_FOUL));
    assert_true(verdict(bench, TL_WORD_NOT_READY, TL_RULE_HOOK_NOT_DOWN));
    assert_true(verdict(bench, TL_WORD_READY, TL_RULE_NONE));
    bench->envelope.event = (struct tl_event){1, 2};
    assert_true(verdict(bench, TL_WORD_READY, TL_RULE_NONE));
    assert_false(verdict(bench, TL_WORD_READY, TL_RULE_NONE));
}

static void
trace_looks_at_station_and_state_of_the_first_cause(void **state)
{
    struct bench *bench = *state;
    struct tl_cause *first = &bench->envelope.as.verdict.first;
    assert_true(verdict(bench, TL_WORD_NOT_READY, TL_RULE_NOT_IN_BATTERY));
    (void)snprintf(first->station, TL_ID_CAP, "engine-2");
    assert_true(verdict(bench, TL_WORD_NOT_READY, TL_RULE_NOT_IN_BATTERY));
    first->state = TL_CAUSE_OVERDUE;
    assert_true(verdict(bench, TL_WORD_NOT_READY, TL_RULE_NOT_IN_BATTERY));
    assert_false(verdict(bench, TL_WORD_NOT_READY, TL_RULE_NOT_IN_BATTERY));
}

static void
trace_takes_no_older_frame(void **state)
{
    struct bench *bench = *state;
    assert_true(verdict(bench, TL_WORD_NOT_READY, TL_RULE_DECK_FOUL));
    assert_true(verdict(bench, TL_WORD_READY, TL_RULE_NONE));
    bench->envelope.sequence = 0;
    assert_false(verdict(bench, TL_WORD_NOT_READY, TL_RULE_DECK_FOUL));
    bench->envelope.sequence = 2;
    assert_false(verdict(bench, TL_WORD_READY, TL_RULE_NONE)); /* READY is still the last */
}

static void
trace_keeps_validators_apart(void **state)
{
    struct bench *bench = *state;
    assert_true(verdict(bench, TL_WORD_NOT_READY, TL_RULE_DECK_FOUL));
    assert_true(tl_trace_verdict(&bench->trace, next_of(bench, "validator-2")));
    assert_false(tl_trace_verdict(&bench->trace, next_of(bench, "validator-2")));
    assert_false(verdict(bench, TL_WORD_NOT_READY, TL_RULE_DECK_FOUL));
}

static uint32_t
alerts(struct bench *bench, uint32_t count, const uint32_t *rules)
{
    struct tl_envelope *envelope = next_of(bench, "validator-1");
    envelope->as.alerts.alert_count = count;
    for (uint32_t i = 0; i < count; i++) {
        envelope->as.alerts.alert[i] = (struct tl_alert){.cause = {.rule = rules[i]}};
    }
    return tl_trace_alerts(&bench->trace, envelope, bench->steps);
}

static void
trace_tells_alerts_raised_and_gone(void **state)
{
    struct bench *bench = *state;
    static const uint32_t rules[] = {TL_RULE_DECK_FOUL, TL_RULE_BUS_DEGRADED};
    assert_int_equal(alerts(bench, 2, rules), 2);
    assert_true(bench->steps[0].raised);
    assert_int_equal(alerts(bench, 2, rules), 0);
    assert_int_equal(alerts(bench, 1, rules + 1), 1);
    assert_false(bench->steps[0].raised);
    assert_int_equal(bench->steps[0].alert.cause.rule, TL_RULE_DECK_FOUL);
    assert_int_equal(alerts(bench, 0, NULL), 1);
    assert_int_equal(alerts(bench, 0, NULL), 0);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(trace_counts_a_verdict_once_until_it_changes, setup),
        cmocka_unit_test_setup(trace_looks_at_station_and_state_of_the_first_cause, setup),
        cmocka_unit_test_setup(trace_takes_no_older_frame, setup),
        cmocka_unit_test_setup(trace_keeps_validators_apart, setup),
        cmocka_unit_test_setup(trace_tells_alerts_raised_and_gone, setup),
    };
    return cmocka_run_group_tests_name("trace", tests, NULL, NULL);
}
