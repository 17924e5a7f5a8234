/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_page - what makes a page bad, and what a link counts of its beats
 *
 * Whether the text is OpenMetrics is for a parser that is not ours: test_form.py.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "proto/link/metrics.h"

struct room {
    struct tl_metrics_page page;
    struct tl_counts counts;
    struct tl_config config;
    struct tl_envelope envelope;
};

static int
set_up(void **state)
{
    struct room *room = calloc(1, sizeof *room);
    assert_non_null(room);
    tl_metrics_clear(&room->page);
    room->config.node_count = 2;
    (void)snprintf(room->config.node[0].id, TL_ID_CAP, "deck");
    (void)snprintf(room->config.node[1].id, TL_ID_CAP, "platform");
    *state = room;
    return 0;
}

static int
tear_down(void **state)
{
    free(*state);
    return 0;
}

static void
a_family_has_its_head_once_and_its_samples_together(void **state)
{
    struct room *room = *state;
    tl_metrics_put(&room->page, TL_METRIC_STATION_LIVE, "deck", 1);
    tl_metrics_put(&room->page, TL_METRIC_STATION_LIVE, "platform", 0);
    assert_true(tl_metrics_end(&room->page));
    assert_string_equal(room->page.text, "# TYPE trapline_station_live gauge\n"
                                         "# HELP trapline_station_live 1 while its beats count.\n"
                                         "trapline_station_live{node=\"deck\"} 1\n"
                                         "trapline_station_live{node=\"platform\"} 0\n"
                                         "# EOF\n");
}

static void
seconds_have_three_decimals_and_a_unit(void **state)
{
    struct room *room = *state;
    tl_metrics_put_ms(&room->page, TL_METRIC_UPTIME, NULL, 61007);
    assert_true(tl_metrics_end(&room->page));
    assert_non_null(strstr(room->page.text, "# UNIT trapline_uptime_seconds seconds\n"));
    assert_non_null(strstr(room->page.text, "\ntrapline_uptime_seconds 61.007\n"));
}

static void
a_sample_out_of_its_order_makes_the_page_bad(void **state)
{
    struct room *room = *state;
    tl_metrics_put(&room->page, TL_METRIC_CAUSES, NULL, 1);
    tl_metrics_put(&room->page, TL_METRIC_UPTIME, NULL, 1);
    assert_false(tl_metrics_end(&room->page));
}

static void
a_label_too_many_or_too_few_makes_the_page_bad(void **state)
{
    struct room *room = *state;
    tl_metrics_put(&room->page, TL_METRIC_CAUSES, "deck", 1);
    assert_false(tl_metrics_end(&room->page));
    tl_metrics_clear(&room->page);
    tl_metrics_put(&room->page, TL_METRIC_STATION_LIVE, NULL, 1);
    assert_false(tl_metrics_end(&room->page));
}

static void
a_metric_that_is_none_makes_the_page_bad(void **state)
{
    struct room *room = *state;
    tl_metrics_put(&room->page, TL_METRIC_NONE, NULL, 1);
    assert_false(tl_metrics_end(&room->page));
    tl_metrics_clear(&room->page);
    tl_metrics_put(&room->page, TL_METRICS, NULL, 1);
    assert_false(tl_metrics_end(&room->page));
}

static void
a_page_that_is_too_long_is_bad_and_ends_at_a_whole_part(void **state)
{
    struct room *room = *state;
    for (int i = 0; i < TL_METRICS_PAGE_MAX / 20; i++) {
        tl_metrics_put(&room->page, TL_METRIC_STATION_LIVE, "a-node-of-twenty-two-by", UINT64_MAX);
    }
    assert_false(tl_metrics_end(&room->page));
    assert_true(room->page.used < TL_METRICS_PAGE_MAX);
    assert_int_equal(strlen(room->page.text), room->page.used);
}

/* How many values a label may have. */
static int
values_of(const char *label)
{
    static const struct {
        const char *label;
        int values;
    } rows[] = {{"node", TL_NODES_MAX},
                {"bus", TL_BUSES_MAX},
                {"topic", TL_TOPIC_KINDS},
                {"reason", TL_COUNTS_REASONS},
                {"state", 3},
                {"answer", 4},
                {"table", 16}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (label != NULL && strcmp(label, rows[i].label) == 0) {
            return rows[i].values;
        }
    }
    assert_null(label);
    return 1;
}

/* As many nodes, buses, topics and reasons as the limits allow, with the longest names and numbers. */
static void
the_largest_ship_fits_a_page(void **state)
{
    static const char name[] = "a-node-of-twenty-two-b";
    struct room *room = *state;
    const char *const words[] = {"unknown", "connecting", "up", "down", "key-refused", "wrong-key"};
    for (int metric = TL_METRIC_NONE + 1; metric < TL_METRICS; metric++) {
        const struct tl_metric_row *row = tl_metric_row((enum tl_metric)metric);
        struct tl_metrics_states states = {
            .label = row->label[1] != NULL ? name : NULL, .state = words, .count = 6, .on = 2};
        const char *all[TL_METRIC_LABELS_MAX];
        for (int i = 0; i < TL_METRIC_LABELS_MAX; i++) {
            all[i] = row->label[i] != NULL ? name : NULL;
        }
        if (row->type == TL_METRIC_INFO) {
            tl_metrics_put_info(&room->page, (enum tl_metric)metric, all);
        } else if (row->type == TL_METRIC_STATES) {
            for (int i = 0; i < TL_BUSES_MAX; i++) {
                tl_metrics_put_states(&room->page, (enum tl_metric)metric, &states);
            }
        } else {
            for (int i = 0; i < values_of(row->label[0]); i++) {
                tl_metrics_put(&room->page, (enum tl_metric)metric, all[0], UINT64_MAX);
            }
        }
    }
    assert_true(tl_metrics_end(&room->page));
}

static void
take_beat(struct room *room, uint64_t incarnation, uint64_t sequence, uint64_t now_ms)
{
    room->envelope.body = TL_BODY_BEAT;
    (void)snprintf(room->envelope.node, TL_ID_CAP, "platform");
    room->envelope.incarnation = incarnation;
    room->envelope.sequence = sequence;
    tl_counts_took(&room->counts, &room->config, &room->envelope, TL_TOPIC_BEAT, now_ms);
}

static void
beats_in_their_turn_are_neither_missed_nor_late(void **state)
{
    struct room *room = *state;
    for (uint64_t i = 1; i <= 10; i++) {
        take_beat(room, 5, i, 1000 + i * TL_COUNTS_LATE_MS);
    }
    assert_int_equal(room->counts.beats[1].missed, 0);
    assert_int_equal(room->counts.beats[1].late, 0);
    assert_int_equal(room->counts.received[TL_TOPIC_BEAT], 10);
    assert_int_equal(room->counts.beats[0].incarnation, 0);
}

static void
a_beat_one_millisecond_past_two_intervals_is_late(void **state)
{
    struct room *room = *state;
    take_beat(room, 5, 1, 1000);
    take_beat(room, 5, 2, 1000 + TL_COUNTS_LATE_MS + 1);
    assert_int_equal(room->counts.beats[1].late, 1);
    assert_int_equal(room->counts.beats[1].missed, 0);
}

static void
a_gap_counts_what_is_missing_and_an_old_beat_nothing(void **state)
{
    struct room *room = *state;
    take_beat(room, 5, 7, 1000);
    take_beat(room, 5, 11, 1200);
    assert_int_equal(room->counts.beats[1].missed, 3);
    take_beat(room, 5, 9, 1300);
    take_beat(room, 4, 100, 1300);
    assert_int_equal(room->counts.beats[1].missed, 3);
    take_beat(room, 6, 900, 9000); /* another life: what came before it is not its own */
    assert_int_equal(room->counts.beats[1].missed, 3);
    assert_int_equal(room->counts.beats[1].late, 0);
    take_beat(room, 6, UINT64_MAX, 9100);
    assert_int_equal(room->counts.beats[1].missed, 3 + TL_JUMP_MAX);
}

static void
every_reason_that_has_a_name_is_on_the_page_and_no_other(void **state)
{
    struct room *room = *state;
    size_t lines = 0;
    tl_counts_refused(&room->counts, TL_REFUSAL_SIGNATURE);
    tl_counts_refused(&room->counts, TL_REFUSAL_SIGNATURE);
    tl_counts_refused(&room->counts, (enum tl_refusal)9999);
    tl_counts_put_reasons(&room->page, room->counts.refused, TL_COUNTS_REASONS);
    assert_true(tl_metrics_end(&room->page));
    assert_non_null(strstr(room->page.text, "{reason=\"signature\"} 2\n"));
    assert_non_null(strstr(room->page.text, "{reason=\"unknown\"} 1\n"));
    assert_non_null(strstr(room->page.text, "{reason=\"lower-count\"} 0\n"));
    for (const char *at = room->page.text; (at = strstr(at, "{reason=")) != NULL; at++) {
        lines++;
    }
    assert_int_equal(lines, 1 + TL_REFUSAL_NOT_YOUR_KIND + TL_REFUSAL_LOWER_COUNT -
                                TL_REFUSAL_TOO_OLD + 1);
}

static void
only_ready_is_ready(void **state)
{
    static const struct {
        enum tl_word word;
        const char *ready;
    } rows[] = {{TL_WORD_READY, "{trapline_verdict=\"ready\"} 1\n"},
                {TL_WORD_NOT_READY, "{trapline_verdict=\"ready\"} 0\n"},
                {TL_WORD_UNKNOWN, "{trapline_verdict=\"ready\"} 0\n"},
                {(enum tl_word)1, "{trapline_verdict=\"ready\"} 0\n"}};
    struct room *room = *state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        tl_metrics_clear(&room->page);
        tl_put_verdict(&room->page, rows[i].word, 3);
        assert_true(tl_metrics_end(&room->page));
        assert_non_null(strstr(room->page.text, rows[i].ready));
        assert_non_null(strstr(room->page.text, "\ntrapline_causes 3\n"));
    }
}

static void
alerts_are_counted_by_state_and_an_unknown_one_is_not_acknowledged(void **state)
{
    struct room *room = *state;
    struct tl_alert_counts counts = {0};
    tl_count_alert(&counts, TL_ALERT_UNKNOWN);
    tl_count_alert(&counts, TL_ALERT_UNACKNOWLEDGED);
    tl_count_alert(&counts, TL_ALERT_ACKNOWLEDGED);
    tl_count_alert(&counts, TL_ALERT_RETURNED);
    tl_put_alerts(&room->page, &counts);
    assert_true(tl_metrics_end(&room->page));
    assert_non_null(strstr(room->page.text, "{state=\"unacknowledged\"} 2\n"));
    assert_non_null(strstr(room->page.text, "{state=\"acknowledged\"} 1\n"));
    assert_non_null(strstr(room->page.text, "{state=\"returned\"} 1\n"));
}

int
main(void)
{
#define EACH(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        EACH(a_family_has_its_head_once_and_its_samples_together),
        EACH(seconds_have_three_decimals_and_a_unit),
        EACH(a_sample_out_of_its_order_makes_the_page_bad),
        EACH(a_label_too_many_or_too_few_makes_the_page_bad),
        EACH(a_metric_that_is_none_makes_the_page_bad),
        EACH(a_page_that_is_too_long_is_bad_and_ends_at_a_whole_part),
        EACH(the_largest_ship_fits_a_page),
        EACH(beats_in_their_turn_are_neither_missed_nor_late),
        EACH(a_beat_one_millisecond_past_two_intervals_is_late),
        EACH(a_gap_counts_what_is_missing_and_an_old_beat_nothing),
        EACH(only_ready_is_ready),
        EACH(alerts_are_counted_by_state_and_an_unknown_one_is_not_acknowledged),
        EACH(every_reason_that_has_a_name_is_on_the_page_and_no_other),
    };
#undef EACH
    return cmocka_run_group_tests(tests, NULL, NULL);
}
