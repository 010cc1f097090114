# SPDX-License-Identifier: Apache-2.0
add_library(catwalk_rig STATIC ${CMAKE_SOURCE_DIR}/tests/support/process.cpp
            ${CMAKE_SOURCE_DIR}/tests/support/rig.cpp
            ${CMAKE_SOURCE_DIR}/tests/support/matrix_rig.cpp)
target_link_libraries(catwalk_rig PUBLIC catwalk_ground catwalk_cli nlohmann_json::nlohmann_json)
target_compile_definitions(catwalk_rig PUBLIC
  CATWALKD="$<TARGET_FILE:catwalkd>" CATWALK="$<TARGET_FILE:catwalk>"
  CATWALK_NODE="$<TARGET_FILE:catwalk-node>" CATWALK_SOURCE="${CMAKE_SOURCE_DIR}")
add_dependencies(catwalk_rig catwalkd catwalk catwalk-node)

catwalk_test(rack_story THREADS KIND end_to_end SOURCES rack_test.cpp USES catwalk_rig)

catwalk_test(matrix_story THREADS KIND end_to_end
  SOURCES matrix_test.cpp ${CMAKE_SOURCE_DIR}/tests/support/raw_socket.cpp USES catwalk_rig)

catwalk_test(matrix_switch_story THREADS KIND end_to_end SOURCES matrix_switch_test.cpp
  USES catwalk_rig)

catwalk_test(search_story THREADS KIND end_to_end SOURCES search_test.cpp USES catwalk_rig)

add_library(catwalk_festival STATIC ${CMAKE_SOURCE_DIR}/tests/support/festival.cpp
            ${CMAKE_SOURCE_DIR}/tests/support/raw_socket.cpp)
target_link_libraries(catwalk_festival PUBLIC catwalk_rig)
catwalk_test(festival_story THREADS KIND end_to_end SOURCES festival_test.cpp USES catwalk_festival)

catwalk_test(crash_loop THREADS KIND end_to_end SOURCES crash_loop_test.cpp USES catwalk_festival)
# Programs that are sanitized start more slowly.
if(CATWALK_SANITIZE)
  set_property(TEST end_to_end.crash_loop PROPERTY ENVIRONMENT CATWALK_KILLS=60)
endif()

catwalk_test(bench_story THREADS KIND end_to_end SOURCES bench_test.cpp USES catwalk_rig)
# Recommendations yield to everything else that the machine does.
set_tests_properties(end_to_end.bench_story PROPERTIES RUN_SERIAL TRUE)
