/* SPDX-License-Identifier: Apache-2.0 */
/*
 * command.h - one line typed at a station, turned into what the station would say.
 *
 * Pure: it reads the member's state and the newest picture, and writes a struct tl_command; it
 * says nothing itself. Each room of clients/station/ gives a table of verbs.
 *
 * Invariants:
 *  1. A word toward safe needs no confirm; everything toward READY does, and its text is the
 *     read-back: unit, value, event, and the value before.
 *  2. A line that is not understood names what was wrong and what is meant; nothing is said.
 */
#ifndef TL_STATION_COMMAND_H
#define TL_STATION_COMMAND_H

#include "clients/ui/bell.h"
#include "clients/station/tally.h"

enum {
    TL_LINE_MAX = 256,
    TL_ARGS_MAX = 12,
    TL_COMMAND_DATA_MAX = 32,
    TL_READBACK_CAP = 448
};

enum tl_command_kind {
    TL_COMMAND_ERROR = 0, /* text says what is wrong */
    TL_COMMAND_SAY,       /* datum[0..count) in this order */
    TL_COMMAND_WIND,      /* the bridge's keyed wind */
    TL_COMMAND_STATUS,
    TL_COMMAND_MINE,
    TL_COMMAND_ALERTS,
    TL_COMMAND_GROOVE,
    TL_COMMAND_WEAR, /* the gear officer's counts */
    TL_COMMAND_HELP,
    TL_COMMAND_CONFIRM,
    TL_COMMAND_QUIT,
    TL_COMMAND_NOTHING /* empty line or comment */
};

struct tl_command {
    enum tl_command_kind kind;
    bool needs_confirm;
    uint32_t count;
    struct tl_datum datum[TL_COMMAND_DATA_MAX];
    bool may_pass;    /* an error of this moment: the news may be on its way */
    bool forget_list; /* primary opens a recovery: its old orders leave the beat */
    struct tl_wind wind;
    char text[TL_READBACK_CAP]; /* read-back, without the verdict on it; or the error */
};

/* An aircraft whose pass ended without a trap, offered for a new order. */
struct tl_again {
    uint32_t side;
    char type[TL_TYPE_CAP];
    uint32_t weight_lb;
};

/* What a verb may look at. */
struct tl_asking {
    const struct tl_config *config;
    const struct tl_node *node; /* who asks */
    const struct tl_node *as;   /* who is spoken of: the same, or another one by voice */
    const struct tl_member *member;
    const struct tl_view *view;
    const struct tl_picture *picture; /* NULL = none fresh */
    bool pictures_agree;              /* every validator fresh, all with the same list */
    const struct tl_again *again;
    uint32_t again_count;
    const struct tl_tallies *tallies; /* the gear officer's own; NULL = none are kept here */
    const struct tl_bell *bell;       /* alerts by the numbers that this screen gave them */
    uint32_t highest_pass;            /* given out by this process */
    uint64_t now_ms;
    uint64_t wall_ms;
    int argc; /* words after the verb */
    const char *argv[TL_ARGS_MAX];
    struct tl_command *out;
};

typedef void tl_verb_fn(struct tl_asking *asking);
struct tl_verb {
    const char *name;
    const char *syntax; /* "set WEIGHT [for EVENT]" */
    const char *help;
    tl_verb_fn *fn;
};
struct tl_room {
    enum tl_station_kind kind;
    const struct tl_verb *verb;
    size_t count;
};

/* The room of that station; never NULL for a known kind. */
const struct tl_room *tl_room_of(enum tl_station_kind kind);
extern const struct tl_room tl_room_engine, tl_room_deck, tl_room_approach, tl_room_platform,
    tl_room_primary, tl_room_bridge, tl_room_wires, tl_room_tracks, tl_room_aid,
    tl_room_gear_officer, tl_room_barricade, tl_room_safety;
/* What every station may say beside the words of its room. */
extern const struct tl_room tl_room_people;

/*
 * Read one line. Everything of *asking but argc, argv and out is the caller's. The line is cut
 * into words in `scratch` (TL_LINE_MAX bytes). Lines longer than that, or with control bytes, are
 * an error.
 */
void tl_command_read(struct tl_asking *asking, const char *line, char *scratch,
                     struct tl_command *out);

/* ---- for the rooms ---- */

/* Two words that are one verb in the tables: "no foul", "wave off". Takes the second off. */
const char *tl_command_join(struct tl_asking *asking, const char *verb);
/* Run that verb of the station that is spoken of, or of all; else an error. */
void tl_command_verb(struct tl_asking *asking, const char *verb);

void tl_command_fail(struct tl_asking *asking, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* The same, for what the next verdict or picture may put right. */
void tl_command_fail_now(struct tl_asking *asking, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* The wrong number of words: shows the syntax of that verb. */
void tl_command_syntax(struct tl_asking *asking, const char *verb);

/* A new datum in the command; its stated_for is empty. Never more than TL_COMMAND_DATA_MAX. */
struct tl_datum *tl_command_add(struct tl_asking *asking, enum tl_datum_kind kind, uint32_t slot);

/* "34000" or "34,000". Writes an error and returns false when it is not a number in range. */
bool tl_ask_number(struct tl_asking *asking, const char *word, const char *what, uint32_t min,
                   uint32_t max, uint32_t *out);
bool tl_ask_weight(struct tl_asking *asking, const char *word, uint32_t *out);
/* The number of a wire that gear.yaml has. */
bool tl_ask_wire(struct tl_asking *asking, const char *word, uint32_t *out);
/* The unit of an engine that gear.yaml has. */
bool tl_ask_engine(struct tl_asking *asking, const char *word, uint32_t *out);
bool tl_ask_side(struct tl_asking *asking, const char *word, uint32_t *out);
/* A well-formed type id; that it is in the table is the judgement's business. */
bool tl_ask_type(struct tl_asking *asking, const char *word, char type[TL_TYPE_CAP]);

/* Whether the words end in "for N". */
bool tl_ask_names_event(const struct tl_asking *asking);
/*
 * The event that a word is for: "for N" at the end of the words (which is taken off), else the
 * current event. Writes an error and returns false when neither is known.
 */
bool tl_ask_event(struct tl_asking *asking, struct tl_event *event);

/* Neither a result nor a cancellation ends it. */
bool tl_listed_is_open(const struct tl_listed *listed);

/* The listed event of that pass, or of that side number and still open; NULL = none. */
const struct tl_listed *tl_listed_pass(const struct tl_asking *asking, uint32_t pass);
const struct tl_listed *tl_listed_side(const struct tl_asking *asking, uint32_t side);

/*
 * State one physical value for one more event: the same value adds it to the open events that it
 * is stated for (at most TL_STATED_FOR_MAX), another value is stated for that event alone.
 */
void tl_state_for(struct tl_asking *asking, struct tl_datum *datum, struct tl_event event);

/*
 * Finish a SAY command: "engine 3: set 40,000 lb for event 7 (was 34,000 lb)". The first datum is
 * the one spoken of. Sets needs_confirm.
 */
void tl_command_finish(struct tl_asking *asking);

/* Inches with at most two decimals: "2.75" -> 275. */
bool tl_ask_hundredths(struct tl_asking *asking, const char *word, const char *what, uint32_t max,
                       uint32_t *out);

/* Inches, feet with at most one decimal: "181.2" -> 1812; 0 may be said where min is 0. */
bool tl_ask_tenths(struct tl_asking *asking, const char *word, const char *what, uint32_t min,
                   uint32_t *out);

/* The words from that one on as one text; false, and no error said, when it does not fit. */
bool tl_ask_text(const struct tl_asking *asking, int from, char *dst, size_t cap);
/* The same for the name of a person; says the error. */
bool tl_ask_name(struct tl_asking *asking, int from, char name[TL_NAME_CAP]);

/* The datum of that station in the picture, known, its own word; or NULL. */
const struct tl_datum *tl_pictured(const struct tl_asking *asking, const char *station,
                                   enum tl_datum_kind kind, uint32_t slot);

/* A choice of words, the last with name NULL. Writes an error that lists them. */
struct tl_choice {
    const char *name;
    int value;
};
bool tl_ask_choice(struct tl_asking *asking, const char *word, const struct tl_choice *choices,
                   int *out);

/* The word stands for the current event: it is added to what it is stated for, when known. */
bool tl_ask_for_event(struct tl_asking *asking, struct tl_datum *datum);

/* foul, stop, no foul, withdraw: shared by the stations that have the right. */
void tl_verb_stop(struct tl_asking *asking);
void tl_verb_foul(struct tl_asking *asking);
void tl_verb_no_foul(struct tl_asking *asking);
void tl_verb_withdraw(struct tl_asking *asking);

#endif
