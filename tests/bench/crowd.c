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
#include <errno.h>
#include <inttypes.h>
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>

#include "proto/base/clock.h"
#include "proto/link/seat.h"

enum {
    PEOPLE_MAX = 256,
    OPEN_MAX = 256, /* words of one station that are not answered by all yet */
    WHOLE_LIMIT_S = 30,
    AGES = 2000, /* ms, the last is for all above */
    TURN_MS = 20,
    LOOK_MS = 5
};

struct spread {
    size_t count, cap;
    uint32_t *us;
};

struct word {
    uint64_t sequence;
    uint64_t said_ns;
    bool first, both;
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
    struct spread first, both, recorded;
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

static void
need(bool holds, const char *what)
{
    if (!holds) {
        (void)fprintf(stderr, "crowd: %s: %s\n", what, strerror(errno));
        exit(1); // NOLINT(concurrency-mt-unsafe): it is over
    }
}

static uint64_t
now_ns(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (uint64_t)now.tv_sec * 1000000000ull + (uint64_t)now.tv_nsec;
}

static void
add(struct spread *spread, uint64_t ns)
{
    if (spread->count < spread->cap) {
        spread->us[spread->count++] = (uint32_t)(ns / 1000);
    }
}

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
    struct word word = {.said_ns = now_ns()};
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

/* Receipts and marks that have come for what is open. */
static void
take_answers(struct person *person)
{
    struct tl_member *member = &person->seat->member;
    struct tl_said_outcome outcome;
    uint64_t at_ns = now_ns();
    uint64_t least = UINT64_MAX;
    uint64_t most = 0;
    while (tl_outbox_outcome(&member->outbox, &outcome)) {
    }
    for (uint32_t v = 0; v < member->hear.count; v++) {
        uint64_t through = member->hear.validator[v].through;
        least = through < least ? through : least;
        most = through > most ? through : most;
    }
    uint32_t kept = 0;
    for (uint32_t i = 0; i < person->open_count; i++) {
        struct word word = person->open[i];
        uint64_t took_ns = at_ns - word.said_ns;
        bool recorded = !member->outbox.recorder || word.sequence <= member->outbox.recorded;
        if (!word.first && word.sequence <= most) {
            add(&person->first, took_ns);
        }
        if (!word.both && word.sequence <= least) {
            add(&person->both, took_ns);
        }
        word.first = word.first || word.sequence <= most;
        word.both = word.both || word.sequence <= least;
        if (recorded && word.both) {
            add(&person->recorded, took_ns);
        } else {
            person->open[kept++] = word;
        }
    }
    person->open_count = kept;
}

static uint32_t
wait_ms(const struct person *person)
{
    uint64_t at_ns = now_ns();
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
        if (person->due_ns != 0 && now_ns() >= person->due_ns) {
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
make_room(struct spread *spread, uint64_t words)
{
    spread->cap = words;
    spread->us = calloc(words, sizeof spread->us[0]);
    need(spread->us != NULL, "out of memory");
}

static void
start(struct crowd *crowd)
{
    for (uint32_t i = 0; i < crowd->count; i++) {
        struct person *person = &crowd->person[i];
        if (person->is_station) {
            make_room(&person->first, crowd->words_max);
            make_room(&person->both, crowd->words_max);
            make_room(&person->recorded, crowd->words_max);
        }
        need(pthread_create(&person->thread, NULL, live, person) == 0, "cannot start a thread");
    }
}

static void
tell(const char *event)
{
    (void)printf("{\"event\":\"%s\",\"at_ns\":%" PRIu64 "}\n", event, now_ns());
    (void)fflush(stdout);
}

/* Tell of each change for so long; how often it was broken. UINT32_MAX: it never became whole. */
static uint32_t
watch(struct crowd *crowd, uint32_t seconds)
{
    const struct timespec gap = {.tv_nsec = LOOK_MS * 1000000L};
    uint64_t until_ns = now_ns() + WHOLE_LIMIT_S * 1000000000ull;
    uint32_t broken = 0;
    bool was = false;
    while (now_ns() < until_ns && !crowd->closing) {
        bool whole = crowd->whole == crowd->count;
        if (whole != was) {
            tell(whole ? "whole" : "broken");
            broken += whole ? 0 : 1;
            was = whole;
        }
        if (whole && crowd->from_ns == 0) {
            crowd->from_ns = now_ns();
            until_ns = crowd->from_ns + seconds * 1000000000ull;
        }
        (void)nanosleep(&gap, NULL);
    }
    return crowd->from_ns == 0 ? UINT32_MAX : broken;
}

static int
by_size(const void *a, const void *b)
{
    uint32_t left = *(const uint32_t *)a;
    uint32_t right = *(const uint32_t *)b;
    return left < right ? -1 : (left > right ? 1 : 0);
}

static void
print_spread(struct crowd *crowd, const char *name, size_t offset)
{
    struct spread all = {0};
    for (uint32_t i = 0; i < crowd->count; i++) {
        all.cap += ((const struct spread *)((const char *)&crowd->person[i] + offset))->count;
    }
    all.us = calloc(all.cap + 1, sizeof all.us[0]);
    need(all.us != NULL, "out of memory");
    for (uint32_t i = 0; i < crowd->count; i++) {
        const struct spread *one =
            (const struct spread *)((const char *)&crowd->person[i] + offset);
        if (one->count > 0) {
            memcpy(all.us + all.count, one->us, one->count * sizeof one->us[0]);
        }
        all.count += one->count;
    }
    qsort(all.us, all.count, sizeof all.us[0], by_size);
    size_t last = all.count > 0 ? all.count - 1 : 0;
    (void)printf(",\"%s\":[%zu,%" PRIu32 ",%" PRIu32 ",%" PRIu32 "]", name, all.count,
                 all.us[last / 2], all.us[last * 99 / 100], all.us[last]);
    free(all.us);
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
print_all(struct crowd *crowd, uint32_t broken)
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
    print_spread(crowd, "first", offsetof(struct person, first));
    print_spread(crowd, "both", offsetof(struct person, both));
    print_spread(crowd, "recorded", offsetof(struct person, recorded));
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
        free(person->first.us);
        free(person->both.us);
        free(person->recorded.us);
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
