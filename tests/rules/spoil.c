/* SPDX-License-Identifier: Apache-2.0 */
/* spoil.c - see spoil.h. */
#include "tests/rules/spoil.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <string.h>

struct tl_datum *
spoil_datum(struct scene *scene, const char *station, enum tl_datum_kind kind, uint32_t slot)
{
    return &scene_held(scene, station, kind, slot)->datum;
}

static void
set_lb(struct scene *scene, const char *engine, uint32_t weight_lb)
{
    spoil_datum(scene, engine, TL_DATUM_SET, 0)->as.set_lb = weight_lb;
}

static void
set_all(struct scene *scene, uint32_t weight_lb)
{
    static const char *const engines[] = {"engine-1", "engine-2", "engine-3", "engine-4"};
    for (uint32_t i = 0; i < 4; i++) {
        set_lb(scene, engines[i], weight_lb);
        spoil_datum(scene, "primary", TL_DATUM_REPEATER, i + 1)->as.repeater_lb = weight_lb;
    }
}

/* The plover of the ship in memory: 34,000 lb +- 1,000 for the type, +- 500 to the order. */
static void
at_type_upper(struct scene *s)
{
    set_lb(s, "engine-3", 35000);
}
static void
past_type_upper(struct scene *s)
{
    set_lb(s, "engine-3", 35001);
}
static void
at_type_lower(struct scene *s)
{
    set_lb(s, "engine-3", 33000);
}
static void
past_type_lower(struct scene *s)
{
    set_lb(s, "engine-3", 32999);
}
static void
at_order_upper(struct scene *s)
{
    set_all(s, 34500);
}
static void
past_order_upper(struct scene *s)
{
    set_all(s, 34501);
}
void
spoil_other_aircraft(struct scene *s)
{
    set_lb(s, "engine-3", 40000);
}
static void
not_alike(struct scene *s)
{
    set_lb(s, "engine-2", 34500);
    spoil_datum(s, "primary", TL_DATUM_REPEATER, 2)->as.repeater_lb = 34500;
}
void
spoil_set_unknown(struct scene *s)
{
    scene_drop(s, "engine-1", TL_DATUM_SET, 0);
}
static void
set_other_event(struct scene *s)
{
    spoil_datum(s, "engine-1", TL_DATUM_SET, 0)->stated_for[0].pass = 2;
}
static void
order_off_table(struct scene *s)
{
    s->fold.list.event[0].order.weight_lb = 40000;
    set_all(s, 40000);
}
static void
repeater_off(struct scene *s)
{
    spoil_datum(s, "primary", TL_DATUM_REPEATER, 4)->as.repeater_lb = 34001;
}
void
spoil_repeater_unread(struct scene *s)
{
    scene_drop(s, "primary", TL_DATUM_REPEATER, 4);
}
static void
repeater_other_event(struct scene *s)
{
    spoil_datum(s, "primary", TL_DATUM_REPEATER, 4)->stated_for[0].pass = 9;
}
void
spoil_battery_out(struct scene *s)
{
    spoil_datum(s, "engine-2", TL_DATUM_BATTERY, 0)->as.battery = TL_BATTERY_OUT;
}
void
spoil_battery_unknown(struct scene *s)
{
    scene_drop(s, "engine-2", TL_DATUM_BATTERY, 0);
}
static void
battery_other_event(struct scene *s)
{
    spoil_datum(s, "engine-2", TL_DATUM_BATTERY, 0)->stated_for[0].pass = 2;
}
static void
out_of_service(struct scene *s)
{
    s->config.gear.engine[1].in_service = false;
    set_lb(s, "engine-2", 10000);
}
static void
none_in_service(struct scene *s)
{
    for (uint32_t i = 0; i < 4; i++) {
        s->config.gear.engine[i].in_service = false;
    }
}
static void
deck_unknown(struct scene *s)
{
    scene_drop(s, "deck", TL_DATUM_DECK, 0);
}
static void
deck_other_event(struct scene *s)
{
    spoil_datum(s, "deck", TL_DATUM_DECK, 0)->stated_for[0].pass = 2;
}
static void
foul(struct scene *s, const char *station, enum tl_foul_reason reason, bool was_clear)
{
    spoil_datum(s, station, TL_DATUM_DECK, 0)->as.deck =
        (struct tl_deck){.state = TL_DECK_FOUL, .reason = reason, .was_clear = was_clear};
}
void
spoil_foul_routine(struct scene *s)
{
    foul(s, "deck", TL_FOUL_EQUIPMENT, false);
}
static void
foul_after_clear(struct scene *s)
{
    foul(s, "deck", TL_FOUL_EQUIPMENT, true);
}
static void
line_routine(struct scene *s)
{
    foul(s, "deck", TL_FOUL_AIRCRAFT, false);
}
static void
line_after_clear(struct scene *s)
{
    foul(s, "deck", TL_FOUL_PERSON, true);
}
static void
foul_by_platform(struct scene *s)
{
    foul(s, "platform", TL_FOUL_WIRE, false);
}
static void
foul_word_missing(struct scene *s)
{
    scene_drop(s, "platform", TL_DATUM_DECK, 0);
}
static void
foul_of_an_earlier_life(struct scene *s)
{
    struct tl_told *told = scene_told(s, "platform");
    scene_drop(s, "platform", TL_DATUM_DECK, 0);
    told->old_foul = true;
    told->old_foul_datum.kind = TL_DATUM_DECK;
    told->old_foul_datum.known = true;
    told->old_foul_datum.as.deck.state = TL_DECK_FOUL;
    told->old_foul_datum.as.deck.reason = TL_FOUL_WIRE;
}
static void
hook_not_down(struct scene *s)
{
    spoil_datum(s, "platform", TL_DATUM_HOOK, 0)->as.hook = TL_HOOK_NOT_DOWN;
}
void
spoil_hook_unknown(struct scene *s)
{
    scene_drop(s, "platform", TL_DATUM_HOOK, 0);
}
void
spoil_call_unknown(struct scene *s)
{
    scene_drop(s, "platform", TL_DATUM_CALL, 0);
}
static void
call_other_type(struct scene *s)
{
    memcpy(spoil_datum(s, "platform", TL_DATUM_CALL, 0)->as.call.type, "curlew", sizeof "curlew");
}
static void
call_other_side(struct scene *s)
{
    spoil_datum(s, "platform", TL_DATUM_CALL, 0)->as.call.side = 205;
}
static void
inbound(struct scene *s, uint32_t side, const char *type)
{
    struct tl_inbound *in = &spoil_datum(s, "approach", TL_DATUM_INBOUND, side)->as.inbound;
    in->side = side;
    memcpy(in->type, type, strlen(type) + 1);
}
static void
inbound_same(struct scene *s)
{
    inbound(s, SCENE_SIDE, "plover");
}
static void
inbound_other_type(struct scene *s)
{
    inbound(s, SCENE_SIDE, "dunlin");
}
static void
inbound_other_side(struct scene *s)
{
    inbound(s, 117, "curlew");
}
static void
type_unknown(struct scene *s)
{
    memcpy(s->fold.list.event[0].order.type, "phalarope", sizeof "phalarope");
    memcpy(spoil_datum(s, "platform", TL_DATUM_CALL, 0)->as.call.type, "phalarope",
           sizeof "phalarope");
}
static void
order_unknown(struct scene *s)
{
    s->fold.list.event[0].order_known = false;
}
static void
no_event(struct scene *s)
{
    s->fold.list.current.pass = 0;
}
void
spoil_wind_unknown(struct scene *s)
{
    scene_told(s, "bridge")->sample_count = 0;
}
static void
wind_disagrees(struct scene *s)
{
    scene_told(s, "bridge")->samples[0].as.wind.state = TL_WIND_DISAGREE;
}
static void
wind_at_validity(struct scene *s)
{
    scene_told(s, "bridge")->samples[0].age_ms = 3000;
}
static void
wind_past_validity(struct scene *s)
{
    scene_told(s, "bridge")->samples[0].age_ms = 3001;
}
static void
wind_keyed_at_validity(struct scene *s)
{
    scene_told(s, "bridge")->samples[0].as.wind.keyed = true;
    scene_told(s, "bridge")->samples[0].age_ms = 300000;
}
static void
wind_age_at_its_end(struct scene *s)
{
    scene_told(s, "bridge")->samples[0].age_ms = UINT32_MAX;
}
static void
echo_at_limit(struct scene *s)
{
    scene_told(s, "engine-4")->echo_sent_ms = SCENE_NOW_MS - 800;
}
static void
echo_past_limit(struct scene *s)
{
    scene_told(s, "engine-4")->echo_sent_ms = SCENE_NOW_MS - 801;
}
static void
back_at_hold(struct scene *s)
{
    scene_told(s, "deck")->back_ms = SCENE_NOW_MS - 3000;
}
static void
back_within_hold(struct scene *s)
{
    scene_told(s, "deck")->back_ms = SCENE_NOW_MS - 2999;
}
static void
lost(struct scene *s)
{
    scene_told(s, "deck")->live = false;
}
static void
twin(struct scene *s)
{
    scene_told(s, "deck")->twin = true;
}
static void
restarted(struct scene *s)
{
    s->fold.list.restarted = true;
}
static void
peer_differs(struct scene *s)
{
    s->outside.peer_count = 1;
    memset(&s->outside.peer[0], 0, sizeof s->outside.peer[0]);
    memcpy(s->outside.peer[0].id, "validator-2", sizeof "validator-2");
    s->outside.peer[0].differ = true;
}
static void
peer_differed(struct scene *s)
{
    peer_differs(s);
    s->outside.peer[0].differ = false;
    s->outside.peer[0].differ_back_ms = SCENE_NOW_MS - 2999;
}
static void
peer_differed_long_ago(struct scene *s)
{
    peer_differed(s);
    s->outside.peer[0].differ_back_ms = SCENE_NOW_MS - 3000;
}
static void
only_notes(struct scene *s)
{
    s->outside.peer_count = 1;
    memset(&s->outside.peer[0], 0, sizeof s->outside.peer[0]);
    memcpy(s->outside.peer[0].id, "validator-2", sizeof "validator-2");
    s->outside.peer[0].lost = true;
    s->outside.bus_count = 1;
    memset(&s->outside.bus[0], 0, sizeof s->outside.bus[0]);
    memcpy(s->outside.bus[0].id, "bus-a", sizeof "bus-a");
    s->outside.bus[0].degraded = true;
    s->outside.notice_count = 1;
    s->outside.notice[0].rule = TL_RULE_REFUSED_PUBLISHER;
    memcpy(s->outside.notice[0].node, "engine-1", sizeof "engine-1");
}

static const struct spoil_row rows[] = {
    {"set at the upper limit of the type, off the order", at_type_upper,
     "setting-not-ordered:engine-3"},
    {"set past the upper limit of the type", past_type_upper, "setting-other-aircraft:engine-3"},
    {"set at the lower limit of the type", at_type_lower, "setting-not-ordered:engine-3"},
    {"set past the lower limit of the type", past_type_lower, "setting-other-aircraft:engine-3"},
    {"all at the limit of the order", at_order_upper, ""},
    {"all past the limit of the order", past_order_upper,
     "setting-not-ordered:engine-1 setting-not-ordered:engine-2 setting-not-ordered:engine-3 "
     "setting-not-ordered:engine-4"},
    {"one engine for another aircraft is one cause", spoil_other_aircraft,
     "setting-other-aircraft:engine-3"},
    {"each right, not alike", not_alike, "engines-disagree"},
    {"set not stated", spoil_set_unknown, "setting-not-ordered:engine-1?"},
    {"set stated for another event", set_other_event, "setting-not-ordered:engine-1?"},
    {"order off the type's table", order_off_table,
     "setting-other-aircraft:engine-1 setting-other-aircraft:engine-2 "
     "setting-other-aircraft:engine-3 setting-other-aircraft:engine-4"},
    {"repeater one pound off", repeater_off, "repeater-differs:engine-4"},
    {"repeater not read", spoil_repeater_unread, "repeater-differs:engine-4?"},
    {"repeater read for another event", repeater_other_event, "repeater-differs:engine-4?"},
    {"battery out", spoil_battery_out, "not-in-battery:engine-2?"},
    {"battery not stated", spoil_battery_unknown, "not-in-battery:engine-2?"},
    {"battery stated for another event", battery_other_event, "not-in-battery:engine-2?"},
    {"engine out of service is not judged", out_of_service, ""},
    {"no engine in service", none_in_service, "no-engine"},
    {"deck not said clear", deck_unknown, "deck-foul:deck?"},
    {"deck clear for another event", deck_other_event, "deck-foul:deck?"},
    {"foul as a matter of course", spoil_foul_routine, "deck-foul:deck?"},
    {"foul after clear", foul_after_clear, "deck-foul:deck"},
    {"over the line as a matter of course", line_routine, "line-crossed:deck?"},
    {"over the line after clear", line_after_clear, "line-crossed:deck"},
    {"foul held by another station", foul_by_platform, "deck-foul:platform"},
    {"no word on foul", foul_word_missing, "foul-word-missing:platform?"},
    {"foul of an earlier life", foul_of_an_earlier_life, "deck-foul:platform"},
    {"hook not down", hook_not_down, "hook-not-down:platform"},
    {"hook not reported", spoil_hook_unknown, "hook-not-down:platform?"},
    {"call not heard", spoil_call_unknown, "type-called-differs:platform?"},
    {"call of another type", call_other_type, "type-called-differs:platform"},
    {"call of another side number", call_other_side, "type-called-differs:platform"},
    {"inbound of the same type", inbound_same, ""},
    {"inbound of another type", inbound_other_type, "type-called-differs:approach"},
    {"inbound of another aircraft", inbound_other_side, ""},
    {"type not in the table", type_unknown, "type-unknown"},
    {"order not complete", order_unknown,
     "order-unknown:primary? setting-not-ordered:engine-1? setting-not-ordered:engine-2? "
     "setting-not-ordered:engine-3? setting-not-ordered:engine-4?"},
    {"no current event", no_event, "no-event?"},
    {"wind not there", spoil_wind_unknown, "wind-unknown:bridge?"},
    {"winds disagree", wind_disagrees, "wind-unknown:bridge"},
    {"wind as old as it may be", wind_at_validity, ""},
    {"wind one millisecond older", wind_past_validity, "wind-unknown:bridge?"},
    {"keyed wind as old as it may be", wind_keyed_at_validity, ""},
    {"wind of the greatest age", wind_age_at_its_end, "wind-unknown:bridge?"},
    {"echo as old as it may be", echo_at_limit, ""},
    {"echo one millisecond older", echo_past_limit, "station-lost:engine-4"},
    {"back for 3.0 s", back_at_hold, ""},
    {"back for one millisecond less", back_within_hold, "station-lost:deck~"},
    {"station lost", lost, "station-lost:deck"},
    {"two writers", twin, "two-writers:deck"},
    {"primary restarted", restarted, "primary-restarted:primary"},
    {"validators differ", peer_differs, "validators-differ:validator-2"},
    {"validators differed within the hold", peer_differed, "validators-differ:validator-2~"},
    {"validators differed before the hold", peer_differed_long_ago, ""},
    {"notes do not force", only_notes, ""},
};

const struct spoil_row *
spoil_rows(size_t *count)
{
    *count = sizeof rows / sizeof rows[0];
    return rows;
}
