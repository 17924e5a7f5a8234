# SPDX-License-Identifier: Apache-2.0
# Address and undefined-behaviour sanitizers; the first report stops the test.
set(CMAKE_BUILD_TYPE Debug CACHE STRING "")
set(CMAKE_C_FLAGS_DEBUG "-O1 -g" CACHE STRING "")
set(TL_WERROR ON CACHE BOOL "")
set(TL_SANITIZE "address,undefined" CACHE STRING "")
