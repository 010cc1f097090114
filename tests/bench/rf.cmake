# SPDX-License-Identifier: Apache-2.0
add_executable(rf_bench rf_bench.cpp)
target_link_libraries(rf_bench PRIVATE catwalk_rf)
add_test(NAME bench.rf_smoke COMMAND rf_bench --smoke)
set_tests_properties(bench.rf_smoke PROPERTIES TIMEOUT 120 LABELS bench)
