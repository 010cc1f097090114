# SPDX-License-Identifier: Apache-2.0
catwalk_test(cli THREADS KIND unit
  SOURCES cli_arguments_test.cpp cli_route_words_test.cpp cli_settings_words_test.cpp cli_table_test.cpp
          cli_commands_test.cpp cli_physics_test.cpp cli_switch_test.cpp cli_show_test.cpp cli_crew_test.cpp
          ${CMAKE_SOURCE_DIR}/tests/support/raw_socket.cpp
  USES catwalk_cli)
