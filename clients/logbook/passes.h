/* SPDX-License-Identifier: Apache-2.0 */
/*
 * passes.h - the passes of a record: what was ordered, set, read back, and how it ended
 *
 * Pure but for the heap. Only words that no validator refused count, in the order of their arrival
 * in the file; of two words of one author with one meaning the later stated one counts. What is
 * computed by the mechanics is in `predicted` and nowhere else.
 *
 *  1. A pass is an event that an order, a setting, a repeater, a result or a read arrest names.
 *  2. It ends with its first result; a later one corrects the result and not the time.
 *  3. A setting or repeater that is taken back before the end was not there at the end.
 */
#ifndef CLIENTS_LOGBOOK_PASSES_H
#define CLIENTS_LOGBOOK_PASSES_H

#include "clients/logbook/signatures.h"
#include "proto/vocab/config.h"

enum {
    TL_PASSES_MAX = 50000, /* of one file: years of flying */
    TL_VOICED_STATIONS_MAX = 8
};

struct tl_weight {
    struct tl_stated stated;
    char station[TL_ID_CAP]; /* whose word it is, not who said it */
    uint32_t unit;           /* of a repeater; a setting is named by its station */
    uint32_t lb;
};

enum tl_wave_off {
    TL_WAVE_OFF_NONE = 0,  /* it ended otherwise */
    TL_WAVE_OFF_UNKNOWN,   /* no verdict of the event is recorded */
    TL_WAVE_OFF_READY,     /* while READY: the platform's own reasons */
    TL_WAVE_OFF_NOT_READY, /* a foul deck in the wide sense: judged NOT READY when it was said */
};

struct tl_pass {
    struct tl_event event;
    struct tl_stated order_stated, call_stated; /* sequence 0 = none */
    struct tl_order order;
    struct tl_call call;
    struct tl_stated ended, result_stated; /* first result; the one that counts */
    size_t ended_at;                       /* place of the first result among the words */
    struct tl_result result;
    bool corrected; /* another result was accepted for it */
    uint32_t set_count, repeater_count;
    struct tl_weight set[TL_ENGINES_MAX];
    struct tl_weight repeater[TL_ENGINES_MAX];
    /* As approach said last before the end; weight 0 = not said. */
    struct tl_inbound inbound;
    /* What the engine room read after the trap, and of which engine; empty id = not read. */
    char engine[TL_ID_CAP];
    bool arrest_known;
    struct tl_arrest arrest;
    struct tl_figure_read before_psi, after_psi;  /* accumulator of that engine */
    const struct tl_predicted_row *predicted;     /* last one of the event, or NULL */
    const struct tl_predicted_row *predicted_set; /* at the weight set on that engine, or NULL */
    const struct tl_verdict_row *verdict[TL_VALIDATORS_MAX]; /* last of each validator */
    const struct tl_wind_row *wind; /* that the bridge told in the 10 s before the end, or NULL */
    bool has_interval;
    uint64_t interval_ms; /* from the end of the pass before, of the same recovery */
    uint32_t voiced_count;
    char voiced[TL_VOICED_STATIONS_MAX][TL_ID_CAP]; /* whose words were said for them by voice */
    uint32_t overrides;                             /* that were live when it ended */
    bool drill;
};

struct tl_passes {
    size_t count, cap;
    struct tl_pass *pass;
};

/*
 * Fold the book, in the order of recovery and pass number.
 *
 * config: which engine has which wire, for a trap whose arrest nobody read; or NULL. book: stays
 * until the passes are freed. passes: zeroed by the caller, who frees them whatever is returned.
 * Errors: TL_FULL, TL_NOMEM.
 */
TL_MUST_USE enum tl_err tl_passes_fold(const struct tl_book *book, const struct tl_config *config,
                                       struct tl_passes *passes);
void tl_passes_free(struct tl_passes *passes);
/* NULL = none of that event. */
const struct tl_pass *tl_passes_find(const struct tl_passes *passes, struct tl_event event);

bool tl_pass_ended(const struct tl_pass *pass);
bool tl_pass_trapped(const struct tl_pass *pass);
bool tl_pass_cancelled(const struct tl_pass *pass);
enum tl_wave_off tl_pass_wave_off(const struct tl_pass *pass);
/* The verdict that holds the cause of a NOT READY wave-off, else NULL. */
const struct tl_verdict_row *tl_pass_cause(const struct tl_pass *pass);
/* When it ended, else when it was ordered, else when it was called; 0 when none is recorded. */
uint64_t tl_pass_wall_ms(const struct tl_pass *pass);
/* "trap", "bolter", "wave-off", "unknown"; NULL when none is recorded. */
const char *tl_pass_result_name(const struct tl_pass *pass);
const char *tl_outcome_name(enum tl_outcome outcome);
/* True when there are some and all are of the same weight, which goes to *lb. */
bool tl_weights_agree(const struct tl_weight *weights, uint32_t count, uint32_t *lb);

#endif
