# SPDX-License-Identifier: Apache-2.0
catwalk_test(physics_trade KIND reference SOURCES physics_trade_test.cpp USES catwalk_rack)
