/* SPDX-License-Identifier: Apache-2.0 */
/* support.c - see fuzz.h. */
#include <fcntl.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "proto/base/text.h"
#include "tests/fuzz/fuzz.h"

enum {
    TEXT_MAX = 64 * 1024,
    FILES_OPEN = 8
};

uint8_t
fuzz_byte(struct fuzz_input *input)
{
    return (uint8_t)fuzz_number(input, 1);
}

uint64_t
fuzz_number(struct fuzz_input *input, size_t bytes)
{
    uint64_t number = 0;
    for (size_t i = 0; i < bytes && input->len > 0; i++) {
        number = number << 8 | *input->bytes;
        input->bytes++;
        input->len--;
    }
    return number;
}

struct fuzz_input
fuzz_piece(struct fuzz_input *input, size_t most)
{
    size_t len = (size_t)fuzz_byte(input);
    len = len < most ? len : most;
    len = len < input->len ? len : input->len;
    struct fuzz_input piece = {input->bytes, len};
    input->bytes += len;
    input->len -= len;
    return piece;
}

size_t
fuzz_line(struct fuzz_input *input, char *dst, size_t cap)
{
    size_t used = 0;
    while (input->len > 0) {
        uint8_t byte = fuzz_byte(input);
        if (byte == '\n') {
            break;
        }
        if (byte != 0 && used + 1 < cap) {
            memcpy(&dst[used++], &byte, 1);
        }
    }
    dst[used] = '\0';
    return used;
}

bool
fuzz_is_plain(const char *text)
{
    static char again[TEXT_MAX];
    size_t len = strlen(text);
    return len < sizeof again && tl_text_plain(again, sizeof again, text, len) == len &&
           memcmp(again, text, len) == 0;
}

bool
fuzz_same(const void *a, const void *b, size_t len)
{
    return memcmp(a, b, len) == 0;
}

bool
fuzz_is_sentence(const char *text)
{
    return text != NULL && text[0] != '\0' && fuzz_is_plain(text);
}

/* ---- files ---- */

static int
remove_one(const char *path, const struct stat *st, int kind, struct FTW *where)
{
    (void)st;
    (void)kind;
    (void)where;
    return remove(path);
}

static void
remove_folder(void)
{
    (void)nftw(fuzz_folder(), remove_one, FILES_OPEN, FTW_DEPTH | FTW_PHYS);
}

const char *
fuzz_folder(void)
{
    static char folder[FUZZ_PATH_CAP];
    if (folder[0] == '\0') {
        bool in_memory = access("/dev/shm", W_OK) == 0;
        (void)snprintf(folder, sizeof folder, "%s/trapline-fuzz-XXXXXX",
                       in_memory ? "/dev/shm" : "/tmp");
        TL_REQUIRE(mkdtemp(folder) != NULL);
        TL_REQUIRE(atexit(remove_folder) == 0);
    }
    return folder;
}

void
fuzz_put(const char *name, const void *bytes, size_t len, char *path)
{
    int needed = snprintf(path, FUZZ_PATH_CAP, "%s/%s", fuzz_folder(), name);
    TL_REQUIRE(needed > 0 && needed < FUZZ_PATH_CAP);
    int fd = open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, S_IRUSR | S_IWUSR);
    TL_REQUIRE(fd >= 0 && write(fd, bytes, len) == (ssize_t)len && close(fd) == 0);
}

size_t
fuzz_source(const char *name, uint8_t *dst, size_t cap)
{
    char path[TL_PATH_CAP];
    const char *root = getenv("TL_SOURCE_DIR");
    TL_REQUIRE(root != NULL); /* tests/fuzz/run sets it */
    (void)snprintf(path, sizeof path, "%s/%s", root, name);
    FILE *file = fopen(path, "rb");
    TL_REQUIRE(file != NULL);
    size_t len = fread(dst, 1, cap, file);
    TL_REQUIRE(feof(file) != 0 && fclose(file) == 0);
    return len;
}
