/* SPDX-License-Identifier: Apache-2.0 */
/* lines.c - lines about alerts, the gear and the people. See view.h. */
#include <inttypes.h>
#include <string.h>

#include "clients/ui/view.h"

const char *
tl_ui_acknowledged(const struct tl_config *config, const struct tl_alert *alert, char *dst,
                   size_t cap)
{
    char given[TL_TEXT_CAP / 2];
    char waits[TL_TEXT_CAP / 2];
    dst[0] = '\0';
    if (alert->owed == 0) {
        return dst;
    }
    (void)tl_places_text(config, alert->owed & alert->acknowledged, given, sizeof given);
    (void)tl_places_text(config, tl_alert_waits_for(alert), waits, sizeof waits);
    uint32_t unseen = tl_alert_waits_for(alert) & ~alert->delivered;
    int n = snprintf(dst, cap, "%s%s%s%s%s", waits[0] != '\0' ? "not acknowledged: " : "", waits,
                     waits[0] != '\0' && given[0] != '\0' ? "; " : "",
                     given[0] != '\0' ? "acknowledged: " : "", given);
    if (unseen != 0 && n > 0 && (size_t)n < cap) {
        (void)tl_places_text(config, unseen, waits, sizeof waits);
        (void)snprintf(dst + n, cap - (size_t)n, "; not shown yet: %s", waits);
    }
    return dst;
}

const char *
tl_ui_edge(const struct tl_config *config, enum tl_bell_edge edge, const struct tl_belled *entry,
           int place, char *dst, size_t cap)
{
    static const char *const heads[] = {
        [TL_BELL_NONE] = "ALERT",
        [TL_BELL_RAISED] = "ALERT",
        [TL_BELL_AGAIN] = "STILL ALERT",
        [TL_BELL_GRAVER] = "ALERT NOW",
        [TL_BELL_ACKNOWLEDGED] = "alert acknowledged,",
        [TL_BELL_GONE] = "alert gone,",
        [TL_BELL_COMPUTED] = "ALERT computed,",
    };
    const struct tl_alert *alert = &entry->alert;
    char text[TL_TEXT_CAP];
    char waits[TL_TEXT_CAP] = "";
    char number[24] = "";
    bool told = edge == TL_BELL_AGAIN || edge == TL_BELL_GRAVER;
    if (told) {
        (void)tl_places_text(config, tl_alert_waits_for(alert), waits, sizeof waits);
    }
    bool offers = edge != TL_BELL_ACKNOWLEDGED && tl_alert_waits_for_place(alert, place);
    if (offers) {
        (void)snprintf(number, sizeof number, " [ack %" PRIu32 "]", entry->number);
    }
    (void)snprintf(dst, cap, "%s %s: %s%s%s%s", heads[edge], tl_severity_name(alert->severity),
                   tl_cause_text(&alert->cause, alert->event, text, sizeof text),
                   waits[0] != '\0' ? " - not acknowledged by " : "", waits, number);
    return dst;
}

/* Every known word of that station but those that have lines of their own. */
static void
print_station(const struct tl_ui_state *state, enum tl_station_kind kind, FILE *out)
{
    const struct tl_node *node = tl_config_station(state->config, kind, 0);
    const struct tl_station_state *station =
        node != NULL ? tl_ui_station(state->picture, node->id) : NULL;
    char text[TL_TEXT_CAP];
    char spoken[TL_ID_CAP];
    int column = 0;
    for (uint32_t i = 0; station != NULL && i < station->datum_count; i++) {
        const struct tl_datum *datum = &station->data[i];
        if (!datum->known || tl_datum_is_voice(datum) || !tl_datum_is_of_gear(datum->kind)) {
            continue;
        }
        (void)tl_datum_text(datum, text, sizeof text);
        if (column == 0) {
            column = fprintf(out, "%-9s", tl_node_spoken(node->id, spoken, sizeof spoken));
        } else if (column + (int)strlen(text) + 2 > 79) {
            column = fprintf(out, ";\n         ") - 2;
        } else {
            column += fprintf(out, ";");
        }
        column += fprintf(out, " %s", text);
    }
    if (column > 0) {
        (void)fprintf(out, "\n");
    }
}

/* Who is on the way, in the order of side numbers as approach said them. */
void
tl_ui_print_inbound(const struct tl_ui_state *state, FILE *out)
{
    const struct tl_node *node = tl_config_station(state->config, TL_STATION_APPROACH, 0);
    const struct tl_station_state *station =
        node != NULL ? tl_ui_station(state->picture, node->id) : NULL;
    char text[TL_TEXT_CAP];
    for (uint32_t i = 0; station != NULL && i < station->datum_count; i++) {
        const struct tl_datum *datum = &station->data[i];
        if (datum->kind == TL_DATUM_INBOUND && datum->known && !tl_datum_is_voice(datum)) {
            (void)fprintf(out, "approach  %s\n", tl_datum_text(datum, text, sizeof text));
        }
    }
}

void
tl_ui_print_gear(const struct tl_ui_state *state, FILE *out)
{
    static const enum tl_station_kind kinds[] = {TL_STATION_WIRES, TL_STATION_TRACKS,
                                                 TL_STATION_AID, TL_STATION_BARRICADE,
                                                 TL_STATION_GEAR_OFFICER};
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        print_station(state, kinds[i], out);
    }
}

static void
print_voiced(const struct tl_picture *picture, FILE *out)
{
    char text[TL_TEXT_CAP];
    char spoken[TL_ID_CAP];
    for (uint32_t i = 0; i < picture->voiced_count; i++) {
        const struct tl_voiced *voiced = &picture->voiced[i];
        (void)fprintf(out, "BY VOICE  %s: %s (%s, %s%s)\n",
                      tl_node_spoken(voiced->station, spoken, sizeof spoken),
                      tl_datum_text(&voiced->datum, text, sizeof text), voiced->said_by,
                      voiced->confirmed_by[0] != '\0' ? "confirmed by " : "NOT CONFIRMED",
                      voiced->confirmed_by);
    }
}

static void
print_overrides(const struct tl_picture *picture, FILE *out)
{
    char text[TL_TEXT_CAP];
    for (uint32_t i = 0; i < picture->override_count; i++) {
        const struct tl_override_live *live = &picture->override[i];
        struct tl_datum datum = {.kind = TL_DATUM_OVERRIDE, .known = true};
        datum.as.override = live->override;
        (void)fprintf(out, "OVERRIDE  %s (%s, %s%s; %" PRIu32 " s left)\n",
                      tl_datum_text(&datum, text, sizeof text), live->said_by,
                      live->confirmed_by[0] != '\0' ? "confirmed by " : "NOT CONFIRMED",
                      live->confirmed_by, live->left_s);
    }
}

static void
print_watch(const struct tl_picture *picture, FILE *out)
{
    int column = 0;
    for (uint32_t i = 0; i < picture->station_count; i++) {
        const struct tl_station_state *station = &picture->station[i];
        const struct tl_datum *datum =
            tl_data_find_const(station->data, station->datum_count, TL_DATUM_WATCH, 0);
        if (datum == NULL || !datum->known) {
            continue;
        }
        char item[TL_ID_CAP + TL_NAME_CAP + 4];
        int length = snprintf(item, sizeof item, " %s %s;", station->node, datum->as.watch);
        if (column == 0) {
            column = fprintf(out, "watch    ");
        } else if (column + length > 79) {
            column = fprintf(out, "\n         ") - 1;
        }
        column += fprintf(out, "%s", item);
    }
    if (column > 0) {
        (void)fprintf(out, "\n");
    }
}

void
tl_ui_print_people(const struct tl_ui_state *state, FILE *out)
{
    const struct tl_picture *picture = state->picture;
    if (picture == NULL) {
        return;
    }
    if (picture->last_known) {
        struct tl_datum result = {.kind = TL_DATUM_RESULT, .known = picture->last.result_known};
        char text[TL_TEXT_CAP];
        result.as.result = picture->last.result;
        (void)fprintf(out, "last pass event %" PRIu32, picture->last.event.pass);
        if (picture->last.order_known) {
            (void)fprintf(out, ", %" PRIu32 " %s", picture->last.order.side,
                          picture->last.order.type);
        }
        (void)fprintf(out, ": %s\n", tl_datum_text(&result, text, sizeof text));
    }
    print_voiced(picture, out);
    print_overrides(picture, out);
    print_watch(picture, out);
}
