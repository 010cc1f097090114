# SPDX-License-Identifier: Apache-2.0
catwalk_test(base KIND unit SOURCES base_test.cpp USES catwalk_rack)
