/* SPDX-License-Identifier: Apache-2.0 */
/* samples_computed.c - what the mechanics say, for samples.h. Every figure is invented. */

#include "tests/codec/samples.h"

#define RECOVERY 1764050400000 /* ms since 1970 */

static const struct tl_would stops = {.set_lb = 34000,
                                      .hook_lbf = 92000,
                                      .tension_percent = 31,
                                      .stroke_in_x10 = 1741,
                                      .expect_in_x10 = 1740,
                                      .runout_ft_x10 = 3095};
static const struct tl_would bottoms = {.set_lb = 36000,
                                        .bottoms = true,
                                        .end_kt_x10 = 121,
                                        .hook_lbf = 212000,
                                        .tension_percent = 58,
                                        .stroke_in_x10 = 1830,
                                        .expect_in_x10 = 1829,
                                        .runout_ft_x10 = 3300};
static const struct tl_would parts = {.set_lb = 42000,
                                      .parts = true,
                                      .end_kt_x10 = 210,
                                      .hook_lbf = 260000,
                                      .tension_percent = 104,
                                      .stroke_in_x10 = 1702,
                                      .expect_in_x10 = 1701,
                                      .runout_ft_x10 = 3011};

void
sample_fill_computed(struct tl_picture *picture)
{
    picture->cause[0].would = bottoms;
    picture->predicted = (struct tl_predicted){
        .event = {RECOVERY, 7},
        .type = "plover",
        .weight_lb = 33400,
        .arrest = {.known = true,
                   .headwind_kt_x10 = -15,
                   .engaging_kt_x10 = 1040,
                   .energy_kftlb = 17001,
                   .margin_percent = -2,
                   .would_count = 2,
                   .would = {stops, bottoms}},
        .ramp = {.known = true,
                 .aid_type = "plover",
                 .angle_deg_x100 = 350,
                 .target_wire = 3,
                 .pitch_deg_x10 = 8,
                 .clearance_ft_x10 = -4,
                 .touchdown_ft_x10 = -35},
        .time = {true, .ramp_s_x10 = 181, .wave_off_gear_s_x10 = 37, .wave_off_people_s_x10 = 120,
                 .reset_s_x10 = 425},
    };
    picture->expected_count = 2;
    picture->expected[0] = (struct tl_expected){2, {RECOVERY, 6}, 1741};
    picture->expected[1] = (struct tl_expected){4, {RECOVERY, 5}, 1699};
}

void
sample_fill_judged_predicted(struct tl_judged *judged)
{
    *judged = (struct tl_judged){
        .now_ms = 86400124,
        .node = "validator-1",
        .incarnation = 1764050340000,
        .kind = TL_JUDGED_PREDICTED,
        .predicted = {.event = {RECOVERY, 7},
                      .type = "curlew",
                      .weight_lb = 41900,
                      .barricade = true,
                      .arrest = {.known = true,
                                 .headwind_kt_x10 = 251,
                                 .engaging_kt_x10 = 1180,
                                 .energy_kftlb = 25900,
                                 .margin_percent = 40,
                                 .would_count = 1,
                                 .would = {parts}}},
        .sea_late_ms = 86399900,
    };
}

void
sample_fill_judged_expected(struct tl_judged *judged)
{
    *judged = (struct tl_judged){.now_ms = 86400125,
                                 .node = "validator-2",
                                 .kind = TL_JUDGED_EXPECTED,
                                 .expected = {3, {RECOVERY, 6}, 1744}};
}
