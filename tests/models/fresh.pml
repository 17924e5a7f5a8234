/* SPDX-License-Identifier: Apache-2.0 */
/* fresh.pml - freshness by echo; what is real and what is not stands in fresh.h. */
#include "events.pml"

c_decl {
\#include "tests/models/fresh.h"
}
c_state "struct fresh_state s" "Global"

#define EVENT(n)                                                                                   \
    ::d_step { c_expr { now.s.may >> n & 1 };                                                      \
               c_code { fresh_do(&now.s, n); };                                                    \
               assert(c_expr { !now.s.broken }) }

init {
    d_step { c_code { fresh_begin(&now.s); } };
    do
    EVENTS
    od
}
