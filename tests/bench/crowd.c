/* SPDX-License-Identifier: Apache-2.0 */
/*
 * crowd - many stations and viewers in one process, on the real buses
 *
 *   crowd -C DIR SAY_US SECONDS NODE...
 *
 * Each NODE of the configuration has a thread with the sockets and the machine of a text client (seat.h);
 * what it leaves out is the terminal, painting and the local socket. When each of them shows a picture
 * of every validator in which every station is live, "whole" is printed, and "broken" when not any
 * more. From the first "whole" on, for SECONDS, all stations together say a word each SAY_US
 * microseconds (0 = they only beat): who has the watch, another name each time. Then one JSON object:
 *
 *   said, refused     words; a refused one did not leave
 *   first, both       us from saying a word to the receipt of one validator, of all of them
 *   recorded          us to the mark of a recorder
 *   stands_on_ms      how old the oldest beat was that a screen's picture stood on, looked at each turn
 *   broken            times that not every screen was whole
 *
 * As "count, p50, p99, most". Exit 0; 1 when it was not whole within 30 s; 64 on wrong usage.
 */
#include <inttypes.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>

#include "proto/base/clock.h"
#include "proto/link/seat.h"
#include "tests/bench/need.h"
#include "tests/bench/timed.h"

enum {
    PEOPLE_MAX = 256,
    OPEN_MAX = 256, /* words of one station that are not answered by all yet */
    WHOLE_LIMIT_S = 30,
    AGES = 2000, /* ms, the last is for all above */
    TURN_MS = 20,
    LOOK_MS = 5
};

/* How far a word has come; in this order. */
enum way {
    WAY_FIRST,
    WAY_BOTH,
    WAY_RECORDED,
    WAYS
};
static const char *const way_names[WAYS] = {"first", "both", "recorded"};

struct took {
    size_t count;
    double *us; /* words_max */
};

struct word {
    uint64_t sequence;
    uint64_t said_ns;
    enum way next;
};

struct person {
    struct crowd *crowd;
    struct tl_seat *seat;
    pthread_t thread;
    bool is_station;
    uint32_t turn; /* among the stations, when it speaks */
    bool whole;
    uint64_t due_ns;
    uint64_t said, refused;
    uint32_t open_count;
    struct word open[OPEN_MAX]; /* oldest first */
    struct took took[WAYS];
    uint64_t age[AGES];
};

struct crowd {
    uint32_t count, stations;
    struct person person[PEOPLE_MAX];
    uint64_t each_ns; /* between two words of one station; 0 = none */
    uint64_t words_max;
    _Atomic uint32_t whole;
    _Atomic uint64_t from_ns; /* from then on they speak; 0 = not yet */
    _Atomic bool over;        /* they say no more */
    _Atomic bool closing;     /* they leave */
};

/* ---- one of them ---- */

/* Every validator is heard, and its newest picture has every station live. */
static bool
sees_all(const struct person *person, uint64_t now_ms)
{
    const struct tl_member *member = &person->seat->member;
    for (uint32_t v = 0; v < member->hear.count; v++) {
        const struct tl_picture *picture = &member->seen[v].picture;
        bool heard = tl_heard_is_fresh(&member->hear.validator[v], now_ms);
        if (!heard || !member->seen[v].has_picture || picture->station_count == 0) {
            return false;
        }
        for (uint32_t i = 0; i < picture->station_count; i++) {
            if (!picture->station[i].live) {
                return false;
            }
        }
    }
    return member->hear.count > 0;
}

static void
look(struct person *person, uint64_t now_ms)
{
    const struct tl_hear *hear = &person->seat->member.hear;
    bool whole = sees_all(person, now_ms);
    if (whole != person->whole) {
        person->whole = whole;
        person->crowd->whole += whole ? 1u : UINT32_MAX;
    }
    if (!whole || person->crowd->from_ns == 0 || person->crowd->over) {
        return;
    }
    uint64_t oldest_ms = 0;
    for (uint32_t v = 0; v < hear->count; v++) {
        uint64_t age_ms = tl_heard_stands_on_ms(&hear->validator[v], now_ms);
        oldest_ms = age_ms > oldest_ms ? age_ms : oldest_ms;
    }
    person->age[oldest_ms < AGES ? oldest_ms : AGES - 1]++;
}

static void
say(struct person *person)
{
    static const char *const names[] = {"Ash", "Elm"};
    struct tl_member *member = &person->seat->member;
    struct tl_datum datum = {.kind = TL_DATUM_WATCH, .known = true};
    struct word word = {.said_ns = timed_now_ns()};
    person->due_ns += person->crowd->each_ns;
    if (person->open_count == OPEN_MAX) {
        person->refused++;
        return;
    }
    (void)snprintf(datum.as.watch, sizeof datum.as.watch, "%s", names[person->said % 2]);
    if (tl_member_say(member, &datum, tl_clock_boot_ms(), &word.sequence) != TL_OK) {
        person->refused++;
        return;
    }
    person->said++;
    person->open[person->open_count++] = word;
}

/* Up to which of its own words each way is gone. */
static void
find_ways(const struct tl_member *member, uint64_t through[WAYS])
{
    through[WAY_FIRST] = 0;
    through[WAY_BOTH] = UINT64_MAX;
    for (uint32_t v = 0; v < member->hear.count; v++) {
        uint64_t to = member->hear.validator[v].through;
        through[WAY_FIRST] = to > through[WAY_FIRST] ? to : through[WAY_FIRST];
        through[WAY_BOTH] = to < through[WAY_BOTH] ? to : through[WAY_BOTH];
    }
    through[WAY_RECORDED] = member->outbox.recorder ? member->outbox.recorded : UINT64_MAX;
}

/* Receipts and marks that have come for what is open. */
static void
take_answers(struct person *person)
{
    struct tl_member *member = &person->seat->member;
    struct tl_said_outcome outcome;
    uint64_t through[WAYS];
    uint64_t at_ns = timed_now_ns();
    while (tl_outbox_outcome(&member->outbox, &outcome)) {
    }
    find_ways(member, through);
    uint32_t kept = 0;
    for (uint32_t i = 0; i < person->open_count; i++) {
        struct word word = person->open[i];
        for (; word.next < WAYS && word.sequence <= through[word.next]; word.next++) {
            struct took *took = &person->took[word.next];
            if (took->count < person->crowd->words_max) {
                took->us[took->count++] = (double)(at_ns - word.said_ns) / 1e3;
            }
        }
        if (word.next < WAYS) {
            person->open[kept++] = word;
        }
    }
    person->open_count = kept;
}

static uint32_t
wait_ms(const struct person *person)
{
    uint64_t at_ns = timed_now_ns();
    if (person->due_ns == 0) {
        return TURN_MS;
    }
    uint64_t left_ms = person->due_ns > at_ns ? (person->due_ns - at_ns) / 1000000 : 0;
    return left_ms < TURN_MS ? (uint32_t)left_ms : TURN_MS;
}

static void *
live(void *ctx)
{
    struct person *person = ctx;
    struct crowd *crowd = person->crowd;
    while (!crowd->closing) {
        uint64_t now_ms = tl_seat_turn(person->seat, NULL, 0, wait_ms(person));
        take_answers(person);
        look(person, now_ms);
        crowd->closing = crowd->closing || person->seat->ended; /* a signal is for all */
        if (crowd->over) {
            person->due_ns = 0;
        } else if (person->due_ns == 0 && crowd->from_ns != 0 && crowd->each_ns != 0 &&
                   person->is_station) {
            person->due_ns = crowd->from_ns + person->turn * (crowd->each_ns / crowd->stations);
        }
        if (person->due_ns != 0 && timed_now_ns() >= person->due_ns) {
            say(person);
        }
    }
    return NULL;
}

/* ---- all of them ---- */

static void
join(struct crowd *crowd, const char *dir, const char *node)
{
    struct person *person = &crowd->person[crowd->count++];
    struct tl_join_options options = {
        .program = "crowd", .dir = dir, .node = node, .kind = TL_NODE_VIEWER};
    person->crowd = crowd;
    person->is_station = strncmp(node, "viewer", strlen("viewer")) != 0;
    if (person->is_station) {
        options.kind = TL_NODE_STATION;
        options.alone = true;
        person->turn = crowd->stations++;
    }
    person->seat = calloc(1, sizeof *person->seat);
    need(person->seat != NULL, "out of memory");
    need(tl_seat_open(&options, person->seat) == TL_EXIT_OK, node);
}

static void
start(struct crowd *crowd)
{
    for (uint32_t i = 0; i < crowd->count; i++) {
        struct person *person = &crowd->person[i];
        for (int way = 0; person->is_station && way < WAYS; way++) {
            person->took[way].us = calloc(crowd->words_max, sizeof(double));
            need(person->took[way].us != NULL, "out of memory");
        }
        need(pthread_create(&person->thread, NULL, live, person) == 0, "cannot start a thread");
    }
}

static void
tell(const char *event)
{
    (void)printf("{\"event\":\"%s\",\"at_ns\":%" PRIu64 "}\n", event, timed_now_ns());
    (void)fflush(stdout);
}

/* Tell of each change for so long; how often it was broken. UINT32_MAX: it never became whole. */
static uint32_t
watch(struct crowd *crowd, uint32_t seconds)
{
    const struct timespec gap = {.tv_nsec = LOOK_MS * 1000000L};
    uint64_t until_ns = timed_now_ns() + WHOLE_LIMIT_S * 1000000000ull;
    uint32_t broken = 0;
    bool was = false;
    while (timed_now_ns() < until_ns && !crowd->closing) {
        bool whole = crowd->whole == crowd->count;
        if (whole != was) {
            tell(whole ? "whole" : "broken");
            broken += whole ? 0 : 1;
            was = whole;
        }
        if (whole && crowd->from_ns == 0) {
            crowd->from_ns = timed_now_ns();
            until_ns = crowd->from_ns + seconds * 1000000000ull;
        }
        (void)nanosleep(&gap, NULL);
    }
    return crowd->from_ns == 0 ? UINT32_MAX : broken;
}

static void
print_took(const struct crowd *crowd, enum way way)
{
    size_t count = 0;
    double *us = calloc(crowd->stations * crowd->words_max + 1, sizeof us[0]);
    need(us != NULL, "out of memory");
    for (uint32_t i = 0; i < crowd->count; i++) {
        const struct took *took = &crowd->person[i].took[way];
        for (size_t k = 0; k < took->count; k++) {
            us[count++] = took->us[k];
        }
    }
    size_t some = count > 0 ? count : 1; /* none: a zero */
    struct timed_spread spread = timed_spread_of(us, some);
    (void)printf(",\"%s\":[%zu,%.0f,%.0f,%.0f]", way_names[way], count, spread.median_us,
                 spread.p99_us, us[some - 1]);
    free(us);
}

static void
print_ages(const struct crowd *crowd)
{
    uint64_t total = 0;
    uint64_t sum[AGES] = {0};
    for (uint32_t i = 0; i < crowd->count; i++) {
        for (uint32_t ms = 0; ms < AGES; ms++) {
            sum[ms] += crowd->person[i].age[ms];
            total += crowd->person[i].age[ms];
        }
    }
    uint32_t middle = 0;
    uint32_t late = 0;
    uint32_t most = 0;
    uint64_t so_far = 0;
    for (uint32_t ms = 0; ms < AGES; ms++) {
        so_far += sum[ms];
        middle = so_far * 2 <= total ? ms : middle;
        late = so_far * 100 <= total * 99 ? ms : late;
        most = sum[ms] > 0 ? ms : most;
    }
    (void)printf(",\"stands_on_ms\":[%" PRIu64 ",%" PRIu32 ",%" PRIu32 ",%" PRIu32 "]", total,
                 middle, late, most);
}

static void
print_all(const struct crowd *crowd, uint32_t broken)
{
    uint64_t said = 0;
    uint64_t refused = 0;
    for (uint32_t i = 0; i < crowd->count; i++) {
        said += crowd->person[i].said;
        refused += crowd->person[i].refused;
    }
    (void)printf("{\"nodes\":%" PRIu32 ",\"stations\":%" PRIu32 ",\"said\":%" PRIu64
                 ",\"refused\":%" PRIu64 ",\"broken\":%" PRIu32,
                 crowd->count, crowd->stations, said, refused, broken);
    for (int way = 0; way < WAYS; way++) {
        print_took(crowd, (enum way)way);
    }
    print_ages(crowd);
    (void)printf("}\n");
}

static void
end(struct crowd *crowd)
{
    crowd->closing = true;
    for (uint32_t i = 0; i < crowd->count; i++) {
        struct person *person = &crowd->person[i];
        (void)pthread_join(person->thread, NULL);
        tl_seat_close(person->seat);
    }
}

static void
release(struct crowd *crowd)
{
    for (uint32_t i = 0; i < crowd->count; i++) {
        struct person *person = &crowd->person[i];
        free(person->seat);
        for (int way = 0; way < WAYS; way++) {
            free(person->took[way].us);
        }
    }
}

static void
raise_files(void)
{
    struct rlimit limit;
    if (getrlimit(RLIMIT_NOFILE, &limit) == 0) {
        limit.rlim_cur = limit.rlim_max;
        (void)setrlimit(RLIMIT_NOFILE, &limit);
    }
}

int
main(int argc, char **argv)
{
    struct crowd *crowd = calloc(1, sizeof *crowd);
    uint64_t say_us = argc > 5 ? strtoull(argv[3], NULL, 10) : 0;
    unsigned long seconds = argc > 5 ? strtoul(argv[4], NULL, 10) : 0;
    if (crowd == NULL || seconds < 1 || seconds > 36000 || strcmp(argv[1], "-C") != 0 ||
        argc - 5 > PEOPLE_MAX) {
        (void)fprintf(stderr, "usage: crowd -C DIR SAY_US SECONDS NODE..., 1 to %d nodes\n",
                      PEOPLE_MAX);
        free(crowd);
        return 64;
    }
    raise_files();
    for (int i = 5; i < argc; i++) {
        join(crowd, argv[2], argv[i]);
    }
    crowd->each_ns = say_us * 1000 * crowd->stations;
    bool speak = say_us > 0 && crowd->stations > 0;
    crowd->words_max = speak ? seconds * 1000000 / say_us / crowd->stations + 2 : 1;
    start(crowd);
    uint32_t broken = watch(crowd, (uint32_t)seconds);
    crowd->over = true;
    const struct timespec rest = {.tv_sec = 1};
    (void)nanosleep(&rest, NULL); /* the last answers */
    end(crowd);
    if (broken == UINT32_MAX) {
        (void)fprintf(stderr, "crowd: not whole within %d s\n", WHOLE_LIMIT_S);
    } else {
        print_all(crowd, broken);
    }
    release(crowd);
    free(crowd);
    return broken == UINT32_MAX ? 1 : 0;
}
