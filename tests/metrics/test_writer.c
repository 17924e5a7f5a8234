/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_writer - the page in its file: whole for every reader, and nobody waits for the disk
 *
 * The linker sends write and rename of the code under test through the functions here (ld, option
 * --wrap), which fail or hang on demand. A page is awaited by its own words.
 */
#include <errno.h>
#include <fcntl.h>
#include <malloc.h>
#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#include "proto/metrics/writer.h"

enum {
    PATH_CAP_OF_TEST = 96,
    WHY_CAP = 512,
    PATIENCE_MS = 20000,
    PAGES = 400,
    MORE_BYTES = 64 << 20,
    MORE_FILES = 7,
    PROMPT_MS = 200 /* a call that has waited for a disk that hangs takes for ever */
};

/* The linker passes no state to these functions. */
static _Atomic int write_fails;  // NOLINT(cppcoreguidelines-avoid-non-const-global-variables)
static _Atomic int rename_fails; // NOLINT(cppcoreguidelines-avoid-non-const-global-variables)
static _Atomic int write_hangs;  // NOLINT(cppcoreguidelines-avoid-non-const-global-variables)

ssize_t __real_write(int fd, const void *data, size_t len);
int __real_rename(const char *from, const char *to);
ssize_t __wrap_write(int fd, const void *data, size_t len);
int __wrap_rename(const char *from, const char *to);

static void
pause_briefly(void)
{
    (void)nanosleep(&(struct timespec){.tv_nsec = 1000000}, NULL);
}

ssize_t
__wrap_write(int fd, const void *data, size_t len)
{
    if (fd <= STDERR_FILENO) {
        return __real_write(fd, data, len);
    }
    while (atomic_load(&write_hangs) != 0) {
        pause_briefly();
    }
    if (atomic_load(&write_fails) != 0) {
        errno = atomic_load(&write_fails);
        return -1;
    }
    return __real_write(fd, data, len < 100 ? len : 100); /* in parts */
}

int
__wrap_rename(const char *from, const char *to)
{
    if (atomic_load(&rename_fails) != 0) {
        errno = atomic_load(&rename_fails);
        return -1;
    }
    return __real_rename(from, to);
}

struct place {
    char dir[48];
    char path[PATH_CAP_OF_TEST];
    char temp[PATH_CAP_OF_TEST];
    struct tl_metrics *metrics;
    uint64_t now_ms; /* of the loop */
    uint64_t number; /* of the page, told as its incarnation */
    char text[TL_METRICS_PAGE_MAX];
};

static uint64_t
clock_ms(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (uint64_t)now.tv_sec * 1000 + (uint64_t)now.tv_nsec / 1000000;
}

static int
set_up(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    char why[WHY_CAP];
    assert_non_null(place);
    (void)snprintf(place->dir, sizeof place->dir, "/tmp/tl-metrics-XXXXXX");
    assert_non_null(mkdtemp(place->dir));
    (void)snprintf(place->path, sizeof place->path, "%s/page", place->dir);
    (void)snprintf(place->temp, sizeof place->temp, "%s/page.new", place->dir);
    assert_int_equal(tl_metrics_open(place->path, &place->metrics, why, sizeof why), TL_OK);
    *state = place;
    return 0;
}

static int
tear_down(void **state)
{
    struct place *place = *state;
    atomic_store(&write_fails, 0);
    atomic_store(&rename_fails, 0);
    atomic_store(&write_hangs, 0);
    tl_metrics_close(&place->metrics);
    (void)unlink(place->path);
    (void)unlink(place->temp);
    (void)rmdir(place->dir);
    free(place);
    return 0;
}

/* What a loop does: true when a page was handed over. */
static bool
turn(struct place *place)
{
    struct tl_metrics_program program = {.program = "test", .node = "deck", .kind = "station"};
    place->now_ms += TL_METRICS_MS;
    struct tl_metrics_page *page = tl_metrics_due(place->metrics, place->now_ms);
    if (page == NULL) {
        return false;
    }
    program.incarnation = ++place->number;
    tl_metrics_begin(page, &program);
    tl_metrics_hand(place->metrics);
    return true;
}

static bool
read_page(struct place *place)
{
    int fd = open(place->path, O_RDONLY | O_CLOEXEC);
    ssize_t len = fd >= 0 ? read(fd, place->text, sizeof place->text - 1) : -1;
    if (fd >= 0) {
        (void)close(fd);
    }
    place->text[len > 0 ? len : 0] = '\0';
    return len > 0;
}

/* The number of that family on the page, whatever its labels. */
static uint64_t
figure(const struct place *place, const char *name)
{
    char line[PATH_CAP_OF_TEST];
    (void)snprintf(line, sizeof line, "\n%s ", name);
    const char *at = strstr(place->text, line);
    assert_non_null(at);
    return strtoull(at + strlen(line), NULL, 10);
}

/* Turn until a page handed over from now on is in the file. */
static void
await_page(struct place *place)
{
    uint64_t until_ms = clock_ms() + PATIENCE_MS;
    uint64_t since = place->number;
    do {
        (void)turn(place);
        pause_briefly();
        assert_true(clock_ms() < until_ms);
    } while (!read_page(place) || figure(place, "trapline_incarnation") <= since);
}

static void
await_failures(struct place *place, int more)
{
    uint64_t number = place->number;
    uint64_t until_ms = clock_ms() + PATIENCE_MS;
    while (place->number <
           number + (uint64_t)more + 1) { /* the last one is taken: those are done */
        (void)turn(place);
        pause_briefly();
        assert_true(clock_ms() < until_ms);
    }
}

static void
await_gone(const char *path)
{
    uint64_t until_ms = clock_ms() + PATIENCE_MS;
    while (access(path, F_OK) == 0) {
        pause_briefly();
        assert_true(clock_ms() < until_ms);
    }
}

static void
a_page_is_due_every_second_and_not_before(void **state)
{
    struct place *place = *state;
    assert_true(turn(place));
    assert_null(tl_metrics_due(place->metrics, place->now_ms + TL_METRICS_MS - 1));
    await_page(place);
    assert_non_null(strstr(place->text, "trapline_build_info{program=\"test\",version=\""));
    assert_int_equal(access(place->temp, F_OK), -1);
}

static void
without_a_file_nothing_is_due_and_nothing_is_opened(void **state)
{
    struct tl_metrics *none = NULL;
    char why[WHY_CAP];
    (void)state;
    assert_int_equal(tl_metrics_open(NULL, &none, why, sizeof why), TL_OK);
    assert_null(none);
    assert_null(tl_metrics_due(none, UINT64_MAX));
    tl_metrics_close(&none);
}

struct reader {
    struct place *place;
    _Atomic int stop;
    unsigned seen, torn;
};

/* Opens the path again and again, as a collector does. */
static void *
read_on(void *ctx)
{
    static const char end[] = "# EOF\n";
    struct reader *reader = ctx;
    char *text = malloc(TL_METRICS_PAGE_MAX);
    while (text != NULL && atomic_load(&reader->stop) == 0) {
        int fd = open(reader->place->path, O_RDONLY | O_CLOEXEC);
        ssize_t len = fd >= 0 ? read(fd, text, TL_METRICS_PAGE_MAX) : -1;
        if (fd >= 0) {
            (void)close(fd);
            bool whole = len > (ssize_t)sizeof end &&
                         memcmp(text + len - (sizeof end - 1), end, sizeof end - 1) == 0;
            reader->seen++;
            reader->torn += whole ? 0U : 1U;
        }
    }
    free(text);
    return NULL;
}

static void
no_reader_ever_finds_half_a_page(void **state)
{
    struct place *place = *state;
    struct reader reader = {.place = place};
    pthread_t thread;
    await_page(place);
    assert_int_equal(pthread_create(&thread, NULL, read_on, &reader), 0);
    while (place->number < PAGES) {
        (void)turn(place);
        pause_briefly();
    }
    atomic_store(&reader.stop, 1);
    assert_int_equal(pthread_join(thread, NULL), 0);
    assert_true(reader.seen > PAGES / 4);
    assert_int_equal(reader.torn, 0);
}

static void
a_full_disk_leaves_the_old_page_and_the_next_one_is_written_when_there_is_room(void **state)
{
    struct place *place = *state;
    await_page(place);
    atomic_store(&write_fails, ENOSPC);
    await_failures(place, 3);
    uint64_t failing = place->number;
    assert_true(read_page(place));
    assert_true(figure(place, "trapline_incarnation") < failing);
    assert_non_null(strstr(place->text, "# EOF\n"));
    await_gone(place->temp);
    atomic_store(&write_fails, 0);
    await_page(place);
    assert_true(figure(place, "trapline_pages_failed_total") >= 3);
    assert_int_equal(access(place->temp, F_OK), -1);
}

static void
a_folder_that_may_not_be_written_changes_nothing_else(void **state)
{
    struct place *place = *state;
    await_page(place);
    atomic_store(&rename_fails, EROFS);
    await_failures(place, 2);
    atomic_store(&rename_fails, 0);
    await_page(place);
    assert_int_equal(unlink(place->path), 0);
    assert_int_equal(rmdir(place->dir), 0);
    await_failures(place, 2);
    assert_int_equal(mkdir(place->dir, 0700), 0);
    await_page(place);
    assert_true(figure(place, "trapline_pages_failed_total") >= 4);
}

static void
a_disk_that_hangs_delays_no_call_and_what_is_left_out_is_counted(void **state)
{
    struct place *place = *state;
    await_page(place);
    uint64_t skipped = figure(place, "trapline_pages_skipped_total");
    atomic_store(&write_hangs, 1);
    while (turn(place)) {
        pause_briefly();
    }
    uint64_t begin_ms = clock_ms();
    for (int i = 0; i < 50; i++) {
        assert_false(turn(place));
    }
    assert_true(clock_ms() - begin_ms < PROMPT_MS);
    atomic_store(&write_hangs, 0);
    await_page(place);
    assert_true(figure(place, "trapline_pages_skipped_total") >= skipped + 50);
}

static void
the_end_does_not_wait_for_a_disk_that_hangs(void **state)
{
    struct place *place = *state;
    await_page(place);
    atomic_store(&write_hangs, 1);
    while (turn(place)) {
        pause_briefly();
    }
    uint64_t begin_ms = clock_ms();
    tl_metrics_close(&place->metrics);
    assert_null(place->metrics);
    assert_true(clock_ms() - begin_ms < 5000);
    atomic_store(&write_hangs, 0); /* the thread that was left takes its memory along */
    await_gone(place->path);
}

static void
the_page_is_removed_at_a_regular_end(void **state)
{
    struct place *place = *state;
    await_page(place);
    tl_metrics_close(&place->metrics);
    assert_int_equal(access(place->path, F_OK), -1);
}

static void
what_is_no_page_of_ours_is_refused_and_left_as_it_is(void **state)
{
    struct place *place = *state;
    struct tl_metrics *other = NULL;
    char file[PATH_CAP_OF_TEST];
    char why[WHY_CAP] = "";
    char kept[16] = "";
    const char *const refused[] = {file, "/dev/null", place->dir, ""};
    (void)snprintf(file, sizeof file, "%s/gear.yaml", place->dir);
    int fd = open(file, O_WRONLY | O_CREAT | O_CLOEXEC, 0600);
    assert_int_equal(__real_write(fd, "engines:\n", 9), 9);
    (void)close(fd);
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        assert_int_equal(tl_metrics_open(refused[i], &other, why, sizeof why), TL_BADARG);
        assert_null(other);
        assert_non_null(strstr(why, "metrics '"));
    }
    fd = open(file, O_RDONLY | O_CLOEXEC);
    assert_int_equal(read(fd, kept, sizeof kept), 9);
    (void)close(fd);
    assert_string_equal(kept, "engines:\n");
    /* One that comes later is not overwritten either. */
    await_page(place);
    assert_int_equal(__real_rename(file, place->path), 0);
    await_failures(place, 2);
    assert_true(read_page(place));
    assert_string_equal(place->text, "engines:\n");
}

static void
the_figures_of_the_process_follow_what_it_does(void **state)
{
    struct place *place = *state;
    int fd[MORE_FILES];
    await_page(place);
    uint64_t files = figure(place, "trapline_open_descriptors");
    uint64_t bytes = figure(place, "trapline_resident_memory_bytes");
    for (int i = 0; i < MORE_FILES; i++) {
        fd[i] = open("/dev/null", O_RDONLY | O_CLOEXEC);
    }
    char *more = malloc(MORE_BYTES);
    assert_non_null(more);
    memset(more, 1, MORE_BYTES);
    await_page(place);
    await_page(place);
    assert_int_equal(figure(place, "trapline_open_descriptors"), files + MORE_FILES);
    assert_true(figure(place, "trapline_resident_memory_bytes") >=
                bytes + (uint64_t)MORE_BYTES / 10 * 9);
    for (int i = 0; i < MORE_FILES; i++) {
        (void)close(fd[i]);
    }
    free(more);
}

static void
pages_take_no_more_heap_and_no_more_descriptors(void **state)
{
    struct place *place = *state;
    for (int i = 0; i < 10; i++) {
        await_page(place);
    }
    size_t heap = mallinfo2().uordblks;
    uint64_t files = figure(place, "trapline_open_descriptors");
    for (int i = 0; i < 100; i++) {
        await_page(place);
    }
    /* The folder of the process's descriptors is listed with a buffer, which the thread may hold now. */
    assert_in_range(mallinfo2().uordblks, 0, heap + 40000);
    assert_int_equal(figure(place, "trapline_open_descriptors"), files);
}

int
main(void)
{
#define EACH(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        EACH(a_page_is_due_every_second_and_not_before),
        EACH(without_a_file_nothing_is_due_and_nothing_is_opened),
        EACH(no_reader_ever_finds_half_a_page),
        EACH(a_full_disk_leaves_the_old_page_and_the_next_one_is_written_when_there_is_room),
        EACH(a_folder_that_may_not_be_written_changes_nothing_else),
        EACH(a_disk_that_hangs_delays_no_call_and_what_is_left_out_is_counted),
        EACH(the_end_does_not_wait_for_a_disk_that_hangs),
        EACH(the_page_is_removed_at_a_regular_end),
        EACH(what_is_no_page_of_ours_is_refused_and_left_as_it_is),
        EACH(the_figures_of_the_process_follow_what_it_does),
        EACH(pages_take_no_more_heap_and_no_more_descriptors),
    };
#undef EACH
    return cmocka_run_group_tests(tests, NULL, NULL);
}
