# SPDX-License-Identifier: Apache-2.0
# Requests, roles and connections against the doors of the panel side.
catwalk_test(hostile_http THREADS KIND hostile SOURCES requests_test.cpp memory_test.cpp
  doors_test.cpp
  USES catwalk_doors catwalk_protocol)
catwalk_test(http_mutator THREADS KIND hostile
  SOURCES http_mutator_test.cpp mutator.cpp exchange.cpp USES catwalk_doors catwalk_protocol)
catwalk_test(roles THREADS KIND hostile SOURCES roles_test.cpp USES catwalk_doors catwalk_protocol)
