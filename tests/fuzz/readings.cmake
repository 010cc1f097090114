# SPDX-License-Identifier: Apache-2.0
add_library(readings_fuzz_targets STATIC readings_targets.cpp)
target_link_libraries(readings_fuzz_targets PUBLIC catwalk_rack catwalk_physics_rack)
# Each looks at a whole rack, its ways and its spectrum: some milliseconds.
catwalk_fuzz(readings EXECUTIONS 300 readings)
