/* SPDX-License-Identifier: Apache-2.0 */
/*
 * target_line - lines typed at a station's terminal
 *
 * The first byte of an input chooses the station, the second what it knows (nothing heard yet, two
 * validators heard with an order and a call); then lines, each on what the ones before it said.
 * Understood: what would be said is in range, since the codec packs it and reads it again; it is said
 * by nobody who may not; what is toward READY waits for its confirm. Not understood: a sentence. All
 * that is answered is plain.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/fuzz/fuzz.h"
#include "tests/fuzz/pack.h"
#include "tests/station/desk.h"

enum {
    LINES_MAX = 12,
    LONG_LINE = TL_LINE_MAX + 40,
    ORDERED_PASS = 3
};

/* A desk points into itself: what it was at first is copied back into the same place. */
struct place {
    struct desk *desk;
    struct desk *at_first[2]; /* nothing heard; all heard */
};
struct world {
    struct place places[TL_NODES_MAX];
    uint32_t place_count;
    struct tl_bell bell;
};

const char *const fuzz_name = "line";

/* What leaves a station is what a receiver takes. */
static void
send(void *ctx, const struct tl_topic *topic, const struct tl_envelope *envelope)
{
    (void)ctx;
    fuzz_pack(topic, envelope);
}

static struct tl_listed
ordered(uint32_t pass, uint32_t side, const char *type)
{
    struct tl_listed listed = {.event = {DESK_R, pass}, .order_known = true};
    listed.order = (struct tl_order){.state = TL_ORDER_ORDERED, .side = side, .weight_lb = 34000};
    (void)snprintf(listed.order.type, sizeof listed.order.type, "%s", type);
    return listed;
}

static struct desk *
copy_of(const struct desk *desk)
{
    struct desk *copy = malloc(sizeof *copy);
    TL_REQUIRE(copy != NULL);
    *copy = *desk;
    return copy;
}

static void
open_place(struct world *w, const char *id)
{
    struct place *place = &w->places[w->place_count++];
    struct desk *desk = desk_new_of(id);

    place->desk = desk;
    desk->member.port.send = send;
    place->at_first[0] = copy_of(desk);
    tl_member_init(&place->at_first[0]->member, &desk->config, tl_config_node(&desk->config, id), 1,
                   desk->now_ms);
    place->at_first[0]->member.port = desk->member.port;
    for (uint32_t v = 0; v < 2; v++) {
        struct tl_picture *picture = &desk->picture[v];
        picture->list[0] = ordered(ORDERED_PASS, 204, "plover");
        picture->list[1] = ordered(ORDERED_PASS + 1, 311, "dunlin");
        picture->list_count = 2;
        picture->highest_pass = ORDERED_PASS + 1;
        picture->number++;
    }
    desk_turn(desk);
    place->at_first[1] = copy_of(desk);
}

void *
fuzz_open(void)
{
    struct world *w = calloc(1, sizeof *w);
    TL_REQUIRE(w != NULL);
    struct desk *desk = desk_new();
    tl_bell_init(&w->bell, -1, NULL, NULL);
    for (uint32_t i = 0; i < desk->config.node_count; i++) {
        if (desk->config.node[i].kind == TL_NODE_STATION) {
            open_place(w, desk->config.node[i].id);
        }
    }
    free(desk);
    return w;
}

/* ---- one line ---- */

static void
ask(struct world *w, struct desk *desk, const char *line)
{
    struct tl_view view;
    tl_member_view(&desk->member, desk->now_ms, &view);
    struct tl_asking asking = {.config = &desk->config,
                               .node = desk->member.node,
                               .as = desk->member.node,
                               .member = &desk->member,
                               .view = &view,
                               .picture = tl_member_current_picture(&desk->member, 0, desk->now_ms),
                               .pictures_agree = true,
                               .tallies = &desk->tallies,
                               .bell = &w->bell,
                               .highest_pass = ORDERED_PASS + 1,
                               .now_ms = desk->now_ms,
                               .wall_ms = desk->now_ms,
                               .out = &desk->command};
    char scratch[TL_LINE_MAX];
    tl_command_read(&asking, line, scratch, &desk->command);
}

static void
say(struct desk *desk, const struct tl_command *command)
{
    TL_REQUIRE(command->count > 0 && command->count <= TL_COMMAND_DATA_MAX);
    TL_REQUIRE(fuzz_is_sentence(command->text));
    for (uint32_t i = 0; i < command->count; i++) {
        uint64_t sequence = 0;
        enum tl_err err = tl_member_say(&desk->member, &command->datum[i], desk->now_ms, &sequence);
        TL_REQUIRE(err != TL_BADARG && err != TL_MALFORMED && err != TL_PERM);
        TL_REQUIRE(command->needs_confirm || !tl_datum_needs_confirm(&command->datum[i]));
    }
}

/* The wind that the bridge keys goes into its beats. */
static void
tell_wind(const struct tl_wind *wind)
{
    static struct tl_envelope beat;
    const struct tl_topic topic = {.kind = TL_TOPIC_BEAT, .publisher = "bridge"};

    beat = (struct tl_envelope){.body = TL_BODY_BEAT};
    beat.as.beat.sample_count = 1;
    beat.as.beat.samples[0] = (struct tl_sample){.kind = TL_SAMPLE_WIND, .as.wind = *wind};
    fuzz_pack(&topic, &beat);
}

static void
take_line(struct world *w, struct desk *desk, const char *line)
{
    struct tl_command *command = &desk->command;

    ask(w, desk, line);
    TL_REQUIRE(command->kind <= TL_COMMAND_NOTHING && fuzz_is_plain(command->text));
    if (command->kind == TL_COMMAND_ERROR) {
        TL_REQUIRE(fuzz_is_sentence(command->text) && command->count == 0);
    } else if (command->kind == TL_COMMAND_SAY) {
        say(desk, command);
    } else if (command->kind == TL_COMMAND_WIND) {
        TL_REQUIRE(fuzz_is_sentence(command->text));
        tell_wind(&command->wind);
    } else {
        TL_REQUIRE(command->count == 0 && !command->needs_confirm);
    }
}

void
fuzz_take(void *world, const uint8_t *bytes, size_t len)
{
    struct world *w = world;
    struct fuzz_input input = {bytes, len};
    const struct place *place = &w->places[fuzz_byte(&input) % w->place_count];
    const struct desk *first = place->at_first[fuzz_byte(&input) % 2];
    char line[LONG_LINE];

    *place->desk = *first;
    for (uint32_t i = 0; i < LINES_MAX && input.len > 0; i++) {
        (void)fuzz_line(&input, line, sizeof line);
        take_line(w, place->desk, line);
    }
}
