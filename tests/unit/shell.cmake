# SPDX-License-Identifier: Apache-2.0
catwalk_test(shell KIND unit
  SOURCES shell_log_test.cpp shell_login_key_test.cpp shell_options_test.cpp shell_service_manager_test.cpp
          ${CMAKE_SOURCE_DIR}/tests/support/process.cpp
  USES catwalk_shell)
