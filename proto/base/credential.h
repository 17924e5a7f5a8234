/* SPDX-License-Identifier: Apache-2.0 */
/*
 * credential - a secret file that the service manager hands to this program alone
 *
 * systemd.exec(5), "Credentials": LoadCredential= copies files of root into a folder that only the
 * user of the service can look into, and names the folder in $CREDENTIALS_DIRECTORY. The copies
 * belong to root and carry that user's right to read in an access list, whose mask stands where the
 * rights of a group do; or they belong to that user.
 */
#ifndef PROTO_BASE_CREDENTIAL_H
#define PROTO_BASE_CREDENTIAL_H

#include <stdbool.h>
#include <stddef.h>

/*
 * Find a credential. name: borrowed, without '/'. dst: taken, cap bytes.
 * Returns false, dst undefined, when none of that name was handed over.
 */
bool tl_credential_find(const char *name, char *dst, size_t cap);

/*
 * Tell whether a file is such a copy: regular, of root or of the effective user, with no right for
 * others and none to write for a group. Returns false also when it cannot be examined.
 */
bool tl_credential_is_private(const char *path);

#endif
