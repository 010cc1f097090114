# SPDX-License-Identifier: Apache-2.0
# Show control through an OSC codec from the npm registry, on Node's own sockets.
find_program(CATWALK_NODE_JS node REQUIRED)
find_program(CATWALK_NPM npm REQUIRED)
set(osc ${CMAKE_CURRENT_BINARY_DIR}/osc)

add_test(NAME end_to_end.osc_install
  COMMAND ${CMAKE_COMMAND} -DNPM=${CATWALK_NPM} -DFROM=${CMAKE_CURRENT_SOURCE_DIR}/osc -DTO=${osc}
          -P ${CMAKE_SOURCE_DIR}/tests/support/npm_install.cmake)
set_tests_properties(end_to_end.osc_install PROPERTIES
  TIMEOUT 300 LABELS end_to_end FIXTURES_SETUP osc_client)

add_test(NAME end_to_end.osc
  COMMAND ${CATWALK_NODE_JS} --test ${osc}/show_control.test.mjs)
set_tests_properties(end_to_end.osc PROPERTIES
  TIMEOUT 300 LABELS "end_to_end;threads" FIXTURES_REQUIRED osc_client
  ENVIRONMENT "CATWALKD=$<TARGET_FILE:catwalkd>;CATWALK_SOURCE=${CMAKE_SOURCE_DIR}")
add_dependencies(threaded_tests catwalkd)
