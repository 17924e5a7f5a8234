/* SPDX-License-Identifier: Apache-2.0 */
/* writer.c - see writer.h. */
#include "proto/metrics/writer.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <limits.h>
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "proto/base/file.h"
#include "proto/base/log.h"

enum {
    CLOSE_LIMIT_S = 1,
    PAGE_MODE = 0644, /* a collector is another user; nothing in a page is secret */
    PROC_CAP = 128,
    NUMBER_CAP = 24
};
static const char temp_suffix[] = ".new";
static const char first_words[] = "# TYPE trapline_";

struct tl_metrics {
    const char *path;
    char temp[PATH_MAX];
    uint64_t due_ms; /* the loop's */
    pthread_t thread;
    pthread_mutex_t lock;
    pthread_cond_t changed;
    /* under the lock */
    bool stop;
    bool handed; /* the page is the thread's, else the loop's */
    bool ended;  /* the thread touches nothing here any more */
    bool left;   /* its owner has gone: the thread releases it */
    uint64_t skipped;
    /* the thread's */
    uint64_t failed;
    bool failed_said;
    struct tl_metrics_page page;
};

/* ---- the process ---- */

/* 0 when the system does not tell. */
static uint64_t
resident_bytes(void)
{
    char text[PROC_CAP] = "";
    unsigned long long pages = 0;
    int fd = open("/proc/self/statm", O_RDONLY | O_CLOEXEC);
    if (fd < 0) {
        return 0;
    }
    ssize_t len = read(fd, text, sizeof text - 1);
    (void)close(fd);
    const char *second = len > 0 ? strchr(text, ' ') : NULL;
    if (second != NULL) {
        pages = strtoull(second, NULL, 10);
    }
    return pages * (uint64_t)sysconf(_SC_PAGESIZE);
}

/* Without the one by which they are counted. */
static uint64_t
open_descriptors(void)
{
    uint64_t count = 0;
    DIR *dir = opendir("/proc/self/fd");
    if (dir == NULL) {
        return 0;
    }
    // NOLINTNEXTLINE(concurrency-mt-unsafe): the stream is this thread's own
    for (const struct dirent *entry = readdir(dir); entry != NULL; entry = readdir(dir)) {
        count += entry->d_name[0] != '.' ? 1U : 0U;
    }
    (void)closedir(dir);
    return count > 0 ? count - 1 : 0;
}

/* ---- the file ---- */

/* TL_OK: nothing is there, or a page. */
static enum tl_err
look_at(const char *path)
{
    struct stat status;
    char begin[sizeof first_words - 1];
    if (lstat(path, &status) != 0) {
        return errno == ENOENT ? TL_OK : tl_err_of_errno(errno);
    }
    if (!S_ISREG(status.st_mode)) {
        return TL_BADARG;
    }
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
    if (fd < 0) {
        return tl_err_of_errno(errno);
    }
    ssize_t len = read(fd, begin, sizeof begin);
    (void)close(fd);
    bool ours = len == (ssize_t)sizeof begin && memcmp(begin, first_words, sizeof begin) == 0;
    return len == 0 || ours ? TL_OK : TL_EXISTS;
}

/* What a killed writer left is removed first; whoever else makes it meanwhile is not written to. */
static enum tl_err
replace(const struct tl_metrics *metrics)
{
    (void)unlink(metrics->temp);
    int fd = open(metrics->temp, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, PAGE_MODE);
    if (fd < 0) {
        return tl_err_of_errno(errno);
    }
    enum tl_err err = tl_file_write_all(fd, metrics->page.text, metrics->page.used);
    if (err == TL_OK && fchmod(fd, PAGE_MODE) != 0) {
        err = tl_err_of_errno(errno);
    }
    if (close(fd) != 0 && err == TL_OK) {
        err = tl_err_of_errno(errno);
    }
    if (err == TL_OK && rename(metrics->temp, metrics->path) != 0) {
        err = tl_err_of_errno(errno);
    }
    if (err != TL_OK) {
        (void)unlink(metrics->temp);
    }
    return err;
}

/* ---- the thread ---- */

static void
write_page(struct tl_metrics *metrics, uint64_t skipped)
{
    struct tl_metrics_page *page = &metrics->page;
    tl_metrics_put(page, TL_METRIC_RESIDENT, NULL, resident_bytes());
    tl_metrics_put(page, TL_METRIC_DESCRIPTORS, NULL, open_descriptors());
    tl_metrics_put(page, TL_METRIC_PAGES_SKIPPED, NULL, skipped);
    tl_metrics_put(page, TL_METRIC_PAGES_FAILED, NULL, metrics->failed);
    enum tl_err err = tl_metrics_end(page) ? look_at(metrics->path) : TL_MALFORMED;
    if (err == TL_OK) {
        err = replace(metrics);
    }
    if (err == TL_OK) {
        if (metrics->failed_said) {
            tl_log(TL_LOG_NOTICE, "MET-002", "metrics %s: written again", metrics->path);
        }
        metrics->failed_said = false;
        return;
    }
    metrics->failed++;
    if (!metrics->failed_said) {
        metrics->failed_said = true;
        tl_log(TL_LOG_WARNING, "MET-001",
               "metrics %s: not written: %s; tried again, all else goes on", metrics->path,
               tl_err_text(err));
    }
}

static void
release(struct tl_metrics *metrics)
{
    (void)pthread_cond_destroy(&metrics->changed);
    (void)pthread_mutex_destroy(&metrics->lock);
    free(metrics);
}

static void *
run(void *ctx)
{
    struct tl_metrics *metrics = ctx;
    (void)pthread_mutex_lock(&metrics->lock);
    while (!metrics->stop) {
        if (!metrics->handed) {
            (void)pthread_cond_wait(&metrics->changed, &metrics->lock);
            continue;
        }
        uint64_t skipped = metrics->skipped;
        (void)pthread_mutex_unlock(&metrics->lock);
        write_page(metrics, skipped);
        (void)pthread_mutex_lock(&metrics->lock);
        metrics->handed = false;
    }
    (void)pthread_mutex_unlock(&metrics->lock);
    if (look_at(metrics->path) == TL_OK) {
        (void)unlink(metrics->path);
    }
    (void)pthread_mutex_lock(&metrics->lock);
    metrics->ended = true;
    bool left = metrics->left;
    (void)pthread_mutex_unlock(&metrics->lock);
    if (left) {
        release(metrics);
    }
    return NULL;
}

/* The signals are the owner's: the thread must not take one from its descriptor. */
static bool
start_thread(struct tl_metrics *metrics)
{
    sigset_t all;
    sigset_t before;
    (void)sigfillset(&all);
    if (pthread_sigmask(SIG_SETMASK, &all, &before) != 0) {
        return false;
    }
    bool started = pthread_create(&metrics->thread, NULL, run, metrics) == 0;
    (void)pthread_sigmask(SIG_SETMASK, &before, NULL);
    return started;
}

static enum tl_err
fail(enum tl_err err, const char *path, const char *what, char *why, size_t why_cap)
{
    (void)snprintf(why, why_cap, "metrics '%.*s': %s", 200, path, what);
    return err;
}

enum tl_err
tl_metrics_open(const char *path, struct tl_metrics **out, char *why, size_t why_cap)
{
    *out = NULL;
    if (path == NULL) {
        return TL_OK;
    }
    if (path[0] == '\0' || strlen(path) + sizeof temp_suffix > PATH_MAX) {
        return fail(TL_BADARG, path, "no path, or one that is too long", why, why_cap);
    }
    enum tl_err there = look_at(path);
    if (there == TL_BADARG || there == TL_EXISTS) {
        return fail(TL_BADARG, path, "is there and no page of metrics; name another file", why,
                    why_cap);
    }
    struct tl_metrics *metrics = calloc(1, sizeof *metrics);
    if (metrics == NULL) {
        return fail(TL_NOMEM, path, "out of memory", why, why_cap);
    }
    metrics->path = path;
    (void)snprintf(metrics->temp, sizeof metrics->temp, "%s%s", path, temp_suffix);
    (void)pthread_mutex_init(&metrics->lock, NULL);
    (void)pthread_cond_init(&metrics->changed, NULL);
    if (!start_thread(metrics)) {
        release(metrics);
        return fail(TL_IO, path, "no thread to write it", why, why_cap);
    }
    *out = metrics;
    return TL_OK;
}

struct tl_metrics_page *
tl_metrics_due(struct tl_metrics *metrics, uint64_t now_ms)
{
    if (metrics == NULL || now_ms < metrics->due_ms) {
        return NULL;
    }
    metrics->due_ms = now_ms + TL_METRICS_MS;
    (void)pthread_mutex_lock(&metrics->lock);
    bool handed = metrics->handed;
    metrics->skipped += handed ? 1U : 0U;
    (void)pthread_mutex_unlock(&metrics->lock);
    if (handed) {
        return NULL;
    }
    tl_metrics_clear(&metrics->page);
    return &metrics->page;
}

void
tl_metrics_hand(struct tl_metrics *metrics)
{
    (void)pthread_mutex_lock(&metrics->lock);
    metrics->handed = true;
    (void)pthread_cond_signal(&metrics->changed);
    (void)pthread_mutex_unlock(&metrics->lock);
}

void
tl_metrics_begin(struct tl_metrics_page *page, const struct tl_metrics_program *program)
{
    char schema[NUMBER_CAP];
    const char *const build[TL_METRIC_LABELS_MAX] = {program->program, TL_VERSION, schema};
    const char *const node[TL_METRIC_LABELS_MAX] = {program->node, program->kind};
    (void)snprintf(schema, sizeof schema, "%" PRIu32, program->schema);
    tl_metrics_put_info(page, TL_METRIC_BUILD, build);
    tl_metrics_put_info(page, TL_METRIC_NODE, node);
    tl_metrics_put(page, TL_METRIC_INCARNATION, NULL, program->incarnation);
    tl_metrics_put_ms(page, TL_METRIC_UPTIME, NULL, program->uptime_ms);
    tl_metrics_put_ms(page, TL_METRIC_WRITTEN, NULL, program->wall_ms);
}

void
tl_metrics_close(struct tl_metrics **closing)
{
    struct tl_metrics *metrics = *closing;
    struct timespec until;
    if (metrics == NULL) {
        return;
    }
    *closing = NULL;
    (void)pthread_mutex_lock(&metrics->lock);
    metrics->stop = true;
    (void)pthread_cond_signal(&metrics->changed);
    (void)pthread_mutex_unlock(&metrics->lock);
    (void)clock_gettime(CLOCK_REALTIME, &until);
    until.tv_sec += CLOSE_LIMIT_S;
    if (pthread_timedjoin_np(metrics->thread, NULL, &until) != 0) {
        pthread_t thread = metrics->thread;
        (void)pthread_mutex_lock(&metrics->lock);
        metrics->left = !metrics->ended;
        bool left = metrics->left;
        (void)pthread_mutex_unlock(&metrics->lock);
        if (left) {
            (void)pthread_detach(thread);
            return;
        }
        (void)pthread_join(thread, NULL);
    }
    release(metrics);
}
