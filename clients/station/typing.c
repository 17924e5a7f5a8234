/* SPDX-License-Identifier: Apache-2.0 */
/* typing.c - see typing.h. */
#include "clients/station/typing.h"

#include <stdio.h>
#include <string.h>

enum {
    BURST = 4,      /* bytes of one read that a person may have typed */
    REPEAT_MS = 70, /* nobody presses a key twice in that time; a keyboard repeats every 30 ms */
    HELD_MS = 700,  /* the first repeat of a held key comes within that */
    ESCAPE_MS = 100,
    BYTE_BACKSPACE = '\b',
    BYTE_DELETE = 0x7f,
    BYTE_ESCAPE = 0x1b,
    BYTE_CLEAR_LINE = 0x15,
    BYTE_REPAINT = 0x0c
};
enum {
    OUTSIDE = 0,
    AFTER_ESCAPE,
    AFTER_SS3,
    INSIDE_CSI
};

void
tl_typing_init(struct tl_typing *typing, const struct tl_key_table *table)
{
    *typing = (struct tl_typing){.table = table};
}

static void
end_line(struct tl_typing *typing)
{
    typing->mode = TL_TYPING_KEYS;
    typing->used = 0;
    typing->line[0] = '\0';
}

void
tl_typing_read_back(struct tl_typing *typing)
{
    end_line(typing);
    typing->mode = TL_TYPING_READ_BACK;
    typing->read_ms = 0;
}

void
tl_typing_painted(struct tl_typing *typing, uint64_t now_ms)
{
    if (typing->mode == TL_TYPING_READ_BACK && typing->read_ms == 0) {
        typing->read_ms = now_ms;
    }
}

static bool
may_have_been_read(const struct tl_typing *typing, uint64_t now_ms)
{
    return typing->read_ms != 0 && now_ms - typing->read_ms >= TL_TYPING_READ_MS;
}

void
tl_typing_let_go(struct tl_typing *typing)
{
    if (typing->mode == TL_TYPING_READ_BACK) {
        typing->mode = TL_TYPING_KEYS;
    }
}

static void
open_line(struct tl_typing *typing, const char *begin, char first)
{
    (void)snprintf(typing->line, sizeof typing->line, "%s", begin);
    typing->used = strlen(typing->line);
    typing->mode = TL_TYPING_LINE;
    if (first != '\0' && typing->used + 1 < sizeof typing->line) {
        typing->line[typing->used++] = first;
        typing->line[typing->used] = '\0';
    }
}

static enum tl_typed_kind
run_line(struct tl_typing *typing, const char *line)
{
    (void)snprintf(typing->taken, sizeof typing->taken, "%s", line);
    end_line(typing);
    return TL_TYPED_LINE;
}

static enum tl_typed_kind
key_in_keys(struct tl_typing *typing, char key)
{
    const struct tl_key_table *table = typing->table;
    for (size_t i = 0; i < table->count; i++) {
        if (table->row[i].key == key && table->row[i].opens) {
            open_line(typing, table->row[i].line, '\0');
            return TL_TYPED_NOTHING;
        }
        if (table->row[i].key == key) {
            return run_line(typing, table->row[i].line);
        }
    }
    if (key >= '0' && key <= '9' && table->digits_open != NULL) {
        open_line(typing, table->digits_open, key);
        return TL_TYPED_NOTHING;
    }
    switch (key) {
    case '\r':
    case '\n':
        open_line(typing, "", '\0');
        return TL_TYPED_NOTHING;
    case 'a':
        return TL_TYPED_ACKNOWLEDGE;
    case 'n':
        return TL_TYPED_NIGHT;
    case 'q':
        return TL_TYPED_QUIT;
    case '?':
        typing->mode = TL_TYPING_LEAF;
        return TL_TYPED_NOTHING;
    case BYTE_REPAINT:
        return TL_TYPED_REPAINT;
    default:
        return TL_TYPED_NOTHING;
    }
}

static enum tl_typed_kind
key_in_line(struct tl_typing *typing, char key)
{
    switch (key) {
    case '\r':
    case '\n':
        if (typing->used == 0) {
            end_line(typing);
            return TL_TYPED_NOTHING;
        }
        return run_line(typing, typing->line);
    case BYTE_ESCAPE:
    case BYTE_CLEAR_LINE:
        end_line(typing);
        return TL_TYPED_NOTHING;
    case BYTE_BACKSPACE:
    case BYTE_DELETE:
        if (typing->used == 0) {
            end_line(typing);
            return TL_TYPED_NOTHING;
        }
        typing->line[--typing->used] = '\0';
        return TL_TYPED_NOTHING;
    default:
        if (key >= ' ' && key <= '~' && typing->used + 1 < sizeof typing->line) {
            typing->line[typing->used++] = key;
            typing->line[typing->used] = '\0';
        }
        return TL_TYPED_NOTHING;
    }
}

static bool
is_held_down(const struct tl_typing *typing, char key, uint64_t now_ms)
{
    bool long_held = key == TL_KEY_SAFE || typing->mode == TL_TYPING_READ_BACK;
    uint64_t limit_ms = long_held ? HELD_MS : REPEAT_MS;
    return key == typing->last && now_ms - typing->last_ms < limit_ms;
}

/* One key of a person; `alone` = nothing else came with it. */
static enum tl_typed_kind
take_key(struct tl_typing *typing, char key, uint64_t now_ms, bool alone)
{
    bool held = is_held_down(typing, key, now_ms);
    typing->last = key;
    typing->last_ms = now_ms;
    if (held && typing->mode == TL_TYPING_LINE) {
        end_line(typing);
        return TL_TYPED_TOO_FAST;
    }
    if (held) {
        typing->read_ms = typing->read_ms != 0 ? now_ms : 0; /* who holds a key does not read */
        return TL_TYPED_NOTHING;
    }
    switch (typing->mode) {
    case TL_TYPING_LINE:
        return key_in_line(typing, key);
    case TL_TYPING_READ_BACK:
        typing->mode = TL_TYPING_KEYS;
        if (key != TL_KEY_CONFIRM || !alone) {
            return TL_TYPED_CANCEL;
        }
        return may_have_been_read(typing, now_ms) ? TL_TYPED_CONFIRM : TL_TYPED_UNREAD;
    case TL_TYPING_LEAF:
        typing->mode = TL_TYPING_KEYS;
        return key == ' ' ? TL_TYPED_MORE : TL_TYPED_NOTHING;
    case TL_TYPING_KEYS:
        break;
    }
    return key_in_keys(typing, key);
}

/* True while the byte belongs to a function key: ESC [ ... final, ESC O final. */
static bool
is_in_sequence(struct tl_typing *typing, char byte, uint64_t now_ms)
{
    if (byte == TL_KEY_SAFE) { /* counts wherever it comes */
        typing->escape = OUTSIDE;
        return false;
    }
    if (typing->escape != OUTSIDE && now_ms - typing->escape_ms > ESCAPE_MS) {
        typing->escape = OUTSIDE;
    }
    switch (typing->escape) {
    case AFTER_ESCAPE:
        typing->escape = byte == '[' ? INSIDE_CSI : (byte == 'O' ? AFTER_SS3 : OUTSIDE);
        return true;
    case AFTER_SS3:
        typing->escape = OUTSIDE;
        return true;
    case INSIDE_CSI:
        if (byte >= '@' && byte <= '~') {
            typing->escape = OUTSIDE;
        }
        return true;
    default:
        break;
    }
    if (byte == BYTE_ESCAPE) {
        typing->escape = AFTER_ESCAPE;
        typing->escape_ms = now_ms;
    }
    return false;
}

/* The keys of a read, without what function keys send. Returns how many. */
static size_t
strip_sequences(struct tl_typing *typing, const char *bytes, size_t count, uint64_t now_ms,
                char *keys)
{
    size_t used = 0;
    for (size_t i = 0; i < count; i++) {
        if (!is_in_sequence(typing, bytes[i], now_ms)) {
            keys[used++] = bytes[i];
        }
    }
    return used;
}

/* At once, in every mode; held down it is said once. */
static void
take_safe(struct tl_typing *typing, uint64_t now_ms, tl_typed_fn *act, void *ctx)
{
    bool held = is_held_down(typing, TL_KEY_SAFE, now_ms);
    typing->last = TL_KEY_SAFE;
    typing->last_ms = now_ms;
    end_line(typing);
    if (!held) {
        act(ctx, TL_TYPED_SAFE);
    }
}

void
tl_typing_take(struct tl_typing *typing, const char *bytes, size_t count, uint64_t now_ms,
               tl_typed_fn *act, void *ctx)
{
    char keys[256];
    count = strip_sequences(typing, bytes, count < sizeof keys ? count : sizeof keys, now_ms, keys);
    if (memchr(keys, TL_KEY_SAFE, count) != NULL && typing->table->safe_line != NULL) {
        take_safe(typing, now_ms, act, ctx);
        return; /* whatever came with it is not taken */
    }
    if (count > BURST) {
        bool asked = typing->mode == TL_TYPING_READ_BACK;
        end_line(typing);
        act(ctx, asked ? TL_TYPED_CANCEL : TL_TYPED_TOO_FAST);
        return;
    }
    for (size_t i = 0; i < count; i++) {
        enum tl_typed_kind kind = take_key(typing, keys[i], now_ms, count == 1);
        if (kind != TL_TYPED_NOTHING) {
            act(ctx, kind);
        }
    }
}

struct help {
    char *dst;
    size_t cap;
    size_t used;
};

static void
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): key before what it does */
add_help(struct help *help, const char *key, const char *label)
{
    size_t length = strlen(key) + strlen(label) + (help->used > 0 ? 3 : 1);
    if (help->used + length < help->cap) {
        help->used += (size_t)snprintf(help->dst + help->used, help->cap - help->used, "%s%s %s",
                                       help->used > 0 ? "  " : "", key, label);
    }
}

const char *
tl_typing_help(const struct tl_typing *typing, bool owes_alert, uint64_t now_ms, char *dst,
               size_t cap)
{
    const struct tl_key_table *table = typing->table;
    struct help help = {.dst = dst, .cap = cap};
    dst[0] = '\0';
    if (table->safe_line != NULL) {
        add_help(&help, "TAB", table->safe_label);
    }
    switch (typing->mode) {
    case TL_TYPING_READ_BACK:
        if (may_have_been_read(typing, now_ms)) {
            add_help(&help, "y", "THAT IS RIGHT, say it");
        }
        add_help(&help, "any other key", "say nothing");
        return dst;
    case TL_TYPING_LINE:
        add_help(&help, "ENTER", "read it back");
        add_help(&help, "ESC", "leave it");
        return dst;
    case TL_TYPING_LEAF:
        add_help(&help, "any other key", "back");
        return dst;
    case TL_TYPING_KEYS:
        break;
    }
    if (owes_alert) {
        add_help(&help, "a", "ack");
    }
    add_help(&help, "?", "help");
    for (size_t i = 0; i < table->count; i++) {
        char key[2] = {table->row[i].key, '\0'};
        add_help(&help, key, table->row[i].label);
    }
    return dst;
}
