# SPDX-License-Identifier: Apache-2.0
catwalk_test(control KIND unit
  SOURCES control_codec_test.cpp control_time_tag_test.cpp control_commands_test.cpp
          control_bundles_test.cpp control_feedback_test.cpp
  USES catwalk_control)
catwalk_test(control_door KIND unit SOURCES control_door_test.cpp USES catwalk_control)
