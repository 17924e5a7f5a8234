/* SPDX-License-Identifier: Apache-2.0 */
/* test_word - whose word counts when several speak, and what two must sign; one case at a time. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "broker/core/picture/word.h"
#include "tests/rules/tell.h"

static const struct tl_datum track_word = {
    .kind = TL_DATUM_TRACK, .slot = 1, .as.track = TL_TRACK_SECURED};

static const struct tl_voice *
voiced(struct scene *scene)
{
    tl_people_update(&scene->fold, SCENE_NOW_MS);
    return tl_voice_of(&scene->fold, scene_told(scene, "tracks"), TL_DATUM_TRACK, 1);
}

/* The second signature has a minute, whichever of the two came first. */
static void
the_minute_counts_both_ways(void **state)
{
    (void)state;
    for (uint32_t i = 0; i < 2; i++) {
        struct scene *scene = scene_ready_full();
        scene_expect(scene, "before", "");
        tell_lose(scene, "tracks");
        struct tl_held *deck = tell_voice(scene, "deck", "tracks", &track_word);
        assert_null(voiced(scene));
        struct tl_held *gear = tell_voice(scene, "gear-officer", "tracks", &track_word);
        struct tl_held *earlier = i == 0 ? deck : gear;
        earlier->said_ms -= TL_CONFIRM_BY_MS;
        const struct tl_voice *voice = voiced(scene);
        assert_non_null(voice);
        assert_string_equal(voice->said_by->node->id, "deck");
        assert_string_equal(voice->confirmed_by->node->id, "gear-officer");
        assert_int_equal(voice->held.datum.voice_for[0], '\0');
        earlier->said_ms--;
        assert_null(voiced(scene));
        free(scene);
    }
}

/* Two that differ: what is toward safe stands, else the later; nobody confirms it. */
static void
of_two_that_differ_the_safer_or_the_later_stands(void **state)
{
    static const struct {
        enum tl_track_state first, second;
        int later_ms; /* the second after the first */
        enum tl_track_state stands;
    } table[] = {
        {TL_TRACK_SECURED, TL_TRACK_OPEN, -5, TL_TRACK_OPEN},
        {TL_TRACK_OPEN, TL_TRACK_SECURED, 5, TL_TRACK_OPEN},
        {TL_TRACK_OPEN, TL_TRACK_CREW, 5, TL_TRACK_CREW},
        {TL_TRACK_OPEN, TL_TRACK_CREW, 0, TL_TRACK_OPEN},
        {TL_TRACK_OPEN, TL_TRACK_CREW, -5, TL_TRACK_OPEN},
    };

    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct scene *scene = scene_ready_full();
        tell_lose(scene, "tracks");
        struct tl_held *first = tell_voice(scene, "deck", "tracks", &track_word);
        struct tl_held *second = tell_voice(scene, "gear-officer", "tracks", &track_word);
        assert_non_null(voiced(scene));
        first->datum.as.track = table[i].first;
        second->datum.as.track = table[i].second;
        second->said_ms = (uint64_t)((int64_t)first->said_ms + table[i].later_ms);
        assert_null(voiced(scene));
        assert_int_equal(scene->fold.voice_count, 1);
        assert_true(scene->fold.voice[0].disputed);
        assert_int_equal(scene->fold.voice[0].held.datum.as.track, table[i].stands);
        assert_string_equal(scene->fold.voice[0].said_by->node->id,
                            table[i].stands == table[i].first ? "deck" : "gear-officer");
        free(scene);
    }
}

/* Two values toward READY: the later stands, for nobody to count on. */
static void
of_two_values_the_later_stands(void **state)
{
    static const struct tl_datum set = {.kind = TL_DATUM_SET, .as.set_lb = 34000};

    (void)state;
    for (uint32_t i = 0; i < 2; i++) {
        struct scene *scene = scene_ready_full();
        tell_lose(scene, "engine-2");
        (void)tell_voice(scene, "deck", "engine-2", &set);
        struct tl_held *second = tell_voice(scene, "gear-officer", "engine-2", &set);
        second->datum.as.set_lb = 35000;
        second->said_ms += i == 0 ? 1 : 0;
        tl_people_update(&scene->fold, SCENE_NOW_MS);
        assert_int_equal(scene->fold.voice[0].held.datum.as.set_lb, i == 0 ? 35000 : 34000);
        assert_null(scene->fold.voice[0].confirmed_by);
        free(scene);
    }
}

/* What is said for who is no station is nobody's; what is one too many is not known. */
static void
a_voice_for_nobody_or_one_too_many_is_not_held(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene_expect(scene, "before", "");
    (void)tell_voice(scene, "deck", "viewer", &track_word);
    scene_expect(scene, "for a viewer", "");
    assert_int_equal(scene->fold.voice_count, 0);
    tell_lose(scene, "tracks");
    for (uint32_t i = 1; i <= TL_VOICED_MAX + 1; i++) {
        struct tl_datum word = track_word;
        word.slot = i;
        (void)tell_voice(scene, "deck", "tracks", &word);
    }
    tl_people_update(&scene->fold, SCENE_NOW_MS);
    assert_int_equal(scene->fold.voice_count, TL_VOICED_MAX);
    assert_int_equal(scene->fold.voice[TL_VOICED_MAX - 1].held.datum.slot, TL_VOICED_MAX);
    free(scene);
}

static const struct tl_datum foul_word = {.kind = TL_DATUM_DECK,
                                          .as.deck = {TL_DECK_FOUL, .reason = TL_FOUL_EQUIPMENT}};

/* Tracks and safety lost; as many words for the tracks as can be held: all such, the last open. */
static struct scene *
full_of_tracks(enum tl_track_state track)
{
    struct scene *scene = scene_ready_full();
    scene_expect(scene, "before", "");
    tell_lose(scene, "tracks");
    tell_lose(scene, "safety");
    for (uint32_t i = 1; i <= TL_VOICED_MAX; i++) {
        struct tl_datum word = track_word;
        word.slot = i;
        word.as.track = i == TL_VOICED_MAX ? TL_TRACK_OPEN : track;
        (void)tell_voice(scene, "deck", "tracks", &word);
    }
    return scene;
}

/* When no more can be held, one voice that says FOUL still stands: the last that is no danger goes. */
static void
a_foul_by_voice_takes_the_place_of_what_is_no_danger(void **state)
{
    (void)state;
    struct scene *scene = full_of_tracks(TL_TRACK_SECURED);
    struct tl_held *foul = tell_voice(scene, "primary", "safety", &foul_word);
    tl_people_update(&scene->fold, SCENE_NOW_MS);
    assert_int_equal(scene->fold.voice_count, TL_VOICED_MAX);
    const struct tl_voice *last = &scene->fold.voice[TL_VOICED_MAX - 1]; /* "open" stays as well */
    assert_int_equal(last->held.datum.as.track, TL_TRACK_OPEN);
    assert_ptr_equal(last[-1].told, scene_told(scene, "safety"));
    assert_ptr_equal(last[-1].said_by, scene_told(scene, "primary"));
    assert_null(last[-1].confirmed_by);
    char text[1024];
    assert_non_null(strstr(scene_causes(scene, text, sizeof text), "deck-foul:safety"));
    foul->datum.as.deck.state = TL_DECK_NO_FOUL; /* toward READY: for that there is no place */
    tl_people_update(&scene->fold, SCENE_NOW_MS);
    assert_ptr_equal(last[-1].told, scene_told(scene, "tracks"));
    assert_int_equal(last[-1].held.datum.slot, TL_VOICED_MAX - 1);
    free(scene);
}

/* Thirty-two dangers are as many as can be held, and one more is not worth one of them. */
static void
a_foul_by_voice_takes_no_place_of_another_danger(void **state)
{
    (void)state;
    struct scene *scene = full_of_tracks(TL_TRACK_OPEN);
    (void)tell_voice(scene, "primary", "safety", &foul_word);
    tl_people_update(&scene->fold, SCENE_NOW_MS);
    for (uint32_t i = 0; i < TL_VOICED_MAX; i++) {
        assert_int_equal(scene->fold.voice[i].held.datum.slot, i + 1);
    }
    free(scene);
}

/* No foul of another station is confirmed by the owner and primary; of those two, by any two. */
static void
no_foul_is_confirmed_by_the_owner_and_primary_or_for_them(void **state)
{
    static const struct {
        const char *one, *two, *station;
        bool confirmed;
    } table[] = {
        {"deck", "primary", "platform", true},          {"deck", "gear-officer", "platform", false},
        {"primary", "gear-officer", "platform", false}, {"deck", "gear-officer", "primary", true},
        {"primary", "gear-officer", "deck", true},
    };
    static const struct tl_datum none = {.kind = TL_DATUM_DECK,
                                         .as.deck = {.state = TL_DECK_NO_FOUL}};

    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        for (uint32_t turned = 0; turned < 2; turned++) {
            struct scene *scene = scene_ready_full();
            tell_lose(scene, table[i].station);
            tell_voices(scene, turned == 0 ? table[i].one : table[i].two,
                        turned == 0 ? table[i].two : table[i].one, table[i].station, &none);
            tl_people_update(&scene->fold, SCENE_NOW_MS);
            const struct tl_told *told = scene_told(scene, table[i].station);
            bool confirmed = tl_voice_of(&scene->fold, told, TL_DATUM_DECK, 0) != NULL;
            assert_int_equal(confirmed, table[i].confirmed);
            free(scene);
        }
    }
}

static struct tl_held *
sign(struct scene *scene, const char *signer, uint32_t slot, const char *station)
{
    struct tl_held *held = scene_held(scene, signer, TL_DATUM_OVERRIDE, slot);
    held->datum.as.override =
        (struct tl_override){.rule = TL_RULE_DETORQUE_OVERDUE, .valid_s = 600};
    memcpy(held->datum.as.override.station, station, strlen(station) + 1);
    return held;
}

static void
eight_overrides_are_held_at_most(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    for (uint32_t i = 1; i <= TL_OVERRIDES_MAX + 1; i++) {
        char station[TL_ID_CAP];
        (void)snprintf(station, sizeof station, "s%u", i);
        (void)sign(scene, "primary", i, station);
    }
    tl_people_update(&scene->fold, SCENE_NOW_MS);
    assert_int_equal(scene->fold.signed_count, TL_OVERRIDES_MAX);
    free(scene);
}

/* Any two, whatever their places: the first station of the ship and its first word too. */
static void
the_first_station_and_its_first_word_sign(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene_told(scene, "engine-1")->held_count = 0;
    (void)sign(scene, "engine-1", 1, "wires");
    (void)sign(scene, "safety", 1, "wires");
    tl_people_update(&scene->fold, SCENE_NOW_MS);
    assert_int_equal(scene->fold.signed_count, 1);
    assert_string_equal(scene->fold.signed_by_two[0].said_by->node->id, "engine-1");
    assert_string_equal(scene->fold.signed_by_two[0].confirmed_by->node->id, "safety");
    assert_int_equal(scene->fold.signed_by_two[0].until_ms, SCENE_NOW_MS - 5000 + 600000);
    tl_people_update(&scene->fold, SCENE_NOW_MS);
    assert_int_equal(scene->fold.signed_count, 1);
    assert_non_null(tl_override_of(&scene->fold, TL_RULE_DETORQUE_OVERDUE, "wires"));
    assert_null(tl_override_of(&scene->fold, TL_RULE_BARRICADE_POWER, "wires"));
    assert_null(tl_override_of(&scene->fold, TL_RULE_DETORQUE_OVERDUE, "aid"));
    free(scene);
}

/* Two rules at one station, and one rule signed by two apart, are as many overrides. */
static void
overrides_are_told_apart_by_rule_and_by_signer(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    (void)sign(scene, "primary", 1, "wires");
    sign(scene, "primary", 2, "wires")->datum.as.override.rule = TL_RULE_BARRICADE_POWER;
    tl_people_update(&scene->fold, SCENE_NOW_MS);
    assert_int_equal(scene->fold.signed_count, 2);
    (void)sign(scene, "safety", 3, "wires"); /* not under the same number: another one */
    tl_people_update(&scene->fold, SCENE_NOW_MS);
    assert_int_equal(scene->fold.signed_count, 3);
    free(scene);
}

/* The time runs from the first signature, whichever of the two it is. */
static void
an_override_runs_from_the_first_signature(void **state)
{
    (void)state;
    for (uint32_t i = 0; i < 2; i++) {
        struct scene *scene = scene_ready_full();
        struct tl_held *one = sign(scene, "primary", 1, "wires");
        struct tl_held *two = sign(scene, "safety", 1, "wires");
        struct tl_held *earlier = i == 0 ? one : two;
        earlier->said_ms -= 7;
        tl_people_update(&scene->fold, SCENE_NOW_MS);
        assert_int_equal(scene->fold.signed_count, 1);
        assert_int_equal(scene->fold.signed_by_two[0].until_ms, SCENE_NOW_MS - 5007 + 600000);
        free(scene);
    }
}

static void
put_out(struct scene *scene, const char *signer, uint32_t slot, const char *validator)
{
    struct tl_held *held = scene_held(scene, signer, TL_DATUM_OUT_OF_SERVICE, slot);
    memcpy(held->datum.as.out_of_service, validator, strlen(validator) + 1);
}

static void
a_validator_is_out_when_it_is_lost_and_two_have_signed(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    struct tl_fold *fold = &scene->fold;
    put_out(scene, "primary", 1, "validator-2");
    fold->lost_count = 1;
    memcpy(fold->lost_validator[0], "validator-2", sizeof "validator-2");
    tl_people_update(fold, SCENE_NOW_MS);
    assert_int_equal(fold->out_count, 0); /* one */
    put_out(scene, "safety", 1, "validator-2");
    tl_people_update(fold, SCENE_NOW_MS);
    assert_int_equal(fold->out_count, 1); /* listed once */
    tl_people_update(fold, SCENE_NOW_MS);
    assert_int_equal(fold->out_count, 1); /* and again, whatever was there before */
    assert_string_equal(fold->out_of_service[0], "validator-2");
    memcpy(fold->lost_validator[0], "validator-3", sizeof "validator-3");
    tl_people_update(fold, SCENE_NOW_MS);
    assert_int_equal(fold->out_count, 0); /* another is lost */
    fold->lost_count = 2;
    memcpy(fold->lost_validator[1], "validator-2", sizeof "validator-2");
    put_out(scene, "primary", 2, "validator-3");
    put_out(scene, "safety", 2, "validator-3");
    tl_people_update(fold, SCENE_NOW_MS);
    assert_int_equal(fold->out_count, 2);
    fold->lost_count = TL_VALIDATORS_MAX;
    memcpy(fold->lost_validator[2], "validator-4", sizeof "validator-4");
    memcpy(fold->lost_validator[3], "validator-5", sizeof "validator-5");
    for (uint32_t i = 0; i < 2; i++) {
        put_out(scene, i == 0 ? "primary" : "safety", 3, "validator-4");
        put_out(scene, i == 0 ? "primary" : "safety", 4, "validator-5");
    }
    tl_people_update(fold, SCENE_NOW_MS);
    assert_int_equal(fold->out_count, TL_VALIDATORS_MAX);
    free(scene);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_minute_counts_both_ways),
        cmocka_unit_test(of_two_that_differ_the_safer_or_the_later_stands),
        cmocka_unit_test(of_two_values_the_later_stands),
        cmocka_unit_test(a_voice_for_nobody_or_one_too_many_is_not_held),
        cmocka_unit_test(a_foul_by_voice_takes_the_place_of_what_is_no_danger),
        cmocka_unit_test(a_foul_by_voice_takes_no_place_of_another_danger),
        cmocka_unit_test(no_foul_is_confirmed_by_the_owner_and_primary_or_for_them),
        cmocka_unit_test(eight_overrides_are_held_at_most),
        cmocka_unit_test(the_first_station_and_its_first_word_sign),
        cmocka_unit_test(overrides_are_told_apart_by_rule_and_by_signer),
        cmocka_unit_test(an_override_runs_from_the_first_signature),
        cmocka_unit_test(a_validator_is_out_when_it_is_lost_and_two_have_signed),
    };
    return cmocka_run_group_tests_name("rules_word", tests, NULL, NULL);
}
