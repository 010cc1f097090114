# SPDX-License-Identifier: Apache-2.0
catwalk_test(config_property MANY
  KIND property
  SOURCES config_test.cpp
  USES catwalk_config)
target_compile_definitions(config_property_test PRIVATE CATWALK_SOURCE_DIR="${CMAKE_SOURCE_DIR}")
