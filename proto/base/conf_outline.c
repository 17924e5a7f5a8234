/* SPDX-License-Identifier: Apache-2.0 */
/*
 * conf_outline - the text check and the YAML events that give every entry its line
 *
 * libcyaml, which reads the values later, gives the place of the event before a fault and lets pass
 * what we do not want (control bytes, tags, anchors, what follows the first document). So the
 * events are walked once before it.
 */
#include "proto/base/conf_file.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include <yaml.h>

#include "proto/base/text.h"

struct walk {
    struct tl_conf_file *file;
    struct tl_conf_fault *fault;
    yaml_parser_t *parser;
    uint32_t lines; /* of the file */
    uint32_t depth; /* open containers */
    struct {
        uint32_t entry;
        uint32_t children;
        bool is_mapping;
        bool has_key; /* its newest child is a key that has no value yet */
    } open[TL_CONF_DEPTH_MAX];
    bool has_document;
};

static const char *
name_bad_byte(const uint8_t *line, size_t len)
{
    for (size_t i = 0; i < len; i++) {
        if (line[i] == '\t') {
            return "a tab; use spaces";
        }
        if (line[i] == '\r') {
            return "a carriage return; save the file with plain newlines";
        }
        if (line[i] < 0x20 || line[i] == 0x7f) {
            return "a control byte; remove it";
        }
    }
    return "a byte that is not UTF-8, or an invisible character; save the file as plain UTF-8";
}

/* What a terminal must not be shown has no place in a file that is quoted in faults. */
static enum tl_err
check_text(const struct tl_conf_file *file, struct tl_conf_fault *fault)
{
    static const uint8_t mark[] = {0xef, 0xbb, 0xbf};
    const uint8_t *at = file->bytes;
    size_t left = file->len;

    if (left >= sizeof mark && memcmp(at, mark, sizeof mark) == 0) {
        return tl_conf_fault_at(fault, file->name, 1,
                                "begins with a byte order mark; save it as UTF-8 without one");
    }
    char *plain = malloc(sizeof file->bytes + 1);
    if (plain == NULL) {
        tl_err_ignore(tl_conf_fault_at(fault, file->name, 0, "memory could not be had"), "NOMEM");
        return TL_NOMEM;
    }
    enum tl_err err = TL_OK;
    for (uint32_t line = 1; left > 0 && err == TL_OK; line++) {
        const uint8_t *end = memchr(at, '\n', left);
        size_t len = end == NULL ? left : (size_t)(end - at);
        size_t got = tl_text_plain(plain, len + 1, (const char *)at, len);
        if (got != len || memcmp(plain, at, len) != 0) {
            err = tl_conf_fault_at(fault, file->name, line, "has %s", name_bad_byte(at, len));
        }
        size_t step = len + (end == NULL ? 0 : 1);
        at += step;
        left -= step;
    }
    free(plain);
    return err;
}

static uint32_t
count_lines(const struct tl_conf_file *file)
{
    uint32_t lines = 0;

    for (size_t i = 0; i < file->len; i++) {
        lines += file->bytes[i] == '\n' ? 1 : 0;
    }
    bool ended = file->len > 0 && file->bytes[file->len - 1] == '\n';
    return lines + (ended ? 0 : 1);
}

/* The parser may put the end of the file one line below the last. */
static uint32_t
line_of_mark(const struct walk *walk, const yaml_mark_t *mark)
{
    return mark->line >= walk->lines ? walk->lines : (uint32_t)mark->line + 1;
}

static enum tl_err
say_at(const struct walk *walk, const yaml_event_t *event, const char *what)
{
    return tl_conf_fault_at(walk->fault, walk->file->name, line_of_mark(walk, &event->start_mark),
                            "%s", what);
}

static enum tl_err
say_parser_fault(const struct walk *walk)
{
    const yaml_parser_t *parser = walk->parser;

    if (parser->error == YAML_MEMORY_ERROR) {
        tl_err_ignore(tl_conf_fault_at(walk->fault, walk->file->name, 0, "memory could not be had"),
                      "NOMEM is the code");
        return TL_NOMEM;
    }
    return tl_conf_fault_at(walk->fault, walk->file->name,
                            line_of_mark(walk, &parser->problem_mark),
                            "is not YAML here (%s); check indentation, quotes, brackets and colons",
                            parser->problem == NULL ? "no details" : parser->problem);
}

static enum tl_err
add_entry(struct walk *walk, const yaml_event_t *event, const char *key)
{
    struct tl_conf_file *file = walk->file;

    if (file->entry_count == TL_CONF_ENTRIES_MAX) {
        return say_at(walk, event, "has more entries than any configuration needs; remove some");
    }
    struct tl_conf_entry *entry = &file->entry[file->entry_count++];
    memset(entry, 0, sizeof *entry);
    entry->line = line_of_mark(walk, &event->start_mark);
    if (walk->depth > 0) {
        entry->parent = walk->open[walk->depth - 1].entry;
        entry->index = walk->open[walk->depth - 1].children++;
    }
    memcpy(entry->key, key, strlen(key));
    return TL_OK;
}

static const struct tl_conf_entry *
find_child(const struct tl_conf_file *file, uint32_t parent, const char *key)
{
    for (uint32_t i = 1; i < file->entry_count; i++) {
        if (file->entry[i].parent == parent && strcmp(file->entry[i].key, key) == 0) {
            return &file->entry[i];
        }
    }
    return NULL;
}

static enum tl_err
take_key(struct walk *walk, const yaml_event_t *event)
{
    char key[TL_CONF_KEY_CAP] = "";
    const char *text = (const char *)event->data.scalar.value;
    size_t len = event->data.scalar.length;

    if (len == 0 || len >= sizeof key || strspn(text, "abcdefghijklmnopqrstuvwxyz_") != len) {
        return tl_conf_fault_at(walk->fault, walk->file->name,
                                line_of_mark(walk, &event->start_mark),
                                "unknown key \"%.40s\"; correct or remove it", text);
    }
    memcpy(key, text, len);
    const struct tl_conf_entry *first =
        find_child(walk->file, walk->open[walk->depth - 1].entry, key);
    if (first != NULL) {
        return tl_conf_fault_at(
            walk->fault, walk->file->name, line_of_mark(walk, &event->start_mark),
            "key \"%s\" is given twice (first on line %u); remove one", key, first->line);
    }
    walk->open[walk->depth - 1].has_key = true;
    return add_entry(walk, event, key);
}

/* A value begins: the entry of its key stands already, that of a list's item is made now. */
static enum tl_err
begin_value(struct walk *walk, const yaml_event_t *event)
{
    if (walk->depth == 0 || !walk->open[walk->depth - 1].is_mapping) {
        return add_entry(walk, event, "");
    }
    walk->open[walk->depth - 1].has_key = false;
    return TL_OK;
}

static bool
awaits_key(const struct walk *walk)
{
    return walk->depth > 0 && walk->open[walk->depth - 1].is_mapping &&
           !walk->open[walk->depth - 1].has_key;
}

static enum tl_err
take_scalar(struct walk *walk, const yaml_event_t *event)
{
    if (event->data.scalar.anchor != NULL || event->data.scalar.tag != NULL) {
        return say_at(walk, event, "has an anchor or a tag (& or !); write the value in full");
    }
    for (size_t i = 0; i < event->data.scalar.length; i++) {
        if (event->data.scalar.value[i] < 0x20 || event->data.scalar.value[i] == 0x7f) {
            return say_at(walk, event,
                          "has a value of several lines or with a control character; "
                          "write it as one plain line");
        }
    }
    return awaits_key(walk) ? take_key(walk, event) : begin_value(walk, event);
}

static enum tl_err
take_container(struct walk *walk, const yaml_event_t *event)
{
    bool is_mapping = event->type == YAML_MAPPING_START_EVENT;
    bool marked =
        is_mapping
            ? event->data.mapping_start.anchor != NULL || event->data.mapping_start.tag != NULL
            : event->data.sequence_start.anchor != NULL || event->data.sequence_start.tag != NULL;

    if (marked) {
        return say_at(walk, event, "has an anchor or a tag (& or !); write the value in full");
    }
    if (awaits_key(walk)) {
        return say_at(walk, event, "has a list or a mapping where a key must stand; write a key");
    }
    if (walk->depth == TL_CONF_DEPTH_MAX) {
        return say_at(walk, event, "is nested too deep; remove brackets or indentation");
    }
    enum tl_err err = begin_value(walk, event);
    if (err != TL_OK) {
        return err;
    }
    walk->open[walk->depth].entry = walk->file->entry_count - 1;
    walk->open[walk->depth].children = 0;
    walk->open[walk->depth].is_mapping = is_mapping;
    walk->open[walk->depth].has_key = false;
    walk->depth++;
    return TL_OK;
}

static enum tl_err
take_event(struct walk *walk, const yaml_event_t *event)
{
    switch (event->type) {
    case YAML_DOCUMENT_START_EVENT:
        if (walk->has_document) {
            return say_at(walk, event, "has a second document (---); keep one");
        }
        walk->has_document = true;
        return TL_OK;
    case YAML_ALIAS_EVENT:
        return say_at(walk, event, "has an alias (*); write the value in full");
    case YAML_SCALAR_EVENT:
        return take_scalar(walk, event);
    case YAML_MAPPING_START_EVENT:
    case YAML_SEQUENCE_START_EVENT:
        return take_container(walk, event);
    case YAML_MAPPING_END_EVENT:
    case YAML_SEQUENCE_END_EVENT:
        walk->depth--;
        return TL_OK;
    case YAML_NO_EVENT:
    case YAML_STREAM_START_EVENT:
    case YAML_STREAM_END_EVENT:
    case YAML_DOCUMENT_END_EVENT:
        break;
    }
    return TL_OK;
}

static enum tl_err
walk_events(struct walk *walk)
{
    bool ended = false;
    enum tl_err err = TL_OK;

    while (!ended && err == TL_OK) {
        yaml_event_t event;
        if (yaml_parser_parse(walk->parser, &event) == 0) {
            return say_parser_fault(walk);
        }
        err = take_event(walk, &event);
        ended = event.type == YAML_STREAM_END_EVENT;
        yaml_event_delete(&event);
    }
    if (err == TL_OK && !walk->has_document) {
        return tl_conf_fault_at(walk->fault, walk->file->name, 1, "is empty; write its settings");
    }
    return err;
}

enum tl_err
tl_conf_file_outline(struct tl_conf_file *file, struct tl_conf_fault *fault)
{
    yaml_parser_t parser;
    struct walk walk = {
        .file = file, .fault = fault, .parser = &parser, .lines = count_lines(file)};

    file->entry_count = 0;
    enum tl_err err = check_text(file, fault);
    if (err != TL_OK) {
        return err;
    }
    if (yaml_parser_initialize(&parser) == 0) {
        tl_err_ignore(tl_conf_fault_at(fault, file->name, 0, "memory could not be had"), "NOMEM");
        return TL_NOMEM;
    }
    yaml_parser_set_encoding(&parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(&parser, file->bytes, file->len);
    err = walk_events(&walk);
    yaml_parser_delete(&parser);
    return err;
}

static const struct tl_conf_entry *
find_item(const struct tl_conf_file *file, uint32_t parent, unsigned long index)
{
    for (uint32_t i = 1; i < file->entry_count; i++) {
        const struct tl_conf_entry *entry = &file->entry[i];
        if (entry->parent == parent && entry->index == index && entry->key[0] == '\0') {
            return entry;
        }
    }
    return NULL;
}

uint32_t
tl_conf_file_line(const struct tl_conf_file *file, const char *path)
{
    const struct tl_conf_entry *at = &file->entry[0];
    const char *next = path;

    if (file->entry_count == 0) {
        return 0;
    }
    for (const struct tl_conf_entry *child = at; child != NULL && *next != '\0';) {
        uint32_t parent = (uint32_t)(at - file->entry);
        if (*next == '[') {
            char *end = NULL;
            child = find_item(file, parent, strtoul(next + 1, &end, 10));
            next = *end == ']' ? end + 1 : end;
        } else {
            char key[TL_CONF_KEY_CAP] = "";
            size_t len = strcspn(next, ".[");
            memcpy(key, next, len < sizeof key ? len : sizeof key - 1);
            child = find_child(file, parent, key);
            next += len;
        }
        next += *next == '.' ? 1 : 0;
        at = child == NULL ? at : child;
    }
    return at->line;
}
