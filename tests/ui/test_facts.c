/* SPDX-License-Identifier: Apache-2.0 */
/* test_facts - a row is good by what is there, and by nothing else. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/ui/facts.h"
#include "tests/ui/shown.h"

enum {
    STATE_CELLS = 8,
    APART = 3
};

/* Everything that READY needs is said, for this event. */
static struct shown *
all_good(void)
{
    struct shown *shown = shown_new();
    static const char *const no_foul[] = {"platform", "primary", "gear-officer", "safety"};
    struct tl_listed *listed = &shown->picture.list[shown->picture.list_count++];
    listed->event = shown_event;
    listed->order_known = true;
    listed->order = (struct tl_order){
        .side = 204, .type = "plover", .weight_lb = 34000, .state = TL_ORDER_ORDERED};
    for (uint32_t n = 1; n <= 4; n++) {
        char id[TL_ID_CAP];
        (void)snprintf(id, sizeof id, "engine-%u", n);
        shown_word(shown, id, TL_DATUM_BATTERY, 0)->as.battery = TL_BATTERY_IN;
        shown_word(shown, "primary", TL_DATUM_REPEATER, n)->as.repeater_lb = 34000;
        shown_word(shown, "wires", TL_DATUM_RIG, n)->as.rig = TL_RIG_RIGGED;
        shown_word(shown, "wires", TL_DATUM_SHEAVE, n)->as.sheave.state = TL_SHEAVE_UP;
    }
    for (uint32_t n = 1; n <= 2; n++) {
        shown_word(shown, "tracks", TL_DATUM_TRACK, n)->as.track = TL_TRACK_SECURED;
    }
    for (size_t i = 0; i < sizeof no_foul / sizeof no_foul[0]; i++) {
        shown_word(shown, no_foul[i], TL_DATUM_DECK, 0)->as.deck.state = TL_DECK_NO_FOUL;
    }
    shown_word(shown, "platform", TL_DATUM_CALL, 0)->as.call =
        (struct tl_call){.side = 204, .type = "plover"};
    shown_word(shown, "platform", TL_DATUM_HOOK, 0)->as.hook = TL_HOOK_DOWN;
    shown_word(shown, "approach", TL_DATUM_INBOUND, 204)->as.inbound =
        (struct tl_inbound){.type = "plover", .weight_lb = 33500};
    struct tl_station_state *bridge = shown_station(shown, "bridge");
    bridge->sample_count = 1;
    bridge->samples[0].kind = TL_SAMPLE_WIND;
    bridge->samples[0].as.wind =
        (struct tl_wind){.state = TL_WIND_KNOWN, .headwind_kt_x10 = 270, .crosswind_kt_x10 = 5};
    return shown;
}

static void
look(const struct shown *shown, struct tl_fact fact[TL_FACT_ROWS])
{
    tl_ui_facts(&shown->state, NULL, fact);
}

static void
expect_all_good(const struct shown *shown)
{
    struct tl_fact fact[TL_FACT_ROWS];
    look(shown, fact);
    for (int i = 0; i < TL_FACT_ROWS; i++) {
        if (fact[i].state != TL_FACT_GOOD) {
            fail_msg("%s is %s: %s", tl_fact_name((enum tl_fact_row)i), tl_fact_word(fact[i].state),
                     fact[i].value);
        }
        assert_string_not_equal(fact[i].value, "");
    }
}

static uint32_t
count_good(const struct shown *shown)
{
    struct tl_fact fact[TL_FACT_ROWS];
    uint32_t good = 0;
    look(shown, fact);
    for (size_t i = 0; i < TL_FACT_ROWS; i++) {
        good += fact[i].state == TL_FACT_GOOD ? 1 : 0;
    }
    return good;
}

static void
every_row_is_good_when_all_is_said(void **state)
{
    (void)state;
    struct shown *shown = all_good();
    struct tl_fact fact[TL_FACT_ROWS];
    expect_all_good(shown);
    look(shown, fact);
    assert_string_equal(fact[TL_FACT_AIRCRAFT].value, "204 plover 34,000 lb");
    assert_string_equal(fact[TL_FACT_SETTING].value, "34,000 lb on 1 2 3 4");
    assert_string_equal(fact[TL_FACT_SETTING].needed, "34,000 lb");
    assert_string_equal(fact[TL_FACT_BATTERY].value, "in battery 1 2 3 4");
    assert_string_equal(fact[TL_FACT_WIRES].value, "rigged, up 1 2 3 4");
    assert_string_equal(fact[TL_FACT_DECK].value, "clear");
    assert_string_equal(fact[TL_FACT_FINAL].value, "called 204 plover, hook down");
    assert_string_equal(fact[TL_FACT_WIND].value, "27.0 kn down, 0.5 across");
    assert_string_equal(fact[TL_FACT_STATIONS].value, "15 of 15 heard");
    free(shown);
}

/* A known word that is not as needed, with no cause that says so: the rule is off, or judges nothing. */
static void
expect_one(const struct shown *shown, enum tl_fact_row row, enum tl_fact_state want)
{
    struct tl_fact fact[TL_FACT_ROWS];
    look(shown, fact);
    for (int i = 0; i < TL_FACT_ROWS; i++) {
        enum tl_fact_state expected = i == (int)row ? want : TL_FACT_GOOD;
        if (fact[i].state != expected) {
            fail_msg("%s wrong: %s is %s: %s", tl_fact_name(row), tl_fact_name((enum tl_fact_row)i),
                     tl_fact_word(fact[i].state), fact[i].value);
        }
    }
}

/* Each makes one row wrong by its own words. */
static void
make_wrong(struct shown *shown, size_t which)
{
    struct tl_datum *word = NULL;
    switch (which) {
    case 0:
        word = shown_word(shown, "approach", TL_DATUM_INBOUND, 204);
        (void)snprintf(word->as.inbound.type, TL_TYPE_CAP, "curlew");
        break;
    case 1:
        shown_word(shown, "engine-3", TL_DATUM_SET, 0)->as.set_lb = 40000;
        shown_word(shown, "primary", TL_DATUM_REPEATER, 3)->as.repeater_lb = 40000;
        break;
    case 2:
        shown_word(shown, "primary", TL_DATUM_REPEATER, 2)->as.repeater_lb = 40000;
        break;
    case 3:
        shown_word(shown, "engine-1", TL_DATUM_BATTERY, 0)->as.battery = TL_BATTERY_OUT;
        break;
    case 4:
        shown_word(shown, "wires", TL_DATUM_SHEAVE, 4)->as.sheave.state = TL_SHEAVE_DOWN;
        break;
    case 5:
        word = shown_word(shown, "aid", TL_DATUM_AID, 0);
        (void)snprintf(word->as.aid.type, TL_TYPE_CAP, "curlew");
        break;
    case 6:
        shown_word(shown, "aid", TL_DATUM_AID, 0)->as.aid.state = TL_AID_FAULT;
        break;
    case 7:
        shown_word(shown, "tracks", TL_DATUM_TRACK, 2)->as.track = TL_TRACK_OPEN;
        break;
    case 8:
        shown_word(shown, "safety", TL_DATUM_DECK, 0)->as.deck.state = TL_DECK_STOP;
        break;
    case 9:
        shown_word(shown, "deck", TL_DATUM_DECK, 0)->as.deck.state = TL_DECK_FOUL;
        break;
    case 10:
        shown_word(shown, "platform", TL_DATUM_CALL, 0)->as.call.side = 205;
        break;
    case 11:
        shown_word(shown, "platform", TL_DATUM_HOOK, 0)->as.hook = TL_HOOK_NOT_DOWN;
        break;
    default:
        shown_station(shown, "bridge")->samples[0].as.wind.headwind_kt_x10 = 199;
        break;
    }
}

static const enum tl_fact_row wrong_rows[] = {
    TL_FACT_AIRCRAFT, TL_FACT_SETTING, TL_FACT_SETTING, TL_FACT_BATTERY, TL_FACT_WIRES,
    TL_FACT_AID,      TL_FACT_AID,     TL_FACT_TRACKS,  TL_FACT_DECK,    TL_FACT_DECK,
    TL_FACT_FINAL,    TL_FACT_FINAL,   TL_FACT_WIND,
};

static void
a_wrong_word_is_wrong_whether_a_cause_says_so_or_not(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof wrong_rows / sizeof wrong_rows[0]; i++) {
        struct shown *shown = all_good();
        expect_all_good(shown);
        make_wrong(shown, i);
        expect_one(shown, wrong_rows[i], TL_FACT_WRONG);
        /* a cause knows better: it is not due, or two have signed */
        static const enum tl_rule rules[TL_FACT_ROWS] = {
            TL_RULE_OVER_TRAP_WEIGHT, TL_RULE_SETTING_LIGHT, TL_RULE_NOT_IN_BATTERY,
            TL_RULE_SHEAVE_DOWN,      TL_RULE_AID_FAULT,     TL_RULE_TRACK_OPEN,
            TL_RULE_DECK_FOUL,        TL_RULE_HOOK_NOT_DOWN, TL_RULE_WIND_LOW};
        shown->picture.cause_count = 1;
        shown->picture.cause[0] =
            (struct tl_cause){.rule = rules[wrong_rows[i]], .state = TL_CAUSE_OVERRIDDEN};
        expect_one(shown, wrong_rows[i], TL_FACT_OVERRIDE);
        shown->picture.cause[0].state = TL_CAUSE_NOTE;
        expect_one(shown, wrong_rows[i], TL_FACT_WRONG);
        free(shown);
    }
}

/* With no aircraft ordered no rule judges them: nothing is good for want of bad news. */
static void
without_an_event_only_the_stations_are_good(void **state)
{
    (void)state;
    struct tl_fact fact[TL_FACT_ROWS];
    for (int known = 0; known < 2; known++) {
        struct shown *shown = all_good();
        shown->view.event_known = known == 1;
        shown->view.event = (struct tl_event){0};
        look(shown, fact);
        for (int i = 0; i < TL_FACT_ROWS; i++) {
            assert_int_equal(fact[i].state == TL_FACT_GOOD, i == TL_FACT_STATIONS);
        }
        make_wrong(shown, 4);
        make_wrong(shown, 7);
        make_wrong(shown, 8);
        look(shown, fact);
        assert_int_equal(fact[TL_FACT_WIRES].state, TL_FACT_WRONG);
        assert_int_equal(fact[TL_FACT_TRACKS].state, TL_FACT_WRONG);
        assert_int_equal(fact[TL_FACT_DECK].state, TL_FACT_WRONG);
        assert_string_equal(fact[TL_FACT_TRACKS].value, "unknown 1; slot open 2");
        free(shown);
    }
}

/* Within what the ship takes for the same: right, and shown as it is. */
static void
a_setting_may_differ_by_the_tolerance(void **state)
{
    (void)state;
    struct shown *shown = all_good();
    struct tl_fact fact[TL_FACT_ROWS];
    shown->config.gear.agree_tolerance_lb = 200;
    shown_word(shown, "engine-3", TL_DATUM_SET, 0)->as.set_lb = 34200;
    look(shown, fact);
    assert_int_equal(fact[TL_FACT_SETTING].state, TL_FACT_WRONG); /* its dial reads otherwise */
    shown_word(shown, "primary", TL_DATUM_REPEATER, 3)->as.repeater_lb = 34200;
    look(shown, fact);
    assert_int_equal(fact[TL_FACT_SETTING].state, TL_FACT_GOOD);
    shown_word(shown, "engine-3", TL_DATUM_SET, 0)->as.set_lb = 34201;
    shown_word(shown, "primary", TL_DATUM_REPEATER, 3)->as.repeater_lb = 34201;
    look(shown, fact);
    assert_int_equal(fact[TL_FACT_SETTING].state, TL_FACT_WRONG);
    free(shown);
}

/* The barricade stops an aircraft whose hook does not: nobody waits for the hook. */
static void
a_barricade_pass_needs_no_hook(void **state)
{
    (void)state;
    struct shown *shown = all_good();
    struct tl_fact fact[TL_FACT_ROWS];
    shown->picture.list[0].order.barricade = true;
    shown_word(shown, "platform", TL_DATUM_HOOK, 0)->known = false;
    look(shown, fact);
    assert_int_equal(fact[TL_FACT_FINAL].state, TL_FACT_GOOD);
    assert_string_equal(fact[TL_FACT_FINAL].needed, "call");
    shown_word(shown, "platform", TL_DATUM_CALL, 0)->known = false;
    look(shown, fact);
    assert_int_equal(fact[TL_FACT_FINAL].state, TL_FACT_UNKNOWN);
    free(shown);
}

/* Not known; said for another event, where it is of one. */
static void
spoil_word(struct shown *shown, const char *node, struct tl_datum *datum)
{
    datum->known = false;
    if (count_good(shown) != TL_FACT_ROWS - 1) {
        fail_msg("%s without its %s: %u rows good", node, tl_datum_kind_name(datum->kind),
                 count_good(shown));
    }
    datum->known = true;
    expect_all_good(shown);
    if (tl_datum_is_event_word(datum) || datum->kind == TL_DATUM_SET ||
        datum->kind == TL_DATUM_AID || datum->kind == TL_DATUM_REPEATER) {
        datum->stated_for[0].pass++;
        if (count_good(shown) != TL_FACT_ROWS - 1) {
            fail_msg("%s of another event, %s: %u rows good", node, tl_datum_kind_name(datum->kind),
                     count_good(shown));
        }
        datum->stated_for[0].pass--;
    }
}

static void
no_row_is_good_without_each_of_its_words(void **state)
{
    (void)state;
    struct shown *shown = all_good();
    uint32_t tried = 0;
    for (uint32_t i = 0; i < shown->picture.station_count; i++) {
        struct tl_station_state *station = &shown->picture.station[i];
        for (uint32_t k = 0; k < station->datum_count; k++) {
            spoil_word(shown, station->node, &station->data[k]);
            tried++;
        }
    }
    assert_true(tried > 25);
    shown->picture.list[0].order_known = false;
    assert_true(count_good(shown) < TL_FACT_ROWS);
    shown->picture.list[0].order_known = true;
    shown_station(shown, "bridge")->sample_count = 0;
    assert_int_equal(count_good(shown), TL_FACT_ROWS - 1);
    free(shown);
}

static void
a_lost_station_takes_its_rows_with_it(void **state)
{
    (void)state;
    struct shown *shown = all_good();
    struct tl_fact fact[TL_FACT_ROWS];
    for (uint32_t i = 0; i < shown->picture.station_count; i++) {
        struct tl_station_state *station = &shown->picture.station[i];
        const int place = tl_config_place(&shown->config, station->node);
        for (int live = 0; live < 2; live++) {
            station->live = live == 0 ? TL_LIVE_LOST : TL_LIVE_NEVER;
            look(shown, fact);
            assert_int_equal(fact[TL_FACT_STATIONS].state, TL_FACT_LOST);
            for (int row = 0; row < TL_FACT_ROWS; row++) {
                bool speaks = (fact[row].places >> place & 1u) != 0;
                assert_int_equal(fact[row].state == TL_FACT_LOST, speaks);
            }
        }
        station->by_voice = true; /* all that it owes is known by voice */
        expect_all_good(shown);
        station->by_voice = false;
        station->live = TL_LIVE_LIVE;
        expect_all_good(shown);
    }
    /* one that the picture does not even list */
    shown->picture.station_count--;
    look(shown, fact);
    assert_int_equal(fact[TL_FACT_STATIONS].state, TL_FACT_LOST);
    free(shown);
}

static void
every_cause_stands_in_its_row_and_in_no_other(void **state)
{
    (void)state;
    struct shown *shown = all_good();
    struct tl_fact fact[TL_FACT_ROWS];
    size_t count = 0;
    const struct tl_rule_row *rows = tl_rule_rows(&count);
    static const struct {
        enum tl_cause_state cause;
        enum tl_fact_state fact;
    } ways[] = {
        {TL_CAUSE_WRONG, TL_FACT_WRONG},   {TL_CAUSE_OVERDUE, TL_FACT_WRONG},
        {TL_CAUSE_UNKNOWN, TL_FACT_WRONG}, {TL_CAUSE_PENDING, TL_FACT_WAITS},
        {TL_CAUSE_HOLDING, TL_FACT_HELD},  {TL_CAUSE_OVERRIDDEN, TL_FACT_OVERRIDE},
        {TL_CAUSE_NOTE, TL_FACT_GOOD},
    };
    shown->picture.cause_count = 1;
    for (size_t i = 0; i < count; i++) {
        for (size_t k = 0; k < sizeof ways / sizeof ways[0]; k++) {
            enum tl_fact_row row = tl_fact_row_of(rows[i].rule);
            enum tl_fact_state want = ways[k].fact;
            if (rows[i].rule == TL_RULE_STATION_LOST && want == TL_FACT_WRONG) {
                want = TL_FACT_LOST;
            }
            shown->picture.cause[0] =
                (struct tl_cause){.rule = rows[i].rule, .state = ways[k].cause};
            look(shown, fact);
            for (int other = 0; other < TL_FACT_ROWS; other++) {
                assert_int_equal(fact[other].state, other == (int)row ? want : TL_FACT_GOOD);
            }
        }
    }
    shown->picture.cause_count = 0;
    expect_all_good(shown);
    free(shown);
}

/* What a rule is about by its subject and its source is the row in which it stands. */
static void
rules_stand_where_their_words_are(void **state)
{
    (void)state;
    static const struct {
        enum tl_datum_kind subject;
        enum tl_fact_row row;
    } where[] = {
        {TL_DATUM_SET, TL_FACT_SETTING},     {TL_DATUM_REPEATER, TL_FACT_SETTING},
        {TL_DATUM_BATTERY, TL_FACT_BATTERY}, {TL_DATUM_DECK, TL_FACT_DECK},
        {TL_DATUM_CALL, TL_FACT_FINAL},      {TL_DATUM_HOOK, TL_FACT_FINAL},
        {TL_DATUM_RIG, TL_FACT_WIRES},       {TL_DATUM_SHEAVE, TL_FACT_WIRES},
        {TL_DATUM_PENDANT, TL_FACT_WIRES},   {TL_DATUM_TRACK, TL_FACT_TRACKS},
        {TL_DATUM_AID, TL_FACT_AID},         {TL_DATUM_FLUID, TL_FACT_BATTERY},
        {TL_DATUM_FAULT, TL_FACT_BATTERY},   {TL_DATUM_ACCUMULATOR, TL_FACT_BATTERY},
    };
    size_t count = 0;
    uint32_t seen = 0;
    const struct tl_rule_row *rows = tl_rule_rows(&count);
    for (size_t i = 0; i < count; i++) {
        for (size_t k = 0; k < sizeof where / sizeof where[0]; k++) {
            bool about = rows[i].subject == where[k].subject && rows[i].kind == TL_CAUSE_SHIP &&
                         !rows[i].computed && rows[i].rule != TL_RULE_WAVE_OFF_ADVISED;
            if (about && tl_fact_row_of(rows[i].rule) != where[k].row) {
                fail_msg("%s stands in row %s", rows[i].name,
                         tl_fact_name(tl_fact_row_of(rows[i].rule)));
            }
            seen += about ? 1 : 0;
        }
    }
    assert_true(seen > 15);
}

static void
nothing_is_good_of_a_picture_that_does_not_count(void **state)
{
    (void)state;
    struct shown *shown = all_good();
    struct tl_fact fact[TL_FACT_ROWS];
    shown->view.any_verdict = false;
    look(shown, fact);
    for (int i = 0; i < TL_FACT_ROWS; i++) {
        assert_int_equal(fact[i].state, TL_FACT_OLD);
        assert_true(strncmp(fact[i].value, "[was ", 5) == 0);
    }
    shown->view.any_verdict = true;
    shown->state.picture_old = true;
    shown->state.picture_old_ms = 299; /* its picture is on the way; the page says so */
    assert_int_equal(count_good(shown), TL_FACT_ROWS);
    shown->state.picture_old_ms = 300;
    assert_int_equal(count_good(shown), 0);
    look(shown, fact);
    assert_string_equal(fact[TL_FACT_SETTING].value, "[was 34,000 lb on 1 2 3 4]");
    shown->state.picture = NULL;
    look(shown, fact);
    for (int i = 0; i < TL_FACT_ROWS; i++) {
        assert_int_equal(fact[i].state, TL_FACT_UNKNOWN);
        assert_string_equal(fact[i].value, "");
    }
    free(shown);
}

/* What a row remembers is what was said last, also when no event is known any more. */
static void
a_memory_keeps_the_words(void **state)
{
    (void)state;
    struct shown *shown = all_good();
    struct tl_fact fact[TL_FACT_ROWS];
    shown->view.any_verdict = false;
    shown->view.event_known = false;
    shown->view.event = (struct tl_event){0};
    look(shown, fact);
    assert_string_equal(fact[TL_FACT_SETTING].value, "[was 34,000 lb on 1 2 3 4]");
    assert_string_equal(fact[TL_FACT_DECK].value, "[was clear]");
    free(shown);
}

static void
more_causes_than_fit_leave_no_row_good(void **state)
{
    (void)state;
    struct shown *shown = all_good();
    shown->picture.cause_count = TL_CAUSES_MAX;
    for (uint32_t i = 0; i < TL_CAUSES_MAX; i++) {
        shown->picture.cause[i] =
            (struct tl_cause){.rule = TL_RULE_DECK_FOUL, .state = TL_CAUSE_WRONG};
    }
    assert_int_equal(count_good(shown), 0);
    free(shown);
}

static void
what_differs_stands_first(void **state)
{
    (void)state;
    struct shown *shown = all_good();
    struct tl_fact fact[TL_FACT_ROWS];
    shown_word(shown, "engine-3", TL_DATUM_SET, 0)->as.set_lb = 40000;
    shown_word(shown, "primary", TL_DATUM_REPEATER, 3)->as.repeater_lb = 40000;
    look(shown, fact);
    assert_string_equal(fact[TL_FACT_SETTING].value, "40,000 lb on 3; 34,000 lb on 1 2 4");
    shown_word(shown, "engine-2", TL_DATUM_SET, 0)->known = false;
    look(shown, fact);
    assert_string_equal(fact[TL_FACT_SETTING].value, "unknown 2; 40,000 lb on 3; 34,000 lb on 1 4");
    shown_word(shown, "wires", TL_DATUM_SHEAVE, 2)->as.sheave.state = TL_SHEAVE_DOWN;
    look(shown, fact);
    assert_string_equal(fact[TL_FACT_WIRES].value, "sheave DOWN 2; rigged, up 1 3 4");
    assert_int_equal(fact[TL_FACT_WIRES].state, TL_FACT_WRONG);
    assert_int_equal(fact[TL_FACT_SETTING].state, TL_FACT_WRONG);
    free(shown);
}

static void
dials_that_read_otherwise_stand_before_the_settings(void **state)
{
    (void)state;
    struct shown *shown = all_good();
    struct tl_fact fact[TL_FACT_ROWS];
    shown_word(shown, "primary", TL_DATUM_REPEATER, 2)->known = false;
    look(shown, fact);
    assert_string_equal(fact[TL_FACT_SETTING].value, "dial unknown 2; 34,000 lb on 1 2 3 4");
    assert_int_equal(fact[TL_FACT_SETTING].state, TL_FACT_UNKNOWN);
    shown_word(shown, "primary", TL_DATUM_REPEATER, 2)->known = true;
    shown_word(shown, "primary", TL_DATUM_REPEATER, 2)->as.repeater_lb = 40000;
    look(shown, fact);
    assert_string_equal(fact[TL_FACT_SETTING].value, "dial 40,000 lb on 2; 34,000 lb on 1 2 3 4");
    shown->config.ship.rule_off[TL_RULE_REPEATER_DIFFERS] = true;
    look(shown, fact);
    assert_string_equal(fact[TL_FACT_SETTING].value, "34,000 lb on 1 2 3 4");
    free(shown);
}

static void
own_rows_are_marked(void **state)
{
    (void)state;
    struct shown *shown = all_good();
    struct tl_fact fact[TL_FACT_ROWS];
    tl_ui_facts(&shown->state, tl_config_node(&shown->config, "deck"), fact);
    assert_true(fact[TL_FACT_DECK].mine);
    assert_false(fact[TL_FACT_SETTING].mine);
    tl_ui_facts(&shown->state, tl_config_node(&shown->config, "engine-3"), fact);
    assert_true(fact[TL_FACT_SETTING].mine && fact[TL_FACT_BATTERY].mine);
    assert_false(fact[TL_FACT_DECK].mine);
    free(shown);
}

/* NUREG-0700 asks that displays of different states are told apart at a glance; the 3 is ours. */
static void
no_two_words_of_a_state_are_nearly_alike(void **state)
{
    (void)state;
    for (int a = 0; a <= TL_FACT_UNUSED; a++) {
        for (int b = 0; b < a; b++) {
            char one[STATE_CELLS + 1];
            char two[STATE_CELLS + 1];
            int apart = 0;
            (void)snprintf(one, sizeof one, "%-8s", tl_fact_word((enum tl_fact_state)a));
            (void)snprintf(two, sizeof two, "%-8s", tl_fact_word((enum tl_fact_state)b));
            for (int i = 0; i < STATE_CELLS; i++) {
                apart += one[i] != two[i] ? 1 : 0;
            }
            if (apart < APART) {
                fail_msg("'%s' and '%s' differ in %d cells", one, two, apart);
            }
        }
        assert_true(strlen(tl_fact_word((enum tl_fact_state)a)) <= STATE_CELLS);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_row_is_good_when_all_is_said),
        cmocka_unit_test(no_row_is_good_without_each_of_its_words),
        cmocka_unit_test(a_wrong_word_is_wrong_whether_a_cause_says_so_or_not),
        cmocka_unit_test(without_an_event_only_the_stations_are_good),
        cmocka_unit_test(a_setting_may_differ_by_the_tolerance),
        cmocka_unit_test(a_barricade_pass_needs_no_hook),
        cmocka_unit_test(a_lost_station_takes_its_rows_with_it),
        cmocka_unit_test(every_cause_stands_in_its_row_and_in_no_other),
        cmocka_unit_test(rules_stand_where_their_words_are),
        cmocka_unit_test(nothing_is_good_of_a_picture_that_does_not_count),
        cmocka_unit_test(a_memory_keeps_the_words),
        cmocka_unit_test(more_causes_than_fit_leave_no_row_good),
        cmocka_unit_test(what_differs_stands_first),
        cmocka_unit_test(dials_that_read_otherwise_stand_before_the_settings),
        cmocka_unit_test(own_rows_are_marked),
        cmocka_unit_test(no_two_words_of_a_state_are_nearly_alike),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
