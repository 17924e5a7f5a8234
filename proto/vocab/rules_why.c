/* SPDX-License-Identifier: Apache-2.0 */
/* rules_why.c - look-up over the parts of the table. See rules_why.h. */
#include "proto/vocab/rules_why_rows.h"

const struct tl_rule_why *
tl_rule_why_part(size_t part, size_t *count)
{
    switch (part) {
    case 0:
        return tl_rule_why_picture(count);
    case 1:
        return tl_rule_why_pass(count);
    case 2:
        return tl_rule_why_gear(count);
    case 3:
        return tl_rule_why_sea(count);
    case 4:
        return tl_rule_why_engine(count);
    default:
        *count = 0;
        return NULL;
    }
}

const struct tl_rule_why *
tl_rule_why(uint32_t rule)
{
    size_t count = 0;
    const struct tl_rule_why *rows = NULL;
    for (size_t part = 0; (rows = tl_rule_why_part(part, &count)) != NULL; part++) {
        for (size_t i = 0; i < count; i++) {
            if ((uint32_t)rows[i].rule == rule) {
                return &rows[i];
            }
        }
    }
    return NULL;
}
