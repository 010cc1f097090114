# SPDX-License-Identifier: Apache-2.0
catwalk_test(plan KIND unit SOURCES plan_rack_test.cpp plan_running_order_test.cpp plan_time_zone_test.cpp
             USES catwalk_plan)
