# SPDX-License-Identifier: Apache-2.0
catwalk_test(core_property KIND property SOURCES core_test.cpp USES catwalk_rack)
