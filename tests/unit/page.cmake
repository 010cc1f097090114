# SPDX-License-Identifier: Apache-2.0
# The pure parts of the page, with Node's own test runner. They are bundled when the page is built.
add_test(NAME unit.page COMMAND ${CATWALK_NODE_JS} --test ${CATWALK_PAGE_DIR}/dist/tests.mjs)
set_tests_properties(unit.page PROPERTIES TIMEOUT 120 LABELS unit)
catwalk_test(web_page KIND unit SOURCES web_page_test.cpp USES catwalk_web)

add_test(NAME unit.page_imports COMMAND ${CATWALK_PYTHON} ${CMAKE_SOURCE_DIR}/tests/unit/page_imports_test.py)
set_tests_properties(unit.page_imports PROPERTIES LABELS unit)
