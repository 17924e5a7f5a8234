# SPDX-License-Identifier: Apache-2.0
# Counts executed lines and branches for gcov.
set(CMAKE_BUILD_TYPE Debug CACHE STRING "")
set(CMAKE_C_FLAGS_DEBUG "-O0 -g" CACHE STRING "")
set(TL_COVERAGE ON CACHE BOOL "")
