// SPDX-License-Identifier: Apache-2.0
#include "web/server/wire/server.hpp"

#include <utility>
// Boost 1.74 needs <utility> first.
#include <algorithm>
#include <atomic>
#include <boost/asio.hpp>
#include <exception>
#include <future>
#include <random>
#include <thread>

#include "daemon/base/worker.hpp"
#include "web/server/http/problem.hpp"
#include "web/server/wire/begin.hpp"
#include "web/server/wire/entrance.hpp"
#include "web/server/wire/hub.hpp"
#include "web/server/wire/local_socket.hpp"
#include "web/server/wire/tls_context.hpp"

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
  Fault told;
  asio::io_context io{1};
  asio::executor_work_guard<asio::io_context::executor_type> work{io.get_executor()};
  std::thread thread;
};

PanelLoop::PanelLoop(Fault told) : context_{std::make_unique<Context>()} {
  context_->told = std::move(told);
}
PanelLoop::~PanelLoop() { stop(); }

void PanelLoop::post(std::function<void()> task) { asio::post(context_->io, std::move(task)); }

void PanelLoop::start() {
  context_->thread = std::thread{[this] {
    for (;;) {
      try {
        context_->io.run();
        return;
      } catch (const std::exception& error) {
        context_->told(error.what());
      }
    }
  }};
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

// As far as it tells one from another: a whole network of IPv6 is at one's disposal there (RFC
// 4291, section 2.5.4: the last 64 bits are the interface's).
std::string address_of(const asio::ip::address& address) {
  if (address.is_v4()) return address.to_string();
  if (address.to_v6().is_v4_mapped())
    return asio::ip::make_address_v4(asio::ip::v4_mapped, address.to_v6()).to_string();
  auto bytes = address.to_v6().to_bytes();
  std::fill(bytes.begin() + 8, bytes.end(), static_cast<unsigned char>(0));
  return asio::ip::make_address_v6(bytes).to_string() + "/64";
}

class BeastServer final : public Server {
 public:
  BeastServer(PanelLoop& loop, Gate& gate, ServerOptions options)
      : loop_{loop},
        soon_{options.most_long_work, Worker::Manner::hurries},
        at_leisure_{options.most_long_work},
        hub_{std::make_shared<Hub>(gate, std::move(options), long_work())},
        network_{loop.context().io, [this](tcp::socket socket) { admit(std::move(socket)); }},
        local_{loop.context().io, [this](local::socket socket) { admit(std::move(socket)); }} {
    tls_ = std::static_pointer_cast<const TlsContext>(hub_->options.tls);
    hub_->tls = tls_;
    hub_->burst_began = [this] { tell_of_bursts(); };
  }
  BeastServer(const BeastServer&) = delete;
  BeastServer& operator=(const BeastServer&) = delete;
  ~BeastServer() override {
    ending_ = true;  // what takes long need not be brought to its end
    hub_->burst_began = [] {};
    std::error_code ignored;
    if (owns_socket_) std::filesystem::remove(hub_->options.socket, ignored);
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

  void replace_doors(std::vector<Token> tokens, std::vector<LocalUser> local_users,
                     std::shared_ptr<const Tls> tls) override {
    loop_.post([this, tokens = std::move(tokens), local_users = std::move(local_users),
                tls = std::static_pointer_cast<const TlsContext>(std::move(tls))]() mutable {
      if (tls) hub_->tls = tls_ = std::move(tls);
      hub_->replace_doors(std::move(tokens), std::move(local_users));
    });
  }

  void count_reload(bool taken) override {
    ++(taken ? hub_->reloads_taken : hub_->reloads_refused);
  }

  void take_leave(std::chrono::milliseconds at_most) override {
    auto told = std::make_shared<std::promise<void>>();
    const auto all_gone = told->get_future();
    // Whoever holds it last has told it.
    std::shared_ptr<void> gone{nullptr, [told](void*) { told->set_value(); }};
    loop_.post([this, gone = std::move(gone)] {
      network_.shut();
      local_.shut();
      hub_->take_leave(gone);
    });
    all_gone.wait_for(at_most);
  }

  void snapshot_changed() override {
    // One task under way is enough: it looks at the newest when it runs.
    if (!told_.exchange(true)) loop_.post([this] { fan_out(); });
  }

 private:
  void admit(tcp::socket socket) {
    Error error;
    const auto peer = socket.remote_endpoint(error);
    if (error) return;  // it is gone already
    socket.set_option(tcp::no_delay(true), error);
    // What the system keeps for one that does not read is bounded too.
    socket.set_option(asio::socket_base::send_buffer_size(131'072), error);
    const auto from = address_of(peer.address());
    Arrival arrival{{Guests::strangers, from, Role::watch}, std::nullopt, from};
    if (const auto full = hub_->make_room(arrival.holder)) {
      hub_->keeper.no_seat();
      if (!tls_) refuse_plain(std::move(socket), full->sentence);
      return;
    }
    if (tls_)
      begin_over_tls(std::move(socket), tls_->context(), std::move(arrival), hub_);
    else
      begin_plain(std::move(socket), std::move(arrival), hub_);
  }

  void admit(local::socket socket) {
    auto peer = peer_of(socket.native_handle());
    const Holder holder{peer.trusted ? Guests::trusted : Guests::users, peer.name, Role::watch};
    if (const auto full = hub_->make_room(holder)) {
      hub_->keeper.no_seat();
      return refuse_plain(std::move(socket), full->sentence);
    }
    const auto from = "user " + peer.name;
    begin_plain(std::move(socket), {holder, std::move(peer), from}, hub_);
  }

  // Tells the core of bursts that are over, and looks again as long as there are others.
  void tell_of_bursts() {
    if (std::exchange(looks_at_bursts_, true)) return;
    bursts_.expires_after(std::chrono::seconds{1});
    bursts_.async_wait([this](Error stopped) {
      looks_at_bursts_ = false;
      if (stopped) return;
      for (auto& burst : hub_->keeper.take_bursts(wall_clock()))
        hub_->gate.turned_away(std::move(burst));
      if (hub_->keeper.has_bursts()) tell_of_bursts();
    });
  }

  // Sends at once if the feed was quiet; else when the interval since the last message is over.
  void fan_out() {
    const auto now = std::chrono::steady_clock::now();
    if (now < next_) return look_again(next_);
    told_ = false;
    auto snapshot = hub_->gate.snapshot();
    hub_->timings.look(*snapshot);
    const auto change = hub_->feed.advance(std::move(snapshot), wall_clock());
    if (const auto held = hub_->feed.held_for(); held.count() > 0) return look_again(now + held);
    if (!change) return;
    next_ = now + hub_->options.feed_interval;
    hub_->tell_panels(*change);
  }

  // Not later than then.
  void look_again(std::chrono::steady_clock::time_point at) {
    if (waiting_ && quiet_.expiry() <= at) return;
    waiting_ = true;
    quiet_.expires_at(at);
    quiet_.async_wait([this](Error stopped) {
      if (stopped) return;  // or it was set anew
      waiting_ = false;
      fan_out();
    });
  }

  // On a worker, and back on the panel thread with the response. What a caller gave to be answered
  // is moved along, and so never dies on the worker.
  LongWork::Run on(Worker& worker) {
    return [this, &worker](std::function<HttpResponse()> work, Respond respond) {
      return worker.offer([this, work = std::move(work), respond = std::move(respond)]() mutable {
        loop_.post([respond = std::move(respond), response = safely(work)]() mutable {
          respond(std::move(response));
        });
      });
    };
  }
  LongWork long_work() {
    return {on(soon_), on(at_leisure_), on_two_threads, [this] { return !ending_; }};
  }

  PanelLoop& loop_;
  std::atomic<bool> ending_{false};
  Worker soon_, at_leisure_;  // end before the loop does that they post to
  std::shared_ptr<Hub> hub_;
  std::shared_ptr<const TlsContext> tls_;
  Entrance<tcp> network_;
  Entrance<local> local_;
  bool owns_socket_ = false;
  asio::steady_timer quiet_{loop_.context().io};
  std::chrono::steady_clock::time_point next_{};
  bool waiting_ = false;
  asio::steady_timer bursts_{loop_.context().io};
  bool looks_at_bursts_ = false;
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
  if (const auto trouble = server->listen_locally()) return Failure{*trouble};
  return std::unique_ptr<Server>{std::move(server)};
}

}  // namespace catwalk::web
