# SPDX-License-Identifier: Apache-2.0
catwalk_test(way_property MANY KIND property SOURCES way_test.cpp
             ${CMAKE_SOURCE_DIR}/tests/support/way_oracle.cpp ${CMAKE_SOURCE_DIR}/tests/support/way_racks.cpp
  USES catwalk_rack catwalk_physics_rack)
# Ten thousand racks of up to eight nodes; some of them where sanitizers make each many times slower.
if(CATWALK_SANITIZE)
  set(many_racks 250)
else()
  set(many_racks 10000)
endif()
target_compile_definitions(way_property_test PRIVATE MANY_RACKS=${many_racks})
add_test(NAME property.way_many_racks COMMAND way_property_test --no-intro=true --no-skip
         "--test-case=the same for many racks*")
set_tests_properties(property.way_many_racks PROPERTIES TIMEOUT 600 LABELS "property;many")

catwalk_test(way_puzzle MANY KIND property SOURCES way_puzzle_test.cpp
             ${CMAKE_SOURCE_DIR}/tests/support/puzzle_oracle.cpp USES catwalk_rack)
# Ten thousand puzzles, fewer where sanitizers make each many times slower.
target_compile_definitions(way_puzzle_test PRIVATE MANY_PUZZLES=${many_racks})
add_test(NAME property.way_many_puzzles COMMAND way_puzzle_test --no-intro=true --no-skip
         "--test-case=the same for many puzzles*")
set_tests_properties(property.way_many_puzzles PROPERTIES TIMEOUT 600 LABELS "property;many")

catwalk_test(way_routes MANY KIND property SOURCES way_routes_test.cpp
             ${CMAKE_SOURCE_DIR}/tests/support/routed_oracle.cpp ${CMAKE_SOURCE_DIR}/tests/support/routed_racks.cpp
             USES catwalk_rack catwalk_physics_rack)
target_compile_definitions(way_routes_test PRIVATE MANY_RACKS=${many_racks})
add_test(NAME property.way_many_routes COMMAND way_routes_test --no-intro=true --no-skip
         "--test-case=the same for many racks*")
set_tests_properties(property.way_many_routes PROPERTIES TIMEOUT 600 LABELS "property;many")
