/* SPDX-License-Identifier: Apache-2.0 */
/* agree.pml - two validators; what is real and what is not stands in agree.h. */
#include "events.pml"

c_decl {
\#include "tests/models/agree.h"
}
c_state "struct agree_state s" "Global"

#define EVENT(n)                                                                                   \
    ::d_step { c_expr { now.s.may >> n & 1 };                                                      \
               c_code { agree_do(&now.s, n); };                                                    \
               assert(c_expr { !now.s.broken }) }

init {
    d_step { c_code { agree_begin(&now.s); } };
    do
    EVENTS
    od
}
