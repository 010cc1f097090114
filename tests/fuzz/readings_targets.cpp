// SPDX-License-Identifier: Apache-2.0
// "readings": nodes show whatever the wire can carry, and everything that looks at them has to bear
// it: the core with its standing verdicts, a switch that is asked for, the preview, explain and the
// spectrum of every node. Promised: nothing ends, every finding has a sentence, and what no type of
// node can do moves no other node's numbers out of the finite.
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <deque>

#include "daemon/rack/core/core.hpp"
#include "daemon/rack/outlook/explain.hpp"
#include "daemon/rack/outlook/preview.hpp"
#include "daemon/rack/outlook/spectrum.hpp"
#include "daemon/rack/way/members.hpp"
#include "tests/fuzz/byte_targets.hpp"
#include "tests/support/physics_rack.hpp"

namespace catwalk::fuzz {
namespace {

using protocol::Bytes;
using protocol::ByteView;
using rack::TimePoint;

constexpr std::size_t record_size = 14;
constexpr std::size_t most_records = 64;
const TimePoint some_evening{std::chrono::hours{24 * 365 * 56}};

void promise(bool kept, const char* what) {
  if (kept) return;
  std::fprintf(stderr, "broken: %s\n", what);
  std::abort();
}

// Four sliding nodes: two share a combiner, one has a measured filter and one a filter that its
// datasheet does not describe. A second segment moves them all.
std::shared_ptr<const plan::RackPlan> rack_of_all_kinds() {
  auto plan = test::physics_rack(4, 6, 3);
  auto other = *plan.nodes[2].datasheet;
  other.type = "fixed";
  other.filters.front().model = nullptr;
  plan::Filter fixed;
  fixed.name = "fixed";
  fixed.fixed = {rf::Frequency::megahertz(470), rf::Frequency::megahertz(608)};
  fixed.width = fixed.fixed.width();
  other.filters.push_back(fixed);
  plan.nodes[2].datasheet = std::make_shared<const plan::Datasheet>(other);
  plan.receivers[0].branches = {{{plan.nodes[0].name, plan.nodes[1].name}}};
  auto moved = plan.segments.front();
  moved.name = {"moved"};
  for (const auto& node : plan.nodes)
    moved.settings[node.name] = {.gain = rf::Gain::decibels(3),
                                 .centre = rf::Frequency::megahertz(520)};
  plan.segments.push_back(std::move(moved));
  return std::make_shared<const plan::RackPlan>(std::move(plan));
}

const std::shared_ptr<const plan::RackPlan>& the_plan() {
  static const auto plan = rack_of_all_kinds();
  return plan;
}

// A core whose records are kept, whose ways are planned and whose commands nobody answers.
class Rack {
 public:
  Rack() : core_{the_plan(), rack::Restored{.epoch = {1}}, now_} {}

  void give(const rack::Event& event) {
    now_ += std::chrono::milliseconds{100};
    auto effects = core_.on(event, now_);
    std::deque<rack::Effect> due(effects.begin(), effects.end());
    while (!due.empty()) {
      const auto effect = std::move(due.front());
      due.pop_front();
      std::optional<rack::Event> next;
      if (const auto* record = std::get_if<rack::Record>(&effect))
        next = rack::Recorded{record->id};
      else if (const auto* question = std::get_if<rack::PlanWay>(&effect))
        next = rack::WayPlanned{question->id, rack::plan_way(question->question)};
      else if (const auto* sent = std::get_if<rack::Send>(&effect))
        next = rack::CommandFailed{sent->command, protocol::Fault::timed_out};
      if (!next) continue;
      auto more = core_.on(*next, now_);
      due.insert(due.end(), more.begin(), more.end());
    }
  }
  rack::SnapshotPtr snapshot() const { return core_.snapshot(); }

 private:
  TimePoint now_ = some_evening;
  rack::Core core_;
};

protocol::Reading reading_from(ByteView record) {
  protocol::Reading reading;
  const auto flags = record[1];
  reading.settings.gain_cdb = static_cast<std::int16_t>(protocol::get(record, 2, 2));
  reading.settings.filter = record[4];
  reading.settings.centre_hz = static_cast<std::uint32_t>(protocol::get(record, 5, 4));
  reading.settings.power = (flags & 1U) == 0;
  if ((flags & 2U) != 0) reading.settings.label = {static_cast<char>(record[9]), '\x1B', '\n'};
  reading.telemetry.powered = (flags & 4U) == 0;
  reading.telemetry.locally_changed = (flags & 8U) != 0;
  reading.telemetry.boots = record[9];
  reading.epoch.value = static_cast<std::uint32_t>(protocol::get(record, 10, 4));
  return reading;
}

void bear(const rack::Verdict& verdict) {
  for (const auto& finding : verdict.findings)
    promise(!finding.sentence.empty(), "a finding has a sentence");
}

void look_at(const rack::Snapshot& snapshot) {
  const auto& plan = *snapshot.plan;
  for (const auto& node : snapshot.nodes) bear(node->standing);
  const rack::SettingsOf shown = [&](const plan::NodeName& name) {
    const auto node = snapshot.find(name);
    return node ? plan::amplifier_of(rack::passive_without_supply(node->seen)) : std::nullopt;
  };
  for (const auto& segment : plan.segments) {
    const auto preview = rack::preview(snapshot, segment.name);
    bear(preview.way.end);
    for (const auto& node : plan.nodes) {
      const auto settings = shown(node.name);
      if (!settings) continue;
      for (const auto& chain : rack::explain(plan, segment, node, *settings, shown, {}).chains)
        promise(!std::isnan(chain.budget.noise.dbm()), "the noise is a number");
    }
    (void)rack::spectrum_of(plan, segment, shown, rack::span_of_show(plan));
  }
}

void run_readings(ByteView input) {
  Rack rack;
  const auto records = std::min(input.size() / record_size, most_records);
  for (std::size_t i = 0; i < records; ++i) {
    const auto record = input.subspan(i * record_size, record_size);
    const auto& nodes = the_plan()->nodes;
    const auto uid = nodes[record[0] % nodes.size()].uid;
    rack.give(rack::NodeReported{uid, reading_from(record)});
    if (record[0] >= 0x80) {
      rack::SwitchRequested go;
      go.request = i + 1;
      go.segment = plan::SegmentName{record[0] >= 0xC0 ? "moved" : "all"};
      go.who = "ana";
      rack.give(go);
    }
  }
  look_at(*rack.snapshot());
}

Bytes record_of(std::uint8_t node, std::uint8_t flags, std::int16_t gain, std::uint8_t filter,
                std::uint32_t centre) {
  Bytes out{node, flags};
  protocol::put(out, static_cast<std::uint16_t>(gain), 2);
  protocol::put(out, filter, 1);
  protocol::put(out, centre, 4);
  protocol::put(out, 1, 1);
  protocol::put(out, 7, 4);
  return out;
}

std::vector<Bytes> readings_seeds() {
  std::vector<Bytes> seeds;
  Bytes honest;
  for (std::uint8_t node = 0; node < 4; ++node) {
    const auto record = record_of(node, 0, 600, 0, 520'000'000);
    honest.insert(honest.end(), record.begin(), record.end());
  }
  seeds.push_back(honest);
  // What was shown when a fault was found: a sliding filter below half its width, and other ends.
  for (const auto& [gain, filter, centre] :
       {std::tuple{std::int16_t{0}, std::uint8_t{0}, 0U},
        {std::int16_t{32'767}, std::uint8_t{0}, 19'999'999U},
        {std::int16_t{-32'768}, std::uint8_t{255}, 4'294'967'295U},
        {std::int16_t{32'767}, std::uint8_t{1}, 0U}}) {
    auto seed = honest;
    const auto record = record_of(0xC1, 0, gain, filter, centre);
    seed.insert(seed.end(), record.begin(), record.end());
    seeds.push_back(std::move(seed));
  }
  return seeds;
}

}  // namespace

const std::vector<Target>& targets() {
  static const std::vector<Target> all{{"readings", run_readings, readings_seeds}};
  return all;
}

}  // namespace catwalk::fuzz
