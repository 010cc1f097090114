# SPDX-License-Identifier: Apache-2.0
# A short seeded run for every compiler, and the libFuzzer program where clang builds with
#   -DCATWALK_FUZZERS=ON -DCATWALK_SANITIZE=fuzzer-no-link,address,undefined
# to be run as  config_fuzz CORPUS -dict=tests/fuzz/config.dict -len_control=0 -max_len=20000

add_library(config_fuzz_target STATIC config_target.cpp)
target_link_libraries(config_fuzz_target PUBLIC catwalk_config)
target_compile_definitions(config_fuzz_target PRIVATE CATWALK_SOURCE_DIR="${CMAKE_SOURCE_DIR}")

add_executable(config_fuzz_loop config_loop.cpp)
target_link_libraries(config_fuzz_loop PRIVATE config_fuzz_target)
set(demo ${CMAKE_SOURCE_DIR}/config)
add_test(NAME fuzz.config
  COMMAND config_fuzz_loop 2000 1 0:${demo}/demo/harbour.rack.json 1:${demo}/demo/harbour.show.json
    2:${demo}/datasheets/tern-inline.json 3:${demo}/bands/nz.json 5:${demo}/cables.json)
set_tests_properties(fuzz.config PROPERTIES TIMEOUT 300 LABELS fuzz
  PASS_REGULAR_EXPRESSION "^2000 executions")

if(CATWALK_FUZZERS AND CMAKE_CXX_COMPILER_ID MATCHES "Clang")
  add_executable(config_fuzz config_libfuzzer.cpp)
  target_link_libraries(config_fuzz PRIVATE config_fuzz_target)
  target_link_options(config_fuzz PRIVATE -fsanitize=fuzzer)
endif()
