/* SPDX-License-Identifier: Apache-2.0 */
/*
 * conf - read the configuration folder, or say in one sentence why it cannot be used
 *
 * A folder is six files: ship gear aircraft stations bus keys, each .yaml. They are read once,
 * checked one by one against their schema, then against each other, and become struct tl_config.
 *
 * 1. All or nothing: a configuration with any fault is not loaded, and names file and line.
 * 2. Each file is read once; what is checked is what is hashed.
 * 3. Figures are decimal digits only: no sign, no octal, no exponent, whatever the locale.
 *
 * Blocks on the disk; meant for start-up and for a reload on SIGHUP. Exit code 78 is the caller's.
 */
#ifndef PROTO_BASE_CONF_H
#define PROTO_BASE_CONF_H

#include <stdint.h>

#include "proto/base/err.h"
#include "proto/vocab/config.h"

enum {
    TL_CONF_FAULT_FILE_CAP = 32,
    TL_CONF_FAULT_TEXT_CAP = 512,
    TL_CONF_FILE_MAX = 128 * 1024
};

/* What is wrong, where, and what to do. Plain text: may be shown on a terminal. */
struct tl_conf_fault {
    char file[TL_CONF_FAULT_FILE_CAP]; /* "stations.yaml"; "configuration folder" for the folder */
    uint32_t line;                     /* from 1; 0 when no line is to blame (a file is missing) */
    char text[TL_CONF_FAULT_TEXT_CAP]; /* one sentence, without the file and the line */
};

/*
 * Read the whole folder.
 *
 * dir: borrowed, path of the folder. out: large (tens of KiB); untouched on error. Its directories
 * are resolved against dir. fault: out, filled on every error, untouched on TL_OK.
 *
 * out->judgement_digest is BLAKE2b-128 over, for each of ship.yaml gear.yaml aircraft.yaml
 * stations.yaml in that order: the file name, NUL, its length as 8 bytes little-endian, its bytes.
 * out->key_digest is the same over keys.yaml, stations.yaml.
 *
 * Errors: TL_CONFIG what the fault says; TL_NOMEM.
 */
TL_MUST_USE enum tl_err tl_conf_load(const char *dir, struct tl_config *out,
                                     struct tl_conf_fault *fault);

/*
 * Read the folder for the program that makes keys: as tl_conf_load, but keys.yaml may be absent and
 * nodes may be without a key. No program that joins the bus may use it.
 */
TL_MUST_USE enum tl_err tl_conf_load_unkeyed(const char *dir, struct tl_config *out,
                                             struct tl_conf_fault *fault);

/*
 * Read keys.yaml again and take its keys, for the nodes as loaded before.
 *
 * inout: from tl_conf_load; its keys and key digest change on TL_OK, and nothing changes on error.
 * If the other files on the disk are no longer those loaded, the keys are taken all the same (a
 * revocation must not wait for a restart), and the key digest is one that no fresh program has: the
 * others see a difference until this one is started again.
 * Errors: as tl_conf_load.
 */
TL_MUST_USE enum tl_err tl_conf_reload_keys(const char *dir, struct tl_config *inout,
                                            struct tl_conf_fault *fault);

/*
 * Read another copy of keys.yaml for the nodes as loaded.
 *
 * path: borrowed, of any file. inout: its keys are those of that file on TL_OK; nothing changes on
 * error. is_same: out, whether that file is byte for byte the keys.yaml of inout->dir; undefined on
 * error. Errors: as tl_conf_load.
 */
TL_MUST_USE enum tl_err tl_conf_compare_keys(const char *path, struct tl_config *inout,
                                             bool *is_same, struct tl_conf_fault *fault);

/*
 * Write "stations.yaml:7: <sentence>" and a newline to standard error; without ":7" if the fault
 * has no line. A failed write is dropped.
 */
void tl_conf_print_fault(const struct tl_conf_fault *fault);

#endif
