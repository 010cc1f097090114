# SPDX-License-Identifier: Apache-2.0
catwalk_test(rf_reference KIND reference
  SOURCES rf_cascade_test.cpp rf_filter_test.cpp rf_path_test.cpp
  USES catwalk_rf)
