# SPDX-License-Identifier: Apache-2.0
catwalk_test(rf_chain KIND property SOURCES rf_chain_test.cpp USES catwalk_rf)
catwalk_test(rf_intermodulation KIND property SOURCES rf_intermodulation_test.cpp USES catwalk_rf)
