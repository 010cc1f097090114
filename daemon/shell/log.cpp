// SPDX-License-Identifier: Apache-2.0
#include "daemon/shell/log.hpp"

#include <spdlog/pattern_formatter.h>
#include <spdlog/sinks/stdout_sinks.h>
#include <spdlog/spdlog.h>

#include "daemon/base/text.hpp"

namespace catwalk::shell {
namespace {

class LogLine final : public spdlog::formatter {
 public:
  void format(const spdlog::details::log_msg& message, spdlog::memory_buf_t& line) override {
    const auto text = with_escapes({message.payload.data(), message.payload.size()});
    auto plain = message;
    plain.payload = text;
    pattern_.format(plain, line);
  }
  std::unique_ptr<spdlog::formatter> clone() const override { return std::make_unique<LogLine>(); }

 private:
  spdlog::pattern_formatter pattern_{"%Y-%m-%dT%H:%M:%S.%e %l %v"};
};

}  // namespace

std::unique_ptr<spdlog::formatter> log_line() { return std::make_unique<LogLine>(); }

void log_to_standard_error(const std::string& level) {
  spdlog::set_default_logger(spdlog::stderr_logger_mt("catwalkd"));
  spdlog::set_formatter(log_line());
  spdlog::set_level(spdlog::level::from_str(level));
}

}  // namespace catwalk::shell
