/* SPDX-License-Identifier: Apache-2.0 */
/* dials.c - see dials.h. */
#include "clients/station/dials.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

enum {
    UNITS_A_TURN = 64,
    TELL_BAD_MS = 5000,
    TRY_AGAIN_MS = 500
};

enum form {
    FORM_NUMBER = 0,
    FORM_BATTERY,
    FORM_SHEAVE
};
struct name {
    const char *name; /* with a final '-': a number follows */
    enum tl_datum_kind kind;
    enum form form;
    const char *unit;
    uint32_t scale;
    int64_t max;
};
/* No name is the end of another; see lines.h. */
static const struct name names[] = {
    {"repeater-", TL_DATUM_REPEATER, FORM_NUMBER, "lb", 1, 200000},
    {"accumulator", TL_DATUM_ACCUMULATOR, FORM_NUMBER, "psi", 1, 20000},
    {"crosshead-gap", TL_DATUM_CROSSHEAD, FORM_NUMBER, "in", 100, 10000},
    {"battery", TL_DATUM_BATTERY, FORM_BATTERY, "-", 1, 0},
    {"sheave-", TL_DATUM_SHEAVE, FORM_SHEAVE, "-", 1, 0},
    {"stanchion-pressure", TL_DATUM_BARRICADE_POWER, FORM_NUMBER, "psi", 1, 20000},
};

static bool
read_slot(const char *text, uint32_t *slot)
{
    *slot = 0;
    if (text[0] < '1' || text[0] > '9' || text[1] != '\0') {
        return false;
    }
    *slot = (uint32_t)(text[0] - '0');
    return true;
}

/* The name of that line, and the number in it; NULL = none. */
static const struct name *
find_name(const char *word, uint32_t *slot)
{
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        size_t length = strlen(names[i].name);
        bool numbered = names[i].name[length - 1] == '-';
        *slot = 0;
        if (numbered ? strncmp(word, names[i].name, length) == 0 && read_slot(word + length, slot)
                     : strcmp(word, names[i].name) == 0) {
            return &names[i];
        }
    }
    return NULL;
}

static bool
read_word(const struct name *name, const char *value, struct tl_datum *out)
{
    if (name->form == FORM_BATTERY) {
        out->as.battery = strcmp(value, "in") == 0 ? TL_BATTERY_IN : TL_BATTERY_OUT;
        return strcmp(value, "in") == 0 || strcmp(value, "out") == 0;
    }
    out->as.sheave.state = strcmp(value, "up") == 0 ? TL_SHEAVE_UP : TL_SHEAVE_DOWN;
    return strcmp(value, "up") == 0 || strcmp(value, "down") == 0;
}

static bool
read_number(const struct name *name, const char *value, struct tl_datum *out)
{
    int64_t number = 0;
    if (!tl_feed_number(value, name->scale, &number) || number < 1 || number > name->max) {
        return false;
    }
    if (name->kind == TL_DATUM_REPEATER) {
        out->as.repeater_lb = (uint32_t)number;
    } else if (name->kind == TL_DATUM_ACCUMULATOR) {
        out->as.accumulator_psi = (uint32_t)number;
    } else if (name->kind == TL_DATUM_CROSSHEAD) {
        out->as.crosshead_in_x100 = (uint32_t)number;
    } else {
        out->as.barricade_power.pressure_psi = (uint32_t)number;
    }
    return true;
}

bool
tl_dial_read(const struct tl_config *config, const struct tl_node *node,
             const struct tl_feed_line *line, struct tl_datum *out)
{
    uint32_t slot = 0;
    const struct name *name = find_name(line->name, &slot);
    struct tl_datum datum = {.known = true, .sensor = true};
    if (name == NULL || strcmp(line->unit, name->unit) != 0) {
        return false;
    }
    datum.kind = name->kind;
    datum.slot = slot;
    bool read = name->form == FORM_NUMBER ? read_number(name, line->value, &datum)
                                          : read_word(name, line->value, &datum);
    if (!read || !tl_config_may_state(config, node, &datum)) {
        return false;
    }
    *out = datum;
    return true;
}

bool
tl_dials_open(struct tl_dials *dials, const struct tl_config *config, const struct tl_node *node,
              const char *feed, FILE *out)
{
    char why[TL_PATH_CAP];
    memset(dials, 0, sizeof *dials);
    dials->config = config;
    dials->node = node;
    dials->out = out;
    dials->feed.fd = -1;
    tl_feed_lines_init(&dials->lines);
    if (config->ship.sensor_valid_ms == 0) {
        (void)fprintf(stderr, "ship.yaml: --feed needs sensor_valid_ms: how long a sensor's line "
                              "counts, ms\n");
        return false;
    }
    if (tl_feed_open(feed, &dials->feed, why, sizeof why) != TL_OK) {
        (void)fprintf(stderr, "trapline: --feed: %s\n", why);
        return false;
    }
    dials->open = true;
    return true;
}

void
tl_dials_close(struct tl_dials *dials)
{
    if (dials->open) {
        tl_feed_close(&dials->feed);
        dials->open = false;
    }
}

int
tl_dials_fd(const struct tl_dials *dials)
{
    return dials->open && !dials->ended ? tl_feed_fd(&dials->feed) : -1;
}

bool
tl_dials_feeding(const struct tl_dials *dials)
{
    return dials->open && !dials->ended;
}

static void
take_line(struct tl_dials *dials, const struct tl_feed_line *line, uint64_t now_ms)
{
    struct tl_datum datum;
    if (!tl_dial_read(dials->config, dials->node, line, &datum)) {
        dials->strange++;
        return;
    }
    for (uint32_t i = 0; i < dials->count; i++) {
        if (tl_datum_same_name(&dials->dial[i].datum, &datum)) {
            dials->dial[i].datum = datum;
            dials->dial[i].read_ms = now_ms;
            return;
        }
    }
    if (dials->count < TL_DIALS_MAX) {
        dials->dial[dials->count++] = (struct tl_dial){.datum = datum, .read_ms = now_ms};
    }
}

static void
take_bytes(struct tl_dials *dials, const uint8_t *bytes, size_t len, bool unit, uint64_t now_ms)
{
    struct tl_feed_line line;
    size_t used = 0;
    while (used < len) {
        bool found = false;
        used += tl_feed_lines_take(&dials->lines, bytes + used, len - used, &line, &found);
        if (found) {
            take_line(dials, &line, now_ms);
        }
    }
    if (unit && tl_feed_lines_end(&dials->lines, &line)) {
        take_line(dials, &line, now_ms);
    }
}

static void
read_feed(struct tl_dials *dials, uint64_t now_ms)
{
    for (int i = 0; i < UNITS_A_TURN && tl_dials_feeding(dials); i++) {
        uint8_t bytes[TL_FEED_UNIT_MAX];
        size_t len = 0;
        bool unit = false;
        enum tl_err err = tl_feed_read(&dials->feed, now_ms, bytes, sizeof bytes, &len, &unit);
        if (err == TL_EMPTY) {
            return;
        }
        if (err != TL_OK) {
            dials->ended = true;
            (void)fprintf(dials->out, "%s: the sensor feed has ended\n", dials->node->id);
            (void)fflush(dials->out);
            return;
        }
        take_bytes(dials, bytes, len, unit, now_ms);
    }
}

static void
tell_bad(struct tl_dials *dials, uint64_t now_ms)
{
    uint64_t bad = dials->lines.bad + dials->strange;
    if (bad == dials->told_bad || (dials->told_ms != 0 && now_ms - dials->told_ms < TELL_BAD_MS)) {
        return;
    }
    (void)fprintf(dials->out,
                  "%s: %" PRIu64 " sensor lines not understood; each is NAME VALUE UNIT with a "
                  "name of this station%s%s\n",
                  dials->node->id, bad, dials->lines.last_bad[0] != '\0' ? ", unlike: " : "",
                  dials->lines.last_bad);
    (void)fflush(dials->out);
    dials->told_bad = bad;
    dials->told_ms = now_ms;
}

static bool
is_fresh(const struct tl_dials *dials, const struct tl_dial *dial, uint64_t now_ms)
{
    return now_ms - dial->read_ms <= dials->config->ship.sensor_valid_ms;
}

static int64_t
number_of(const struct tl_datum *datum)
{
    if (datum->kind == TL_DATUM_ACCUMULATOR) {
        return datum->as.accumulator_psi;
    }
    if (datum->kind == TL_DATUM_CROSSHEAD) {
        return datum->as.crosshead_in_x100;
    }
    return datum->kind == TL_DATUM_BARRICADE_POWER ? (int64_t)datum->as.barricade_power.pressure_psi
                                                   : -1;
}

/* A pressure that trembles is not a new word; a repeater that moves by a pound is. */
static bool
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): symmetric */
has_moved(const struct tl_datum *said, const struct tl_datum *read)
{
    int64_t a = number_of(said);
    int64_t b = number_of(read);
    if (a < 0) {
        return !tl_datum_same_value(said, read);
    }
    int64_t apart = a > b ? a - b : b - a;
    return apart * 100 >= a || apart * 100 >= b ? apart > 0 : false;
}

/* What this word must say now: the value of the sensor, for the current event where it has one. */
static void
wanted_datum(const struct tl_dial *dial, const struct tl_own *own, const struct tl_view *view,
             struct tl_datum *out)
{
    *out = dial->datum;
    if (own != NULL && own->datum.known) {
        if (out->kind == TL_DATUM_SHEAVE) {
            out->as.sheave.bypassed = own->datum.as.sheave.bypassed;
        } else if (out->kind == TL_DATUM_BARRICADE_POWER) {
            out->as.barricade_power.cycles = own->datum.as.barricade_power.cycles;
        }
    }
    bool per_event = tl_datum_cadence(out->kind) != TL_CADENCE_UNTIL_CHANGED;
    if (per_event && view->event_known && tl_event_is(view->event)) {
        out->stated_for[0] = view->event;
        out->stated_for_count = 1;
    }
}

bool
tl_dials_yield(const struct tl_own *own)
{
    return own != NULL && own->datum.known && !own->refused && !own->datum.sensor &&
           tl_datum_is_safeward(&own->datum);
}

/* What stays as it is grows old all the same: said again at half the time that it counts. */
static bool
is_due_again(const struct tl_dials *dials, const struct tl_own *own, uint64_t now_ms)
{
    uint64_t valid_ms = 1000ull * dials->config->ship.valid_s[own->datum.kind];
    return valid_ms != 0 && now_ms - own->said_ms >= valid_ms / 2;
}

static void
say_dial(struct tl_dials *dials, struct tl_dial *dial, struct tl_member *member,
         const struct tl_view *view, uint64_t now_ms)
{
    const struct tl_own *own = tl_outbox_named(&member->outbox, &dial->datum);
    struct tl_datum wanted;
    uint64_t sequence = 0;
    if (!is_fresh(dials, dial, now_ms)) {
        if (own != NULL && own->datum.known && own->datum.sensor) {
            wanted = own->datum;
            tl_datum_make_unknown(&wanted, 0);
            tl_err_ignore(tl_member_say(member, &wanted, now_ms, &sequence), "toward safe");
        }
        return;
    }
    wanted_datum(dial, own, view, &wanted);
    if (tl_dials_yield(own) && !tl_datum_is_safeward(&wanted)) {
        return;
    }
    bool per_event = tl_datum_cadence(wanted.kind) != TL_CADENCE_UNTIL_CHANGED;
    bool here = own != NULL && own->datum.known && !own->refused;
    bool for_event = !per_event || wanted.stated_for_count == 0 ||
                     (here && tl_datum_is_for(&own->datum, wanted.stated_for[0]));
    if (here && for_event && own->datum.sensor && !has_moved(&own->datum, &wanted) &&
        !is_due_again(dials, own, now_ms)) {
        return;
    }
    bool rested = dial->tried_ms == 0 || now_ms - dial->tried_ms >= TRY_AGAIN_MS;
    if (!rested && !tl_datum_is_safeward(&wanted)) {
        return;
    }
    dial->tried_ms = now_ms;
    if (per_event && wanted.stated_for_count == 0 && !tl_datum_is_safeward(&wanted)) {
        return; /* there is no event that it could be for */
    }
    tl_err_ignore(tl_member_say(member, &wanted, now_ms, &sequence), "said again at the next try");
}

void
tl_dials_tend(struct tl_dials *dials, struct tl_member *member, uint64_t now_ms)
{
    struct tl_view view;
    if (!dials->open) {
        return;
    }
    read_feed(dials, now_ms);
    tell_bad(dials, now_ms);
    tl_member_view(member, now_ms, &view);
    for (uint32_t i = 0; i < dials->count; i++) {
        say_dial(dials, &dials->dial[i], member, &view, now_ms);
    }
}

bool
tl_dials_speak(const struct tl_dials *dials, const struct tl_datum *datum, uint64_t now_ms)
{
    for (uint32_t i = 0; i < dials->count; i++) {
        if (tl_datum_same_name(&dials->dial[i].datum, datum) &&
            is_fresh(dials, &dials->dial[i], now_ms)) {
            return true;
        }
    }
    return false;
}
