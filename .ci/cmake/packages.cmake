# SPDX-License-Identifier: Apache-2.0
#
# packages - Debian packages: services, documents, and what CPack makes of the components
#
#   cpack --config build/CPackConfig.cmake -B DIR      all of them, into DIR
#
#   component   package              holds
#   common      trapline-common      users, folders, what all services have
#   broker      trapline-broker      program, manual page, service
#   validator   trapline-validator   the same
#   recorder    trapline-recorder    the same
#   client      trapline             the text client, completion, the service of a fed station
#   docs        trapline-doc         documents, the demo configuration as an example
#
# The version is that of project(); its changelog is docs/changelog.md.

set(TL_MAINTAINER "trapline maintainers <maintainers@trapline.invalid>"
    CACHE STRING "Who the packages say maintains them")
set(packaging ${PROJECT_BINARY_DIR}/packaging)
set(debian ${PROJECT_SOURCE_DIR}/configs/debian)
set(units ${PROJECT_SOURCE_DIR}/configs/systemd)

# ---- the changelog in Debian's form (Debian Policy 4.4) ----

set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS docs/changelog.md)
file(STRINGS docs/changelog.md lines)
set(entries "")
set(close "")
foreach(line IN LISTS lines)
    if(line MATCHES "^## ([0-9.]+), ([0-9-]+)$")
        string(APPEND entries "${close}")
        if(NOT entries AND NOT CMAKE_MATCH_1 STREQUAL PROJECT_VERSION)
            message(FATAL_ERROR "docs/changelog.md begins with ${CMAKE_MATCH_1}, project() is ${PROJECT_VERSION}")
        endif()
        execute_process(
            COMMAND ${CMAKE_COMMAND} -E env LC_ALL=C date -u -R -d ${CMAKE_MATCH_2}
            OUTPUT_VARIABLE date
            OUTPUT_STRIP_TRAILING_WHITESPACE COMMAND_ERROR_IS_FATAL ANY)
        string(APPEND entries "trapline (${CMAKE_MATCH_1}) bookworm; urgency=medium\n\n")
        set(close "\n -- ${TL_MAINTAINER}  ${date}\n\n")
    elseif(line MATCHES "^- (.*)$")
        string(APPEND entries "  * ${CMAKE_MATCH_1}\n")
    elseif(entries AND line MATCHES "^  ([^ ].*)$")
        string(APPEND entries "    ${CMAKE_MATCH_1}\n")
    endif()
endforeach()
file(WRITE ${packaging}/changelog "${entries}${close}")
execute_process(COMMAND gzip -9nf ${packaging}/changelog COMMAND_ERROR_IS_FATAL ANY)

# ---- what is not a program ----

foreach(component common broker validator recorder client docs)
    set(package trapline-${component})
    if(component STREQUAL client)
        set(package trapline)
    elseif(component STREQUAL docs)
        set(package trapline-doc)
    endif()
    install(
        FILES ${debian}/copyright ${packaging}/changelog.gz
        DESTINATION ${CMAKE_INSTALL_DATAROOTDIR}/doc/${package}
        COMPONENT ${component})
    string(TOUPPER ${component} COMPONENT)
    set(CPACK_DEBIAN_${COMPONENT}_PACKAGE_NAME ${package})
    set(CPACK_DEBIAN_${COMPONENT}_PACKAGE_SOURCE trapline)
endforeach()
foreach(kind broker validator recorder station)
    set(component ${kind})
    if(kind STREQUAL station)
        set(component client)
    endif()
    install(
        FILES ${units}/trapline-${kind}@.service
        DESTINATION lib/systemd/system
        COMPONENT ${component})
    configure_file(${debian}/service.prerm.in ${packaging}/${component}/prerm @ONLY)
    foreach(script postinst postrm)
        configure_file(${debian}/service.${script} ${packaging}/${component}/${script} COPYONLY)
    endforeach()
    string(TOUPPER ${component} COMPONENT)
    set(scripts ${packaging}/${component})
    set(CPACK_DEBIAN_${COMPONENT}_PACKAGE_CONTROL_EXTRA
        "${scripts}/postinst;${scripts}/prerm;${scripts}/postrm")
    set(CPACK_DEBIAN_${COMPONENT}_PACKAGE_SHLIBDEPS ON)
    set(CPACK_DEBIAN_${COMPONENT}_PACKAGE_DEPENDS "trapline-common (= ${PROJECT_VERSION})")
    set(CPACK_DEBIAN_${COMPONENT}_PACKAGE_SUGGESTS trapline-doc)
endforeach()
install(
    FILES ${units}/trapline.target
    DESTINATION lib/systemd/system
    COMPONENT common)
install(
    DIRECTORY ${units}/trapline-.service.d
    DESTINATION lib/systemd/system
    COMPONENT common)
foreach(part sysusers tmpfiles)
    install(
        FILES ${units}/trapline.${part}
        DESTINATION lib/${part}.d
        RENAME trapline.conf
        COMPONENT common)
endforeach()
# Outside of the prefix, so only in a package and never by a plain `cmake --install`.
install(
    FILES ${units}/trapline.default
    DESTINATION /etc/default
    RENAME trapline
    COMPONENT common
    EXCLUDE_FROM_ALL)
foreach(part postinst prerm conffiles)
    configure_file(${debian}/common.${part} ${packaging}/common/${part} COPYONLY)
endforeach()
configure_file(${debian}/service.postrm ${packaging}/common/postrm COPYONLY)
install(
    DIRECTORY docs/
    DESTINATION ${CMAKE_INSTALL_DATAROOTDIR}/doc/trapline-doc
    COMPONENT docs
    FILES_MATCHING
    PATTERN "*.md"
    PATTERN man EXCLUDE)
install(
    FILES README.md
    DESTINATION ${CMAKE_INSTALL_DATAROOTDIR}/doc/trapline-doc
    COMPONENT docs)
install(
    DIRECTORY configs/demo/
    DESTINATION ${CMAKE_INSTALL_DATAROOTDIR}/doc/trapline-doc/examples/demo
    COMPONENT docs
    FILES_MATCHING
    PATTERN "*.yaml"
    PATTERN identity EXCLUDE
    PATTERN keys.yaml EXCLUDE)

# ---- CPack ----

set(CPACK_GENERATOR DEB)
set(CPACK_VERBATIM_VARIABLES ON)
set(CPACK_PACKAGE_NAME trapline)
set(CPACK_PACKAGE_VERSION ${PROJECT_VERSION})
set(CPACK_PACKAGE_CONTACT ${TL_MAINTAINER})
set(CPACK_STRIP_FILES ON)
set(CPACK_COMPONENTS_ALL common broker validator recorder client docs)
set(CPACK_COMPONENTS_GROUPING IGNORE)
set(CPACK_DEB_COMPONENT_INSTALL ON)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_SECTION misc)
set(CPACK_DEBIAN_PACKAGE_CONTROL_STRICT_PERMISSION ON)
set(CPACK_INSTALL_DEFAULT_DIRECTORY_PERMISSIONS
    OWNER_READ OWNER_WRITE OWNER_EXECUTE GROUP_READ GROUP_EXECUTE WORLD_READ WORLD_EXECUTE)

set(bus "trapline is a networked status bus for the arrested recovery of aircraft on a\nship. It advises; people decide.")
set(CPACK_DEBIAN_COMMON_DESCRIPTION "status bus for aircraft recovery - users and folders\n${bus}\n.\nThe users, folders and limits that all its services have.")
set(CPACK_DEBIAN_BROKER_DESCRIPTION "status bus for aircraft recovery - one bus\n${bus}\n.\nPasses signed frames on to whoever subscribes, and checks who may publish what.")
set(CPACK_DEBIAN_VALIDATOR_DESCRIPTION "status bus for aircraft recovery - the judgement\n${bus}\n.\nHolds the picture of all stations and judges whether what they\nreport fits together.")
set(CPACK_DEBIAN_RECORDER_DESCRIPTION "status bus for aircraft recovery - the record\n${bus}\n.\nWrites what happened to disk, and says what is on it.")
set(CPACK_DEBIAN_CLIENT_DESCRIPTION "status bus for aircraft recovery - the stations\n${bus}\n.\nThe text client: a page for each station and for who looks on, planning, keys,\nquestions to the record.")
set(CPACK_DEBIAN_DOCS_DESCRIPTION "status bus for aircraft recovery - documents\n${bus}\n.\nHow it is installed, used and built, and an invented ship as an example.")

set(CPACK_DEBIAN_COMMON_PACKAGE_ARCHITECTURE all)
set(CPACK_DEBIAN_DOCS_PACKAGE_ARCHITECTURE all)
set(CPACK_DEBIAN_DOCS_PACKAGE_SECTION doc)
# kill, which a reload asks for, is in procps.
set(CPACK_DEBIAN_COMMON_PACKAGE_DEPENDS "systemd (>= 252), procps")
set(CPACK_DEBIAN_COMMON_PACKAGE_CONTROL_EXTRA
    "${packaging}/common/postinst;${packaging}/common/prerm;${packaging}/common/postrm;${packaging}/common/conffiles")
include(CPack)
