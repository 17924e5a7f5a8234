/* SPDX-License-Identifier: Apache-2.0 */
/* rows.c - see rows.h. */
#include "tests/codec/rows.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/codec/spec.h"

static const char *
name_reason(enum tl_refusal reason)
{
    return reason == TL_REFUSAL_UNKNOWN ? "accepted" : tl_refusal_name(reason);
}

void
rows_check(struct world *world, const struct row *rows, size_t count)
{
    static uint8_t bytes[TL_FRAME_MAX];
    size_t wrong = 0;

    for (size_t i = 0; i < count; i++) {
        struct tl_topic topic = topic_for(rows[i].body, "engine-1");
        size_t len = spec_write(rows[i].spec, bytes, sizeof bytes);
        world_frame(world, &topic, bytes, len);
        enum tl_refusal got = world_receive_watched(world);
        if (got != rows[i].want) {
            print_error("%s: want %s, got %s\n", rows[i].name, name_reason(rows[i].want),
                        name_reason(got));
            wrong++;
        }
    }
    if (wrong > 0) {
        fail_msg("%zu of %zu rows", wrong, count);
    }
}
