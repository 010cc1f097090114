// SPDX-License-Identifier: Apache-2.0
// Random events against the core: whatever comes in whatever order, no change is left without a
// fate, nothing is called settled that the node did not read back, nothing that was refused is
// sent, and nothing is sent before its intent is durable.
#include "daemon/rack/core/core.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <deque>
#include <map>
#include <random>
#include <set>

#include "tests/support/rack_fixture.hpp"

using namespace catwalk;
using namespace catwalk::test;
using rack::Outcome;

namespace {

// What the node would do, told without the core's or the emulated node's code.
struct FakeNode {
  plan::Settings force = slide_at(0, 518);
  std::optional<protocol::Stage> staged;
  std::uint32_t boots = 1;
  bool by_hand = false;

  protocol::Reading reading() const {
    auto reading = reading_of(force);
    reading.telemetry.boots = boots;
    reading.telemetry.locally_changed = by_hand;
    return reading;
  }

  protocol::Answer obey(const protocol::Ask& request) {
    if (const auto* stage = std::get_if<protocol::Stage>(&request)) {
      staged = *stage;
      return protocol::Done{};
    }
    if (const auto* apply = std::get_if<protocol::Apply>(&request)) {
      if (!staged || staged->ticket != apply->ticket)
        return protocol::Refusal{protocol::RefusalReason::ticket_unknown, 0};
      force = rack::from_wire(staged->settings);
      by_hand = false;
      return protocol::Done{};
    }
    if (std::holds_alternative<protocol::Read>(request)) return reading();
    return protocol::Done{};
  }
};

class World {
 public:
  explicit World(std::uint64_t seed) : random_{seed} {
    auto plan = small_rack();
    plan.nodes[1].on_return = plan::OnReturn::reapply;
    plan_ = std::make_shared<const plan::RackPlan>(plan);
    kept_.epoch = {1};
    core_.emplace(plan_, kept_, now_);
  }

  void step() {
    now_ += std::chrono::milliseconds{1 + below(500)};
    switch (below(16)) {
      case 0:
      case 1:
      case 2:
        return end_record();
      case 3:
      case 4:
      case 5:
      case 6:
        return end_command();
      case 7:
      case 8:
        return request_change();
      case 9:
        return request_other();
      case 10:
        return turn_knob();
      case 11:
      case 12:
        return report();
      case 13:
        return on(rack::NodeFellSilent{some_uid()});
      case 14:
        return line_event();
      default:
        if (below(6) == 0) crash();
        return;
    }
  }

  // Lets everything that is under way come to its end.
  void drain() {
    finish_what_is_under_way();
    const auto& nodes = core_->snapshot()->nodes;
    const bool is_ours = core_->snapshot()->control == rack::Control::ours &&
                         std::ranges::none_of(nodes, [](const auto& node) { return node->held; });
    if (!is_ours) on(rack::TakeOverRequested{ask(false), "bo", "the other one has gone"});
    for (int round = 0; round < 20; ++round) {
      now_ += std::chrono::seconds{2};
      for (const auto& [id, node] : nodes_) {
        last_read_[id] = node.force;
        on(rack::NodeReported{uid(id), node.reading()});
        finish_what_is_under_way();
      }
    }
    REQUIRE(records_.empty());
    REQUIRE(commands_.empty());
    CHECK(waiting_.empty());  // every request was answered
    for (const auto& change : *core_->snapshot()->changes) CHECK(rack::is_fate(change.stage));
    for (const auto& node : core_->snapshot()->nodes) {
      CHECK_FALSE(node->change);
      CHECK(node->agreement != rack::Agreement::changing);
    }
    // Every intent that was recorded has its fate recorded, and the store wants what the rack
    // wants.
    CHECK(kept_.unfinished.empty());
    for (const auto& node : core_->snapshot()->nodes)
      if (node->wanted) CHECK(kept_.wanted.at(node->uid).settings == node->wanted->settings);
  }

  int settled = 0;
  int failed = 0;
  int refused = 0;
  int crashes = 0;

 private:
  std::uint64_t below(std::uint64_t bound) { return random_() % bound; }
  protocol::NodeUid some_uid() { return uid(1 + below(3)); }
  std::string name_of_node(std::uint64_t id) const { return plan_->nodes[id - 1].name.text; }

  void finish_what_is_under_way() {
    for (int i = 0; i < 10'000 && (!records_.empty() || !commands_.empty()); ++i) {
      end_record();
      end_command();
    }
  }

  void on(const rack::Event& event) {
    for (const auto& effect : core_->on(event, now_)) take(effect);
  }

  void take(const rack::Effect& effect) {
    if (const auto* record = std::get_if<rack::Record>(&effect)) records_.push_back(*record);
    if (const auto* send = std::get_if<rack::Send>(&effect)) {
      check_sent(*send);
      commands_.push_back(*send);
    }
    if (const auto* respond = std::get_if<rack::Respond>(&effect)) check_answer(*respond);
  }

  void check_sent(const rack::Send& send) {
    const auto* stage = std::get_if<protocol::Stage>(&send.request);
    if (stage == nullptr) return;
    const auto settings = rack::from_wire(stage->settings);
    // Its intent is durable, with just these settings.
    const auto intent = std::ranges::find_if(kept_.unfinished, [&](const rack::Unfinished& one) {
      return one.node == send.node && one.after == settings;
    });
    CHECK(intent != kept_.unfinished.end());
    // Told again without the rules' code: the gain is within the datasheet and the rack's limits
    // and on its step, the centre in reach and on its raster.
    CHECK(settings.gain >= rf::Gain::decibels(-12));
    CHECK(settings.gain <= rf::Gain::decibels(20));
    CHECK(settings.gain.centidecibels() % 100 == 0);
    if (settings.filter == 0) {
      CHECK(settings.centre >= rf::Frequency::megahertz(430));
      CHECK(settings.centre <= rf::Frequency::megahertz(740));
      CHECK(settings.centre.hertz() % 25'000 == 0);
    } else {
      CHECK(settings.filter == 1);
      CHECK(settings.centre == rf::Frequency{});
    }
  }

  void check_answer(const rack::Respond& respond) {
    REQUIRE(waiting_.contains(respond.request));  // asked, and not answered before
    auto& ask = waiting_.at(respond.request);
    const auto outcome = respond.answer.outcome;
    if (outcome == Outcome::accepted) {
      CHECK_FALSE(ask.accepted);
      ask.accepted = true;
      return;
    }
    if (outcome == Outcome::refused || outcome == Outcome::needs_waiver) ++refused;
    if (outcome == Outcome::failed || outcome == Outcome::unreachable) ++failed;
    if (outcome == Outcome::settled && ask.hardware && respond.answer.change != 0) {
      ++settled;
      // The last thing this node was heard to say is what is wanted, and the store has it.
      const auto& node = *respond.answer.node;
      REQUIRE(last_read_.contains(node.uid.bits()));
      CHECK(last_read_.at(node.uid.bits()) == node.wanted->settings);
      REQUIRE(kept_.wanted.contains(node.uid));
      CHECK(kept_.wanted.at(node.uid).settings == node.wanted->settings);
    }
    waiting_.erase(respond.request);
  }

  struct Ask {
    bool accepted = false;
    bool hardware = false;
  };
  rack::RequestId ask(bool hardware) {
    waiting_[++last_request_] = {false, hardware};
    return last_request_;
  }

  void end_record() {
    if (records_.empty()) return;
    const auto record = records_.front();
    records_.pop_front();
    if (below(20) == 0) return on(rack::RecordFailed{record.id, "the disk is full"});
    for (const auto& write : record.writes) keep(write);
    on(rack::Recorded{record.id});
  }

  void keep(const rack::Write& write) {
    if (const auto* wanted = std::get_if<rack::KeepWanted>(&write))
      kept_.wanted[wanted->node] = wanted->wanted;
    if (const auto* gone = std::get_if<rack::ForgetWanted>(&write)) kept_.wanted.erase(gone->node);
    if (const auto* intent = std::get_if<rack::KeepUnfinished>(&write)) {
      kept_.unfinished.push_back(intent->unfinished);
      kept_.last_change = intent->unfinished.change;
    }
    if (const auto* gone = std::get_if<rack::ForgetUnfinished>(&write))
      std::erase_if(kept_.unfinished,
                    [&](const rack::Unfinished& one) { return one.change == gone->change; });
    if (const auto* lock = std::get_if<rack::KeepLock>(&write)) kept_.lock = lock->lock;
    if (const auto* segment = std::get_if<rack::KeepSegment>(&write))
      kept_.segment = segment->segment;
    if (const auto* epoch = std::get_if<rack::KeepEpoch>(&write)) kept_.epoch = epoch->epoch;
    const auto forget_alarm = [&](rack::AlarmId id) {
      std::erase_if(kept_.alarms, [id](const rack::Alarm& one) { return one.id == id; });
    };
    if (const auto* alarm = std::get_if<rack::KeepAlarm>(&write)) {
      forget_alarm(alarm->alarm.id);
      kept_.alarms.push_back(alarm->alarm);
      kept_.last_alarm = std::max(kept_.last_alarm, alarm->alarm.id);
    }
    if (const auto* gone = std::get_if<rack::ForgetAlarm>(&write)) forget_alarm(gone->alarm);
    const auto forget_tick = [&](const rack::CrewTick& tick) {
      std::erase_if(kept_.ticks,
                    [&](const rack::CrewTick& one) { return one.is_of_same_row(tick); });
    };
    if (const auto* tick = std::get_if<rack::KeepTick>(&write)) {
      forget_tick(tick->tick);
      kept_.ticks.push_back(tick->tick);
    }
    if (const auto* gone = std::get_if<rack::ForgetTick>(&write)) forget_tick(gone->tick);
  }

  // Nodes answer in any order among each other; one node's commands stay in order.
  void end_command() {
    if (commands_.empty()) return;
    const auto at = static_cast<std::ptrdiff_t>(below(commands_.size()));
    const auto first =
        std::ranges::find(commands_, (commands_.begin() + at)->node, &rack::Send::node);
    const auto send = *first;
    commands_.erase(first);
    auto& node = nodes_[send.node.bits()];
    const auto luck = below(40);
    if (luck == 0) return on(rack::CommandFailed{send.command, protocol::Fault::line_down});
    if (luck <= 2) {
      if (luck == 2) node.obey(send.request);  // obeyed, but the answer was lost
      return on(rack::CommandFailed{send.command, protocol::Fault::timed_out});
    }
    if (luck == 3)
      return on(rack::CommandAnswered{
          send.command, protocol::Refusal{protocol::RefusalReason::storage_failed, 0}});
    if (luck == 4) return on(rack::CommandAnswered{send.command, protocol::Identity{}});
    const auto reply = node.obey(send.request);
    if (const auto* reading = std::get_if<protocol::Reading>(&reply))
      last_read_[send.node.bits()] = rack::from_wire(reading->settings);
    on(rack::CommandAnswered{send.command, reply});
  }

  void request_change() {
    rack::ChangeRequested event;
    event.request = ask(true);
    event.node = {below(20) == 0 ? "nobody" : name_of_node(1 + below(3))};
    if (below(2) == 0)
      event.patch.gain = rf::Gain::centidecibels(static_cast<std::int32_t>(below(60)) * 50 - 1500);
    if (below(3) == 0)
      event.patch.centre =
          rf::Frequency::hertz(420'000'000 + static_cast<std::int64_t>(below(26'000)) * 12'500);
    if (below(4) == 0)
      event.patch.filter = below(3) == 0 ? "none" : below(2) == 0 ? "wide" : "slide";
    if (below(4) == 0) event.patch.label = below(3) == 0 ? "a label far too long" : "mic";
    if (below(8) == 0) event.patch.power = below(2) == 0;
    if (below(2) == 0) event.waiver = rack::Waiver{"ana", "tried before"};
    if (below(6) == 0) event.if_revision = below(4);
    event.dry_run = below(6) == 0;
    event.who = "ana";
    on(event);
  }

  void request_other() {
    const plan::NodeName node{name_of_node(1 + below(3))};
    switch (below(13)) {
      case 12: {
        constexpr std::array keys{"voice-1.off", "voice-2.off", "voice-3.on"};
        return on(rack::TickRequested{
            ask(false), {"speeches"}, {"finale"}, {keys[below(3)]}, below(3) != 0, "bo"});
      }
      case 10:
        return on(rack::ReclaimRequested{ask(false), node, "bo", "so"});
      case 11:
        return on(rack::OtherSpeaks{{"bus"},
                                    uid(1 + below(3)),
                                    {static_cast<std::uint32_t>(below(2) == 0 ? 0xFFFF'FFFE : 7)},
                                    {},
                                    core_->snapshot()->epoch});
      case 8:
        return on(rack::ShelveRequested{ask(false), 1 + below(20),
                                        std::chrono::seconds{60 + below(600)}, "bo", "so"});
      case 9:
        return on(rack::UnshelveRequested{ask(false), 1 + below(20), "bo"});
      case 0:
        return on(rack::AdoptRequested{.request = ask(false), .node = node, .who = "bo"});
      case 1:
        return on(rack::ReapplyRequested{.request = ask(true), .node = node, .who = "bo"});
      case 2:
        return on(
            rack::SegmentRequested{ask(false), {below(2) == 0 ? "speeches" : "finale"}, "bo", ""});
      case 3:
        return on(rack::LockRequested{ask(false), below(8) == 0, "bo", ""});
      case 4:
        return on(rack::LocateRequested{ask(false), node, 5, "bo"});
      case 5:
        return on(rack::StoreRequested{ask(false), node, "bo"});
      case 6:
        return on(rack::TakeOverRequested{ask(false), "bo", ""});
      default:
        return on(rack::AcknowledgeRequested{ask(false), 1 + below(20), "bo"});
    }
  }

  void turn_knob() {
    auto& node = nodes_[1 + below(3)];
    node.force.gain = rf::Gain::decibels(static_cast<double>(below(40)) - 12);
    node.by_hand = true;
  }

  void report() {
    const auto id = 1 + below(3);
    auto& node = nodes_[id];
    if (below(10) == 0) {
      ++node.boots;
      node.force = slide_at(0, 518);
      node.staged.reset();
    }
    // A poll that overtakes the answer to a command does not happen: lines keep their order.
    const bool busy = std::ranges::any_of(
        commands_, [&](const rack::Send& send) { return send.node == uid(id); });
    if (busy) return;
    last_read_[id] = node.force;
    on(rack::NodeReported{uid(id), node.reading()});
  }

  void line_event() {
    const plan::LineName line{below(2) == 0 ? "bus" : "net"};
    if (below(2) == 0)
      on(rack::LineWentUp{line});
    else
      on(rack::LineWentDown{line, "unplugged"});
  }

  // The daemon is killed: what was not durable is gone, and so are those who waited.
  void crash() {
    ++crashes;
    records_.clear();
    commands_.clear();
    waiting_.clear();
    ++kept_.epoch.value;
    core_.emplace(plan_, kept_, now_);
  }

  std::mt19937_64 random_;
  rack::TimePoint now_{std::chrono::hours{24 * 365 * 50}};
  std::shared_ptr<const plan::RackPlan> plan_;
  rack::Restored kept_;
  std::optional<rack::Core> core_;
  std::map<std::uint64_t, FakeNode> nodes_{{1, {}}, {2, {}}, {3, {}}};
  std::map<std::uint64_t, plan::Settings> last_read_;
  std::deque<rack::Record> records_;
  std::deque<rack::Send> commands_;
  std::map<rack::RequestId, Ask> waiting_;
  rack::RequestId last_request_ = 0;
};

}  // namespace

TEST_CASE("random events never leave a change without a fate, nor call settled what is not") {
  int settled = 0;
  int failed = 0;
  int refused = 0;
  int crashes = 0;
  for (std::uint64_t seed = 1; seed <= 400; ++seed) {
    CAPTURE(seed);
    World world{seed};
    for (int i = 0; i < 600; ++i) world.step();
    world.drain();
    settled += world.settled;
    failed += world.failed;
    refused += world.refused;
    crashes += world.crashes;
  }
  // The walk really goes where it should.
  MESSAGE("settled ", settled, ", failed ", failed, ", refused ", refused, ", crashes ", crashes);
  CHECK(settled > 1000);
  CHECK(failed > 1000);
  CHECK(refused > 1000);
  CHECK(crashes > 1000);
}
