// SPDX-License-Identifier: Apache-2.0
#pragma once
// One HTTP connection, over a stream of either kind: plain, or TLS on it. Internal to the room:
// only connection_plain.cpp and connection_tls.cpp, which make them, and bear Beast's weight.

#include <utility>
// Boost 1.74 needs <utility> first.
#include <poll.h>

#include <array>
#include <atomic>
#include <boost/asio.hpp>
#include <boost/beast.hpp>
#include <exception>

#include "web/server/api/answer.hpp"
#include "web/server/doors/login_route.hpp"
#include "web/server/http/coding.hpp"
#include "web/server/http/page_files.hpp"
#include "web/server/http/problem.hpp"
#include "web/server/wire/begin.hpp"
#include "web/server/wire/panel_on.hpp"
#include "web/server/wire/request_head.hpp"

namespace catwalk::web {

// A request, its answer, and so on until either side has enough.
template <class Stream>
class Connection final : public Guest, public std::enable_shared_from_this<Connection<Stream>> {
 public:
  Connection(Stream stream, Arrival arrival, std::shared_ptr<Hub> hub)
      : stream_{std::move(stream)},
        arrival_{std::move(arrival)},
        hub_{std::move(hub)},
        seat_{std::make_shared<Seat>(hub_, arrival_.holder, this)},
        too_late_{stream_.get_executor()},
        asker_{stream_.get_executor()},
        buffer_{hub_->options.largest_piece} {}

  void begin() {
    if constexpr (std::is_same_v<Stream, TlsStream>) {
      wait();
      stream_.async_handshake(asio::ssl::stream_base::server,
                              [self = this->shared_from_this()](beast::error_code error) {
                                self->stop_waiting();
                                if (!error) self->read();
                              });
    } else {
      read();
    }
  }

  void give_way() override {
    waits_ = false;
    seat_->leave();
    beast::error_code ignored;
    lowest().socket().close(ignored);
  }
  void turn_out() override { give_way(); }

 private:
  PlainStream& lowest() { return beast::get_lowest_layer(stream_); }

  void read() {
    parser_.emplace();
    parser_->body_limit(hub_->options.largest_body);
    parser_->header_limit(static_cast<std::uint32_t>(hub_->options.largest_header));
    request_bytes_ = 0;
    head_fields_.reset();
    said_go_on_ = false;
    head_only_ = false;  // of the request before
    accept_encoding_.clear();
    wait();
    read_some();
  }

  // Piece by piece, so that the header is judged before what follows can change it, and what
  // surrounds the body of a chunked request is counted.
  void read_some() {
    http::async_read_some(
        stream_, buffer_, *parser_,
        [self = this->shared_from_this()](beast::error_code error, std::size_t bytes) {
          self->request_bytes_ += bytes;
          if (!error && !self->head_fields_ && self->parser_->is_header_done()) {
            self->head_fields_ = self->count_fields();
            self->head_only_ = self->parser_->get().method() == http::verb::head;
            self->framing_ = bad_framing(said_of_body(self->parser_->get()));
          }
          if (!error && self->is_to_go_on()) return self->say_go_on();
          const bool goes_on = !error && !self->framing_ && !self->parser_->is_done() &&
                               self->request_bytes_ <= self->hub_->options.largest_request;
          if (goes_on) return self->read_some();
          self->stop_waiting();
          self->on_read(error);
        });
  }

  // Whoever asks before it sends a body is told to go on, once, if it can be read: who it is and
  // what it wants is looked at when it is whole. RFC 9110, section 10.1.1.
  bool is_to_go_on() {
    return !said_go_on_ && !framing_ && parser_->is_header_done() && !parser_->is_done() &&
           expects_to_go_on(parser_->get());
  }

  void say_go_on() {
    said_go_on_ = true;
    asio::async_write(stream_, asio::buffer(go_on),
                      [self = this->shared_from_this()](beast::error_code error, std::size_t) {
                        if (error) return;
                        if (self->timed_out_) return self->on_read({});
                        self->read_some();
                      });
  }

  std::size_t count_fields() const {
    return static_cast<std::size_t>(std::distance(parser_->get().begin(), parser_->get().end()));
  }

  // From now on for a request, which has to be whole when `idle` is over. One timer for the life of
  // the connection, which is moved on when it fires too early: setting it anew for each request
  // costs more than answering one.
  void wait() { wait(hub_->options.idle); }
  void wait(std::chrono::milliseconds at_most) {
    seat_->queue_up();
    waits_ = true;
    deadline_ = std::chrono::steady_clock::now() + at_most;
    if (!timer_runs_ || too_late_.expiry() > deadline_) watch();
  }

  void stop_waiting() {
    waits_ = false;
    // A stranger's seat can be had until it has said who it is, even if it reads what we send.
    if (seat_->holder().kind != Guests::strangers) seat_->leave_queue();
  }

  void watch() {
    timer_runs_ = true;
    too_late_.expires_at(deadline_);
    too_late_.async_wait([weak = this->weak_from_this()](beast::error_code stopped) {
      const auto self = weak.lock();
      if (!self || stopped) return;  // stopped: the timer was set anew
      self->timer_runs_ = false;
      if (!self->waits_) return;
      if (std::chrono::steady_clock::now() < self->deadline_) return self->watch();
      self->timed_out_ = true;
      self->lowest().cancel();
    });
  }

  void on_read(beast::error_code error) {
    if (timed_out_) {
      // RFC 9110, section 15.5.9. One that has not said a word is not answered either.
      const bool has_begun = parser_ && (parser_->got_some() || buffer_.size() > 0);
      return has_begun ? refuse_broken(408, "slow",
                                       "The request was not whole after " +
                                           std::to_string(hub_->options.idle.count()) + " ms.")
                       : close();
    }
    if (error == http::error::end_of_stream) return close();
    if (error == http::error::body_limit)
      return refuse_broken(
          413, "body-size",
          "The body is larger than " + std::to_string(hub_->options.largest_body) + " bytes.");
    if (error == http::error::header_limit)
      return refuse_broken(
          431, "header-size",
          "The header is larger than " + std::to_string(hub_->options.largest_header) + " bytes.");
    if (error == http::error::buffer_overflow)
      return refuse_broken(413, "request-size",
                           "The header of a chunk, or the trailer, is larger than " +
                               std::to_string(hub_->options.largest_piece) + " bytes.");
    if (error) {
      // Only a request that came and could not be understood is answered.
      if (error.category() == make_error_code(http::error::bad_target).category())
        return refuse_broken(400, "http", "This is not HTTP: " + error.message() + '.');
      return;
    }
    if (framing_) return refuse_broken(framing_->status, "framing", framing_->detail);
    if (!parser_->is_done())
      return refuse_broken(413, "request-size",
                           "The request with all that surrounds its chunks is larger than " +
                               std::to_string(hub_->options.largest_request) + " bytes.");
    // The parser has added them to the header, where they may name a host or a person.
    if (count_fields() != head_fields_)
      return refuse_broken(400, "trailer", "The request has a trailer; allowed is none.");
    auto message = parser_->release();
    // Whoever speaks HTTP/1.0 and keeps a connection waits for a word of it that nobody says any
    // more: RFC 9112, section 9.3. It is told by the end where an answer ends.
    keep_alive_ = message.version() >= 11 && message.keep_alive();
    const std::string_view said{message.target().data(), message.target().size()};
    const auto absolute = absolute_target(said);
    auto target = parse_target(absolute ? absolute->origin : said);
    if (!target) return refuse_broken(400, "target", "The target has a malformed escape.");
    // RFC 9112, section 3.2: whoever is between might look at the other one.
    if (message.count(http::field::host) > 1)
      return refuse_broken(400, "host", "The request has more than one Host header.");
    if (absolute && message.count(http::field::host) == 1)
      message.set(http::field::host, absolute->authority);
    const bool upgrade = websocket::is_upgrade(message);
    auto for_upgrade = upgrade ? message : http::request<http::string_body>{};
    auto request = plain(message, std::move(*target));
    request.peer = arrival_.peer;
    accept_encoding_ = request.header("accept-encoding");
    serve(request, std::move(for_upgrade), upgrade);
  }

  void serve(HttpRequest& request, http::request<http::string_body> for_upgrade, bool upgrade) {
    const auto& doors = hub_->doors;
    if (auto refusal = turned_away(request, doors, upgrade)) return write(std::move(*refusal));
    if (auto response = page_file(request)) return write(std::move(*response));
    if (auto response = health(request, hub_->gate)) return write(std::move(*response));
    if (request.path == session_path) {
      auto answer = hub_->keeper.weigh(
          answer_session(request, doors, hub_->logins, wall_clock(), random_id), visit());
      told_of_bursts();
      if (answer.closed) hub_->log_out(*answer.closed);
      return write(std::move(answer.response));
    }
    auto admission =
        hub_->keeper.weigh(identify(request, doors, hub_->logins, wall_clock()), visit());
    told_of_bursts();
    if (!admission.caller) return write(std::move(admission.refusal));
    if (auto full = seat_->become(holder_of(admission, Guests::callers), admission.credential))
      return write(no_seat(*full));
    if (request.path == "/api/v1/live")
      return join_feed(request, std::move(for_upgrade), upgrade, std::move(admission));
    if (asks_for_metrics(request)) return write(metrics(request, hub_->gate, hub_->figures()));
    // A change may take as long as its line needs; the core ends every one.
    auto answered = std::make_shared<bool>(false);
    auto gone = std::make_shared<std::atomic<bool>>(false);
    request.gone = gone;
    const auto respond = [self = this->shared_from_this(), answered,
                          caller = *admission.caller](HttpResponse response) {
      *answered = true;
      self->asker_.cancel();
      response.headers.emplace_back("Catwalk-Zone",
                                    self->hub_->gate.snapshot()->plan->running_order.zone.name);
      if (response.status == 403) self->role_refused(caller, response);
      self->write(std::move(response));
    };
    // A fault of ours must not end the show.
    try {
      hub_->api.handle(request, *admission.caller, respond);
    } catch (const std::exception& error) {
      if (!*answered)
        respond(problem(500, "fault", std::string{"A fault of this program: "} + error.what()));
    }
    if (!*answered) look_for_asker(std::move(gone), answered);
  }

  // While an answer is worked on nothing is read, and so nothing tells that nobody waits for it any
  // more. One that only ends its sending is taken to be gone too.
  void look_for_asker(std::shared_ptr<std::atomic<bool>> gone,
                      const std::shared_ptr<const bool>& answered) {
    asker_.expires_after(std::chrono::milliseconds{250});
    asker_.async_wait([self = this->shared_from_this(), gone = std::move(gone),
                       answered](beast::error_code stopped) mutable {
      if (stopped || *answered) return;
      pollfd socket{self->lowest().socket().native_handle(), POLLRDHUP, 0};
      if (::poll(&socket, 1, 0) > 0) {
        *gone = true;
        return;
      }
      self->look_for_asker(std::move(gone), answered);
    });
  }

  void join_feed(const HttpRequest& request, http::request<http::string_body> for_upgrade,
                 bool upgrade, Admission admission) {
    if (!upgrade) {
      auto response = problem(426, "upgrade", "The live feed is a WebSocket.");
      response.headers.emplace_back("Upgrade", "websocket");
      return write(std::move(response));
    }
    const auto query = read_feed_query(request.query);
    if (!query) return write(query.error());
    if (auto refusal = bad_handshake(request)) return write(std::move(*refusal));
    if (auto full = seat_->become(holder_of(admission, Guests::panels), admission.credential))
      return write(no_seat(*full));
    seat_->leave_queue();
    lowest().expires_never();
    std::make_shared<PanelOn<Stream>>(std::move(stream_), hub_, seat_, std::move(admission.login))
        ->accept(std::move(for_upgrade), query.value());
  }

  // Users of this machine keep the seats of theirs.
  Holder holder_of(const Admission& admission, Guests kind) const {
    if (arrival_.peer) return arrival_.holder;
    return {kind, hub_->doors.tokens.empty() ? std::string{} : admission.caller->name,
            admission.caller->role};
  }

  HttpResponse no_seat(const Seats::Full& full) {
    hub_->keeper.no_seat();
    keep_alive_ = false;
    return passing_problem(full.of_name ? 429 : 503, "connections", full.sentence,
                           std::chrono::seconds{5});
  }

  Visit visit() const { return {arrival_.from, std::chrono::steady_clock::now(), wall_clock()}; }

  void role_refused(const Caller& caller, const HttpResponse& response) {
    hub_->keeper.role_refused(caller, response.detail, visit());
    told_of_bursts();
  }

  void told_of_bursts() {
    if (hub_->keeper.has_bursts()) hub_->burst_began();
  }

  void refuse_broken(int status, const std::string& type, const std::string& detail) {
    keep_alive_ = false;
    write(problem(status, type, detail));
  }

  void write(HttpResponse response) {
    encode(response, accept_encoding_);
    const bool fits = sending_.take(hub_->outbox, seat_->holder(), response.body.size());
    answer_ = fits ? std::move(response) : too_much_is_sent();
    head_.clear();
    append_head(head_, answer_, keep_alive_, hub_->date());
    rest_ = head_only_ ? std::string_view{} : answer_.content();
    write_some();
  }

  // Piece by piece: whoever takes none of an answer for as long as one may wait is let go, however
  // long the answer is.
  void write_some() {
    const auto piece = rest_.substr(0, hub_->options.sent_at_once);
    rest_.remove_prefix(piece.size());
    lowest().expires_after(hub_->options.idle);
    const std::array<asio::const_buffer, 2> both{asio::buffer(head_),
                                                 asio::buffer(piece.data(), piece.size())};
    asio::async_write(stream_, both,
                      [self = this->shared_from_this()](beast::error_code error, std::size_t) {
                        if (error) return;
                        self->head_.clear();
                        if (!self->rest_.empty()) return self->write_some();
                        self->lowest().expires_never();
                        self->sending_.give_back();
                        self->answer_ = {};
                        if (self->keep_alive_)
                          self->read();
                        else
                          self->close();
                      });
  }

  // RFC 9112, section 9.6: what still comes is read and dropped for a moment. Closing at once would
  // take the answer away from one who is still sending.
  void close() {
    beast::error_code ignored;
    lowest().socket().shutdown(asio::socket_base::shutdown_send, ignored);
    to_drop_ = hub_->options.largest_request;
    wait(std::min(hub_->options.idle, std::chrono::milliseconds{2'000}));
    drop();
  }

  void drop() {
    buffer_.clear();
    lowest().async_read_some(
        buffer_.prepare(hub_->options.largest_piece),
        [self = this->shared_from_this()](beast::error_code error, std::size_t bytes) {
          if (error || bytes > self->to_drop_) return self->stop_waiting();
          self->to_drop_ -= bytes;
          self->drop();
        });
  }

  Stream stream_;
  Arrival arrival_;
  std::shared_ptr<Hub> hub_;
  std::shared_ptr<Seat> seat_;
  asio::steady_timer too_late_;
  asio::steady_timer asker_;  // while an answer is worked on: looks whether anybody waits for it
  std::chrono::steady_clock::time_point deadline_{};
  bool timer_runs_ = false;
  bool timed_out_ = false;
  bool waits_ = false;
  beast::flat_buffer buffer_;
  std::optional<http::request_parser<http::string_body>> parser_;
  std::size_t request_bytes_ = 0;           // of the request so far
  std::optional<std::size_t> head_fields_;  // how many there were before the body
  std::optional<BadFraming> framing_;
  std::string head_;
  std::string accept_encoding_;  // of the request that is answered
  HttpResponse answer_;
  std::string_view rest_;  // of the answer's content
  Outbox::Share sending_;
  std::size_t to_drop_ = 0;
  bool keep_alive_ = true;
  bool head_only_ = false;
  bool said_go_on_ = false;
};

}  // namespace catwalk::web
