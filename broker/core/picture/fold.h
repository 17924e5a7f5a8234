/* SPDX-License-Identifier: Apache-2.0 */
/*
 * fold.h - what one validator holds of every station: the fold of accepted reports.
 *
 * Pure. A station's changes are applied in sequence and exactly once; its beats carry its whole
 * state and heal what was lost. Freshness is counted from the moment this validator *sent* the
 * tick that the station echoes, by this validator's own clock.
 *
 *   station:  NEVER --frame with a fresh echo--> LIVE <--> LOST (echo older than 800 ms)
 *             a new incarnation starts again from nothing, and is held 3.0 s
 *
 * Invariants:
 *  1. A word toward safe acts at once: stale echo, gap, old age, wrong event do not matter.
 *  2. A word toward READY needs a fresh echo, its turn in the sequence, an age of at most 2.0 s
 *     and an event that it may name.
 *  3. Datum by datum the higher sequence wins. At equal sequence an accepted change outranks the
 *     UNKNOWN of a beat.
 *  4. A statement refused or void here is not taken again from a beat.
 */
#ifndef TL_CORE_PICTURE_FOLD_H
#define TL_CORE_PICTURE_FOLD_H

#include "proto/vocab/wear.h"

enum {
    TL_REFUSED_KEPT = 32,
    TL_BOOKED_MAX = 4 * TL_ENGINES_MAX, /* serials that are remembered */
    TL_DIGESTS_KEPT = TL_WINDOW
};

/* One datum of one station as held here. */
struct tl_held {
    struct tl_datum datum;
    uint64_t said_ms;  /* own clock: when the key was pressed, as far as it can be told */
    uint64_t heard_ms; /* when this value was last confirmed by a frame */
    bool by_change;    /* accepted here as a change */
    uint64_t barred;   /* a value toward READY under this sequence is not taken; 0 = none */
    /* SET: the last value not taken back by a word, so that one lost in flight is not a new one */
    bool stood_known;
    uint32_t stood_lb;
};

struct tl_refused_here {
    struct tl_refused refused;
    struct tl_datum name; /* of the datum that was refused; its value is not looked at */
};

struct tl_told {
    const struct tl_node *node; /* NULL = no station in this place */
    uint64_t incarnation;       /* 0 = never heard */
    bool based;                 /* a fresh beat of this incarnation has been taken */
    uint64_t applied;           /* highest contiguous change applied or refused */
    uint64_t beat_sequence;
    uint64_t beat_ms;      /* own clock, when that beat came */
    uint64_t beat_wall_ms; /* as it says when it was sent */
    uint64_t last_change;
    uint64_t settled;
    uint32_t held_count;
    struct tl_held held[TL_DATA_MAX];
    uint32_t sample_count;
    struct tl_sample samples[TL_SAMPLES_MAX];
    uint64_t samples_ms; /* own clock, when they came */
    /* freshness */
    bool echoed;
    uint64_t echo_sent_ms; /* when the newest tick echoed was sent */
    bool live;
    uint64_t away_ms; /* last moment known not live: holding counts from the return */
    uint64_t back_ms; /* when it came back */
    bool ever_live;
    bool loss_untold; /* lost since the judge last told it */
    /* two programs with this station's key */
    uint64_t newer_heard_ms; /* when the present incarnation was first heard */
    bool twin;
    uint64_t twin_ms; /* newest evidence */
    /* a FOUL of an earlier incarnation, standing until this one speaks */
    bool old_foul;
    struct tl_datum old_foul_datum;
    uint64_t old_foul_incarnation;
    /* receipts */
    uint64_t receipt_sequence;
    uint32_t refused_count;
    struct tl_refused_here refused[TL_REFUSED_KEPT];
    uint64_t digest_sequence[TL_DIGESTS_KEPT];
    uint64_t digest[TL_DIGESTS_KEPT];
    uint64_t alerts_shown;     /* newest alert set of this validator that it has shown */
    bool voice_differed;       /* it spoke otherwise than had been said for it by voice */
    uint64_t voice_differs_ms; /* when */
};

/* A word said by voice for a station; see voice.h. */
struct tl_voice {
    const struct tl_told *told;         /* for whom */
    struct tl_held held;                /* its voice_for is empty */
    const struct tl_told *said_by;      /* who signed first */
    const struct tl_told *confirmed_by; /* who signed second; NULL = not yet */
    bool disputed;                      /* a signer says otherwise: nobody confirms it */
};

/* An override as it stands; see signed.h. */
struct tl_signed {
    struct tl_override override;
    const struct tl_told *said_by;
    const struct tl_told *confirmed_by; /* NULL = not yet: not live */
    uint64_t until_ms;
};

struct tl_tick_sent {
    uint64_t tick;
    uint64_t sent_ms;
};

/* One event on the list, as the validators hold it. */
struct tl_listed_event {
    struct tl_event event;
    bool order_known;
    struct tl_order order; /* last known words; place stays when the words are unknown */
    uint64_t order_sequence;
    bool result_known;
    struct tl_result result;
    bool ended; /* latched */
};

struct tl_list {
    bool heard;         /* primary's recovery id heard since start */
    bool results_heard; /* and the platform's state: without it the current event is not known */
    bool open;
    bool drill;
    bool restarted;       /* primary has, since, no word of a recovery: the list is kept */
    uint64_t recovery_ms; /* 0 = none */
    uint64_t highest_recovery_ms;
    uint32_t highest_pass;
    uint32_t count;
    struct tl_listed_event event[TL_LIST_MAX]; /* by place */
    bool last_known;
    struct tl_listed_event last;          /* the pass that ended last */
    uint64_t last_ms;                     /* when a pass last ended here */
    struct tl_event trap[TL_ENGINES_MAX]; /* by place in gear.yaml: its wire's last trap */
    struct tl_ends ends;                  /* how passes ended, no drill; see wear.h */
    struct tl_event current;              /* pass 0 = none */
    uint64_t current_since_ms;
};

/* A pendant or a cable that was once known; see wear.h. */
struct tl_booked {
    struct tl_datum datum; /* a known PENDANT_LIFE or CABLE */
    bool fitted;           /* else another one is there now, and its traps are those at its end */
    uint32_t corrected;    /* ends in its count that had been corrected when it was said */
};

struct tl_fold {
    const struct tl_config *config;
    char me[TL_ID_CAP];
    uint64_t incarnation; /* own */
    struct tl_tick_sent tick[TL_TICKS_KEPT];
    uint64_t newest_tick;
    uint32_t told_count;
    struct tl_told told[TL_STATIONS_MAX];
    struct tl_list list;
    uint32_t voice_count;
    struct tl_voice voice[TL_VOICED_MAX];
    uint32_t signed_count;
    struct tl_signed signed_by_two[TL_OVERRIDES_MAX];
    uint32_t lost_count; /* validators that this one has lost */
    char lost_validator[TL_VALIDATORS_MAX][TL_ID_CAP];
    uint32_t out_count; /* validators out of service: signed by two, and lost */
    char out_of_service[TL_VALIDATORS_MAX][TL_ID_CAP];
    bool clear_refused; /* a rule that refuses CLEAR is WRONG now */
    uint32_t clear_refused_rule;
    uint32_t book_count;
    struct tl_booked book[TL_BOOKED_MAX];
    uint64_t changes;  /* rises with every change of what is held but readings */
    uint64_t readings; /* rises with every beat that may bring readings: the bridge's */
};

enum tl_fold_kind {
    TL_FOLD_IGNORED = 0, /* no effect, no receipt */
    TL_FOLD_APPLIED,
    TL_FOLD_REFUSED,
    TL_FOLD_AGAIN, /* seen before, or counted by the station as settled: receipt only */
    TL_FOLD_OLD    /* an earlier incarnation */
};
struct tl_folded {
    enum tl_fold_kind kind;
    enum tl_refusal reason; /* REFUSED, OLD; or a fault worth an alarm with IGNORED */
    uint32_t rule;
    bool new_incarnation;
    bool came_back; /* was not live, is now */
    bool fresh;     /* a beat echoed a fresh tick */
    bool changed;   /* a beat changed what is held, or is the first taken whole */
    bool sampled;   /* a beat brought samples that are kept */
};

/* The structure is large: allocate it once. `config` is borrowed. */
void tl_fold_init(struct tl_fold *fold, const struct tl_config *config, const char *me,
                  uint64_t incarnation, uint64_t now_ms);

struct tl_told *tl_fold_told(struct tl_fold *fold, const char *node);
const struct tl_told *tl_fold_told_const(const struct tl_fold *fold, const char *node);

/* The station of that kind and unit (0 = a kind without units), or NULL. */
const struct tl_told *tl_told_of(const struct tl_fold *fold, enum tl_station_kind kind,
                                 uint32_t unit);

/* A tick with that number leaves now. */
void tl_fold_ticked(struct tl_fold *fold, uint64_t tick, uint64_t now_ms);

/* Age of the oldest echo of a station that counts as live, ms; 0 when none does. */
uint64_t tl_fold_oldest_ms(const struct tl_fold *fold, uint64_t now_ms);

/* Age of the newest echo of that frame, ms; UINT64_MAX when it echoes no tick known here. */
uint64_t tl_fold_echo_age_ms(const struct tl_fold *fold, const struct tl_envelope *envelope,
                             uint64_t now_ms);

/*
 * A verified change of that station. `digest` is that of its body (tl_change_digest).
 * The caller has checked signature and topic; authority over the datum is checked here.
 */
struct tl_folded tl_fold_change(struct tl_fold *fold, struct tl_told *told,
                                const struct tl_envelope *envelope, uint64_t digest,
                                uint64_t now_ms);

/* A verified beat of that station. */
struct tl_folded tl_fold_beat(struct tl_fold *fold, struct tl_told *told,
                              const struct tl_envelope *envelope, uint64_t now_ms);

/* Notice who is lost by now. Returns true when some station changed. */
bool tl_fold_age(struct tl_fold *fold, uint64_t now_ms);

/* Fill a receipt for that station; nonce and verdict are the caller's. */
void tl_fold_receipt(const struct tl_told *told, struct tl_receipt *receipt);

/* The station's own datum of that kind and slot, known or not; NULL = never said. */
const struct tl_held *tl_told_held(const struct tl_told *told, enum tl_datum_kind kind,
                                   uint32_t slot);

/* Digest over what the station has reported: kind, slot, sequence, value, events. */
void tl_told_digest(const struct tl_told *told, uint8_t digest[TL_DATA_DIGEST_LEN]);

#endif
