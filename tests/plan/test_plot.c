/* SPDX-License-Identifier: Apache-2.0 */
/* test_plot - curves as characters and as a picture: within their bounds, whatever the figures. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "clients/plan/plot.h"
#include "clients/plan/svg.h"

enum {
    POINTS = 200
};

/* Two curves to draw. */
struct humps {
    struct tl_plot_point low[POINTS];
    struct tl_plot_point high[POINTS];
};

/* A hump of that height over x_most. */
static void
make_hump(struct tl_plot_point points[POINTS], double x_most, double height)
{
    for (int i = 0; i < POINTS; i++) {
        double share = (double)i / (POINTS - 1);
        points[i] = (struct tl_plot_point){share * x_most, height * sin(3.14159 * share)};
    }
}

static struct tl_plot
make_plot(const struct humps *humps, size_t curves)
{
    return (struct tl_plot){
        .title = "Tension (lbf)",
        .x_label = "run-out (ft)",
        .y_label = "lbf",
        .curve = {{"first", 'o', humps->low, POINTS}, {"second", 'x', humps->high, POINTS}},
        .curves = curves};
}

static char *
print(const struct tl_plot *plot)
{
    char *text = NULL;
    size_t length = 0;
    FILE *out = open_memstream(&text, &length);
    assert_non_null(out);
    tl_plot_print(plot, out);
    assert_int_equal(fclose(out), 0);
    return text;
}

static void
expect_fits(const char *text, const char *name)
{
    size_t lines = 0;
    for (const char *line = text; *line != '\0'; line += strcspn(line, "\n") + 1) {
        size_t length = strcspn(line, "\n");
        lines++;
        if (length > TL_PLOT_WIDTH || (length > 0 && line[length - 1] == ' ')) {
            fail_msg("%s: %zu columns, or a blank at the end: %.*s", name, length, (int)length,
                     line);
        }
        for (size_t i = 0; i < length; i++) {
            if (line[i] < ' ' || line[i] > '~') {
                fail_msg("%s: byte %d", name, line[i]);
            }
        }
    }
    if (lines > TL_PLOT_LINES + 1) {
        fail_msg("%s: %zu lines", name, lines);
    }
}

static void
a_plot_fits_whatever_the_figures(void **state)
{
    (void)state;
    struct humps humps = {0};
    static const struct {
        const char *name;
        double x_most, low, high;
    } cases[] = {
        {"usual", 340, 64000, 83000}, {"spike", 340, 37000, 7e8},
        {"flat", 340, 0, 0},          {"small", 0.001, 0.0001, 0.0002},
        {"large", 9e6, 1e12, 2e12},   {"below 0", 340, -5, 2},
        {"one place", 0, 5, 5},       {"just past a tick", 350.0001, 100.001, 80},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        make_hump(humps.low, cases[i].x_most, cases[i].low);
        make_hump(humps.high, cases[i].x_most, cases[i].high);
        for (size_t curves = 0; curves <= 2; curves++) {
            struct tl_plot plot = make_plot(&humps, curves);
            plot.level = (struct tl_plot_level){"parts here", cases[i].low / 2};
            char *text = print(&plot);
            expect_fits(text, cases[i].name);
            free(text);
        }
    }
}

static void
two_curves_are_told_apart_by_their_marks(void **state)
{
    (void)state;
    struct humps humps = {0};
    make_hump(humps.low, 340, 60000);
    make_hump(humps.high, 340, 90000);
    struct tl_plot plot = make_plot(&humps, 2);
    char *text = print(&plot);
    assert_non_null(strstr(text, "ooo"));
    assert_non_null(strstr(text, "xxx"));
    assert_non_null(strstr(text, "run-out (ft)"));
    assert_non_null(strstr(text, "  100,000 +"));
    assert_non_null(strstr(text, "o first: peak 59,9"));
    assert_non_null(strstr(text, "x second: peak 89,9"));
    assert_null(strchr(text, '^'));
    assert_null(strchr(text, '\x1b'));
    free(text);
}

static void
a_spike_is_cut_and_said_to_be(void **state)
{
    (void)state;
    struct humps humps = {0};
    make_hump(humps.low, 340, 1000);
    make_hump(humps.high, 340, 2999);
    struct tl_plot plot = make_plot(&humps, 2);
    struct tl_plot_scale scale = tl_plot_scale_of(&plot);
    assert_false(scale.cut[0] || scale.cut[1]);
    make_hump(humps.high, 340, 3001);
    scale = tl_plot_scale_of(&plot);
    assert_false(scale.cut[0]);
    assert_true(scale.cut[1]);
    char *text = print(&plot);
    assert_non_null(strstr(text, "x second: peak 3,001, ^ off the scale"));
    assert_non_null(strstr(text, "^^^"));
    free(text);
}

static void
a_level_is_drawn_where_the_scale_reaches_it(void **state)
{
    (void)state;
    struct humps humps = {0};
    make_hump(humps.low, 340, 100);
    struct tl_plot plot = make_plot(&humps, 1);
    plot.level = (struct tl_plot_level){"parts at 50 lbf", 50};
    char *text = print(&plot);
    assert_non_null(strstr(text, "  - parts at 50 lbf"));
    free(text);
    plot.level.y = 200;
    text = print(&plot);
    assert_null(strstr(text, "parts at"));
    free(text);
}

static char *
draw(const struct tl_svg *svg)
{
    char *text = NULL;
    size_t length = 0;
    FILE *out = open_memstream(&text, &length);
    assert_non_null(out);
    assert_int_equal(tl_svg_print(svg, out), TL_OK);
    assert_int_equal(fclose(out), 0);
    return text;
}

static struct tl_svg
make_svg(const struct tl_plot *plots)
{
    return (struct tl_svg){.title = "a < b & \"c\" > \x1b d",
                           .subtitle = "sub",
                           .caution = "be careful",
                           .plot = plots,
                           .plots = 2};
}

static void
a_picture_escapes_what_it_is_given(void **state)
{
    (void)state;
    struct humps humps = {0};
    make_hump(humps.low, 340, 60000);
    make_hump(humps.high, 340, 900000);
    const struct tl_plot plots[] = {make_plot(&humps, 2), make_plot(&humps, 1)};
    const struct tl_svg svg = make_svg(plots);
    char *text = draw(&svg);
    assert_non_null(strstr(text, "<title>a &lt; b &amp; \"c\" &gt; ? d</title>"));
    assert_non_null(strstr(text, "be careful"));
    assert_non_null(strstr(text, "off the scale"));
    assert_null(strstr(text, "nan"));
    assert_null(strchr(text, '\x1b'));
    free(text);
}

static void
a_picture_is_written_whole_or_not_at_all(void **state)
{
    (void)state;
    struct humps humps = {0};
    char folder[] = "/tmp/plan-svg-XXXXXX";
    char path[64];
    char gone[96];
    char pipe[96];
    struct stat st;
    make_hump(humps.low, 340, 60000);
    const struct tl_plot plots[] = {make_plot(&humps, 1), make_plot(&humps, 1)};
    const struct tl_svg svg = make_svg(plots);
    assert_non_null(mkdtemp(folder));
    (void)snprintf(path, sizeof path, "%s/a.svg", folder);
    (void)snprintf(gone, sizeof gone, "%s/none/a.svg", folder);
    (void)snprintf(pipe, sizeof pipe, "%s/pipe", folder);
    assert_int_equal(tl_svg_save(&svg, path), TL_OK);
    assert_int_equal(stat(path, &st), 0);
    assert_int_equal(st.st_mode & 0777, 0644);
    assert_int_equal(tl_svg_save(&svg, path), TL_OK); /* over the old one */
    assert_int_equal(tl_svg_save(&svg, gone), TL_NOTFOUND);
    assert_int_equal(tl_svg_save(&svg, folder), TL_BADARG);
    assert_int_equal(mkfifo(pipe, 0600), 0);
    assert_int_equal(tl_svg_save(&svg, pipe), TL_BADARG);
    assert_int_equal(stat(pipe, &st), 0);
    assert_true(S_ISFIFO(st.st_mode)); /* not replaced */
    assert_int_equal(unlink(pipe), 0);
    assert_int_equal(unlink(path), 0);
    assert_int_equal(rmdir(folder), 0); /* and nothing else was left in it */
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_plot_fits_whatever_the_figures),
        cmocka_unit_test(two_curves_are_told_apart_by_their_marks),
        cmocka_unit_test(a_spike_is_cut_and_said_to_be),
        cmocka_unit_test(a_level_is_drawn_where_the_scale_reaches_it),
        cmocka_unit_test(a_picture_escapes_what_it_is_given),
        cmocka_unit_test(a_picture_is_written_whole_or_not_at_all),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
