/* SPDX-License-Identifier: Apache-2.0 */
/* predicted.c - what the mechanics say of the current pass, as lines. See view.h. */
#include <inttypes.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "clients/ui/view.h"

enum {
    WIDTH = 80,
    INDENT = 10,
    TEN = 10,
    KFTLB_A_TENTH = 100, /* thousand ft-lbf in a tenth of a million */
    FIGURE_CAP = 40,
    PARAGRAPH_CAP = 160 * (TL_WOULDS_MAX + 1)
};

struct paragraph {
    size_t used;
    char text[PARAGRAPH_CAP];
};

static void __attribute__((format(printf, 2, 3)))
add(struct paragraph *paragraph, const char *format, ...)
{
    va_list values;
    size_t room = sizeof paragraph->text - paragraph->used;
    va_start(values, format);
    int length = vsnprintf(paragraph->text + paragraph->used, room, format, values);
    va_end(values);
    if (length > 0) {
        paragraph->used += (size_t)length < room ? (size_t)length : room - 1;
    }
}

/* "predicted a b c", folded at blanks, the lines after the first indented. */
static void
print_paragraph(const struct paragraph *paragraph, FILE *out)
{
    int column = fprintf(out, "%-*s", INDENT, "predicted");
    bool first = true;
    for (const char *at = paragraph->text; *at != '\0';) {
        int length = (int)strcspn(at, " ");
        if (!first && column + 1 + length > WIDTH) {
            column = fprintf(out, "\n%*s", INDENT, "") - 1;
            first = true;
        }
        column += fprintf(out, "%s%.*s", first ? "" : " ", length, at);
        first = false;
        at += length;
        at += strspn(at, " ");
    }
    (void)fprintf(out, "\n");
}

/* Rounded to the unfavourable side once more: the energy up, what the engine may take down. */
static void
add_energy(const struct tl_ui_state *state, uint32_t kftlb, struct paragraph *paragraph)
{
    const uint32_t capacity = state->config->computed.capacity_kftlb / KFTLB_A_TENTH;
    const uint32_t tenths = (kftlb + KFTLB_A_TENTH - 1) / KFTLB_A_TENTH;
    add(paragraph, ", energy %" PRIu32 ".%" PRIu32, tenths / TEN, tenths % TEN);
    if (state->config->computed.capacity_kftlb > 0) {
        add(paragraph, " of %" PRIu32 ".%" PRIu32, capacity / TEN, capacity % TEN);
    }
    add(paragraph, " million ft-lbf");
}

static void
add_setting(const struct tl_would *would, struct paragraph *paragraph)
{
    char end[TL_TEXT_CAP];
    char pounds[FIGURE_CAP];
    char load[FIGURE_CAP];
    add(paragraph, "at %s: %s", tl_pounds_text(would->set_lb, pounds, sizeof pounds),
        tl_would_end_text(would, end, sizeof end));
    if (!would->bottoms && !would->parts) {
        add(paragraph, ", ram %" PRIu32 ".%" PRIu32 " in", would->stroke_in_x10 / TEN,
            would->stroke_in_x10 % TEN);
    }
    if (!would->parts) {
        add(paragraph, ", hook load to %s",
            tl_grouped_text(would->hook_lbf, "lbf", load, sizeof load));
    }
}

static void
add_arrest(const struct tl_ui_state *state, struct paragraph *paragraph)
{
    const struct tl_predicted_arrest *arrest = &state->picture->predicted.arrest;
    if (!arrest->known) {
        add(paragraph, "arrest not known");
        return;
    }
    add(paragraph, "engaging %" PRIu32 " kn", (arrest->engaging_kt_x10 + TEN - 1) / TEN);
    add_energy(state, arrest->energy_kftlb, paragraph);
    for (uint32_t i = 0; i < arrest->would_count && i < TL_WOULDS_MAX; i++) {
        add(paragraph, i == 0 ? ", " : "; ");
        add_setting(&arrest->would[i], paragraph);
    }
}

static void
add_ramp(const struct tl_predicted_ramp *ramp, struct paragraph *paragraph)
{
    const int clearance = abs(ramp->clearance_ft_x10);
    const int off = abs(ramp->touchdown_ft_x10);
    if (!ramp->known) {
        add(paragraph, "ramp clearance not known");
        return;
    }
    if (ramp->clearance_ft_x10 < 0) {
        add(paragraph, "hook %d.%d ft BELOW THE RAMP", clearance / TEN, clearance % TEN);
    } else {
        add(paragraph, "ramp clearance %d.%d ft", clearance / TEN, clearance % TEN);
    }
    if (off == 0) {
        add(paragraph, ", touchdown on the aim");
    } else {
        add(paragraph, ", touchdown %d.%d ft %s the aim", off / TEN, off % TEN,
            ramp->touchdown_ft_x10 < 0 ? "short of" : "past");
    }
}

static void
add_wave_off(const struct tl_predicted_time *time, struct paragraph *paragraph)
{
    const uint32_t people = time->wave_off_people_s_x10;
    const uint32_t gear = time->wave_off_gear_s_x10;
    if (!time->known || (people == 0 && gear == 0)) {
        add(paragraph, "; last wave-off not known");
        return;
    }
    add(paragraph, "; last wave-off");
    if (people != 0) {
        add(paragraph, " %" PRIu32 ".%" PRIu32 " s (people)", people / TEN, people % TEN);
    }
    if (gear != 0) {
        add(paragraph, "%s %" PRIu32 ".%" PRIu32 " s (gear)", people != 0 ? " or" : "", gear / TEN,
            gear % TEN);
    }
    add(paragraph, " before touchdown");
}

/* The call counts from when it was said, by the validator's clock; the picture may be a second old. */
bool
tl_ui_ramp_in(const struct tl_ui_state *state, int64_t *seconds_x10)
{
    const struct tl_predicted *predicted =
        state->picture != NULL ? &state->picture->predicted : NULL;
    const struct tl_node *platform = tl_config_station(state->config, TL_STATION_PLATFORM, 0);
    if (predicted == NULL || platform == NULL || !predicted->time.known ||
        !tl_event_equal(predicted->event, state->view->event)) {
        return false;
    }
    const struct tl_datum *call = tl_ui_word(state->picture, platform->id, TL_DATUM_CALL, 0);
    if (call == NULL || !tl_datum_is_for(call, predicted->event)) {
        return false;
    }
    *seconds_x10 = (int64_t)predicted->time.ramp_s_x10 - (int64_t)(call->said_age_ms / 100);
    return true;
}

static void
add_countdown(const struct tl_ui_state *state, struct paragraph *paragraph)
{
    int64_t seconds_x10 = 0;
    if (tl_ui_ramp_in(state, &seconds_x10) && seconds_x10 >= 0) {
        add(paragraph, "ramp in %" PRId64 " s; ", seconds_x10 / TEN);
    }
}

static bool
any_computed_rule_is_on(const struct tl_config *config)
{
    size_t count = 0;
    const struct tl_rule_row *rows = tl_rule_rows(&count);
    for (size_t i = 0; i < count; i++) {
        if (rows[i].computed && !config->ship.rule_off[rows[i].rule]) {
            return true;
        }
    }
    return false;
}

void
tl_ui_print_predicted(const struct tl_ui_state *state, FILE *out)
{
    struct paragraph paragraph = {0};
    if (state->picture == NULL || !tl_event_is(state->view->event)) {
        return;
    }
    if (!tl_event_equal(state->picture->predicted.event, state->view->event)) {
        if (any_computed_rule_is_on(state->config)) {
            add(&paragraph, "not computed yet");
            print_paragraph(&paragraph, out);
        }
        return;
    }
    add_arrest(state, &paragraph);
    print_paragraph(&paragraph, out);
    paragraph = (struct paragraph){0};
    add_countdown(state, &paragraph);
    add_ramp(&state->picture->predicted.ramp, &paragraph);
    add_wave_off(&state->picture->predicted.time, &paragraph);
    print_paragraph(&paragraph, out);
}

/* Figures drift with each reading of the wind; how it ends does not. */
bool
tl_ui_predicts_the_same(const struct tl_predicted *a, const struct tl_predicted *b)
{
    const struct tl_predicted_arrest *x = &a->arrest;
    const struct tl_predicted_arrest *y = &b->arrest;
    if (!tl_event_equal(a->event, b->event) || x->known != y->known ||
        a->ramp.known != b->ramp.known || a->time.known != b->time.known ||
        (a->ramp.clearance_ft_x10 < 0) != (b->ramp.clearance_ft_x10 < 0) ||
        x->would_count != y->would_count) {
        return false;
    }
    for (uint32_t i = 0; i < x->would_count && i < TL_WOULDS_MAX; i++) {
        if (x->would[i].set_lb != y->would[i].set_lb || x->would[i].parts != y->would[i].parts ||
            x->would[i].bottoms != y->would[i].bottoms) {
            return false;
        }
    }
    return true;
}
