/* SPDX-License-Identifier: Apache-2.0 */
/* report.c - see report.h: the sections; report_plots.c draws. */
#include "clients/logbook/report.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "clients/logbook/html.h"
#include "clients/logbook/report_plots.h"
#include "clients/logbook/report_tables.h"
#include "clients/logbook/tables.h"
#include "clients/logbook/words.h"

static const char style[] =
    "body{font:14px/1.4 \"DejaVu Sans\",Verdana,sans-serif;color:#14202b;background:#fff;"
    "max-width:60rem;margin:1.5rem auto;padding:0 1rem}\n"
    "header{border-left:.5rem solid #1f4e6b;padding:.2rem 0 .2rem .9rem;margin-bottom:1.2rem}\n"
    "h1{font-size:1.5rem;margin:0}h2{font-size:1.1rem;margin:1.6rem 0 .5rem;"
    "border-bottom:2px solid #1f4e6b}\n"
    "p{margin:.3rem 0}.advice{font-weight:bold}\n"
    "table{border-collapse:collapse;font-size:.82rem;margin:.4rem 0}\n"
    "th{text-align:left;border-bottom:1px solid #14202b;padding:.15rem .5rem}\n"
    "td{border-bottom:1px solid #ccd5db;padding:.12rem .5rem;vertical-align:top;"
    "white-space:nowrap}\n"
    "td.l{white-space:normal;overflow-wrap:anywhere}\n"
    "th.n,td.n{text-align:right;font-variant-numeric:tabular-nums}\n"
    "figure{margin:.8rem 0}svg{max-width:100%;height:auto;font:12px \"DejaVu Sans\",Verdana,"
    "sans-serif}\n"
    "svg text{fill:#14202b}svg .name{font-weight:bold}\n"
    ".bar{fill:#5b8aa6;stroke:#1f4e6b}.axis{stroke:#14202b}.grid{stroke:#dfe6ea}\n"
    ".limit{stroke:#9a2c1c;stroke-dasharray:5 3;stroke-width:1.5}\n"
    ".ready{fill:#1f4e6b;stroke:#1f4e6b}.not{fill:url(#hatch);stroke:#14202b}\n"
    "@page{size:A4;margin:15mm}\n"
    "@media print{body{font-size:10pt;max-width:none;margin:0;padding:0}"
    "figure,tr{break-inside:avoid}h2{break-after:avoid}thead{display:table-header-group}"
    "*{print-color-adjust:exact;-webkit-print-color-adjust:exact}}\n";

static void
print_head(FILE *out)
{
    (void)fprintf(out,
                  "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                  "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
                  "style-src 'unsafe-inline'\">\n"
                  "<meta name=\"viewport\" content=\"width=device-width\">\n"
                  "<title>Recovery report</title>\n<style>\n%s</style>\n</head>\n<body>\n"
                  /* one hatching for all plots */
                  "<svg width=\"0\" height=\"0\" aria-hidden=\"true\"><defs><pattern id=\"hatch\" "
                  "width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\" "
                  "patternTransform=\"rotate(45)\"><rect width=\"6\" height=\"6\" fill=\"#fff\"/>"
                  "<line x1=\"0\" y1=\"0\" x2=\"0\" y2=\"6\" stroke=\"#9a2c1c\" "
                  "stroke-width=\"3\"/></pattern></defs></svg>\n",
                  style);
}

/* What it is of, and what it is not. */
static void
print_header(const struct tl_answer *answer, const struct tl_figures_told *figures, FILE *out)
{
    const struct tl_boarding *boarding = &figures->group[0].boarding;
    char first[TL_TIME_CAP];
    char last[TL_TIME_CAP];
    uint64_t first_ms = 0;
    uint64_t last_ms = 0;
    for (size_t i = 0; i < answer->passes.count; i++) {
        const struct tl_pass *pass = &answer->passes.pass[i];
        uint64_t wall_ms = tl_pass_wall_ms(pass);
        if (tl_filter_pass(&answer->filter, pass)) {
            first_ms = first_ms == 0 || wall_ms < first_ms ? wall_ms : first_ms;
            last_ms = wall_ms > last_ms ? wall_ms : last_ms;
        }
    }
    (void)fprintf(out,
                  "<header><h1>Recovery report</h1>\n<p>Passes from %s to %s; %" PRIu64
                  " ended. Times are UTC.</p>\n",
                  tl_time_text(first_ms, first), tl_time_text(last_ms, last), boarding->ended);
    (void)fputs("<p class=\"advice\">Advisory record. It says what was reported and judged on the "
                "bus; the ship's own logs rule.</p>\n</header>\n",
                out);
}

static void
print_section(const char *name, const struct tl_html_table *shown, FILE *out)
{
    (void)fputs("<section>\n<h2>", out);
    tl_html_text(name, out);
    (void)fputs("</h2>\n", out);
    tl_html_print_table(shown, out);
    (void)fputs("</section>\n", out);
}

/* Its narrow columns. */
static void
print_narrow(const char *name, const struct tl_table *table, const char *none, FILE *out)
{
    int column[TL_TABLE_COLUMNS_MAX];
    size_t count = 0;
    for (int i = 0; i < table->columns; i++) {
        bool said = strcmp(table->column[i].key, "reason") == 0 || /* what a note says in text */
                    strcmp(table->column[i].key, "what") == 0;
        if (table->column[i].narrow != 0 || said) {
            column[count++] = i;
        }
    }
    print_section(name, &(struct tl_html_table){table, column, count, none}, out);
}

/* ---- sections ---- */

/* Print one and free it; a sentence below it when there are rows. */
static void
print_own(const char *name, struct tl_table *table, const char *below, FILE *out)
{
    print_section(name, &(struct tl_html_table){table, NULL, 0, "None."}, out);
    if (table->rows > 0 && below != NULL) {
        (void)fprintf(out, "<p>%s</p>\n", below);
    }
    tl_table_free(table);
}

static void
print_figures(const struct tl_figures_told *figures, FILE *out)
{
    struct tl_table table;
    tl_report_boarding(figures, &table);
    print_own("How they ended", &table,
              "Boarding rate: traps of traps, bolters and wave-offs while READY (common practice, "
              "no source). Foul deck: waved off while NOT READY, whatever was the cause.",
              out);
    tl_report_fouls(figures, &table);
    print_own("Foul decks", &table, NULL, out);
    tl_report_seconds(figures, &table);
    print_own("Seconds", &table,
              "Quartiles lie between the nearest two values. A station that was last was waited "
              "for; what it took more than the one before it is summed.",
              out);
    tl_report_rates(figures, &table);
    print_own("Alert rates", &table,
              "While a recovery was open. Targets for one operator, of plants with desks: about 1 "
              "in 10 minutes, at most 2; at most 10 in any 10 minutes (ISA-18.2-2016 clause 16.4 "
              "and EEMUA 191, as restated; neither read in its own text).",
              out);
}

typedef enum tl_err make_fn(const struct tl_answer *answer, struct tl_table *table);

static enum tl_err
print_made(const struct tl_answer *answer, make_fn *make, const char *name, FILE *out)
{
    struct tl_table table;
    enum tl_err err = make(answer, &table);
    if (err == TL_OK && table.failed) {
        err = TL_NOMEM;
    }
    if (err == TL_OK) {
        print_narrow(name, &table, "None.", out);
    }
    tl_table_free(&table);
    return err;
}

/* The passes that are asked for, in a list of their own: the pointers in them stay the answer's. */
static enum tl_err
asked_passes(const struct tl_answer *answer, struct tl_passes *asked)
{
    size_t count = answer->passes.count;
    asked->pass = calloc(count + 1, sizeof *asked->pass);
    if (asked->pass == NULL) {
        return TL_NOMEM;
    }
    asked->cap = count + 1;
    for (size_t i = 0; i < count; i++) {
        if (tl_filter_pass(&answer->filter, &answer->passes.pass[i])) {
            asked->pass[asked->count++] = answer->passes.pass[i];
        }
    }
    return TL_OK;
}

static enum tl_err
print_body(const struct tl_answer *answer, const struct tl_passes *passes,
           const struct tl_figures_told *figures, FILE *out)
{
    print_header(answer, figures, out);
    struct tl_table table;
    tl_report_passes(passes, &table);
    print_own("Passes", &table, NULL, out);
    enum tl_err err = tl_report_plots(answer, passes, figures, out);
    print_figures(figures, out);
    if (err == TL_OK) {
        err = print_made(answer, tl_alerts_table, "Alerts", out);
    }
    if (err == TL_OK) {
        err = print_made(answer, tl_overrides_table, "Overrides and words by voice", out);
    }
    if (err == TL_OK) {
        err = print_made(answer, tl_who_table, "Who sat where", out);
    }
    if (err == TL_OK) {
        err = print_made(answer, tl_faults_table, "What was wrong with the tool", out);
    }
    return err;
}

enum tl_err
tl_report_print(const struct tl_answer *answer, bool drills, FILE *out)
{
    struct tl_figures_told *figures = calloc(1, sizeof *figures);
    struct tl_passes passes = {0};
    if (figures == NULL) {
        return TL_NOMEM;
    }
    enum tl_err err = tl_figures_fold(answer, drills, figures);
    if (err == TL_OK) {
        err = asked_passes(answer, &passes);
    }
    if (err == TL_OK) {
        print_head(out);
        err = print_body(answer, &passes, figures, out);
        (void)fputs("</body>\n</html>\n", out);
    }
    tl_passes_free(&passes);
    tl_figures_free(figures);
    free(figures);
    return err == TL_OK && ferror(out) != 0 ? TL_IO : err;
}
