/* SPDX-License-Identifier: Apache-2.0 */
/*
 * typing.h - the keys of a station's screen: bytes of a keyboard in, what was meant out.
 *
 * Pure. One key says the word toward safe of the station, the same key everywhere, in every mode and
 * at once: TAB. Every other key leads at most to a line of the line mode, which reads itself back.
 *
 *   KEYS --letter that opens, digit, Enter--> LINE --Enter--> (line is run) --> KEYS or READ_BACK
 *   KEYS --letter that acts--> (line is run) --> KEYS or READ_BACK
 *   READ_BACK --y, alone, when it has stood on the screen for READ_MS--> confirmed --> KEYS
 *   READ_BACK --any other key, an earlier y, 5 s--> KEYS, nothing said
 *   KEYS --?--> LEAF --any key--> KEYS
 *
 * What no person types is not taken: more than BURST bytes at once are a paste and are dropped whole;
 * the same key again within 70 ms is a key held down. TAB counts in any case, once for as long as it is
 * held or pressed again within 700 ms.
 */
#ifndef TL_STATION_TYPING_H
#define TL_STATION_TYPING_H

#include "clients/station/command.h"

enum {
    TL_KEY_SAFE = '\t',
    TL_KEY_CONFIRM = 'y',
    TL_TYPING_READ_MS = 400 /* nobody has read it in less */
};

/* One key of a room: what the help row calls it, and the line that it runs or begins. */
struct tl_key_row {
    char key;
    const char *label;
    const char *line;
    bool opens; /* the line is begun, and typed on */
};
struct tl_key_table {
    const char *safe_label; /* NULL: this room has no such word */
    const char *safe_line;
    const char *digits_open; /* what a digit begins; NULL = nothing */
    const struct tl_key_row *row;
    size_t count;
};
/* The keys of that room; never NULL for a known kind. */
const struct tl_key_table *tl_keys_of(enum tl_station_kind kind);

enum tl_typing_mode {
    TL_TYPING_KEYS = 0,
    TL_TYPING_LINE,
    TL_TYPING_READ_BACK,
    TL_TYPING_LEAF
};

enum tl_typed_kind {
    TL_TYPED_NOTHING = 0,
    TL_TYPED_SAFE,        /* run the safe line of the room, now */
    TL_TYPED_LINE,        /* run typing->taken */
    TL_TYPED_CONFIRM,     /* what was read back is right */
    TL_TYPED_CANCEL,      /* and nothing was said */
    TL_TYPED_ACKNOWLEDGE, /* the alert that stands first and is owed here */
    TL_TYPED_NIGHT,
    TL_TYPED_REPAINT,
    TL_TYPED_QUIT,    /* asks for a confirm */
    TL_TYPED_MORE,    /* the next lines of a list */
    TL_TYPED_UNREAD,  /* a confirm of what nobody can have read: nothing is said */
    TL_TYPED_TOO_FAST /* a paste, or a key held down while a line was typed: nothing was taken */
};

struct tl_typing {
    const struct tl_key_table *table;
    enum tl_typing_mode mode;
    char line[TL_LINE_MAX]; /* being typed */
    size_t used;
    char taken[TL_LINE_MAX]; /* the last line that was ended */
    char last;               /* key, and when */
    uint64_t last_ms;
    uint32_t escape; /* inside a sequence that a function key sends */
    uint64_t escape_ms;
    uint64_t read_ms; /* since when the read-back stands on the screen; 0 = it does not yet */
};

typedef void tl_typed_fn(void *ctx, enum tl_typed_kind kind);

void tl_typing_init(struct tl_typing *typing, const struct tl_key_table *table);

/*
 * Take what one read of the keyboard gave. `act` is called for each thing that was meant, in order;
 * it may set the mode by tl_typing_read_back.
 */
void tl_typing_take(struct tl_typing *typing, const char *bytes, size_t count, uint64_t now_ms,
                    tl_typed_fn *act, void *ctx);

/* Something is read back: only the confirm key says it, once it has been painted. */
void tl_typing_read_back(struct tl_typing *typing);
/* The screen shows what the mode asks for. */
void tl_typing_painted(struct tl_typing *typing, uint64_t now_ms);
/* The read-back is gone: its time is over, or something else came. */
void tl_typing_let_go(struct tl_typing *typing);

/* The keys that act now and no others, as one line of at most cap bytes. Returns dst. */
const char *tl_typing_help(const struct tl_typing *typing, bool owes_alert, uint64_t now_ms,
                           char *dst, size_t cap);

#endif
