# SPDX-License-Identifier: Apache-2.0
# cmake -DNPM=… -DFROM=… -DTO=… -P npm_install.cmake: lays the test out in the build folder, and installs
# the packages that its lock file names unless they are there.
file(COPY ${FROM}/ ${CMAKE_CURRENT_LIST_DIR}/eventually.mjs DESTINATION ${TO} PATTERN node_modules EXCLUDE)
include(${CMAKE_CURRENT_LIST_DIR}/../../web/panel/npm_packages.cmake)
install_npm_packages(${NPM} ${TO})
