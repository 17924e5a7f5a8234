/* SPDX-License-Identifier: Apache-2.0 */
/*
 * session.h - the shared loop of every station in line mode.
 *
 * One line of input, one command. What is heard is said in lines too: verdict changes, alerts
 * raised and gone, what became of each own word, trouble on the way. A command toward READY is
 * read back, and waits 5 s for the word `confirm`; whatever else is typed cancels it.
 */
#ifndef TL_STATION_SESSION_H
#define TL_STATION_SESSION_H

#include <stdio.h>

#include "clients/station/command.h"
#include "clients/station/dials.h"
#include "clients/station/local.h"
#include "clients/station/tally.h"
#include "clients/ui/sound.h"
#include "proto/link/seat.h"
#include "proto/metrics/writer.h"

enum {
    TL_CONFIRM_MS = 5000,
    TL_HELD_MS = 1000,
    TL_WAITS_MAX = 16,
    TL_INPUT_CAP = 4096,
    TL_AGAIN_MAX = TL_LIST_MAX,
    TL_PEOPLE_CAP = 2048
};

/* A command whose outcome somebody waits for: a `--do` client, or the line mode itself. */
struct tl_wait {
    bool used;
    int client;     /* index in local.client, -1 = this terminal */
    uint64_t first; /* sequences said, inclusive */
    uint64_t last;
    uint64_t said_ms;
    bool refused;
    bool safeward;
    bool counts; /* for the exit code: the command of --join --do */
    char text[TL_READBACK_CAP];
};

/* A command that came a moment before the news that it needs: tried again until then. */
struct tl_held_request {
    bool used;
    bool confirm;
    int client;
    uint64_t until_ms;
    char line[TL_LINE_MAX];
};

struct tl_bridge; /* clients/station/bridge/bridge.h */
struct tl_pane;   /* pane.h */

struct tl_session {
    struct tl_seat seat;
    struct tl_local local;
    struct tl_bridge *bridge;  /* the bridge station only */
    struct tl_dials dials;     /* --feed */
    struct tl_tallies tallies; /* the gear officer only */
    FILE *out;
    struct tl_pane *pane; /* the whole terminal; NULL = line mode */
    bool telling_news;    /* what is printed now stands in a page already */
    /* input */
    char input[TL_INPUT_CAP];
    size_t input_used;
    bool input_ended;
    bool input_skipping; /* the rest of a line that was too long */
    bool pending;        /* a command waits for its confirm */
    struct tl_command command;
    uint64_t pending_until_ms;
    struct tl_wait wait[TL_WAITS_MAX];
    struct tl_held_request held[TL_LOCAL_CLIENTS + 1]; /* and this terminal */
    bool joining;  /* the command of `--join --do` is being taken */
    int exit_code; /* of that command */
    /* what was last said */
    enum tl_word shown_word;
    uint32_t shown_rule;
    char shown_station[TL_ID_CAP];
    enum tl_cause_state shown_state;
    struct tl_bell bell;
    struct tl_hook hook;
    struct tl_metrics *metrics;   /* NULL = no page is wanted */
    struct tl_event shown_result; /* the pass whose end was told last */
    struct tl_result shown_ended;
    char shown_groove[TL_TEXT_CAP]; /* platform: without the seconds */
    char shown_people[TL_PEOPLE_CAP];
    char shown_inbound[TL_PEOPLE_CAP]; /* primary and platform */
    uint64_t start_ms;
    bool trouble_said;
    char trouble_text[TL_READBACK_CAP + 256];
    bool bus_told_down[TL_BUSES_MAX];
    uint64_t bus_since_ms[TL_BUSES_MAX]; /* when it was last up; 0 = not looked at */
    uint64_t trouble_since_ms;
    uint64_t higher_said;
    /* primary */
    uint32_t highest_pass;
    uint32_t again_count;
    struct tl_again again[TL_AGAIN_MAX];
    struct tl_event again_seen[TL_AGAIN_MAX];
    uint32_t again_next;
    bool results_restored; /* platform, after a start */
    bool stay;             /* go on after the end of input */
};

/* Take one command line from this terminal (client -1) or a local client. */
void tl_session_line(struct tl_session *session, const char *line, bool confirm, int client);

/* typed.c: take what is typed at this terminal, and answer first what waits for news. */
void tl_session_read_input(struct tl_session *session);
/* Whether more has been typed than was read back so far: nobody can have seen that read-back. */
bool tl_session_typed_ahead(const struct tl_session *session);

/* held.c: a request that waits for news, at most TL_HELD_MS. */
/* True when it waits; false when it has waited long enough, or there is no place. */
bool tl_session_hold(struct tl_session *session, const char *line, bool confirm, int client);
bool tl_session_holds(struct tl_session *session, int client);
void tl_session_forget_held(struct tl_session *session, int client);
/* Ask them all again. */
void tl_session_try_held(struct tl_session *session);
/* The next line is here, and it may be a FOUL: what waits at this terminal is answered as it stands. */
void tl_session_end_hold(struct tl_session *session);
/*
 * Who has hung up is told nothing more, and what waited for it is not done: its place may be another
 * shell's from the next accept on. What it had said already is told at this terminal.
 */
void tl_session_leave_gone(struct tl_session *session);

/*
 * Until a signal or, unless `stay` is set, the end of input and of what is waited for. Returns an
 * exit code.
 */
int tl_session_run(struct tl_session *session);

/* Upkeep of own lists: ended orders, told results, aircraft for `again`. */
void tl_session_upkeep(struct tl_session *session, uint64_t now_ms);

/* Primary opens a recovery: every order of the one before leaves the beat. */
void tl_session_forget_list(struct tl_session *session);

/* Once, after the seat is open: from then on alerts are told here. */
void tl_session_listen(struct tl_session *session);
/* Lines about what changed since the last turn. */
void tl_session_report(struct tl_session *session, uint64_t now_ms);
/* READY must not be the last word of a screen that tells nothing any more. */
void tl_session_report_end(struct tl_session *session);
/* The groove line of the platform. Returns dst. */
const char *tl_session_groove(struct tl_session *session, char *dst, size_t cap, char *steady,
                              size_t steady_cap);
void tl_session_outcomes(struct tl_session *session, uint64_t now_ms);
void tl_session_status(struct tl_session *session, FILE *out);
/* What this station has said, and how far each word has come. */
void tl_session_mine(struct tl_session *session, int client);
/* The newest of them in one line; "" when nothing was said. */
void tl_session_last_way(const struct tl_session *session, char *dst, size_t cap);
/* The alerts with their numbers, and who has not acknowledged. */
void tl_session_alerts(struct tl_session *session, int client);

/* The counts of pendants and cables, as they are kept here and as the record has them. */
void tl_session_wear(struct tl_session *session, int client);

void tl_session_say_line(struct tl_session *session, int client, const char *text);

/* Fill what verbs may look at. */
void tl_session_asking(struct tl_session *session, struct tl_view *view, struct tl_asking *asking);

#endif
