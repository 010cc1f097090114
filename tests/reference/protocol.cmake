# SPDX-License-Identifier: Apache-2.0
catwalk_test(protocol_reference KIND reference SOURCES protocol_reference_test.cpp
             USES catwalk_protocol)
target_compile_definitions(protocol_reference_test
  PRIVATE CATWALK_PROTOCOL_MD="${CMAKE_SOURCE_DIR}/protocol/PROTOCOL.md")

# A second implementation, in another language, computes the worked examples.
add_test(NAME reference.protocol_examples
  COMMAND ${CATWALK_PYTHON} ${CMAKE_CURRENT_SOURCE_DIR}/protocol_examples.py check
          ${CMAKE_SOURCE_DIR}/protocol/PROTOCOL.md)
set_tests_properties(reference.protocol_examples PROPERTIES TIMEOUT 60 LABELS reference)

# Against the Unicode Character Database that Python carries.
add_executable(text_probe text_probe.cpp)
target_link_libraries(text_probe PRIVATE catwalk_protocol)
add_test(NAME reference.unicode_text
  COMMAND ${CATWALK_PYTHON} ${CMAKE_CURRENT_SOURCE_DIR}/unicode_text.py $<TARGET_FILE:text_probe>)
set_tests_properties(reference.unicode_text PROPERTIES TIMEOUT 120 LABELS reference)
