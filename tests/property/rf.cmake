# SPDX-License-Identifier: Apache-2.0
catwalk_test(rf_intermodulation KIND property SOURCES rf_intermodulation_test.cpp USES catwalk_rf)
