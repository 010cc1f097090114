// SPDX-License-Identifier: Apache-2.0
// A long evening by hand: knobs, lost supplies, frozen nodes, panels by the hundred, searches of
// the journal and a node that flaps, beside changes that have to settle. Prints once a minute what
// the daemon costs and how long people wait, at the end whose answers were slow, and fails if it
// grows without end or a change does not come through.
//
//   soak --minutes 120 [--panels 200] [--seed 1] [--pause MS]
//
// Everybody asks again at once, or after a pause: with 40 ms an evening of two hours leaves room
// for other work on the machine.
// In ctest it runs for a few seconds only, to see that it still runs.
#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <mutex>
#include <random>
#include <thread>

#include "tests/hostile/played_net.hpp"
#include "tests/support/rig.hpp"

using namespace catwalk;
using namespace catwalk::test;
using Clock = std::chrono::steady_clock;

namespace {

const protocol::NodeUid flapping_uid{0x7a10, 0x401};

struct Options {
  double minutes = 120;
  int panels = 200;
  std::uint32_t seed = 1;
  std::chrono::milliseconds pause{0};
};

// Panels on the live feed, each read as it comes, by one thread.
class Panels {
 public:
  Panels(std::uint16_t port, int count) {
    for (int i = 0; i < count; ++i) join(port);
    thread_ = std::thread{[this] { run(); }};
  }
  Panels(const Panels&) = delete;
  Panels& operator=(const Panels&) = delete;
  ~Panels() {
    over_ = true;
    thread_.join();
    for (const auto& one : sockets_) ::close(one.fd);
  }
  int open() const { return open_; }
  long long bytes() const { return bytes_; }

 private:
  void join(std::uint16_t port) {
    const int socket = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    sockaddr_in to{};
    to.sin_family = AF_INET;
    to.sin_port = htons(port);
    to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    const std::string hello =
        "GET /api/v1/live HTTP/1.1\r\nHost: 127.0.0.1\r\nUpgrade: websocket\r\nConnection: "
        "Upgrade\r\n"
        "Sec-WebSocket-Version: 13\r\nSec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==\r\n\r\n";
    if (::connect(socket, reinterpret_cast<sockaddr*>(&to), sizeof to) != 0 ||
        ::send(socket, hello.data(), hello.size(), 0) < 0)
      throw std::runtime_error{"a panel cannot join"};
    ::fcntl(socket, F_SETFL, O_NONBLOCK);
    sockets_.push_back({socket, POLLIN, 0});
    ++open_;
  }

  void run() {
    std::array<char, 65'536> some{};
    auto next_pong = Clock::now();
    while (!over_) {
      ::poll(sockets_.data(), sockets_.size(), 100);
      for (auto& one : sockets_) {
        if ((one.revents & (POLLIN | POLLHUP | POLLERR)) == 0 || one.events == 0) continue;
        const auto count = ::recv(one.fd, some.data(), some.size(), 0);
        if (count > 0) {
          bytes_ += count;
        } else if (count == 0 || (errno != EAGAIN && errno != EWOULDBLOCK)) {
          one.events = 0;
          --open_;
        }
      }
      if (Clock::now() < next_pong) continue;
      next_pong = Clock::now() + std::chrono::seconds{5};
      // An unsolicited pong, masked with zeros: RFC 6455, section 5.5.3.
      constexpr std::array<char, 6> pong{'\x8A', '\x80', 0, 0, 0, 0};
      for (const auto& one : sockets_)
        if (one.events != 0) (void)::send(one.fd, pong.data(), pong.size(), MSG_NOSIGNAL);
    }
  }

  std::vector<pollfd> sockets_;
  std::atomic<int> open_{0};
  std::atomic<long long> bytes_{0};
  std::atomic<bool> over_{false};
  std::thread thread_;
};

// Milliseconds that something took, from several threads.
class Times {
 public:
  void add(double milliseconds) {
    const std::lock_guard lock{mutex_};
    all_.push_back(milliseconds);
  }
  struct Summary {
    std::size_t count = 0;
    double median = 0, p99 = 0, worst = 0;
    std::size_t over_a_second = 0;
  };
  Summary summary(std::size_t from = 0) const {
    const std::lock_guard lock{mutex_};
    std::vector<double> some(
        all_.begin() + static_cast<std::ptrdiff_t>(std::min(from, all_.size())), all_.end());
    if (some.empty()) return {};
    std::ranges::sort(some);
    const auto at = [&](double share) {
      return some[static_cast<std::size_t>(share * static_cast<double>(some.size() - 1))];
    };
    return {some.size(), at(0.5), at(0.99), some.back(),
            static_cast<std::size_t>(
                std::ranges::count_if(some, [](double one) { return one > 1'000; }))};
  }

 private:
  mutable std::mutex mutex_;
  std::vector<double> all_;
};

double timed(Times& times, const std::function<void()>& work) {
  const auto begin = Clock::now();
  work();
  const std::chrono::duration<double, std::milli> took = Clock::now() - begin;
  times.add(took.count());
  return took.count();
}

void print(const char* what, const Times& times) {
  const auto all = times.summary();
  std::printf("%-28s %8zu, p50 %.1f ms, p99 %.1f ms, worst %.1f ms; over 1 s: %zu\n", what,
              all.count, all.median, all.p99, all.worst, all.over_a_second);
}

// What people look at.
constexpr std::array<const char*, 6> pages{"/rack",     "/nodes",  "/nodes/net-1/explain",
                                           "/spectrum", "/alarms", "/segments/finale/preview"};

struct Cost {
  double mebibytes = 0;
  int descriptors = 0;
};
Cost cost_of(int pid) {
  Cost cost;
  std::ifstream status{"/proc/" + std::to_string(pid) + "/status"};
  for (std::string line; std::getline(status, line);)
    if (line.starts_with("VmRSS:")) cost.mebibytes = std::stod(line.substr(6)) / 1024;
  std::error_code ignored;
  for ([[maybe_unused]] const auto& one :
       std::filesystem::directory_iterator{"/proc/" + std::to_string(pid) + "/fd", ignored})
    ++cost.descriptors;
  return cost;
}

class Soak {
 public:
  explicit Soak(const Options& options)
      : options_{options},
        random_{options.seed},
        net_{*protocol::Key::from_bytes(protocol::Bytes(32, 0x55)), {flapping_uid}, "tern-inline"} {
    rig_.add_far_node(flapping_uid.text(), net_.port());
    rig_.start_daemon();
  }

  int run() {
    const auto port = rig_.daemon_port();
    Panels panels{port, options_.panels};
    std::vector<std::thread> others;
    others.emplace_back([this] { flap(); });
    for (int i = 0; i < 2; ++i) others.emplace_back([this, i] { search(i); });
    others.emplace_back([this] { look(); });

    const auto begin = Clock::now();
    const auto end = begin + std::chrono::duration_cast<Clock::duration>(
                                 std::chrono::duration<double>{options_.minutes * 60});
    auto next_line = begin;
    std::size_t told = 0;
    std::printf("minute  RSS/MiB  fds  panels  changes  p50/ms  p99/ms  worst/ms  GETs>1s\n");
    while (Clock::now() < end) {
      trouble();
      people();
      if (Clock::now() < next_line) continue;
      next_line += std::chrono::minutes{1};
      const auto cost = cost_of(rig_.daemon->pid());
      costs_.push_back(cost);
      const auto now = changes_.summary(told);
      told += now.count;
      const std::chrono::duration<double, std::ratio<60>> passed = Clock::now() - begin;
      std::printf("%6.1f  %7.1f  %3d  %6d  %7zu  %6.1f  %6.1f  %8.1f  %7zu\n", passed.count(),
                  cost.mebibytes, cost.descriptors, panels.open(), now.count, now.median, now.p99,
                  now.worst, slow_gets_.load());
      std::fflush(stdout);
    }
    over_ = true;
    for (auto& one : others) one.join();
    return judge(panels);
  }

 private:
  int any(int low, int high) { return std::uniform_int_distribution{low, high}(random_); }

  // Something happens at a node, and is over a little later.
  void trouble() {
    struct Kind {
      const char* on;
      const char* off;
    };
    static constexpr std::array<Kind, 3> kinds{{{"power UID off", "power UID on"},
                                                {"silence UID on", "silence UID off"},
                                                {"knob UID gain 7", ""}}};
    const bool serial = any(0, 1) == 0;
    auto& process = serial ? *rig_.bus : *rig_.net;
    // The first node of each line has the trouble, the second is changed.
    const auto uid = Rig::uid(serial ? "bus-1" : "net-1");
    const auto say = [&](std::string words) {
      if (words.empty()) return;
      words.replace(words.find("UID"), 3, uid);
      process.say(words);
    };
    if (!pending_.empty()) {
      const auto [where, words] = pending_;
      where->say(words);
      pending_ = {};
    }
    if (any(0, 9) != 0) return;
    const auto& kind = kinds[static_cast<std::size_t>(any(0, 2))];
    say(kind.on);
    if (*kind.off == 0) return;
    std::string off = kind.off;
    off.replace(off.find("UID"), 3, uid);
    pending_ = {&process, off};
  }

  void people() {
    const char* node = any(0, 1) == 0 ? "bus-2" : "net-2";
    // A node that a busy machine did not let answer in time is asked again, as a person does.
    constexpr int patience = 20;
    const int gain = any(-3, 9);
    for (int tries = 1; tries <= patience && !over_; ++tries) {
      Said answer;
      timed(changes_, [&] { answer = rig_.set(node, {{"gain_db", gain}}); });
      const auto outcome = answer.text("outcome");
      if (outcome == "settled") break;
      const bool again = outcome == "unreachable" && tries < patience;
      (again ? asked_again_ : unsettled_) += 1;
      if (again) continue;
      std::printf("did not settle: %s %s\n", node, answer.body.dump().c_str());
      break;
    }
    if (any(0, 99) == 0) (void)rig_.send("POST", "/nodes/bus-1/reapply", Json::object());
    std::this_thread::sleep_for(options_.pause);
  }

  void flap() {
    int sent = 0;
    constexpr std::chrono::microseconds between{2'500};
    for (auto next = Clock::now(); !over_; next += between) {
      std::this_thread::sleep_until(next);
      auto reading = net_.shown(flapping_uid);
      reading.settings.gain_cdb = static_cast<std::int16_t>(100 * (++sent % 5));
      net_.show(flapping_uid, reading);
      net_.report(flapping_uid);
    }
  }

  cli::Client client() const {
    return cli::Client{{"127.0.0.1", std::to_string(rig_.daemon_port())},
                       {{"Catwalk-User", "bo"}},
                       std::chrono::seconds{70}};
  }

  void get(cli::Client& asks, const std::string& what) {
    const auto answer = asks.request("GET", "/api/v1" + what);
    if (!answer || answer->status != 200) ++unanswered_;
  }

  void search(int number) {
    auto asks = client();
    while (!over_) {
      timed(searches_,
            [&] { get(asks, "/journal?limit=1000&text=none" + std::to_string(number)); });
      std::this_thread::sleep_for(options_.pause);
    }
  }

  void look() {
    auto asks = client();
    for (std::size_t i = 0; !over_; ++i) {
      const auto which = i % pages.size();
      const auto took = timed(gets_[which], [&] { get(asks, pages[which]); });
      if (took > 1'000) ++slow_gets_;
      std::this_thread::sleep_for(options_.pause);
    }
  }

  int judge(const Panels& panels) {
    print("changes", changes_);
    for (std::size_t i = 0; i < pages.size(); ++i) print(pages[i], gets_[i]);
    print("searches", searches_);
    std::printf(
        "changes asked again: %d, not settled: %d; GETs not answered: %d; panels %d, %.1f MiB\n",
        asked_again_, unsettled_, unanswered_.load(), panels.open(),
        static_cast<double>(panels.bytes()) / (1 << 20));
    if (!rig_.daemon->running()) {
      std::printf("FAILED: the daemon has ended: %s\n", rig_.daemon->output().c_str());
      return 1;
    }
    bool good = panels.open() == options_.panels && unsettled_ == 0 && unanswered_ == 0;
    // What it costs after a quarter of the time is what it costs at the end.
    if (costs_.size() >= 8) {
      const auto& early = costs_[costs_.size() / 4];
      const auto& late = costs_.back();
      std::printf("RSS %.1f MiB after a quarter, %.1f MiB at the end; descriptors %d, %d\n",
                  early.mebibytes, late.mebibytes, early.descriptors, late.descriptors);
      good = good && late.mebibytes < 1.25 * early.mebibytes + 8 &&
             late.descriptors <= early.descriptors + 8;
    }
    std::printf(good ? "good\n" : "FAILED\n");
    return good ? 0 : 1;
  }

  Options options_;
  std::mt19937 random_;
  PlayedNet net_;
  Rig rig_;
  std::atomic<bool> over_{false};
  Times changes_, searches_;
  std::array<Times, pages.size()> gets_;
  std::atomic<std::size_t> slow_gets_{0};
  std::atomic<int> unanswered_{0};
  int unsettled_ = 0;
  int asked_again_ = 0;
  std::vector<Cost> costs_;
  struct Pending {
    Process* where = nullptr;
    std::string words;
    bool empty() const { return where == nullptr; }
  } pending_;
};

}  // namespace

int main(int count, char** words) {
  Options options;
  for (int i = 1; i + 1 < count; i += 2) {
    const std::string name = words[i];
    if (name == "--minutes") options.minutes = std::stod(words[i + 1]);
    if (name == "--panels") options.panels = std::stoi(words[i + 1]);
    if (name == "--pause") options.pause = std::chrono::milliseconds{std::stoi(words[i + 1])};
    if (name == "--seed") options.seed = static_cast<std::uint32_t>(std::stoul(words[i + 1]));
  }
  try {
    return Soak{options}.run();
  } catch (const std::exception& error) {
    std::printf("FAILED: %s\n", error.what());
    return 1;
  }
}
