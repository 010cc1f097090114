# SPDX-License-Identifier: Apache-2.0
catwalk_test(rules KIND unit SOURCES rules_test.cpp USES catwalk_rack)
catwalk_test(band_rules KIND unit SOURCES band_rules_test.cpp USES catwalk_rack)
catwalk_test(core KIND unit SOURCES core_test.cpp USES catwalk_rack)
catwalk_test(switch KIND unit SOURCES switch_test.cpp running_order_test.cpp core_records_test.cpp USES catwalk_rack)
catwalk_test(demo KIND unit SOURCES demo_test.cpp USES catwalk_config catwalk_rack)
target_compile_definitions(demo_test PRIVATE CATWALK_SOURCE="${CMAKE_SOURCE_DIR}")

add_test(NAME unit.includes COMMAND ${CATWALK_PYTHON} ${CMAKE_SOURCE_DIR}/tests/unit/includes_test.py)
set_tests_properties(unit.includes PROPERTIES LABELS unit)
catwalk_test(node_response KIND unit SOURCES node_response_test.cpp USES catwalk_rack catwalk_physics_rack)
catwalk_test(impossible_readings KIND unit SOURCES impossible_readings_test.cpp USES catwalk_rack catwalk_physics_rack)
