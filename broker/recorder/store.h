/* SPDX-License-Identifier: Apache-2.0 */
/*
 * store.h - the record as a file: with sql.h and row.h the only place that knows its SQL
 *
 * SQLite with a write-ahead log and synchronous=FULL: what tl_store_commit has returned TL_OK for
 * is on the disk. Rows are put into one transaction, which the first of them begins.
 *
 * Invariants:
 *  1. After any error the outcome of the open transaction is not known and the handle is of no
 *     further use: close it, open again and ask the file (tl_store_load).
 *  2. A row that is there already is left as it is.
 *  3. Numbers above 2^63 - 1 do not fit the file; the caller drops such frames
 *     (tl_store_can_hold).
 *  4. A file of an older schema gets the tables and columns that it lacks; its rows stay as they
 *     are.
 *  5. Each row hangs on the row before it in its table (proto/codec/chain.h); a seal signs where the
 *     tables stand (proto/codec/seal.h). One program writes to a file at a time.
 *
 * Blocks on the disk. docs/record.md describes the tables.
 */
#ifndef TL_RECORDER_STORE_H
#define TL_RECORDER_STORE_H

#include "broker/recorder/trace.h"
#include "broker/recorder/watermark.h"
#include "proto/codec/seal.h"
#include "proto/link/identity.h"

#define TL_STORE_SCHEMA 3

struct tl_store;

/* A frame as it came from the bus, borrowed. */
struct tl_verbatim {
    const uint8_t *bytes; /* NULL = not at hand */
    size_t len;
};

/* Who signs the state of the tables. */
struct tl_sealer {
    const struct tl_identity *identity; /* borrowed */
    uint64_t incarnation;
};

/* "<record_dir>/<node>.db"; TL_FULL when the path is too long. */
TL_MUST_USE enum tl_err tl_store_path(const struct tl_config *config, const char *node,
                                      char path[TL_PATH_CAP]);

/*
 * Open the file, make it and its folder (mode 0700) when they are missing, and prove that it can
 * be written.
 *
 * out: NULL on error. why: one sentence on error, with the path and what to do.
 * Errors: TL_REFUSED a newer schema; TL_IO anything else.
 */
TL_MUST_USE enum tl_err tl_store_open(const char *path, struct tl_store **out, char *why,
                                      size_t why_cap);

/* An open transaction is given up. Accepts NULL; sets the caller's pointer to NULL. */
void tl_store_close(struct tl_store **store);

/* What the last error was; static in the store. */
const char *tl_store_why(const struct tl_store *store);

/* False when a number by which the frame is found again does not fit the file. */
bool tl_store_can_hold(const struct tl_envelope *envelope);

/* Each puts one row into the transaction, a prediction several. TL_IO: see invariant 1. */
TL_MUST_USE enum tl_err tl_store_change(struct tl_store *store, const struct tl_envelope *envelope,
                                        const struct tl_verbatim *frame);
/* A beat that a validator's input names. claim: of the frame. */
TL_MUST_USE enum tl_err tl_store_beat(struct tl_store *store, const struct tl_claim *claim,
                                      uint64_t wall_ms, const struct tl_verbatim *frame);
TL_MUST_USE enum tl_err tl_store_judged(struct tl_store *store, const struct tl_envelope *envelope,
                                        const struct tl_verbatim *frame);
TL_MUST_USE enum tl_err tl_store_verdict(struct tl_store *store,
                                         const struct tl_envelope *envelope);
TL_MUST_USE enum tl_err tl_store_alert(struct tl_store *store, const struct tl_envelope *envelope,
                                       const struct tl_alert_step *step);
/* node, incarnation: of the mark. wall_ms: when it was found. */
TL_MUST_USE enum tl_err tl_store_gap(struct tl_store *store, const struct tl_watermark *mark,
                                     const struct tl_gap *gap, uint64_t wall_ms);

/* How many rows that table has, with those of the open transaction: the id of its last. */
uint64_t tl_store_rows(const struct tl_store *store, enum tl_record_table table);
/* True when no row was put since the last seal. */
bool tl_store_is_sealed(const struct tl_store *store);
/* Put a seal over all rows so far; TL_OK at once when none is new. TL_IO: see invariant 1. */
TL_MUST_USE enum tl_err tl_store_seal(struct tl_store *store, const struct tl_sealer *sealer,
                                      uint64_t wall_ms);

/* Make all rows since the last commit durable; TL_OK at once when there are none. */
TL_MUST_USE enum tl_err tl_store_commit(struct tl_store *store);

/* Move the marks (made by tl_watermarks_init) to what the file holds. */
TL_MUST_USE enum tl_err tl_store_load(struct tl_store *store, struct tl_watermarks *marks);

#endif
