// SPDX-License-Identifier: Apache-2.0
#pragma once
// One panel on the live feed, over a stream of either kind. Internal to the room, as
// connection.hpp is, which makes them.

#include <utility>
// Boost 1.74 needs <utility> first.
#include <boost/asio.hpp>
#include <boost/beast.hpp>
#include <boost/beast/ssl.hpp>
#include <deque>

#include "web/server/feed/feed_query.hpp"
#include "web/server/wire/hub.hpp"

namespace catwalk::web {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = beast::http;
namespace websocket = beast::websocket;

using PlainStream = beast::basic_stream<asio::generic::stream_protocol>;
using TlsStream = beast::ssl_stream<PlainStream>;

constexpr std::size_t largest_panel_message = 65'536;  // bytes

// On the live feed. Its queue is bounded: a panel that falls behind loses its backlog and is given
// a fresh snapshot instead, so it costs nothing but that.
template <class Stream>
class PanelOn final : public Panel,
                      public Guest,
                      public std::enable_shared_from_this<PanelOn<Stream>> {
 public:
  PanelOn(Stream stream, std::shared_ptr<Hub> hub, std::shared_ptr<Seat> seat,
          std::optional<Login> login)
      : socket_{std::move(stream)},
        hub_{std::move(hub)},
        seat_{std::move(seat)},
        login_{std::move(login)},
        login_ends_{socket_.get_executor()} {
    seat_->give_to(this);
  }

  void accept(http::request<http::string_body> request, const FeedQuery& query) {
    socket_.read_message_max(largest_panel_message);
    auto timeouts = websocket::stream_base::timeout::suggested(beast::role_type::server);
    timeouts.idle_timeout = std::chrono::seconds{20};
    timeouts.keep_alive_pings = true;
    socket_.set_option(timeouts);
    // A message is one frame, and so one write: Beast makes pieces of 4 KiB otherwise.
    socket_.auto_fragment(false);
    telling_ = query.telling;
    if (query.server == hub_->feed.server_id()) resume_from_ = query.since;
    hub_->panels.push_back(this->weak_from_this());
    // Beast reads the request until the handshake is done.
    request_ = std::move(request);
    socket_.async_accept(request_, [self = this->shared_from_this()](beast::error_code error) {
      if (!error) self->begin();
    });
  }

  void tell(const ToldChange& change) override { push(change.as(telling_)); }

  void log_out() override { close(4401, "The login is over."); }

  void take_leave(std::shared_ptr<void> gone) override {
    if (!open_) {
      leaves_ = std::move(gone);  // as soon as hands are shaken
      return;
    }
    close(websocket::close_code::going_away, "The daemon is stopping.", std::move(gone));
  }

  std::optional<Telling> telling() const override {
    return open_ ? std::optional{telling_} : std::nullopt;
  }
  const Login* login() const override { return login_ ? &*login_ : nullptr; }

  // No panel stands in line.
  void give_way() override { turn_out(); }
  void turn_out() override {
    if (open_) return log_out();
    beast::error_code ignored;
    beast::get_lowest_layer(socket_).socket().close(ignored);
  }

 private:
  void begin() {
    open_ = true;
    socket_.text(true);
    if (leaves_) return take_leave(std::move(leaves_));
    // It may have ended while hands were shaken.
    if (login_ && !hub_->logins.is_open(*login_, wall_clock())) return log_out();
    push(hub_->feed.hello());
    const auto missed = resume_from_ ? hub_->feed.since(*resume_from_, telling_) : std::nullopt;
    if (missed && missed->size() + 1 < hub_->options.panel_queue)
      for (const auto& text : *missed) push(text);
    else
      push(hub_->feed.snapshot(wall_clock()));
    if (login_) {
      login_ends_.expires_at(login_->ends);
      login_ends_.async_wait([weak = this->weak_from_this()](beast::error_code stopped) {
        if (const auto self = weak.lock(); self && !stopped) self->log_out();
      });
    }
    read();
  }

  void push(const SharedText& text) {
    if (!open_ || behind_) return;  // the snapshot that is owed will have it
    const bool too_much = !queue_.empty() && waiting_ + text->size() > hub_->options.panel_waits;
    if (queue_.size() >= hub_->options.panel_queue || too_much) {
      drop_backlog();
      return;
    }
    queue_.push_back(text);
    waiting_ += text->size();
    if (queue_.size() == 1) write();
  }

  // The message that is being written must stay.
  void drop_backlog() {
    queue_.resize(1);
    waiting_ = queue_.front()->size();
    behind_ = true;
    ++hub_->backlogs_dropped;
  }

  void close(std::uint16_t code, const char* why, std::shared_ptr<void> closed = {}) {
    if (!open_) return;
    open_ = false;
    login_ends_.cancel();
    socket_.async_close(
        {static_cast<websocket::close_code>(code), why},
        [self = this->shared_from_this(), closed = std::move(closed)](beast::error_code) {});
  }

  void read() {
    socket_.async_read(
        buffer_, [self = this->shared_from_this()](beast::error_code error, std::size_t) {
          if (error) return self->end();
          const auto ask = read_panel_message(beast::buffers_to_string(self->buffer_.data()),
                                              self->socket_.got_text());
          self->buffer_.consume(self->buffer_.size());
          if (ask.snapshot)
            self->push_snapshot();
          else
            self->push(ask.problem);
          // A panel is listened to when it has taken what it asked for.
          self->listens_ = self->queue_.empty() || !self->open_;
          if (self->listens_) self->read();
        });
  }

  // What waits behind the message under way is in the snapshot as well.
  void push_snapshot() {
    if (!open_ || behind_) return;
    if (queue_.empty()) return push(hub_->feed.snapshot(wall_clock()));
    drop_backlog();
  }

  void write() {
    socket_.async_write(asio::buffer(*queue_.front()),
                        [self = this->shared_from_this()](beast::error_code error, std::size_t) {
                          if (error) {
                            self->queue_.clear();
                            return self->end();
                          }
                          self->waiting_ -= self->queue_.front()->size();
                          self->queue_.pop_front();
                          if (self->behind_ && self->queue_.empty()) {
                            self->behind_ = false;
                            self->queue_.push_back(self->hub_->feed.snapshot(wall_clock()));
                            self->waiting_ = self->queue_.front()->size();
                          }
                          if (!self->queue_.empty() && self->open_) return self->write();
                          if (self->open_ && !std::exchange(self->listens_, true)) self->read();
                        });
  }

  void end() {
    open_ = false;
    login_ends_.cancel();
  }

  websocket::stream<Stream> socket_;
  std::shared_ptr<Hub> hub_;
  std::shared_ptr<Seat> seat_;
  std::optional<Login> login_;
  asio::system_timer login_ends_;  // by the wall clock, as the login does
  http::request<http::string_body> request_;
  std::optional<std::uint64_t> resume_from_;
  beast::flat_buffer buffer_{2 * largest_panel_message};  // Beast prepares more than it needs
  Telling telling_ = Telling::whole_nodes;
  std::deque<SharedText> queue_;
  std::size_t waiting_ = 0;  // bytes in it
  std::shared_ptr<void> leaves_;
  bool open_ = false;
  bool listens_ = true;
  bool behind_ = false;
};

}  // namespace catwalk::web
