/* SPDX-License-Identifier: Apache-2.0 */
/*
 * target_feed - the lines of plain sensors: "NAME VALUE UNIT", cut into any reads
 *
 * The first byte of an input chooses the station that listens. Whole or byte by byte a stream gives
 * the same lines; a good line is what stood there, its words put together again; a line that is not is
 * counted and kept plain. What a station makes of one is a datum that it may state and that the codec
 * takes.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/station/dials.h"
#include "tests/fuzz/fuzz.h"
#include "tests/fuzz/pack.h"
#include "tests/support/ship.h"

enum {
    LINES_MAX = 2048
};

struct heard {
    struct tl_feed_lines lines;
    uint32_t count;
    struct tl_feed_line line[LINES_MAX];
};

struct world {
    struct tl_config config;
};

const char *const fuzz_name = "feed";

void *
fuzz_open(void)
{
    struct world *w = calloc(1, sizeof *w);
    TL_REQUIRE(w != NULL);
    ship_config_full(&w->config, 2);
    return w;
}

static void
hear(struct heard *heard, const struct tl_feed_line *line)
{
    TL_REQUIRE(fuzz_is_sentence(line->name) && fuzz_is_sentence(line->value) &&
               fuzz_is_sentence(line->unit));
    if (heard->count < LINES_MAX) {
        heard->line[heard->count++] = *line;
    }
}

static void
read_stream(const struct fuzz_input *stream, size_t a_read, struct heard *heard)
{
    struct tl_feed_line line;

    heard->count = 0;
    tl_feed_lines_init(&heard->lines);
    for (size_t at = 0; at < stream->len;) {
        size_t len = a_read < stream->len - at ? a_read : stream->len - at;
        bool found = false;
        memset(&line, 0, sizeof line);
        size_t used = tl_feed_lines_take(&heard->lines, stream->bytes + at, len, &line, &found);
        TL_REQUIRE(used > 0 && used <= len);
        at += used;
        if (found) {
            hear(heard, &line);
        }
    }
    memset(&line, 0, sizeof line);
    if (tl_feed_lines_end(&heard->lines, &line)) {
        hear(heard, &line);
    }
    TL_REQUIRE(fuzz_is_plain(heard->lines.last_bad));
    TL_REQUIRE(heard->count == LINES_MAX || heard->lines.good == heard->count);
}

/* The words of a line stand in the stream, with one space between. */
static void
must_have_stood(const struct fuzz_input *stream, const struct tl_feed_line *line)
{
    char text[2 * TL_FEED_LINE_MAX];
    int len = snprintf(text, sizeof text, "%s %s %s", line->name, line->value, line->unit);
    TL_REQUIRE(len > 0 && len <= TL_FEED_LINE_MAX);
    TL_REQUIRE(memmem(stream->bytes, stream->len, text, (size_t)len) != NULL);
}

static void
must_be_said(struct world *w, const struct tl_node *node, const struct tl_datum *datum)
{
    static struct tl_envelope change;
    struct tl_topic topic = {.kind = TL_TOPIC_CHANGE};

    TL_REQUIRE(tl_config_may_state(&w->config, node, datum));
    change = (struct tl_envelope){.body = TL_BODY_CHANGE};
    memcpy(topic.publisher, node->id, sizeof topic.publisher);
    change.as.change.datum = *datum;
    change.as.change.datum.sequence = 1;
    fuzz_pack(&topic, &change);
}

void
fuzz_take(void *world, const uint8_t *bytes, size_t len)
{
    struct world *w = world;
    static struct heard whole, cut;
    struct fuzz_input stream = {bytes, len};
    const struct tl_node *node = &w->config.node[fuzz_byte(&stream) % w->config.node_count];

    read_stream(&stream, stream.len > 0 ? stream.len : 1, &whole);
    read_stream(&stream, 1, &cut);
    TL_REQUIRE(whole.count == cut.count && whole.lines.bad == cut.lines.bad);
    for (uint32_t i = 0; i < whole.count; i++) {
        const struct tl_feed_line *line = &whole.line[i];
        struct tl_datum datum;
        int64_t number = 0;
        TL_REQUIRE(strcmp(line->name, cut.line[i].name) == 0 &&
                   strcmp(line->value, cut.line[i].value) == 0 &&
                   strcmp(line->unit, cut.line[i].unit) == 0);
        must_have_stood(&stream, line);
        (void)tl_feed_number(line->value, 100, &number);
        memset(&datum, 0, sizeof datum);
        if (node->kind == TL_NODE_STATION && tl_dial_read(&w->config, node, line, &datum)) {
            must_be_said(w, node, &datum);
        }
    }
}
