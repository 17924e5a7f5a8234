/* SPDX-License-Identifier: Apache-2.0 */
/* judged.c - what a validator does with an input, as one word for logs, records and JSON. */
#include "proto/vocab/message.h"

const char *
tl_judged_name(enum tl_judged_kind kind)
{
    static const char *const names[] = {[TL_JUDGED_UNKNOWN] = "unknown",
                                        [TL_JUDGED_APPLIED] = "applied",
                                        [TL_JUDGED_REFUSED] = "refused",
                                        [TL_JUDGED_LOST] = "lost",
                                        [TL_JUDGED_HEARD] = "heard",
                                        [TL_JUDGED_BEAT] = "beat",
                                        [TL_JUDGED_PREDICTED] = "predicted",
                                        [TL_JUDGED_EXPECTED] = "expected",
                                        [TL_JUDGED_STALE_BEAT] = "stale-beat",
                                        [TL_JUDGED_BEGUN] = "begun",
                                        [TL_JUDGED_SEEN] = "seen",
                                        [TL_JUDGED_TIME] = "time",
                                        [TL_JUDGED_BASE] = "base"};
    return (size_t)kind < sizeof names / sizeof names[0] ? names[kind] : names[0];
}
