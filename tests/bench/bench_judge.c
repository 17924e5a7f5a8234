/* SPDX-License-Identifier: Apache-2.0 */
/*
 * bench_judge - what one message costs a validator, part by part
 *
 *   bench_judge [rounds [WORDS [small]]]   default 2000; only the lines that have those words; only
 *                                          the small ship
 *   bench_judge rounds WORDS growth        the full ship with 4, 6 and 8 engines
 *
 * A simulated ship (tests/support/simbus.h) is brought to READY; the messages that its stations send
 * are then given to a validator again, with new numbers and values. Microseconds of one call: best,
 * median, and the 99th of a hundred. "read" is the frame taken apart, decoded and checked; the
 * signature is a line of its own. A change is a setting, wrong and right in turn; a beat changes
 * nothing. The full ship has every station and every rule but those
 * on computed figures, and people have said little there: most of its rules have a cause.
 */
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "proto/codec/codec.h"
#include "tests/bench/need.h"
#include "tests/bench/timed.h"
#include "tests/support/ship.h"
#include "tests/support/simbus.h"

enum {
    ROUNDS = 2000,
    ROUNDS_MAX = 1000000,
    BATCH = 10, /* calls between two looks at the clock, where they need no preparation */
    RECOVERY = 5000,
    WEIGHT = 34000,
    WRONG = 40000
};

struct kept {
    struct tl_topic topic;
    struct tl_envelope envelope;
    uint8_t frame[TL_FRAME_MAX];
    size_t len;
};

struct bench {
    struct sim *sim;
    struct tl_judge *judge;
    struct kept change, beat, verdict, picture;
    struct tl_codec codec;
    struct tl_signer signer;
    uint8_t identity[32];
    struct tl_envelope envelope; /* read into */
    uint64_t now_ms;
    uint64_t sent; /* messages of the validator */
    size_t rounds;
    double *us;
    const char *only;
};

/* One call that is timed; false when it did not do what it must. */
typedef bool work_fn(struct bench *bench, const struct kept *kept);

/* ---- a ship to take messages from ---- */

static void
keep(struct kept *kept, const struct tl_topic *topic, const struct tl_envelope *envelope)
{
    kept->topic = *topic;
    kept->envelope = *envelope;
}

static void
tap(struct sim *sim, const struct sim_node *from, const struct tl_topic *topic,
    const struct tl_envelope *envelope)
{
    struct bench *bench = sim->tap_ctx;
    bool engine = strcmp(from->id, "engine-1") == 0;
    bool validator = strcmp(from->id, "validator-1") == 0;
    if (engine && topic->kind == TL_TOPIC_CHANGE &&
        envelope->as.change.datum.kind == TL_DATUM_SET) {
        keep(&bench->change, topic, envelope);
    } else if (engine && topic->kind == TL_TOPIC_BEAT) {
        keep(&bench->beat, topic, envelope);
    } else if (validator && topic->kind == TL_TOPIC_VERDICT) {
        keep(&bench->verdict, topic, envelope);
    } else if (validator && topic->kind == TL_TOPIC_PICTURE) {
        keep(&bench->picture, topic, envelope);
    }
}

static void
count_sent(void *ctx, const struct tl_topic *topic, const struct tl_envelope *envelope)
{
    struct bench *bench = ctx;
    (void)topic;
    (void)envelope;
    bench->sent++;
}

static void
write_frame(struct bench *bench, struct kept *kept)
{
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    kept->envelope.schema = 1;
    kept->envelope.key_epoch = 1;
    kept->envelope.wall_ms = 1900000000000;
    (void)snprintf(kept->envelope.node, TL_ID_CAP, "%s", kept->topic.publisher);
    enum tl_err err = tl_frame_build(&bench->codec, &bench->signer, &kept->topic, &kept->envelope,
                                     kept->frame, sizeof kept->frame, &kept->len, &reason);
    if (err != TL_OK) {
        (void)fprintf(stderr, "bench_judge: no frame: %s\n", tl_refusal_name(reason));
        exit(1); // NOLINT(concurrency-mt-unsafe): one thread
    }
}

/* engines: 0 = the small ship */
static void
sail(struct bench *bench, uint32_t engines)
{
    static struct tl_config config;
    const struct tl_event event = {RECOVERY, 1};
    if (engines == 0) {
        ship_config(&config, 2);
    } else {
        ship_config_engines(&config, 2, engines);
    }
    bench->sim = sim_new_of(&config, 1);
    bench->sim->tap = tap;
    bench->sim->tap_ctx = bench;
    sim_run(bench->sim, 2000);
    sim_open(bench->sim, RECOVERY);
    (void)sim_say(bench->sim, "primary", say_order(event, 204, "plover", WEIGHT, 1));
    sim_run(bench->sim, 300);
    sim_words_for(bench->sim, event, 204, "plover", WEIGHT);
    sim_run(bench->sim, 4000);
    need(engines > 0 || sim_all_show(bench->sim, TL_WORD_READY),
         "the small ship did not come to READY");
    struct sim_node *node = sim_node(bench->sim, "validator-1");
    bench->judge = node->judge;
    bench->judge->port = (struct tl_port){.ctx = bench, .send = count_sent};
    bench->now_ms = sim_clock(bench->sim, node);
    const struct tl_told *told = tl_fold_told(&bench->judge->fold, "engine-1");
    need(told != NULL, "no engine");
    bench->change.envelope.sequence = told->applied; /* the next one is new */
    bench->change.envelope.as.change.datum.sequence = told->applied;
    bench->change.envelope.echo_count = bench->beat.envelope.echo_count; /* the newest ticks */
    memcpy(bench->change.envelope.echo, bench->beat.envelope.echo,
           sizeof bench->change.envelope.echo);
    write_frame(bench, &bench->change);
    write_frame(bench, &bench->beat);
    write_frame(bench, &bench->verdict);
    write_frame(bench, &bench->picture);
}

/* ---- what is timed ---- */

static bool
read_frame(struct bench *bench, const struct kept *kept)
{
    struct tl_frame frame;
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    return tl_frame_split(kept->frame, kept->len, &frame, &reason) == TL_OK &&
           tl_frame_decode(&bench->codec, &frame, &bench->envelope, &reason) == TL_OK;
}

static bool
verify(struct bench *bench, const struct kept *kept)
{
    struct tl_frame frame;
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    return tl_frame_split(kept->frame, kept->len, &frame, &reason) == TL_OK &&
           tl_frame_verify(&frame, bench->identity);
}

static bool
build(struct bench *bench, const struct kept *kept)
{
    static uint8_t frame[TL_FRAME_MAX];
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    size_t len = 0;
    return tl_frame_build(&bench->codec, &bench->signer, &kept->topic, &kept->envelope, frame,
                          sizeof frame, &len, &reason) == TL_OK;
}

static bool
judge_change(struct bench *bench, const struct kept *kept)
{
    const struct tl_told *told = tl_fold_told(&bench->judge->fold, kept->envelope.node);
    tl_judge_message(bench->judge, &kept->envelope, sim_change_digest(&kept->envelope.as.change),
                     bench->now_ms);
    return told != NULL && told->applied == kept->envelope.sequence; /* it was applied */
}

static bool
judge_beat(struct bench *bench, const struct kept *kept)
{
    uint64_t before = bench->sent;
    tl_judge_message(bench->judge, &kept->envelope, 0, bench->now_ms);
    return bench->sent == before + 1; /* its receipt */
}

static void
next_change(struct kept *kept)
{
    struct tl_datum *datum = &kept->envelope.as.change.datum;
    datum->as.set_lb = datum->as.set_lb == WEIGHT ? WRONG : WEIGHT;
    datum->sequence = ++kept->envelope.sequence;
}

static void
next_beat(struct kept *kept)
{
    kept->envelope.sequence++;
}

static void
show(struct bench *bench, const char *what)
{
    struct timed_spread spread = timed_spread_of(bench->us, bench->rounds);
    (void)printf("%-34s %9.2f %9.2f %9.2f\n", what, spread.best_us, spread.median_us,
                 spread.p99_us);
}

static void
time_same(struct bench *bench, const char *what, work_fn *work, const struct kept *kept)
{
    if (strstr(what, bench->only) == NULL) {
        return;
    }
    for (size_t i = 0; i < bench->rounds; i++) {
        bool good = true;
        double begin = timed_now_us();
        for (int k = 0; k < BATCH; k++) {
            good = work(bench, kept) && good;
        }
        bench->us[i] = (timed_now_us() - begin) / BATCH;
        need(good, what);
    }
    show(bench, what);
}

static void
time_next(struct bench *bench, const char *what, work_fn *work, struct kept *kept,
          void (*next)(struct kept *))
{
    if (strstr(what, bench->only) == NULL) {
        return;
    }
    for (size_t i = 0; i < bench->rounds; i++) {
        next(kept);
        double begin = timed_now_us();
        bool good = work(bench, kept);
        bench->us[i] = timed_now_us() - begin;
        need(good, what);
    }
    show(bench, what);
}

static void
measure(struct bench *bench, uint32_t engines)
{
    char title[64];
    sail(bench, engines);
    (void)snprintf(title, sizeof title, "full ship, %u engines, us", engines);
    (void)printf("%-34s %9s %9s %9s   (%u causes, %u alerts)\n",
                 engines > 0 ? title : "small ship, READY, us", "best", "median", "p99",
                 bench->judge->decision.cause_count, bench->judge->alerts.count);
    time_same(bench, "read a change", read_frame, &bench->change);
    time_same(bench, "read a beat", read_frame, &bench->beat);
    time_same(bench, "read a verdict", read_frame, &bench->verdict);
    time_same(bench, "read a picture", read_frame, &bench->picture);
    time_same(bench, "verify the signature of a change", verify, &bench->change);
    time_same(bench, "write and sign a verdict", build, &bench->verdict);
    time_next(bench, "judge a beat", judge_beat, &bench->beat, next_beat);
    time_next(bench, "judge a change", judge_change, &bench->change, next_change);
    sim_free(&bench->sim);
}

int
main(int argc, char **argv)
{
    struct bench *bench = calloc(1, sizeof *bench);
    long rounds = argc > 1 ? strtol(argv[1], NULL, 10) : ROUNDS;
    bool small = argc > 3 && strcmp(argv[3], "small") == 0;
    bool growth = argc > 3 && strcmp(argv[3], "growth") == 0;
    if (bench == NULL || rounds < 1 || rounds > ROUNDS_MAX || sodium_init() < 0) {
        (void)fprintf(stderr, "usage: bench_judge [rounds [WORDS [small|growth]]], 1 to %d\n",
                      ROUNDS_MAX);
        free(bench);
        return 64;
    }
    bench->rounds = (size_t)rounds;
    bench->only = argc > 2 ? argv[2] : "";
    bench->us = calloc(bench->rounds, sizeof bench->us[0]);
    need(bench->us != NULL, "out of memory");
    need(crypto_sign_keypair(bench->identity, bench->signer.secret) == 0, "no key");
    measure(bench, 0);
    for (uint32_t engines = 4; !small && engines <= (growth ? TL_ENGINES_MAX : 4); engines += 2) {
        measure(bench, engines);
    }
    free(bench->us);
    free(bench);
    return 0;
}
