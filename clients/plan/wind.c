/* SPDX-License-Identifier: Apache-2.0 */
/* wind.c - `trapline plan wind`: the wind over the deck, and what to steer for a wanted one. */
#include <math.h>

#include "broker/core/mechanics/wind_plan.h"
#include "clients/plan/command.h"

enum option {
    COURSE = TL_PLAN_OWN,
    SPEED,
    HEADING,
    REL_DIR,
    REL,
    TRUE_DIR,
    TRUE,
    GUST,
    AXIS,
    WANT,
    SHIP_MAX,
    TABLE,
    OPTIONS
};

#define DEGREES(name, help)                                                                        \
    {                                                                                              \
        name, TL_OPTION_NUMBER, 0, 360, false, "deg", help                                         \
    }
#define KNOTS(name, help)                                                                          \
    {                                                                                              \
        name, TL_OPTION_NUMBER, 0, TL_WIND_SPEED_KT_MAX, false, "kn", help                         \
    }
static const struct tl_option_row rows[OPTIONS] = {
    TL_PLAN_COMMON,
    [COURSE] = DEGREES("--course-deg", "course of the ship over ground, true"),
    [SPEED] = KNOTS("--speed-kt", "speed of the ship over ground"),
    [HEADING] = DEGREES("--heading-deg", "heading of the ship, true; else the course"),
    [REL_DIR] = DEGREES("--rel-dir-deg", "where the wind felt on deck comes from, from the bow"),
    [REL] = KNOTS("--rel-kt", "speed of the wind felt on deck"),
    [TRUE_DIR] = DEGREES("--true-dir-deg", "where the true wind comes from"),
    [TRUE] = KNOTS("--true-kt", "speed of the true wind"),
    [GUST] = KNOTS("--gust-kt", "gusts of the wind that is given: of the true wind with --true-kt, "
                                "of the felt one with --rel-kt"),
    [AXIS] = {"--axis-deg", TL_OPTION_NUMBER, 0, TL_WIND_AXIS_PORT_DEG_MAX, false, "deg",
              "landing axis to port of the bow; else that of ship.yaml"},
    [WANT] = KNOTS("--want-kt", "headwind wanted straight down the landing axis: course and speed "
                                "that give it"),
    [SHIP_MAX] = KNOTS("--ship-max-kt", "greatest speed of the ship"),
    [TABLE] =
        {"--table", TL_OPTION_SPAN, 0, TL_WIND_SPEED_KT_MAX, false, "kn",
         "a row for each true wind speed (with --want-kt, or without --true-kt and --rel-kt), "
         "else for each headwind wanted"},
};

static const char text[] =
    "The true wind from the wind felt on deck (--rel-dir-deg, --rel-kt), or the other way "
    "round (--true-dir-deg, --true-kt), and the wind along and across the landing axis. "
    "Directions are where a wind comes from. With --want-kt: what to steer; then --course-deg "
    "and --speed-kt may be left out beside a true wind.";

/* What is known of the wind and the ship. */
struct picture {
    double axis_deg;
    bool moves;     /* course, speed and heading are known, and the winds over the deck */
    bool has_speed; /* of the true wind */
    struct tl_wind_over_deck_in ship; /* with the true wind */
    struct tl_wind_over_deck_out felt;
    struct tl_wind_deck_out deck;
};

static double
number(const struct tl_plan *plan, enum option option)
{
    return plan->option[option].number;
}

static enum tl_exit
cannot(struct tl_plan *plan)
{
    return tl_plan_refuse(plan, TL_EXIT_USAGE,
                          "no wind can be computed from these figures; check each of them");
}

/* One of the two forms, whole. */
static enum tl_exit
check_forms(struct tl_plan *plan)
{
    static const size_t felt[] = {REL_DIR, REL};
    static const size_t was_true[] = {TRUE_DIR, TRUE};
    bool by_felt = tl_plan_given(plan, REL_DIR) || tl_plan_given(plan, REL);
    bool by_true = tl_plan_given(plan, TRUE_DIR) || tl_plan_given(plan, TRUE);
    bool speed_open = tl_plan_given(plan, TABLE);
    if (by_felt && by_true) {
        return tl_plan_refuse(plan, TL_EXIT_USAGE,
                              "the wind is given twice; give --rel-dir-deg and --rel-kt, or "
                              "--true-dir-deg and --true-kt");
    }
    if (!by_felt && !by_true) {
        return tl_plan_refuse(plan, TL_EXIT_USAGE,
                              "no wind is given; give --rel-dir-deg and --rel-kt, or "
                              "--true-dir-deg and --true-kt");
    }
    enum tl_exit code = TL_EXIT_OK;
    for (size_t i = 0; i < 2 && code == TL_EXIT_OK; i++) {
        bool may_lack = by_true && i == 1 && speed_open;
        code = may_lack ? TL_EXIT_OK : tl_plan_need(plan, by_felt ? felt[i] : was_true[i]);
    }
    bool free_ship = by_true &&
                     (tl_plan_given(plan, WANT) || (speed_open && tl_plan_given(plan, TRUE))) &&
                     !tl_plan_given(plan, COURSE) && !tl_plan_given(plan, SPEED) &&
                     !tl_plan_given(plan, HEADING) && !tl_plan_given(plan, GUST);
    if (code == TL_EXIT_OK && !free_ship) {
        code = tl_plan_need(plan, COURSE);
        code = code == TL_EXIT_OK ? tl_plan_need(plan, SPEED) : code;
    }
    if (code == TL_EXIT_OK && tl_plan_given(plan, SHIP_MAX) && !tl_plan_given(plan, WANT) &&
        !tl_plan_given(plan, TABLE)) {
        code = tl_plan_need(plan, WANT);
    }
    return code;
}

static enum tl_exit
read_axis(struct tl_plan *plan, double *axis_deg)
{
    if (tl_plan_given(plan, AXIS)) {
        *axis_deg = number(plan, AXIS);
        return TL_EXIT_OK;
    }
    enum tl_exit code = tl_plan_need_config(plan, "its deck_angle_deg (or --axis-deg)");
    if (code == TL_EXIT_OK) {
        *axis_deg = plan->config->ship.deck_angle_deg;
    }
    return code;
}

/* From what is felt to the true wind, or back; then along the axis. */
static enum tl_err
solve(const struct tl_plan *plan, struct picture *p)
{
    enum tl_err err = TL_OK;
    if (tl_plan_given(plan, REL)) {
        const struct tl_wind_true_in in = {.course_deg = p->ship.course_deg,
                                           .speed_kt = p->ship.speed_kt,
                                           .heading_deg = p->ship.heading_deg,
                                           .over_deck_deg = number(plan, REL_DIR),
                                           .over_deck_kt = number(plan, REL)};
        struct tl_wind_true_out out;
        err = tl_wind_true(&in, &out);
        if (err == TL_OK) {
            p->ship.true_deg = out.true_deg;
            p->ship.true_kt = out.true_kt;
            p->felt = (struct tl_wind_over_deck_out){in.over_deck_deg, in.over_deck_kt};
        }
    } else {
        p->ship.true_deg = number(plan, TRUE_DIR);
        p->ship.true_kt = number(plan, TRUE);
        err = p->moves ? tl_wind_over_deck(&p->ship, &p->felt) : TL_OK;
    }
    const struct tl_wind_deck_in deck = {.over_deck_deg = p->felt.over_deck_deg,
                                         .over_deck_kt = p->felt.over_deck_kt,
                                         .axis_port_deg = p->axis_deg};
    return err == TL_OK ? tl_wind_deck(&deck, &p->deck) : err;
}

static void
say_winds(struct tl_plan *plan, const struct picture *p)
{
    static const struct tl_say_item course = {"course_deg", "course of the ship", "deg", 1};
    static const struct tl_say_item speed = {"speed_kt", "speed of the ship", "kn", 1};
    static const struct tl_say_item heading = {"heading_deg", "heading of the ship", "deg", 1};
    static const struct tl_say_item true_dir = {"true_dir_deg", "true wind from", "deg true", 1};
    static const struct tl_say_item true_kt = {"true_kt", "true wind", "kn", 1};
    static const struct tl_say_item rel = {"rel_dir_deg", "wind felt on deck from",
                                           "deg from the bow", 1};
    static const struct tl_say_item from = {"apparent_dir_deg", "wind felt on deck from",
                                            "deg true", 1};
    static const struct tl_say_item felt = {"apparent_kt", "wind felt on deck", "kn", 1};
    static const struct tl_say_item axis = {"axis_deg", "landing axis to port of the bow", "deg",
                                            1};
    static const struct tl_say_item head = {"headwind_kt", "headwind on the landing axis", "kn", 1};
    static const struct tl_say_item cross = {"crosswind_kt",
                                             "crosswind, + from starboard of the axis", "kn", 1};
    struct tl_say *say = plan->say;
    tl_say_heading(say, "Wind");
    tl_say_number(say, &true_dir, p->ship.true_deg);
    tl_say_number(say, &true_kt, p->ship.true_kt);
    tl_say_number(say, &axis, p->axis_deg);
    if (!p->moves) {
        return;
    }
    tl_say_number(say, &course, p->ship.course_deg);
    tl_say_number(say, &speed, p->ship.speed_kt);
    tl_say_number(say, &heading, p->ship.heading_deg);
    tl_say_number(say, &from, fmod(p->felt.over_deck_deg + p->ship.heading_deg, 360.0));
    tl_say_number(say, &rel, p->felt.over_deck_deg);
    tl_say_number(say, &felt, p->felt.over_deck_kt);
    tl_say_number(say, &head, p->deck.headwind_kt);
    tl_say_number(say, &cross, p->deck.crosswind_kt);
}

/* Along and across in one true wind speed. */
static enum tl_err
deck_in(const struct picture *p, double true_kt, struct tl_wind_over_deck_out *felt,
        struct tl_wind_deck_out *deck)
{
    struct tl_wind_over_deck_in ship = p->ship;
    ship.true_kt = true_kt;
    enum tl_err err = tl_wind_over_deck(&ship, felt);
    if (err != TL_OK) {
        return err;
    }
    const struct tl_wind_deck_in in = {.over_deck_deg = felt->over_deck_deg,
                                       .over_deck_kt = felt->over_deck_kt,
                                       .axis_port_deg = p->axis_deg};
    return tl_wind_deck(&in, deck);
}

/* A gust of the true wind: the triangle again in the lull and in the gust. */
static enum tl_err
solve_true_gust(const struct picture *p, double gust_kt, struct tl_wind_gusty_out *out)
{
    struct tl_wind_over_deck_out felt;
    struct tl_wind_deck_out lull;
    struct tl_wind_deck_out gust;
    double lull_kt = fmax(2.0 * p->ship.true_kt - gust_kt, 0.0);
    if (gust_kt < p->ship.true_kt) {
        return TL_BADARG;
    }
    enum tl_err err = deck_in(p, lull_kt, &felt, &lull);
    if (err == TL_OK) {
        out->lull_kt = felt.over_deck_kt;
        err = deck_in(p, gust_kt, &felt, &gust);
    }
    if (err == TL_OK) {
        out->headwind_lull_kt = lull.headwind_kt;
        out->headwind_gust_kt = gust.headwind_kt;
        out->headwind_least_kt = fmin(lull.headwind_kt, gust.headwind_kt);
        out->crosswind_kt = fabs(lull.crosswind_kt) > fabs(gust.crosswind_kt) ? lull.crosswind_kt
                                                                              : gust.crosswind_kt;
    }
    return err;
}

static enum tl_exit
say_gust(struct tl_plan *plan, const struct picture *p)
{
    static const struct tl_say_item gust = {"gust_kt", "gusts", "kn", 1};
    static const struct tl_say_item lull = {"headwind_lull_kt", "headwind in a lull", "kn", 1};
    static const struct tl_say_item high = {"headwind_gust_kt", "headwind in a gust", "kn", 1};
    static const struct tl_say_item least = {"headwind_least_kt", "least headwind of the two", "kn",
                                             1};
    static const struct tl_say_item cross = {"crosswind_most_kt", "largest crosswind", "kn", 1};
    struct tl_wind_gusty_out out = {0};
    const struct tl_wind_gusty_in in = {.over_deck_deg = p->felt.over_deck_deg,
                                        .mean_kt = p->felt.over_deck_kt,
                                        .gust_kt = number(plan, GUST),
                                        .axis_port_deg = p->axis_deg};
    enum tl_err err = tl_plan_given(plan, REL) ? tl_wind_gusty(&in, &out)
                                               : solve_true_gust(p, number(plan, GUST), &out);
    if (err != TL_OK) {
        return tl_plan_refuse(plan, TL_EXIT_USAGE,
                              "--gust-kt %.1f is below the wind that it is a gust of; give the "
                              "highest wind in the gusts",
                              number(plan, GUST));
    }
    tl_say_heading(plan->say, "Gusts (a lull is taken as far below the wind as a gust is above)");
    tl_say_number(plan->say, &gust, number(plan, GUST));
    tl_say_number(plan->say, &lull, out.headwind_lull_kt);
    tl_say_number(plan->say, &high, out.headwind_gust_kt);
    tl_say_number(plan->say, &least, out.headwind_least_kt);
    tl_say_number(plan->say, &cross, out.crosswind_kt);
    return TL_EXIT_OK;
}

static double
ship_max(const struct tl_plan *plan)
{
    return tl_plan_given(plan, SHIP_MAX) ? number(plan, SHIP_MAX) : TL_WIND_SPEED_KT_MAX;
}

static const char *
answer_word(enum tl_wind_answer answer)
{
    switch (answer) {
    case TL_WIND_ANSWER_THERE:
        return "there";
    case TL_WIND_ANSWER_WIND_LIGHT:
        return "wind-light";
    case TL_WIND_ANSWER_WIND_STRONG:
        return "wind-strong";
    case TL_WIND_ANSWER_SHIP_SLOW:
        return "ship-slow";
    case TL_WIND_ANSWER_UNKNOWN:
        break;
    }
    return "unknown";
}

static void
say_why(struct tl_plan *plan, const struct tl_wind_row *row, double want_kt)
{
    struct tl_say *say = plan->say;
    switch (row->answer) {
    case TL_WIND_ANSWER_WIND_LIGHT:
        tl_say_note(say,
                    "No course and speed: the true wind is too light for an axis so far to port. "
                    "%.1f kn straight down it need at least %.1f kn of true wind.",
                    want_kt, row->least_true_kt);
        break;
    case TL_WIND_ANSWER_WIND_STRONG:
        tl_say_note(say,
                    "No course and speed: the true wind is above the %.1f kn wanted; the ship "
                    "would have to go astern, or to run before it faster than she can.",
                    want_kt);
        break;
    case TL_WIND_ANSWER_SHIP_SLOW:
        tl_say_note(say, "No course and speed: the ship would need %.1f kn, more than her %.1f.",
                    row->slowest_kt, ship_max(plan));
        break;
    case TL_WIND_ANSWER_THERE:
    case TL_WIND_ANSWER_UNKNOWN:
        return;
    }
    tl_say_note(say,
                "Bow into the wind at %.1f kn gives %.1f kn of headwind and %.1f kn of "
                "crosswind.",
                row->into_wind_kt, row->into_wind.headwind_kt, row->into_wind.crosswind_kt);
}

static const struct tl_say_column solution_columns[] = {
    {"course_deg", "course", "deg", 1, 8},
    {"speed_kt", "speed", "kn", 1, 8},
    {"within_ship_max", "can she", "", 0, 9},
};
static const struct tl_say_table solutions = {"solutions", solution_columns, 3};

static enum tl_exit
say_wanted(struct tl_plan *plan, const struct picture *p)
{
    static const struct tl_say_item want = {"want_kt", "headwind wanted down the axis", "kn", 1};
    static const struct tl_say_item least = {"least_true_kt", "true wind that it needs", "kn", 1};
    static const struct tl_say_item answer = {"answer", "answer", "", 0};
    const struct tl_wind_row_in in = {
        .want = {number(plan, WANT), p->axis_deg, p->ship.true_deg, p->ship.true_kt},
        .ship_kt_max = ship_max(plan)};
    struct tl_wind_row row;
    struct tl_wind_steer_out steer;
    if (tl_wind_row_fill(&in, &row) != TL_OK || tl_wind_steer(&in.want, &steer) != TL_OK) {
        return cannot(plan);
    }
    tl_say_heading(plan->say, "Steer for a wind straight down the landing axis");
    tl_say_number(plan->say, &want, in.want.headwind_kt);
    tl_say_number(plan->say, &least, row.least_true_kt);
    tl_say_word(plan->say, &answer, answer_word(row.answer));
    if (steer.count > 0) {
        tl_say_table(plan->say, &solutions);
    }
    for (uint32_t i = 0; i < steer.count; i++) {
        struct tl_wind_within within;
        if (tl_wind_steer_within(&steer.steer[i], in.ship_kt_max, &within) != TL_OK) {
            return cannot(plan);
        }
        const struct tl_cell none = {.kind = TL_CELL_UNKNOWN};
        const struct tl_cell cells[] = {
            tl_cell_number(steer.steer[i].heading_deg), tl_cell_number(steer.steer[i].speed_kt),
            tl_plan_given(plan, SHIP_MAX) ? tl_cell_flag(within.within) : none};
        tl_say_row(plan->say, &solutions, cells);
    }
    say_why(plan, &row, in.want.headwind_kt);
    return TL_EXIT_OK;
}

static const struct tl_say_column steer_columns[] = {
    {"want_kt", "wanted", "kn", 1, 7},
    {"true_kt", "true wind", "kn", 1, 9},
    {"answer", "answer", "", 0, 11},
    {"course_deg", "course", "deg", 1, 7},
    {"speed_kt", "speed", "kn", 1, 6},
    {"into_wind_speed_kt", "or bow to wind", "kn", 1, 14},
    {"into_wind_headwind_kt", "headw.", "kn", 1, 6},
    {"into_wind_crosswind_kt", "crossw.", "kn", 1, 7},
};
static const struct tl_say_table steer_table = {"table", steer_columns, 8};

/* A row for each true wind, or for each headwind wanted. */
static enum tl_exit
say_steer_table(struct tl_plan *plan, const struct picture *p, bool of_true)
{
    const struct tl_span *span = &plan->option[TABLE].span;
    tl_say_heading(plan->say, "What to steer, the slower answer; true wind from %.1f deg",
                   p->ship.true_deg);
    tl_say_table(plan->say, &steer_table);
    for (uint32_t i = 0; i < tl_span_rows(span); i++) {
        double at = tl_span_at(span, i);
        const struct tl_wind_row_in in = {.want = {of_true ? number(plan, WANT) : at, p->axis_deg,
                                                   p->ship.true_deg,
                                                   of_true ? at : p->ship.true_kt},
                                          .ship_kt_max = ship_max(plan)};
        struct tl_wind_row row;
        if (tl_wind_row_fill(&in, &row) != TL_OK) {
            return cannot(plan);
        }
        bool there = row.answer == TL_WIND_ANSWER_THERE;
        const struct tl_cell none = {.kind = TL_CELL_UNKNOWN};
        const struct tl_cell cells[] = {tl_cell_number(in.want.headwind_kt),
                                        tl_cell_number(in.want.true_kt),
                                        tl_cell_word(answer_word(row.answer)),
                                        there ? tl_cell_number(row.steer.heading_deg) : none,
                                        there ? tl_cell_number(row.steer.speed_kt) : none,
                                        there ? none : tl_cell_number(row.into_wind_kt),
                                        there ? none : tl_cell_number(row.into_wind.headwind_kt),
                                        there ? none : tl_cell_number(row.into_wind.crosswind_kt)};
        tl_say_row(plan->say, &steer_table, cells);
    }
    return TL_EXIT_OK;
}

static const struct tl_say_column deck_columns[] = {
    {"true_kt", "true wind", "kn", 1, 10},      {"rel_dir_deg", "felt from", "deg, bow", 1, 10},
    {"apparent_kt", "felt", "kn", 1, 8},        {"headwind_kt", "headwind", "kn", 1, 10},
    {"crosswind_kt", "crosswind", "kn", 1, 10},
};
static const struct tl_say_table deck_table = {"table", deck_columns, 5};

static enum tl_exit
say_deck_table(struct tl_plan *plan, const struct picture *p)
{
    const struct tl_span *span = &plan->option[TABLE].span;
    tl_say_heading(plan->say, "Over the deck; course %.1f deg, %.1f kn, true wind from %.1f deg",
                   p->ship.course_deg, p->ship.speed_kt, p->ship.true_deg);
    tl_say_table(plan->say, &deck_table);
    for (uint32_t i = 0; i < tl_span_rows(span); i++) {
        struct tl_wind_over_deck_out felt;
        struct tl_wind_deck_out deck;
        if (deck_in(p, tl_span_at(span, i), &felt, &deck) != TL_OK) {
            return cannot(plan);
        }
        const struct tl_cell cells[] = {
            tl_cell_number(tl_span_at(span, i)), tl_cell_number(felt.over_deck_deg),
            tl_cell_number(felt.over_deck_kt), tl_cell_number(deck.headwind_kt),
            tl_cell_number(deck.crosswind_kt)};
        tl_say_row(plan->say, &deck_table, cells);
    }
    return TL_EXIT_OK;
}

static enum tl_exit
say_table(struct tl_plan *plan, const struct picture *p)
{
    if (tl_plan_given(plan, WANT)) {
        return say_steer_table(plan, p, true);
    }
    return p->has_speed ? say_steer_table(plan, p, false) : say_deck_table(plan, p);
}

static enum tl_exit
run(struct tl_plan *plan)
{
    struct picture p = {.moves = tl_plan_given(plan, COURSE) && tl_plan_given(plan, SPEED),
                        .has_speed = tl_plan_given(plan, REL) || tl_plan_given(plan, TRUE)};
    enum tl_exit code = check_forms(plan);
    if (code == TL_EXIT_OK) {
        code = read_axis(plan, &p.axis_deg);
    }
    if (code != TL_EXIT_OK) {
        return code;
    }
    p.ship.course_deg = number(plan, COURSE);
    p.ship.speed_kt = number(plan, SPEED);
    p.ship.heading_deg = number(plan, tl_plan_given(plan, HEADING) ? HEADING : COURSE);
    if (solve(plan, &p) != TL_OK) {
        return cannot(plan);
    }
    if (p.has_speed) {
        say_winds(plan, &p);
        code = tl_plan_given(plan, GUST) ? say_gust(plan, &p) : TL_EXIT_OK;
        code = code == TL_EXIT_OK && tl_plan_given(plan, WANT) ? say_wanted(plan, &p) : code;
    } else if (tl_plan_given(plan, GUST)) {
        code = tl_plan_need(plan, TRUE);
    }
    return code == TL_EXIT_OK && tl_plan_given(plan, TABLE) ? say_table(plan, &p) : code;
}

const struct tl_plan_command tl_plan_wind = {
    .name = "wind",
    .what = "wind over the deck and down the landing axis, and what to steer",
    .text = text,
    .table = {rows, OPTIONS},
    .run = run,
};
