/* SPDX-License-Identifier: Apache-2.0 */
/*
 * target_nmea - the bytes of the ship's own sensors, cut into any reads
 *
 * Whole or byte by byte a stream says the same. A sentence that is taken was there with its checksum,
 * and its figures are those that such a sensor can mean; all that is not taken has a reason and is
 * counted. The wind and motion that come of them, at any time after, are what a beat can carry.
 */
#include <stdlib.h>
#include <string.h>

#include "clients/station/bridge/nmea.h"
#include "clients/station/bridge/sensors.h"
#include "tests/fuzz/fuzz.h"
#include "tests/fuzz/pack.h"

enum {
    EVENTS_MAX = 4096,
    AXIS_PORT_DEG = 9,
    STEP_MS = 700,
    LATER_MS = 1400,
    START_MS = 100000
};

struct world {
    struct tl_sensors empty, sensors;
};

const char *const fuzz_name = "nmea";

void *
fuzz_open(void)
{
    struct world *w = calloc(1, sizeof *w);
    TL_REQUIRE(w != NULL);
    static struct tl_sensors_config config;
    tl_sensors_defaults(&config);
    config.axis_port_deg = AXIS_PORT_DEG;
    TL_REQUIRE(tl_sensors_init(&w->empty, &config) == TL_OK);
    return w;
}

/* ---- what is taken ---- */

static void
must_be_within(const struct tl_nmea_number *number, int32_t min, int32_t max)
{
    TL_REQUIRE(number->presence <= TL_NMEA_PRESENT);
    TL_REQUIRE(number->presence != TL_NMEA_PRESENT ||
               (number->x1000 >= min && number->x1000 <= max));
}

static void
must_be_meant(const struct tl_nmea_sentence *s)
{
    TL_REQUIRE(s->form != TL_NMEA_FORM_UNKNOWN && s->form <= TL_NMEA_XDR);
    TL_REQUIRE(fuzz_is_sentence(s->talker) && fuzz_is_plain(s->source));
    must_be_within(&s->angle_deg_x1000, 0, 359999);
    must_be_within(&s->heading_deg_x1000, 0, 359999);
    must_be_within(&s->course_deg_x1000, 0, 359999);
    must_be_within(&s->wind_kt_x1000, 0, TL_NMEA_WIND_KT_X1000_MAX);
    must_be_within(&s->speed_kt_x1000, 0, TL_NMEA_SHIP_KT_X1000_MAX);
    must_be_within(&s->water_kt_x1000, 0, TL_NMEA_SHIP_KT_X1000_MAX);
    must_be_within(&s->turn_deg_min_x1000, -TL_NMEA_TURN_X1000_MAX, TL_NMEA_TURN_X1000_MAX);
    must_be_within(&s->pitch_deg_x1000, -TL_NMEA_TILT_DEG_X1000_MAX, TL_NMEA_TILT_DEG_X1000_MAX);
    must_be_within(&s->roll_deg_x1000, -TL_NMEA_TILT_DEG_X1000_MAX, TL_NMEA_TILT_DEG_X1000_MAX);
    must_be_within(&s->heave_m_x1000, -TL_NMEA_HEAVE_M_X1000_MAX, TL_NMEA_HEAVE_M_X1000_MAX);
}

static void
must_hold(const struct tl_nmea_event *event)
{
    static const struct tl_nmea_sentence none;
    bool fine = event->kind == TL_NMEA_TAKEN || event->kind == TL_NMEA_NOTHING;

    TL_REQUIRE(event->kind <= TL_NMEA_TAKEN && event->reason < TL_NMEA_REASONS);
    TL_REQUIRE((event->reason == TL_NMEA_FINE) == fine);
    TL_REQUIRE(fine || fuzz_is_sentence(tl_nmea_reason_text(event->reason)));
    TL_REQUIRE(tl_nmea_reason_is_no_data(event->reason) == (event->kind == TL_NMEA_NO_DATA));
    TL_REQUIRE(fuzz_is_plain(event->address));
    if (event->kind == TL_NMEA_TAKEN) {
        must_be_meant(&event->sentence);
    } else if (event->kind != TL_NMEA_NO_DATA) {
        TL_REQUIRE(fuzz_same(&event->sentence, &none, sizeof none));
    }
}

/* ---- what is published ---- */

static void
must_be_carried(const struct tl_wind *wind, const struct tl_motion *motion)
{
    static struct tl_envelope beat;
    const struct tl_topic topic = {.kind = TL_TOPIC_BEAT, .publisher = "bridge"};

    beat = (struct tl_envelope){.body = TL_BODY_BEAT};
    beat.as.beat.sample_count = 2;
    beat.as.beat.samples[0] = (struct tl_sample){.kind = TL_SAMPLE_WIND, .as.wind = *wind};
    beat.as.beat.samples[1] = (struct tl_sample){.kind = TL_SAMPLE_MOTION, .as.motion = *motion};
    fuzz_pack(&topic, &beat);
}

static void
publish(struct world *w, uint64_t now_ms)
{
    struct tl_sensors_wind wind;
    struct tl_sensors_motion motion;

    tl_sensors_wind(&w->sensors, now_ms, &wind);
    tl_sensors_motion(&w->sensors, now_ms, &motion);
    TL_REQUIRE(wind.reason < TL_SENSORS_REASONS && wind.sensor_count <= TL_READINGS_MAX);
    TL_REQUIRE((wind.wind.state == TL_WIND_KNOWN) == (wind.reason == TL_SENSORS_FINE));
    for (uint32_t i = 0; i < wind.sensor_count; i++) {
        TL_REQUIRE(fuzz_is_sentence(wind.sensor[i].label) &&
                   wind.sensor[i].reason < TL_SENSORS_REASONS);
    }
    must_be_carried(&wind.wind, &motion.motion);
}

/* ---- the stream ---- */

static int
digit_of(uint8_t byte)
{
    static const char digits[] = "0123456789ABCDEFabcdef";
    const char *at = byte != 0 ? strchr(digits, byte) : NULL;
    int place = at != NULL ? (int)(at - digits) : -1;
    return place < 16 ? place : place - 6;
}

/* "$...*hh" with the sum that it should have, anywhere in it; counted without the reader. */
static uint32_t
count_right(const struct fuzz_input *stream)
{
    uint32_t right = 0;
    for (size_t at = 0; at < stream->len; at++) {
        int sum = 0;
        size_t end = at + 1;
        while (stream->bytes[at] == '$' && end < stream->len && stream->bytes[end] != '*') {
            sum ^= stream->bytes[end++];
        }
        if (stream->bytes[at] == '$' && end + 2 < stream->len) {
            int high = digit_of(stream->bytes[end + 1]);
            int low = digit_of(stream->bytes[end + 2]);
            right += high >= 0 && low >= 0 && 16 * high + low == sum ? 1U : 0U;
        }
    }
    return right;
}

struct told {
    uint32_t count;
    struct {
        enum tl_nmea_event_kind kind;
        enum tl_nmea_reason reason;
        struct tl_nmea_sentence sentence;
    } event[EVENTS_MAX];
};

static void
note(struct told *told, const struct tl_nmea_event *event)
{
    if (event->kind == TL_NMEA_NOTHING || told->count == EVENTS_MAX) {
        return;
    }
    told->event[told->count].kind = event->kind;
    told->event[told->count].reason = event->reason;
    told->event[told->count].sentence = event->sentence;
    told->count++;
}

static void
read_stream(const struct fuzz_input *stream, size_t a_read, struct told *told)
{
    static struct tl_nmea_reader reader;
    struct tl_nmea_event event;
    uint64_t counted = 0;

    told->count = 0;
    tl_nmea_init(&reader, "feed");
    for (size_t at = 0; at < stream->len;) {
        size_t len = a_read < stream->len - at ? a_read : stream->len - at;
        size_t used = tl_nmea_feed(&reader, stream->bytes + at, len, &event);
        TL_REQUIRE(used <= len && (used > 0 || event.kind != TL_NMEA_NOTHING));
        at += used;
        must_hold(&event);
        note(told, &event);
    }
    tl_nmea_end_unit(&reader, &event);
    must_hold(&event);
    note(told, &event);
    TL_REQUIRE(reader.taken <= count_right(stream));
    for (size_t i = 0; i < TL_NMEA_REASONS; i++) {
        counted += reader.refused[i];
    }
    TL_REQUIRE(reader.refused[TL_NMEA_FINE] == 0);
    TL_REQUIRE(told->count == EVENTS_MAX || counted + reader.taken == told->count);
}

void
fuzz_take(void *world, const uint8_t *bytes, size_t len)
{
    struct world *w = world;
    static struct told whole, cut;
    const struct fuzz_input stream = {bytes, len};
    uint64_t now_ms = START_MS;

    read_stream(&stream, len > 0 ? len : 1, &whole);
    read_stream(&stream, 1, &cut);
    TL_REQUIRE(whole.count == cut.count);
    w->sensors = w->empty;
    for (uint32_t i = 0; i < whole.count; i++) {
        TL_REQUIRE(whole.event[i].kind == cut.event[i].kind &&
                   whole.event[i].reason == cut.event[i].reason &&
                   fuzz_same(&whole.event[i].sentence, &cut.event[i].sentence,
                             sizeof cut.event[i].sentence));
        struct tl_nmea_event event = {.kind = whole.event[i].kind,
                                      .reason = whole.event[i].reason,
                                      .sentence = whole.event[i].sentence};
        tl_sensors_take(&w->sensors, &event, now_ms);
        now_ms += i % 3 == 0 ? STEP_MS : 0;
    }
    publish(w, now_ms);
    publish(w, now_ms + LATER_MS);
}
