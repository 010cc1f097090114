# SPDX-License-Identifier: Apache-2.0
add_library(control_fuzz_targets STATIC control_targets.cpp)
target_link_libraries(control_fuzz_targets PUBLIC catwalk_control)
catwalk_fuzz(control osc show_control)
