/* SPDX-License-Identifier: Apache-2.0 */
/*
 * keys.c - the keys of each room. See typing.h.
 *
 * The keys a, n, q, y, ? and the digits mean the same everywhere and stand in no table. What has no
 * key is typed: ENTER begins a line of the line mode.
 */
#include "clients/station/typing.h"

static const struct tl_key_row engine_keys[] = {
    {'s', "set", "set ", true},       {'m', "same", "same", false},
    {'b', "in", "battery in", false}, {'p', "psi", "accumulator ", true},
    {'g', "gap", "gap ", true},       {'r', "arrest", "arrest ", true},
};
static const struct tl_key_row deck_keys[] = {
    {'c', "CLEAR", "clear", false},
    {'f', "foul by", "foul ", true},
};
static const struct tl_key_row approach_keys[] = {
    {'i', "inbound", "inbound ", true}, {'l', "low on fuel", "low ", true},
    {'t', "trouble", "trouble ", true}, {'d', "divert", "divert ", true},
    {'g', "gone", "gone ", true},
};
static const struct tl_key_row platform_keys[] = {
    {'c', "call", "call ", true}, {'h', "hook", "hook down", false},
    {'t', "trap", "trap ", true}, {'b', "bolter", "bolter", false},
    {'f', "foul", "foul", false}, {'k', "no foul", "no foul", false},
};
static const struct tl_key_row primary_keys[] = {
    {'o', "order", "order ", true},   {'r', "dials", "repeaters ", true},
    {'e', "dial", "repeater ", true}, {'t', "take", "take", false},
    {'f', "foul", "foul", false},     {'k', "no foul", "no foul", false},
};
static const struct tl_key_row bridge_keys[] = {
    {'w', "wind", "wind ", true},
};
static const struct tl_key_row wires_keys[] = {
    {'r', "reset", "reset", false},         {'f', "free", "free", false},
    {'t', "retracted", "retracted", false}, {'u', "runs", "retracting", false},
    {'s', "sheave", "sheave ", true},
};
static const struct tl_key_row tracks_keys[] = {
    {'s', "all secured", "secured", false},
    {'t', "one track", "track ", true},
};
static const struct tl_key_row aid_keys[] = {
    {'d', "set for", "aid ", true},
    {'m', "same", "same", false},
    {'t', "target", "target ", true},
};
static const struct tl_key_row gear_officer_keys[] = {
    {'k', "no foul", "no foul", false},   {'c', "cable", "cable ", true},
    {'p', "life", "pendant-life ", true}, {'i', "inspect", "inspected ", true},
    {'s', "sign", "signed ", true},       {'r', "freed", "freed ", true},
};
static const struct tl_key_row barricade_keys[] = {
    {'s', "secure", "barricade secure", false},
    {'d', "ready", "barricade ready", false},
    {'r', "rigged", "barricade rigged", false},
    {'p', "power", "power ", true},
};
static const struct tl_key_row safety_keys[] = {
    {'f', "foul", "foul", false},
    {'k', "no foul", "no foul", false},
};

#define KEYS(rows) rows, sizeof(rows) / sizeof((rows)[0])

const struct tl_key_table *
tl_keys_of(enum tl_station_kind kind)
{
    static const struct tl_key_table tables[TL_STATION_KINDS] = {
        [TL_STATION_UNKNOWN] = {NULL, NULL, NULL, NULL, 0},
        [TL_STATION_ENGINE] = {"OUT OF BATTERY", "battery out", "set ", KEYS(engine_keys)},
        [TL_STATION_DECK] = {"FOUL", "foul", NULL, KEYS(deck_keys)},
        [TL_STATION_APPROACH] = {NULL, NULL, NULL, KEYS(approach_keys)},
        [TL_STATION_PLATFORM] = {"WAVEOFF", "wave-off", NULL, KEYS(platform_keys)},
        [TL_STATION_PRIMARY] = {"STOP", "stop", NULL, KEYS(primary_keys)},
        [TL_STATION_BRIDGE] = {"WIND OFF", "wind off", NULL, KEYS(bridge_keys)},
        [TL_STATION_WIRES] = {"NOT FREE", "held", NULL, KEYS(wires_keys)},
        [TL_STATION_TRACKS] = {"TRACKS OPEN", "open", NULL, KEYS(tracks_keys)},
        [TL_STATION_AID] = {"AID FAULT", "fault", NULL, KEYS(aid_keys)},
        [TL_STATION_GEAR_OFFICER] = {"FOUL", "foul", NULL, KEYS(gear_officer_keys)},
        [TL_STATION_BARRICADE] = {"PARTIAL", "barricade partial", NULL, KEYS(barricade_keys)},
        [TL_STATION_SAFETY] = {"STOP", "stop", NULL, KEYS(safety_keys)},
    };
    return &tables[kind < TL_STATION_KINDS ? kind : TL_STATION_UNKNOWN];
}
