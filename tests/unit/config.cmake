# SPDX-License-Identifier: Apache-2.0
catwalk_test(config
  KIND unit
  SOURCES config_broken_files_test.cpp config_key_file_test.cpp config_load_test.cpp
    config_matrix_test.cpp
    config_physics_test.cpp config_reader_test.cpp config_running_order_test.cpp
    config_segments_test.cpp
  USES catwalk_config nlohmann_json::nlohmann_json)
target_compile_definitions(config_test PRIVATE CATWALK_SOURCE_DIR="${CMAKE_SOURCE_DIR}")

# The published JSON Schemas against the shipped files and the table of broken ones.
add_test(NAME unit.config_schemas
  COMMAND ${CATWALK_PYTHON} ${CMAKE_CURRENT_SOURCE_DIR}/config/schemas_test.py ${CMAKE_SOURCE_DIR})
set_tests_properties(unit.config_schemas PROPERTIES TIMEOUT 120 LABELS unit)

catwalk_test(config_datasheets
  KIND unit
  SOURCES config_datasheets_test.cpp
  USES catwalk_config catwalk_drivers)
target_compile_definitions(config_datasheets_test PRIVATE CATWALK_SOURCE_DIR="${CMAKE_SOURCE_DIR}")
