# SPDX-License-Identifier: Apache-2.0
# Against Python's zoneinfo (PEP 615), which reads the same database by itself.
add_executable(time_zone_probe time_zone_probe.cpp)
target_link_libraries(time_zone_probe PRIVATE catwalk_config)
add_test(NAME reference.time_zones
  COMMAND ${CATWALK_PYTHON} ${CMAKE_CURRENT_SOURCE_DIR}/time_zones.py $<TARGET_FILE:time_zone_probe>)
set_tests_properties(reference.time_zones PROPERTIES TIMEOUT 120 LABELS reference)
