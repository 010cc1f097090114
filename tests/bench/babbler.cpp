// SPDX-License-Identifier: Apache-2.0
// A change on one UDP line while a node on another flaps: 400 reports a second, each with other
// settings. Alone and beside it in turns, in one run. Figure: the medians; and the 99th
// percentiles.
#include <atomic>
#include <thread>

#include "tests/bench/bench.hpp"
#include "tests/hostile/played_net.hpp"
#include "tests/support/raw_socket.hpp"
#include "tests/support/rig.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

const protocol::NodeUid babbler{0x7a10, 0x401};

// Reports while it is told to, and until the object goes.
class Flapping {
 public:
  explicit Flapping(PlayedNet& net) : net_{net}, thread_{[this] { run(); }} {}
  Flapping(const Flapping&) = delete;
  Flapping& operator=(const Flapping&) = delete;
  ~Flapping() {
    over_ = true;
    thread_.join();
  }
  void flap(bool on) { on_ = on; }
  long sent() const { return sent_; }

 private:
  void run() {
    constexpr std::chrono::microseconds between{2'500};
    for (auto next = std::chrono::steady_clock::now(); !over_; next += between) {
      std::this_thread::sleep_until(next);
      if (!on_) continue;
      auto reading = net_.shown(babbler);
      reading.settings.gain_cdb = static_cast<std::int16_t>(100 * (sent_ % 5));
      net_.show(babbler, reading);
      if (net_.report(babbler)) ++sent_;
    }
  }

  PlayedNet& net_;
  std::atomic<bool> on_{false};
  std::atomic<bool> over_{false};
  std::atomic<long> sent_{0};
  std::thread thread_;
};

int measure(const BenchOptions& options) {
  PlayedNet net{*protocol::Key::from_bytes(protocol::Bytes(32, 0x55)), {babbler}, "tern-inline"};
  Rig rig;
  rig.add_far_node(babbler.text(), net.port());
  rig.start_daemon();
  Flapping flapping{net};
  int gain = 0;
  const auto change = [&] {
    gain = 1 - gain;
    if (rig.set("net-1", {{"gain_db", gain}}).text("outcome") != "settled")
      throw std::runtime_error{"not settled"};
  };
  change();
  std::vector<double> alone;
  std::vector<double> beside;
  for (int round = 0; round < options.rounds(8, 1); ++round) {
    flapping.flap(false);
    for (int i = 0; i < options.rounds(100, 5); ++i) alone.push_back(1e6 * time_of(change).count());
    flapping.flap(true);
    for (int i = 0; i < options.rounds(100, 5); ++i)
      beside.push_back(1e6 * time_of(change).count());
    // At the rate of the fault, for as long as changes alone would not take.
    const auto enough = flapping.sent() + options.rounds(400, 20);
    while (flapping.sent() < enough) beside.push_back(1e6 * time_of(change).count());
  }
  const int status =
      judge("change beside a node that flaps on another line",
            {"beside 400 reports a second", beside}, {"alone", alone}, 2.0, "us", options);
  tell("99th percentile alone", quantile(alone, 0.99), "us");
  tell("99th percentile beside", quantile(beside, 0.99), "us");
  tell("reports sent", flapping.sent());
  return status;
}

}  // namespace

int main(int argc, char** argv) { return run_bench(argc, argv, measure); }
