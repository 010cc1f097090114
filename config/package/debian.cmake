# SPDX-License-Identifier: Apache-2.0
# The Debian package, by CPack, of what this tree has built: the target `deb`. It takes nothing from elsewhere.
# What Debian wants beside an installation: documents, compressed, of a modest mode.
set(debian ${CMAKE_CURRENT_BINARY_DIR}/debian)
set(CATWALK_MAINTAINER "Catwalk <catwalk@harbour.example>" CACHE STRING "Whom the Debian package names: Name <address>")
string(TIMESTAMP moment "%a, %d %b %Y %H:%M:%S +0000" UTC)
file(CONFIGURE OUTPUT ${debian}/changelog CONTENT
"catwalk (@PROJECT_VERSION@) unstable; urgency=medium

  * What a technician notices is told in CHANGELOG.md.gz beside this file.

 -- @CATWALK_MAINTAINER@  @moment@
" @ONLY)
foreach(script postinst prerm postrm)
  configure_file(debian/${script} ${debian}/${script} COPYONLY FILE_PERMISSIONS
                 OWNER_READ OWNER_WRITE OWNER_EXECUTE GROUP_READ GROUP_EXECUTE WORLD_READ WORLD_EXECUTE)
endforeach()
configure_file(debian/conffiles ${debian}/conffiles COPYONLY FILE_PERMISSIONS OWNER_READ OWNER_WRITE GROUP_READ WORLD_READ)

set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_NAME catwalk)
set(CPACK_PACKAGE_VENDOR Catwalk)
set(CPACK_PACKAGE_CONTACT "${CATWALK_MAINTAINER}")
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "controller of tunable antenna amplifiers")
set(CPACK_PACKAGE_DESCRIPTION
"Lets a technician change, check and read back the tunable antenna amplifiers
that hang in a lighting grid, from the rack: gain, filter and window are
checked against the bands and the show, sent over a serial line or UDP, read
back, and kept in a journal. With a page, a command line, show control, and
emulated nodes to try it without hardware.")
set(CPACK_PACKAGE_DIRECTORY ${debian})
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_PRE_BUILD_SCRIPTS ${CMAKE_CURRENT_SOURCE_DIR}/debian_tree.cmake)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_SECTION hamradio)
set(CPACK_DEBIAN_PACKAGE_PRIORITY optional)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)
set(CPACK_DEBIAN_PACKAGE_DEPENDS "tzdata, systemd | systemd-standalone-sysusers")
if(CATWALK_SANITIZE)
  # To be tried on the way, and thrown away.
  set(CPACK_STRIP_FILES ON)
  set(CPACK_DEBIAN_COMPRESSION_TYPE gzip)
else()
  set(CPACK_DEBIAN_DEBUGINFO_PACKAGE ON)
endif()
set(CPACK_DEBIAN_PACKAGE_CONTROL_EXTRA "${debian}/conffiles;${debian}/postinst;${debian}/prerm;${debian}/postrm")
set(CPACK_THREADS 0)
# Of what debian_tree.cmake is to put into the tree.
set(CPACK_CATWALK_CHANGELOG ${debian}/changelog)
set(CPACK_CATWALK_NOTICES ${notices})
set(CPACK_CATWALK_SOURCE ${CMAKE_SOURCE_DIR})
set(CPACK_OUTPUT_CONFIG_FILE ${CMAKE_BINARY_DIR}/CPackConfig.cmake)
set(CPACK_VERBATIM_VARIABLES ON)
include(CPack)

# Made anew if anything that goes into it has changed.
file(GLOB_RECURSE data CONFIGURE_DEPENDS ${CMAKE_CURRENT_SOURCE_DIR}/../datasheets/* ${CMAKE_CURRENT_SOURCE_DIR}/../bands/*
     ${CMAKE_CURRENT_SOURCE_DIR}/../schemas/* ${CMAKE_CURRENT_SOURCE_DIR}/*)
add_custom_command(
  OUTPUT ${debian}/made
  # Without the one the package depends on nothing, and nobody is told.
  COMMAND sh -c "for one in file dpkg-shlibdeps; do command -v $one >/dev/null || { echo \"$one is missing: daemon/install_packages.sh package\" >&2; exit 1; }; done"
  COMMAND ${CMAKE_COMMAND} -DFOLDER=${debian} -P ${CMAKE_CURRENT_SOURCE_DIR}/remove_packages.cmake
  COMMAND ${CMAKE_CPACK_COMMAND} --config ${CMAKE_BINARY_DIR}/CPackConfig.cmake
  COMMAND ${CMAKE_COMMAND} -E touch ${debian}/made
  DEPENDS catwalkd catwalk catwalk-node ${written} ${notices}/NOTICES ${notices}/copyright ${notices}/catwalk.spdx.json
          ${data} ${debian}/postinst ${debian}/prerm ${debian}/postrm ${debian}/conffiles ${debian}/changelog ../catwalkd.service ../cables.json ../README.md
          ${CMAKE_SOURCE_DIR}/daemon/CHANGELOG.md ${CMAKE_SOURCE_DIR}/protocol/PROTOCOL.md
          ${CMAKE_BINARY_DIR}/CPackConfig.cmake
  VERBATIM)
add_custom_target(deb DEPENDS ${debian}/made)
