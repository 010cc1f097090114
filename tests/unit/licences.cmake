# SPDX-License-Identifier: Apache-2.0
# Needs what the compiler wrote of its includes, which Ninja keeps.
if(CMAKE_GENERATOR STREQUAL "Ninja")
  add_test(NAME unit.licences COMMAND ${CATWALK_PYTHON} ${CMAKE_CURRENT_SOURCE_DIR}/licences_test.py ${CMAKE_SOURCE_DIR}
    ${CMAKE_BINARY_DIR} ${CMAKE_MAKE_PROGRAM} ${CATWALK_PAGE_DIR}
    $<TARGET_FILE:catwalkd> $<TARGET_FILE:catwalk> $<TARGET_FILE:catwalk-node>)
  set_tests_properties(unit.licences PROPERTIES TIMEOUT 120 LABELS unit)
endif()
