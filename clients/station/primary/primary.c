/* SPDX-License-Identifier: Apache-2.0 */
/*
 * primary.c - primary flight control: opens the recovery, orders who is next, reads the repeaters.
 *
 * Pass numbers rise and are never used again in a recovery: the next one is above all that this
 * process gave out and above all that the picture has heard.
 */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "clients/station/command.h"

/* That order as it was said here; a pass below the highest one is not listed any more. */
static bool
shows_order(const struct tl_asking *asking, const struct tl_datum *said)
{
    const struct tl_listed *listed = tl_listed_pass(asking, said->slot);
    struct tl_datum shown = *said;
    if (listed == NULL) {
        return said->slot <= asking->picture->highest_pass;
    }
    shown.as.order = listed->order;
    return listed->ended || (listed->order_known && tl_datum_same_value(&shown, said));
}

/* The picture may be a moment behind the words of this station: no order is reckoned from it. */
static bool
shows_own_orders(const struct tl_asking *asking)
{
    const struct tl_outbox *box = &asking->member->outbox;
    for (uint32_t i = 0; i < box->own_count; i++) {
        const struct tl_own *own = &box->own[i];
        bool just_said = own->datum.kind == TL_DATUM_ORDER && own->datum.known &&
                         asking->now_ms < own->said_ms + TL_SAID_MAX_MS &&
                         own->datum.stated_for[0].recovery_ms == asking->picture->recovery_ms;
        if (just_said && !shows_order(asking, &own->datum)) {
            return false;
        }
    }
    return true;
}

static bool
has_list(struct tl_asking *asking)
{
    const struct tl_own *own = tl_outbox_own(&asking->member->outbox, TL_DATUM_RECOVERY, 0);
    const struct tl_recovery *said = own != NULL ? &own->datum.as.recovery : NULL;
    if (said != NULL && said->state == TL_RECOVERY_CLOSED) {
        tl_command_fail(asking, "the recovery is closed: 'open' a new one");
        return false;
    }
    if (asking->picture == NULL || !asking->picture->open || own == NULL || !own->datum.known) {
        tl_command_fail_now(asking,
                            "no recovery is open here: 'open', or 'resume' after a restart");
        return false;
    }
    if (said->recovery_ms != asking->picture->recovery_ms) {
        tl_command_fail_now(asking, "the validators do not show the recovery that was opened here");
        return false;
    }
    if (!shows_own_orders(asking)) {
        tl_command_fail_now(asking, "the validators do not show yet what was ordered here just "
                                    "now; say it again");
        return false;
    }
    return true;
}

static void
verb_open(struct tl_asking *asking)
{
    bool drill = asking->argc == 1 && strcmp(asking->argv[0], "drill") == 0;
    if (asking->argc > 1 || (asking->argc == 1 && !drill)) {
        tl_command_syntax(asking, "open");
        return;
    }
    const struct tl_own *own = tl_outbox_own(&asking->member->outbox, TL_DATUM_RECOVERY, 0);
    uint64_t above = asking->picture != NULL ? asking->picture->highest_recovery_ms + 1 : 1;
    if (own != NULL && own->datum.known && own->datum.as.recovery.recovery_ms >= above) {
        above = own->datum.as.recovery.recovery_ms + 1;
    }
    struct tl_datum *datum = tl_command_add(asking, TL_DATUM_RECOVERY, 0);
    datum->as.recovery.recovery_ms = asking->wall_ms > above ? asking->wall_ms : above;
    datum->as.recovery.state = TL_RECOVERY_OPEN;
    datum->as.recovery.drill = drill;
    asking->out->forget_list = true;
    tl_command_finish(asking);
}

static void
verb_close(struct tl_asking *asking)
{
    const struct tl_own *own = tl_outbox_own(&asking->member->outbox, TL_DATUM_RECOVERY, 0);
    if (own == NULL || !own->datum.known) {
        tl_command_fail(asking, "no recovery is open here");
        return;
    }
    struct tl_recovery recovery = own->datum.as.recovery;
    struct tl_datum *datum = tl_command_add(asking, TL_DATUM_RECOVERY, 0);
    datum->as.recovery = recovery;
    datum->as.recovery.state = TL_RECOVERY_CLOSED;
    tl_command_finish(asking);
}

static int32_t
place_at(const struct tl_asking *asking, bool front)
{
    int32_t place = 0;
    for (uint32_t i = 0; i < asking->picture->list_count; i++) {
        int32_t at = asking->picture->list[i].order.place;
        place = (front ? at < place : at > place) ? at : place;
    }
    return front ? place - 1 : place + 1;
}

static uint32_t
next_pass(const struct tl_asking *asking)
{
    uint32_t seen = asking->picture->highest_pass;
    return (seen > asking->highest_pass ? seen : asking->highest_pass) + 1;
}

/* A word on what does not fit, so that the read-back is not waved through. */
static void
warn_of_order(struct tl_asking *asking, const struct tl_order *order)
{
    const struct tl_aircraft_type *type = tl_config_type(asking->config, order->type);
    uint32_t needed_lb = 0;
    char pounds[32];
    size_t used = strlen(asking->out->text);
    char *at = asking->out->text + used;
    size_t cap = sizeof asking->out->text - used;
    if (type == NULL) {
        (void)snprintf(at, cap, " - TYPE NOT IN THE TABLE");
        return;
    }
    needed_lb = order->barricade ? type->barricade_setting_lb : type->setting_lb;
    if (needed_lb == 0) {
        (void)snprintf(at, cap, " - THE TABLE HAS NO BARRICADE SETTING FOR %s", order->type);
    } else if (order->weight_lb + type->setting_tolerance_lb < needed_lb ||
               order->weight_lb > needed_lb + type->setting_tolerance_lb) {
        (void)snprintf(at, cap, " - THE TABLE SAYS %s FOR %s%s",
                       tl_pounds_text(needed_lb, pounds, sizeof pounds), order->type,
                       order->barricade ? " INTO THE BARRICADE" : "");
    }
}

/*
 * An event whose order was taken back or refused keeps its place, and nobody knows whose it is: the
 * next order completes it. Else it would be current for ever and hold up the list.
 */
static const struct tl_listed *
incomplete_event(const struct tl_asking *asking)
{
    for (uint32_t i = 0; i < asking->picture->list_count; i++) {
        const struct tl_listed *listed = &asking->picture->list[i];
        if (!listed->ended && !listed->order_known) {
            return listed;
        }
    }
    return NULL;
}

/* Where a listed event stands; one without words stands behind its forerunner on the list. */
static int32_t
place_of(const struct tl_asking *asking, const struct tl_listed *listed)
{
    const struct tl_listed *first = asking->picture->list;
    if (listed->order_known) {
        return listed->order.place;
    }
    return listed > first && (listed - 1)->order_known ? (listed - 1)->order.place
                                                       : place_at(asking, true);
}

static void
say_order(struct tl_asking *asking, const struct tl_order *order, const struct tl_listed *listed)
{
    struct tl_event event = {asking->picture->recovery_ms,
                             listed != NULL ? listed->event.pass : next_pass(asking)};
    struct tl_datum *datum = tl_command_add(asking, TL_DATUM_ORDER, event.pass);
    datum->as.order = *order;
    datum->as.order.place = listed != NULL ? place_of(asking, listed) : place_at(asking, false);
    datum->as.order.state = TL_ORDER_ORDERED;
    datum->stated_for[datum->stated_for_count++] = event;
    tl_command_finish(asking);
    warn_of_order(asking, order);
}

/* A new aircraft at the end of the list, or a correction of the one that is on it. */
static void
verb_order(struct tl_asking *asking)
{
    struct tl_order order = {0};
    order.barricade = asking->argc == 4 && strcmp(asking->argv[3], "barricade") == 0;
    if (asking->argc != 3 && !order.barricade) {
        tl_command_syntax(asking, "order");
        return;
    }
    if (!tl_ask_side(asking, asking->argv[0], &order.side) ||
        !tl_ask_type(asking, asking->argv[1], order.type) ||
        !tl_ask_weight(asking, asking->argv[2], &order.weight_lb) || !has_list(asking)) {
        return;
    }
    const struct tl_listed *listed = tl_listed_side(asking, order.side);
    listed = listed != NULL ? listed : incomplete_event(asking);
    if (listed == NULL && asking->picture->list_count >= TL_LIST_MAX) {
        tl_command_fail(asking, "the list is full: %d events", TL_LIST_MAX);
        return;
    }
    say_order(asking, &order, listed);
}

/* The one key after a bolter or a wave-off. */
static void
verb_again(struct tl_asking *asking)
{
    uint32_t side = 0;
    if (asking->argc > 1 || (asking->argc == 1 && !tl_ask_side(asking, asking->argv[0], &side))) {
        if (asking->argc > 1) {
            tl_command_syntax(asking, "again");
        }
        return;
    }
    if (!has_list(asking)) {
        return;
    }
    for (uint32_t i = asking->again_count; i > 0; i--) {
        const struct tl_again *again = &asking->again[i - 1];
        if ((side == 0 || again->side == side) && tl_listed_side(asking, again->side) == NULL) {
            struct tl_order order = {.side = again->side, .weight_lb = again->weight_lb};
            memcpy(order.type, again->type, TL_TYPE_CAP);
            say_order(asking, &order, NULL);
            return;
        }
    }
    tl_command_fail_now(asking, "no aircraft with a bolter or wave-off waits for a new order");
}

/* The first that waits behind the current one: re-ordering takes two keys, this and the confirm. */
static const struct tl_listed *
after_current(const struct tl_asking *asking)
{
    for (uint32_t i = 0; i < asking->picture->list_count; i++) {
        const struct tl_listed *listed = &asking->picture->list[i];
        if (listed->order_known && tl_listed_is_open(listed) &&
            !tl_event_equal(listed->event, asking->view->event)) {
            return listed;
        }
    }
    return NULL;
}

/* Restate a listed order with another place or state. */
static void
restate(struct tl_asking *asking, const char *verb, bool take)
{
    uint32_t side = 0;
    bool second = take && asking->argc == 0;
    if (asking->argc != 1 && !second) {
        tl_command_syntax(asking, verb);
        return;
    }
    if ((!second && !tl_ask_side(asking, asking->argv[0], &side)) || !has_list(asking)) {
        return;
    }
    const struct tl_listed *listed = second ? after_current(asking) : tl_listed_side(asking, side);
    if (listed == NULL && second) {
        tl_command_fail_now(asking, "no other aircraft waits on the list");
        return;
    }
    if (listed == NULL) {
        tl_command_fail_now(asking, "%" PRIu32 " is not waiting on the list", side);
        return;
    }
    struct tl_datum *datum = tl_command_add(asking, TL_DATUM_ORDER, listed->event.pass);
    datum->as.order = listed->order;
    datum->stated_for[datum->stated_for_count++] = listed->event;
    if (take) {
        datum->as.order.place = place_at(asking, true);
    } else {
        datum->as.order.state = TL_ORDER_CANCELLED;
    }
    tl_command_finish(asking);
}

static void
verb_take(struct tl_asking *asking)
{
    restate(asking, "take", true);
}

static void
verb_cancel(struct tl_asking *asking)
{
    restate(asking, "cancel", false);
}

static void
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): as it is said: engine, weight */
add_repeater(struct tl_asking *asking, uint32_t unit, uint32_t weight_lb, struct tl_event event)
{
    struct tl_datum *datum = tl_command_add(asking, TL_DATUM_REPEATER, unit);
    datum->as.repeater_lb = weight_lb;
    tl_state_for(asking, datum, event);
}

/* In use, as far as its room has said. */
static bool
is_read(const struct tl_asking *asking, const struct tl_engine_gear *engine)
{
    const struct tl_node *room = tl_config_station(asking->config, TL_STATION_ENGINE, engine->unit);
    const struct tl_datum *service =
        room != NULL ? tl_pictured(asking, room->id, TL_DATUM_SERVICE, 0) : NULL;
    return engine->in_service && (service == NULL || service->as.service.state != TL_SERVICE_OUT);
}

static void
verb_repeaters(struct tl_asking *asking)
{
    const struct tl_gear *gear = &asking->config->gear;
    struct tl_event event = {0};
    uint32_t weight_lb = 0;
    if (!tl_ask_event(asking, &event)) {
        return;
    }
    if (asking->argc != 1) {
        tl_command_syntax(asking, "repeaters");
        return;
    }
    if (!tl_ask_weight(asking, asking->argv[0], &weight_lb)) {
        return;
    }
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        if (is_read(asking, &gear->engine[i])) {
            add_repeater(asking, gear->engine[i].unit, weight_lb, event);
        }
    }
    char pounds[32];
    tl_command_finish(asking);
    (void)snprintf(asking->out->text, sizeof asking->out->text,
                   "primary: all %" PRIu32 " repeaters read %s for event %" PRIu32,
                   asking->out->count, tl_pounds_text(weight_lb, pounds, sizeof pounds),
                   event.pass);
}

static void
verb_repeater(struct tl_asking *asking)
{
    struct tl_event event = {0};
    uint32_t unit = 0;
    uint32_t weight_lb = 0;
    if (!tl_ask_event(asking, &event)) {
        return;
    }
    if (asking->argc != 2) {
        tl_command_syntax(asking, "repeater");
        return;
    }
    if (!tl_ask_number(asking, asking->argv[0], "engine", 1, TL_ENGINES_MAX, &unit) ||
        !tl_ask_weight(asking, asking->argv[1], &weight_lb)) {
        return;
    }
    if (tl_config_engine(asking->config, unit) == NULL) {
        tl_command_fail(asking, "there is no engine %" PRIu32, unit);
        return;
    }
    add_repeater(asking, unit, weight_lb, event);
    tl_command_finish(asking);
}

/* After a restart: the list as the validators keep it, orders first, then the recovery. */
static void
verb_resume(struct tl_asking *asking)
{
    const struct tl_picture *picture = asking->picture;
    if (asking->argc != 0) {
        tl_command_syntax(asking, "resume");
        return;
    }
    if (picture == NULL || !picture->list_heard || !asking->pictures_agree) {
        tl_command_fail_now(asking,
                            "no picture with a list, or two that differ: only 'open' is left");
        return;
    }
    if (!picture->open) {
        tl_command_fail(asking, "the recovery is closed: 'open' a new one");
        return;
    }
    uint32_t waiting = 0;
    for (uint32_t i = 0; i < picture->list_count; i++) {
        const struct tl_listed *listed = &picture->list[i];
        if (listed->ended || !listed->order_known) {
            continue;
        }
        struct tl_datum *datum = tl_command_add(asking, TL_DATUM_ORDER, listed->event.pass);
        datum->as.order = listed->order;
        datum->stated_for[datum->stated_for_count++] = listed->event;
        waiting++;
    }
    struct tl_datum *datum = tl_command_add(asking, TL_DATUM_RECOVERY, 0);
    datum->as.recovery.recovery_ms = picture->recovery_ms;
    datum->as.recovery.state = TL_RECOVERY_OPEN;
    datum->as.recovery.drill = picture->drill;
    tl_command_finish(asking);
    (void)snprintf(asking->out->text, sizeof asking->out->text,
                   "primary: resume the recovery with %" PRIu32 " aircraft waiting", waiting);
}

static const struct tl_verb verbs[] = {
    {"open", "open [drill]", "open a recovery; voids every event before it", verb_open},
    {"resume", "resume", "after a restart: take the list from the picture", verb_resume},
    {"close", "close", "close the recovery", verb_close},
    {"order", "order SIDE TYPE WEIGHT [barricade]",
     "an aircraft at the end of the list; or a correction, or what an incomplete event lacks",
     verb_order},
    {"again", "again [SIDE]", "order it again after a bolter or wave-off", verb_again},
    {"take", "take [SIDE]", "that aircraft comes next; without a number, the one behind the first",
     verb_take},
    {"cancel", "cancel SIDE", "that aircraft does not come", verb_cancel},
    {"repeaters", "repeaters WEIGHT [for EVENT]", "all repeaters read that weight", verb_repeaters},
    {"repeater", "repeater ENGINE WEIGHT [for EVENT]", "one repeater reads that weight",
     verb_repeater},
    {"foul", "foul [person|aircraft|equipment|wire|other] [SECONDS]",
     "the deck is foul as seen from here, now", tl_verb_foul},
    {"stop", "stop", "STOP, now, whatever the deck is", tl_verb_stop},
    {"no-foul", "no foul", "no stop and no foul as seen from here", tl_verb_no_foul},
    {"withdraw", "withdraw repeater ENGINE | withdraw deck", "makes that word unknown",
     tl_verb_withdraw},
};

const struct tl_room tl_room_primary = {TL_STATION_PRIMARY, verbs, sizeof verbs / sizeof verbs[0]};
