# SPDX-License-Identifier: Apache-2.0
# cmake -DNPM=… -DFROM=… -DTO=… -P npm_install.cmake: lays the test out in the build folder, and installs
# the packages that its lock file names unless they are there.
file(COPY ${FROM}/ ${CMAKE_CURRENT_LIST_DIR}/eventually.mjs DESTINATION ${TO} PATTERN node_modules EXCLUDE)
set(installed ${TO}/node_modules/installed-lock.json)
if(EXISTS ${installed})
  file(SHA256 ${installed} have)
endif()
file(SHA256 ${TO}/package-lock.json want)
if(NOT "${have}" STREQUAL "${want}")
  execute_process(COMMAND ${NPM} ci --ignore-scripts --no-audit --no-fund WORKING_DIRECTORY ${TO}
                  COMMAND_ERROR_IS_FATAL ANY)
  configure_file(${TO}/package-lock.json ${installed} COPYONLY)
endif()
