/* SPDX-License-Identifier: Apache-2.0 */
/* page.c - see page.h. */
#include "proto/metrics/page.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "proto/base/text.h"

enum {
    ESCAPED_CAP = 2 * TL_METRICS_LABEL_CAP,
    VALUE_CAP = 32,
    MS_A_SECOND = 1000
};

void
tl_metrics_clear(struct tl_metrics_page *page)
{
    page->used = 0;
    page->last = TL_METRIC_NONE;
    page->bad = false;
    page->text[0] = '\0';
}

static void add(struct tl_metrics_page *page, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

static void
add(struct tl_metrics_page *page, const char *format, ...)
{
    va_list arguments;
    size_t room = sizeof page->text - page->used;
    va_start(arguments, format);
    int n = vsnprintf(page->text + page->used, room, format, arguments);
    va_end(arguments);
    if (n < 0 || (size_t)n >= room) {
        page->text[page->used] = '\0';
        page->bad = true;
        return;
    }
    page->used += (size_t)n;
}

/* A backslash before backslash and quote; a line feed is no more in plain text. */
static const char *
escape(const char *value, char dst[ESCAPED_CAP])
{
    char plain[TL_METRICS_LABEL_CAP];
    size_t used = 0;
    size_t len = tl_text_plain(plain, sizeof plain, value, strlen(value));
    for (size_t i = 0; i < len; i++) {
        if (plain[i] == '\\' || plain[i] == '"') {
            dst[used++] = '\\';
        }
        dst[used++] = plain[i];
    }
    dst[used] = '\0';
    return dst;
}

static const char *
type_word(enum tl_metric_type type)
{
    switch (type) {
    case TL_METRIC_GAUGE:
        return "gauge";
    case TL_METRIC_COUNTER:
        return "counter";
    case TL_METRIC_INFO:
        return "info";
    case TL_METRIC_STATES:
        return "stateset";
    case TL_METRIC_TYPE_UNKNOWN:
        break;
    }
    return "unknown";
}

static const char *
suffix_of(enum tl_metric_type type)
{
    switch (type) {
    case TL_METRIC_COUNTER:
        return "_total";
    case TL_METRIC_INFO:
        return "_info";
    case TL_METRIC_GAUGE:
    case TL_METRIC_STATES:
    case TL_METRIC_TYPE_UNKNOWN:
        break;
    }
    return "";
}

/* The row of a metric whose samples may come now; its head is on the page. NULL: the page is bad. */
static const struct tl_metric_row *
open_family(struct tl_metrics_page *page, enum tl_metric metric)
{
    const struct tl_metric_row *row = tl_metric_row(metric);
    if (row == NULL || metric < page->last) {
        page->bad = true;
        return NULL;
    }
    if (metric > page->last) {
        page->last = metric;
        add(page, "# TYPE %s %s\n", row->name, type_word(row->type));
        if (row->unit[0] != '\0') {
            add(page, "# UNIT %s %s\n", row->name, row->unit);
        }
        add(page, "# HELP %s %s\n", row->name, row->help);
    }
    return row;
}

/* A sample with the values of its first `count` labels. */
static void
put(struct tl_metrics_page *page, enum tl_metric metric, const char *const *label,
    const char *value)
{
    const struct tl_metric_row *row = open_family(page, metric);
    char escaped[ESCAPED_CAP];
    if (row == NULL) {
        return;
    }
    add(page, "%s%s", row->name, suffix_of(row->type));
    for (size_t i = 0; i < TL_METRIC_LABELS_MAX; i++) {
        if ((row->label[i] != NULL) != (label[i] != NULL)) {
            page->bad = true;
        } else if (label[i] != NULL) {
            add(page, "%s%s=\"%s\"", i == 0 ? "{" : ",", row->label[i], escape(label[i], escaped));
        }
    }
    add(page, "%s %s\n", row->label[0] != NULL ? "}" : "", value);
}

void
tl_metrics_put(struct tl_metrics_page *page, enum tl_metric metric, const char *label,
               uint64_t value)
{
    const char *const labels[TL_METRIC_LABELS_MAX] = {label};
    char text[VALUE_CAP];
    (void)snprintf(text, sizeof text, "%" PRIu64, value);
    put(page, metric, labels, text);
}

void
tl_metrics_put_ms(struct tl_metrics_page *page, enum tl_metric metric, const char *label,
                  uint64_t ms)
{
    const char *const labels[TL_METRIC_LABELS_MAX] = {label};
    char text[VALUE_CAP];
    (void)snprintf(text, sizeof text, "%" PRIu64 ".%03u", ms / MS_A_SECOND,
                   (unsigned)(ms % MS_A_SECOND));
    put(page, metric, labels, text);
}

void
tl_metrics_put_info(struct tl_metrics_page *page, enum tl_metric metric,
                    const char *const value[TL_METRIC_LABELS_MAX])
{
    put(page, metric, value, "1");
}

void
tl_metrics_put_states(struct tl_metrics_page *page, enum tl_metric metric,
                      const struct tl_metrics_states *states)
{
    for (size_t i = 0; i < states->count; i++) {
        const char *labels[TL_METRIC_LABELS_MAX] = {states->label, states->state[i]};
        if (states->label == NULL) {
            labels[0] = states->state[i];
            labels[1] = NULL;
        }
        put(page, metric, labels, i == states->on ? "1" : "0");
    }
}

bool
tl_metrics_end(struct tl_metrics_page *page)
{
    add(page, "# EOF\n");
    return !page->bad;
}
