# SPDX-License-Identifier: Apache-2.0
catwalk_test(protocol_codec KIND property SOURCES protocol_codec_test.cpp
             USES catwalk_protocol catwalk_emulated)
catwalk_test(bisection KIND property SOURCES protocol_bisection_test.cpp
             USES catwalk_protocol catwalk_emulated)
catwalk_test(drivers_retries KIND property SOURCES drivers_retries_test.cpp USES catwalk_drivers)
