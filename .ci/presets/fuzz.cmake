# SPDX-License-Identifier: Apache-2.0
# For tests/fuzz/run --long: coverage-guided by libFuzzer, which is clang's, under its sanitizers.
set(CMAKE_C_COMPILER clang-19 CACHE STRING "")
set(CMAKE_BUILD_TYPE Debug CACHE STRING "")
set(CMAKE_C_FLAGS_DEBUG "-O1 -g" CACHE STRING "")
set(TL_SANITIZE "address,undefined" CACHE STRING "")
set(TL_FUZZ ON CACHE BOOL "")
