# SPDX-License-Identifier: Apache-2.0
#
# targets - the functions every room's CMakeLists.txt uses
#
#   tl_add_rooms(DIR...)                              subdirectories, each only if it exists
#   tl_add_library(NAME SOURCES file... LIBS lib...)  static library
#   tl_add_program(NAME SOURCES file... LIBS lib... COMPONENT name)
#                                                     program, installed in bindir by that package
#   tl_add_test(NAME name SOURCES file... LIBS lib... LABEL label TIMEOUT s)
#                                                     cmocka program that ctest runs
#   tl_add_script_test(NAME name COMMAND word... LABEL label TIMEOUT s)
#                                                     any command that ctest runs
#
# LABEL is unit (default), arch, model, system, gate, fault or bench. TIMEOUT is in seconds, default 60. Each test
# runs with TL_SOURCE_DIR and TL_BUILD_DIR in its environment; exit 77 means skipped. A test written
# in Python is run with ${TL_PYTHON}.
# Library targets from pkg-config: PkgConfig::ZMQ PROTOBUF_C SODIUM CYAML YAML JANSSON
# SQLITE3 CMOCKA.

set(TL_TEST_LABELS unit arch model system gate fault bench)

function(tl_add_rooms)
    foreach(room IN LISTS ARGN)
        if(EXISTS ${CMAKE_CURRENT_SOURCE_DIR}/${room}/CMakeLists.txt)
            add_subdirectory(${room})
        endif()
    endforeach()
endfunction()

# Parse the arguments of the functions below into arg_*; the name may come first or after NAME.
macro(tl_parse_target)
    cmake_parse_arguments(arg "" "NAME;LABEL;TIMEOUT;COMPONENT" "SOURCES;LIBS;COMMAND" ${ARGN})
    if(NOT arg_NAME)
        list(POP_FRONT arg_UNPARSED_ARGUMENTS arg_NAME)
    endif()
    if(arg_UNPARSED_ARGUMENTS OR arg_KEYWORDS_MISSING_VALUES OR NOT arg_NAME)
        message(FATAL_ERROR "${CMAKE_CURRENT_FUNCTION}(${ARGN}): unknown or empty argument")
    endif()
endmacro()

function(tl_add_library)
    tl_parse_target(${ARGN})
    add_library(${arg_NAME} STATIC ${arg_SOURCES})
    target_link_libraries(${arg_NAME} PUBLIC tl_flags ${arg_LIBS})
endfunction()

function(tl_add_program)
    tl_parse_target(${ARGN})
    add_executable(${arg_NAME} ${arg_SOURCES})
    target_link_libraries(${arg_NAME} PRIVATE tl_flags ${arg_LIBS})
    install(
        TARGETS ${arg_NAME}
        RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR}
        COMPONENT ${arg_COMPONENT})
endfunction()

function(tl_set_test_properties name label timeout)
    if(NOT label)
        set(label unit)
    endif()
    if(NOT label IN_LIST TL_TEST_LABELS)
        message(FATAL_ERROR "test ${name}: label '${label}' is not one of ${TL_TEST_LABELS}")
    endif()
    if(NOT timeout)
        set(timeout 60)
    endif()
    set(environment TL_SOURCE_DIR=${PROJECT_SOURCE_DIR} TL_BUILD_DIR=${PROJECT_BINARY_DIR})
    if(TL_SANITIZE)
        # libzmq itself is not instrumented: its own locking looks like races.
        list(APPEND environment TSAN_OPTIONS=ignore_noninstrumented_modules=1)
        list(APPEND environment UBSAN_OPTIONS=print_stacktrace=1)
    endif()
    set_tests_properties(
        ${name} PROPERTIES LABELS ${label} TIMEOUT ${timeout} ENVIRONMENT "${environment}"
                           SKIP_RETURN_CODE 77)
endfunction()

function(tl_add_test)
    tl_parse_target(${ARGN})
    add_executable(${arg_NAME} ${arg_SOURCES})
    target_link_libraries(${arg_NAME} PRIVATE tl_flags ${arg_LIBS} PkgConfig::CMOCKA)
    add_test(NAME ${arg_NAME} COMMAND ${arg_NAME})
    tl_set_test_properties(${arg_NAME} "${arg_LABEL}" "${arg_TIMEOUT}")
endfunction()

function(tl_add_script_test)
    tl_parse_target(${ARGN})
    add_test(NAME ${arg_NAME} COMMAND ${arg_COMMAND})
    tl_set_test_properties(${arg_NAME} "${arg_LABEL}" "${arg_TIMEOUT}")
endfunction()
