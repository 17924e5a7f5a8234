/* SPDX-License-Identifier: Apache-2.0 */
/* frames.c - see frames.h. */
#include "tests/core/frames.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "tests/support/ship.h"

struct frames *
frames_new(void)
{
    struct frames *f = calloc(1, sizeof *f);
    assert_non_null(f);
    ship_config_full(&f->config, 2);
    tl_fold_init(&f->fold, &f->config, "validator-1", 70, 100000);
    for (uint64_t tick = 1; tick <= FRAMES_TICK; tick++) {
        tl_fold_ticked(&f->fold, tick, FRAMES_NOW_MS - 100 - 200 * (FRAMES_TICK - tick));
    }
    struct tl_list *list = &f->fold.list;
    list->heard = list->results_heard = list->open = true;
    list->recovery_ms = list->highest_recovery_ms = 5000;
    list->highest_pass = list->count = 1;
    list->event[0].event = list->current = (struct tl_event){5000, 1};
    return f;
}

struct tl_told *
frames_of(struct frames *f, const char *station)
{
    struct tl_told *told = tl_fold_told(&f->fold, station);
    assert_non_null(told);
    memset(&f->envelope, 0, sizeof f->envelope);
    memcpy(f->envelope.node, told->node->id, TL_ID_CAP);
    f->envelope.incarnation = FRAMES_LIFE;
    f->envelope.sequence = 1;
    f->envelope.echo_count = 1;
    f->envelope.echo[0] =
        (struct tl_echo){.validator = "validator-1", .incarnation = 70, .tick = FRAMES_TICK};
    return told;
}

struct tl_told *
frames_based(struct frames *f, const char *station)
{
    struct tl_told *told = frames_of(f, station);
    (void)frames_beat(f, 1);
    assert_int_equal(frames_fold(f).kind, TL_FOLD_APPLIED);
    assert_true(told->live && told->based);
    return told;
}

struct tl_datum *
frames_change(struct frames *f, uint64_t sequence, enum tl_datum_kind kind)
{
    f->envelope.body = TL_BODY_CHANGE;
    f->envelope.sequence = sequence;
    memset(&f->envelope.as, 0, sizeof f->envelope.as);
    struct tl_datum *datum = &f->envelope.as.change.datum;
    datum->kind = kind;
    datum->known = true;
    datum->sequence = sequence;
    datum->stated_for_count = 1;
    datum->stated_for[0] = (struct tl_event){5000, 1};
    if (kind == TL_DATUM_SET) {
        datum->as.set_lb = 34000;
    } else if (kind == TL_DATUM_BATTERY) {
        datum->as.battery = TL_BATTERY_IN;
    }
    return datum;
}

struct tl_beat *
frames_beat(struct frames *f, uint64_t sequence)
{
    f->envelope.body = TL_BODY_BEAT;
    f->envelope.sequence = sequence;
    memset(&f->envelope.as, 0, sizeof f->envelope.as);
    return &f->envelope.as.beat;
}

struct tl_datum *
frames_add(struct frames *f, enum tl_datum_kind kind, uint64_t sequence)
{
    struct tl_beat *beat = &f->envelope.as.beat;
    struct tl_datum *datum = &beat->data[beat->datum_count++];
    *datum = (struct tl_datum){.kind = kind, .known = true, .sequence = sequence};
    if (kind == TL_DATUM_SET) {
        datum->as.set_lb = 34000;
    } else if (kind == TL_DATUM_BATTERY) {
        datum->as.battery = TL_BATTERY_IN;
    }
    return datum;
}

struct tl_folded
frames_fold(struct frames *f)
{
    struct tl_told *told = tl_fold_told(&f->fold, f->envelope.node);
    return f->envelope.body == TL_BODY_BEAT
               ? tl_fold_beat(&f->fold, told, &f->envelope, FRAMES_NOW_MS)
               : tl_fold_change(&f->fold, told, &f->envelope, f->envelope.sequence, FRAMES_NOW_MS);
}
