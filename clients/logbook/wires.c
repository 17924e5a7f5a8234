/* SPDX-License-Identifier: Apache-2.0 */
/* wires.c - see wires.h. */
#include "clients/logbook/wires.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "broker/ledger/reader.h"
#include "clients/logbook/opened.h"

enum {
    ROWS = 10000, /* a call */
    FIRST_CAP = 16
};

/* ---- what is over ---- */

static void
keep_over(void *ctx, const struct tl_fit *fit)
{
    struct tl_wires *wires = ctx;
    if (wires->over_count == wires->over_cap) {
        size_t cap = wires->over_cap == 0 ? FIRST_CAP : 2 * wires->over_cap;
        struct tl_fit *over = cap <= TL_WIRES_MAX ? realloc(wires->over, cap * sizeof *over) : NULL;
        if (over == NULL) {
            wires->failed = true;
            return;
        }
        wires->over = over;
        wires->over_cap = cap;
    }
    wires->over[wires->over_count++] = *fit;
}

/* What had ended it did not count. */
static void
drop_over(void *ctx, const struct tl_fit *fit)
{
    struct tl_wires *wires = ctx;
    for (size_t i = wires->over_count; i > 0; i--) {
        struct tl_fit *over = &wires->over[i - 1];
        if (over->kind == fit->kind && over->slot == fit->slot) {
            wires->over_count--;
            memmove(over, over + 1, (wires->over_count - (i - 1)) * sizeof *over);
            return;
        }
    }
}

static enum tl_err
read_file(sqlite3 *db, int schema, struct tl_wires *wires, char *why, size_t why_cap)
{
    struct tl_ledger_reader reader = {0};
    if (schema < TL_LEDGER_SCHEMA_FIRST || schema > TL_RECORD_SCHEMA_LAST) {
        (void)snprintf(why, why_cap,
                       "has schema %d; counts of pendants and cables are read from schema %d to "
                       "%d: its recorder must have been started once by a newer program",
                       schema, TL_LEDGER_SCHEMA_FIRST, TL_RECORD_SCHEMA_LAST);
        return TL_REFUSED;
    }
    enum tl_err err = tl_ledger_reader_open(&reader, db, wires->ledger);
    while (err == TL_OK) {
        err = tl_ledger_read(&reader, ROWS);
    }
    err = err == TL_EMPTY ? TL_OK : err;
    err = err == TL_OK && wires->failed ? TL_FULL : err;
    (void)snprintf(why, why_cap, "cannot be read: %s",
                   err == TL_IO ? reader.why : tl_err_text(err));
    tl_ledger_reader_close(&reader);
    return err;
}

enum tl_err
tl_wires_read(const char *path, const struct tl_config *config, struct tl_wires *wires, char *why,
              size_t why_cap)
{
    char said[2 * TL_TEXT_CAP];
    sqlite3 *db = NULL;
    int schema = 0;
    enum tl_err err = tl_record_open(path, &db, &schema, why, why_cap);
    if (err == TL_IO) {
        (void)snprintf(said, sizeof said, "cannot be read: %.120s", sqlite3_errmsg(db));
    }
    if (err == TL_OK) {
        wires->ledger = malloc(sizeof *wires->ledger);
        err = wires->ledger != NULL ? TL_OK : TL_NOMEM;
        (void)snprintf(said, sizeof said, "cannot be read: %s", tl_err_text(err));
    }
    if (err == TL_OK) {
        tl_ledger_init(wires->ledger, config);
        wires->ledger->ended = keep_over;
        wires->ledger->goes_on = drop_over;
        wires->ledger->ctx = wires;
        err = read_file(db, schema, wires, said, sizeof said);
    }
    if (err != TL_OK && err != TL_NOTFOUND) {
        (void)snprintf(why, why_cap, "record %s %s", path, said);
    }
    (void)sqlite3_close(db);
    return err;
}

void
tl_wires_free(struct tl_wires *wires)
{
    free(wires->ledger);
    free(wires->over);
    *wires = (struct tl_wires){0};
}

const struct tl_fit *
tl_wires_fitted(const struct tl_wires *wires, enum tl_datum_kind kind, uint32_t slot)
{
    const struct tl_ledger *ledger = wires->ledger;
    for (uint32_t i = 0; ledger != NULL && i < ledger->fit_count; i++) {
        const struct tl_fit *fit = &ledger->fit[i];
        if (fit->kind == kind && fit->slot == slot) {
            return tl_fit_is_known(fit) ? fit : NULL;
        }
    }
    return NULL;
}
