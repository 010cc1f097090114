# SPDX-License-Identifier: Apache-2.0
catwalk_test(way KIND unit SOURCES way_test.cpp USES catwalk_rack catwalk_physics_rack)
