/* SPDX-License-Identifier: Apache-2.0 */
/*
 * target_frame - the decoder: a whole frame, as a receiver takes it but for who signed it
 *
 * Accepted: the same envelope builds to the same bytes, is signed by whoever built it and by no
 * other, claims what it holds, its figures are in range, and all of it that people are shown is plain. Refused: with a
 * reason and its text, and nothing is written. The signature of the input is not asked for: with it
 * no input but our own would come any further.
 */
#include <stdlib.h>
#include <string.h>

#include <sodium.h>

#include "clients/ui/view.h"
#include "proto/codec/codec.h"
#include "proto/vocab/rules.h"
#include "tests/fuzz/fuzz.h"
#include "tests/support/ship.h"

enum {
    SHOWN_CAP = 256 * 1024,
    FILL = 0xa5
};

struct world {
    struct tl_codec codec;
    struct tl_signer signer;
    uint8_t identity[crypto_sign_PUBLICKEYBYTES];
    struct tl_envelope envelope, untouched;
    struct tl_config config;
    uint8_t built[TL_FRAME_MAX + 128];
    char shown[SHOWN_CAP];
};

const char *const fuzz_name = "frame";

void *
fuzz_open(void)
{
    struct world *w = calloc(1, sizeof *w);
    TL_REQUIRE(w != NULL);
    static const uint8_t seed[crypto_sign_SEEDBYTES] = {1};
    TL_REQUIRE(sodium_init() >= 0);
    TL_REQUIRE(crypto_sign_seed_keypair(w->identity, w->signer.secret, seed) == 0);
    ship_config_full(&w->config, 2);
    memset(&w->untouched, FILL, sizeof w->untouched);
    return w;
}

/* ---- what is in it ---- */

static bool
is_aircraft(uint32_t side, const char *type)
{
    return side >= 1 && side <= 9999 && tl_type_is_wellformed(type);
}

/* Figures that a ship can have; said again in numbers, without the tables of the codec. */
static bool
is_in_range(const struct tl_datum *d)
{
    enum {
        LB = 200000,
        WIRES = 8,
        PSI = 20000
    };
    switch ((int)d->kind) { /* NOLINT(bugprone-*): the others are of enums and ids alone */
    case TL_DATUM_ORDER:
        return is_aircraft(d->as.order.side, d->as.order.type) && d->as.order.weight_lb >= 1 &&
               d->as.order.weight_lb <= LB;
    case TL_DATUM_INBOUND:
        return is_aircraft(d->as.inbound.side, d->as.inbound.type) &&
               d->as.inbound.weight_lb <= LB && d->as.inbound.fuel_lb <= LB;
    case TL_DATUM_CALL:
        return is_aircraft(d->as.call.side, d->as.call.type) && d->as.call.fuel_lb <= LB;
    case TL_DATUM_SET:
        return d->as.set_lb >= 1 && d->as.set_lb <= LB;
    case TL_DATUM_REPEATER:
        return d->as.repeater_lb >= 1 && d->as.repeater_lb <= LB;
    case TL_DATUM_DECK:
        return d->as.deck.expect_s <= 86400;
    case TL_DATUM_RESULT:
        return d->as.result.wire <= WIRES;
    case TL_DATUM_AID:
        return d->as.aid.target_wire <= WIRES && d->as.aid.angle_deg_x100 <= 900;
    case TL_DATUM_PENDANT:
        return d->as.pendant.low_in_x100 <= 10000 && d->as.pendant.high_in_x100 <= 10000;
    case TL_DATUM_ACCUMULATOR:
        return d->as.accumulator_psi >= 1 && d->as.accumulator_psi <= PSI;
    case TL_DATUM_BARRICADE_POWER:
        return d->as.barricade_power.pressure_psi <= PSI && d->as.barricade_power.cycles <= 1000;
    case TL_DATUM_FAULT:
        return d->as.fault.code <= 9999;
    case TL_DATUM_SERVICE:
        return d->as.service.job <= 999999;
    default:
        return true;
    }
}

static void
show_datum(const struct tl_datum *datum)
{
    char text[TL_TEXT_CAP];
    TL_REQUIRE(datum->kind > TL_DATUM_UNKNOWN && datum->kind < TL_DATUM_KINDS);
    TL_REQUIRE(!datum->known || is_in_range(datum));
    TL_REQUIRE(fuzz_is_sentence(tl_datum_text(datum, text, sizeof text)));
}

static void
show_cause(struct world *w, const struct tl_cause *cause)
{
    char text[TL_TEXT_CAP];
    TL_REQUIRE(fuzz_is_sentence(tl_cause_text(cause, w->envelope.event, text, sizeof text)));
}

/* A screen of it, where a newline is the only byte that is not a character. */
static void
show_picture(struct world *w, const struct tl_picture *picture)
{
    static struct tl_view view;
    const struct tl_ui_state state = {.config = &w->config, .view = &view, .picture = picture};
    FILE *out = fmemopen(w->shown, sizeof w->shown, "w");
    TL_REQUIRE(out != NULL);
    tl_ui_print(&state, out);
    tl_ui_print_inbound(&state, out);
    TL_REQUIRE(fclose(out) == 0);
    for (char *line = strtok(w->shown, "\n"); line != NULL; line = strtok(NULL, "\n")) {
        TL_REQUIRE(fuzz_is_plain(line));
    }
}

static void
show(struct world *w)
{
    if (w->envelope.body == TL_BODY_CHANGE) {
        show_datum(&w->envelope.as.change.datum);
    }
    for (uint32_t i = 0; w->envelope.body == TL_BODY_BEAT && i < w->envelope.as.beat.datum_count;
         i++) {
        show_datum(&w->envelope.as.beat.data[i]);
    }
    if (w->envelope.body == TL_BODY_VERDICT && w->envelope.as.verdict.first.rule != 0) {
        show_cause(w, &w->envelope.as.verdict.first);
    }
    for (uint32_t i = 0;
         w->envelope.body == TL_BODY_ALERTS && i < w->envelope.as.alerts.alert_count; i++) {
        show_cause(w, &w->envelope.as.alerts.alert[i].cause);
    }
    if (w->envelope.body == TL_BODY_PICTURE) {
        show_picture(w, &w->envelope.as.picture);
    }
}

/* ---- the frame ---- */

static void
build_again(struct world *w, const struct tl_frame *frame)
{
    struct tl_frame again;
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    size_t len = 0;

    TL_REQUIRE(tl_frame_build(&w->codec, &w->signer, &frame->topic, &w->envelope, w->built,
                              sizeof w->built, &len, &reason) == TL_OK);
    TL_REQUIRE(tl_frame_split(w->built, len, &again, &reason) == TL_OK);
    TL_REQUIRE(again.topic_len == frame->topic_len &&
               memcmp(again.signed_topic, frame->signed_topic, frame->topic_len) == 0);
    TL_REQUIRE(again.envelope_len == frame->envelope_len &&
               memcmp(again.envelope, frame->envelope, frame->envelope_len) == 0);
    bool same = memcmp(again.signature, frame->signature, TL_SIGNATURE_LEN) == 0;
    TL_REQUIRE(tl_frame_verify(&again, w->identity));
    TL_REQUIRE(tl_frame_verify(frame, w->identity) == same);
}

static void
must_say_why(enum tl_err err, enum tl_refusal reason)
{
    TL_REQUIRE(err == TL_REFUSED && reason != TL_REFUSAL_UNKNOWN);
    TL_REQUIRE(fuzz_is_sentence(tl_refusal_name(reason)));
    TL_REQUIRE(fuzz_is_sentence(tl_refusal_text(reason)));
}

void
fuzz_take(void *world, const uint8_t *bytes, size_t len)
{
    struct world *w = world;
    struct tl_frame frame;
    struct tl_claim claim;
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    enum tl_err err = tl_frame_split(bytes, len, &frame, &reason);

    if (err != TL_OK) {
        must_say_why(err, reason);
        return;
    }
    TL_REQUIRE(len <= tl_frame_max(frame.topic.kind));
    enum tl_err claimed = tl_frame_claim(&w->codec, &frame, &claim, &reason);
    if (claimed != TL_OK) {
        must_say_why(claimed, reason);
    }
    reason = TL_REFUSAL_UNKNOWN;
    w->envelope = w->untouched;
    err = tl_frame_decode(&w->codec, &frame, &w->envelope, &reason);
    if (err != TL_OK) {
        must_say_why(err, reason);
        TL_REQUIRE(fuzz_same(&w->envelope, &w->untouched, sizeof w->envelope));
        return;
    }
    TL_REQUIRE(reason == TL_REFUSAL_UNKNOWN && claimed == TL_OK);
    TL_REQUIRE(
        strcmp(claim.node, w->envelope.node) == 0 && claim.key_epoch == w->envelope.key_epoch &&
        claim.incarnation == w->envelope.incarnation && claim.sequence == w->envelope.sequence);
    TL_REQUIRE(strcmp(frame.topic.publisher, w->envelope.node) == 0);
    build_again(w, &frame);
    show(w);
}
