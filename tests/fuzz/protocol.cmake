# SPDX-License-Identifier: Apache-2.0
add_library(protocol_fuzz_targets STATIC protocol_targets.cpp)
target_link_libraries(protocol_fuzz_targets PUBLIC catwalk_drivers catwalk_emulated)
catwalk_fuzz(protocol packet frame datagram)
