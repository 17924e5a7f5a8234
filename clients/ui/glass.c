/* SPDX-License-Identifier: Apache-2.0 */
/* glass.c - see glass.h. */
#include "clients/ui/glass.h"

#include <curses.h>
#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <term.h>
#include <termios.h>
#include <unistd.h>

enum {
    CTRL_C = 0x03,
    CTRL_L = 0x0c,
    RESTORE_CAP = 256,
    HANDLER_STACK = 64 * 1024, /* a stack that has run over cannot carry its handler */
    PAIR_BAD = 1,
    PAIR_GOOD,
    PAIR_DOUBT
};

/* Each that ends a program; signal(7) has the list. Who waits for one has it blocked. */
static const int deadly[] = {SIGHUP,  SIGINT,  SIGTERM, SIGABRT, SIGSEGV, SIGBUS,    SIGFPE,
                             SIGILL,  SIGTRAP, SIGQUIT, SIGUSR1, SIGUSR2, SIGALRM,   SIGVTALRM,
                             SIGPROF, SIGPOLL, SIGSYS,  SIGXCPU, SIGXFSZ, SIGSTKFLT, SIGPWR};
enum {
    DEADLY = sizeof deadly / sizeof deadly[0]
};

static const char last_words[] = "\r\n" TL_UI_ENDED "\r\n";

/* One terminal a process, and the handlers of signals must find it. */
static struct {
    SCREEN *screen;
    bool color;
    struct termios before;
    struct sigaction old[DEADLY];
    char restore[RESTORE_CAP]; /* what gives the terminal back, made at the start */
    size_t restore_used;
    char handler_stack[HANDLER_STACK];
    stack_t old_stack;
    struct tl_sheet shown;
    bool night;
    bool all; /* nothing of `shown` is on the glass */
} glass;      /* NOLINT(cppcoreguidelines-avoid-non-const-global-variables) */

/* Only what may be called in a handler. */
static void
give_back(int signal_number)
{
    ssize_t written = write(STDOUT_FILENO, glass.restore, glass.restore_used);
    (void)written;
    (void)tcsetattr(STDIN_FILENO, TCSANOW, &glass.before);
    for (size_t i = 0; i < DEADLY; i++) {
        if (deadly[i] == signal_number) {
            (void)sigaction(signal_number, &glass.old[i], NULL);
        }
    }
    (void)raise(signal_number);
}

static void
add_text(const char *text, size_t length)
{
    if (glass.restore_used + length <= sizeof glass.restore) {
        memcpy(glass.restore + glass.restore_used, text, length);
        glass.restore_used += length;
    }
}

/* Without its padding, "$<2>": terminfo(5); a handler cannot wait, and the terminal prints it. */
static void
add_restore(const char *capability)
{
    const char *text = tigetstr(capability);
    if (text == NULL || (intptr_t)text == -1) {
        return;
    }
    while (*text != '\0') {
        const char *padding = strstr(text, "$<");
        const char *end = padding != NULL ? strchr(padding, '>') : NULL;
        size_t length = end != NULL ? (size_t)(padding - text) : strlen(text);
        add_text(text, length);
        text = end != NULL ? end + 1 : text + length;
    }
}

static void
watch_deadly_signals(void)
{
    const stack_t stack = {.ss_sp = glass.handler_stack, .ss_size = sizeof glass.handler_stack};
    struct sigaction action = {.sa_handler = give_back};
    (void)sigaltstack(&stack, &glass.old_stack);
    (void)sigemptyset(&action.sa_mask);
    action.sa_flags = SA_NODEFER | SA_ONSTACK;
    for (size_t i = 0; i < DEADLY; i++) {
        (void)sigaction(deadly[i], &action, &glass.old[i]);
    }
}

bool
tl_glass_possible(void)
{
    const char *term = getenv("TERM");
    return isatty(STDIN_FILENO) && isatty(STDOUT_FILENO) && term != NULL && term[0] != '\0' &&
           strcmp(term, "dumb") != 0;
}

static bool
wants_color(void)
{
    const char *no_color = getenv("NO_COLOR");
    return (no_color == NULL || no_color[0] == '\0') && has_colors();
}

static void
start_color_pairs(void)
{
    (void)start_color();
    (void)use_default_colors();
    (void)init_pair(PAIR_BAD, COLOR_RED, -1);
    (void)init_pair(PAIR_GOOD, COLOR_GREEN, -1);
    (void)init_pair(PAIR_DOUBT, COLOR_YELLOW, -1);
}

enum tl_err
tl_glass_open(char *why, size_t cap)
{
    const char *term = getenv("TERM");
    if (!tl_glass_possible() || tcgetattr(STDIN_FILENO, &glass.before) != 0) {
        (void)snprintf(why, cap, "this is no terminal that a page can be shown on");
        return TL_IO;
    }
    glass.screen = newterm(NULL, stdout, stdin);
    if (glass.screen == NULL) {
        (void)snprintf(why, cap, "TERM=%.40s is not known here", term);
        return TL_IO;
    }
    (void)raw();
    (void)noecho();
    (void)nonl();
    (void)keypad(stdscr, FALSE);
    (void)leaveok(stdscr, FALSE);
    (void)curs_set(0);
    glass.color = wants_color();
    if (glass.color) {
        start_color_pairs();
    }
    glass.restore_used = 0;
    add_restore("sgr0");
    add_restore("cnorm");
    add_restore("clear"); /* no READY is left standing where there is only one screen */
    add_restore("rmcup");
    add_text(last_words, sizeof last_words - 1);
    watch_deadly_signals();
    glass.all = true;
    return TL_OK;
}

void
tl_glass_close(void)
{
    if (glass.screen == NULL) {
        return;
    }
    for (size_t i = 0; i < DEADLY; i++) {
        (void)sigaction(deadly[i], &glass.old[i], NULL);
    }
    (void)sigaltstack(&glass.old_stack, NULL);
    (void)curs_set(1);
    (void)clear(); /* no READY is left standing where there is only one screen */
    (void)refresh();
    (void)endwin();
    delscreen(glass.screen);
    glass.screen = NULL;
    (void)tcsetattr(STDIN_FILENO, TCSANOW, &glass.before);
}

struct tl_sheet_size
tl_glass_size(void)
{
    struct winsize size = {0};
    if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_row > 0 && size.ws_col > 0) {
        if (size.ws_row != LINES || size.ws_col != COLS) {
            (void)resizeterm(size.ws_row, size.ws_col);
            glass.all = true;
        }
    }
    return (struct tl_sheet_size){
        (uint32_t)LINES < TL_SHEET_ROWS_MAX ? (uint32_t)LINES : TL_SHEET_ROWS_MAX,
        (uint32_t)COLS < TL_SHEET_COLS_MAX ? (uint32_t)COLS : TL_SHEET_COLS_MAX};
}

bool
tl_glass_goes_on(bool *night)
{
    char keys[64];
    ssize_t count = read(STDIN_FILENO, keys, sizeof keys);
    bool goes_on = count > 0 || (count < 0 && (errno == EINTR || errno == EAGAIN));
    for (ssize_t i = 0; i < count; i++) {
        switch (keys[i]) {
        case 'q':
        case CTRL_C:
            goes_on = false;
            break;
        case 'n':
            *night = !*night;
            break;
        case CTRL_L:
            tl_glass_repaint();
            break;
        default:
            break;
        }
    }
    return goes_on;
}

static attr_t
attributes(enum tl_ink ink, bool night)
{
    attr_t color = 0;
    if (glass.color) {
        color = ink == TL_INK_BAD ? COLOR_PAIR(PAIR_BAD) : color;
        color = ink == TL_INK_GOOD ? COLOR_PAIR(PAIR_GOOD) : color;
        color = ink == TL_INK_DOUBT ? COLOR_PAIR(PAIR_DOUBT) : color;
    }
    switch (ink) {
    case TL_INK_GOOD:
        return color | (night ? 0 : A_BOLD | A_REVERSE);
    case TL_INK_STRONG:
    case TL_INK_BAD:
        return color | (night ? 0 : A_BOLD);
    case TL_INK_FAINT:
    case TL_INK_DOUBT:
    case TL_INK_PLAIN:
        break;
    case TL_INK_MARK: /* eight times a second: it costs no change of attributes */
        return 0;
    }
    return color | (night ? A_DIM : 0);
}

static void
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): row before column */
paint_cell(uint32_t row, uint32_t col, struct tl_cell cell, bool night)
{
    (void)mvaddch((int)row, (int)col,
                  (chtype)(unsigned char)cell.byte | attributes((enum tl_ink)cell.ink, night));
}

void
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): row before column */
tl_glass_paint(const struct tl_sheet *sheet, bool night, int cursor_row, int cursor_col)
{
    bool all = glass.all || night != glass.night || sheet->rows != glass.shown.rows ||
               sheet->cols != glass.shown.cols;
    if (glass.all) {
        (void)clear();
    }
    for (uint32_t row = 0; row < sheet->rows; row++) {
        for (uint32_t col = 0; col < sheet->cols; col++) {
            struct tl_cell now = sheet->cell[row][col];
            struct tl_cell then = glass.shown.cell[row][col];
            bool last = row + 1 == sheet->rows && col + 1 == sheet->cols;
            if (!last && (all || now.byte != then.byte || now.ink != then.ink)) {
                paint_cell(row, col, now, night);
            }
        }
    }
    (void)curs_set(cursor_row >= 0 ? 1 : 0);
    if (cursor_row >= 0) {
        (void)move(cursor_row, cursor_col);
    }
    (void)refresh();
    memcpy(&glass.shown, sheet, sizeof glass.shown);
    glass.night = night;
    glass.all = false;
}

void
tl_glass_repaint(void)
{
    glass.all = true;
}

void
tl_glass_ring(void)
{
    (void)beep();
}
