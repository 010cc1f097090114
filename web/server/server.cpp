// SPDX-License-Identifier: Apache-2.0
#include "web/server/server.hpp"

#include <utility>
// Boost 1.74 needs <utility> first.
#include <atomic>
#include <boost/asio.hpp>
#include <boost/asio/ssl.hpp>
#include <exception>
#include <random>
#include <thread>

#include "web/server/begin.hpp"
#include "web/server/entrance.hpp"
#include "web/server/hub.hpp"
#include "web/server/local_socket.hpp"
#include "web/server/problem.hpp"
#include "web/server/worker.hpp"

namespace catwalk::web {

namespace asio = boost::asio;
using tcp = asio::ip::tcp;
using local = asio::local::stream_protocol;
using Error = boost::system::error_code;

rack::TimePoint wall_clock() {
  return std::chrono::time_point_cast<std::chrono::microseconds>(std::chrono::system_clock::now());
}

std::string random_id() {
  std::random_device device;
  char text[17];
  std::snprintf(text, sizeof text, "%08x%08x", device(), device());
  return text;
}

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

// A fault of ours must not end the show.
HttpResponse safely(const std::function<HttpResponse()>& work) {
  try {
    return work();
  } catch (const std::exception& error) {
    return problem(500, "fault", std::string{"A fault of this program: "} + error.what());
  }
}

class BeastServer final : public Server {
 public:
  BeastServer(PanelLoop& loop, Gate& gate, ServerOptions options)
      : loop_{loop},
        worker_{options.most_long_work},
        hub_{std::make_shared<Hub>(gate, std::move(options), long_work())},
        network_{loop.context().io, [this](tcp::socket socket) { admit(std::move(socket)); }},
        local_{loop.context().io, [this](local::socket socket) { admit(std::move(socket)); }} {}
  BeastServer(const BeastServer&) = delete;
  BeastServer& operator=(const BeastServer&) = delete;
  ~BeastServer() override {
    std::error_code ignored;
    if (owns_socket_) std::filesystem::remove(hub_->options.socket, ignored);
  }

  // RFC 9325, section 3.1.1: nothing before TLS 1.2. A sentence if a file is no good.
  std::optional<std::string> load_tls() {
    if (!hub_->options.tls) return std::nullopt;
    const auto& files = *hub_->options.tls;
    tls_.set_options(asio::ssl::context::default_workarounds | asio::ssl::context::no_tlsv1 |
                     asio::ssl::context::no_tlsv1_1 | asio::ssl::context::no_compression);
    Error error;
    tls_.use_certificate_chain_file(files.certificate_chain, error);
    if (error) return "no certificate in " + files.certificate_chain + ": " + error.message();
    tls_.use_private_key_file(files.private_key, asio::ssl::context::pem, error);
    if (error)
      return "no private key of that certificate in " + files.private_key + ": " + error.message();
    return std::nullopt;
  }

  // Throws boost::system::system_error if the address cannot be had.
  void listen() {
    network_.listen({asio::ip::make_address(hub_->options.host), hub_->options.port});
    port_ = network_.endpoint().port();
  }

  // Whoever of this machine connects is asked who it is, so the file is open to all. A sentence if
  // that cannot be had.
  std::optional<std::string> listen_locally() {
    const auto& file = hub_->options.socket;
    if (file.empty()) return std::nullopt;
    if (auto trouble = make_way_for_socket(file)) return trouble;
    try {
      local_.listen({file.string()});
      owns_socket_ = true;
      std::filesystem::permissions(file, std::filesystem::perms{0666});
    } catch (const std::system_error& error) {
      return "cannot listen on " + file.string() + ": " + error.code().message();
    } catch (const boost::system::system_error& error) {
      return "cannot listen on " + file.string() + ": " + error.code().message();
    }
    return std::nullopt;
  }

  std::uint16_t port() const override { return port_; }

  void snapshot_changed() override {
    // One task under way is enough: it looks at the newest when it runs.
    if (!told_.exchange(true)) loop_.post([this] { fan_out(); });
  }

 private:
  void admit(tcp::socket socket) {
    Error ignored;
    socket.set_option(tcp::no_delay(true), ignored);
    const bool welcome = make_room();
    if (hub_->options.tls)
      begin_over_tls(std::move(socket), tls_, hub_, welcome);
    else
      begin_plain(std::move(socket), std::nullopt, hub_, welcome);
  }

  void admit(local::socket socket) {
    auto peer = peer_of(socket.native_handle());
    begin_plain(std::move(socket), std::move(peer), hub_, make_room());
  }

  // Whoever waits longest for a request gives its place to the one that comes: connections that say
  // nothing, by the thousand or by neglect, keep nobody out. False: there is no place.
  bool make_room() {
    if (hub_->connections < hub_->options.most_connections) return true;
    if (hub_->waiting.empty()) return false;
    hub_->waiting.front()->give_way();
    return true;
  }

  // Sends at once if the feed was quiet; else when the interval since the last message is over.
  void fan_out() {
    const auto now = std::chrono::steady_clock::now();
    if (now < next_) {
      if (waiting_) return;
      waiting_ = true;
      quiet_.expires_at(next_);
      quiet_.async_wait([this](Error stopped) {
        waiting_ = false;
        if (!stopped) fan_out();
      });
      return;
    }
    told_ = false;
    const auto text = hub_->feed.advance(hub_->gate.snapshot(), wall_clock());
    if (!text) return;
    next_ = now + hub_->options.feed_interval;
    hub_->tell_panels(text);
  }

  // On the worker, and back on the panel thread with the response. What a caller gave to be
  // answered is moved along, and so never dies on the worker.
  LongWork long_work() {
    return {[this](std::function<HttpResponse()> work, Respond respond) {
              return worker_.offer(
                  [this, work = std::move(work), respond = std::move(respond)]() mutable {
                    loop_.post([respond = std::move(respond), response = safely(work)]() mutable {
                      respond(std::move(response));
                    });
                  });
            },
            on_two_threads};
  }

  PanelLoop& loop_;
  Worker worker_;  // ends before the loop does that it posts to
  std::shared_ptr<Hub> hub_;
  asio::ssl::context tls_{asio::ssl::context::tls_server};
  Entrance<tcp> network_;
  Entrance<local> local_;
  bool owns_socket_ = false;
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
  if (const auto trouble = server->load_tls()) return Failure{*trouble};
  try {
    server->listen();
  } catch (const boost::system::system_error& error) {
    return Failure{"cannot listen on " + where + ": " + error.code().message()};
  }
  if (const auto trouble = server->listen_locally()) return Failure{*trouble};
  return std::unique_ptr<Server>{std::move(server)};
}

}  // namespace catwalk::web
