/* SPDX-License-Identifier: Apache-2.0 */
/* paper.c - see paper.h. */
#include "tests/recorder/paper.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

static void
add_node(struct tl_config *config, const char *id, enum tl_station_kind kind)
{
    struct tl_node *node = &config->node[config->node_count++];
    (void)snprintf(node->id, sizeof node->id, "%s", id);
    node->kind = TL_NODE_STATION;
    node->station = kind;
}

int
paper_setup(void **state)
{
    struct paper *paper = calloc(1, sizeof *paper);
    assert_non_null(paper);
    (void)snprintf(paper->dir, sizeof paper->dir, "/tmp/trapline-paper-XXXXXX");
    assert_non_null(mkdtemp(paper->dir));
    (void)snprintf(paper->config.record_dir, TL_PATH_CAP, "%.400s/record", paper->dir);
    add_node(&paper->config, "engine-1", TL_STATION_ENGINE);
    add_node(&paper->config, "engine-2", TL_STATION_ENGINE);
    add_node(&paper->config, "platform", TL_STATION_PLATFORM);
    add_node(&paper->config, "primary", TL_STATION_PRIMARY);
    assert_int_equal(tl_store_path(&paper->config, "recorder-1", paper->path), TL_OK);
    paper_reopen(paper);
    *state = paper;
    return 0;
}

static void
remove_file(const char *path, const char *tail)
{
    char name[2 * TL_PATH_CAP];
    (void)snprintf(name, sizeof name, "%s%s", path, tail);
    (void)unlink(name);
}

int
paper_teardown(void **state)
{
    struct paper *paper = *state;
    tl_store_close(&paper->store);
    remove_file(paper->path, "");
    remove_file(paper->path, "-wal");
    remove_file(paper->path, "-shm");
    remove_file(paper->config.record_dir, "/other.db");
    (void)rmdir(paper->config.record_dir);
    (void)unlink(paper->config.record_dir);
    assert_int_equal(rmdir(paper->dir), 0);
    free(paper);
    return 0;
}

void
paper_reopen(struct paper *paper)
{
    tl_store_close(&paper->store);
    if (tl_store_open(paper->path, &paper->store, paper->why, sizeof paper->why) != TL_OK) {
        fail_msg("%s", paper->why);
    }
}

struct tl_event
paper_event(uint32_t pass)
{
    return (struct tl_event){PAPER_RECOVERY, pass};
}

struct tl_datum
paper_datum(enum tl_datum_kind kind, uint32_t slot, uint32_t pass)
{
    struct tl_datum datum = {.kind = kind, .slot = slot, .known = true, .stated_for_count = 1};
    datum.stated_for[0] = paper_event(pass);
    return datum;
}

static struct tl_envelope *
new_envelope(const char *node, uint64_t sequence, enum tl_body_kind body)
{
    struct tl_envelope *envelope = calloc(1, sizeof *envelope);
    assert_non_null(envelope);
    (void)snprintf(envelope->node, sizeof envelope->node, "%s", node);
    envelope->incarnation = PAPER_LIFE;
    envelope->sequence = sequence;
    envelope->wall_ms = PAPER_RECOVERY + 1000 * sequence;
    envelope->body = body;
    return envelope;
}

void
paper_change(struct paper *paper, const char *node, uint64_t sequence, struct tl_datum datum)
{
    struct tl_envelope *envelope = new_envelope(node, sequence, TL_BODY_CHANGE);
    datum.sequence = sequence;
    envelope->event = datum.stated_for[0];
    envelope->as.change.datum = datum;
    const struct tl_verbatim none = {NULL, 0};
    assert_int_equal(tl_store_change(paper->store, envelope, &none), TL_OK);
    free(envelope);
}

void
paper_judged(struct paper *paper, const char *node, uint64_t sequence, bool refused)
{
    struct tl_envelope *envelope =
        new_envelope("validator-1", ++paper->validator_sequence, TL_BODY_JUDGED);
    struct tl_judged *judged = &envelope->as.judged;
    (void)snprintf(judged->node, sizeof judged->node, "%s", node);
    judged->incarnation = PAPER_LIFE;
    judged->sequence = sequence;
    judged->kind = refused ? TL_JUDGED_REFUSED : TL_JUDGED_APPLIED;
    judged->reason = refused ? TL_REFUSAL_LATE : TL_REFUSAL_UNKNOWN;
    assert_int_equal(tl_store_judged(paper->store, envelope, &(struct tl_verbatim){0}), TL_OK);
    free(envelope);
}

void
paper_computed(struct paper *paper, const struct tl_judged *judged)
{
    struct tl_envelope *envelope =
        new_envelope("validator-1", ++paper->validator_sequence, TL_BODY_JUDGED);
    envelope->as.judged = *judged;
    assert_int_equal(tl_store_judged(paper->store, envelope, &(struct tl_verbatim){0}), TL_OK);
    free(envelope);
}

void
paper_verdict(struct paper *paper, uint32_t pass, uint32_t rule, const char *station)
{
    struct tl_envelope *envelope =
        new_envelope("validator-1", ++paper->validator_sequence, TL_BODY_VERDICT);
    struct tl_verdict *verdict = &envelope->as.verdict;
    envelope->event = paper_event(pass);
    verdict->word = rule == TL_RULE_NONE ? TL_WORD_READY : TL_WORD_NOT_READY;
    verdict->first.rule = rule;
    verdict->first.state = rule == TL_RULE_NONE ? TL_CAUSE_UNKNOWN : TL_CAUSE_WRONG;
    (void)snprintf(verdict->first.station, TL_ID_CAP, "%s", station);
    assert_int_equal(tl_store_verdict(paper->store, envelope), TL_OK);
    free(envelope);
}

void
paper_commit(struct paper *paper)
{
    assert_int_equal(tl_store_commit(paper->store), TL_OK);
}

uint64_t
paper_through(struct paper *paper, const char *node)
{
    struct tl_watermarks marks;
    tl_watermarks_init(&marks, &paper->config);
    assert_int_equal(tl_store_load(paper->store, &marks), TL_OK);
    return tl_watermark_of(&marks, node)->through;
}
