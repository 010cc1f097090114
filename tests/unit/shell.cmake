# SPDX-License-Identifier: Apache-2.0
catwalk_test(shell KIND unit SOURCES shell_options_test.cpp shell_service_manager_test.cpp
             USES catwalk_shell)
