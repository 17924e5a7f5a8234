/* SPDX-License-Identifier: Apache-2.0 */
/* links.h - the row of a page that tells of validators, buses and the recorder. */
#ifndef TL_UI_LINKS_H
#define TL_UI_LINKS_H

#include "proto/link/seat.h"

/* What is heard and how old, or, before all of that, why there is no verdict. */
void tl_ui_links(struct tl_seat *seat, uint64_t now_ms, char *dst, size_t cap);

#endif
