# SPDX-License-Identifier: Apache-2.0
add_test(NAME unit.version COMMAND ${CATWALK_PYTHON} ${CMAKE_CURRENT_SOURCE_DIR}/version_test.py ${CMAKE_SOURCE_DIR}
  ${CMAKE_COMMAND} ${PROJECT_VERSION} $<TARGET_FILE:catwalkd> $<TARGET_FILE:catwalk> $<TARGET_FILE:catwalk-node>)
set_tests_properties(unit.version PROPERTIES TIMEOUT 120 LABELS unit)
