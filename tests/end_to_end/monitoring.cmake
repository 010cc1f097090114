# SPDX-License-Identifier: Apache-2.0
add_test(NAME end_to_end.monitoring COMMAND ${CATWALK_PYTHON} ${CMAKE_CURRENT_SOURCE_DIR}/monitoring_test.py
  $<TARGET_FILE:catwalkd> ${CMAKE_SOURCE_DIR}/config/demo/bench.rack.json ${CMAKE_SOURCE_DIR}/config/monitoring)
set_tests_properties(end_to_end.monitoring PROPERTIES TIMEOUT 120 LABELS end_to_end)
