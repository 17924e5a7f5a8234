/* SPDX-License-Identifier: Apache-2.0 */
/* typed.c - what is typed at this station's terminal, line by line. See session.h. */
#include <errno.h>
#include <poll.h>
#include <string.h>
#include <unistd.h>

#include "clients/station/session.h"

static void
take_line(struct tl_session *session, size_t length)
{
    char line[TL_LINE_MAX + 1];
    bool whole = length < sizeof line && !session->input_skipping;
    bool nul = memchr(session->input, '\0', length) != NULL;
    if (whole) {
        memcpy(line, session->input, length);
        line[length > 0 && line[length - 1] == '\r' ? length - 1 : length] = '\0';
    }
    session->input_used -= length + 1;
    memmove(session->input, session->input + length + 1, session->input_used);
    session->input_skipping = false;
    if (!whole) {
        tl_session_say_line(session, -1, "line too long; nothing was said");
    } else if (nul) { /* what follows it would be another line than the one that is acted on */
        tl_session_say_line(session, -1,
                            "line has bytes that are not plain text; nothing was said");
    } else {
        tl_session_line(session, line, false, -1);
    }
}

static void
take_lines(struct tl_session *session)
{
    const char *newline = NULL;
    while ((newline = memchr(session->input, '\n', session->input_used)) != NULL) {
        tl_session_end_hold(session);
        take_line(session, (size_t)(newline - session->input));
    }
    if (session->input_used == sizeof session->input) {
        session->input_used = 0;
        session->input_skipping = true;
    }
}

void
tl_session_read_input(struct tl_session *session)
{
    size_t room = sizeof session->input - session->input_used;
    ssize_t n = read(STDIN_FILENO, session->input + session->input_used, room);
    if (n > 0) {
        session->input_used += (size_t)n;
        take_lines(session);
    } else if (n == 0 || (errno != EINTR && errno != EAGAIN)) {
        session->input_ended = true;
    }
}

bool
tl_session_typed_ahead(const struct tl_session *session)
{
    struct pollfd input = {.fd = STDIN_FILENO, .events = POLLIN};
    if (session->input_used > 0) {
        return true;
    }
    return !session->input_ended && poll(&input, 1, 0) > 0 && (input.revents & POLLIN) != 0;
}
