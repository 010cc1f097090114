# SPDX-License-Identifier: Apache-2.0
# cmake -DNPM=… -DNODE=… -DFROM=web/panel -DTO=… -DOPENAPI=… -DEMBED=….cpp [-DTESTS=ON] -P page.cmake:
# lays the page out in the build folder, installs the packages that its lock file names unless they are
# there, and builds it.
file(REMOVE_RECURSE ${TO}/src ${TO}/test ${TO}/tools)
file(COPY ${FROM}/ DESTINATION ${TO} PATTERN node_modules EXCLUDE PATTERN dist EXCLUDE PATTERN generated EXCLUDE)
set(installed ${TO}/node_modules/installed-lock.json)
if(EXISTS ${installed})
  file(SHA256 ${installed} have)
endif()
file(SHA256 ${TO}/package-lock.json want)
if(NOT "${have}" STREQUAL "${want}")
  execute_process(COMMAND ${NPM} ci --ignore-scripts --no-audit --no-fund --loglevel=error
                  WORKING_DIRECTORY ${TO} OUTPUT_QUIET COMMAND_ERROR_IS_FATAL ANY)
  configure_file(${TO}/package-lock.json ${installed} COPYONLY)
endif()
set(tests)
if(TESTS)
  set(tests --tests)
endif()
execute_process(COMMAND ${NODE} build.mjs --openapi ${OPENAPI} --out ${TO}/dist --embed ${EMBED} ${tests}
                WORKING_DIRECTORY ${TO} COMMAND_ERROR_IS_FATAL ANY)
