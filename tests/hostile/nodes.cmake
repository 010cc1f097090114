# SPDX-License-Identifier: Apache-2.0
# Nodes that lie, strangers with recordings, floods.
catwalk_test(hostile_nodes THREADS KIND hostile SOURCES nodes_test.cpp played_net.cpp
             ${CMAKE_SOURCE_DIR}/tests/support/raw_socket.cpp
             USES catwalk_rig catwalk_protocol)

# By hand for hours; here for as long as it takes to see that it still runs.
add_executable(soak soak.cpp played_net.cpp ${CMAKE_SOURCE_DIR}/tests/support/raw_socket.cpp)
target_link_libraries(soak PRIVATE catwalk_rig catwalk_protocol)
add_test(NAME hostile.soak COMMAND soak --minutes 0.1 --panels 20)
set_tests_properties(hostile.soak PROPERTIES TIMEOUT 300 LABELS hostile RUN_SERIAL TRUE)
