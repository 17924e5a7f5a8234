/* SPDX-License-Identifier: Apache-2.0 */
/*
 * rig.h - what the tests of the arrestment share: a gear, a run, near figures, drawn figures.
 *
 * Units and factors here are written anew, not taken from the room under test.
 */
#ifndef TESTS_ARREST_RIG_H
#define TESTS_ARREST_RIG_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "broker/core/mechanics/arrest.h"

/* Exact: NIST SP 811, App. B (the foot read in public tables; knot, pound, gravity from memory). */
#define RIG_FT   0.3048
#define RIG_IN   0.0254
#define RIG_LB   0.45359237
#define RIG_G    9.80665
#define RIG_KT   (1852.0 / 3600.0)
#define RIG_LBF  (RIG_LB * RIG_G)
#define RIG_PSI  (RIG_LBF / (RIG_IN * RIG_IN))
#define RIG_FTLB (RIG_LBF * RIG_FT)

/*
 * The gear of the worked figures: half span 55 ft, run-out 340 ft, 130 kn, 18:1, ram 20 in; and with
 * an accumulator of 400 to 650 psi and a least opening of 2 %. Invented, but for the run-out of 340 ft
 * and the purchase cable of 195,000 lbf (NAWCADPAX/TR-2002/71 table 3 as quoted; NAVEDTRA 14310 p. 97).
 */
struct tl_arrest_gear rig_gear(void);
/* The same with neither accumulator nor least opening: the closed forms hold on it. */
struct tl_arrest_gear rig_ideal(void);
/* 50,000 lb at 130 kn on its own setting, in the middle, idle: the rated example. */
struct tl_arrest_in rig_in(void);

/* Opens, runs, closes; the run must be TL_OK. */
struct tl_arrest_out rig_run(const struct tl_arrest_gear *gear, const struct tl_arrest_in *in,
                             const struct tl_arrest_watch *watch);

/* A run that must be refused so; the sentence must be the one given, and the output untouched. */
struct rig_no {
    enum tl_err err;
    const char *why;
};
void rig_run_is(const struct tl_arrest_gear *gear, const struct tl_arrest_in *in, struct rig_no no);
void rig_open_is(const struct tl_arrest_gear *gear, struct rig_no no);

struct rig_near {
    double got, wanted;
    double within; /* absolute */
};
void rig_is_near(const char *row, struct rig_near near);
/* within is a share of wanted. */
void rig_is_near_share(const char *row, struct rig_near near);

/* Seed of a random test, printed; TL_SEED in the environment goes before. */
uint64_t rig_seed(uint64_t seed);
struct rig_span {
    double from, to;
};
double rig_draw(uint64_t *seed, struct rig_span span);
bool rig_chance(uint64_t *seed, double share);
/* A sound gear with everything drawn; a gear that can stretch has a least opening. */
struct tl_arrest_gear rig_draw_gear(uint64_t *seed);
/* Off-centre, drift, thrust, wrong settings; drawn for that gear. */
struct tl_arrest_in rig_draw_in(uint64_t *seed, const struct tl_arrest_gear *gear);

#endif
