# SPDX-License-Identifier: Apache-2.0
# cmake -DNPM=… -DNODE=… -DFROM=web/panel -DTO=… -DOPENAPI=… -DEMBED=….cpp [-DTESTS=ON] -P page.cmake:
# lays the page out in the build folder, installs the packages that its lock file names unless they are
# there, and builds it.
file(REMOVE_RECURSE ${TO}/src ${TO}/test ${TO}/tools)
file(COPY ${FROM}/ DESTINATION ${TO} PATTERN node_modules EXCLUDE PATTERN dist EXCLUDE PATTERN generated EXCLUDE)
include(${CMAKE_CURRENT_LIST_DIR}/npm_packages.cmake)
install_npm_packages(${NPM} ${TO})
set(tests)
if(TESTS)
  set(tests --tests)
endif()
execute_process(COMMAND ${NODE} build.mjs --openapi ${OPENAPI} --out ${TO}/dist --embed ${EMBED} ${tests}
                WORKING_DIRECTORY ${TO} COMMAND_ERROR_IS_FATAL ANY)
