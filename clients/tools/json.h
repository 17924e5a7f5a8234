/* SPDX-License-Identifier: Apache-2.0 */
/* json.h - the picture, a verdict, an alert as JSON for programs. docs/json.md lists the fields. */
#ifndef TL_TOOLS_JSON_H
#define TL_TOOLS_JSON_H

#include <jansson.h>

#include "clients/ui/view.h"
#include "proto/link/seat.h"

/* New references; NULL when memory is out. Unknown is null or "unknown", never 0. */
json_t *tl_json_picture(struct tl_seat *seat, const struct tl_ui_state *state, uint64_t now_ms);
json_t *tl_json_verdict(const struct tl_view *view, const struct tl_picture *picture);
json_t *tl_json_alert(const struct tl_config *config, const struct tl_alert *alert);

/* One cause; ids of the stations at a set of places. */
json_t *tl_json_cause(const struct tl_cause *cause, struct tl_event event);
json_t *tl_json_places(const struct tl_config *config, uint32_t places);

/* A prediction; null when it is of no event. */
json_t *tl_json_predicted(const struct tl_predicted *predicted);

/* The causes that explain the verdict, each in full, notes too. */
json_t *tl_json_why(const struct tl_ui_state *state);

/* One line on out, keys in their order. Takes the reference; false when it could not be written. */
bool tl_json_print(json_t *object, FILE *out);

#endif
