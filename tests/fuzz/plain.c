/* SPDX-License-Identifier: Apache-2.0 */
/*
 * plain.c - a target without libFuzzer: the inputs that are given, and so many made of them
 *
 *   fuzz_NAME [--rounds N] [--seed S] FILE|FOLDER...
 *
 * Every file is an input, in the order of names; then N more are made of them by chance. The same
 * files, N and S are the same run. What does not hold aborts: the input is then left in the file
 * fuzz_NAME.found of the working folder, where the same program takes it as FILE. An input that
 * keeps the processor for longer than SLOW_S does not hold either.
 */
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/time.h>
#include <time.h>
#include <unistd.h>

#include "proto/base/text.h"
#include "tests/fuzz/fuzz.h"
#include "tests/support/splitmix.h"

enum {
    EXIT_USAGE = 64,
    INPUTS_MAX = 4096,
    SPOILINGS_MAX = 4,
    PIECE_MAX = 40,
    SLOW_S = 2
};

struct buffer {
    uint8_t *bytes;
    size_t len;
};

struct run {
    struct buffer input[INPUTS_MAX]; /* as they were given */
    size_t count;
    uint64_t rounds, seed;
    struct buffer made; /* FUZZ_INPUT_MAX */
    void *world;
};

/* For the handler of a fatal signal alone: the input in hand. */
static struct {
    struct buffer now;
    volatile sig_atomic_t number, number_before;
    char path[FUZZ_PATH_CAP];
} hand; /* NOLINT(cppcoreguidelines-avoid-non-const-global-variables) */

static void
say(const char *text)
{
    ssize_t done = write(STDERR_FILENO, text, strlen(text));
    (void)done;
}

static void
leave_input(int number)
{
    int fd = open(hand.path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, S_IRUSR | S_IWUSR);
    ssize_t done = write(fd, hand.now.bytes, hand.now.len);
    say(done == (ssize_t)hand.now.len ? "the input is in " : "the input is not in ");
    say(hand.path);
    say(number == SIGPROF ? ": it takes too long\n" : ": something does not hold\n");
    (void)signal(number, SIG_DFL);
    (void)raise(number);
}

/* Once in SLOW_S of the processor: the same input twice is one that takes that long. */
static void
look_at_time(int number)
{
    if (hand.number != 0 && hand.number == hand.number_before) {
        leave_input(number);
    }
    hand.number_before = hand.number;
}

static void
watch(void)
{
    static const int fatal[] = {SIGABRT, SIGSEGV, SIGBUS, SIGFPE, SIGILL};
    const struct itimerval each = {{.tv_sec = SLOW_S}, {.tv_sec = SLOW_S}};

    (void)snprintf(hand.path, sizeof hand.path, "fuzz_%s.found", fuzz_name);
    for (size_t i = 0; i < sizeof fatal / sizeof fatal[0]; i++) {
        (void)signal(fatal[i], leave_input);
    }
    (void)signal(SIGPROF, look_at_time);
    TL_REQUIRE(setitimer(ITIMER_PROF, &each, NULL) == 0);
}

/* In a block of exactly its size, so that the sanitizers see a reading past its end. */
static void
take(void *world, const struct buffer *input)
{
    uint8_t *exact = malloc(input->len > 0 ? input->len : 1);
    TL_REQUIRE(exact != NULL);
    memcpy(exact, input->bytes, input->len);
    hand.now = *input;
    hand.number = hand.number % 1000000 + 1;
    fuzz_take(world, exact, input->len);
    free(exact);
}

/* ---- inputs by chance ---- */

static size_t
below(uint64_t *seed, size_t limit)
{
    return limit == 0 ? 0 : (size_t)(splitmix(seed) % limit);
}

/* Put `len` bytes in at `at`; what then is too long is cut. */
static void
put_in(struct buffer *made, size_t at, const uint8_t *piece, size_t len)
{
    len = len < FUZZ_INPUT_MAX - at ? len : FUZZ_INPUT_MAX - at;
    size_t behind = made->len - at;
    behind = behind < FUZZ_INPUT_MAX - at - len ? behind : FUZZ_INPUT_MAX - at - len;
    memmove(made->bytes + at + len, made->bytes + at, behind);
    memcpy(made->bytes + at, piece, len);
    made->len = at + len + behind;
}

static void
take_out(struct buffer *made, size_t at, size_t len)
{
    len = len < made->len - at ? len : made->len - at;
    memmove(made->bytes + at, made->bytes + at + len, made->len - at - len);
    made->len -= len;
}

/* The first number in digits from there on becomes one that stands at an edge. */
static void
put_number(struct buffer *made, size_t at, uint64_t *seed)
{
    static const char *const numbers[] = {"0",          "1",          "-1",
                                          "99",         "100",        "255",
                                          "256",        "9999",       "65536",
                                          "99999",      "1000000",    "2147483648",
                                          "4294967295", "4294967296", "9223372036854775808",
                                          "1e9",        "0.0001",     "18446744073709551616"};
    const char *number = numbers[below(seed, sizeof numbers / sizeof numbers[0])];
    size_t len = 0;
    while (at < made->len && (made->bytes[at] < '0' || made->bytes[at] > '9')) {
        at++;
    }
    while (at + len < made->len && made->bytes[at + len] >= '0' && made->bytes[at + len] <= '9') {
        len++;
    }
    take_out(made, at, len);
    put_in(made, at, (const uint8_t *)number, strlen(number));
}

static void
spoil(struct buffer *made, const struct buffer *other, uint64_t *seed)
{
    static const uint8_t edges[] = {0,    1,   0x7f, 0x80, 0xff, '\n', '\r', '\t',
                                    0x1b, ' ', '-',  '0',  '9',  ':',  '%',  '"'};
    size_t at = below(seed, made->len);
    size_t len = 1 + below(seed, PIECE_MAX);
    size_t from = below(seed, other->len);
    uint8_t piece[PIECE_MAX];

    len = len < other->len - from ? len : other->len - from;
    switch (below(seed, 9)) {
    case 0: /* less of it */
        take_out(made, at, 1 + below(seed, PIECE_MAX));
        break;
    case 1: /* a piece of another input, or of the same */
        memcpy(piece, other->bytes + from, len);
        put_in(made, at, piece, len);
        break;
    case 2: /* the same over what is there */
        len = len < made->len - at ? len : made->len - at;
        memcpy(made->bytes + at, other->bytes + from, len);
        break;
    case 3:
        piece[0] = (uint8_t)splitmix(seed);
        put_in(made, at, piece, 1);
        break;
    case 4:
        made->bytes[at] = (uint8_t)splitmix(seed);
        break;
    case 5:
        made->bytes[at] = edges[below(seed, sizeof edges)];
        break;
    case 6:
        put_number(made, at, seed);
        break;
    case 7:
        made->bytes[at] = (uint8_t)(made->bytes[at] + 1 - 2 * below(seed, 2));
        break;
    default:
        made->bytes[at] ^= (uint8_t)(1U << below(seed, 8));
        break;
    }
}

static void
take_by_chance(struct run *run)
{
    uint64_t seed = run->seed;
    for (uint64_t round = 0; round < run->rounds && run->count > 0; round++) {
        const struct buffer *from = &run->input[below(&seed, run->count)];
        memcpy(run->made.bytes, from->bytes, from->len);
        run->made.len = from->len;
        size_t times = 1 + below(&seed, SPOILINGS_MAX);
        while (times-- > 0 && run->made.len > 0) {
            spoil(&run->made, &run->input[below(&seed, run->count)], &seed);
        }
        take(run->world, &run->made);
    }
}

/* ---- the command line ---- */

static bool
read_file(struct run *run, const char *path)
{
    struct buffer *input = &run->input[run->count];
    FILE *file = run->count < INPUTS_MAX ? fopen(path, "rb") : NULL;
    if (file == NULL) {
        return false;
    }
    input->len = fread(run->made.bytes, 1, FUZZ_INPUT_MAX, file);
    input->bytes = malloc(input->len + 1);
    TL_REQUIRE(input->bytes != NULL);
    memcpy(input->bytes, run->made.bytes, input->len);
    run->count++;
    return fclose(file) == 0;
}

static int
is_input(const struct dirent *entry)
{
    return entry->d_name[0] != '.';
}

static bool
read_path(struct run *run, const char *path)
{
    struct dirent **entry = NULL;
    struct stat st;
    bool read = true;
    if (stat(path, &st) != 0 || !S_ISDIR(st.st_mode)) {
        return read_file(run, path);
    }
    int count = scandir(path, &entry, is_input, alphasort);
    for (int i = 0; i < count; i++) {
        char name[2 * FUZZ_PATH_CAP];
        (void)snprintf(name, sizeof name, "%s/%s", path, entry[i]->d_name);
        read = read && read_file(run, name);
        free(entry[i]);
    }
    free(entry);
    return read && count >= 0;
}

static bool
read_arguments(struct run *run, int argc, char **argv)
{
    for (int i = 1; i < argc; i++) {
        uint64_t *number = strcmp(argv[i], "--rounds") == 0 ? &run->rounds
                           : strcmp(argv[i], "--seed") == 0 ? &run->seed
                                                            : NULL;
        if (number != NULL) {
            if (i + 1 == argc || !tl_text_number(argv[++i], number)) {
                return false;
            }
        } else if (!read_path(run, argv[i])) {
            (void)fprintf(stderr, "%s: %s\n", argv[i], strerror(errno));
            return false;
        }
    }
    return run->count > 0;
}

/* Of the processor: what else the machine does is not in it. */
static double
seconds_now(void)
{
    struct timespec at;
    (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &at);
    return (double)at.tv_sec + (double)at.tv_nsec / 1e9;
}

int
main(int argc, char **argv)
{
    static struct run run = {.seed = 1};
    run.made.bytes = malloc(FUZZ_INPUT_MAX);
    if (run.made.bytes == NULL || !read_arguments(&run, argc, argv)) {
        (void)fprintf(stderr, "usage: fuzz_%s [--rounds N] [--seed S] FILE|FOLDER...\n", fuzz_name);
        return EXIT_USAGE;
    }
    run.world = fuzz_open();
    watch();
    double begin = seconds_now();
    for (size_t i = 0; i < run.count; i++) {
        take(run.world, &run.input[i]);
    }
    take_by_chance(&run);
    double s = seconds_now() - begin;
    double all = (double)run.count + (double)run.rounds;
    (void)printf("%-9s %4zu inputs given, %6.0f made of them by seed %llu: %.1f s of a processor, "
                 "%.0f a second\n",
                 fuzz_name, run.count, (double)run.rounds, (unsigned long long)run.seed, s,
                 s > 0 ? all / s : 0);
    for (size_t i = 0; i < run.count; i++) {
        free(run.input[i].bytes);
    }
    free(run.made.bytes);
    return 0;
}
