# SPDX-License-Identifier: Apache-2.0
# The pure parts of the page, with Node's own test runner, bundled when the page is built; and how long its
# functions and files are.
add_test(NAME unit.page COMMAND ${CATWALK_NODE_JS} --test
  ${CATWALK_PAGE_DIR}/dist/tests.mjs ${CATWALK_PAGE_DIR}/test/lengths.test.mjs)
set_tests_properties(unit.page PROPERTIES TIMEOUT 120 LABELS unit)
catwalk_test(web_page KIND unit SOURCES web_page_test.cpp USES catwalk_web)

add_test(NAME unit.page_imports COMMAND ${CATWALK_PYTHON} ${CMAKE_SOURCE_DIR}/tests/unit/page_imports_test.py)
set_tests_properties(unit.page_imports PROPERTIES LABELS unit)
