# SPDX-License-Identifier: Apache-2.0
# The static analyser of GCC; it reports more than it proves, so warnings stay warnings.
set(CMAKE_BUILD_TYPE Debug CACHE STRING "")
set(CMAKE_C_FLAGS_DEBUG "-O1 -g" CACHE STRING "")
set(TL_ANALYZE ON CACHE BOOL "")
