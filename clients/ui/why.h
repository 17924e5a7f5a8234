/* SPDX-License-Identifier: Apache-2.0 */
/*
 * why.h - one cause in full: what was reported, what is needed, who said it, how old it is, who acts.
 *
 * Pure. Everything comes from the picture that the verdict stands on; what a picture does not carry
 * is told as not told. When a word came for the first time is one of these: every beat repeats it.
 */
#ifndef TL_UI_WHY_H
#define TL_UI_WHY_H

#include "clients/ui/view.h"

enum tl_why_how {
    TL_WHY_NOT_TOLD = 0,
    TL_WHY_KEYED,   /* a change keyed at the station */
    TL_WHY_SENSOR,  /* read by a sensor of the station */
    TL_WHY_BY_VOICE /* said for the station by others */
};

struct tl_why {
    const struct tl_cause *cause;
    const char *rule;             /* name, "unknown" for one that this program does not know */
    bool last_word;               /* nothing is reported; what follows is the last word instead */
    char reported[TL_TEXT_CAP];   /* "" = not told */
    char needed[TL_TEXT_CAP];     /* a figure of the cause; "" = not told */
    const char *rule_needs;       /* what the rule asks for in words; NULL = not known here */
    char said_by[TL_ID_CAP];      /* "" = not told */
    char confirmed_by[TL_ID_CAP]; /* of what is by voice; "" = nobody yet, or not by voice */
    enum tl_why_how how;
    bool said_known, heard_known;
    uint64_t said_age_ms;  /* since it was keyed or read */
    uint64_t heard_age_ms; /* since the station that said it last gave a fresh answer */
    enum tl_live live;     /* of that station */
    uint32_t acts, owes;   /* bits of tl_config_place */
};

/* `why` keeps `cause`; every field is written. */
void tl_ui_why(const struct tl_ui_state *state, const struct tl_cause *cause, struct tl_why *why);

/* The causes that explain the view, in their order; NULL past the last one. */
const struct tl_cause *tl_ui_cause_at(const struct tl_ui_state *state, uint32_t i);

/* "keyed", "sensor", "voice", "not told"; never NULL. */
const char *tl_ui_how_name(enum tl_why_how how);

/* Name of one bit of tl_rule_row.acts: "engine", "named", ...; NULL past the last one. */
const char *tl_ui_act_name(unsigned bit);
/* "the station that it names, primary"; "nobody". Returns dst. */
const char *tl_ui_acts_text(unsigned acts, char *dst, size_t cap);

/* "  label     text", wrapped to 80 columns. */
void tl_ui_print_wrapped(const char *label, const char *text, FILE *out);

/* The verdict, and each cause in full. */
void tl_ui_print_why(const struct tl_ui_state *state, FILE *out);

#endif
