/* SPDX-License-Identifier: Apache-2.0 */
/* refusals.c - see refusals.h. */
#include "broker/relay/refusals.h"

#include <stdio.h>
#include <string.h>

#include "proto/base/require.h"

enum {
    SECOND_MS = 1000
};

static_assert((int)TL_REFUSALS_PER_PUBLISHER_HZ <= (int)TL_REFUSALS_PER_BUS_HZ,
              "one array serves both rates");

/* When a line more would not be the (limit + 1)th within a second. */
static uint64_t
free_at_ms(const struct tl_line_times *lines, uint32_t limit)
{
    return lines->used < limit ? 0 : lines->at_ms[lines->next] + SECOND_MS;
}

static void
note_line(struct tl_line_times *lines, uint32_t limit, uint64_t now_ms)
{
    lines->at_ms[lines->next] = now_ms;
    lines->next = (lines->next + 1) % limit;
    if (lines->used < limit) {
        lines->used++;
    }
}

static struct tl_refusal_page *
find_page(struct tl_refusal_book *book, const char *publisher)
{
    struct tl_refusal_page *page;

    for (uint32_t i = 0; i < book->page_count; i++) {
        if (strcmp(book->page[i].publisher, publisher) == 0) {
            return &book->page[i];
        }
    }
    /* Names come from the node list of the configuration, so they cannot be more. */
    TL_REQUIRE(book->page_count < TL_REFUSAL_PUBLISHERS);
    page = &book->page[book->page_count++];
    (void)snprintf(page->publisher, sizeof page->publisher, "%s", publisher);
    return page;
}

void
tl_refusals_note(struct tl_refusal_book *book, const char *publisher, enum tl_refusal reason,
                 const char *topic)
{
    struct tl_refusal_page *page = find_page(book, publisher);
    struct tl_refusal_count *entry;

    TL_REQUIRE((uint32_t)reason < TL_REFUSAL_REASONS);
    entry = &page->by_reason[reason];
    if (entry->count == 0) {
        page->waiting++;
    }
    if (entry->count < UINT32_MAX) {
        entry->count++;
    }
    (void)snprintf(entry->topic, sizeof entry->topic, "%s", topic);
}

static void
take_line(struct tl_refusal_page *page, struct tl_refused_publisher *line)
{
    uint32_t reason = page->next_reason;
    struct tl_refusal_count *entry;

    while (page->by_reason[reason].count == 0) {
        reason = (reason + 1) % TL_REFUSAL_REASONS;
    }
    entry = &page->by_reason[reason];
    *line = (struct tl_refused_publisher){.reason = (enum tl_refusal)reason, .count = entry->count};
    memcpy(line->publisher, page->publisher, sizeof line->publisher);
    memcpy(line->topic, entry->topic, sizeof line->topic);
    *entry = (struct tl_refusal_count){.count = 0};
    page->waiting--;
    page->next_reason = (reason + 1) % TL_REFUSAL_REASONS;
}

uint32_t
tl_refusals_take(struct tl_refusal_book *book, uint64_t now_ms, struct tl_refusals *out)
{
    uint32_t rounds = TL_REFUSALS_PER_PUBLISHER_HZ * book->page_count;

    *out = (struct tl_refusals){.count = 0};
    for (uint32_t i = 0; i < rounds && out->count < TL_REFUSALS_MAX; i++) {
        struct tl_refusal_page *page = &book->page[book->next_page];
        if (free_at_ms(&book->lines, TL_REFUSALS_PER_BUS_HZ) > now_ms) {
            break;
        }
        book->next_page = (book->next_page + 1) % book->page_count;
        if (page->waiting > 0 && free_at_ms(&page->lines, TL_REFUSALS_PER_PUBLISHER_HZ) <= now_ms) {
            take_line(page, &out->refusal[out->count++]);
            note_line(&page->lines, TL_REFUSALS_PER_PUBLISHER_HZ, now_ms);
            note_line(&book->lines, TL_REFUSALS_PER_BUS_HZ, now_ms);
        }
    }
    return out->count;
}

uint64_t
tl_refusals_due_ms(const struct tl_refusal_book *book, uint64_t now_ms)
{
    uint64_t bus_ms = free_at_ms(&book->lines, TL_REFUSALS_PER_BUS_HZ);
    uint64_t due_ms = UINT64_MAX;

    for (uint32_t i = 0; i < book->page_count; i++) {
        const struct tl_refusal_page *page = &book->page[i];
        uint64_t at_ms = free_at_ms(&page->lines, TL_REFUSALS_PER_PUBLISHER_HZ);
        at_ms = at_ms > bus_ms ? at_ms : bus_ms;
        if (page->waiting > 0 && at_ms < due_ms) {
            due_ms = at_ms;
        }
    }
    return due_ms < now_ms ? now_ms : due_ms;
}
