// SPDX-License-Identifier: Apache-2.0
#include "daemon/shell/log.hpp"

#include <doctest/doctest.h>
#include <spdlog/logger.h>
#include <spdlog/sinks/ostream_sink.h>

#include <memory>
#include <sstream>

using namespace catwalk;

TEST_CASE("what others have said is text in the log, on one line") {
  std::ostringstream log;
  spdlog::logger logger{"test", std::make_shared<spdlog::sinks::ostream_sink_st>(log)};
  logger.set_formatter(shell::log_line());
  logger.error("journal: why is \"{}\"", "caf\u00e9 \x1b[2J\n2026-01-01 info all is well \u202e");
  const auto text = log.str();
  CHECK(text.find(" error journal: why is \"caf\u00e9 \\u001b[2J\\u000a2026-01-01 info all is well "
                  "\\u202e\"\n") != std::string::npos);
  CHECK(text.find('\n') == text.size() - 1);
}
