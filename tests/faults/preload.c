/* SPDX-License-Identifier: Apache-2.0 */
/*
 * preload.c - faults of the machine for one program, by LD_PRELOAD.
 *
 * TL_FAULTS names a file of seven 32-bit numbers (struct faults below) that a test maps too and
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
#include <sys/mman.h>
#include <time.h>
#include <unistd.h>

struct faults {
    _Atomic int32_t sync_errno; /* of fsync and fdatasync */
    _Atomic int32_t sync_in;
    _Atomic int32_t write_errno; /* of pwrite: the pages of a database */
    _Atomic int32_t write_in;
    _Atomic int32_t torn;     /* half of the write is done, then the program is killed */
    _Atomic int32_t alloc_in; /* malloc, calloc, realloc give NULL once */
    _Atomic int32_t hang_ms;  /* zmq_poll returns so much later: a loop that hangs */
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
    return sync_fails() ? -1 : real(fd);
}

int
fdatasync(int fd)
{
    int (*real)(int) = NULL;
    find_next("fdatasync", &real);
    return sync_fails() ? -1 : real(fd);
}

ssize_t
pwrite64(int fd, const void *bytes, size_t len, off64_t at)
{
    ssize_t (*real)(int, const void *, size_t, off64_t) = NULL;
    find_next("pwrite64", &real);
    struct faults *now = atomic_load(&faults);
    int torn = atomic_load(&now->torn);
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
    if (ms > 0) {
        struct timespec left = {.tv_sec = ms / 1000, .tv_nsec = (ms % 1000) * 1000000L};
        while (nanosleep(&left, &left) != 0 && errno == EINTR) {
        }
    }
    errno = saved;
    return got;
}
/* NOLINTEND(readability-inconsistent-declaration-parameter-name) */
