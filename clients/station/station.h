/* SPDX-License-Identifier: Apache-2.0 */
/* station.h - `trapline STATION`: one long-lived process for each station. */
#ifndef TL_STATION_STATION_H
#define TL_STATION_STATION_H

#include "proto/vocab/config.h"

/*
 * Run that station, or hand one command to the one that runs (`--do` without `--join`).
 * argv[0] is the station's word. Returns an exit code (see enum tl_exit).
 */
int tl_station_main(enum tl_station_kind kind, int argc, char **argv);

#endif
