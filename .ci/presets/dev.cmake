# SPDX-License-Identifier: Apache-2.0
# For daily work and for tests/run: debuggable, warnings are errors.
set(CMAKE_BUILD_TYPE Debug CACHE STRING "")
set(CMAKE_C_FLAGS_DEBUG "-O0 -g" CACHE STRING "")
set(TL_WERROR ON CACHE BOOL "")
