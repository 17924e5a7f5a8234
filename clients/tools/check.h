/* SPDX-License-Identifier: Apache-2.0 */
/*
 * check - `trapline check`: would every program of this host start with this folder?
 */
#ifndef CLIENTS_TOOLS_CHECK_H
#define CLIENTS_TOOLS_CHECK_H

/*
 * Load the folder, open every secret key that is on this host, and say "configuration OK" with a
 * summary, or each fault in one line.
 *
 * argv[0] is not used. Returns the exit code: 0 OK; 64 usage; 78 configuration.
 */
int tl_check_main(int argc, char **argv);

#endif
