/* SPDX-License-Identifier: Apache-2.0 */
/* explain.c - what a rule says, why, and who acts, from the table and ship.yaml. See explain.h. */
#include "clients/tools/explain.h"

#include <getopt.h>
#include <inttypes.h>
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/tools/json.h"
#include "clients/tools/near.h"
#include "clients/ui/why.h"
#include "proto/base/conf.h"
#include "proto/link/join.h"
#include "proto/vocab/rules_why.h"

enum {
    OPTION_JSON = 256,
    OPTION_HELP,
    NAME_EDITS = 3,
    PART_EDITS = 2,
    PART_MIN = 3
};

static const char usage[] =
    "usage: trapline explain [-C DIR] [--json] RULE|all\n"
    "\n"
    "Say of a rule what makes it bad, why that is dangerous, what it needs and who acts. RULE is\n"
    "a name as causes and docs/rules.md have it; all prints every rule in the order of causes.\n"
    "\n"
    "  -C DIR       configuration folder (else $TRAPLINE_CONFIG): also says when the rule is due\n"
    "               on that ship, and whether it is switched off and why; without one it is not\n"
    "               said\n"
    "  --json       one JSON object; docs/json.md lists its fields\n"
    "  --help       this text\n"
    "\n"
    "Exit: 0 printed, 1 it could not be written, 64 usage, 78 configuration.\n";

struct explain {
    const char *dir; /* NULL = no configuration */
    const char *rule;
    bool json;
    struct tl_config *config; /* NULL = none */
};

static const char *
effect_text(enum tl_effect effect)
{
    switch (effect) {
    case TL_EFFECT_FORCE:
        return "forces NOT READY";
    case TL_EFFECT_HOLD:
        return "holds NOT READY until it is settled";
    case TL_EFFECT_NOTE:
        return "is shown and alerted only (note)";
    case TL_EFFECT_UNKNOWN:
        break;
    }
    return "unknown";
}

static const char *
effect_name(enum tl_effect effect)
{
    return effect == TL_EFFECT_NOTE ? "note" : (effect == TL_EFFECT_HOLD ? "hold" : "force");
}

static bool
may_be_without(const struct tl_rule_row *row)
{
    return row->from >= TL_STATION_WIRES;
}

/* The station without which the rule has no input; of several, its needs tell. */
static void
print_from(const struct tl_rule_row *row, FILE *out)
{
    char text[TL_TEXT_CAP];
    const char *kind = tl_station_kind_name(row->from);
    if (row->from == TL_STATION_UNKNOWN) {
        return;
    }
    (void)snprintf(text, sizeof text, "%s%s%s%s", kind,
                   may_be_without(row) ? "; a ship without it lists all-of-" : "",
                   may_be_without(row) ? kind : "", may_be_without(row) ? " in rules_off" : "");
    tl_ui_print_wrapped("from", text, out);
}

static void
print_due(const struct tl_rule_why *why, FILE *out)
{
    char text[2 * TL_TEXT_CAP];
    if (why->waits == NULL) {
        tl_ui_print_wrapped("due", "none: judged at once", out);
        return;
    }
    (void)snprintf(text, sizeof text,
                   "not yet, and silent, until the due of ship.yaml; then an alert: %s",
                   why->waits);
    tl_ui_print_wrapped("due", text, out);
}

static void
due_text(const struct tl_ship *ship, enum tl_rule rule, char *dst, size_t cap)
{
    uint32_t after_s = ship->due_after_order_s[rule];
    uint32_t before_s = ship->due_before_ramp_s[rule];
    int n = after_s > 0 ? snprintf(dst, cap, "%" PRIu32 " s after the order", after_s)
                        : snprintf(dst, cap, "at once after the order");
    if (before_s > 0 && n > 0 && (size_t)n < cap) {
        (void)snprintf(dst + n, cap - (size_t)n,
                       "; once the pilot has called, %" PRIu32
                       " s before the predicted ramp crossing",
                       before_s);
    }
}

static void
print_ship(const struct tl_ship *ship, const struct tl_rule_row *row, const struct tl_rule_why *why,
           FILE *out)
{
    char text[2 * TL_TEXT_CAP];
    char due[TL_TEXT_CAP] = "";
    if (ship->rule_off[row->rule]) {
        (void)snprintf(text, sizeof text, "%s: OFF, not judged: %s", ship->name,
                       ship->rule_off_reason[row->rule]);
        tl_ui_print_wrapped("this ship", text, out);
        return;
    }
    if (why->waits != NULL) {
        due_text(ship, row->rule, due, sizeof due);
    }
    (void)snprintf(text, sizeof text, "%s: on%s%s", ship->name, due[0] != '\0' ? "; due " : "",
                   due);
    tl_ui_print_wrapped("this ship", text, out);
}

static void
print_rule(const struct tl_config *config, const struct tl_rule_row *row,
           const struct tl_rule_why *why, FILE *out)
{
    char acts[TL_TEXT_CAP];
    char owes[TL_TEXT_CAP];
    (void)fprintf(out, "%s: %s\n", row->name, row->short_text);
    tl_ui_print_wrapped("severity", tl_severity_name(row->severity), out);
    tl_ui_print_wrapped("effect", effect_text(row->effect), out);
    tl_ui_print_wrapped("bad when", why->bad_when, out);
    tl_ui_print_wrapped("danger", why->why, out);
    tl_ui_print_wrapped("needs", why->needs, out);
    print_from(row, out);
    print_due(why, out);
    tl_ui_print_wrapped("acts", tl_ui_acts_text(row->acts, acts, sizeof acts), out);
    tl_ui_print_wrapped("do", why->act, out);
    tl_ui_print_wrapped("owes ack", tl_ui_acts_text(row->owes, owes, sizeof owes), out);
    tl_ui_print_wrapped("override", row->overridable ? "may be overridden, by two" : "never", out);
    tl_ui_print_wrapped("CLEAR", row->refuses_clear ? "refused while it is bad" : "not refused",
                        out);
    if (row->transport) {
        tl_ui_print_wrapped("return", "NOT READY until it has been away for 3.0 s", out);
    }
    tl_ui_print_wrapped("basis", row->basis, out);
    if (config != NULL) {
        print_ship(&config->ship, row, why, out);
    }
}

static json_t *
acts_json(unsigned acts)
{
    json_t *names = json_array();
    const char *name = NULL;
    for (unsigned bit = 0; (name = tl_ui_act_name(bit)) != NULL; bit++) {
        if ((acts >> bit & 1u) != 0) {
            (void)json_array_append_new(names, json_string(name));
        }
    }
    return names;
}

static json_t *
ship_json(const struct tl_config *config, const struct tl_rule_row *row,
          const struct tl_rule_why *why)
{
    if (config == NULL) {
        return json_null();
    }
    const struct tl_ship *ship = &config->ship;
    bool off = ship->rule_off[row->rule];
    bool timed = !off && why->waits != NULL;
    uint32_t before_s = ship->due_before_ramp_s[row->rule];
    return json_pack(
        "{s:s,s:b,s:o,s:o,s:o}", "name", ship->name, "off", off, "off_reason",
        off ? json_string(ship->rule_off_reason[row->rule]) : json_null(), "due_after_order_s",
        timed ? json_integer((json_int_t)ship->due_after_order_s[row->rule]) : json_null(),
        "due_before_ramp_s",
        timed && before_s > 0 ? json_integer((json_int_t)before_s) : json_null());
}

static json_t *
rule_json(const struct tl_config *config, const struct tl_rule_row *row,
          const struct tl_rule_why *why)
{
    return json_pack(
        "{s:I,s:s,s:s,s:s,s:s,s:s,s:s,s:s,s:s,s:o,s:o,s:o,s:s,s:o,s:b,s:b,s:b,s:s,s:o}", "id",
        (json_int_t)row->rule, "rule", row->name, "text", row->short_text, "severity",
        tl_severity_name(row->severity), "effect", effect_name(row->effect), "kind",
        row->kind == TL_CAUSE_SHIP ? "ship" : "picture", "bad_when", why->bad_when, "danger",
        why->why, "needs", why->needs, "from",
        row->from != TL_STATION_UNKNOWN ? json_string(tl_station_kind_name(row->from))
                                        : json_null(),
        "waits", why->waits != NULL ? json_string(why->waits) : json_null(), "acts",
        acts_json(row->acts), "do", why->act, "owes", acts_json(row->owes), "overridable",
        row->overridable, "refuses_clear", row->refuses_clear, "held_on_return", row->transport,
        "basis", row->basis, "ship", ship_json(config, row, why));
}

/* A mistyped name, a part of one or of its short text, or a mistyped word of one. */
static bool
is_near(const char *word, const struct tl_rule_row *row)
{
    const char *name = row->name;
    char part[2 * TL_ID_CAP];
    unsigned edits = strlen(word) > PART_MIN + 1 ? PART_EDITS : 1;
    bool is = tl_edits_between(word, name) <= NAME_EDITS ||
              (strlen(word) >= PART_MIN &&
               (strstr(name, word) != NULL || strstr(row->short_text, word) != NULL));
    for (const char *at = name; !is && *at != '\0'; at += *at == '-' ? 1 : 0) {
        size_t length = strcspn(at, "-");
        (void)snprintf(part, sizeof part, "%.*s", (int)length, at);
        is = length > PART_MIN && tl_edits_between(word, part) <= edits;
        at += length;
    }
    return is;
}

static int
say_unknown(const char *word)
{
    size_t count = 0;
    const struct tl_rule_row *rows = tl_rule_rows(&count);
    const char *before = "; did you mean ";
    (void)fprintf(stderr, "trapline explain: unknown rule '%.32s'", word);
    for (size_t i = 0; i < count; i++) {
        if (is_near(word, &rows[i])) {
            (void)fprintf(stderr, "%s%s", before, rows[i].name);
            before = ", ";
        }
    }
    (void)fprintf(stderr, "%s\n",
                  before[0] == ',' ? "?" : "; trapline explain all prints every rule");
    return TL_EXIT_USAGE;
}

/* One rule, or every rule when `only` is NONE. A row without words is our own fault, and said. */
static int
explain(const struct explain *e, enum tl_rule only)
{
    size_t count = 0;
    size_t said = 0;
    const struct tl_rule_row *rows = tl_rule_rows(&count);
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++) {
        const struct tl_rule_why *why = tl_rule_why((uint32_t)rows[i].rule);
        if (why == NULL || (only != TL_RULE_NONE && rows[i].rule != only)) {
            continue;
        }
        if (e->json) {
            (void)json_array_append_new(list, rule_json(e->config, &rows[i], why));
        } else {
            (void)fprintf(stdout, "%s", said > 0 ? "\n" : "");
            print_rule(e->config, &rows[i], why, stdout);
        }
        said++;
    }
    if (e->json) {
        return tl_json_print(json_pack("{s:o}", "rules", list), stdout) ? TL_EXIT_OK
                                                                        : TL_EXIT_FAILED;
    }
    json_decref(list);
    return fflush(stdout) == 0 && said > 0 ? TL_EXIT_OK : TL_EXIT_FAILED;
}

/* -1 = go on, else an exit code. */
static int
read_arguments(struct explain *e, int argc, char **argv)
{
    static const struct option options[] = {{"json", no_argument, NULL, OPTION_JSON},
                                            {"help", no_argument, NULL, OPTION_HELP},
                                            {NULL, 0, NULL, 0}};
    int c = 0;
    e->dir = getenv("TRAPLINE_CONFIG");
    optind = 1;
    while ((c = getopt_long(argc, argv, "C:", options, NULL)) != -1) {
        switch (c) {
        case 'C':
            e->dir = optarg;
            break;
        case OPTION_JSON:
            e->json = true;
            break;
        case OPTION_HELP:
            (void)fputs(usage, stdout);
            return TL_EXIT_OK;
        default:
            (void)fprintf(stderr, "see trapline explain --help\n");
            return TL_EXIT_USAGE;
        }
    }
    if (optind + 1 != argc) {
        (void)fprintf(stderr, "trapline explain: which rule? give one name, or all\n");
        return TL_EXIT_USAGE;
    }
    e->rule = argv[optind];
    return -1;
}

static int
load(struct explain *e)
{
    struct tl_conf_fault fault;
    if (e->dir == NULL || e->dir[0] == '\0') {
        return TL_EXIT_OK;
    }
    e->config = malloc(sizeof *e->config);
    if (e->config == NULL) {
        (void)fprintf(stderr, "trapline explain: out of memory\n");
        return TL_EXIT_FAILED;
    }
    if (tl_conf_load_unkeyed(e->dir, e->config, &fault) != TL_OK) {
        tl_conf_print_fault(&fault);
        return TL_EXIT_CONFIG;
    }
    return TL_EXIT_OK;
}

int
tl_explain_main(int argc, char **argv)
{
    struct explain e = {0};
    int code = read_arguments(&e, argc, argv);
    if (code >= 0) {
        return code;
    }
    bool all = strcmp(e.rule, "all") == 0;
    enum tl_rule rule = all ? TL_RULE_NONE : tl_rule_by_name(e.rule);
    if (!all && rule == TL_RULE_NONE) {
        return say_unknown(e.rule);
    }
    code = load(&e);
    if (code == TL_EXIT_OK) {
        code = explain(&e, rule);
    }
    free(e.config);
    return code;
}
