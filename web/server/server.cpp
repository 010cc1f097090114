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
#include "web/server/hub.hpp"
#include "web/server/problem.hpp"
#include "web/server/worker.hpp"

namespace catwalk::web {

namespace asio = boost::asio;
using tcp = asio::ip::tcp;
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
        acceptor_{loop.context().io},
        pause_{loop.context().io} {}

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
    acceptor_.async_accept([this](Error error, tcp::socket socket) {
      if (error == asio::error::operation_aborted) return;
      if (!error) {
        Error ignored;
        socket.set_option(tcp::no_delay(true), ignored);
        begin(std::move(socket));
        return accept();
      }
      // Out of descriptors, most likely: try again when some may have been given back.
      pause_.expires_after(std::chrono::milliseconds{100});
      pause_.async_wait([this](Error stopped) {
        if (!stopped) accept();
      });
    });
  }

  // Whoever waits longest for a request gives its place to the one that comes: connections that say
  // nothing, by the thousand or by neglect, keep nobody out.
  void begin(tcp::socket socket) {
    const bool full = hub_->connections >= hub_->options.most_connections;
    const bool makes_room = full && !hub_->waiting.empty();
    if (makes_room) hub_->waiting.front()->give_way();
    const bool welcome = !full || makes_room;
    if (hub_->options.tls)
      begin_over_tls(std::move(socket), tls_, hub_, welcome);
    else
      begin_over_tcp(std::move(socket), hub_, welcome);
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
  if (const auto trouble = server->load_tls()) return Failure{*trouble};
  try {
    server->listen();
  } catch (const boost::system::system_error& error) {
    return Failure{"cannot listen on " + where + ": " + error.code().message()};
  }
  return std::unique_ptr<Server>{std::move(server)};
}

}  // namespace catwalk::web
