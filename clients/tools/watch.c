/* SPDX-License-Identifier: Apache-2.0 */
/* watch.c - every verdict and alert, a line each. See show.h. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/tools/json.h"
#include "clients/tools/look.h"
#include "clients/tools/show.h"
#include "clients/ui/sound.h"
#include "clients/ui/why.h"
#include "proto/base/clock.h"

enum {
    TROUBLE_MS = 1500
};

static const char usage[] =
    "usage: trapline watch [-C DIR] [--as NODE] [--why] [--json]\n"
    "                      [--for SECONDS] [--on-alert COMMAND] [--lamp LINE[@BAUD]]\n"
    "\n"
    "Print every change of the verdict and every alert, a line each, until interrupted.\n"
    "\n"
    "  -C DIR         configuration folder (else $TRAPLINE_CONFIG)\n"
    "  --as NODE      which viewer of stations.yaml this is\n"
    "  --why          with each verdict every cause in full, as show --why says it\n"
    "  --json         one JSON object a line; docs/json.md lists the fields\n"
    "  --for SECONDS  stop after that time\n"
    "  --on-alert COMMAND  run that program for each alert: COMMAND raised|again|\n"
    "                 acknowledged|gone SEVERITY RULE STATION TEXT; no shell, at most 10 s each\n"
    "  --lamp LINE[@BAUD]  say the verdict each 250 ms, and each alert, as lines to that serial\n"
    "                 line or FIFO; docs/lamp.md has their form\n"
    "  --help         this text\n"
    "\n"
    "SIGHUP reads keys.yaml again. Exit, by the last state: 0 READY, 1 NOT READY, 3 no\n"
    "verdict heard, 64 usage, 78 configuration.\n";

struct watch {
    struct tl_look look;
    bool ever;
    enum tl_word word;
    struct tl_cause first;
    uint32_t cause_count;
    uint64_t picture;
    struct tl_event event;
    struct tl_predicted predicted; /* as last told */
    struct tl_bell bell;
    enum tl_bus_state bus[TL_BUSES_MAX];
    uint64_t trouble_since_ms;
    bool trouble_said;
    bool broken; /* output is gone */
    struct tl_hook hook;
    struct tl_lamp lamp;
};

static void
say(struct watch *watch, const char *text)
{
    if (printf("%s\n", text) < 0 || fflush(stdout) != 0) {
        watch->broken = true;
    }
}

static void
say_json(struct watch *watch, json_t *object)
{
    if (!tl_json_print(object, stdout)) {
        watch->broken = true;
    }
}

static uint32_t
count_causes(const struct tl_ui_state *state)
{
    return state->picture != NULL && state->view->from_known ? state->picture->cause_count : 0;
}

static void
watch_verdict(struct watch *watch, const struct tl_ui_state *state)
{
    const struct tl_view *view = state->view;
    char text[TL_TEXT_CAP + 32];
    bool same = watch->ever && watch->word == view->word && watch->first.rule == view->first.rule &&
                watch->first.state == view->first.state &&
                strncmp(watch->first.station, view->first.station, TL_ID_CAP) == 0 &&
                tl_event_equal(watch->event, view->event);
    /* The list of causes comes with the picture, a moment after its verdict. */
    bool more = (watch->look.json || watch->look.why) && !state->picture_old &&
                count_causes(state) != watch->cause_count;
    if (same && !more) {
        return;
    }
    watch->ever = true;
    watch->word = view->word;
    watch->first = view->first;
    watch->event = view->event;
    watch->cause_count = count_causes(state);
    if (watch->look.json) {
        json_t *verdict = tl_json_verdict(view, state->picture_old ? NULL : state->picture);
        if (watch->look.why && verdict != NULL) {
            (void)json_object_set_new(verdict, "why", tl_json_why(state));
        }
        say_json(watch, verdict);
    } else if (watch->look.why) {
        tl_ui_print_why(state, stdout);
        watch->broken = watch->broken || fflush(stdout) != 0;
    } else {
        say(watch, tl_ui_verdict(view, text, sizeof text));
    }
}

/* Told again when another end is to be expected, not when a figure drifts. */
static void
watch_predicted(struct watch *watch, const struct tl_ui_state *state)
{
    const struct tl_picture *picture = state->picture;
    if (watch->look.json || picture == NULL || state->picture_old ||
        !tl_event_equal(picture->predicted.event, state->view->event) ||
        tl_ui_predicts_the_same(&watch->predicted, &picture->predicted)) {
        return;
    }
    watch->predicted = picture->predicted;
    tl_ui_print_predicted(state, stdout);
    watch->broken = watch->broken || fflush(stdout) != 0;
}

static void
say_hook(void *ctx, const char *line)
{
    (void)ctx;
    (void)fprintf(stderr, "trapline watch: %s\n", line);
}

static void
say_alert(void *ctx, enum tl_bell_edge edge, const struct tl_belled *entry)
{
    static const char *const kinds[] = {
        [TL_BELL_NONE] = "alert",
        [TL_BELL_RAISED] = "alert",
        [TL_BELL_AGAIN] = "alert-again",
        [TL_BELL_GRAVER] = "alert-graver",
        [TL_BELL_ACKNOWLEDGED] = "alert-acknowledged",
        [TL_BELL_GONE] = "alert-gone",
        [TL_BELL_COMPUTED] = "alert-computed",
    };
    struct watch *watch = ctx;
    char line[TL_UI_LINE_CAP];
    tl_ui_sound(&watch->hook, edge, &entry->alert, tl_clock_boot_ms());
    tl_ui_signal(&watch->lamp, edge, &entry->alert);
    if (watch->look.json) {
        json_t *object = tl_json_alert(&watch->look.seat->join.config, &entry->alert);
        if (object != NULL) {
            (void)json_object_set_new(object, "kind", json_string(kinds[edge]));
        }
        say_json(watch, object);
        return;
    }
    say(watch, tl_ui_edge(&watch->look.seat->join.config, edge, entry, -1, line, sizeof line));
}

/* With no fresh validator the alerts are not gone, only not heard. */
static void
watch_alerts(struct watch *watch, const struct tl_ui_state *state, uint64_t now_ms)
{
    if (state->view->any_verdict) {
        tl_bell_take(&watch->bell, state->alert, state->alert_count, now_ms);
    }
}

static void
say_link(struct watch *watch, const char *id, const char *text)
{
    char line[TL_REKEY_CAP + TL_ID_CAP + 4];
    if (watch->look.json) {
        say_json(watch, json_pack("{s:s,s:s,s:s}", "kind", "link", "id", id, "text", text));
        return;
    }
    (void)snprintf(line, sizeof line, "%s: %s", id, text);
    say(watch, line);
}

static void
watch_keys(struct watch *watch)
{
    const char *news = tl_seat_news(watch->look.seat);
    if (news != NULL) {
        say_link(watch, "here", news);
    }
}

static void
watch_links(struct watch *watch, uint64_t now_ms)
{
    struct tl_seat *seat = watch->look.seat;
    char text[TL_TEXT_CAP];
    for (uint32_t i = 0; i < tl_link_bus_count(seat->join.link); i++) {
        const struct tl_bus_health *bus = tl_link_bus(seat->join.link, i);
        if (bus->state != watch->bus[i] && bus->state != TL_BUS_CONNECTING) {
            bool first_up = watch->bus[i] == TL_BUS_UNKNOWN && bus->state == TL_BUS_UP;
            watch->bus[i] = bus->state;
            if (!first_up) {
                say_link(watch, bus->id, tl_bus_state_text(bus->state));
            }
        }
    }
    bool trouble = tl_seat_trouble(seat, now_ms, text, sizeof text);
    if (!trouble) {
        watch->trouble_since_ms = 0;
        watch->trouble_said = false;
        return;
    }
    if (watch->trouble_since_ms == 0) {
        watch->trouble_since_ms = now_ms;
    }
    if (!watch->trouble_said && now_ms - watch->trouble_since_ms >= TROUBLE_MS) {
        watch->trouble_said = true;
        say_link(watch, "here", text);
    }
}

/* With the time of the view: a READY that was seen then is said as of then. */
static void
tend_lamp(struct watch *watch, const struct tl_view *view, uint64_t now_ms)
{
    bool ready = view->word == TL_WORD_READY;
    const struct tl_rule_row *row = ready ? NULL : tl_rule_row(view->first.rule);
    struct tl_lamp_state state = {.ready = ready,
                                  .drill = view->drill,
                                  .rule = row != NULL ? row->name : "",
                                  .station = ready ? "" : view->first.station};
    tl_lamp_tend(&watch->lamp, &state, now_ms);
}

static int
run(struct watch *watch)
{
    struct tl_alert alerts[TL_ALERTS_MAX];
    struct tl_view view = {0};
    struct tl_ui_state state;
    uint64_t now_ms = tl_clock_boot_ms();
    uint64_t until_ms = watch->look.limit_ms > 0 ? now_ms + watch->look.limit_ms : UINT64_MAX;
    while (!watch->look.seat->ended && !watch->broken && now_ms < until_ms) {
        now_ms = tl_seat_turn(watch->look.seat, NULL, 0, 50);
        tl_look_state(&watch->look, now_ms, &view, alerts, &state);
        if (view.any_verdict || watch->ever) {
            watch_verdict(watch, &state);
            watch_predicted(watch, &state);
            watch_alerts(watch, &state, now_ms);
        }
        watch_links(watch, now_ms);
        watch_keys(watch);
        tl_hook_tend(&watch->hook, tl_clock_boot_ms());
        tend_lamp(watch, &view, now_ms);
    }
    if (!view.any_verdict) {
        return TL_EXIT_UNANSWERED;
    }
    return view.word == TL_WORD_READY ? 0 : 1;
}

/* A sounder that cannot sound is better known before the first alarm. */
static int
open_hook(struct watch *watch)
{
    const char *command = watch->look.on_alert;
    enum tl_err err = command != NULL ? tl_hook_check(command) : TL_OK;
    if (err != TL_OK) {
        (void)fprintf(stderr, "trapline watch: --on-alert %.*s: %s\n", TL_PATH_CAP, command,
                      err == TL_BADARG ? "not a program" : tl_err_text(err));
        return TL_EXIT_USAGE;
    }
    char why[TL_LAMP_WHY_CAP];
    if (tl_lamp_init(&watch->lamp, watch->look.lamp, why) != TL_OK) {
        (void)fprintf(stderr, "trapline watch: %s\n", why);
        return TL_EXIT_USAGE;
    }
    watch->lamp.say = say_hook;
    tl_bell_init(&watch->bell, -1, say_alert, watch);
    tl_hook_init(&watch->hook, command);
    watch->hook.say = say_hook;
    return TL_EXIT_OK;
}

int
tl_watch_main(int argc, char **argv)
{
    struct watch *watch = calloc(1, sizeof *watch);
    if (watch == NULL) {
        return TL_EXIT_FAILED;
    }
    watch->look.command = "watch";
    int code = tl_look_arguments(&watch->look, argc, argv, usage);
    if (code < 0) {
        code = open_hook(watch);
        code = code == TL_EXIT_OK ? tl_look_open(&watch->look) : code;
        code = code == TL_EXIT_OK ? run(watch) : code;
    }
    tl_hook_close(&watch->hook);
    tl_lamp_close(&watch->lamp, tl_clock_boot_ms());
    tl_look_close(&watch->look);
    free(watch);
    return code;
}
