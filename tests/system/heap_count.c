/* SPDX-License-Identifier: Apache-2.0 */
/*
 * heap_count.c - counts what a program asks of the heap, by who asks; by LD_PRELOAD.
 *
 * TL_HEAP names a file of four 64-bit numbers that a test maps too: calls of malloc, calloc and
 * realloc out of the program itself, out of libprotobuf-c, out of libzmq, and out of all else.
 * Who asks is told by the return address.
 */
#include <fcntl.h>
#include <link.h>
#include <stdatomic.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

enum {
    PROGRAM,
    PROTOBUF,
    ZMQ,
    OTHER,
    WHO
};

struct range {
    uintptr_t from, to;
};

/* NOLINTBEGIN(bugprone-reserved-identifier,readability-identifier-naming): names of glibc */
extern void *__libc_malloc(size_t size);
extern void *__libc_calloc(size_t count, size_t size);
extern void *__libc_realloc(void *old, size_t size);
/* NOLINTEND(bugprone-reserved-identifier,readability-identifier-naming) */

/* NOLINTBEGIN(cppcoreguidelines-avoid-non-const-global-variables): nobody hands anything to malloc */
static struct range ranges[OTHER];
static _Atomic uint64_t none[WHO];
static _Atomic uint64_t *_Atomic counts = none;
/* NOLINTEND(cppcoreguidelines-avoid-non-const-global-variables) */

static int
take_object(struct dl_phdr_info *info, size_t size, void *first)
{
    int who = strstr(info->dlpi_name, "libprotobuf-c") != NULL ? PROTOBUF
              : strstr(info->dlpi_name, "libzmq") != NULL      ? ZMQ
                                                               : OTHER;
    (void)size;
    if (*(int *)first != 0) { /* the program itself comes first, and has no name */
        *(int *)first = 0;
        who = PROGRAM;
    }
    for (int i = 0; who != OTHER && i < info->dlpi_phnum; i++) {
        const ElfW(Phdr) *part = &info->dlpi_phdr[i];
        if (part->p_type == PT_LOAD && (part->p_flags & PF_X) != 0) {
            ranges[who].from = info->dlpi_addr + part->p_vaddr;
            ranges[who].to = ranges[who].from + part->p_memsz;
        }
    }
    return 0;
}

__attribute__((constructor)) static void
open_counts(void)
{
    const char *path = getenv("TL_HEAP");
    int fd = path != NULL ? open(path, O_RDWR | O_CLOEXEC) : -1;
    void *map = MAP_FAILED;
    int first = 1;
    if (fd >= 0) {
        map = mmap(NULL, sizeof none, PROT_READ | PROT_WRITE, MAP_SHARED, fd, 0);
        (void)close(fd);
    }
    (void)dl_iterate_phdr(take_object, &first);
    if (map != MAP_FAILED) {
        atomic_store(&counts, (_Atomic uint64_t *)map);
    }
}

static void
count(const void *from)
{
    uintptr_t at = (uintptr_t)from;
    int who = 0;
    while (who < OTHER && (at < ranges[who].from || at >= ranges[who].to)) {
        who++;
    }
    atomic_fetch_add(&atomic_load(&counts)[who], 1);
}

void *
malloc(size_t size)
{
    count(__builtin_return_address(0));
    return __libc_malloc(size);
}

void *
calloc(size_t nmemb, size_t size)
{
    count(__builtin_return_address(0));
    return __libc_calloc(nmemb, size);
}

void *
realloc(void *ptr, size_t size)
{
    count(__builtin_return_address(0));
    return __libc_realloc(ptr, size);
}
