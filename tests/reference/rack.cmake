# SPDX-License-Identifier: Apache-2.0
# Whole racks from files, against a calculation that shares no code with ours.
add_executable(rack_probe rack_probe.cpp)
target_link_libraries(rack_probe PRIVATE catwalk_config catwalk_rack)
add_test(NAME reference.rack_live
  COMMAND /usr/bin/python3 -B ${CMAKE_CURRENT_SOURCE_DIR}/rack_live.py $<TARGET_FILE:rack_probe>)
set_tests_properties(reference.rack_live PROPERTIES TIMEOUT 120 LABELS reference SKIP_RETURN_CODE 77)

add_test(NAME reference.matrix_products
  COMMAND /usr/bin/python3 -B ${CMAKE_CURRENT_SOURCE_DIR}/matrix_products.py $<TARGET_FILE:rack_probe>)
set_tests_properties(reference.matrix_products PROPERTIES TIMEOUT 120 LABELS reference SKIP_RETURN_CODE 77)
