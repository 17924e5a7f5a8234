/* SPDX-License-Identifier: Apache-2.0 */
/* alerts.pml - alerts and acknowledgements; what is real and what is not stands in alerts.h. */
#include "events.pml"

c_decl {
\#include "tests/models/alerts.h"
}
c_state "struct alerts_state s" "Global"

#define EVENT(n)                                                                                   \
    ::d_step { c_expr { now.s.may >> n & 1 };                                                      \
               c_code { alerts_do(&now.s, n); };                                                    \
               assert(c_expr { !now.s.broken }) }

init {
    d_step { c_code { alerts_begin(&now.s); } };
    do
    EVENTS
    od
}
