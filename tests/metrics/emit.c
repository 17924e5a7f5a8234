/* SPDX-License-Identifier: Apache-2.0 */
/*
 * emit - a page with every metric there is, for test_form.py
 *
 *   emit LABEL VALUE     each label has that value, each number too
 */
#include <stdio.h>
#include <stdlib.h>

#include "proto/metrics/page.h"

static void
put(struct tl_metrics_page *page, enum tl_metric metric, const char *label, uint64_t value)
{
    const struct tl_metric_row *row = tl_metric_row(metric);
    const char *const words[] = {"off", "on"};
    const char *all[TL_METRIC_LABELS_MAX];
    for (size_t i = 0; i < TL_METRIC_LABELS_MAX; i++) {
        all[i] = row->label[i] != NULL ? label : NULL;
    }
    struct tl_metrics_states states = {
        .label = row->label[1] != NULL ? label : NULL, .state = words, .count = 2, .on = 1};
    switch (row->type) {
    case TL_METRIC_INFO:
        tl_metrics_put_info(page, metric, all);
        break;
    case TL_METRIC_STATES:
        tl_metrics_put_states(page, metric, &states);
        break;
    case TL_METRIC_GAUGE:
    case TL_METRIC_COUNTER:
        tl_metrics_put(page, metric, all[0], value);
        break;
    case TL_METRIC_TYPE_UNKNOWN:
        page->bad = true;
        break;
    }
}

int
main(int argc, char **argv)
{
    static struct tl_metrics_page page; // NOLINT: large, and this program is one function
    if (argc != 3) {
        return EXIT_FAILURE;
    }
    tl_metrics_clear(&page);
    for (int i = TL_METRIC_NONE + 1; i < TL_METRICS; i++) {
        put(&page, (enum tl_metric)i, argv[1], strtoull(argv[2], NULL, 10));
    }
    bool good = tl_metrics_end(&page);
    return good && fwrite(page.text, 1, page.used, stdout) == page.used ? EXIT_SUCCESS
                                                                        : EXIT_FAILURE;
}
