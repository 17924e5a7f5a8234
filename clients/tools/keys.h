/* SPDX-License-Identifier: Apache-2.0 */
/*
 * keys - `trapline keys`: make, revoke, list and change over the keys of nodes
 *
 * Works on keys.yaml and the identity folder of one configuration folder, with no program running.
 */
#ifndef CLIENTS_TOOLS_KEYS_H
#define CLIENTS_TOOLS_KEYS_H

/*
 * Run the tool. argv[0] is the name to say in front of errors ("keys"), argv[1] the subcommand.
 * Words go to standard output, errors to standard error, one line each.
 * Returns the exit code: 0 done; 1 it could not be done, and nothing is half done; 64 usage;
 * 78 configuration.
 */
int tl_keys_main(int argc, char **argv);

#endif
