/* SPDX-License-Identifier: Apache-2.0 */
/*
 * rights - everything that somebody may say on a ship, asked of the functions that decide it
 *
 *     rights DIR SLOT...
 *
 * For the configuration folder DIR, without its keys: three keys are made up for each node, epoch 3
 * of them revoked. One line for each thing that is allowed, and last how many were asked:
 *
 *     publish USER KIND PUBLISHER       the broker passes that topic on from that key
 *     state CHANNEL NODE KIND SLOT VALUE VOICE_FOR
 *                                       CHANNEL: station (before it says it), change and beat (what
 *                                       a validator takes); KIND as in the schema; "-" for none
 *     asked PUBLISHED STATED
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sodium.h>

#include "broker/core/picture/fold.h"
#include "broker/relay/check.h"
#include "proto/base/conf.h"
#include "proto/codec/codec.h"

enum {
    EPOCHS = 3,
    SLOTS_MAX = 16,
    VOICES_MAX = TL_NODES_MAX + 2,
    FRAME_CAP = 256,
    NOW_MS = 1000000
};

struct room {
    struct tl_config config;
    struct tl_access access;
    struct tl_fold fold;
    struct tl_envelope envelope;
    uint64_t sequence;
    uint32_t slot[SLOTS_MAX];
    uint32_t slot_count;
    char voice[VOICES_MAX][TL_ID_CAP];
    uint32_t voice_count;
    unsigned long published, stated;
};

static void
add_keys(struct tl_config *config)
{
    config->key_count = 0;
    for (uint32_t i = 0; i < config->node_count; i++) {
        for (uint32_t epoch = 1; epoch <= EPOCHS && config->key_count < TL_KEYS_MAX; epoch++) {
            struct tl_key *key = &config->key[config->key_count++];
            uint8_t seed[crypto_sign_SEEDBYTES] = {(uint8_t)i, (uint8_t)epoch};
            uint8_t secret[crypto_sign_SECRETKEYBYTES];
            *key = (struct tl_key){.epoch = epoch, .revoked = epoch == EPOCHS};
            memcpy(key->node, config->node[i].id, TL_ID_CAP);
            (void)crypto_sign_seed_keypair(key->identity, secret, seed);
        }
    }
}

/* ---- topics, at a broker ---- */

static bool
passes(const struct room *room, const char *user, const struct tl_topic *topic)
{
    uint8_t bytes[FRAME_CAP] = {0};
    char text[TL_TOPIC_CAP];
    size_t len = 0;

    if (tl_topic_write(topic, text, sizeof text, &len) != TL_OK) {
        return false;
    }
    memcpy(bytes, text, len);
    const struct tl_relay_frame frame = {
        .bytes = bytes, .len = len + 1 + TL_SIGNATURE_LEN + 1, .alone = true, .user_id = user};
    enum tl_topic_kind kind = TL_TOPIC_UNKNOWN;
    return tl_relay_check(&room->access, &frame, &kind) == TL_REFUSAL_UNKNOWN;
}

static void
ask_topics(struct room *room, const char *user)
{
    static const char *const names[TL_TOPIC_KINDS] = {
        [TL_TOPIC_BEAT] = "beat",       [TL_TOPIC_CHANGE] = "change",
        [TL_TOPIC_VERDICT] = "verdict", [TL_TOPIC_PICTURE] = "picture",
        [TL_TOPIC_ALERT] = "alert",     [TL_TOPIC_RECEIPT] = "receipt",
        [TL_TOPIC_JUDGED] = "judged",   [TL_TOPIC_RECORDED] = "recorded",
        [TL_TOPIC_BUS] = "bus",
    };
    for (int kind = TL_TOPIC_BEAT; kind < TL_TOPIC_KINDS; kind++) {
        for (uint32_t i = 0; i < room->config.node_count; i++) {
            struct tl_topic topic = {.kind = (enum tl_topic_kind)kind};
            memcpy(topic.publisher, room->config.node[i].id, TL_ID_CAP);
            if (kind == TL_TOPIC_RECEIPT || kind == TL_TOPIC_RECORDED) {
                memcpy(topic.addressee, room->config.node[0].id, TL_ID_CAP);
            }
            room->published++;
            if (passes(room, user, &topic)) {
                (void)printf("publish %s %s %s\n", user, names[kind], topic.publisher);
            }
        }
    }
}

/* ---- data, at the station itself and at a validator ---- */

static bool
is_authority(enum tl_refusal reason)
{
    return reason == TL_REFUSAL_NOT_YOUR_KIND || reason == TL_REFUSAL_NOT_OWNER;
}

/* Both channels of the fold are asked; it is a station of this validator, heard in one life. */
static bool
takes(struct room *room, struct tl_told *told, const struct tl_datum *datum, bool beat)
{
    struct tl_envelope *envelope = &room->envelope;

    envelope->body = beat ? TL_BODY_BEAT : TL_BODY_CHANGE;
    envelope->sequence = ++room->sequence;
    memcpy(envelope->node, told->node->id, TL_ID_CAP);
    if (beat) {
        struct tl_beat *out = &envelope->as.beat;
        memset(out, 0, sizeof *out);
        out->datum_count = 1;
        out->data[0] = *datum;
        return !is_authority(tl_fold_beat(&room->fold, told, envelope, NOW_MS).reason);
    }
    envelope->as.change.datum = *datum;
    return !is_authority(
        tl_fold_change(&room->fold, told, envelope, envelope->sequence, NOW_MS).reason);
}

static void
print_state(const char *channel, const struct tl_node *node, const struct tl_datum *datum,
            const char *value)
{
    (void)printf("state %s %s %d %u %s %s\n", channel, node->id, (int)datum->kind, datum->slot,
                 value, datum->voice_for[0] != '\0' ? datum->voice_for : "-");
}

static void
ask_datum(struct room *room, const struct tl_node *node, struct tl_datum *datum, const char *value)
{
    struct tl_told *told = tl_fold_told(&room->fold, node->id);

    datum->sequence = room->sequence + 1;
    room->stated++;
    if (tl_config_may_state(&room->config, node, datum)) {
        print_state("station", node, datum, value);
    }
    if (told == NULL) {
        return; /* a validator has no place for one that is no station */
    }
    told->held_count = 0; /* a full table would answer for the table */
    if (takes(room, told, datum, false)) {
        print_state("change", node, datum, value);
    }
    datum->sequence = room->sequence + 1;
    told->held_count = 0;
    if (takes(room, told, datum, true)) {
        print_state("beat", node, datum, value);
    }
}

static void
ask_values(struct room *room, const struct tl_node *node, struct tl_datum *datum)
{
    static const struct {
        enum tl_deck_state state;
        const char *name;
    } deck[] = {{TL_DECK_CLEAR, "CLEAR"},
                {TL_DECK_FOUL, "FOUL"},
                {TL_DECK_NO_FOUL, "NO_FOUL"},
                {TL_DECK_STOP, "STOP"}};
    datum->known = false;
    ask_datum(room, node, datum, "unknown");
    datum->known = true;
    if (datum->kind != TL_DATUM_DECK) {
        ask_datum(room, node, datum, "known");
        return;
    }
    for (size_t i = 0; i < sizeof deck / sizeof deck[0]; i++) {
        datum->as.deck.state = deck[i].state;
        ask_datum(room, node, datum, deck[i].name);
    }
}

static void
ask_states(struct room *room, const struct tl_node *node)
{
    for (int kind = TL_DATUM_UNKNOWN + 1; kind < TL_DATUM_KINDS; kind++) {
        for (uint32_t s = 0; s < room->slot_count; s++) {
            for (uint32_t v = 0; v < room->voice_count; v++) {
                struct tl_datum datum = {.kind = (enum tl_datum_kind)kind, .slot = room->slot[s]};
                memcpy(datum.voice_for, room->voice[v], TL_ID_CAP);
                ask_values(room, node, &datum);
            }
        }
    }
}

static void
ask_all(struct room *room)
{
    for (uint32_t i = 0; i < room->config.key_count; i++) {
        char user[TL_USER_ID_CAP];
        (void)snprintf(user, sizeof user, "%s/%u", room->config.key[i].node,
                       room->config.key[i].epoch);
        ask_topics(room, user);
    }
    room->voice_count = 2; /* nobody's, and one that is not there */
    (void)snprintf(room->voice[1], TL_ID_CAP, "nobody");
    for (uint32_t i = 0; i < room->config.node_count; i++) {
        memcpy(room->voice[room->voice_count++], room->config.node[i].id, TL_ID_CAP);
    }
    for (uint32_t i = 0; i < room->config.node_count; i++) {
        ask_states(room, &room->config.node[i]);
    }
    (void)printf("asked %lu %lu\n", room->published, room->stated);
}

int
main(int argc, char **argv)
{
    struct room *room = calloc(1, sizeof *room);
    struct tl_conf_fault fault;
    char why[TL_TEXT_CAP];

    if (room == NULL || argc < 3 || argc - 2 > SLOTS_MAX || sodium_init() < 0) {
        free(room);
        return 64;
    }
    for (int i = 2; i < argc; i++) {
        room->slot[room->slot_count++] = (uint32_t)strtoul(argv[i], NULL, 10);
    }
    if (tl_conf_load_unkeyed(argv[1], &room->config, &fault) != TL_OK) {
        tl_conf_print_fault(&fault);
        free(room);
        return 78;
    }
    add_keys(&room->config);
    if (tl_access_build(&room->config, &room->access, why, sizeof why) != TL_OK) {
        (void)fprintf(stderr, "%s\n", why);
        free(room);
        return 1;
    }
    tl_fold_init(&room->fold, &room->config, "validator-1", 1, NOW_MS);
    room->envelope.incarnation = 1;
    ask_all(room);
    free(room);
    return 0;
}
