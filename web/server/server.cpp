// SPDX-License-Identifier: Apache-2.0
// The only file that includes Beast in the daemon.
#include "web/server/server.hpp"

#include <utility>
// Boost 1.74 needs <utility> first.
#include <array>
#include <atomic>
#include <boost/asio.hpp>
#include <boost/beast.hpp>
#include <deque>
#include <random>
#include <thread>

#include "web/server/api.hpp"
#include "web/server/embedded.hpp"
#include "web/server/feed.hpp"
#include "web/server/input.hpp"
#include "web/server/problem.hpp"
#include "web/server/worker.hpp"

namespace catwalk::web {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = beast::http;
namespace websocket = beast::websocket;
using tcp = asio::ip::tcp;

struct PanelLoop::Context {
  asio::io_context io{1};
  asio::executor_work_guard<asio::io_context::executor_type> work{io.get_executor()};
  std::thread thread;
};

PanelLoop::PanelLoop() : context_{std::make_unique<Context>()} {}
PanelLoop::~PanelLoop() { stop(); }

void PanelLoop::post(std::function<void()> task) { asio::post(context_->io, std::move(task)); }

void PanelLoop::start() {
  context_->thread = std::thread{[this] { context_->io.run(); }};
}

void PanelLoop::stop() {
  context_->work.reset();
  context_->io.stop();
  if (context_->thread.joinable()) context_->thread.join();
}

namespace {

rack::TimePoint wall_clock() {
  return std::chrono::time_point_cast<std::chrono::microseconds>(std::chrono::system_clock::now());
}

std::string random_id() {
  std::random_device device;
  char text[17];
  std::snprintf(text, sizeof text, "%08x%08x", device(), device());
  return text;
}

// What all connections share. Lives on the panel thread.
class Hub {
 public:
  Hub(Gate& to_core, ServerOptions chosen, LongWork long_work)
      : gate{to_core},
        options{std::move(chosen)},
        api{to_core, wall_clock, std::move(long_work)},
        feed{random_id(), to_core.snapshot()} {}

  Gate& gate;
  const ServerOptions options;
  Api api;
  Feed feed;
  std::vector<std::weak_ptr<class Panel>> panels;
  std::size_t connections = 0;
};

// Counts a connection for as long as it lives.
class Place {
 public:
  explicit Place(std::shared_ptr<Hub> hub) : hub_{std::move(hub)} { ++hub_->connections; }
  Place(const Place&) = delete;
  Place& operator=(const Place&) = delete;
  ~Place() { --hub_->connections; }

 private:
  std::shared_ptr<Hub> hub_;
};

// One panel on the live feed. Its queue is bounded: one that falls behind loses its backlog and is
// given a fresh snapshot instead, so it costs nothing but that.
class Panel : public std::enable_shared_from_this<Panel> {
 public:
  Panel(beast::tcp_stream stream, std::shared_ptr<Hub> hub, std::shared_ptr<Place> place)
      : socket_{std::move(stream)}, hub_{std::move(hub)}, place_{std::move(place)} {}

  void accept(http::request<http::string_body> request, const Target& target) {
    socket_.read_message_max(65'536);
    auto timeouts = websocket::stream_base::timeout::suggested(beast::role_type::server);
    timeouts.idle_timeout = std::chrono::seconds{20};
    timeouts.keep_alive_pings = true;
    socket_.set_option(timeouts);
    const auto server = target.query.find("server");
    const auto since = target.query.find("since");
    if (server != target.query.end() && since != target.query.end() &&
        server->second == hub_->feed.server_id())
      resume_from_ = parse_whole(since->second);
    // Beast reads the request until the handshake is done.
    request_ = std::move(request);
    socket_.async_accept(request_, [self = shared_from_this()](beast::error_code error) {
      if (!error) self->begin();
    });
  }

  void push(const SharedText& text) {
    if (!open_) return;
    if (behind_) return;  // the snapshot that is owed will have it
    if (queue_.size() >= hub_->options.panel_queue) {
      queue_.resize(1);  // the one that is being written must stay
      behind_ = true;
      return;
    }
    queue_.push_back(text);
    if (queue_.size() == 1) write();
  }

 private:
  void begin() {
    open_ = true;
    socket_.text(true);
    hub_->panels.push_back(weak_from_this());
    push(hub_->feed.hello());
    const auto missed = resume_from_ ? hub_->feed.since(*resume_from_) : std::nullopt;
    if (missed && missed->size() + 1 < hub_->options.panel_queue)
      for (const auto& text : *missed) push(text);
    else
      push(hub_->feed.snapshot(wall_clock()));
    read();
  }

  void read() {
    socket_.async_read(buffer_, [self = shared_from_this()](beast::error_code error, std::size_t) {
      if (error) {
        self->open_ = false;
        return;
      }
      const auto ask = read_panel_message(beast::buffers_to_string(self->buffer_.data()),
                                          self->socket_.got_text());
      self->buffer_.consume(self->buffer_.size());
      self->push(ask.snapshot ? self->hub_->feed.snapshot(wall_clock()) : ask.problem);
      self->read();
    });
  }

  void write() {
    socket_.async_write(asio::buffer(*queue_.front()),
                        [self = shared_from_this()](beast::error_code error, std::size_t) {
                          if (error) {
                            self->open_ = false;
                            self->queue_.clear();
                            return;
                          }
                          self->queue_.pop_front();
                          if (self->behind_ && self->queue_.empty()) {
                            self->behind_ = false;
                            self->queue_.push_back(self->hub_->feed.snapshot(wall_clock()));
                          }
                          if (!self->queue_.empty()) self->write();
                        });
  }

  websocket::stream<beast::tcp_stream> socket_;
  std::shared_ptr<Hub> hub_;
  std::shared_ptr<Place> place_;
  http::request<http::string_body> request_;
  std::optional<std::uint64_t> resume_from_;
  beast::flat_buffer buffer_;
  std::deque<SharedText> queue_;
  bool open_ = false;
  bool behind_ = false;
};

HttpRequest plain(http::request<http::string_body>& from, Target target) {
  HttpRequest request;
  request.method = std::string{from.method_string()};
  request.path = std::move(target.path);
  request.query = std::move(target.query);
  for (const auto& field : from) {
    std::string name{field.name_string()};
    for (auto& c : name)
      if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    request.headers.emplace(std::move(name), std::string{field.value()});
  }
  request.body = std::move(from.body());
  return request;
}

// The few answers that are not the API's.
std::optional<HttpResponse> page_or_probe(const HttpRequest& request, Gate& gate) {
  if (request.method != "GET") return std::nullopt;
  const auto file = [](std::string_view text, const char* type) {
    return HttpResponse{200, type, std::string{text}, {}};
  };
  if (request.path == "/") return file(embedded::status_html, "text/html; charset=utf-8");
  if (request.path == "/status.css") return file(embedded::status_css, "text/css; charset=utf-8");
  if (request.path == "/status.js")
    return file(embedded::status_js, "text/javascript; charset=utf-8");
  if (request.path == "/healthz" || request.path == "/readyz") return file("ok\n", "text/plain");
  if (request.path == "/metrics")
    return HttpResponse{
        200,
        "text/plain; version=0.0.4; charset=utf-8",
        metrics_text(*gate.snapshot(), gate.line_figures(), gate.show_control_figures()),
        {}};
  return std::nullopt;
}

// The bytes of a response before its body. Written by hand: what we say is simple, and putting it
// together takes Beast's serializer more time than all that is done to find the answer.
void append_head(std::string& head, const HttpResponse& response, bool keep_alive) {
  const auto add = [&head](std::string_view name, std::string_view value) {
    head.append(name).append(": ").append(value).append("\r\n");
  };
  head.append("HTTP/1.1 ").append(std::to_string(response.status)).append(" ");
  head.append(http::obsolete_reason(http::int_to_status(static_cast<unsigned>(response.status))));
  head.append("\r\n");
  if (!response.content_type.empty()) add("Content-Type", response.content_type);
  add("Cache-Control", "no-store");
  add("X-Content-Type-Options", "nosniff");
  if (response.content_type.starts_with("text/html"))
    add("Content-Security-Policy", "default-src 'self'; frame-ancestors 'none'; base-uri 'none'");
  for (const auto& [name, value] : response.headers) add(name, value);
  if (!keep_alive) add("Connection", "close");
  // A 304 has no body, and a length would be that of the one it does not have: RFC 9110, 8.6.
  if (response.status != 304) add("Content-Length", std::to_string(response.body.size()));
  head.append("\r\n");
}

// One HTTP connection: a request, its answer, and so on until either side has enough.
class Connection : public std::enable_shared_from_this<Connection> {
 public:
  Connection(tcp::socket socket, std::shared_ptr<Hub> hub)
      : stream_{std::move(socket)}, hub_{std::move(hub)}, place_{std::make_shared<Place>(hub_)} {}

  void read() {
    parser_.emplace();
    parser_->body_limit(hub_->options.largest_body);
    parser_->header_limit(static_cast<std::uint32_t>(hub_->options.largest_header));
    stream_.expires_after(hub_->options.idle);
    http::async_read(stream_, buffer_, *parser_,
                     [self = shared_from_this()](beast::error_code error, std::size_t) {
                       self->on_read(error);
                     });
  }

  void turn_away() {
    keep_alive_ = false;
    auto response = problem(503, "connections", "Too many connections are open.");
    response.headers.emplace_back("Retry-After", "5");
    stream_.expires_after(hub_->options.idle);
    write(std::move(response));
  }

 private:
  void on_read(beast::error_code error) {
    if (error == http::error::end_of_stream) return close();
    if (error == http::error::body_limit)
      return refuse_broken(
          413, "body-size",
          "The body is larger than " + std::to_string(hub_->options.largest_body) + " bytes.");
    if (error == http::error::header_limit)
      return refuse_broken(
          431, "header-size",
          "The header is larger than " + std::to_string(hub_->options.largest_header) + " bytes.");
    if (error) {
      // Only a request that came and could not be understood is answered.
      if (error.category() == make_error_code(http::error::bad_target).category())
        return refuse_broken(400, "http", "This is not HTTP: " + error.message() + '.');
      return;
    }
    auto message = parser_->release();
    keep_alive_ = message.keep_alive();
    auto target = parse_target({message.target().data(), message.target().size()});
    if (!target) return refuse_broken(400, "target", "The target has a malformed escape.");
    const bool upgrade = websocket::is_upgrade(message);
    auto for_upgrade = upgrade ? message : http::request<http::string_body>{};
    const auto request = plain(message, std::move(*target));
    head_only_ = request.method == "HEAD";
    serve(request, std::move(for_upgrade), upgrade);
  }

  void serve(const HttpRequest& request, http::request<http::string_body> for_upgrade,
             bool upgrade) {
    const bool probe =
        request.method == "GET" && (request.path == "/healthz" || request.path == "/readyz");
    auto admission = admit(request, hub_->options.doors, upgrade);
    if (!admission.caller && !(probe && admission.refusal.status == 401))
      return write(std::move(admission.refusal));
    if (request.path == "/api/v1/live") return join_feed(request, std::move(for_upgrade), upgrade);
    if (auto response = page_or_probe(request, hub_->gate)) return write(std::move(*response));
    // A change may take as long as its line needs; the core ends every one.
    stream_.expires_never();
    hub_->api.handle(
        request, *admission.caller,
        [self = shared_from_this()](HttpResponse response) { self->write(std::move(response)); });
  }

  void join_feed(const HttpRequest& request, http::request<http::string_body> for_upgrade,
                 bool upgrade) {
    if (!upgrade) {
      auto response = problem(426, "upgrade", "The live feed is a WebSocket.");
      response.headers.emplace_back("Upgrade", "websocket");
      return write(std::move(response));
    }
    for (const auto& [name, value] : request.query) {
      if (name != "server" && name != "since")
        return write(bad_values(
            {{"query/" + name, value, "server, since",
              "There is no query parameter \"" + name + "\" here; known are: server, since."}}));
      if (name == "since" && !parse_whole(value))
        return write(bad_values({{"query/since", value, "a sequence number",
                                  "since is \"" + value + "\"; allowed is a sequence number."}}));
    }
    stream_.expires_never();
    std::make_shared<Panel>(std::move(stream_), hub_, place_)
        ->accept(std::move(for_upgrade), Target{request.path, request.query});
  }

  void refuse_broken(int status, const std::string& type, const std::string& detail) {
    keep_alive_ = false;
    write(problem(status, type, detail));
  }

  void write(HttpResponse response) {
    head_.clear();
    append_head(head_, response, keep_alive_);
    body_ = head_only_ ? std::string{} : std::move(response.body);
    stream_.expires_after(hub_->options.idle);
    const std::array<asio::const_buffer, 2> both{asio::buffer(head_), asio::buffer(body_)};
    asio::async_write(stream_, both,
                      [self = shared_from_this()](beast::error_code error, std::size_t) {
                        if (error) return;
                        if (self->keep_alive_)
                          self->read();
                        else
                          self->close();
                      });
  }

  void close() {
    beast::error_code ignored;
    stream_.socket().shutdown(tcp::socket::shutdown_send, ignored);
  }

  beast::tcp_stream stream_;
  std::shared_ptr<Hub> hub_;
  std::shared_ptr<Place> place_;
  beast::flat_buffer buffer_;
  std::optional<http::request_parser<http::string_body>> parser_;
  std::string head_;
  std::string body_;
  bool keep_alive_ = true;
  bool head_only_ = false;
};

class BeastServer final : public Server {
 public:
  BeastServer(PanelLoop& loop, Gate& gate, ServerOptions options)
      : loop_{loop},
        worker_{options.most_long_work},
        hub_{std::make_shared<Hub>(gate, std::move(options), long_work())},
        acceptor_{loop.context().io},
        pause_{loop.context().io} {}

  void listen() {
    const auto address = asio::ip::make_address(hub_->options.host);
    const tcp::endpoint endpoint{address, hub_->options.port};
    acceptor_.open(endpoint.protocol());
    acceptor_.set_option(asio::socket_base::reuse_address(true));
    acceptor_.bind(endpoint);
    acceptor_.listen();
    port_ = acceptor_.local_endpoint().port();
    accept();
  }

  std::uint16_t port() const override { return port_; }

  void snapshot_changed() override {
    // One task under way is enough: it looks at the newest when it runs.
    if (!told_.exchange(true)) loop_.post([this] { fan_out(); });
  }

 private:
  void accept() {
    acceptor_.async_accept([this](beast::error_code error, tcp::socket socket) {
      if (error == asio::error::operation_aborted) return;
      if (!error) {
        beast::error_code ignored;
        socket.set_option(tcp::no_delay(true), ignored);
        const bool full = hub_->connections >= hub_->options.most_connections;
        const auto connection = std::make_shared<Connection>(std::move(socket), hub_);
        if (full)
          connection->turn_away();
        else
          connection->read();
        return accept();
      }
      // Out of descriptors, most likely: try again when some may have been given back.
      pause_.expires_after(std::chrono::milliseconds{100});
      pause_.async_wait([this](beast::error_code stopped) {
        if (!stopped) accept();
      });
    });
  }

  // Sends at once if the feed was quiet; else when the interval since the last message is over.
  void fan_out() {
    const auto now = std::chrono::steady_clock::now();
    if (now < next_) {
      if (waiting_) return;
      waiting_ = true;
      quiet_.expires_at(next_);
      quiet_.async_wait([this](beast::error_code stopped) {
        waiting_ = false;
        if (!stopped) fan_out();
      });
      return;
    }
    told_ = false;
    const auto text = hub_->feed.advance(hub_->gate.snapshot(), wall_clock());
    if (!text) return;
    next_ = now + hub_->options.feed_interval;
    std::erase_if(hub_->panels, [&](const std::weak_ptr<Panel>& weak) {
      const auto panel = weak.lock();
      if (panel) panel->push(text);
      return !panel;
    });
  }

  // On the worker, and back on the panel thread with the response. What a caller gave to be
  // answered is moved along, and so never dies on the worker.
  LongWork long_work() {
    return {[this](std::function<HttpResponse()> work, Respond respond) {
              return worker_.offer(
                  [this, work = std::move(work), respond = std::move(respond)]() mutable {
                    loop_.post([respond = std::move(respond), response = work()]() mutable {
                      respond(std::move(response));
                    });
                  });
            },
            on_two_threads};
  }

  PanelLoop& loop_;
  Worker worker_;  // ends before the loop does that it posts to
  std::shared_ptr<Hub> hub_;
  tcp::acceptor acceptor_;
  asio::steady_timer pause_;
  asio::steady_timer quiet_{loop_.context().io};
  std::chrono::steady_clock::time_point next_{};
  bool waiting_ = false;
  std::atomic<bool> told_{false};
  std::uint16_t port_ = 0;
};

}  // namespace

Result<std::unique_ptr<Server>, std::string> Server::open(PanelLoop& loop, Gate& gate,
                                                          ServerOptions options) {
  const auto where = options.host + ':' + std::to_string(options.port);
  auto server = std::make_unique<BeastServer>(loop, gate, std::move(options));
  try {
    server->listen();
  } catch (const boost::system::system_error& error) {
    return Failure{"cannot listen on " + where + ": " + error.code().message()};
  }
  return std::unique_ptr<Server>{std::move(server)};
}

}  // namespace catwalk::web
