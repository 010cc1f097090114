# SPDX-License-Identifier: Apache-2.0
catwalk_test(physics_trade KIND reference SOURCES physics_trade_test.cpp USES catwalk_rack)
catwalk_test(response_ripple KIND reference SOURCES response_ripple_test.cpp
  USES catwalk_rack catwalk_physics_rack)
catwalk_test(matrix_trade KIND reference SOURCES matrix_trade_test.cpp USES catwalk_rack)
