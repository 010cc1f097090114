# SPDX-License-Identifier: Apache-2.0
catwalk_test(physics_property MANY KIND property SOURCES physics_test.cpp
  USES catwalk_rack catwalk_physics_rack)
catwalk_test(air_property MANY KIND property SOURCES air_test.cpp
  USES catwalk_rack catwalk_physics_rack)
