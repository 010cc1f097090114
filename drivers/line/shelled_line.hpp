// SPDX-License-Identifier: Apache-2.0
#pragma once
// A line whose workings (line_shell.hpp) stay out of its header, and Asio with them.

#include <memory>
#include <utility>

#include "drivers/line/line.hpp"

namespace catwalk::drivers {

class ShelledLine : public Line {
 public:
  ~ShelledLine() override { shell_->stop(); }

  void start(NoticeHandler handler) override { shell_->start(std::move(handler)); }
  void stop() override { shell_->stop(); }
  void submit(Command command) override { shell_->submit(std::move(command)); }
  void discover() override { shell_->discover(); }
  void speak_as(protocol::Epoch epoch, bool takes_over) override {
    shell_->speak_as(epoch, takes_over);
  }
  void fall_quiet() override { shell_->fall_quiet(); }
  LineCounters counters() const override { return shell_->counters(); }

 protected:
  // Shared with the handlers that are under way; told of nothing more once this is gone.
  explicit ShelledLine(std::shared_ptr<Line> shell) : shell_{std::move(shell)} {}

 private:
  std::shared_ptr<Line> shell_;
};

}  // namespace catwalk::drivers
