# SPDX-License-Identifier: Apache-2.0
catwalk_test(rf_reference KIND reference
  SOURCES rf_cascade_test.cpp rf_emission_test.cpp rf_filter_test.cpp rf_intermodulation_test.cpp rf_path_test.cpp
  USES catwalk_rf)

# Live checks against Debian's scipy, numpy and ngspice; the probe prints our figures.
add_executable(rf_probe rf_probe.cpp)
target_link_libraries(rf_probe PRIVATE catwalk_rf)
foreach(check filters measured ladders intermodulation)
  add_test(NAME reference.rf_live_${check}
    COMMAND /usr/bin/python3 -B ${CMAKE_CURRENT_SOURCE_DIR}/rf_live.py ${check} $<TARGET_FILE:rf_probe>)
  set_tests_properties(reference.rf_live_${check} PROPERTIES
    TIMEOUT 120 LABELS reference SKIP_RETURN_CODE 77)
endforeach()

add_test(NAME reference.rf_products
  COMMAND /usr/bin/python3 ${CMAKE_CURRENT_SOURCE_DIR}/rf_products.py $<TARGET_FILE:rf_probe>)
set_tests_properties(reference.rf_products PROPERTIES
  TIMEOUT 120 LABELS reference SKIP_RETURN_CODE 77)

add_test(NAME reference.rf_cables
  COMMAND /usr/bin/python3 ${CMAKE_CURRENT_SOURCE_DIR}/rf_cables.py
          ${CMAKE_SOURCE_DIR}/config/cables.json)
set_tests_properties(reference.rf_cables PROPERTIES TIMEOUT 60 LABELS reference)
