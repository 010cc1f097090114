# SPDX-License-Identifier: Apache-2.0
# Runs in CPack's tree after everything is installed there: adds the documents that Debian wants, and
# compresses what Debian has compressed.
set(tree ${CPACK_TEMPORARY_INSTALL_DIRECTORY}${CPACK_PACKAGING_INSTALL_PREFIX})
set(documents ${tree}/share/doc/catwalk)
file(MAKE_DIRECTORY ${documents})
configure_file(${CPACK_CATWALK_NOTICES}/copyright ${documents}/copyright COPYONLY)
configure_file(${CPACK_CATWALK_NOTICES}/NOTICES ${documents}/NOTICES COPYONLY)
configure_file(${CPACK_CATWALK_NOTICES}/catwalk.spdx.json ${documents}/catwalk.spdx.json COPYONLY)
configure_file(${CPACK_CATWALK_CHANGELOG} ${documents}/changelog COPYONLY)
configure_file(${CPACK_CATWALK_SOURCE}/daemon/CHANGELOG.md ${documents}/CHANGELOG.md COPYONLY)
configure_file(${CPACK_CATWALK_SOURCE}/protocol/PROTOCOL.md ${documents}/PROTOCOL.md COPYONLY)
configure_file(${CPACK_CATWALK_SOURCE}/config/README.md ${documents}/FILES.md COPYONLY)
configure_file(${CPACK_CATWALK_SOURCE}/config/package/README.Debian ${documents}/README.Debian COPYONLY)
configure_file(${CPACK_CATWALK_SOURCE}/config/package/debian/needrestart.conf
               ${CPACK_TEMPORARY_INSTALL_DIRECTORY}/etc/needrestart/conf.d/catwalk.conf COPYONLY)
file(GLOB pages ${tree}/share/man/man*/*)
file(GLOB long ${documents}/*.md ${documents}/NOTICES ${documents}/changelog ${documents}/catwalk.spdx.json)
# Without a name and a time in it, so that the same content is the same file.
execute_process(COMMAND gzip -9nf ${pages} ${long} COMMAND_ERROR_IS_FATAL ANY)
file(GLOB_RECURSE all LIST_DIRECTORIES true ${CPACK_TEMPORARY_INSTALL_DIRECTORY}/*)
foreach(one ${all})
  if(IS_DIRECTORY ${one} OR one MATCHES "/bin/")
    file(CHMOD ${one} PERMISSIONS OWNER_READ OWNER_WRITE OWNER_EXECUTE GROUP_READ GROUP_EXECUTE WORLD_READ WORLD_EXECUTE)
  else()
    file(CHMOD ${one} PERMISSIONS OWNER_READ OWNER_WRITE GROUP_READ WORLD_READ)
  endif()
endforeach()
