# SPDX-License-Identifier: Apache-2.0
catwalk_test(store THREADS KIND unit
  SOURCES store_formats_test.cpp store_journal_test.cpp store_matrix_test.cpp store_open_test.cpp store_reader_test.cpp store_thread_test.cpp
          ${CMAKE_SOURCE_DIR}/tests/support/process.cpp
  USES catwalk_store)
target_compile_definitions(store_test PRIVATE CATWALK_KEPT_STATES="${CMAKE_CURRENT_SOURCE_DIR}/kept_states")
