# SPDX-License-Identifier: Apache-2.0
# What a ship would run: optimised, hardened, with symbols. No -Werror: a newer compiler may warn anew.
set(CMAKE_BUILD_TYPE RelWithDebInfo CACHE STRING "")
set(CMAKE_C_FLAGS_RELWITHDEBINFO "-O2 -g" CACHE STRING "")
set(BUILD_TESTING ON CACHE BOOL "")
