# SPDX-License-Identifier: Apache-2.0
catwalk_test(protocol KIND unit
  SOURCES protocol_codec_test.cpp protocol_frame_test.cpp protocol_datagram_test.cpp
          protocol_values_test.cpp protocol_text_test.cpp protocol_sha256_test.cpp
  USES catwalk_protocol)
