/* SPDX-License-Identifier: Apache-2.0 */
/*
 * message.h - the messages of the bus as the programs hold them.
 *
 * The codec alone turns them into bytes and back. Everything here has passed (or, before sending,
 * must pass) the semantic check: ids and types are well formed, enums known, counts within limits.
 */
#ifndef TL_VOCAB_MESSAGE_H
#define TL_VOCAB_MESSAGE_H

#include "proto/vocab/datum.h"

/* Another one only in a build that tries out what people see then: tests/interop. */
#ifndef TL_SCHEMA_VERSION
#define TL_SCHEMA_VERSION 1u
#endif

enum tl_topic_kind {
    TL_TOPIC_UNKNOWN = 0,
    TL_TOPIC_BEAT,
    TL_TOPIC_CHANGE,
    TL_TOPIC_VERDICT,
    TL_TOPIC_PICTURE,
    TL_TOPIC_ALERT,
    TL_TOPIC_RECEIPT,
    TL_TOPIC_JUDGED,
    TL_TOPIC_RECORDED,
    TL_TOPIC_BUS,
    TL_TOPIC_KINDS
};

/* level 1 / level 2 (publisher) / level 3 (addressee; receipts and recorded only, else empty). */
struct tl_topic {
    enum tl_topic_kind kind;
    char publisher[TL_ID_CAP];
    char addressee[TL_ID_CAP];
};

struct tl_echo {
    char validator[TL_ID_CAP];
    uint64_t incarnation;
    uint64_t tick;
    uint64_t alerts; /* sequence of its newest alert set shown here; 0 = none */
};

/* ---- stations ---- */

enum tl_wind_state {
    TL_WIND_UNKNOWN = 0,
    TL_WIND_KNOWN = 53,
    TL_WIND_DISAGREE = 74
};
struct tl_wind_reading {
    char source[TL_SOURCE_CAP];
    uint32_t age_ms;
    uint32_t speed_kt_x10;
    uint32_t from_deg_x10; /* relative to the bow */
};
struct tl_wind {
    enum tl_wind_state state;
    int32_t headwind_kt_x10;
    int32_t crosswind_kt_x10; /* + from starboard of the landing axis */
    uint32_t deck_speed_kt_x10;
    uint32_t deck_from_deg_x10;
    bool true_known;
    uint32_t true_speed_kt_x10;
    uint32_t true_from_deg_x10;
    uint32_t reading_count;
    struct tl_wind_reading reading[TL_READINGS_MAX];
    bool keyed;
};
struct tl_maybe {
    bool known;
    int32_t value;
};
struct tl_motion {
    struct tl_maybe pitch_deg_x10, roll_deg_x10, heave_m_x100, turn_deg_min_x10;
    struct tl_maybe heading_deg_x10, course_deg_x10, speed_kt_x10;
};
enum tl_sample_kind {
    TL_SAMPLE_UNKNOWN = 0,
    TL_SAMPLE_WIND,
    TL_SAMPLE_MOTION
};
struct tl_sample {
    enum tl_sample_kind kind;
    uint32_t age_ms;
    union {
        struct tl_wind wind;
        struct tl_motion motion;
    } as;
};

struct tl_beat {
    uint64_t last_change; /* 0 = none yet */
    uint64_t oldest_held; /* 0 = none */
    uint32_t datum_count;
    struct tl_datum data[TL_DATA_MAX];
    uint32_t sample_count;
    struct tl_sample samples[TL_SAMPLES_MAX];
};

/* In a change, datum.sequence is the envelope's and datum.said_age_ms is 0. */
struct tl_change {
    struct tl_datum datum;
};

/* ---- validators ---- */

enum tl_refusal {
    TL_REFUSAL_UNKNOWN = 0,
    TL_REFUSAL_FRAMES = 1,
    TL_REFUSAL_NO_TOPIC = 2,
    TL_REFUSAL_OVERSIZE = 3,
    TL_REFUSAL_NOT_YOUR_TOPIC = 4,
    TL_REFUSAL_UNKNOWN_USER = 5,
    TL_REFUSAL_REVOKED = 6,
    TL_REFUSAL_SIGNATURE = 7,
    TL_REFUSAL_TRUNCATED = 8,
    TL_REFUSAL_NEWER_SCHEMA = 9,
    TL_REFUSAL_ENUM = 10,
    TL_REFUSAL_NOT_CANONICAL = 11,
    TL_REFUSAL_UTF8 = 12,
    TL_REFUSAL_CONTROL_BYTES = 13,
    TL_REFUSAL_RANGE = 14,
    TL_REFUSAL_MISSING = 15,
    TL_REFUSAL_EMPTY = 16,
    TL_REFUSAL_TOO_MANY = 17,
    TL_REFUSAL_NOT_YOUR_KIND = 18,
    TL_REFUSAL_TOO_OLD = 32,
    TL_REFUSAL_LATE = 33,
    TL_REFUSAL_NOT_LISTED = 34,
    TL_REFUSAL_NOT_CURRENT = 35,
    TL_REFUSAL_OTHER_BODY = 36,
    TL_REFUSAL_JUMP = 37,
    TL_REFUSAL_OLD_INCARNATION = 38,
    TL_REFUSAL_RULE_FORCES_FOUL = 39,
    TL_REFUSAL_EVENT_LEFT = 40,
    TL_REFUSAL_FULL = 41,
    TL_REFUSAL_RECOVERY_OLD = 42,
    TL_REFUSAL_TWIN = 43,
    TL_REFUSAL_NOT_OWNER = 44,
    TL_REFUSAL_NOT_LOST = 45,
    TL_REFUSAL_OWN_WORD = 46,
    TL_REFUSAL_NOT_OVERRIDABLE = 47,
    TL_REFUSAL_LOWER_COUNT = 48
};
/* One word for logs and JSON ("too-old"), and one sentence for people; never NULL. */
const char *tl_refusal_name(enum tl_refusal reason);
const char *tl_refusal_text(enum tl_refusal reason);

struct tl_refused {
    uint64_t sequence;
    enum tl_refusal reason;
    uint32_t rule; /* enum tl_rule, or 0 */
};
struct tl_receipt {
    uint64_t for_incarnation;
    uint64_t through;
    uint32_t refused_count;
    struct tl_refused refused[TL_REFUSED_MAX];
    uint64_t nonce;
    uint64_t verdict;
    uint64_t higher_incarnation;
    uint32_t oldest_ms; /* of the beats that counted when it was answered */
};

/* READY is one wide constant: a zeroed, truncated or flipped word is not READY. */
enum tl_word {
    TL_WORD_UNKNOWN = 0,
    TL_WORD_READY = 0x5AC3,
    TL_WORD_NOT_READY = 0xA53C
};
enum tl_cause_kind {
    TL_CAUSE_KIND_UNKNOWN = 0,
    TL_CAUSE_SHIP = 1,
    TL_CAUSE_PICTURE = 2
};
enum tl_cause_state {
    TL_CAUSE_UNKNOWN = 0,
    TL_CAUSE_WRONG = 1,
    TL_CAUSE_PENDING = 2,
    TL_CAUSE_OVERDUE = 3,
    TL_CAUSE_HOLDING = 4,
    TL_CAUSE_NOTE = 5,
    TL_CAUSE_OVERRIDDEN = 6
};
/* Which statement an instance of a cause hangs on; sequence 0 = the node as a whole. */
struct tl_subject {
    char node[TL_ID_CAP];
    uint64_t incarnation;
    uint64_t sequence;
};
struct tl_cause_value {
    bool known;
    int64_t number; /* lb, or an enum value of the datum */
    char word[TL_TYPE_CAP];
};
/* What an arrestment would do at one weight setting; rounded to the unfavourable side. */
struct tl_would {
    uint32_t set_lb;          /* 0 = none */
    bool bottoms;             /* the ram meets its stop before the aircraft stands */
    bool parts;               /* cable tension goes past its strength */
    uint32_t end_kt_x10;      /* left at the first of the two; 0 = it stops */
    uint32_t hook_lbf;        /* peak */
    uint32_t tension_percent; /* peak, of the strength */
    uint32_t stroke_in_x10;   /* ram travel */
    uint32_t expect_in_x10;   /* ram travel to be read, to the nearest */
    uint32_t runout_ft_x10;
};
struct tl_cause {
    uint32_t rule; /* enum tl_rule */
    char station[TL_ID_CAP];
    enum tl_cause_state state;
    struct tl_subject subject;
    struct tl_cause_value reported;
    struct tl_cause_value needed;
    enum tl_refusal reason;
    struct tl_would would; /* set_lb 0 = not computed */
};
struct tl_verdict {
    uint64_t tick;
    bool is_tick;
    enum tl_word word;
    enum tl_cause_kind kind;
    bool list_heard;
    struct tl_cause first; /* rule 0 when READY */
    uint32_t cause_count;
    uint64_t picture;
    uint8_t judgement_digest[TL_DIGEST_LEN];
    uint8_t key_digest[TL_DIGEST_LEN];
    uint32_t out_of_service_count;
    char out_of_service[TL_VALIDATORS_MAX][TL_ID_CAP];
    bool drill;
};

enum tl_live {
    TL_LIVE_UNKNOWN = 0,
    TL_LIVE_LIVE = 53,
    TL_LIVE_LOST = 74,
    TL_LIVE_NEVER = 108
};
struct tl_station_state {
    char node[TL_ID_CAP];
    uint64_t incarnation;
    enum tl_live live;
    uint32_t age_ms;
    uint64_t applied;
    uint8_t digest[TL_DATA_DIGEST_LEN];
    uint32_t datum_count;
    struct tl_datum data[TL_DATA_MAX];
    uint32_t sample_count;
    struct tl_sample samples[TL_SAMPLES_MAX];
    bool by_voice; /* lost, but all that it owes for the current event is known by voice */
};
/* A word said by voice for a lost station; one signature counts toward safe only. */
struct tl_voiced {
    char station[TL_ID_CAP];
    struct tl_datum datum; /* its voice_for is empty: it reads as that station's word */
    char said_by[TL_ID_CAP];
    char confirmed_by[TL_ID_CAP]; /* empty = not yet */
};
struct tl_override_live {
    struct tl_override override;
    char said_by[TL_ID_CAP];
    char confirmed_by[TL_ID_CAP]; /* empty = not yet: not live */
    uint32_t left_s;
};
struct tl_listed {
    struct tl_event event;
    bool order_known;
    struct tl_order order;
    bool result_known;
    struct tl_result result;
    bool ended;
};
/*
 * What the mechanics say of the recovery of one event; it holds for the inputs that it names and
 * for no others. Rounded to the unfavourable side.
 */
struct tl_predicted_arrest {
    bool known;
    int32_t headwind_kt_x10;  /* counted on */
    uint32_t engaging_kt_x10; /* at most */
    uint32_t energy_kftlb;    /* at most, thousand ft-lbf */
    int32_t margin_percent;   /* at least; negative = too much */
    uint32_t would_count;     /* one a setting that is ordered, set or repeated */
    struct tl_would would[TL_WOULDS_MAX];
};
struct tl_predicted_ramp {
    bool known;
    char aid_type[TL_TYPE_CAP]; /* the aid is set for it */
    uint32_t angle_deg_x100;
    uint32_t target_wire;
    uint32_t pitch_deg_x10;   /* counted on, stern up */
    int32_t clearance_ft_x10; /* of the hook over the ramp, at least */
    int32_t touchdown_ft_x10; /* off the aim, away from 0; - = short */
};
struct tl_predicted_time {
    bool known;
    uint32_t ramp_s_x10;            /* from the pilot's call to the ramp, rounded down */
    uint32_t wave_off_gear_s_x10;   /* before touchdown: latest word when only gear is unset */
    uint32_t wave_off_people_s_x10; /* the same with people or objects in the area */
    uint32_t reset_s_x10;           /* from a trap to a ready deck */
};
struct tl_predicted {
    struct tl_event event; /* pass 0 = nothing is computed */
    char type[TL_TYPE_CAP];
    uint32_t weight_lb; /* actual, as approach says; 0 = not known: no arrest is computed */
    bool barricade;
    struct tl_predicted_arrest arrest;
    struct tl_predicted_ramp ramp;
    struct tl_predicted_time time;
};
/* The ram travel that was computed for an engine's last trap. */
struct tl_expected {
    uint32_t unit;
    struct tl_event event;
    uint32_t ram_in_x10;
};
/* How a pass ended. */
struct tl_ended {
    struct tl_event event;
    struct tl_result result;
    bool barricade; /* it was ordered into the barricade */
};
struct tl_picture {
    uint64_t number;
    bool list_heard;
    uint64_t recovery_ms;
    bool open;
    bool drill;
    uint32_t list_count;
    struct tl_listed list[TL_LIST_MAX];
    uint32_t station_count;
    struct tl_station_state station[TL_STATIONS_MAX];
    uint32_t cause_count;
    struct tl_cause cause[TL_CAUSES_MAX];
    uint32_t highest_pass;
    uint64_t highest_recovery_ms;
    bool last_known;
    struct tl_listed last; /* the pass that ended last */
    uint32_t voiced_count;
    struct tl_voiced voiced[TL_VOICED_MAX];
    uint32_t override_count;
    struct tl_override_live override[TL_OVERRIDES_MAX];
    struct tl_predicted predicted;
    uint32_t expected_count;
    struct tl_expected expected[TL_ENGINES_MAX];
    uint32_t ended_count;
    struct tl_ended ended[TL_ENDED_SHOWN]; /* the last ones, no drill; rising */
};

enum tl_severity {
    TL_SEVERITY_UNKNOWN = 0,
    TL_SEVERITY_EMERGENCY = 1,
    TL_SEVERITY_ALARM = 2,
    TL_SEVERITY_WARNING = 3,
    TL_SEVERITY_CAUTION = 4
};
/* The words of ISA-18.2. */
enum tl_alert_state {
    TL_ALERT_UNKNOWN = 0,
    TL_ALERT_UNACKNOWLEDGED = 1,
    TL_ALERT_ACKNOWLEDGED = 2, /* by all who owe it; also when nobody does */
    TL_ALERT_RETURNED = 3      /* the cause is gone, and not all have acknowledged */
};
/* Sets of stations are bits of tl_config_place. */
struct tl_alert {
    struct tl_cause cause;
    struct tl_event event;
    enum tl_severity severity;
    uint32_t raised_age_ms;
    enum tl_alert_state state;
    uint32_t owed;         /* who owes an acknowledgement */
    uint32_t acknowledged; /* who has given it */
    uint32_t delivered;    /* who has shown it */
};
struct tl_alert_set {
    uint64_t picture;
    uint32_t alert_count;
    struct tl_alert alert[TL_ALERTS_MAX];
};

enum tl_judged_kind {
    TL_JUDGED_UNKNOWN = 0,
    TL_JUDGED_APPLIED = 1,
    TL_JUDGED_REFUSED = 2,
    TL_JUDGED_LOST = 3,
    TL_JUDGED_HEARD = 4,
    TL_JUDGED_BEAT = 5,       /* with a fresh echo: taken whole */
    TL_JUDGED_PREDICTED = 6,  /* the mechanics' answer was taken */
    TL_JUDGED_EXPECTED = 7,   /* a computed ram travel was taken from the other validator */
    TL_JUDGED_STALE_BEAT = 8, /* without: only what is toward safe was taken */
    TL_JUDGED_BEGUN = 9,      /* a new life of a station: nothing of the old one counts */
    TL_JUDGED_SEEN = 10,      /* something beside the reports, or it is gone */
    TL_JUDGED_TIME = 11,      /* nothing came; it was time */
    TL_JUDGED_BASE = 12       /* all that is held, so that a record may begin here */
};
/* "applied", "lost", ...; never NULL. */
const char *tl_judged_name(enum tl_judged_kind kind);

/* What a validator has seen beside what stations report; see tl_rule for what each means. */
struct tl_sighting {
    uint32_t rule;        /* enum tl_rule */
    char node[TL_ID_CAP]; /* empty = a publisher without a verified name */
    uint64_t incarnation;
    enum tl_refusal reason;
    bool gone;
};
/* A part of what a validator holds, for replay alone; see broker/core/judge/state.h. */
struct tl_base {
    uint32_t part; /* from 1 */
    uint32_t parts;
    uint8_t judgement_digest[TL_DIGEST_LEN];
    uint32_t len;
    uint8_t bytes[TL_BASE_PART_LEN];
};
/* How the judgement stood that followed the input, and what it stood on. */
struct tl_judgement {
    enum tl_word word; /* UNKNOWN = this input was judged together with the next */
    uint32_t cause_count;
    uint32_t rule; /* of the first cause; 0 = none */
    char station[TL_ID_CAP];
    uint8_t causes[TL_DATA_DIGEST_LEN]; /* of each: rule, station, state, subject */
    uint8_t inputs[TL_DATA_DIGEST_LEN]; /* of each station: incarnation, applied, its data */
    uint8_t held[TL_DATA_DIGEST_LEN];   /* of the rest: times, marks, list, alerts, what is seen */
};
struct tl_judged {
    uint64_t now_ms;
    char node[TL_ID_CAP];
    uint64_t incarnation;
    uint64_t sequence;
    enum tl_judged_kind kind;
    enum tl_refusal reason;
    struct tl_predicted predicted; /* PREDICTED */
    struct tl_expected expected;   /* EXPECTED */
    uint32_t said_age_ms;          /* APPLIED, REFUSED: of the copy that was taken */
    uint64_t sea_late_ms;    /* PREDICTED: since when the sea is worse than it counts on; 0 = not */
    struct tl_sighting seen; /* SEEN */
    struct tl_base base;     /* BASE */
    struct tl_judgement outcome;
};

/* ---- recorder and broker ---- */

/* What a recorder counts of one pendant or cable. */
struct tl_worn {
    uint32_t wire;   /* of a pendant, else 0 */
    uint32_t engine; /* of a cable, else 0 */
    struct tl_wear wear;
    uint32_t detorqued_at;   /* 0 = never */
    uint32_t weighted_x1000; /* thousandths of a trap, each by its load; 0 = not weighted */
    uint32_t not_weighed;    /* traps whose load is not known: each counts as one */
    bool inspect;            /* an inspection is due */
    bool removed;            /* it was there before */
};
struct tl_recorded {
    uint64_t for_incarnation;
    uint64_t through;
    uint32_t worn_count;
    struct tl_worn worn[TL_WORN_MAX];
};
struct tl_refused_publisher {
    char publisher[TL_ID_CAP]; /* empty = no verified user */
    enum tl_refusal reason;
    uint32_t count;
    char topic[TL_TOPIC_CAP];
};
struct tl_refusals {
    uint32_t count;
    struct tl_refused_publisher refusal[TL_REFUSALS_MAX];
};
struct tl_counters {
    uint64_t forwarded, refused, handshakes_refused, connections, subscriptions, uptime_ms;
};

enum tl_body_kind {
    TL_BODY_UNKNOWN = 0,
    TL_BODY_BEAT,
    TL_BODY_CHANGE,
    TL_BODY_RECEIPT,
    TL_BODY_VERDICT,
    TL_BODY_PICTURE,
    TL_BODY_ALERTS,
    TL_BODY_REFUSALS,
    TL_BODY_JUDGED,
    TL_BODY_RECORDED,
    TL_BODY_COUNTERS,
    TL_BODY_KINDS
};

struct tl_envelope {
    uint32_t schema;
    char node[TL_ID_CAP];
    uint32_t key_epoch;
    uint64_t incarnation;
    uint64_t sequence;
    struct tl_event event; /* pass 0 = none */
    uint32_t echo_count;
    struct tl_echo echo[TL_VALIDATORS_MAX];
    uint64_t wall_ms;
    uint64_t settled;
    uint32_t said_age_ms;
    enum tl_body_kind body;
    union {
        struct tl_beat beat;
        struct tl_change change;
        struct tl_receipt receipt;
        struct tl_verdict verdict;
        struct tl_picture picture;
        struct tl_alert_set alerts;
        struct tl_refusals refusals;
        struct tl_judged judged;
        struct tl_recorded recorded;
        struct tl_counters counters;
    } as;
};

/*
 * Where a pure machine hands over what it wants published. The shell fills node, key epoch,
 * incarnation and wall clock; the machine fills sequence, event, echo, settled, age and body.
 * `envelope` is only read during the call.
 */
struct tl_port {
    void *ctx;
    void (*send)(void *ctx, const struct tl_topic *topic, const struct tl_envelope *envelope);
};

#endif
