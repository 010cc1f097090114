# SPDX-License-Identifier: Apache-2.0
# Bad input at every door of running programs.
add_library(catwalk_doors STATIC ${CMAKE_SOURCE_DIR}/tests/support/raw_socket.cpp doors_bench.cpp)
target_link_libraries(catwalk_doors PUBLIC catwalk_rig doctest::doctest)

catwalk_test(doors THREADS KIND end_to_end
  SOURCES doors_http_test.cpp doors_feed_test.cpp doors_wire_test.cpp doors_config_test.cpp
          doors_cli_test.cpp
  USES catwalk_doors catwalk_protocol)
catwalk_test(security KIND end_to_end SOURCES security_test.cpp tls_test.cpp local_socket_test.cpp
  USES catwalk_doors catwalk_web)
