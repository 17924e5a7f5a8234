/* SPDX-License-Identifier: Apache-2.0 */
/*
 * svg.h - the plots as one picture that stands by itself: no script, no font, no link.
 *
 * Curves differ by dashes as well as by colour. Every text that is given is escaped.
 */
#ifndef CLIENTS_PLAN_SVG_H
#define CLIENTS_PLAN_SVG_H

#include "clients/plan/plot.h"
#include "proto/base/err.h"

struct tl_svg {
    const char *title;
    const char *subtitle;
    const char *caution;
    const struct tl_plot *plot; /* one above the other */
    size_t plots;
};

/* Write the picture. TL_IO: out did not take it. */
TL_MUST_USE enum tl_err tl_svg_print(const struct tl_svg *svg, FILE *out);

/*
 * Put it into a file, whole or not at all: a reader finds the old file or the new one.
 *
 * TL_BADARG: the path is that of something else than a plain file. TL_NOMEM. Else as
 * tl_file_write_atomic.
 */
TL_MUST_USE enum tl_err tl_svg_save(const struct tl_svg *svg, const char *path);

#endif
