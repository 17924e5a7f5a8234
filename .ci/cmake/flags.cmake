# SPDX-License-Identifier: Apache-2.0
#
# flags - warnings, hardening and the include root, on the interface target tl_flags
#
# Every target made by tl_add_library/program/test links tl_flags. Generated code does not: it is
# built with -w in an OBJECT library of its own.

include(CheckCCompilerFlag)
include(CheckPIESupported)
check_pie_supported(LANGUAGES C)
set(CMAKE_POSITION_INDEPENDENT_CODE ON)

add_library(tl_flags INTERFACE)
target_include_directories(tl_flags INTERFACE ${PROJECT_SOURCE_DIR})
target_compile_definitions(tl_flags INTERFACE _GNU_SOURCE)
target_compile_options(
    tl_flags
    INTERFACE -Wall
              -Wextra
              -Wpedantic
              -Wconversion
              -Wsign-conversion
              -Wshadow
              -Wstrict-prototypes
              -Wmissing-prototypes
              -Wswitch-enum
              -Werror=switch-enum
              -Wcast-qual
              -Wwrite-strings
              -Wundef
              -Wvla
              -Wformat=2
              -Wdouble-promotion
              $<$<BOOL:${TL_WERROR}>:-Werror>
              -fstack-protector-strong
              -fmacro-prefix-map=${PROJECT_SOURCE_DIR}/=)
target_link_options(tl_flags INTERFACE -Wl,-z,relro,-z,now,-z,noexecstack)

check_c_compiler_flag(-fstack-clash-protection TL_HAS_STACK_CLASH)
if(TL_HAS_STACK_CLASH)
    target_compile_options(tl_flags INTERFACE -fstack-clash-protection)
endif()

# Zero-filled automatics hide a read of an unset variable from valgrind and from the sanitizers, and
# clang-tidy 14 refuses the option: only builds that are shipped have it.
check_c_compiler_flag(-ftrivial-auto-var-init=zero TL_HAS_AUTO_INIT)
if(TL_HAS_AUTO_INIT AND NOT TL_SANITIZE)
    target_compile_options(
        tl_flags INTERFACE $<$<NOT:$<CONFIG:Debug>>:-ftrivial-auto-var-init=zero>)
endif()

# FORTIFY needs an optimiser and takes calls away from the sanitizers' own checks.
if(NOT TL_SANITIZE)
    target_compile_options(
        tl_flags INTERFACE $<$<NOT:$<CONFIG:Debug>>:-U_FORTIFY_SOURCE -D_FORTIFY_SOURCE=2>)
endif()

# These reach generated code too, so they are not on tl_flags.
if(TL_SANITIZE)
    add_compile_options(-fsanitize=${TL_SANITIZE} -fno-sanitize-recover=all -fno-omit-frame-pointer)
    add_link_options(-fsanitize=${TL_SANITIZE})
endif()
if(TL_FUZZ)
    # protobuf-c calls the generated functions through types that are not theirs, by its design.
    add_compile_options(-fsanitize=fuzzer-no-link -fno-sanitize=function)
endif()
if(TL_COVERAGE)
    add_compile_options(--coverage)
    add_link_options(--coverage)
endif()
if(TL_ANALYZE)
    target_compile_options(tl_flags INTERFACE -fanalyzer)
endif()
