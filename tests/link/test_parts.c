/* SPDX-License-Identifier: Apache-2.0 */
/* The parts under the sockets that need none: copies, supervision; and the screen's own rules. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <sodium.h>
#include <stdlib.h>
#include <string.h>

#include "proto/link/dup.h"
#include "proto/link/screen.h"
#include "proto/link/supervise.h"
#include "tests/support/ship.h"

static void
a_copy_is_found_until_it_is_the_oldest(void **state)
{
    (void)state;
    struct tl_dup *dup = calloc(1, sizeof *dup);
    uint8_t hash[TL_DUP_HASH_LEN];
    assert_non_null(dup);
    tl_dup_init(dup);
    for (uint32_t i = 0; i < 3 * TL_DUP_KEPT; i++) {
        tl_dup_hash(dup, (const uint8_t *)&i, sizeof i, hash);
        assert_null(tl_dup_find(dup, hash));
        tl_dup_add(dup, hash, i % 2, i);
        assert_int_equal(tl_dup_find(dup, hash)->when_ms, i);
        uint32_t oldest = i >= TL_DUP_KEPT ? i - TL_DUP_KEPT + 1 : 0;
        tl_dup_hash(dup, (const uint8_t *)&oldest, sizeof oldest, hash);
        assert_non_null(tl_dup_find(dup, hash));
        if (oldest > 0) {
            uint32_t gone = oldest - 1;
            tl_dup_hash(dup, (const uint8_t *)&gone, sizeof gone, hash);
            assert_null(tl_dup_find(dup, hash));
        }
    }
    free(dup);
}

static void
two_keys_give_two_hashes(void **state)
{
    (void)state;
    struct tl_dup *a = calloc(1, sizeof *a);
    struct tl_dup *b = calloc(1, sizeof *b);
    uint8_t one[TL_DUP_HASH_LEN];
    uint8_t two[TL_DUP_HASH_LEN];
    assert_non_null(a);
    assert_non_null(b);
    tl_dup_init(a);
    tl_dup_init(b);
    tl_dup_hash(a, (const uint8_t *)"x", 1, one);
    tl_dup_hash(b, (const uint8_t *)"x", 1, two);
    assert_memory_not_equal(one, two, sizeof one);
    free(a);
    free(b);
}

/* A new one whose broker takes what is sent. */
static void
begin(struct tl_supervise *bus, uint64_t now_ms)
{
    tl_supervise_init(bus, now_ms);
    tl_supervise_event(bus, TL_SUPERVISE_TAKEN, now_ms);
}

static void
rebuilt_and_taken(struct tl_supervise *bus, uint64_t now_ms)
{
    tl_supervise_event(bus, TL_SUPERVISE_REBUILT, now_ms);
    tl_supervise_event(bus, TL_SUPERVISE_TAKEN, now_ms);
}

static void
a_silent_bus_is_down_after_two_seconds_and_rebuilt(void **state)
{
    (void)state;
    struct tl_supervise bus;
    begin(&bus, 1000);
    assert_int_equal(bus.state, TL_BUS_CONNECTING);
    tl_supervise_event(&bus, TL_SUPERVISE_FRAME, 1100);
    assert_int_equal(bus.state, TL_BUS_UP);
    assert_false(tl_supervise_tend(&bus, 3100));
    assert_int_equal(bus.state, TL_BUS_UP);
    assert_true(tl_supervise_tend(&bus, 3101));
    assert_int_equal(bus.state, TL_BUS_DOWN);
    rebuilt_and_taken(&bus, 3101);
    assert_false(tl_supervise_tend(&bus, 3200));
    tl_supervise_event(&bus, TL_SUPERVISE_FRAME, 3300);
    assert_int_equal(bus.state, TL_BUS_UP);
    assert_false(tl_supervise_tend(&bus, 3400));
}

static void
a_bus_that_never_spoke_is_said_down_within_two_seconds(void **state)
{
    (void)state;
    struct tl_supervise bus;
    begin(&bus, 1000);
    (void)tl_supervise_tend(&bus, 2499);
    assert_int_equal(bus.state, TL_BUS_CONNECTING);
    (void)tl_supervise_tend(&bus, 2500);
    assert_int_equal(bus.state, TL_BUS_DOWN);
    uint64_t now_ms = 2500;
    unsigned rebuilt = 0;
    for (; now_ms < 62500; now_ms += 10) {
        if (tl_supervise_tend(&bus, now_ms)) {
            rebuilt_and_taken(&bus, now_ms);
            rebuilt++;
        }
    }
    assert_in_range(rebuilt, 15, 40); /* again and again, and never in a storm */
}

static void
a_refused_key_is_tried_again(void **state)
{
    (void)state;
    struct tl_supervise bus;
    begin(&bus, 1000);
    tl_supervise_event(&bus, TL_SUPERVISE_AUTH_FAILED, 1050);
    assert_int_equal(bus.state, TL_BUS_KEY_REFUSED);
    assert_false(tl_supervise_tend(&bus, 1100));
    assert_true(tl_supervise_tend(&bus, 1250));
    rebuilt_and_taken(&bus, 1250);
    tl_supervise_event(&bus, TL_SUPERVISE_FRAME, 1300);
    assert_int_equal(bus.state, TL_BUS_UP);
}

static void
a_key_that_is_not_listed_is_told_from_a_handshake_that_failed(void **state)
{
    (void)state;
    struct tl_supervise bus;
    begin(&bus, 1000);
    tl_supervise_event(&bus, TL_SUPERVISE_PROTOCOL, 1050);
    assert_int_equal(bus.state, TL_BUS_WRONG_KEY);
    tl_supervise_event(&bus, TL_SUPERVISE_NOT_LISTED, 1060);
    assert_int_equal(bus.state, TL_BUS_KEY_UNKNOWN);
    tl_supervise_event(&bus, TL_SUPERVISE_PROTOCOL, 1070); /* of its other key */
    assert_int_equal(bus.state, TL_BUS_KEY_UNKNOWN);
    assert_true(tl_supervise_tend(&bus, 1260));
    rebuilt_and_taken(&bus, 1260);
    tl_supervise_event(&bus, TL_SUPERVISE_FRAME, 1300);
    assert_int_equal(bus.state, TL_BUS_UP);
}

/* The list was read between the handshakes of the two sockets: one is in, the other refused for good. */
static void
a_socket_that_was_refused_is_built_anew_though_the_other_brings_frames(void **state)
{
    (void)state;
    static const enum tl_supervise_event events[] = {TL_SUPERVISE_NOT_LISTED,
                                                     TL_SUPERVISE_AUTH_FAILED};
    for (size_t i = 0; i < sizeof events / sizeof events[0]; i++) {
        struct tl_supervise bus;
        begin(&bus, 1000);
        tl_supervise_event(&bus, events[i], 1050);
        tl_supervise_event(&bus, TL_SUPERVISE_FRAME, 1060);
        assert_int_not_equal(bus.state, TL_BUS_UP);
        assert_false(tl_supervise_tend(&bus, 1249));
        tl_supervise_event(&bus, TL_SUPERVISE_FRAME, 1250);
        assert_true(tl_supervise_tend(&bus, 1250));
        rebuilt_and_taken(&bus, 1250);
        tl_supervise_event(&bus, TL_SUPERVISE_FRAME, 1300);
        assert_int_equal(bus.state, TL_BUS_UP);
        assert_false(tl_supervise_tend(&bus, 1400));
        tl_supervise_event(&bus, events[i], 1500); /* later, while it stands */
        tl_supervise_event(&bus, TL_SUPERVISE_FRAME, 1510);
        assert_true(tl_supervise_tend(&bus, 1700));
    }
}

static void
a_new_list_of_keys_is_tried_at_once_and_leaves_a_living_bus_alone(void **state)
{
    (void)state;
    struct tl_supervise bus;
    begin(&bus, 1000);
    tl_supervise_event(&bus, TL_SUPERVISE_AUTH_FAILED, 1050);
    for (uint64_t now_ms = 1250; now_ms < 20000; now_ms += 10) { /* the gap has grown to 2 s */
        if (tl_supervise_tend(&bus, now_ms)) {
            rebuilt_and_taken(&bus, now_ms);
            tl_supervise_event(&bus, TL_SUPERVISE_AUTH_FAILED, now_ms);
        }
    }
    tl_supervise_event(&bus, TL_SUPERVISE_KEYS_CHANGED, 20000);
    assert_true(tl_supervise_tend(&bus, 20000));
    rebuilt_and_taken(&bus, 20000);
    tl_supervise_event(&bus, TL_SUPERVISE_FRAME, 20010);
    tl_supervise_event(&bus, TL_SUPERVISE_KEYS_CHANGED, 20020);
    assert_int_equal(bus.state, TL_BUS_UP);
    assert_false(tl_supervise_tend(&bus, 20030));
    tl_supervise_event(&bus, TL_SUPERVISE_KEY_GONE, 20040);
    assert_int_equal(bus.state, TL_BUS_CONNECTING);
    tl_supervise_event(&bus, TL_SUPERVISE_TAKEN, 20040); /* it had not been read yet */
    tl_supervise_event(&bus, TL_SUPERVISE_FRAME, 20040);
    assert_int_equal(bus.state, TL_BUS_CONNECTING);
    assert_true(tl_supervise_tend(&bus, 20040));
    rebuilt_and_taken(&bus, 20040);
    tl_supervise_event(&bus, TL_SUPERVISE_NO_KEY, 20040);
    assert_int_equal(bus.state, TL_BUS_NO_KEY);
    bool again = false;
    for (uint64_t now_ms = 20050; now_ms < 23000 && !again; now_ms += 10) {
        again = tl_supervise_tend(&bus, now_ms);
        assert_int_equal(bus.state, TL_BUS_NO_KEY);
    }
    assert_true(again);
    rebuilt_and_taken(&bus, 23000);
    assert_int_equal(bus.state, TL_BUS_CONNECTING);
}

/* Frames come every second all the while. True when it is to be built anew. */
static bool
hear_until(struct tl_supervise *bus, uint64_t from_ms, uint64_t to_ms)
{
    bool anew = false;
    for (uint64_t now_ms = from_ms; now_ms <= to_ms; now_ms++) {
        if (now_ms % 1000 == 0) {
            tl_supervise_event(bus, TL_SUPERVISE_FRAME, now_ms);
        }
        anew = tl_supervise_tend(bus, now_ms) || anew;
    }
    return anew;
}

/* The socket to send with died in silence, or never came through: frames that come hide nothing. */
static void
a_bus_that_takes_nothing_of_ours_is_not_up(void **state)
{
    (void)state;
    struct tl_supervise bus;
    tl_supervise_init(&bus, 10300);
    assert_false(hear_until(&bus, 10300, 11999));
    assert_int_equal(bus.state, TL_BUS_CONNECTING);
    assert_true(hear_until(&bus, 12000, 12000)); /* a frame 1.7 s after it was built */
    assert_int_equal(bus.state, TL_BUS_MUTE);
    tl_supervise_event(&bus, TL_SUPERVISE_FRAME, 12000);
    tl_supervise_event(&bus, TL_SUPERVISE_PROTOCOL, 12000); /* who answers there has another key */
    assert_int_equal(bus.state, TL_BUS_MUTE);
    tl_supervise_event(&bus, TL_SUPERVISE_REBUILT, 12000);
    tl_supervise_event(&bus, TL_SUPERVISE_TAKEN, 12050);
    assert_false(hear_until(&bus, 12051, 13000));
    assert_int_equal(bus.state, TL_BUS_UP);
    tl_supervise_event(&bus, TL_SUPERVISE_NOT_TAKEN, 13301);
    tl_supervise_event(&bus, TL_SUPERVISE_NOT_TAKEN, 13900);
    assert_false(hear_until(&bus, 13302, 15999));
    assert_int_equal(bus.state, TL_BUS_UP); /* the last frame was a millisecond too early */
    assert_true(hear_until(&bus, 16000, 16000));
    assert_int_equal(bus.state, TL_BUS_MUTE);
    tl_supervise_event(&bus, TL_SUPERVISE_REBUILT, 16000);
    assert_false(tl_supervise_tend(&bus, 18000));
    assert_true(tl_supervise_tend(&bus, 18001));
    assert_int_equal(bus.state, TL_BUS_DOWN); /* and now nothing comes either */
}

/* Gone altogether is not the same: nothing is heard either, and that is what is said. */
static void
a_bus_that_is_gone_is_down_and_not_mute(void **state)
{
    (void)state;
    struct tl_supervise bus;
    begin(&bus, 10000);
    assert_false(hear_until(&bus, 10000, 12000));
    tl_supervise_event(&bus, TL_SUPERVISE_NOT_TAKEN, 12000);
    for (uint64_t now_ms = 12001; now_ms <= 14000; now_ms++) {
        assert_false(tl_supervise_tend(&bus, now_ms));
        assert_int_equal(bus.state, TL_BUS_UP);
    }
    assert_true(tl_supervise_tend(&bus, 14001));
    assert_int_equal(bus.state, TL_BUS_DOWN);
}

/* The broker was gone for a moment and is back: nobody builds anew what goes on by itself. */
static void
a_bus_that_takes_ours_again_at_once_stays_up(void **state)
{
    (void)state;
    struct tl_supervise bus;
    begin(&bus, 10000);
    assert_false(hear_until(&bus, 10000, 11000));
    tl_supervise_event(&bus, TL_SUPERVISE_NOT_TAKEN, 11100);
    tl_supervise_event(&bus, TL_SUPERVISE_PROTOCOL, 11150);
    assert_false(hear_until(&bus, 11101, 11300));
    tl_supervise_event(&bus, TL_SUPERVISE_TAKEN, 11300);
    assert_false(hear_until(&bus, 11301, 20000));
    assert_int_equal(bus.state, TL_BUS_UP);
}

struct watcher {
    struct tl_config config;
    struct tl_hear hear;
    struct tl_screen screen;
    struct tl_envelope envelope;
    uint64_t sequence;
};

static void
verdict(struct watcher *w, const char *validator, uint64_t sequence, enum tl_word word)
{
    bool tick = false;
    memset(&w->envelope, 0, sizeof w->envelope);
    memcpy(w->envelope.node, validator, strlen(validator) + 1);
    w->envelope.incarnation = 9;
    w->envelope.sequence = sequence;
    w->envelope.event = (struct tl_event){5000, 1};
    w->envelope.as.verdict.word = word;
    w->envelope.as.verdict.list_heard = true;
    w->envelope.as.verdict.tick = sequence;
    w->envelope.as.verdict.is_tick = true;
    memcpy(w->envelope.as.verdict.judgement_digest, w->config.judgement_digest, TL_DIGEST_LEN);
    if (word != TL_WORD_READY) {
        w->envelope.as.verdict.first.rule = TL_RULE_DECK_FOUL;
    }
    assert_true(tl_hear_verdict(&w->hear, &w->envelope, &tick));
}

static void
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): nonce, verdict and age as in a receipt */
answer_old(struct watcher *w, const char *validator, uint64_t nonce, uint64_t stands,
           uint32_t oldest_ms)
{
    memset(&w->envelope, 0, sizeof w->envelope);
    memcpy(w->envelope.node, validator, strlen(validator) + 1);
    w->envelope.incarnation = 9;
    w->envelope.sequence = ++w->sequence;
    w->envelope.as.receipt.for_incarnation = 1;
    w->envelope.as.receipt.nonce = nonce;
    w->envelope.as.receipt.verdict = stands;
    w->envelope.as.receipt.oldest_ms = oldest_ms;
    assert_non_null(tl_hear_receipt(&w->hear, &w->envelope));
}

static void
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): nonce and verdict as in a receipt */
answer(struct watcher *w, const char *validator, uint64_t nonce, uint64_t stands)
{
    answer_old(w, validator, nonce, stands, 0);
}

static enum tl_word
word_at(struct watcher *w, uint64_t now_ms)
{
    struct tl_view view;
    tl_screen_tend(&w->screen, &w->hear, now_ms);
    tl_screen_view(&w->screen, &w->hear, now_ms, &view);
    return view.word;
}

static struct watcher *
ready_watcher(void)
{
    struct watcher *w = calloc(1, sizeof *w);
    assert_non_null(w);
    ship_config(&w->config, 2);
    tl_hear_init(&w->hear, &w->config, 1);
    tl_screen_init(&w->screen, &w->config);
    tl_hear_sent(&w->hear, 1, 1000);
    verdict(w, "validator-1", 1, TL_WORD_READY);
    verdict(w, "validator-2", 1, TL_WORD_READY);
    assert_int_equal(word_at(w, 1050), TL_WORD_NOT_READY); /* not dated yet */
    answer(w, "validator-1", 1, 1);
    assert_int_equal(word_at(w, 1050), TL_WORD_NOT_READY);
    answer(w, "validator-2", 1, 1);
    assert_int_equal(word_at(w, 1050), TL_WORD_READY); /* a first verdict is not held */
    return w;
}

/* A frame that comes late makes nothing fresh: the age counts from when the nonce was sent. */
static void
a_verdict_is_as_old_as_the_beat_that_was_answered(void **state)
{
    (void)state;
    struct watcher *w = ready_watcher();
    assert_int_equal(word_at(w, 1800), TL_WORD_READY);
    assert_int_equal(word_at(w, 1801), TL_WORD_NOT_READY);
    tl_hear_sent(&w->hear, 2, 1900);
    answer(w, "validator-1", 1, 1); /* a backlog: the old nonce again */
    answer(w, "validator-2", 1, 1);
    assert_int_equal(word_at(w, 1950), TL_WORD_NOT_READY);
    answer(w, "validator-1", 2, 1);
    answer(w, "validator-2", 2, 1);
    assert_int_equal(word_at(w, 1950), TL_WORD_NOT_READY); /* back, and held 3.0 s */
    for (uint64_t now_ms = 2000; now_ms < 4949; now_ms += 100) {
        tl_hear_sent(&w->hear, now_ms, now_ms);
        answer(w, "validator-1", now_ms, 1);
        answer(w, "validator-2", now_ms, 1);
        assert_int_equal(word_at(w, now_ms), TL_WORD_NOT_READY);
    }
    assert_int_equal(word_at(w, 4950), TL_WORD_READY);
    free(w);
}

/* The answer stands for a newer verdict that has not come: the one in hand is not dated by it. */
static void
an_answer_for_a_newer_verdict_does_not_freshen_the_old_one(void **state)
{
    (void)state;
    struct watcher *w = ready_watcher();
    for (uint64_t now_ms = 1200; now_ms <= 2000; now_ms += 200) {
        tl_hear_sent(&w->hear, now_ms, now_ms);
        answer(w, "validator-1", now_ms, 5); /* verdict 5 was lost */
        answer(w, "validator-2", now_ms, 1);
    }
    assert_int_equal(word_at(w, 2000), TL_WORD_NOT_READY);
    free(w);
}

/*
 * A station fell silent 700 ms before the answer, and then this screen is cut off: each of the two
 * ages is below 800 ms, and the two together may not pass 900.
 */
static void
ready_is_as_old_as_the_oldest_beat_it_stands_on(void **state)
{
    (void)state;
    struct watcher *w = ready_watcher();
    struct tl_view view;
    tl_hear_sent(&w->hear, 2, 1200);
    answer_old(w, "validator-1", 2, 1, 700);
    answer_old(w, "validator-2", 2, 1, 40);
    assert_int_equal(word_at(w, 1400), TL_WORD_READY);
    assert_int_equal(word_at(w, 1401), TL_WORD_NOT_READY);
    tl_screen_view(&w->screen, &w->hear, 1401, &view);
    assert_int_equal(view.first.rule, TL_RULE_SCREEN_NO_VALIDATOR);
    assert_string_equal(view.first.station, "validator-1");
    tl_hear_sent(&w->hear, 3, 1450); /* the station is back, and the return is held */
    answer_old(w, "validator-1", 3, 1, 40);
    answer_old(w, "validator-2", 3, 1, 40);
    assert_int_equal(word_at(w, 1460), TL_WORD_NOT_READY);
    for (uint64_t now_ms = 1500; now_ms < 4460; now_ms += 100) {
        tl_hear_sent(&w->hear, now_ms, now_ms);
        answer_old(w, "validator-1", now_ms, 1, 200);
        answer_old(w, "validator-2", now_ms, 1, 200);
        assert_int_equal(word_at(w, now_ms), TL_WORD_NOT_READY);
    }
    assert_int_equal(word_at(w, 4460), TL_WORD_READY);
    free(w);
}

/* What is NOT READY is shown for its own reason, however old what it stands on. */
static void
not_ready_keeps_its_cause_though_what_it_stands_on_is_old(void **state)
{
    (void)state;
    struct watcher *w = ready_watcher();
    struct tl_view view;
    verdict(w, "validator-2", 2, TL_WORD_NOT_READY);
    tl_hear_sent(&w->hear, 2, 1200);
    answer_old(w, "validator-1", 2, 1, 790);
    answer_old(w, "validator-2", 2, 2, 790);
    assert_int_equal(word_at(w, 1500), TL_WORD_NOT_READY);
    tl_screen_view(&w->screen, &w->hear, 1500, &view);
    assert_int_equal(view.first.rule, TL_RULE_DECK_FOUL);
    free(w);
}

/* The age goes with the answer that stands for it, also when the verdict comes after it. */
static void
an_answer_before_its_verdict_keeps_its_age(void **state)
{
    (void)state;
    struct watcher *w = ready_watcher();
    tl_hear_sent(&w->hear, 2, 1200);
    answer_old(w, "validator-1", 2, 2, 600);
    answer_old(w, "validator-2", 2, 1, 0);
    verdict(w, "validator-1", 2, TL_WORD_READY);
    assert_int_equal(word_at(w, 1500), TL_WORD_READY);
    assert_int_equal(word_at(w, 1501), TL_WORD_NOT_READY);
    free(w);
}

/* A validator whose state folder is lost and whose clock stands too low: it is heard, and refused. */
static void
a_validator_that_runs_on_with_a_lower_life_is_known(void **state)
{
    (void)state;
    struct watcher *w = ready_watcher();
    struct tl_heard *heard = tl_hear_find(&w->hear, "validator-2");
    bool tick = false;
    w->envelope.incarnation = 8;
    memcpy(w->envelope.node, "validator-2", sizeof "validator-2");
    for (int i = 0; i < TL_HEAR_OLDER_MIN; i++) {
        assert_int_equal(tl_heard_older(heard), 0); /* one may be late */
        assert_false(tl_hear_verdict(&w->hear, &w->envelope, &tick));
    }
    assert_int_equal(tl_heard_older(heard), 8);
    assert_int_equal(heard->incarnation, 9);
    verdict(w, "validator-2", 5, TL_WORD_READY);
    assert_int_equal(tl_heard_older(heard), 0);
    free(w);
}

static void
any_not_ready_acts_at_once_and_other_configuration_never_shows_ready(void **state)
{
    (void)state;
    struct watcher *w = ready_watcher();
    verdict(w, "validator-2", 2, TL_WORD_NOT_READY);
    assert_int_equal(word_at(w, 1060), TL_WORD_NOT_READY);
    verdict(w, "validator-2", 3, TL_WORD_READY);
    assert_int_equal(word_at(w, 1070), TL_WORD_READY); /* a reported cause lifts at once */
    w->config.judgement_digest[3] ^= 1;
    assert_int_equal(word_at(w, 1070), TL_WORD_NOT_READY);
    w->config.judgement_digest[3] ^= 1;
    assert_int_equal(word_at(w, 1070), TL_WORD_READY);
    w->hear.validator[1].event.pass = 2;
    assert_int_equal(word_at(w, 1070), TL_WORD_NOT_READY);
    free(w);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_copy_is_found_until_it_is_the_oldest),
        cmocka_unit_test(two_keys_give_two_hashes),
        cmocka_unit_test(a_silent_bus_is_down_after_two_seconds_and_rebuilt),
        cmocka_unit_test(a_bus_that_never_spoke_is_said_down_within_two_seconds),
        cmocka_unit_test(a_refused_key_is_tried_again),
        cmocka_unit_test(a_key_that_is_not_listed_is_told_from_a_handshake_that_failed),
        cmocka_unit_test(a_socket_that_was_refused_is_built_anew_though_the_other_brings_frames),
        cmocka_unit_test(a_bus_that_takes_nothing_of_ours_is_not_up),
        cmocka_unit_test(a_bus_that_is_gone_is_down_and_not_mute),
        cmocka_unit_test(a_bus_that_takes_ours_again_at_once_stays_up),
        cmocka_unit_test(a_new_list_of_keys_is_tried_at_once_and_leaves_a_living_bus_alone),
        cmocka_unit_test(a_validator_that_runs_on_with_a_lower_life_is_known),
        cmocka_unit_test(a_verdict_is_as_old_as_the_beat_that_was_answered),
        cmocka_unit_test(an_answer_for_a_newer_verdict_does_not_freshen_the_old_one),
        cmocka_unit_test(ready_is_as_old_as_the_oldest_beat_it_stands_on),
        cmocka_unit_test(not_ready_keeps_its_cause_though_what_it_stands_on_is_old),
        cmocka_unit_test(an_answer_before_its_verdict_keeps_its_age),
        cmocka_unit_test(any_not_ready_acts_at_once_and_other_configuration_never_shows_ready),
    };
    return sodium_init() < 0 ? 1 : cmocka_run_group_tests(tests, NULL, NULL);
}
