/* SPDX-License-Identifier: Apache-2.0 */
/*
 * bench_store - how many changes a second the recorder's store makes durable
 *
 *   bench_store [DIR [CHANGES]]      default: a folder of its own in $TMPDIR, 20000
 *
 * Changes as they come from the bus are put into a record in groups, each group one commit with
 * synchronous=FULL; with them what two validators say that they did with each, if "and judged" stands
 * there. After each commit as many bytes as the change's frame are written to another file of the same
 * folder and synced, once a group, which is the least that a disk can be asked. Ratios are of the 99th
 * of a hundred. Who sent a change, and whether the signature is good, was looked at before (bench_judge).
 */
#include <fcntl.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "broker/recorder/store.h"
#include "tests/bench/need.h"
#include "tests/bench/timed.h"

enum {
    CHANGES = 20000,
    CHANGES_MAX = 10000000,
    GROUP_MAX = 1000,
    PATH_CAP = 512,
    JUDGES = 2
};

struct bench {
    char record[PATH_CAP], bare[PATH_CAP];
    struct tl_store *store;
    int fd;
    uint64_t changes;
    struct tl_envelope change, judged;
    uint8_t frame[TL_FRAME_MAX];
    size_t len;
    double *commit_us, *sync_us;
};

static void
write_change(struct bench *bench)
{
    static struct tl_codec codec;
    struct tl_signer signer;
    uint8_t identity[crypto_sign_PUBLICKEYBYTES];
    struct tl_topic topic = {.kind = TL_TOPIC_CHANGE, .publisher = "engine-1"};
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    struct tl_envelope *envelope = &bench->change;
    envelope->schema = 1;
    envelope->key_epoch = 1;
    envelope->incarnation = 1;
    envelope->sequence = 1;
    envelope->wall_ms = 1900000000000;
    envelope->event = (struct tl_event){1900000000000, 1};
    envelope->body = TL_BODY_CHANGE;
    (void)snprintf(envelope->node, sizeof envelope->node, "engine-1");
    struct tl_datum *datum = &envelope->as.change.datum;
    *datum = (struct tl_datum){.kind = TL_DATUM_SET, .known = true, .stated_for_count = 1};
    datum->stated_for[0] = envelope->event;
    datum->sequence = 1;
    datum->as.set_lb = 34000;
    need(crypto_sign_keypair(identity, signer.secret) == 0, "no key");
    need(tl_frame_build(&codec, &signer, &topic, envelope, bench->frame, sizeof bench->frame,
                        &bench->len, &reason) == TL_OK,
         tl_refusal_name(reason));
    bench->judged = *envelope;
    bench->judged.body = TL_BODY_JUDGED;
    bench->judged.as.judged = (struct tl_judged){
        .kind = TL_JUDGED_APPLIED, .now_ms = 1000, .incarnation = 1, .node = "engine-1"};
}

static void
put(struct bench *bench, bool judged)
{
    struct tl_verbatim frame = {bench->frame, bench->len};
    bench->change.sequence++;
    bench->change.as.change.datum.sequence = bench->change.sequence;
    need(tl_store_change(bench->store, &bench->change, &frame) == TL_OK,
         tl_store_why(bench->store));
    for (int i = 0; judged && i < JUDGES; i++) {
        (void)snprintf(bench->judged.node, sizeof bench->judged.node, "validator-%d", i + 1);
        bench->judged.sequence = bench->change.sequence;
        bench->judged.as.judged.sequence = bench->change.sequence;
        need(tl_store_judged(bench->store, &bench->judged, &(struct tl_verbatim){0}) == TL_OK,
             tl_store_why(bench->store));
    }
}

static void
sync_bare(struct bench *bench)
{
    need(write(bench->fd, bench->frame, bench->len) == (ssize_t)bench->len, "cannot write");
    need(fdatasync(bench->fd) == 0, "cannot sync");
}

static void
measure(struct bench *bench, uint32_t group, bool judged)
{
    size_t rounds = (size_t)(bench->changes / group);
    double worked_us = 0;
    for (size_t i = 0; i < rounds; i++) {
        double begin = timed_now_us();
        for (uint32_t k = 0; k < group; k++) {
            put(bench, judged);
        }
        double put_us = timed_now_us();
        need(tl_store_commit(bench->store) == TL_OK, tl_store_why(bench->store));
        double done_us = timed_now_us();
        bench->commit_us[i] = done_us - put_us;
        worked_us += done_us - begin;
        sync_bare(bench);
        bench->sync_us[i] = timed_now_us() - done_us;
    }
    struct timed_spread commit = timed_spread_of(bench->commit_us, rounds);
    struct timed_spread sync = timed_spread_of(bench->sync_us, rounds);
    (void)printf("%-20s %6u %11.0f %10.0f %10.0f %10.0f %10.0f %8.2f\n",
                 judged ? "change and judged" : "change", group,
                 (double)(rounds * group) * 1e6 / worked_us, commit.median_us, commit.p99_us,
                 sync.median_us, sync.p99_us, commit.p99_us / sync.p99_us);
}

static void
open_files(struct bench *bench, const char *dir)
{
    char why[TL_TEXT_CAP + TL_PATH_CAP];
    (void)snprintf(bench->record, sizeof bench->record, "%s/bench.db", dir);
    (void)snprintf(bench->bare, sizeof bench->bare, "%s/bench.bare", dir);
    need(access(bench->record, F_OK) != 0, "there is a bench.db in that folder");
    need(tl_store_open(bench->record, &bench->store, why, sizeof why) == TL_OK, why);
    bench->fd = open(bench->bare, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    need(bench->fd >= 0, "cannot make a file in that folder");
}

static void
close_files(struct bench *bench)
{
    tl_store_close(&bench->store);
    (void)close(bench->fd);
    (void)unlink(bench->record);
    (void)unlink(bench->bare);
}

int
main(int argc, char **argv)
{
    static const uint32_t groups[] = {1, 10, 100, GROUP_MAX};
    const char *tmp = getenv("TMPDIR"); // NOLINT(concurrency-mt-unsafe): one thread
    char own[PATH_CAP];
    struct bench *bench = calloc(1, sizeof *bench);
    need(bench != NULL && sodium_init() >= 0, "cannot start");
    bench->changes = argc > 2 ? strtoull(argv[2], NULL, 10) : CHANGES;
    if (argc > 3 || bench->changes < GROUP_MAX || bench->changes > CHANGES_MAX) {
        (void)fprintf(stderr, "usage: bench_store [DIR [CHANGES]], %d to %d\n", GROUP_MAX,
                      CHANGES_MAX);
        free(bench);
        return 64;
    }
    (void)snprintf(own, sizeof own, "%s/trapline-store-XXXXXX", tmp != NULL ? tmp : "/tmp");
    const char *dir = argc > 1 ? argv[1] : mkdtemp(own);
    need(dir != NULL, "cannot make a folder");
    open_files(bench, dir);
    write_change(bench);
    bench->commit_us = calloc((size_t)bench->changes, sizeof bench->commit_us[0]);
    bench->sync_us = calloc((size_t)bench->changes, sizeof bench->sync_us[0]);
    need(bench->commit_us != NULL && bench->sync_us != NULL, "out of memory");
    (void)printf("%-20s %6s %11s %10s %10s %10s %10s %8s\n", "us", "group", "changes/s", "commit",
                 "p99", "bare sync", "p99", "p99/p99");
    for (int judged = 0; judged < 2; judged++) {
        for (size_t i = 0; i < sizeof groups / sizeof groups[0]; i++) {
            measure(bench, groups[i], judged != 0);
        }
    }
    close_files(bench);
    if (argc <= 1) {
        (void)rmdir(dir);
    }
    free(bench->commit_us);
    free(bench->sync_us);
    free(bench);
    return 0;
}
