// SPDX-License-Identifier: Apache-2.0
// One change to 200 panels: from the moment the core has published it until each panel has read it,
// against a bare Beast server that broadcasts the same bytes. The rounds of the two take turns.
// Reach: 99th percentile at most 1.5 times that of the bare one. Then a panel that has stopped
// reading joins: the others must not feel it.
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <sys/epoll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <cstdio>
#include <mutex>
#include <stdexcept>
#include <thread>
#include <utility>

#include "daemon/rack/core/core.hpp"
#include "tests/bench/bare_broadcast.hpp"
#include "tests/bench/bench.hpp"
#include "tests/support/rack_fixture.hpp"
#include "web/server/wire/server.hpp"

namespace {

using namespace catwalk;
using namespace catwalk::test;
using Clock = std::chrono::steady_clock;

constexpr std::size_t panels = 200;

// A rack whose nodes are read again and again.
class Field final : public web::Gate {
 public:
  Field() {
    for (const auto* line : {"bus", "net"}) core_.on(rack::LineWentUp{{line}}, now_);
    for (std::uint64_t node = 1; node <= 3; ++node) read(node, 0);
  }
  // A node is read, and shows another gain than before.
  void read(std::uint64_t node, double gain) {
    now_ += std::chrono::milliseconds{500};
    core_.on(rack::NodeReported{uid(node), reading_of(slide_at(gain, 518))}, now_);
    const std::lock_guard hold{mutex_};
    snapshot_ = core_.snapshot();
  }

  rack::SnapshotPtr snapshot() const override {
    const std::lock_guard hold{mutex_};
    return snapshot_;
  }
  using Gate::ask;
  void ask(rack::Event, Answered, Until) override {}
  void read_journal(rack::JournalQuery, Render, Page) override {}
  std::vector<web::LineFigures> line_figures() const override { return {}; }
  void reload(std::string, Reloaded) override {}

 private:
  rack::TimePoint now_{std::chrono::sys_days{std::chrono::year{2026} / 8 / 14}};
  rack::Core core_{std::make_shared<const plan::RackPlan>(small_rack()), rack::Restored{}, now_};
  mutable std::mutex mutex_;
  rack::SnapshotPtr snapshot_ = core_.snapshot();
};

// A panel that takes the bytes of its WebSocket as they come.
class Listener {
 public:
  explicit Listener(std::uint16_t port)
      : socket_{::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)} {
    sockaddr_in to{};
    to.sin_family = AF_INET;
    to.sin_port = htons(port);
    to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    if (::connect(socket_, reinterpret_cast<const sockaddr*>(&to), sizeof to) != 0)
      throw std::runtime_error{"cannot connect"};
    const std::string ask =
        "GET /api/v1/live HTTP/1.1\r\nHost: 127.0.0.1\r\nUpgrade: websocket\r\n"
        "Connection: Upgrade\r\nSec-WebSocket-Version: 13\r\n"
        "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n";
    if (::send(socket_, ask.data(), ask.size(), 0) != static_cast<ssize_t>(ask.size()))
      throw std::runtime_error{"cannot ask"};
    while (bytes_.find("\r\n\r\n") == std::string::npos) take();
    bytes_.erase(0, bytes_.find("\r\n\r\n") + 4);
  }
  Listener(Listener&& other) noexcept
      : socket_{std::exchange(other.socket_, -1)}, bytes_{std::move(other.bytes_)} {}
  Listener& operator=(Listener&&) = delete;
  ~Listener() {
    if (socket_ >= 0) ::close(socket_);
  }

  int socket() const { return socket_; }
  void take() {
    std::array<char, 65'536> some{};
    const auto count = ::recv(socket_, some.data(), some.size(), 0);
    if (count <= 0) throw std::runtime_error{"a panel was cut off"};
    bytes_.append(some.data(), static_cast<std::size_t>(count));
  }
  // The next whole message that is there; RFC 6455, section 5.2: servers do not mask.
  bool next(std::string& message) {
    if (bytes_.size() < 2) return false;
    const auto byte = [&](std::size_t at) { return static_cast<unsigned char>(bytes_[at]); };
    std::size_t head = 2;
    std::size_t length = byte(1) & 0x7FU;
    const std::size_t more = length == 126 ? 2 : length == 127 ? 8 : 0;
    if (bytes_.size() < head + more) return false;
    if (more > 0) length = 0;
    for (std::size_t i = 0; i < more; ++i) length = length << 8 | byte(head + i);
    head += more;
    if (bytes_.size() < head + length) return false;
    message = bytes_.substr(head, length);
    bytes_.erase(0, head + length);
    return true;
  }

 private:
  int socket_;
  std::string bytes_;
};

class Audience {
 public:
  explicit Audience(std::uint16_t port) : poll_{::epoll_create1(EPOLL_CLOEXEC)} {
    for (std::size_t i = 0; i < panels; ++i) {
      listeners_.emplace_back(port);
      epoll_event event{};
      event.events = EPOLLIN;
      event.data.u64 = i;
      ::epoll_ctl(poll_, EPOLL_CTL_ADD, listeners_.back().socket(), &event);
    }
  }
  Audience(const Audience&) = delete;
  Audience& operator=(const Audience&) = delete;
  ~Audience() { ::close(poll_); }

  // Until each has got so many messages more.
  void await(std::size_t messages, const std::function<void(Clock::time_point)>& came = {}) {
    std::vector<std::size_t> got(panels, 0);
    std::size_t left = panels;
    const auto read_out = [&](std::size_t which) {
      while (got[which] < messages && listeners_[which].next(last)) {
        if (came) came(Clock::now());
        if (++got[which] == messages) --left;
      }
    };
    // What came along with the answer to the handshake is here already.
    for (std::size_t i = 0; i < panels; ++i) read_out(i);
    while (left > 0) {
      std::array<epoll_event, 64> ready{};
      const int count = ::epoll_wait(poll_, ready.data(), ready.size(), 10'000);
      if (count <= 0) throw std::runtime_error{"a panel was told nothing in ten seconds"};
      for (std::size_t i = 0; i < static_cast<std::size_t>(count); ++i) {
        listeners_[ready[i].data.u64].take();
        read_out(ready[i].data.u64);
      }
    }
  }
  std::string last;

 private:
  int poll_;
  std::vector<Listener> listeners_;
};

// Microseconds from `tell` to each panel.
void measure(Audience& audience, std::vector<double>& into, const std::function<void()>& tell) {
  const auto begin = Clock::now();
  tell();
  audience.await(1, [&](Clock::time_point at) {
    into.push_back(std::chrono::duration<double, std::micro>(at - begin).count());
  });
}

int run(const BenchOptions& options) {
  Field field;
  web::PanelLoop loop;
  web::ServerOptions how;
  how.doors.hosts = {"127.0.0.1"};
  how.feed_interval = std::chrono::milliseconds{0};
  auto opened = web::Server::open(loop, field, std::move(how));
  if (!opened) throw std::runtime_error{opened.error()};
  auto& server = *opened.value();
  loop.start();
  BareBroadcast bare;

  Audience ours{server.port()};
  ours.await(2);  // the hello and the snapshot
  Audience other{bare.port()};
  while (bare.panels() < panels) std::this_thread::yield();

  std::vector<double> our_times;
  std::vector<double> other_times;
  std::vector<double> beside_a_silent_one;
  double gain = 0;
  const auto turns = [&](int rounds, std::vector<double>& into) {
    for (int i = 0; i < rounds; ++i) {
      gain = gain > 10 ? 0 : gain + 1;
      field.read(1, gain);
      measure(ours, into, [&] { server.snapshot_changed(); });
      const auto same = std::make_shared<const std::string>(ours.last);
      measure(other, other_times, [&] { bare.tell(same); });
    }
  };
  turns(options.rounds(20, 1), our_times);  // warm
  our_times.clear();
  other_times.clear();
  turns(options.rounds(500, 5), our_times);
  // It has asked, and from now on reads nothing.
  const Listener silent{server.port()};
  turns(options.rounds(500, 5), beside_a_silent_one);

  Comparison p99{"a change to 200 panels, 99th percentile of all panels",
                 "this server",
                 "bare broadcast of the same bytes",
                 "us",
                 quantile(our_times, 0.99),
                 quantile(other_times, 0.99)};
  p99.ratio = p99.our_figure / p99.other_figure;
  p99.reach = 1.5;
  std::printf("  medians: %.1f us and %.1f us, %zu bytes\n", median(our_times), median(other_times),
              ours.last.size());
  std::printf("  beside a panel that does not read: median %.1f us, 99th percentile %.1f us\n",
              median(beside_a_silent_one), quantile(beside_a_silent_one, 0.99));
  const int status = judge(p99, options);
  loop.stop();
  return status;
}

}  // namespace

int main(int argc, char** argv) { return run_bench(argc, argv, run); }
