# SPDX-License-Identifier: Apache-2.0
# What the air does between antennas, against published figures, and against formulas written apart.
catwalk_test(air_reference KIND reference SOURCES rf_external_noise_test.cpp rf_fading_test.cpp
  rf_propagation_test.cpp USES catwalk_rf)
catwalk_test(air_trade KIND reference SOURCES air_trade_test.cpp USES catwalk_rack)
catwalk_test(transmitters_trade KIND reference SOURCES transmitters_trade_test.cpp USES catwalk_rack)

add_executable(air_probe air_probe.cpp)
target_link_libraries(air_probe PRIVATE catwalk_rack)
foreach(check ways fading noise responses)
  add_test(NAME reference.air_live_${check}
    COMMAND /usr/bin/python3 -B ${CMAKE_CURRENT_SOURCE_DIR}/air_live.py ${check} $<TARGET_FILE:air_probe>)
  set_tests_properties(reference.air_live_${check} PROPERTIES TIMEOUT 120 LABELS reference)
endforeach()
