# SPDX-License-Identifier: Apache-2.0
add_library(catwalk_web_fixture STATIC ${CMAKE_SOURCE_DIR}/tests/support/json_schema.cpp
            ${CMAKE_SOURCE_DIR}/tests/support/web_fixture.cpp)
target_link_libraries(catwalk_web_fixture PUBLIC catwalk_web doctest::doctest)

catwalk_test(web_input KIND unit
  SOURCES web_input_test.cpp web_bounds_test.cpp web_seats_test.cpp web_doorkeeper_test.cpp web_login_test.cpp web_access_test.cpp web_target_test.cpp web_tls_test.cpp USES catwalk_web)
catwalk_test(web_api KIND unit
  SOURCES web_api_test.cpp web_changes_test.cpp web_condition_test.cpp web_switch_test.cpp web_crew_test.cpp web_matrix_test.cpp web_openapi_test.cpp web_idempotency_test.cpp
  USES catwalk_web_fixture)
catwalk_test(web_physics KIND unit SOURCES web_physics_test.cpp web_spectrum_test.cpp
             USES catwalk_web_fixture)
catwalk_test(web_record KIND unit SOURCES web_record_test.cpp USES catwalk_web_fixture)
catwalk_test(web_worker THREADS KIND unit SOURCES web_worker_test.cpp USES catwalk_web)
catwalk_test(web_feed KIND unit SOURCES web_feed_test.cpp web_metrics_test.cpp
             USES catwalk_web_fixture)
catwalk_test(web_server THREADS KIND unit
  SOURCES web_server_test.cpp ${CMAKE_SOURCE_DIR}/tests/support/raw_socket.cpp USES catwalk_web_fixture)
