// SPDX-License-Identifier: Apache-2.0
#pragma once
// The core over the small rack behind a matrix, with its nodes in the test's hand.

#include <vector>

#include "daemon/rack/core/core.hpp"
#include "tests/support/matrix_rack.hpp"

namespace catwalk::test {

inline const auto home = slide_at(0, 518);
inline const auto straight = shore_set({{1}, {2}, {}});

// Records are kept at once; commands are in the test's hand.
struct Bench {
  explicit Bench(rack::Restored restored = {.epoch = {1}},
                 const plan::MatrixSheet& sheet = shore_sheet())
      : Bench{matrix_rack(sheet), std::move(restored)} {}
  explicit Bench(plan::RackPlan plan, rack::Restored restored = {.epoch = {1}})
      : core{std::make_shared<const plan::RackPlan>(std::move(plan)), begun(std::move(restored)),
             now} {}

  static rack::Restored begun(rack::Restored restored) {
    restored.reached.emplace("speeches", rack::TimePoint{});
    return restored;
  }
  void on(const rack::Event& event) {
    now += std::chrono::seconds{1};
    for (const auto& effect : core.on(event, now)) {
      if (const auto* answer = std::get_if<rack::Respond>(&effect))
        answers.push_back(answer->answer);
      if (const auto* send = std::get_if<rack::Send>(&effect)) sent.push_back(*send);
      const auto* record = std::get_if<rack::Record>(&effect);
      if (record == nullptr) continue;
      journal.insert(journal.end(), record->entries.begin(), record->entries.end());
      writes.insert(writes.end(), record->writes.begin(), record->writes.end());
      due.push_back(record->id);
    }
    while (!due.empty()) {
      const auto id = due.back();
      due.pop_back();
      on(rack::Recorded{id});
    }
  }
  void report(std::uint64_t node, const plan::Settings& settings) {
    on(rack::NodeReported{uid(node), reading_of(settings)});
  }
  void report(const plan::MatrixSettings& settings) {
    on(rack::NodeReported{uid(shore_uid), state_of(settings)});
  }
  // All nodes are met where they belong.
  void meet() {
    report(straight);
    for (const auto node : {1, 2, 3}) report(static_cast<std::uint64_t>(node), home);
  }
  void route(const plan::MatrixPatch& patch, bool dry_run = false) {
    on(rack::RoutesRequested{
        .request = ++request, .node = {"shore"}, .patch = patch, .dry_run = dry_run, .who = "ana"});
  }
  void answer(const protocol::Answer& reply) {
    on(rack::CommandAnswered{sent.back().command, reply});
  }
  rack::NodeViewPtr shore() const { return core.snapshot()->find_matrix({"shore"}); }
  // The antennas of a branch, as everybody sees them.
  std::vector<plan::NodeName> heard(std::size_t branch) const {
    return core.snapshot()->plan->receivers[0].branches[branch - 1].nodes;
  }
  std::vector<std::string> alarms() const {
    std::vector<std::string> names;
    for (const auto& alarm : *core.snapshot()->alarms)
      if (alarm.active())
        names.push_back(std::string{rack::name_of(alarm.kind)} + ' ' + alarm.subject);
    return names;
  }

  rack::TimePoint now{std::chrono::hours{24 * 365 * 50}};
  rack::RequestId request = 0;
  std::vector<rack::Answer> answers;
  std::vector<rack::Send> sent;
  std::vector<rack::JournalEntry> journal;
  std::vector<rack::Write> writes;
  std::vector<rack::RecordId> due;
  rack::Core core;
};

}  // namespace catwalk::test
