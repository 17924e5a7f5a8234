# SPDX-License-Identifier: Apache-2.0
# Thread sanitizer.
set(CMAKE_BUILD_TYPE Debug CACHE STRING "")
set(CMAKE_C_FLAGS_DEBUG "-O1 -g" CACHE STRING "")
set(TL_WERROR ON CACHE BOOL "")
set(TL_SANITIZE "thread" CACHE STRING "")
