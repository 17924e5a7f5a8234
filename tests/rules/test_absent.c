/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_absent - no event, no station of a kind, and what the tool knows beside the stations
 *
 * A ship without a station lists its rules as off; when it forgets to, the rule still speaks and
 * nothing is READY.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "tests/rules/tell.h"

typedef void change_fn(struct scene *scene);

struct row {
    const char *name;
    change_fn *change;
    const char *lines;
};

static void
no_event(struct scene *s)
{
    s->fold.list.current.pass = 0;
}
static void
no_event_and_nothing_said(struct scene *s)
{
    s->fold.list.current.pass = 0;
    for (uint32_t i = 0; i < s->fold.told_count; i++) {
        s->fold.told[i].held_count = 0;
        s->fold.told[i].sample_count = 0;
    }
}
static void
no_engine_2(struct scene *s)
{
    scene_told(s, "engine-2");
    for (uint32_t i = 0; i < s->config.node_count; i++) {
        if (strcmp(s->config.node[i].id, "engine-2") == 0) {
            s->config.node[i].unit = 9;
        }
    }
}
static void
no_platform(struct scene *s)
{
    tell_remove(s, "platform");
}
static void
no_primary_word_missing(struct scene *s)
{
    tell_remove(s, "primary");
    scene_drop(s, "platform", TL_DATUM_HOOK, 0);
    s->fold.list.event[0].order_known = false;
}
static void
no_bridge(struct scene *s)
{
    tell_remove(s, "bridge");
}
static void
no_wires(struct scene *s)
{
    tell_remove(s, "wires");
}
static void
no_tracks(struct scene *s)
{
    tell_remove(s, "tracks");
}
static void
no_aid(struct scene *s)
{
    tell_remove(s, "aid");
}
static void
no_gear_officer(struct scene *s)
{
    tell_remove(s, "gear-officer");
}
static void
no_barricade(struct scene *s)
{
    tell_remove(s, "barricade");
}
static void
no_owner(struct scene *s)
{
    memcpy(s->config.clear_owner, "nobody", sizeof "nobody");
}
static void
primary_restarted(struct scene *s)
{
    s->fold.list.restarted = true;
}
static void
restarted_without_primary(struct scene *s)
{
    s->fold.list.restarted = true;
    tell_remove(s, "primary");
}
static void
list_not_heard(struct scene *s)
{
    s->fold.list.heard = false;
}
static void
list_not_heard_without_primary(struct scene *s)
{
    s->fold.list.heard = false;
    tell_remove(s, "primary");
}
/* Primary is there and says that there is no recovery: then that is not unheard. */
static void
no_recovery(struct scene *s)
{
    s->fold.list.heard = false;
    s->fold.list.current.pass = 0;
    scene_drop(s, "primary", TL_DATUM_RECOVERY, 0);
}
static void
no_recovery_not_based(struct scene *s)
{
    no_recovery(s);
    scene_told(s, "primary")->based = false;
}
static void
no_recovery_lost(struct scene *s)
{
    no_recovery(s);
    tell_lose(s, "primary");
}
static void
never_joined(struct scene *s)
{
    tell_lose(s, "engine-4");
    scene_told(s, "engine-4")->ever_live = false;
}
static void
never_joined_yet(struct scene *s)
{
    never_joined(s);
    scene_told(s, "engine-4")->away_ms = SCENE_NOW_MS - TL_NOT_READY_MS;
}
static void
never_joined_just_too_long(struct scene *s)
{
    never_joined(s);
    scene_told(s, "engine-4")->away_ms = SCENE_NOW_MS - TL_NOT_READY_MS - 1;
}
static void
never_joined_no_recovery_open(struct scene *s)
{
    never_joined(s);
    s->fold.list.open = false;
}
static void
joined_once(struct scene *s)
{
    tell_lose(s, "engine-4");
    scene_told(s, "engine-4")->away_ms = SCENE_NOW_MS;
}
static void
not_based(struct scene *s)
{
    scene_told(s, "engine-4")->based = false;
}
static void
twin(struct scene *s)
{
    scene_told(s, "engine-4")->twin = true;
}
static void
peer(struct scene *s, uint32_t i, const char *id, uint64_t incarnation)
{
    s->outside.peer_count = i + 1;
    memset(&s->outside.peer[i], 0, sizeof s->outside.peer[i]);
    memcpy(s->outside.peer[i].id, id, strlen(id) + 1);
    s->outside.peer[i].incarnation = incarnation;
}
static void
peer_differs(struct scene *s)
{
    peer(s, 0, "validator-1", 50);
    peer(s, 1, "validator-2", 51);
    s->outside.peer[1].differ = true;
}
static void
peer_differed(struct scene *s)
{
    peer(s, 0, "validator-2", 51);
    s->outside.peer[0].differ_back_ms = SCENE_NOW_MS - TL_HOLD_MS + 1;
}
static void
peer_differed_at_hold(struct scene *s)
{
    peer(s, 0, "validator-2", 51);
    s->outside.peer[0].differ_back_ms = SCENE_NOW_MS - TL_HOLD_MS;
}
static void
peers(struct scene *s)
{
    peer(s, 0, "validator-1", 50);
    peer(s, 1, "validator-2", 51);
    s->outside.peer[0].lost = true;
    s->outside.peer[0].keys_differ = true;
    s->outside.peer[1].keys_differ = true;
}
static void
first_peer(struct scene *s)
{
    peer(s, 0, "validator-2", 51);
    s->outside.peer[0].keys_differ = true;
    s->outside.bus_count = 1;
    s->outside.bus[0] = (struct tl_bus_condition){.id = "bus-a", .degraded = true};
}
static void
first_station(struct scene *s)
{
    tell_lose(s, "engine-1");
}
static void
buses(struct scene *s)
{
    s->outside.bus_count = 2;
    memset(s->outside.bus, 0, 2 * sizeof s->outside.bus[0]);
    memcpy(s->outside.bus[0].id, "bus-a", sizeof "bus-a");
    memcpy(s->outside.bus[1].id, "bus-b", sizeof "bus-b");
    s->outside.bus[1].degraded = true;
}
static void
notices(struct scene *s)
{
    s->outside.notice_count = 2;
    s->outside.notice[0] = (struct tl_notice){.rule = TL_RULE_REFUSED_PUBLISHER,
                                              .node = "engine-1",
                                              .reason = TL_REFUSAL_JUMP,
                                              .incarnation = 77};
    s->outside.notice[1] =
        (struct tl_notice){.rule = TL_RULE_OTHER_BODY, .node = "deck", .incarnation = 78};
}
static void
recorder(struct scene *s)
{
    s->outside.recorder_lost = true;
    memcpy(s->outside.recorder, "bus-a", sizeof "bus-a");
}
static void
out_of_service(struct scene *s)
{
    s->fold.lost_count = 1;
    memcpy(s->fold.lost_validator[0], "validator-2", sizeof "validator-2");
    for (uint32_t i = 0; i < 2; i++) {
        struct tl_held *held =
            scene_held(s, i == 0 ? "primary" : "safety", TL_DATUM_OUT_OF_SERVICE, 0);
        memcpy(held->datum.as.out_of_service, "validator-2", sizeof "validator-2");
    }
}
static void
voice_differed(struct scene *s)
{
    scene_told(s, "engine-2")->voice_differed = true;
    scene_told(s, "engine-2")->voice_differs_ms = SCENE_NOW_MS - TL_NOTICE_MS + 1;
    scene_told(s, "engine-1")->voice_differed = true;
    scene_told(s, "engine-1")->voice_differs_ms = SCENE_NOW_MS - TL_NOTICE_MS;
}
static void
by_voice(struct scene *s)
{
    static const struct tl_datum set = {.kind = TL_DATUM_SET, .as.set_lb = SCENE_LB};
    static const struct tl_datum psi = {.kind = TL_DATUM_ACCUMULATOR, .as.accumulator_psi = 400};
    tell_lose(s, "engine-2");
    tell_voices(s, "deck", "gear-officer", "engine-2", &set);
    tell_voices(s, "deck", "gear-officer", "engine-2", &psi);
    (void)tell_voice(s, "deck", "engine-1", &set);
}
static void
override(struct scene *s)
{
    scene_held(s, "gear-officer", TL_DATUM_CABLE, 1)->datum.as.cable.wear.traps = 61;
    for (uint32_t i = 0; i < 2; i++) {
        struct tl_held *held = scene_held(s, i == 0 ? "primary" : "safety", TL_DATUM_OVERRIDE, 1);
        held->datum.as.override = (struct tl_override){
            .rule = TL_RULE_DETORQUE_OVERDUE, .station = "gear-officer", .valid_s = 600};
    }
    scene_held(s, "primary", TL_DATUM_OVERRIDE, 2)->datum.as.override = (struct tl_override){
        .rule = TL_RULE_BARRICADE_POWER, .station = "barricade", .valid_s = 600};
}

/* clang-format off */
static const struct row rows[] = {
    {"no event", no_event,
     "no-event pending"},
    {"no event and nothing said", no_event_and_nothing_said,
     "no-event pending\n"
     "foul-word-missing:platform pending\n"
     "foul-word-missing:primary pending\n"
     "foul-word-missing:gear-officer pending\n"
     "foul-word-missing:safety pending"},
    {"no engine 2", no_engine_2,
     "setting-not-ordered pending key primary order 1\n"
     "not-in-battery pending key primary order 1\n"
     "service-unknown pending key primary order 1\n"
     "engine-fault pending key primary order 1\n"
     "fluid-level pending key primary order 1\n"
     "accumulator-pressure pending key primary order 1\n"
     "crosshead-gap pending key primary order 1"},
    {"no platform", no_platform,
     "type-called-differs pending key primary order 1\n"
     "hook-not-down pending key primary order 1"},
    {"no primary word missing", no_primary_word_missing,
     "order-unknown pending\n"
     "setting-not-ordered:engine-1 pending\n"
     "setting-not-ordered:engine-2 pending\n"
     "setting-not-ordered:engine-3 pending\n"
     "setting-not-ordered:engine-4 pending\n"
     "hook-not-down:platform pending"},
    {"no bridge", no_bridge,
     "wind-unknown pending key primary order 1\n"
     "deck-motion pending key primary order 1\n"
     "ship-not-steady pending key primary order 1"},
    {"no wires", no_wires,
     "rig-unknown pending needs 1/and more key primary order 1\n"
     "sheave-down pending needs 1/and more key primary order 1\n"
     "pendant-height pending needs 1/and more key primary order 1\n"
     "wire-not-free pending key primary order 1\n"
     "retract-running pending key primary order 1"},
    {"no tracks", no_tracks,
     "track-open pending needs 1/and more key primary order 1"},
    {"no aid", no_aid,
     "aid-not-for-type pending key primary order 1"},
    {"no gear officer", no_gear_officer,
     "inspection-overdue pending needs 1 key primary order 1\n"
     "inspection-overdue pending needs 2 key primary order 1\n"
     "inspection-overdue pending needs 3 key primary order 1\n"
     "inspection-overdue pending needs 4 key primary order 1\n"
     "pendant-life pending needs 1 key primary order 1\n"
     "pendant-life pending needs 2 key primary order 1\n"
     "pendant-life pending needs 3 key primary order 1\n"
     "pendant-life pending needs 4 key primary order 1\n"
     "detorque-overdue pending needs 1 key primary order 1\n"
     "detorque-overdue pending needs 2 key primary order 1\n"
     "detorque-overdue pending needs 3 key primary order 1\n"
     "detorque-overdue pending needs 4 key primary order 1"},
    {"no barricade", no_barricade,
     "barricade-not-stowed pending key primary order 1"},
    {"no owner", no_owner,
     "deck-foul pending key primary order 1"},
    {"primary restarted", primary_restarted,
     "primary-restarted:primary wrong key primary\n"
     "picture-lost:primary note said 24 key primary"},
    {"restarted without primary", restarted_without_primary,
     "unproven wrong"},
    {"list not heard", list_not_heard,
     "list-not-heard pending"},
    {"list not heard without primary", list_not_heard_without_primary,
     "list-not-heard pending"},
    {"no recovery", no_recovery,
     "no-event pending"},
    {"no recovery not based", no_recovery_not_based,
     "station-lost:primary wrong key primary\n"
     "list-not-heard pending\n"
     "no-event pending"},
    {"no recovery lost", no_recovery_lost,
     "station-lost:primary wrong key primary\n"
     "list-not-heard pending\n"
     "no-event pending"},
    {"never joined", never_joined,
     "station-lost:engine-4 wrong key engine-4\n"
     "picture-lost:engine-4 note said 20 key engine-4"},
    {"never joined yet", never_joined_yet,
     "station-lost:engine-4 pending key engine-4"},
    {"never joined just too long", never_joined_just_too_long,
     "station-lost:engine-4 wrong key engine-4\n"
     "picture-lost:engine-4 note said 20 key engine-4"},
    {"never joined no recovery open", never_joined_no_recovery_open,
     "station-lost:engine-4 pending key engine-4"},
    {"joined once", joined_once,
     "station-lost:engine-4 wrong key engine-4\n"
     "picture-lost:engine-4 note said 20 key engine-4"},
    {"not based", not_based,
     "station-lost:engine-4 wrong key engine-4\n"
     "picture-lost:engine-4 note said 20 key engine-4"},
    {"twin", twin,
     "two-writers:engine-4 wrong key engine-4\n"
     "picture-lost:engine-4 note said 21 key engine-4"},
    {"peer differs", peer_differs,
     "validators-differ:validator-2 wrong key validator-2!51\n"
     "picture-lost:validator-2 note said 22 key validator-2!51"},
    {"peer differed", peer_differed,
     "validators-differ:validator-2 holding key validator-2!51"},
    {"peer differed at hold", peer_differed_at_hold,
     ""},
    {"peers", peers,
     "validator-lost:validator-1 note key validator-1!50\n"
     "keys-differ:validator-2 note key validator-2!51\n"
     "picture-lost:validator-1 note said 23 key validator-1!50"},
    {"first peer and bus", first_peer,
     "bus-degraded:bus-a note key bus-a\n"
     "keys-differ:validator-2 note key validator-2!51"},
    {"first station", first_station, "station-lost:engine-1 wrong key engine-1\n"
     "picture-lost:engine-1 note said 20 key engine-1"},
    {"buses", buses,
     "bus-degraded:bus-b note key bus-b"},
    {"notices", notices,
     "refused-publisher:engine-1 note key engine-1!77 reason 37\n"
     "other-body:deck note key deck!78"},
    {"recorder", recorder,
     "recorder-lost:bus-a note key bus-a"},
    {"out of service", out_of_service,
     "one-validator:validator-2 note key validator-2"},
    {"voice differed", voice_differed,
     "voice-differs:engine-2 note key engine-2"},
    {"by voice", by_voice,
     "station-lost:engine-2 wrong key engine-2\n"
     "by-voice:engine-2 note key engine-2\n"
     "picture-lost:engine-2 note said 20 key engine-2"},
    {"override", override,
     "detorque-overdue:gear-officer overridden said 1 key gear-officer cable 1\n"
     "override-live:primary note said 45 key primary #45"},
};
/* clang-format on */

static void
each_is_told_in_full(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct scene *scene = scene_ready_full();
        tell_expect(scene, "before", "");
        assert_int_equal(scene->decision.word, TL_WORD_READY);
        rows[i].change(scene);
        tell_expect(scene, rows[i].name, rows[i].lines);
        free(scene);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_is_told_in_full),
    };
    return cmocka_run_group_tests_name("rules_absent", tests, NULL, NULL);
}
