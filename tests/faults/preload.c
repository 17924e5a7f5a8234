/* SPDX-License-Identifier: Apache-2.0 */
/*
 * preload.c - faults of the machine for one program, by LD_PRELOAD.
 *
 * TL_FAULTS names a file of nine 32-bit numbers (struct faults below) that a test maps too and
 * changes while the program runs. What is zero does nothing. `..._in` counts calls down: the fault
 * comes at the call that makes it 0, and for syncs and writes stays from then on.
 */
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <stdarg.h>
#include <stdio.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

struct faults {
    _Atomic int32_t sync_errno; /* of fsync and fdatasync */
    _Atomic int32_t sync_in;
    _Atomic int32_t write_errno; /* of pwrite: the pages of a database */
    _Atomic int32_t write_in;
    _Atomic int32_t torn;     /* half of the write is done, when the program is killed at it */
    _Atomic int32_t alloc_in; /* malloc, calloc, realloc give NULL once */
    _Atomic int32_t hang_ms;  /* zmq_poll returns so much later: a loop that hangs */
    _Atomic int32_t kill_in;  /* calls that change a file; killed in place of it */
    _Atomic int32_t kill_ms;  /* ... so much later: what was sent before it has left */
};

/* zmq.h has it; only its address is used here. */
struct zmq_pollitem_t;
int zmq_poll(struct zmq_pollitem_t *items, int count, long timeout_ms);

/* NOLINTBEGIN(bugprone-reserved-identifier,readability-identifier-naming): names of glibc */
extern void *__libc_malloc(size_t size);
extern void *__libc_calloc(size_t count, size_t size);
extern void *__libc_realloc(void *old, size_t size);
/* NOLINTEND(bugprone-reserved-identifier,readability-identifier-naming) */

/* POSIX lets what dlsym gives be a function; ISO C has no conversion for it. */
static void
find_next(const char *name, void *out)
{
    void *found = dlsym(RTLD_NEXT, name);
    memcpy(out, &found, sizeof found);
}

/* NOLINTBEGIN(cppcoreguidelines-avoid-non-const-global-variables): nobody hands anything to malloc */
static struct faults none;
static struct faults *_Atomic faults = &none;
/* NOLINTEND(cppcoreguidelines-avoid-non-const-global-variables) */

__attribute__((constructor)) static void
open_faults(void)
{
    const char *path = getenv("TL_FAULTS");
    int fd = path != NULL ? open(path, O_RDWR | O_CLOEXEC) : -1;
    void *map = MAP_FAILED;
    if (fd >= 0) {
        map = mmap(NULL, sizeof(struct faults), PROT_READ | PROT_WRITE, MAP_SHARED, fd, 0);
        (void)close(fd);
    }
    if (map != MAP_FAILED) {
        atomic_store(&faults, (struct faults *)map);
    }
}

/* True from the call on that makes it 0; it stays at 1 then. */
static int
comes_to_stay(_Atomic int32_t *in)
{
    int32_t left = atomic_load(in);
    if (left > 1) {
        atomic_store(in, left - 1);
    }
    return left == 1;
}

static int
comes_once(_Atomic int32_t *in)
{
    int32_t left = atomic_load(in);
    if (left == 0) {
        return 0;
    }
    return atomic_fetch_sub(in, 1) == 1;
}

static void
wait_ms(int32_t ms)
{
    struct timespec left = {.tv_sec = ms / 1000, .tv_nsec = (ms % 1000) * 1000000L};
    while (ms > 0 && nanosleep(&left, &left) != 0 && errno == EINTR) {
    }
}

/* A call that changes a file comes: is it the one to be killed at? */
static int
is_killed(void)
{
    struct faults *now = atomic_load(&faults);
    if (!comes_once(&now->kill_in)) {
        return 0;
    }
    wait_ms(atomic_load(&now->kill_ms));
    return 1;
}

static void
count_change(void)
{
    if (is_killed()) {
        (void)raise(SIGKILL);
    }
}

static int
sync_fails(void)
{
    struct faults *now = atomic_load(&faults);
    if (atomic_load(&now->sync_errno) == 0 || !comes_to_stay(&now->sync_in)) {
        return 0;
    }
    errno = atomic_load(&now->sync_errno);
    return 1;
}

/* NOLINTBEGIN(readability-inconsistent-declaration-parameter-name): theirs begin with two lines */
int
fsync(int fd)
{
    int (*real)(int) = NULL;
    find_next("fsync", &real);
    count_change();
    return sync_fails() ? -1 : real(fd);
}

int
fdatasync(int fd)
{
    int (*real)(int) = NULL;
    find_next("fdatasync", &real);
    count_change();
    return sync_fails() ? -1 : real(fd);
}

ssize_t
pwrite64(int fd, const void *bytes, size_t len, off64_t at)
{
    ssize_t (*real)(int, const void *, size_t, off64_t) = NULL;
    find_next("pwrite64", &real);
    struct faults *now = atomic_load(&faults);
    int torn = atomic_load(&now->torn);
    if (is_killed()) {
        (void)real(fd, bytes, torn != 0 ? len / 2 : 0, at);
        (void)raise(SIGKILL);
    }
    if ((torn == 0 && atomic_load(&now->write_errno) == 0) || !comes_to_stay(&now->write_in)) {
        return real(fd, bytes, len, at);
    }
    if (torn != 0) {
        (void)real(fd, bytes, len / 2, at);
        (void)raise(SIGKILL);
    }
    errno = atomic_load(&now->write_errno);
    return -1;
}

ssize_t
pwrite(int fd, const void *bytes, size_t len, off_t at)
{
    return pwrite64(fd, bytes, len, at);
}

/* Pipes, sockets and terminals are no files. */
ssize_t
write(int fd, const void *bytes, size_t len)
{
    ssize_t (*real)(int, const void *, size_t) = NULL;
    struct stat it;
    find_next("write", &real);
    if (atomic_load(&atomic_load(&faults)->kill_in) > 0 && fstat(fd, &it) == 0 &&
        S_ISREG(it.st_mode)) {
        count_change();
    }
    return real(fd, bytes, len);
}

int
ftruncate64(int fd, off64_t len)
{
    int (*real)(int, off64_t) = NULL;
    find_next("ftruncate64", &real);
    count_change();
    return real(fd, len);
}

int
ftruncate(int fd, off_t len)
{
    return ftruncate64(fd, len);
}

int
unlink(const char *path)
{
    int (*real)(const char *) = NULL;
    find_next("unlink", &real);
    count_change();
    return real(path);
}

int
rename(const char *from, const char *to)
{
    int (*real)(const char *, const char *) = NULL;
    find_next("rename", &real);
    count_change();
    return real(from, to);
}

int
mkdir(const char *path, mode_t mode)
{
    int (*real)(const char *, mode_t) = NULL;
    find_next("mkdir", &real);
    count_change();
    return real(path, mode);
}

int
open64(const char *path, int flags, ...)
{
    int (*real)(const char *, int, ...) = NULL;
    mode_t mode = 0;
    va_list values;
    va_start(values, flags);
    if ((flags & (O_CREAT | O_TMPFILE)) != 0) {
        mode = va_arg(values, mode_t);
    }
    va_end(values);
    find_next("open64", &real);
    if ((flags & O_CREAT) != 0) {
        count_change();
    }
    return real(path, flags, mode);
}

int
open(const char *path, int flags, ...)
{
    mode_t mode = 0;
    va_list values;
    va_start(values, flags);
    if ((flags & (O_CREAT | O_TMPFILE)) != 0) {
        mode = va_arg(values, mode_t);
    }
    va_end(values);
    return open64(path, flags, mode);
}

void *
malloc(size_t size)
{
    if (comes_once(&atomic_load(&faults)->alloc_in)) {
        errno = ENOMEM;
        return NULL;
    }
    return __libc_malloc(size);
}

void *
calloc(size_t count, size_t size)
{
    if (comes_once(&atomic_load(&faults)->alloc_in)) {
        errno = ENOMEM;
        return NULL;
    }
    return __libc_calloc(count, size);
}

void *
realloc(void *old, size_t size)
{
    if (comes_once(&atomic_load(&faults)->alloc_in)) {
        errno = ENOMEM;
        return NULL;
    }
    return __libc_realloc(old, size);
}

int
zmq_poll(struct zmq_pollitem_t *items, int count, long timeout_ms)
{
    int (*real)(struct zmq_pollitem_t *, int, long) = NULL;
    find_next("zmq_poll", &real);
    int got = real(items, count, timeout_ms);
    int saved = errno;
    int32_t ms = atomic_exchange(&atomic_load(&faults)->hang_ms, 0);
    wait_ms(ms);
    errno = saved;
    return got;
}
/* NOLINTEND(readability-inconsistent-declaration-parameter-name) */
