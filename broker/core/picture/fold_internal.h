/* SPDX-License-Identifier: Apache-2.0 */
/* fold_internal.h - shared by the files of the fold. */
#ifndef TL_CORE_PICTURE_FOLD_INTERNAL_H
#define TL_CORE_PICTURE_FOLD_INTERNAL_H

#include "broker/core/picture/fold.h"

struct tl_arrival {
    bool fresh;   /* echoes a tick sent at most 800 ms ago */
    bool current; /* of the incarnation that is believed */
    struct tl_folded folded;
};

/* Incarnation, twin and freshness of a frame; the same for beats and changes. */
struct tl_arrival tl_arrive(struct tl_fold *fold, struct tl_told *told,
                            const struct tl_envelope *envelope, uint64_t now_ms);

/* A new life starts from nothing but a FOUL that its forerunner said. */
void tl_told_begin(struct tl_told *told, uint64_t incarnation, uint64_t now_ms);
/* It is lost, or heard again; its key is used by one program again. */
void tl_told_lose(struct tl_told *told, uint64_t now_ms);
void tl_told_return(struct tl_told *told, uint64_t now_ms);
void tl_told_alone_again(struct tl_told *told, uint64_t now_ms);

/* The place of the name of that datum, made when there is room; NULL when full. */
struct tl_held *tl_told_place(struct tl_told *told, const struct tl_datum *name);

/* A value has been stored: what stands of a setting (see tl_held). */
void tl_held_stands(struct tl_held *held);

/* Remember a refusal for the receipts; the oldest makes room. */
void tl_told_refused(struct tl_told *told, const struct tl_datum *datum, enum tl_refusal reason,
                     uint32_t rule);

/* Make a held word void: UNKNOWN, barred, and told to its station as refused for that reason. */
void tl_told_void(struct tl_told *told, struct tl_held *held, enum tl_refusal reason);

#endif
