# SPDX-License-Identifier: Apache-2.0
catwalk_test(bus_engine KIND unit SOURCES drivers_bus_engine_test.cpp USES catwalk_drivers)
catwalk_test(datagram_engine KIND unit SOURCES drivers_datagram_engine_test.cpp
             USES catwalk_drivers)
catwalk_test(hostile_node KIND unit SOURCES drivers_hostile_node_test.cpp USES catwalk_drivers)
catwalk_test(asking KIND unit SOURCES drivers_asking_test.cpp USES catwalk_drivers)
catwalk_test(emulated_node KIND unit SOURCES drivers_emulated_node_test.cpp
             USES catwalk_emulated catwalk_node_program)
catwalk_test(emulated_matrix KIND unit SOURCES drivers_emulated_matrix_test.cpp
             USES catwalk_emulated catwalk_node_program)
catwalk_test(matrix_line KIND unit SOURCES drivers_matrix_line_test.cpp USES catwalk_drivers)
catwalk_test(lines KIND unit SOURCES drivers_lines_test.cpp
             USES catwalk_drivers catwalk_node_program)
catwalk_test(udp_search KIND unit SOURCES drivers_udp_search_test.cpp
             USES catwalk_drivers catwalk_node_program)
catwalk_test(search KIND unit SOURCES drivers_search_test.cpp drivers_net_search_test.cpp
             USES catwalk_drivers)
