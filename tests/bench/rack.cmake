# SPDX-License-Identifier: Apache-2.0
# Programs that measure; each prints its two figures, their ratio and what it should reach, and ends
# with 1 if it does not. Build them with the release preset, and run them from tests/bench of the
# build folder. In ctest they only run as a smoke test, without a judgement.
add_library(catwalk_bench STATIC bench.cpp load.cpp ${CMAKE_SOURCE_DIR}/tests/support/raw_socket.cpp)
target_link_libraries(catwalk_bench PUBLIC catwalk_rig)

add_executable(bare_server bare_server.cpp)
target_link_libraries(bare_server PRIVATE catwalk_ground catwalk_panel_asio)
add_executable(udp_echo udp_echo.cpp)
target_link_libraries(udp_echo PRIVATE catwalk_ground)
target_compile_definitions(catwalk_bench PUBLIC
  BARE_SERVER="$<TARGET_FILE:bare_server>" UDP_ECHO="$<TARGET_FILE:udp_echo>")
add_dependencies(catwalk_bench bare_server udp_echo)

function(catwalk_bench_program name)
  add_executable(bench_${name} ${name}.cpp)
  target_link_libraries(bench_${name} PRIVATE catwalk_bench ${ARGN})
  add_test(NAME bench.${name} COMMAND bench_${name} --smoke)
  set_tests_properties(bench.${name} PROPERTIES TIMEOUT 120 LABELS bench RUN_SERIAL TRUE)
endfunction()

catwalk_bench_program(get_node)
catwalk_bench_program(change_udp catwalk_store)
catwalk_bench_program(change_searched catwalk_store)
catwalk_bench_program(poll_serial catwalk_drivers)
catwalk_bench_program(memory)
catwalk_bench_program(idle_feed)
catwalk_bench_program(start)
catwalk_bench_program(physics catwalk_rack catwalk_physics_rack)
catwalk_bench_program(switch_serial catwalk_config catwalk_rack catwalk_drivers)
catwalk_bench_program(switch_udp)
catwalk_bench_program(fan_out catwalk_web)
target_sources(bench_fan_out PRIVATE bare_broadcast.cpp)
catwalk_bench_program(babbler catwalk_protocol)
target_sources(bench_babbler PRIVATE ${CMAKE_SOURCE_DIR}/tests/hostile/played_net.cpp)
