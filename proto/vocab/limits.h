/* SPDX-License-Identifier: Apache-2.0 */
/*
 * limits.h - every bound and every deadline of the bus, in one place.
 *
 * Each queue, table, name, frame and loop has its maximum here, and the relations that the design
 * relies on are asserted at the end. Times are milliseconds.
 */
#ifndef TL_VOCAB_LIMITS_H
#define TL_VOCAB_LIMITS_H

#include <assert.h>

enum {
    /* names, with the final NUL */
    TL_ID_CAP = 24,   /* node, bus, ...: [a-z0-9-], 1..23 bytes */
    TL_TYPE_CAP = 16, /* aircraft type id: [a-z0-9-], 1..15 bytes */
    TL_SOURCE_CAP = 16,
    TL_NAME_CAP = 24,   /* who has the watch */
    TL_REASON_CAP = 48, /* of an override */
    TL_SERIAL_CAP = 16, /* pendant or cable: [A-Z][A-Z0-9-]*, 1..15 bytes */
    TL_TOPIC_CAP = 64,
    TL_PATH_CAP = 512,
    TL_TEXT_CAP = 176, /* one line shown to a person */
    TL_ENDPOINT_CAP = 80,

    /* how many */
    TL_NODES_MAX = 256, /* most of them screens that only look */
    TL_STATIONS_MAX = 32,
    TL_ENGINES_MAX = 8,
    TL_VALIDATORS_MAX = 4,
    TL_BUSES_MAX = 4,
    TL_TYPES_MAX = 32,
    TL_KEYS_MAX = 2 * TL_NODES_MAX,
    TL_KEYS_PER_NODE_MAX = 2, /* rotation */
    TL_LIST_MAX = 16,         /* events on primary's list */
    TL_DATA_MAX = 72,         /* data of one station */
    TL_SAMPLES_MAX = 2,
    TL_READINGS_MAX = 4,
    TL_STATED_FOR_MAX = 3, /* the current event and at most two queued ones */
    TL_CAUSES_MAX = 64,
    TL_ALERTS_MAX = 64,
    TL_REFUSED_MAX = 32, /* refused changes carried in one receipt */
    TL_REFUSALS_MAX = 8, /* refused publishers in one line of a broker */
    TL_VOICED_MAX = 32,
    TL_OVERRIDES_MAX = 8,
    TL_WOULDS_MAX =
        17, /* settings computed for one event: ordered, and set and repeated by engine */
    TL_TRACKS_MAX = 4,
    TL_AID_ANGLES_MAX = 8,
    TL_ACKS_MAX = 16, /* acknowledgements that one station holds at a time */
    TL_BASE_PARTS_MAX = 64,
    TL_TRAPS_MAX = 1000000,           /* that a count may say */
    TL_ENDED_MAX = 64,                /* passes whose end is remembered */
    TL_ENDED_SHOWN = 16,              /* of them in a picture, the last ones */
    TL_WORN_MAX = 4 * TL_ENGINES_MAX, /* of which a recorder tells; half of them removed */
    TL_RECORDERS_MAX = 4,

    /* bytes of one frame, by kind */
    TL_FRAME_BEAT_MAX = 4096,
    TL_FRAME_CHANGE_MAX = 2048,
    TL_FRAME_VERDICT_MAX = 512,
    TL_FRAME_RECEIPT_MAX = 2048,
    TL_FRAME_SMALL_MAX = 2048,  /* judged, bus */
    TL_FRAME_LARGE_MAX = 32768, /* picture, alert, recorded */
    TL_FRAME_MAX = 32768,
    TL_BASE_PART_LEN = 1536, /* of what a validator holds, in one message */

    /* signatures and digests */
    TL_SIGNATURE_LEN = 64,
    TL_DIGEST_LEN = 16,
    TL_DATA_DIGEST_LEN = 8,

    /* sequences */
    TL_OUTBOX_MAX = 128,
    TL_WINDOW = 256,
    TL_JUMP_MAX = 1024,
    TL_RESEND_MAX = 8,

    /* beats, ticks and freshness */
    TL_TICK_MS = 200,
    TL_BEAT_MS = 200,       /* own timer when no tick comes */
    TL_BEAT_GAP_MS = 100,   /* at most 10 a second */
    TL_LOST_MS = 800,       /* an echo, a nonce or a verdict older than this is not fresh */
    TL_STANDS_MS = 900,     /* READY whose oldest beat is older than this, seen from a screen */
    TL_NOT_READY_MS = 1000, /* deadline on every live screen */
    TL_HOLD_MS = 3000,      /* after a cause of transport kind */
    TL_DIFFER_MS = 600,     /* two validators with other inputs */
    TL_TICKS_KEPT = 64,     /* ticks whose time of sending a validator remembers */
    TL_NONCES_KEPT = 64,    /* beats whose time of sending a station remembers */

    /* changes */
    TL_SAID_MAX_MS = 2000,
    TL_RESEND_MIN_MS = 200,
    TL_RESEND_CEIL_MS = 2000,
    TL_ALONE_MS = 10000, /* no validator for so long: event words become UNKNOWN */

    /* by voice, overrides, alerts */
    TL_CONFIRM_BY_MS = 60000,   /* the second signature */
    TL_SIGNER_LOST_MS = 600000, /* a lost signer of an override is tolerated */
    TL_RESOUND_MS = 30000,      /* MSC.252(83) 20.2.5 */
    TL_ESCALATE_MS = 60000,     /* an unacknowledged warning becomes an alarm */
    TL_OVERRIDE_VALID_MAX_S = 14400,

    /* publishing */
    TL_VERDICT_GAP_MS = 20,
    TL_PICTURE_GAP_MS = 50,
    TL_PICTURE_READ_MS = 500, /* nothing but readings is new: ten times a second is for no eye */
    TL_PICTURE_MS = 1000,
    TL_RECORDER_LOST_MS = 3000,
    TL_BASE_FIRST_MS = 1000, /* after a recorder is heard: a base, then each time twice as long */
    TL_BASE_EVERY_MS = 600000,

    /* predictions: a figure beyond these is not believed, and then not said */
    TL_COMPUTED_SPEED_KT_X10_MAX = 2000,
    TL_COMPUTED_TRAVEL_X10_MAX = 20000, /* of the ram, in; of the hook, ft */
    TL_COMPUTED_LOAD_LBF_MAX = 9999999,
    TL_COMPUTED_TENSION_PERCENT_MAX = 99999,
    TL_COMPUTED_ENERGY_KFTLB_MAX = 9999999,
    TL_COMPUTED_MARGIN_PERCENT_MAX = 99999, /* below 0 */
    TL_COMPUTED_TIME_S_X10_MAX = 36000,
    TL_SEA_LATE_MS = 500, /* wind or motion has grown worse than counted on: a new one is coming */
    TL_SEA_BETTER_MS = 5000, /* it has been better for so long: counted on anew */

    /* buses */
    TL_BUS_LAG_MS = 500,
    TL_BUS_LAG_FOR_MS = 2000,
    TL_REFUSALS_PER_PUBLISHER_HZ = 2,
    TL_REFUSALS_PER_BUS_HZ = 10
};

static_assert(TL_OUTBOX_MAX <= TL_WINDOW / 2, "an outbox must fit in half the duplicate window");
static_assert(TL_WINDOW <= TL_JUMP_MAX, "a jump that is allowed may empty the window, not more");
static_assert(TL_LOST_MS >= 3 * TL_TICK_MS, "one lost tick must not lose a station");
static_assert(TL_LOST_MS + TL_TICK_MS <= TL_NOT_READY_MS, "a loss is judged by the next tick");
static_assert(TL_STANDS_MS > TL_LOST_MS && TL_STANDS_MS < TL_NOT_READY_MS,
              "one fault is the validator's to tell, two are bounded by the screen");
static_assert(TL_STANDS_MS >= 4 * TL_TICK_MS, "one tick lost on either side must not end READY");
static_assert(TL_TICKS_KEPT * TL_TICK_MS > 4 * TL_SAID_MAX_MS, "an old echo must still be dated");
static_assert(TL_FRAME_BEAT_MAX <= TL_FRAME_MAX && TL_FRAME_LARGE_MAX <= TL_FRAME_MAX, "frames");
static_assert(TL_BASE_PART_LEN + 512 <= TL_FRAME_SMALL_MAX, "a part of a base with its outcome");
static_assert(TL_LIST_MAX + TL_ENGINES_MAX + TL_ACKS_MAX + TL_OVERRIDES_MAX + 4 <= TL_DATA_MAX,
              "primary's whole state is one beat");
static_assert(5 * TL_ENGINES_MAX + TL_ACKS_MAX + TL_OVERRIDES_MAX + 2 <= TL_DATA_MAX,
              "the gear officer's whole state is one beat");
static_assert(TL_ENDED_SHOWN <= TL_ENDED_MAX && TL_LIST_MAX <= TL_ENDED_SHOWN,
              "what a picture lists and shows as ended can be remembered");
static_assert(TL_STATIONS_MAX <= 32, "sets of stations are 32 bits");

#endif
