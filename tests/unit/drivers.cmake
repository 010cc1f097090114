# SPDX-License-Identifier: Apache-2.0
catwalk_test(bus_engine KIND unit SOURCES drivers_bus_engine_test.cpp USES catwalk_drivers)
