# SPDX-License-Identifier: Apache-2.0
catwalk_test(store THREADS KIND unit
  SOURCES store_journal_test.cpp store_open_test.cpp store_reader_test.cpp store_thread_test.cpp
          ${CMAKE_SOURCE_DIR}/tests/support/process.cpp
  USES catwalk_store)
