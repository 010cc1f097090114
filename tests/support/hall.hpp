// SPDX-License-Identifier: Apache-2.0
#pragma once
// A core with its nodes, its store and its planner around it, all in one queue that the test lets
// run: to the end, or up to a moment. Nodes can be silent, refuse, or take no notice of an apply.

#include <deque>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "daemon/rack/core/core.hpp"
#include "daemon/rack/values/wire.hpp"
#include "tests/support/rack_fixture.hpp"

namespace catwalk::test {

struct HallNode {
  plan::Settings force;
  std::optional<protocol::Stage> staged = {};
  bool silent = false;
  bool powered = true;
  bool refuses_to_stage = false;
  bool stages_unheard = false;  // it does, and its answer gets lost
  int applies_to_miss = 0;

  protocol::Reading reading() const {
    auto reading = reading_of(force);
    reading.telemetry.powered = powered;
    return reading;
  }
  // Nothing: no answer.
  std::optional<protocol::Reply> obey(const protocol::Ask& request) {
    if (silent) return std::nullopt;
    if (const auto* stage = std::get_if<protocol::Stage>(&request)) {
      if (refuses_to_stage) return protocol::Refusal{protocol::RefusalReason::gain_out_of_range, 0};
      staged = *stage;
      if (stages_unheard) return std::nullopt;
      return protocol::Done{};
    }
    if (const auto* apply = std::get_if<protocol::Apply>(&request)) {
      if (applies_to_miss > 0) return --applies_to_miss, protocol::Done{};
      if (!staged || staged->ticket != apply->ticket)
        return protocol::Refusal{protocol::RefusalReason::ticket_unknown, 0};
      force = rack::from_wire(staged->settings);
      return protocol::Done{};
    }
    if (std::holds_alternative<protocol::Discard>(request)) staged.reset();
    if (std::holds_alternative<protocol::Read>(request)) return reading();
    return protocol::Done{};
  }
};

// All three nodes of the small rack where its first segment is planned to have them.
inline std::map<std::uint64_t, HallNode> all_at_home() {
  return {{1, {slide_at(0, 518)}}, {2, {slide_at(0, 518)}}, {3, {slide_at(0, 518)}}};
}

class Hall {
 public:
  static constexpr rack::TimePoint some_day{std::chrono::hours{24 * 365 * 50}};
  // Nothing: it fails.
  using Planner = std::function<std::optional<rack::Way>(const rack::WayQuestion&)>;

  explicit Hall(const plan::RackPlan& plan, rack::Restored restored = {.epoch = {1}},
                std::map<std::uint64_t, HallNode> known = {}, rack::TimePoint begin = some_day)
      : plan_{std::make_shared<const plan::RackPlan>(plan)},
        now{begin},
        nodes{std::move(known)},
        core_{std::in_place, plan_, std::move(restored), now} {}

  // Every node is met with these settings; nodes that are silent fall silent.
  void meet() {
    for (auto& [bits, node] : nodes) {
      if (node.silent)
        give(rack::NodeFellSilent{uid(bits)});
      else
        give(rack::NodeReported{uid(bits), node.reading()});
      run();
    }
  }

  rack::RequestId go(std::optional<std::string> segment, std::optional<rack::Waiver> waiver = {}) {
    rack::SwitchRequested event;
    event.request = ++last_request;
    if (segment) event.segment = plan::SegmentName{*segment};
    event.waiver = std::move(waiver);
    event.who = "ana";
    give(event);
    return event.request;
  }

  // Somebody's request, until nothing is left to happen; its last answer.
  rack::Answer ask(auto event) {
    event.request = ++last_request;
    event.who = "ana";
    give(event);
    run();
    return answers.at(event.request).back();
  }

  void give(const rack::Event& event) {
    for (auto& effect : core_->on(event, now)) take(std::move(effect));
  }

  // One thing that was asked for happens; false: nothing is left.
  bool step() {
    if (under_way.empty()) return false;
    const auto effect = std::move(under_way.front());
    under_way.pop_front();
    happen(effect);
    return true;
  }
  void run() {
    while (step()) {
    }
  }
  // False: it never came to that.
  bool run_until(const std::function<bool()>& reached) {
    while (!reached())
      if (!step()) return false;
    return true;
  }
  void wait(std::chrono::microseconds time) {
    now += time;
    give(rack::TimePassed{});
  }

  // The daemon is killed: what was not durable is lost, and started again, perhaps with other
  // files.
  void kill_and_restart(const std::optional<plan::RackPlan>& files = {}) {
    if (files) plan_ = std::make_shared<const plan::RackPlan>(*files);
    under_way.clear();
    answers.clear();
    auto restored = kept;
    restored.epoch = {kept.epoch.value + 1};
    kept.epoch = restored.epoch;
    for (auto& [bits, node] : nodes) node.staged.reset();
    core_.emplace(plan_, std::move(restored), now);
  }

  rack::SnapshotPtr snapshot() const { return core_->snapshot(); }
  rack::SwitchViewPtr switching() const { return core_->snapshot()->switching; }
  std::optional<rack::TimePoint> deadline() const { return core_->deadline(); }
  std::optional<rack::SwitchStage> stage() const {
    return switching() ? std::optional{switching()->stage} : std::nullopt;
  }
  bool has_alarm(rack::AlarmKind kind) const {
    for (const auto& alarm : *snapshot()->alarms)
      if (alarm.kind == kind && alarm.active()) return true;
    return false;
  }
  // Steps as they were put in force: who was told to apply, in order, each with its line.
  std::vector<std::string> applied;

 private:
  std::shared_ptr<const plan::RackPlan> plan_;

 public:
  rack::TimePoint now;
  std::map<std::uint64_t, HallNode> nodes;  // by the bits of their uid
  Planner planner = [](const rack::WayQuestion& question) { return rack::plan_way(question); };
  bool disk_full = false;
  rack::RequestId last_request = 0;
  std::map<rack::RequestId, std::vector<rack::Answer>> answers;
  std::vector<rack::JournalEntry> journal;
  std::vector<rack::WayQuestion> questions;
  std::deque<rack::Effect> under_way;
  rack::Restored kept{.epoch = {1}};

 private:
  void take(rack::Effect effect) {
    if (const auto* respond = std::get_if<rack::Respond>(&effect)) {
      answers[respond->request].push_back(respond->answer);
      return;
    }
    if (std::holds_alternative<rack::Publish>(effect)) return;
    under_way.push_back(std::move(effect));
  }

  void happen(const rack::Effect& effect) {
    if (const auto* record = std::get_if<rack::Record>(&effect)) return keep(*record);
    if (const auto* ask = std::get_if<rack::PlanWay>(&effect)) {
      questions.push_back(ask->question);
      return give(rack::WayPlanned{ask->id, planner(ask->question)});
    }
    const auto* send = std::get_if<rack::Send>(&effect);
    if (send == nullptr) return;
    if (send->node == protocol::NodeUid::everyone()) {
      for (const auto& node : plan_->nodes)
        if (node.line == send->line) obey(node.uid.bits(), send->request);
      return give(rack::CommandAnswered{send->command, protocol::Done{}});
    }
    if (auto reply = obey(send->node.bits(), send->request))
      give(rack::CommandAnswered{send->command, protocol::whole(*reply)});
    else
      give(rack::CommandFailed{send->command, protocol::Fault::timed_out});
  }

  std::optional<protocol::Reply> obey(std::uint64_t bits, const protocol::Ask& request) {
    const bool apply = std::holds_alternative<protocol::Apply>(request);
    auto& node = nodes.at(bits);
    const auto before = node.force;
    auto reply = node.obey(request);
    if (apply && node.force != before)
      for (const auto& planned : plan_->nodes)
        if (planned.uid.bits() == bits) applied.push_back(planned.name.text);
    return reply;
  }

  void keep(const rack::Record& record) {
    if (disk_full) return give(rack::RecordFailed{record.id, "disk full"});
    for (const auto& entry : record.entries) journal.push_back(entry);
    for (const auto& write : record.writes) keep(write);
    give(rack::Recorded{record.id});
  }
  void keep(const rack::Write& write) {
    if (const auto* wanted = std::get_if<rack::KeepWanted>(&write))
      kept.wanted[wanted->node] = wanted->wanted;
    if (std::holds_alternative<rack::ForgetReached>(write)) kept.reached.clear();
    if (const auto* gone = std::get_if<rack::ForgetWanted>(&write)) kept.wanted.erase(gone->node);
    if (const auto* lock = std::get_if<rack::KeepLock>(&write)) kept.lock = lock->lock;
    if (const auto* segment = std::get_if<rack::KeepSegment>(&write))
      kept.segment = segment->segment;
    if (const auto* one = std::get_if<rack::KeepSwitch>(&write)) {
      kept.switching = one->unfinished;
      kept.last_change = std::max(kept.last_change, one->unfinished.id);
    }
    if (const auto* step = std::get_if<rack::KeepSwitchStep>(&write); step && kept.switching) {
      kept.switching->back = step->back;
      kept.switching->step = step->step;
      kept.switching->ticket = step->ticket;
    }
    if (std::holds_alternative<rack::ForgetSwitch>(write)) kept.switching.reset();
    if (std::holds_alternative<rack::KeepSwitchStuck>(write) && kept.switching)
      kept.switching->stuck = true;
    if (const auto* cue = std::get_if<rack::KeepCue>(&write)) kept.cue = cue->cue;
    if (const auto* reached = std::get_if<rack::KeepReached>(&write))
      kept.reached[reached->segment] = reached->at;
    const auto forget = [&](const rack::CrewTick& tick) {
      std::erase_if(kept.ticks,
                    [&](const rack::CrewTick& one) { return one.is_of_same_row(tick); });
    };
    if (const auto* gone = std::get_if<rack::ForgetTick>(&write)) forget(gone->tick);
    if (const auto* tick = std::get_if<rack::KeepTick>(&write)) {
      forget(tick->tick);
      kept.ticks.push_back(tick->tick);
    }
  }

  std::optional<rack::Core> core_;
};

}  // namespace catwalk::test
