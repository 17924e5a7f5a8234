/* SPDX-License-Identifier: Apache-2.0 */
/* json_why.c - causes in full as JSON. What is not told is null. See json.h. */
#include "clients/tools/json.h"
#include "clients/ui/why.h"

static json_t *
text_json(const char *text)
{
    return text != NULL && text[0] != '\0' ? json_string(text) : json_null();
}

static json_t *
age_json(bool known, uint64_t age_ms)
{
    return known ? json_integer((json_int_t)age_ms) : json_null();
}

static json_t *
one_json(const struct tl_ui_state *state, const struct tl_cause *cause)
{
    struct tl_why why;
    tl_ui_why(state, cause, &why);
    json_t *object = tl_json_cause(cause, state->view->event);
    json_t *more = json_pack(
        "{s:o,s:b,s:o,s:o,s:o,s:o,s:s,s:o,s:o,s:n,s:o,s:o}", "reported_text",
        text_json(why.reported), "last_word", why.last_word, "needed_text", text_json(why.needed),
        "rule_needs", text_json(why.rule_needs), "said_by", text_json(why.said_by), "confirmed_by",
        text_json(why.confirmed_by), "how", tl_ui_how_name(why.how), "said_age_ms",
        age_json(why.said_known, why.said_age_ms), "heard_age_ms",
        age_json(why.heard_known, why.heard_age_ms), "first_heard_age_ms", "acts",
        tl_json_places(state->config, why.acts), "owes", tl_json_places(state->config, why.owes));
    if (object != NULL && more != NULL) {
        (void)json_object_update(object, more);
    }
    json_decref(more);
    return object;
}

json_t *
tl_json_why(const struct tl_ui_state *state)
{
    const struct tl_cause *cause = NULL;
    json_t *list = json_array();
    for (uint32_t i = 0; (cause = tl_ui_cause_at(state, i)) != NULL; i++) {
        (void)json_array_append_new(list, one_json(state, cause));
    }
    return list;
}
