/* SPDX-License-Identifier: Apache-2.0 */
/*
 * terminal - a real terminal without a window: a program on a pseudo-terminal, its bytes through
 * libvterm, the cells asked for line by line.
 *
 *     terminal ROWS COLS PROGRAM ARGUMENT...
 *
 * Reads requests, one a line, and answers each with one line unless said otherwise:
 *
 *   keys HEX           write these bytes as the keyboard would; "ok"
 *   show               each row behind '|', then "."
 *   ink                each row behind '|': b bold, r reverse, d dim, c coloured (upper case with
 *                      bold), '.' nothing; then "."
 *   await MS TEXT      until TEXT stands in some row: "seen MS ROW"; "not seen" after MS
 *   gone MS TEXT       until it stands nowhere: "gone MS"; "still there"
 *   size ROWS COLS     resize; "ok"
 *   count              "bytes N bells N cursor ROW COL shown|hidden": since the last count
 *   stop | go          read nothing from the program, or read again; "ok"
 *   hangup             close the terminal; "ok"
 *   signal N           to the program; "ok"
 *   modes              "canonical 0|1 echo 0|1 alternate 0|1 cursor 0|1"
 *   end MS             until the program ends: "exit CODE" or "signal N"; "runs" after MS
 *
 * It ends, and the program with it, when its input does.
 */
#include <errno.h>
#include <poll.h>
#include <pty.h>
#include <signal.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/wait.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>
#include <utmp.h>
#include <vterm.h>

enum {
    REQUEST_CAP = 4096,
    COLS_MAX = 300,
    TURN_MS = 10
};

struct terminal {
    VTerm *vt;
    VTermScreen *screen;
    int rows, cols;
    int master, slave; /* the slave is kept open to look at its modes */
    pid_t child;
    bool ended, stopped, alternate, cursor;
    int status;
    uint64_t bytes, bells;
    VTermPos at;
};

static uint64_t
now_ms(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_BOOTTIME, &now);
    return (uint64_t)now.tv_sec * 1000 + (uint64_t)now.tv_nsec / 1000000;
}

static int
on_bell(void *user)
{
    ((struct terminal *)user)->bells++;
    return 1;
}

static int
on_move(VTermPos pos, VTermPos old, int visible, void *user)
{
    (void)old;
    (void)visible;
    ((struct terminal *)user)->at = pos;
    return 1;
}

static int
on_property(VTermProp property, VTermValue *value, void *user)
{
    struct terminal *terminal = user;
    if (property == VTERM_PROP_CURSORVISIBLE) {
        terminal->cursor = value->boolean != 0;
    } else if (property == VTERM_PROP_ALTSCREEN) {
        terminal->alternate = value->boolean != 0;
    }
    return 1;
}

static const VTermScreenCallbacks callbacks = {
    .bell = on_bell, .movecursor = on_move, .settermprop = on_property};

/* What the terminal answers to the program's questions goes back as if typed. */
static void
answer(struct terminal *terminal)
{
    char bytes[256];
    size_t count = vterm_output_read(terminal->vt, bytes, sizeof bytes);
    if (count > 0 && write(terminal->master, bytes, count) < 0) {
        return;
    }
}

/* Take what the program has written, for at most `wait_ms`. */
static void
turn(struct terminal *terminal, int wait_ms)
{
    char bytes[8192];
    struct pollfd ready = {.fd = terminal->stopped ? -1 : terminal->master, .events = POLLIN};
    if (terminal->master >= 0 && poll(&ready, 1, wait_ms) > 0 && ready.revents != 0) {
        ssize_t count = read(terminal->master, bytes, sizeof bytes);
        if (count > 0) {
            terminal->bytes += (uint64_t)count;
            (void)vterm_input_write(terminal->vt, bytes, (size_t)count);
            answer(terminal);
        }
    } else if (terminal->master < 0) {
        (void)poll(NULL, 0, wait_ms);
    }
    if (!terminal->ended && waitpid(terminal->child, &terminal->status, WNOHANG) > 0) {
        terminal->ended = true;
    }
}

static char
byte_at(const struct terminal *terminal, int row, int col)
{
    VTermScreenCell cell;
    if (vterm_screen_get_cell(terminal->screen, (VTermPos){row, col}, &cell) == 0 ||
        cell.chars[0] == 0) {
        return ' ';
    }
    if (cell.chars[0] < 0x80) {
        return (char)cell.chars[0];
    }
    return '?';
}

static void
row_text(const struct terminal *terminal, int row, char dst[COLS_MAX + 1])
{
    int length = 0;
    for (int col = 0; col < terminal->cols && col < COLS_MAX; col++) {
        dst[col] = byte_at(terminal, row, col);
        length = dst[col] != ' ' ? col + 1 : length;
    }
    dst[length] = '\0';
}

static void
show(const struct terminal *terminal)
{
    char text[COLS_MAX + 1];
    for (int row = 0; row < terminal->rows; row++) {
        row_text(terminal, row, text);
        (void)printf("|%s\n", text);
    }
    (void)printf(".\n");
}

static char
ink_at(const struct terminal *terminal, int row, int col)
{
    VTermScreenCell cell;
    if (vterm_screen_get_cell(terminal->screen, (VTermPos){row, col}, &cell) == 0) {
        return '.';
    }
    bool coloured = !VTERM_COLOR_IS_DEFAULT_FG(&cell.fg);
    if (cell.attrs.reverse) {
        return 'r';
    }
    if (coloured) {
        return cell.attrs.bold ? 'C' : 'c';
    }
    return cell.attrs.bold ? 'b' : '.';
}

static void
show_ink(const struct terminal *terminal)
{
    for (int row = 0; row < terminal->rows; row++) {
        (void)putchar('|');
        for (int col = 0; col < terminal->cols; col++) {
            (void)putchar(ink_at(terminal, row, col));
        }
        (void)putchar('\n');
    }
    (void)printf(".\n");
}

/* The first row that has the text; -1 = none. */
static int
find(const struct terminal *terminal, const char *text)
{
    char line[COLS_MAX + 1];
    for (int row = 0; row < terminal->rows; row++) {
        row_text(terminal, row, line);
        if (strstr(line, text) != NULL) {
            return row;
        }
    }
    return -1;
}

static void
await(struct terminal *terminal, const char *words, bool there)
{
    char *text = NULL;
    uint64_t begin = now_ms();
    uint64_t limit_ms = strtoull(words, &text, 10);
    text += *text == ' ' ? 1 : 0;
    while (true) {
        turn(terminal, TURN_MS);
        int row = find(terminal, text);
        uint64_t took_ms = now_ms() - begin;
        if ((row >= 0) == there) {
            (void)printf(there ? "seen %llu %d\n" : "gone %llu\n", (unsigned long long)took_ms,
                         row);
            return;
        }
        if (took_ms >= limit_ms) {
            (void)printf(there ? "not seen\n" : "still there\n");
            return;
        }
    }
}

static void
type_keys(const struct terminal *terminal, const char *hex)
{
    char bytes[REQUEST_CAP / 2];
    size_t used = 0;
    for (; hex[0] != '\0' && hex[1] != '\0' && used < sizeof bytes; hex += 2) {
        const char pair[3] = {hex[0], hex[1], '\0'};
        bytes[used++] = (char)strtoul(pair, NULL, 16);
    }
    bool written = write(terminal->master, bytes, used) == (ssize_t)used;
    (void)printf(written ? "ok\n" : "not written\n");
}

static void
resize(struct terminal *terminal, const char *words)
{
    char *rest = NULL;
    terminal->rows = (int)strtol(words, &rest, 10);
    terminal->cols = (int)strtol(rest, NULL, 10);
    struct winsize size = {.ws_row = (unsigned short)terminal->rows,
                           .ws_col = (unsigned short)terminal->cols};
    vterm_set_size(terminal->vt, terminal->rows, terminal->cols);
    (void)ioctl(terminal->master, TIOCSWINSZ, &size);
    (void)printf("ok\n");
}

static void
tell_modes(const struct terminal *terminal)
{
    struct termios modes = {0};
    (void)tcgetattr(terminal->slave, &modes);
    (void)printf("canonical %d echo %d alternate %d cursor %d\n", (modes.c_lflag & ICANON) != 0,
                 (modes.c_lflag & ECHO) != 0, terminal->alternate, terminal->cursor);
}

static void
await_end(struct terminal *terminal, const char *words)
{
    uint64_t until = now_ms() + strtoull(words, NULL, 10);
    while (!terminal->ended && now_ms() < until) {
        turn(terminal, TURN_MS);
    }
    for (int i = 0; i < 20; i++) {
        turn(terminal, 1); /* its last bytes */
    }
    if (!terminal->ended) {
        (void)printf("runs\n");
    } else if (WIFSIGNALED(terminal->status)) {
        (void)printf("signal %d\n", WTERMSIG(terminal->status));
    } else {
        (void)printf("exit %d\n", WEXITSTATUS(terminal->status));
    }
}

static bool
begins(const char *line, const char *word, const char **rest)
{
    size_t length = strlen(word);
    if (strncmp(line, word, length) != 0 || (line[length] != ' ' && line[length] != '\0')) {
        return false;
    }
    *rest = line + length + (line[length] == ' ' ? 1 : 0);
    return true;
}

static void
take_request(struct terminal *terminal, const char *line)
{
    const char *rest = "";
    if (begins(line, "keys", &rest)) {
        type_keys(terminal, rest);
    } else if (begins(line, "show", &rest)) {
        show(terminal);
    } else if (begins(line, "ink", &rest)) {
        show_ink(terminal);
    } else if (begins(line, "await", &rest)) {
        await(terminal, rest, true);
    } else if (begins(line, "gone", &rest)) {
        await(terminal, rest, false);
    } else if (begins(line, "size", &rest)) {
        resize(terminal, rest);
    } else if (begins(line, "count", &rest)) {
        (void)printf("bytes %llu bells %llu cursor %d %d %s\n", (unsigned long long)terminal->bytes,
                     (unsigned long long)terminal->bells, terminal->at.row, terminal->at.col,
                     terminal->cursor ? "shown" : "hidden");
        terminal->bytes = terminal->bells = 0;
    } else if (begins(line, "stop", &rest) || begins(line, "go", &rest)) {
        terminal->stopped = line[0] == 's';
        (void)printf("ok\n");
    } else if (begins(line, "hangup", &rest)) {
        (void)close(terminal->slave);
        (void)close(terminal->master);
        terminal->slave = terminal->master = -1;
        (void)printf("ok\n");
    } else if (begins(line, "signal", &rest)) {
        (void)kill(terminal->child, (int)strtol(rest, NULL, 10));
        (void)printf("ok\n");
    } else if (begins(line, "modes", &rest)) {
        tell_modes(terminal);
    } else if (begins(line, "end", &rest)) {
        await_end(terminal, rest);
    } else {
        (void)printf("not understood\n");
    }
    (void)fflush(stdout);
}

/* One request, while the program is read; false at the end of input. */
static bool
read_request(struct terminal *terminal, char line[REQUEST_CAP])
{
    size_t used = 0;
    while (used + 1 < REQUEST_CAP) {
        struct pollfd input = {.fd = STDIN_FILENO, .events = POLLIN};
        while (poll(&input, 1, 0) == 0) {
            turn(terminal, TURN_MS);
        }
        if (read(STDIN_FILENO, line + used, 1) != 1) {
            return false;
        }
        if (line[used] == '\n') {
            line[used] = '\0';
            return true;
        }
        used++;
    }
    return false;
}

static void
start(struct terminal *terminal, char **command)
{
    struct winsize size = {.ws_row = (unsigned short)terminal->rows,
                           .ws_col = (unsigned short)terminal->cols};
    if (openpty(&terminal->master, &terminal->slave, NULL, NULL, &size) != 0) {
        perror("openpty");
        exit(1);
    }
    terminal->child = fork();
    if (terminal->child == 0) {
        (void)close(terminal->master);
        (void)login_tty(terminal->slave);
        (void)execv(command[0], command);
        perror(command[0]);
        _exit(127);
    }
}

int
main(int argc, char **argv)
{
    static struct terminal terminal;
    char line[REQUEST_CAP];
    if (argc < 4) {
        (void)fprintf(stderr, "usage: terminal ROWS COLS PROGRAM ARGUMENT...\n");
        return 64;
    }
    terminal.rows = (int)strtol(argv[1], NULL, 10);
    terminal.cols = (int)strtol(argv[2], NULL, 10);
    terminal.vt = vterm_new(terminal.rows, terminal.cols);
    terminal.screen = vterm_obtain_screen(terminal.vt);
    vterm_set_utf8(terminal.vt, 1);
    vterm_screen_set_callbacks(terminal.screen, &callbacks, &terminal);
    vterm_screen_enable_altscreen(terminal.screen, 1);
    vterm_screen_reset(terminal.screen, 1);
    start(&terminal, argv + 3);
    while (read_request(&terminal, line)) {
        take_request(&terminal, line);
    }
    if (!terminal.ended) {
        (void)kill(terminal.child, SIGKILL);
        (void)waitpid(terminal.child, &terminal.status, 0);
    }
    vterm_free(terminal.vt);
    return 0;
}
