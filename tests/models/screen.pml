/* SPDX-License-Identifier: Apache-2.0 */
/* screen.pml - what a screen shows; what is real and what is not stands in screen.h. */
#include "events.pml"

c_decl {
\#include "tests/models/screen.h"
}
c_state "struct screen_state s" "Global"

#define EVENT(n)                                                                                   \
    ::d_step { c_expr { now.s.may >> n & 1 };                                                      \
               c_code { screen_do(&now.s, n); };                                                    \
               assert(c_expr { !now.s.broken }) }

init {
    d_step { c_code { screen_begin(&now.s); } };
    do
    EVENTS
    od
}
