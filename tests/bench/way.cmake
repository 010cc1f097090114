# SPDX-License-Identifier: Apache-2.0
add_executable(bench_plan_switch plan_switch.cpp ${CMAKE_SOURCE_DIR}/tests/support/way_racks.cpp)
target_link_libraries(bench_plan_switch PRIVATE catwalk_bench catwalk_rack catwalk_physics_rack)
add_test(NAME bench.plan_switch COMMAND bench_plan_switch --smoke)
set_tests_properties(bench.plan_switch PROPERTIES TIMEOUT 120 LABELS bench)
