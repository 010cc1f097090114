// SPDX-License-Identifier: Apache-2.0
// A switch of 32 nodes on one serial line at 115200 baud in one step, from the request to the
// answer that all were read back, against the time that the bytes need on the wire (10 bits each:
// start, eight, stop).
//
// In virtual time, since a pseudo-terminal has no baud rate: the real core, the engine that drives
// a real port, its frames, and emulated nodes that take 0.3 ms to turn round. Planning, the journal
// and the processor take no virtual time; what planning and processor take is measured in real time
// and told beside.
#include <deque>

#include "config/load.hpp"
#include "daemon/rack/core/core.hpp"
#include "daemon/rack/outlook/preview.hpp"
#include "tests/bench/bench.hpp"
#include "tests/support/drivers.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

constexpr int nodes = 32;
constexpr double baud = 115'200;

plan::RackPlan two_segments(const std::filesystem::path& folder) {
  auto loaded = config::load(write_simulated_rack(folder, nodes));
  if (!loaded.rack) throw std::runtime_error{config::to_text(loaded.problems.front())};
  auto plan = std::move(loaded.rack->plan);
  plan.line_timings[plan.lines.front()] = {static_cast<std::uint32_t>(baud),
                                           std::chrono::microseconds{300}, false};
  plan.segments.push_back(plan.segments.front());
  plan.segments.back().name = {"finale"};
  for (const auto& node : plan.nodes) {
    plan.segments.front().settings[node.name] = {.gain = rf::Gain::decibels(0)};
    plan.segments.back().settings[node.name] = {.gain = rf::Gain::decibels(3)};
  }
  return plan;
}

drivers::SimulatedLineConfig line_for(const plan::RackPlan& plan) {
  auto line = line_of(plan.nodes.size());
  for (std::size_t i = 0; i < plan.nodes.size(); ++i) line.nodes[i].uid = plan.nodes[i].uid;
  line.baud = static_cast<std::uint32_t>(baud);
  return line;
}

// The core on the one line. Records are durable at once.
class Desk {
 public:
  explicit Desk(plan::RackPlan plan)
      : bus_{line_for(plan), now_},
        core_{std::make_shared<const plan::RackPlan>(std::move(plan)), {.epoch = {1}}, wall()} {
    bus_.start(now_);
  }

  bool run_until(const std::function<bool()>& holds) {
    const auto give_up = now_ + std::chrono::seconds{60};
    for (hear(); !holds(); hear()) {
      const auto next = bus_.deadline();
      if (!next || *next > give_up) return false;
      now_ = std::max(now_, *next);
      bus_.advance(now_);
    }
    return true;
  }

  bool all_read() const {
    return std::ranges::all_of(core_.snapshot()->nodes,
                               [](const auto& node) { return node->seen.has_value(); });
  }

  // Virtual seconds until the answer.
  double go(const std::string& segment) {
    answer_.reset();
    const auto begin = now_;
    give(
        rack::SwitchRequested{.request = 1, .segment = plan::SegmentName{segment}, .who = "bench"});
    if (!run_until([&] { return answer_.has_value(); })) throw std::runtime_error{"no answer"};
    if (answer_->outcome != rack::Outcome::done) throw std::runtime_error{answer_->detail};
    if (answer_->switching->steps != 1 || answer_->switching->nodes.size() != nodes)
      throw std::runtime_error{"not all in one step"};
    return Seconds{now_ - begin}.count();
  }

  // Milliseconds that a preview expects.
  double expected(const std::string& segment) const {
    const auto preview = rack::preview(*core_.snapshot(), {segment});
    return 1e-3 * static_cast<double>(preview.time.count());
  }

  std::uint64_t bytes() const {
    return bus_.counters().bytes_sent + bus_.counters().bytes_received;
  }
  double planning = 0;  // seconds, real time, of the last switch

 private:
  rack::TimePoint wall() const {
    return rack::TimePoint{
        std::chrono::duration_cast<std::chrono::microseconds>(now_.time_since_epoch())};
  }

  void hear() {
    for (auto& notice : bus_.take().notices) {
      if (const auto* answered = std::get_if<drivers::CommandAnswered>(&notice))
        give(rack::CommandAnswered{answered->id, answered->reply});
      if (const auto* failed = std::get_if<drivers::CommandFailed>(&notice))
        give(rack::CommandFailed{failed->id, failed->fault});
      if (const auto* read = std::get_if<drivers::NodeRead>(&notice))
        give(rack::NodeReported{read->node, read->reading});
    }
  }

  void give(const rack::Event& event) {
    for (const auto& effect : core_.on(event, wall())) {
      if (const auto* send = std::get_if<rack::Send>(&effect))
        bus_.submit({send->command, send->node, send->request}, now_);
      if (const auto* record = std::get_if<rack::Record>(&effect)) give(rack::Recorded{record->id});
      if (const auto* respond = std::get_if<rack::Respond>(&effect);
          respond != nullptr && respond->answer.outcome != rack::Outcome::accepted)
        answer_ = respond->answer;
      if (const auto* ask = std::get_if<rack::PlanWay>(&effect)) {
        rack::Way way;
        planning = time_of([&] { way = rack::plan_way(ask->question); }).count();
        give(rack::WayPlanned{ask->id, std::move(way)});
      }
    }
  }

  drivers::TimePoint now_{std::chrono::hours{1}};
  drivers::SimulatedBus bus_;
  rack::Core core_;
  std::optional<rack::Answer> answer_;
};

int measure(const BenchOptions& options) {
  const TemporaryFolder folder;
  Desk desk{two_segments(folder.path())};
  if (!desk.run_until([&] { return desk.all_read(); })) return 1;

  std::vector<double> switches;
  std::vector<double> wires;
  std::vector<double> processor;
  std::vector<double> planning;
  const double expected = desk.expected("finale");
  for (int round = 0; round < options.rounds(100, 2); ++round) {
    const auto bytes = desk.bytes();
    double time = 0;
    const auto real = time_of([&] { time = desk.go(round % 2 == 0 ? "finale" : "speeches"); });
    switches.push_back(1e3 * time);
    wires.push_back(1e3 * static_cast<double>(desk.bytes() - bytes) * 10 / baud);
    processor.push_back(1e3 * real.count());
    planning.push_back(1e3 * desk.planning);
  }
  const int status = judge("switch of 32 nodes at 115200 baud in one step, virtual time",
                           {"request to all read back", switches}, {"its bytes on the wire", wires},
                           1.25, "ms", options);
  tell("expected by the preview", expected, "ms");
  tell("planning, real time", median(planning), "ms", 2);
  tell("processor, all nodes and planning included", median(processor), "ms", 2);
  return status;
}

}  // namespace

int main(int argc, char** argv) { return run_bench(argc, argv, measure); }
