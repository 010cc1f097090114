# SPDX-License-Identifier: Apache-2.0
catwalk_test(way_property KIND property SOURCES way_test.cpp
             ${CMAKE_SOURCE_DIR}/tests/support/way_oracle.cpp ${CMAKE_SOURCE_DIR}/tests/support/way_racks.cpp
  USES catwalk_rack catwalk_physics_rack)
add_test(NAME property.way_ten_thousand_racks COMMAND way_property_test --no-intro=true --no-skip
         "--test-case=the same for ten thousand*")
set_tests_properties(property.way_ten_thousand_racks PROPERTIES TIMEOUT 600 LABELS property)
