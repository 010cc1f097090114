# SPDX-License-Identifier: Apache-2.0
catwalk_test(control_osc KIND reference SOURCES control_osc_test.cpp USES catwalk_control)
