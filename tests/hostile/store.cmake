# SPDX-License-Identifier: Apache-2.0
catwalk_test(bit_flips KIND hostile
  SOURCES bit_flips_test.cpp ${CMAKE_SOURCE_DIR}/tests/support/process.cpp USES catwalk_store)
catwalk_test(disk_full THREADS KIND hostile
  SOURCES disk_full_test.cpp ${CMAKE_SOURCE_DIR}/tests/support/raw_socket.cpp USES catwalk_rig)
catwalk_test(broken_journal THREADS KIND hostile
  SOURCES broken_journal_test.cpp ${CMAKE_SOURCE_DIR}/tests/support/raw_socket.cpp
  USES catwalk_rig catwalk_store)
