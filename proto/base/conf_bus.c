/* SPDX-License-Identifier: Apache-2.0 */
/*
 * conf_bus - bus.yaml: where the brokers are, and this host's folders
 */
#include "proto/base/conf_take.h"

#include <arpa/inet.h>
#include <stdio.h>
#include <string.h>

enum {
    PORT_MIN = 1024,    /* no rights needed */
    PORT_MAX = 32767,   /* below the ports that the kernel hands out, or a client could take ours */
    FILE_NAME_ROOM = 64 /* longest name that a program puts into one of the folders, and more */
};

#define ENDPOINT_FORM                                                                              \
    "write tcp://ADDRESS:PORT with a numeric IPv4 address and a port of 1024 to 32767"

static bool
read_port(const char *text)
{
    size_t len = strlen(text);
    uint32_t port = 0;

    if (len == 0 || len > 5 || text[0] == '0' || strspn(text, "0123456789") != len) {
        return false;
    }
    for (; *text != '\0'; text++) {
        port = port * 10 + (uint32_t)(*text - '0');
    }
    return port >= PORT_MIN && port <= PORT_MAX;
}

/* A node must be able to connect to it: not 0.0.0.0, not a multicast or broadcast address. */
static bool
read_address(const char *text)
{
    struct in_addr address;

    if (inet_pton(AF_INET, text, &address) != 1) {
        return false;
    }
    uint32_t first = ntohl(address.s_addr) >> 24;
    return first != 0 && first < 224;
}

/* libzmq knows other transports and would look names up; neither may come from a file. */
static enum tl_err
take_endpoint(struct tl_conf_field field, char dst[TL_ENDPOINT_CAP])
{
    static const char scheme[] = "tcp://";
    char address[INET_ADDRSTRLEN] = "";
    const char *at = field.text + sizeof scheme - 1;
    bool is_tcp = strncmp(field.text, scheme, sizeof scheme - 1) == 0;
    const char *colon = is_tcp ? strchr(at, ':') : NULL;

    if (colon != NULL && (size_t)(colon - at) < sizeof address) {
        memcpy(address, at, (size_t)(colon - at));
    }
    if (colon == NULL || !read_address(address) || !read_port(colon + 1)) {
        return tl_conf_say(field.item, field.key, "%s \"%.40s\" cannot be used; " ENDPOINT_FORM,
                           field.key, field.text);
    }
    memcpy(dst, field.text, strlen(field.text) + 1);
    return TL_OK;
}

/* An endpoint against those of the buses before. */
static enum tl_err
check_free(struct tl_conf_field field, const struct tl_config *config)
{
    for (uint32_t i = 0; i < config->bus_count; i++) {
        const struct tl_bus *other = &config->bus[i];
        if (strcmp(field.text, other->ingress) == 0 || strcmp(field.text, other->egress) == 0) {
            return tl_conf_say(field.item, field.key,
                               "%s %s is used by bus %s already; give each its own port", field.key,
                               field.text, other->id);
        }
    }
    return TL_OK;
}

static enum tl_err
check_bus(const struct tl_conf_item *item, const struct tl_bus *bus, const struct tl_config *config)
{
    for (uint32_t i = 0; i < config->bus_count; i++) {
        if (strcmp(config->bus[i].id, bus->id) == 0) {
            return tl_conf_say(item, "id", "bus \"%s\" is given twice; rename or remove one",
                               bus->id);
        }
    }
    if (strcmp(bus->ingress, bus->egress) == 0) {
        return tl_conf_say(item, "egress", "egress is the same as ingress; give each its own port");
    }
    enum tl_err err = check_free((struct tl_conf_field){item, "ingress", bus->ingress}, config);
    if (err == TL_OK) {
        err = check_free((struct tl_conf_field){item, "egress", bus->egress}, config);
    }
    return err;
}

static enum tl_err
take_bus(const struct tl_conf_item *item, const struct tl_conf_raw_bus_item *raw,
         struct tl_config *config)
{
    struct tl_bus *bus = &config->bus[config->bus_count];
    enum tl_err err =
        tl_conf_id((struct tl_conf_field){item, "id", raw->id}, bus->id, sizeof bus->id);

    if (err == TL_OK) {
        err = take_endpoint((struct tl_conf_field){item, "ingress", raw->ingress}, bus->ingress);
    }
    if (err == TL_OK) {
        err = take_endpoint((struct tl_conf_field){item, "egress", raw->egress}, bus->egress);
    }
    if (err == TL_OK) {
        err = check_bus(item, bus, config);
    }
    config->bus_count += err == TL_OK ? 1 : 0;
    return err;
}

/* A relative folder is inside the configuration folder. */
static enum tl_err
take_folder(struct tl_conf_field field, const char *dir, char dst[TL_PATH_CAP])
{
    char folder[TL_PATH_CAP];
    enum tl_err err = tl_conf_text(field, folder, sizeof folder);

    if (err != TL_OK) {
        return err;
    }
    bool is_absolute = folder[0] == '/';
    int len = snprintf(dst, TL_PATH_CAP, "%s%s%s", is_absolute ? "" : dir, is_absolute ? "" : "/",
                       folder);
    if (len < 0 || len + FILE_NAME_ROOM > TL_PATH_CAP) {
        return tl_conf_say(field.item, field.key,
                           "%s makes a path longer than %d bytes; use shorter folder names",
                           field.key, TL_PATH_CAP - FILE_NAME_ROOM);
    }
    return TL_OK;
}

static enum tl_err
take_folders(const struct tl_conf_item *top, const struct tl_conf_raw_bus *raw,
             struct tl_config *config)
{
    enum tl_err err = take_folder((struct tl_conf_field){top, "identity_dir", raw->identity_dir},
                                  config->dir, config->identity_dir);

    if (err == TL_OK) {
        err = take_folder((struct tl_conf_field){top, "state_dir", raw->state_dir}, config->dir,
                          config->state_dir);
    }
    if (err == TL_OK) {
        err = take_folder((struct tl_conf_field){top, "run_dir", raw->run_dir}, config->dir,
                          config->run_dir);
    }
    if (err == TL_OK) {
        const char *record_dir = raw->record_dir[0] != '\0' ? raw->record_dir : "record";
        err = take_folder((struct tl_conf_field){top, "record_dir", record_dir}, config->dir,
                          config->record_dir);
    }
    return err;
}

enum tl_err
tl_conf_take_bus(const struct tl_conf_file *file, struct tl_config *config,
                 struct tl_conf_fault *fault)
{
    struct tl_conf_item top = tl_conf_item_of(file, fault, NULL, 0);
    void *read = NULL;
    enum tl_err err = tl_conf_schema_read(file, TL_CONF_BUS, &read, fault);

    if (err != TL_OK) {
        return err;
    }
    const struct tl_conf_raw_bus *raw = read;
    config->bus_count = 0;
    for (uint32_t i = 0; i < raw->buses_count && err == TL_OK; i++) {
        struct tl_conf_item item = tl_conf_item_of(file, fault, "buses", i);
        err = take_bus(&item, &raw->buses[i], config);
    }
    if (err == TL_OK) {
        err = take_folders(&top, raw, config);
    }
    tl_conf_schema_free(TL_CONF_BUS, read);
    return err;
}
