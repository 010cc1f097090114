// SPDX-License-Identifier: Apache-2.0
#pragma once
// Brings notices to their handler from the event loop, never from within a call into the line.
// Includes Asio: for the .cpp files of the lines only.

#include <asio/io_context.hpp>
#include <asio/post.hpp>
#include <memory>
#include <utility>
#include <variant>
#include <vector>

#include "drivers/line/line.hpp"

namespace catwalk::drivers {

class NoticePost {
 public:
  explicit NoticePost(asio::io_context& io) : io_{&io}, to_{std::make_shared<State>()} {}
  NoticePost(const NoticePost&) = delete;
  NoticePost& operator=(const NoticePost&) = delete;
  // What is still under way is dropped: who was to hear it may be gone with the line.
  ~NoticePost() { to_->handler = nullptr; }

  void open(NoticeHandler handler) {
    to_->handler = std::move(handler);
    closed_ = false;
  }

  void send(std::vector<Notice> notices) {
    if (closed_ || notices.empty()) return;
    asio::post(*io_, [to = to_, notices = std::move(notices)] {
      for (const Notice& notice : notices) {
        // A copy: the handler may destroy the line, and this with it.
        if (const NoticeHandler handler = to->handler) handler(notice);
      }
    });
  }

  // The ends of commands and searches are still told, nothing else and nothing after.
  void close(std::vector<Notice> last) {
    std::erase_if(last, [](const Notice& notice) {
      return !std::holds_alternative<CommandFailed>(notice) &&
             !std::holds_alternative<CommandAnswered>(notice) &&
             !std::holds_alternative<DiscoveryEnded>(notice);
    });
    send(std::move(last));
    closed_ = true;
  }

 private:
  struct State {
    NoticeHandler handler;
  };
  asio::io_context* io_;
  std::shared_ptr<State> to_;
  bool closed_ = true;
};

}  // namespace catwalk::drivers
