/* SPDX-License-Identifier: Apache-2.0 */
/*
 * Framing: what of a stream is a sentence, whose it is, and why a line is not taken. Streams are
 * described by what the reader must tell, in order; each is also fed in every split in two, byte by
 * byte, and with every single byte of it changed to every other.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/station/bridge/nmea.h"

#define WIND     "$WIMWV,352.0,R,27.0,N,A*12"
#define HEADING  "$HEHDT,090.0,T*26"
#define TAG      "\\s:mast-1*5E\\"
#define EOL      "\r\n"
#define TOLD_MAX 16

struct told {
    size_t count;
    struct tl_nmea_event event[TOLD_MAX];
};
struct bytes {
    const char *at;
    size_t len;
};

static void
keep(struct told *told, const struct tl_nmea_event *event)
{
    if (event->kind == TL_NMEA_NOTHING) {
        return;
    }
    assert_true(told->count < TOLD_MAX);
    told->event[told->count++] = *event;
}

static void
feed(struct tl_nmea_reader *reader, struct bytes b, struct told *told)
{
    for (size_t at = 0; at < b.len;) {
        struct tl_nmea_event event;
        size_t used = tl_nmea_feed(reader, (const uint8_t *)b.at + at, b.len - at, &event);

        assert_true(used > 0 || event.kind != TL_NMEA_NOTHING); /* it never stands still */
        at += used;
        keep(told, &event);
    }
}

static void
end(struct tl_nmea_reader *reader, struct told *told)
{
    struct tl_nmea_event event;

    tl_nmea_end_unit(reader, &event);
    keep(told, &event);
}

static struct told
read_unit(struct bytes b)
{
    struct tl_nmea_reader reader;
    struct told told = {.count = 0};

    tl_nmea_init(&reader, "feed");
    feed(&reader, b, &told);
    end(&reader, &told);
    return told;
}

/* ---- what is told ---- */

struct row {
    const char *name;
    struct bytes bytes;
    const char *told; /* TAKEN as its address and source, a refusal as its reason; ';' between */
};
#define B(text)                                                                                    \
    {                                                                                              \
        text, sizeof(text) - 1                                                                     \
    }

static const struct row rows[] = {
    {"CR LF", B(WIND EOL), "WIMWV@feed;"},
    {"LF alone", B(WIND "\n"), "WIMWV@feed;"},
    {"CR alone", B(WIND "\r"), "WIMWV@feed;"},
    {"no line end, end of datagram", B(WIND), "WIMWV@feed;"},
    {"blank lines", B(EOL EOL WIND EOL EOL), "WIMWV@feed;"},
    {"several in one datagram", B(WIND EOL HEADING EOL WIND EOL),
     "WIMWV@feed;HEHDT@feed;WIMWV@feed;"},
    {"line ends lost", B(WIND HEADING WIND), "WIMWV@feed;HEHDT@feed;WIMWV@feed;"},
    {"checksum in small letters", B("$HEROT,0.0,A*2b" EOL), "HEROT@feed;"},
    {"checksum missing", B("$WIMWV,352.0,R,27.0,N,A" EOL), "checksum missing;"},
    {"checksum of one digit", B("$WIMWV,352.0,R,27.0,N,A*1" EOL), "checksum missing;"},
    {"checksum of three digits", B("$WIMWV,352.0,R,27.0,N,A*012" EOL), "checksum missing;"},
    {"checksum not hex", B("$WIMWV,352.0,R,27.0,N,A*1G" EOL), "checksum missing;"},
    {"checksum wrong", B("$WIMWV,352.0,R,27.0,N,A*13" EOL), "checksum is wrong;"},
    {"blank after the checksum", B(WIND " " EOL), "checksum missing;"},
    {"two stars", B("$WIMWV,352.0,R,27.0,N,A*12*12" EOL), "checksum missing;"},
    {"nothing but a dollar", B("$" EOL), "checksum missing;"},
    {"empty with its checksum", B("$*00" EOL), "address is not talker and sentence;"},
    {"cut by the next", B("$WIMWV,352.0,R" WIND EOL), "sentence cut short;WIMWV@feed;"},
    {"cut by the end", B(WIND EOL "$WIMWV,352.0,R,2"), "WIMWV@feed;sentence cut short;"},
    {"cut in its checksum", B("$WIMWV,352.0,R,27.0,N,A*1"), "sentence cut short;"},
    {"noise before", B("\x01\xffgarbage" WIND EOL), "bytes outside any sentence;WIMWV@feed;"},
    {"noise in two runs", B("ab" EOL "cd" EOL WIND EOL),
     "bytes outside any sentence;bytes outside any sentence;WIMWV@feed;"},
    {"NUL inside", B("$WIMWV,352.0\0,R,27.0,N,A*12" EOL WIND EOL),
     "character that is not printable;WIMWV@feed;"},
    {"high byte inside", B("$WIMWV,352.0\xb0,R,27.0,N,A*12" EOL WIND EOL),
     "character that is not printable;WIMWV@feed;"},
    {"tab inside", B("$WIMWV,352.0\t,R,27.0,N,A*12" EOL), "character that is not printable;"},
    {"encapsulated", B("!WIMWV,352.0,R,27.0,N,A*12" EOL), "sentence is not read here;"},
    {"says not valid", B("$WIMWV,,R,,N,V*34" EOL), "sender says not valid;"},
    {"TAG", B(TAG WIND EOL), "WIMWV@mast-1;"},
    {"TAG is of one sentence only", B(TAG WIND EOL WIND EOL), "WIMWV@mast-1;WIMWV@feed;"},
    {"TAG without a source", B("\\c:1700000000*5F\\" WIND EOL), "WIMWV@feed;"},
    {"TAG with others", B("\\c:1,s:mast-1,n:7*55\\" WIND EOL), "WIMWV@mast-1;"},
    {"two TAGs", B("\\n:1*65\\" TAG WIND EOL), "WIMWV@mast-1;"},
    {"TAG with a wrong checksum", B("\\s:mast-1*5F\\" WIND EOL WIND EOL),
     "TAG block damaged;WIMWV@feed;"},
    {"TAG without a checksum", B("\\s:mast-1\\" WIND EOL), "TAG block damaged;"},
    {"TAG empty", B("\\\\" WIND EOL), "TAG block damaged;"},
    {"TAG with an empty source", B("\\s:*49\\" WIND EOL), "TAG block damaged;"},
    {"TAG source of 15", B("\\s:abcdefghijklmno*29\\" WIND EOL), "WIMWV@abcdefghijklmno;"},
    {"TAG source of 16", B("\\s:abcdefghijklmnop*59\\" WIND EOL), "TAG block damaged;"},
    {"TAG source that a screen obeys", B("\\s:a\x1b[2J*10\\" WIND EOL), "TAG block damaged;"},
    {"TAG source with a blank", B("\\s:a b*6A\\" WIND EOL), "TAG block damaged;"},
    {"TAG not closed", B("\\s:mast-1*5E" WIND EOL WIND EOL), "TAG block damaged;WIMWV@feed;"},
    {"TAG not opened", B("s:mast-1*5E\\" WIND EOL WIND EOL),
     "bytes outside any sentence;TAG block damaged;WIMWV@feed;"},
    {"TAG closed by another mark", B("\\s:mast-1*5E!" WIND EOL WIND EOL),
     "TAG block damaged;TAG block damaged;WIMWV@feed;"},
    {"TAG alone", B(TAG EOL WIND EOL), "TAG block without a sentence;WIMWV@feed;"},
    {"TAG, then noise", B(TAG " " WIND EOL), "TAG block damaged;"},
    {"TAG cut by the end", B("\\s:mas"), "TAG block damaged;"},
    {"TAG cut by the line", B("\\s:mas" EOL WIND EOL WIND EOL),
     "TAG block damaged;TAG block damaged;WIMWV@feed;"},
    {"TAG cut by the line, then TAG", B("\\s:mas" EOL TAG WIND EOL),
     "TAG block damaged;WIMWV@mast-1;"},
    {"datagram header", B("UdPbC\0" TAG WIND EOL), "WIMWV@mast-1;"},
    {"datagram header, second time", B("UdPbC\0" WIND EOL "UdPbC\0" WIND EOL),
     "WIMWV@feed;bytes outside any sentence;WIMWV@feed;"},
    {"half a datagram header", B("UdP" WIND EOL), "bytes outside any sentence;WIMWV@feed;"},
    {"header alone, cut", B("UdPb"), "bytes outside any sentence;"},
};
#define ROWS (sizeof rows / sizeof rows[0])

static void
write_told(const struct told *told, char *dst, size_t cap)
{
    size_t at = 0;

    dst[0] = '\0';
    for (size_t i = 0; i < told->count; i++) {
        const struct tl_nmea_event *e = &told->event[i];
        int n = e->kind == TL_NMEA_TAKEN
                    ? snprintf(dst + at, cap - at, "%s@%s;", e->address, e->sentence.source)
                    : snprintf(dst + at, cap - at, "%s;", tl_nmea_reason_text(e->reason));

        assert_true(n > 0 && (size_t)n < cap - at);
        at += (size_t)n;
    }
}

static void
reader_tells_each_line_by_its_reason(void **state)
{
    char got[1024];

    (void)state;
    for (size_t i = 0; i < ROWS; i++) {
        struct told told = read_unit(rows[i].bytes);

        write_told(&told, got, sizeof got);
        if (strcmp(got, rows[i].told) != 0) {
            fail_msg("%s: got '%s', wanted '%s'", rows[i].name, got, rows[i].told);
        }
    }
}

static void
reader_counts_what_it_tells(void **state)
{
    (void)state;
    for (size_t i = 0; i < ROWS; i++) {
        struct tl_nmea_reader reader;
        struct told told = {.count = 0};
        uint64_t counted = 0;

        tl_nmea_init(&reader, "feed");
        feed(&reader, rows[i].bytes, &told);
        end(&reader, &told);
        for (size_t e = 0; e < told.count; e++) {
            enum tl_nmea_reason reason = told.event[e].reason;
            uint64_t counter = reason == TL_NMEA_FINE ? reader.taken : reader.refused[reason];

            assert_true(counter > 0);
        }
        for (size_t r = 0; r < TL_NMEA_REASONS; r++) {
            counted += reader.refused[r];
        }
        if (counted + reader.taken != told.count || reader.refused[TL_NMEA_FINE] != 0) {
            fail_msg("%s: told %zu, counted %llu", rows[i].name, told.count,
                     (unsigned long long)(counted + reader.taken));
        }
    }
}

static void
reader_takes_120_bytes_and_refuses_121(void **state)
{
    (void)state;
    for (size_t pad = 0; pad < 2; pad++) {
        char line[160] = "$IIXDR,A,1.0,D,ROLL,C,1.";
        size_t len = strlen(line);

        while (len < (size_t)TL_NMEA_SENTENCE_MAX - 7 + pad) {
            line[len++] = '0';
        }
        memcpy(line + len, ",C,T", 5);
        len += 4;
        (void)snprintf(line + len, sizeof line - len, "*%02X", tl_nmea_checksum(line + 1, len - 1));
        assert_int_equal(strlen(line), TL_NMEA_SENTENCE_MAX + pad);
        struct told told = read_unit((struct bytes){line, strlen(line)});
        assert_int_equal(told.count, 1);
        assert_int_equal(told.event[0].reason, pad == 0 ? TL_NMEA_FINE : TL_NMEA_OVERSIZE);
    }
}

static void
reader_does_not_join_datagrams(void **state)
{
    static const char line[] = TAG WIND EOL;
    const size_t len = sizeof line - 1;

    (void)state;
    for (size_t cut = 1; cut < len - 2; cut++) { /* before the line end it is never whole */
        struct tl_nmea_reader reader;
        struct told told = {.count = 0};

        tl_nmea_init(&reader, "");
        feed(&reader, (struct bytes){line, cut}, &told);
        end(&reader, &told);
        feed(&reader, (struct bytes){line + cut, len - cut}, &told);
        end(&reader, &told);
        for (size_t i = 0; i < told.count; i++) {
            bool whole = cut <= sizeof TAG - 1;

            if (told.event[i].kind == TL_NMEA_TAKEN && !whole) {
                fail_msg("cut at %zu: taken", cut);
            }
            /* cut just between TAG and sentence, the source is gone with the first datagram */
            assert_string_equal(told.event[i].sentence.source, "");
        }
    }
}

/* ---- comparing ---- */

static bool
same_number(const struct tl_nmea_number *a, const struct tl_nmea_number *b)
{
    return a->presence == b->presence && a->x1000 == b->x1000;
}

static bool
same_sentence(const struct tl_nmea_sentence *a, const struct tl_nmea_sentence *b)
{
    return a->form == b->form && a->wind == b->wind && strcmp(a->talker, b->talker) == 0 &&
           strcmp(a->source, b->source) == 0 &&
           same_number(&a->angle_deg_x1000, &b->angle_deg_x1000) &&
           same_number(&a->wind_kt_x1000, &b->wind_kt_x1000) &&
           same_number(&a->heading_deg_x1000, &b->heading_deg_x1000) &&
           same_number(&a->course_deg_x1000, &b->course_deg_x1000) &&
           same_number(&a->speed_kt_x1000, &b->speed_kt_x1000) &&
           same_number(&a->water_kt_x1000, &b->water_kt_x1000) &&
           same_number(&a->turn_deg_min_x1000, &b->turn_deg_min_x1000) &&
           same_number(&a->pitch_deg_x1000, &b->pitch_deg_x1000) &&
           same_number(&a->roll_deg_x1000, &b->roll_deg_x1000) &&
           same_number(&a->heave_m_x1000, &b->heave_m_x1000);
}

static bool
same_event(const struct tl_nmea_event *a, const struct tl_nmea_event *b)
{
    return a->kind == b->kind && a->reason == b->reason && strcmp(a->address, b->address) == 0 &&
           same_sentence(&a->sentence, &b->sentence);
}

/* ---- splits ---- */

static void
same_told(const char *name, size_t cut, const struct told told[2])
{
    bool same = told[0].count == told[1].count;

    for (size_t i = 0; same && i < told[0].count; i++) {
        same = same_event(&told[0].event[i], &told[1].event[i]);
    }
    if (!same) {
        fail_msg("%s: differs when split at %zu", name, cut);
    }
}

static void
reader_tells_the_same_in_every_split(void **state)
{
    (void)state;
    for (size_t i = 0; i < ROWS; i++) {
        struct bytes b = rows[i].bytes;

        for (size_t cut = 0; cut <= b.len; cut++) {
            struct told told[2] = {read_unit(b), {.count = 0}};
            struct tl_nmea_reader reader;

            tl_nmea_init(&reader, "feed");
            feed(&reader, (struct bytes){b.at, cut}, &told[1]);
            feed(&reader, (struct bytes){b.at + cut, b.len - cut}, &told[1]);
            end(&reader, &told[1]);
            same_told(rows[i].name, cut, told);
        }
    }
}

static void
reader_tells_the_same_byte_by_byte(void **state)
{
    (void)state;
    for (size_t i = 0; i < ROWS; i++) {
        struct told told[2] = {read_unit(rows[i].bytes), {.count = 0}};
        struct tl_nmea_reader reader;

        tl_nmea_init(&reader, "feed");
        for (size_t at = 0; at < rows[i].bytes.len; at++) {
            feed(&reader, (struct bytes){rows[i].bytes.at + at, 1}, &told[1]);
        }
        end(&reader, &told[1]);
        same_told(rows[i].name, 0, told);
    }
}

/* ---- corruption ---- */

/* Changed by one byte, a sentence is taken only as it was: same numbers, talker and source. */
static bool
holds_another(const struct told *told, const struct tl_nmea_sentence *good)
{
    bool another = false;

    for (size_t i = 0; i < told->count; i++) {
        const struct tl_nmea_event *e = &told->event[i];

        another = another || (e->kind != TL_NMEA_REFUSED && !same_sentence(&e->sentence, good));
    }
    return another;
}

static void
check_corruptions(const char *line)
{
    char copy[256];
    size_t len = strlen(line);
    struct told good = read_unit((struct bytes){line, len});

    assert_int_equal(good.count, 1);
    assert_int_equal(good.event[0].kind, TL_NMEA_TAKEN);
    for (size_t change = 0; change < len * 256; change++) {
        memcpy(copy, line, len);
        copy[change / 256] = (char)(change % 256);
        struct told told = read_unit((struct bytes){copy, len});

        if (holds_another(&told, &good.event[0].sentence)) {
            fail_msg("%s: byte %zu as %zu was taken as another", line, change / 256, change % 256);
        }
    }
}

static void
reader_never_takes_a_corrupted_byte_as_another_value(void **state)
{
    static const char *const bodies[] = {
        "WIMWV,352.0,R,27.0,N,A",
        "IIMWV,10.5,T,9.8,M,A",
        "HEHDT,090.0,T",
        "HETHS,12.0,A",
        "GPVTG,90.5,T,,M,12.0,N,22.2,K,A",
        "VWVHW,90.0,T,80.0,M,12.0,N,22.2,K",
        "TIROT,-12.5,A",
        "IIXDR,A,-3.2,D,PTCH,A,5.1,D,ROLL,D,0.35,M,HEAVE",
    };
    char line[256];

    (void)state;
    for (size_t i = 0; i < sizeof bodies / sizeof bodies[0]; i++) {
        uint8_t sum = tl_nmea_checksum(bodies[i], strlen(bodies[i]));

        (void)snprintf(line, sizeof line, "$%s*%02X" EOL, bodies[i], sum);
        check_corruptions(line);
        (void)snprintf(line, sizeof line, TAG "$%s*%02X" EOL, bodies[i], sum);
        check_corruptions(line);
    }
}

/* ---- random ---- */

static uint64_t
draw(uint64_t *seed)
{
    *seed = *seed * 6364136223846793005U + 1442695040888963407U;
    return *seed >> 33;
}

/* Lines put together from real pieces and damaged: mostly well formed, so that all places of the
 * reader are reached. */
static size_t
make_stream(uint64_t *seed, char *dst, size_t cap)
{
    static const char *const pieces[] = {
        WIND, HEADING, TAG, EOL, EOL, EOL, "\\", "$", "!", "*", "UdPbC", ",", "\r", "7", "A",
    };
    size_t len = 0;

    for (;;) {
        const char *piece = pieces[draw(seed) % (sizeof pieces / sizeof pieces[0])];
        size_t n = strlen(piece);

        if (len + n > cap) {
            return len;
        }
        memcpy(dst + len, piece, n);
        len += n;
        if (draw(seed) % 8 == 0) {
            dst[draw(seed) % len] = (char)draw(seed);
        }
    }
}

static void
reader_takes_from_a_damaged_stream_only_what_was_sent(void **state)
{
    uint64_t seed = 20260611;
    uint64_t taken = 0;
    const char *given = getenv("TL_TEST_SEED");

    (void)state;
    seed = given != NULL ? strtoull(given, NULL, 0) : seed;
    (void)printf("           seed %llu\n", (unsigned long long)seed);
    for (int run = 0; run < 20000; run++) {
        char stream[200];
        size_t len = make_stream(&seed, stream, sizeof stream);
        struct tl_nmea_reader reader;
        struct tl_nmea_event event;

        tl_nmea_init(&reader, "feed");
        for (size_t at = 0; at < len;) {
            size_t most = 1 + draw(&seed) % 20;
            size_t n = most < len - at ? most : len - at;

            at += tl_nmea_feed(&reader, (const uint8_t *)stream + at, n, &event);
            if (event.kind == TL_NMEA_TAKEN && event.sentence.form == TL_NMEA_MWV) {
                assert_int_equal(event.sentence.angle_deg_x1000.x1000, 352000);
                assert_int_equal(event.sentence.wind_kt_x1000.x1000, 27000);
            } else if (event.kind == TL_NMEA_TAKEN) {
                assert_int_equal(event.sentence.form, TL_NMEA_HDT);
                assert_int_equal(event.sentence.heading_deg_x1000.x1000, 90000);
            }
        }
        tl_nmea_end_unit(&reader, &event);
        taken += reader.taken;
    }
    assert_true(taken > 10000); /* or it would prove nothing */
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reader_tells_each_line_by_its_reason),
        cmocka_unit_test(reader_counts_what_it_tells),
        cmocka_unit_test(reader_takes_120_bytes_and_refuses_121),
        cmocka_unit_test(reader_does_not_join_datagrams),
        cmocka_unit_test(reader_tells_the_same_in_every_split),
        cmocka_unit_test(reader_tells_the_same_byte_by_byte),
        cmocka_unit_test(reader_never_takes_a_corrupted_byte_as_another_value),
        cmocka_unit_test(reader_takes_from_a_damaged_stream_only_what_was_sent),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
