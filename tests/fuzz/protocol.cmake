# SPDX-License-Identifier: Apache-2.0
# A short seeded run for every compiler, and the libFuzzer programs where clang builds with
# -DCATWALK_FUZZERS=ON (preset "fuzz"):  protocol_fuzz_packet CORPUS
option(CATWALK_FUZZERS "Build the libFuzzer programs (clang only)" OFF)

add_library(protocol_fuzz_targets STATIC protocol_targets.cpp)
target_link_libraries(protocol_fuzz_targets PUBLIC catwalk_drivers catwalk_emulated)

add_executable(protocol_fuzz_loop protocol_loop.cpp)
target_link_libraries(protocol_fuzz_loop PRIVATE protocol_fuzz_targets)

foreach(target packet frame datagram)
  add_test(NAME fuzz.${target} COMMAND protocol_fuzz_loop ${target} 20000 1)
  set_tests_properties(fuzz.${target} PROPERTIES TIMEOUT 300 LABELS fuzz
    PASS_REGULAR_EXPRESSION "^20000 executions")
  if(CATWALK_FUZZERS AND CMAKE_CXX_COMPILER_ID MATCHES "Clang")
    add_executable(protocol_fuzz_${target} protocol_libfuzzer.cpp)
    target_compile_definitions(protocol_fuzz_${target}
      PRIVATE CATWALK_FUZZ_TARGET="${target}")
    target_link_libraries(protocol_fuzz_${target} PRIVATE protocol_fuzz_targets)
    target_link_options(protocol_fuzz_${target} PRIVATE -fsanitize=fuzzer)
  endif()
endforeach()
