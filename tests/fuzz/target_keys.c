/* SPDX-License-Identifier: Apache-2.0 */
/*
 * target_keys - bytes of the keyboard of a station's page
 *
 * The first byte of an input chooses the room; then reads: how long after the last one, what the
 * page does (paints, reads back what was asked, lets it go), and the bytes. Whatever comes: the key
 * of the word toward safe is heeded in every read that has it, unless it is held down; nothing is
 * confirmed that has not stood on the glass for its time, or by more than its key alone; a line that
 * is run is plain and fits.
 */
#include <string.h>

#include "clients/station/typing.h"
#include "tests/fuzz/fuzz.h"

enum {
    READ_MAX = 255,
    STEP_MS = 10,
    START_MS = 100000,
    HELP_CAP = 400,
    PAINTS = 1,
    READS_BACK = 2,
    LETS_GO = 4
};

struct hands {
    struct tl_typing typing;
    uint64_t now_ms;
    uint64_t painted_ms; /* the read-back in hand stands since; 0 = it does not */
    uint8_t page;        /* what the page does */
    bool safe;           /* heeded in this read */
    bool one_byte;
};

const char *const fuzz_name = "keys";

void *
fuzz_open(void)
{
    return NULL;
}

static void
act(void *ctx, enum tl_typed_kind kind)
{
    struct hands *hands = ctx;

    TL_REQUIRE(kind != TL_TYPED_NOTHING && kind <= TL_TYPED_TOO_FAST);
    hands->safe = hands->safe || kind == TL_TYPED_SAFE;
    if (kind == TL_TYPED_CONFIRM) {
        TL_REQUIRE(hands->one_byte && hands->painted_ms != 0);
        TL_REQUIRE(hands->now_ms - hands->painted_ms >= TL_TYPING_READ_MS);
    }
    if (kind == TL_TYPED_LINE) {
        TL_REQUIRE(fuzz_is_sentence(hands->typing.taken));
        TL_REQUIRE(strlen(hands->typing.taken) < TL_LINE_MAX);
        if ((hands->page & READS_BACK) != 0) {
            tl_typing_read_back(&hands->typing);
            hands->painted_ms = 0;
        }
    }
}

static void
must_hold(const struct hands *hands)
{
    const struct tl_typing *typing = &hands->typing;
    char help[HELP_CAP];

    TL_REQUIRE(typing->mode <= TL_TYPING_LEAF);
    TL_REQUIRE(typing->used < TL_LINE_MAX && strlen(typing->line) == typing->used);
    TL_REQUIRE(fuzz_is_plain(typing->line));
    TL_REQUIRE(typing->mode == TL_TYPING_LINE || typing->used == 0);
    TL_REQUIRE(fuzz_is_plain(tl_typing_help(typing, true, hands->now_ms, help, sizeof help)));
    TL_REQUIRE(strlen(help) < sizeof help);
}

static void
take_read(struct hands *hands, struct fuzz_input *input, uint64_t *tab_ms)
{
    hands->now_ms += (uint64_t)fuzz_byte(input) * STEP_MS;
    hands->page = fuzz_byte(input);
    struct fuzz_input read = fuzz_piece(input, READ_MAX);

    if ((hands->page & PAINTS) != 0) {
        tl_typing_painted(&hands->typing, hands->now_ms);
        bool asks = hands->typing.mode == TL_TYPING_READ_BACK;
        hands->painted_ms = asks && hands->painted_ms == 0 ? hands->now_ms : hands->painted_ms;
    }
    if ((hands->page & LETS_GO) != 0) {
        tl_typing_let_go(&hands->typing);
    }
    bool has_safe = read.len > 0 && memchr(read.bytes, TL_KEY_SAFE, read.len) != NULL;
    hands->safe = false;
    hands->one_byte = read.len == 1;
    tl_typing_take(&hands->typing, (const char *)read.bytes, read.len, hands->now_ms, act, hands);
    if (has_safe && hands->typing.table->safe_line != NULL) {
        TL_REQUIRE(hands->safe || hands->now_ms - *tab_ms < 700); /* typing.h: held down */
        *tab_ms = hands->now_ms;
    }
    must_hold(hands);
}

void
fuzz_take(void *world, const uint8_t *bytes, size_t len)
{
    static struct hands hands;
    struct fuzz_input input = {bytes, len};
    uint64_t tab_ms = 0;
    (void)world;
    enum tl_station_kind kind = (enum tl_station_kind)(1 + fuzz_byte(&input) % TL_STATION_SAFETY);

    hands = (struct hands){.now_ms = START_MS};
    tl_typing_init(&hands.typing, tl_keys_of(kind));
    while (input.len > 0) {
        take_read(&hands, &input, &tab_ms);
    }
}
