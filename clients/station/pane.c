/* SPDX-License-Identifier: Apache-2.0 */
/* pane.c - keys in, lines in between; pane_paint.c makes the page. See pane.h. */
#include "clients/station/pane.h"

#include <ctype.h>
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "clients/station/bridge/bridge.h"
#include "clients/ui/glass.h"
#include "proto/base/clock.h"

enum {
    LOOK_MS = 300, /* an alert that is younger on this screen has not been read */
    READS_MAX = 16 /* of a keyboard at a time: more is no person, and the loop must go on beating */
};

static void
message(struct tl_pane *pane, const char *text)
{
    (void)snprintf(pane->message, sizeof pane->message, "%s", text);
}

/* News stand in the page already; an answer stands under it. */
static void
end_line(struct tl_pane *pane)
{
    pane->part[pane->part_used] = '\0';
    memcpy(pane->line[pane->line_count++ % TL_PANE_LINES], pane->part, pane->part_used + 1);
    if (!pane->session->telling_news) {
        message(pane, pane->part);
    }
    if (strstr(pane->part, " - NOT CONFIRMED") != NULL ||
        strstr(pane->part, " - REFUSED") != NULL) {
        memcpy(pane->warning, pane->part, sizeof pane->warning);
        pane->warning_ms = 0;
    }
    pane->part_used = 0;
}

/* Where the session's lines go: fopencookie(3). */
static ssize_t
take_output(void *cookie, const char *bytes, size_t count)
{
    struct tl_pane *pane = cookie;
    for (size_t i = 0; i < count; i++) {
        if (bytes[i] == '\n') {
            end_line(pane);
        } else if (pane->part_used + 1 < sizeof pane->part) {
            pane->part[pane->part_used++] = bytes[i];
        }
    }
    return (ssize_t)count;
}

/*
 * What has been typed and not read cannot be meant for what is read back now. The word toward safe
 * is never dropped: it is acted on as soon as the key in hand has been.
 */
static void
drop_typed(struct tl_pane *pane)
{
    char bytes[256];
    struct pollfd input = {.fd = STDIN_FILENO, .events = POLLIN};
    for (int i = 0; i < READS_MAX && poll(&input, 1, 0) > 0 && (input.revents & POLLIN) != 0; i++) {
        ssize_t count = read(STDIN_FILENO, bytes, sizeof bytes);
        if (count <= 0) {
            return;
        }
        pane->safe_waits = pane->safe_waits || memchr(bytes, TL_KEY_SAFE, (size_t)count) != NULL;
    }
}

/*
 * Run a line as if it were typed in the line mode. Many lines of answer are shown whole.
 */
static void
run(struct tl_pane *pane, const char *line)
{
    uint64_t before = pane->line_count;
    message(pane, "");
    drop_typed(pane);
    tl_session_line(pane->session, line, false, -1);
    if (pane->line_count > before + 1) {
        pane->leaf_of_lines = true;
        pane->leaf_from = before;
        pane->typing.mode = TL_TYPING_LEAF;
    }
}

static void
acknowledge(struct tl_pane *pane)
{
    const struct tl_belled *first = tl_page_first_owed(&pane->session->bell);
    char line[32];
    if (first == NULL) {
        message(pane, "no alert waits for this station");
    } else if (pane->offered == 0) {
        message(pane, "the alert that waits is not on this page: type 'alerts', and 'ack' with its "
                      "number");
    } else if (first->number != pane->offered || tl_clock_boot_ms() < pane->offered_ms + LOOK_MS) {
        message(pane, "the first alert has just changed: read it, then press a");
    } else {
        (void)snprintf(line, sizeof line, "ack %u", first->number);
        run(pane, line);
    }
}

static void
cancel(struct tl_pane *pane)
{
    if (pane->session->pending) {
        pane->session->pending = false;
        message(pane, "nothing was said");
    }
    pane->quit_until_ms = 0;
}

static void
confirm(struct tl_pane *pane)
{
    if (pane->quit_until_ms != 0) {
        pane->session->seat.ended = true;
        return;
    }
    run(pane, "confirm");
}

/* One type alone begins with that word: the type, else NULL. */
static const char *
only_type(const struct tl_config *config, const char *word, size_t length)
{
    const char *found = NULL;
    for (uint32_t i = 0; i < config->type_count; i++) {
        if (strncmp(config->type[i].id, word, length) == 0) {
            if (found != NULL) {
                return NULL;
            }
            found = config->type[i].id;
        }
    }
    return found;
}

/* Words that speak of a type may name it by its beginning; the read-back has the whole of it. */
static void
complete_types(const struct tl_config *config, char line[TL_LINE_MAX])
{
    static const char *const verbs[] = {"order ", "inbound ", "call ", "aid "};
    char whole[TL_LINE_MAX] = "";
    size_t used = 0;
    bool speaks = false;
    for (size_t i = 0; i < sizeof verbs / sizeof verbs[0]; i++) {
        speaks = speaks || strncmp(line, verbs[i], strlen(verbs[i])) == 0;
    }
    for (const char *at = line; speaks && *at != '\0' && used + 1 < sizeof whole;) {
        size_t length = strcspn(at, " ");
        bool first = at == line;
        bool word = length > 0 && isalpha((unsigned char)at[0]) && !first &&
                    strncmp(at, "for", length > 3 ? length : 3) != 0 &&
                    strncmp(at, "barricade", length > 2 ? length : 9) != 0;
        const char *type = word ? only_type(config, at, length) : NULL;
        used += (size_t)snprintf(whole + used, sizeof whole - used, "%.*s%s",
                                 type != NULL ? (int)strlen(type) : (int)length,
                                 type != NULL ? type : at, at[length] == ' ' ? " " : "");
        at += length + (at[length] == ' ' ? 1 : 0);
    }
    if (speaks && used < sizeof whole) {
        memcpy(line, whole, sizeof whole);
    }
}

static void
ask_to_quit(struct tl_pane *pane)
{
    pane->quit_until_ms = tl_clock_boot_ms() + TL_CONFIRM_MS;
    drop_typed(pane);
    tl_typing_read_back(&pane->typing);
}

/* The lines that the leaf had no room for; behind the last one, the page again. */
static void
show_more(struct tl_pane *pane)
{
    if (pane->leaf_of_lines && pane->leaf_next < pane->line_count) {
        pane->leaf_from = pane->leaf_next;
        pane->typing.mode = TL_TYPING_LEAF;
    }
}

static void
act(void *ctx, enum tl_typed_kind kind)
{
    struct tl_pane *pane = ctx;
    switch (kind) {
    case TL_TYPED_SAFE:
        cancel(pane);
        run(pane, pane->typing.table->safe_line);
        break;
    case TL_TYPED_LINE:
        complete_types(&pane->session->seat.join.config, pane->typing.taken);
        run(pane, pane->typing.taken);
        break;
    case TL_TYPED_CONFIRM:
        confirm(pane);
        break;
    case TL_TYPED_CANCEL:
        cancel(pane);
        break;
    case TL_TYPED_ACKNOWLEDGE:
        acknowledge(pane);
        break;
    case TL_TYPED_MORE:
        show_more(pane);
        break;
    case TL_TYPED_UNREAD:
        cancel(pane);
        message(pane, "y came before that could be read: nothing was said");
        break;
    case TL_TYPED_NIGHT:
        pane->night = !pane->night;
        break;
    case TL_TYPED_REPAINT:
        tl_glass_repaint();
        break;
    case TL_TYPED_QUIT:
        ask_to_quit(pane);
        break;
    case TL_TYPED_TOO_FAST:
        message(pane, "typed faster than anyone types, or pasted: nothing was taken");
        break;
    case TL_TYPED_NOTHING:
        break;
    }
}

/* What cannot be read must not be confirmed. */
static bool
is_seen_whole(const struct tl_pane *pane, uint64_t now_ms)
{
    char text[TL_PANE_READ_CAP];
    return tl_page_has_room(tl_glass_size(), tl_pane_read_back(pane, now_ms, text));
}

/* A read-back that comes later than its line finds a person who may be typing something else. */
void
tl_pane_settle(struct tl_pane *pane)
{
    uint64_t now_ms = tl_clock_boot_ms();
    bool asks = pane->session->pending || pane->quit_until_ms > now_ms;
    if (!asks) {
        pane->quit_until_ms = 0;
        tl_typing_let_go(&pane->typing);
    } else if (pane->typing.mode == TL_TYPING_LINE) {
        cancel(pane);
        message(pane, "nothing was said: something else is being typed");
    } else if (!is_seen_whole(pane, now_ms)) {
        cancel(pane);
        tl_typing_let_go(&pane->typing);
        message(pane, "NOT SAID: this window is too small to read it back; make it larger");
    } else if (pane->typing.mode != TL_TYPING_READ_BACK) {
        drop_typed(pane);
        tl_typing_read_back(&pane->typing);
    }
}

void
tl_pane_input(struct tl_pane *pane)
{
    char bytes[256];
    ssize_t count = read(STDIN_FILENO, bytes, sizeof bytes);
    if (count <= 0) {
        bool later = count < 0 && (errno == EINTR || errno == EAGAIN);
        pane->session->seat.ended = pane->session->seat.ended || !later;
        return;
    }
    tl_session_end_hold(pane->session);
    tl_pane_settle(pane);
    if (pane->typing.mode == TL_TYPING_KEYS) {
        pane->leaf_of_lines = false;
    }
    tl_typing_take(&pane->typing, bytes, (size_t)count, tl_clock_boot_ms(), act, pane);
    tl_pane_settle(pane);
}

void
tl_pane_painted(struct tl_pane *pane)
{
    if (pane->typing.mode == TL_TYPING_READ_BACK && pane->typing.read_ms == 0) {
        drop_typed(pane);
        tl_typing_painted(&pane->typing, tl_clock_boot_ms());
    }
}

void
tl_pane_say_safe(struct tl_pane *pane)
{
    if (pane->safe_waits) {
        pane->safe_waits = false;
        if (pane->typing.table->safe_line == NULL) {
            return;
        }
        tl_typing_init(&pane->typing, pane->typing.table);
        act(pane, TL_TYPED_SAFE);
    }
}

/* What the program says beside the page would spoil it; it goes to a file of the run folder. */
static void
turn_error_away(struct tl_pane *pane)
{
    char path[TL_PATH_CAP + TL_ID_CAP + 8];
    const struct tl_join *join = &pane->session->seat.join;
    pane->old_error = -1;
    if (!isatty(STDERR_FILENO)) {
        return;
    }
    (void)snprintf(path, sizeof path, "%s/%s.log", join->config.run_dir, join->node->id);
    int file = open(path, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
    if (file < 0) {
        file = open("/dev/null", O_WRONLY | O_CLOEXEC);
    }
    if (file >= 0) {
        pane->old_error = dup(STDERR_FILENO);
        (void)dup2(file, STDERR_FILENO);
        (void)close(file);
    }
}

/* Whoever prints for this session: itself, the bridge's feed, the dials. */
static void
print_to(struct tl_session *session, FILE *out)
{
    session->out = out;
    session->dials.out = out;
    if (session->bridge != NULL) {
        session->bridge->out = out;
    }
}

enum tl_err
tl_pane_open(struct tl_session *session, char *why, size_t cap)
{
    struct tl_pane *pane = calloc(1, sizeof *pane);
    FILE *out =
        pane != NULL ? fopencookie(pane, "w", (cookie_io_functions_t){.write = take_output}) : NULL;
    if (out == NULL) {
        free(pane);
        (void)snprintf(why, cap, "out of memory");
        return TL_NOMEM;
    }
    (void)setvbuf(out, NULL, _IOLBF, 0);
    pane->session = session;
    tl_typing_init(&pane->typing, tl_keys_of(session->seat.join.node->station));
    turn_error_away(pane);
    enum tl_err err = tl_glass_open(why, cap);
    pane->before = session->out;
    print_to(session, out);
    session->pane = pane;
    if (err != TL_OK) {
        tl_pane_close(session);
    }
    return err;
}

/* The page is gone, and with it what stood under it: the last answer, and that nothing is shown now. */
static void
say_last(const struct tl_pane *pane)
{
    if (pane->message[0] != '\0' && strcmp(pane->message, TL_UI_ENDED) != 0) {
        (void)fprintf(pane->before, "%s\n", pane->message);
    }
    (void)fprintf(pane->before, "%s\n", TL_UI_ENDED);
    (void)fflush(pane->before);
}

void
tl_pane_close(struct tl_session *session)
{
    struct tl_pane *pane = session->pane;
    if (pane == NULL) {
        return;
    }
    tl_glass_close();
    (void)fclose(session->out);
    print_to(session, pane->before);
    session->pane = NULL;
    say_last(pane);
    if (pane->old_error >= 0) {
        (void)dup2(pane->old_error, STDERR_FILENO);
        (void)close(pane->old_error);
    }
    free(pane);
}
