/* SPDX-License-Identifier: Apache-2.0 */
/* refusal.c - names and sentences of the reasons for a refusal. See message.h. */
#include <stddef.h>

#include "proto/vocab/message.h"

struct refusal_words {
    enum tl_refusal reason;
    const char *name;
    const char *text;
};

static const struct refusal_words WORDS[] = {
    {TL_REFUSAL_UNKNOWN, "unknown", "reason not known"},
    {TL_REFUSAL_FRAMES, "frames", "not exactly one frame"},
    {TL_REFUSAL_NO_TOPIC, "no-topic", "no topic before the first zero byte"},
    {TL_REFUSAL_OVERSIZE, "oversize", "larger than its kind may be"},
    {TL_REFUSAL_NOT_YOUR_TOPIC, "not-your-topic", "this key may not publish on that topic"},
    {TL_REFUSAL_UNKNOWN_USER, "unknown-user", "key not in the key list"},
    {TL_REFUSAL_REVOKED, "revoked", "key is revoked"},
    {TL_REFUSAL_SIGNATURE, "signature", "signature does not fit"},
    {TL_REFUSAL_TRUNCATED, "truncated", "does not decode"},
    {TL_REFUSAL_NEWER_SCHEMA, "newer-schema", "has fields or values of a newer schema"},
    {TL_REFUSAL_ENUM, "enum", "an enum value that is not in the table"},
    {TL_REFUSAL_NOT_CANONICAL, "not-canonical", "not encoded in the one allowed way"},
    {TL_REFUSAL_UTF8, "utf8", "text is not valid UTF-8"},
    {TL_REFUSAL_CONTROL_BYTES, "control-bytes", "text has control bytes"},
    {TL_REFUSAL_RANGE, "range", "a value out of its range"},
    {TL_REFUSAL_MISSING, "missing", "a part is missing"},
    {TL_REFUSAL_EMPTY, "empty", "empty message"},
    {TL_REFUSAL_TOO_MANY, "too-many", "more entries than allowed"},
    {TL_REFUSAL_NOT_YOUR_KIND, "not-your-kind", "this station may not state that"},
    {TL_REFUSAL_TOO_OLD, "too-old", "too old, say it again"},
    {TL_REFUSAL_LATE, "late", "late: that event has ended"},
    {TL_REFUSAL_NOT_LISTED, "not-listed", "that event is not on primary's list"},
    {TL_REFUSAL_NOT_CURRENT, "not-current", "only the current event may be named"},
    {TL_REFUSAL_OTHER_BODY, "other-body", "same number as before, other content"},
    {TL_REFUSAL_JUMP, "jump", "number too far ahead"},
    {TL_REFUSAL_OLD_INCARNATION, "old-incarnation", "a newer life of this station is known"},
    {TL_REFUSAL_RULE_FORCES_FOUL, "rule-forces-foul", "a rule forces foul"},
    {TL_REFUSAL_EVENT_LEFT, "event-left",
     "void: the event or the setting it was said for has changed"},
    {TL_REFUSAL_FULL, "full", "no room for more"},
    {TL_REFUSAL_RECOVERY_OLD, "recovery-old", "recovery number is not above the highest heard"},
    {TL_REFUSAL_TWIN, "twin", "two programs claim this station"},
    {TL_REFUSAL_NOT_OWNER, "not-owner", "only the owner of CLEAR may say clear"},
    {TL_REFUSAL_NOT_LOST, "not-lost", "it is heard: it speaks for itself"},
    {TL_REFUSAL_OWN_WORD, "own-word", "void: that station speaks for itself again"},
    {TL_REFUSAL_NOT_OVERRIDABLE, "not-overridable", "that rule can not be overridden"},
    {TL_REFUSAL_LOWER_COUNT, "lower-count",
     "fewer traps than were known of it: only another serial begins anew"},
};

static const struct refusal_words *
find_words(enum tl_refusal reason)
{
    for (size_t i = 0; i < sizeof WORDS / sizeof WORDS[0]; i++) {
        if (WORDS[i].reason == reason) {
            return &WORDS[i];
        }
    }
    return &WORDS[0];
}

const char *
tl_refusal_name(enum tl_refusal reason)
{
    return find_words(reason)->name;
}

const char *
tl_refusal_text(enum tl_refusal reason)
{
    return find_words(reason)->text;
}
