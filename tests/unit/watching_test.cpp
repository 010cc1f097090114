// SPDX-License-Identifier: Apache-2.0
// A daemon that has just started: it asks whom the nodes obey, and only watches where another
// controller speaks.
#include <doctest/doctest.h>

#include <algorithm>

#include "daemon/rack/core/core.hpp"
#include "daemon/rack/outlook/preview.hpp"
#include "daemon/rack/values/epochs.hpp"
#include "tests/support/rack_fixture.hpp"

using namespace catwalk;
using namespace catwalk::test;
using namespace std::chrono_literals;
using rack::Control;
using rack::Outcome;

namespace {

// A core whose records are kept at once, unless the disk is full.
struct Bench {
  explicit Bench(rack::Restored restored = {.epoch = {100}}, plan::RackPlan plan = small_rack())
      : core{std::make_shared<const plan::RackPlan>(std::move(plan)),
             std::move(restored),
             now,
             {{{"bus"}, {"net"}}}} {}

  void on(const rack::Event& event, std::chrono::milliseconds after = 1ms) {
    now += after;
    take(core.on(event, now));
  }
  void take(const std::vector<rack::Effect>& effects) {
    for (const auto& effect : effects) {
      if (const auto* respond = std::get_if<rack::Respond>(&effect))
        answers.push_back(respond->answer);
      if (const auto* speak = std::get_if<rack::SpeakAs>(&effect)) spoken.push_back(*speak);
      if (const auto* send = std::get_if<rack::Send>(&effect))
        ++(std::holds_alternative<protocol::Discard>(send->request) ? told : sent);
      if (std::holds_alternative<rack::FallQuiet>(effect)) ++quiet;
      const auto* record = std::get_if<rack::Record>(&effect);
      if (record == nullptr) continue;
      if (disk_takes) disk_full = (*disk_takes)-- <= 0;
      for (const auto& write : record->writes) writes.push_back(write);
      if (const auto event = std::exchange(between, {})) on(*event, 0ms);
      on(disk_full ? rack::Event{rack::RecordFailed{record->id, "disk full"}}
                   : rack::Event{rack::Recorded{record->id}},
         0ms);
    }
  }
  template <class T>
  const T* kept() const {
    const T* last = nullptr;
    for (const auto& write : writes)
      if (const auto* one = std::get_if<T>(&write)) last = one;
    return last;
  }
  void other_speaks(std::uint64_t node, std::optional<std::chrono::milliseconds> ago = 400ms) {
    on(rack::OtherSpeaks{{"bus"}, uid(node), {170}, ago});
  }
  void all_asked() {
    on(rack::LineAsked{{"bus"}});
    on(rack::LineAsked{{"net"}});
  }
  void change() {
    on(rack::ChangeRequested{
        .request = 1, .node = {"left"}, .patch = {.gain = rf::Gain::decibels(3)}, .who = "ana"});
  }
  rack::SnapshotPtr seen() const { return core.snapshot(); }
  std::vector<std::string> alarms() const {
    std::vector<std::string> names;
    for (const auto& alarm : *seen()->alarms)
      if (alarm.active())
        names.push_back(std::string{rack::name_of(alarm.kind)} + ' ' + alarm.subject);
    return names;
  }

  rack::TimePoint now{std::chrono::hours{24 * 365 * 50}};
  bool disk_full = false;
  std::optional<int> disk_takes;       // so many records more
  std::optional<rack::Event> between;  // heard before the next record is durable
  int sent = 0;
  int told = 0;   // nodes that were told our epoch, with a discard
  int quiet = 0;  // times that lines were told to fall quiet
  std::vector<rack::Answer> answers;
  std::vector<rack::SpeakAs> spoken;
  std::vector<rack::Write> writes;
  rack::Core core;
};

using Names = std::vector<std::string>;

// A daemon that was stopped while it moved left from speeches to finale.
rack::Restored stopped_in_a_switch() {
  rack::Restored restored{.epoch = {100}};
  rack::UnfinishedSwitch stopped;
  stopped.id = 4;
  stopped.left = "speeches";
  stopped.entered = "finale";
  stopped.who = "ana";
  stopped.nodes = {{uid(1), slide_at(1, 518), slide_at(2, 620)}};
  restored.switching = stopped;
  return restored;
}

}  // namespace

TEST_CASE("the nodes are ours once every line has asked, and that is kept before a word is said") {
  Bench bench;
  CHECK(bench.seen()->control == Control::asking);
  bench.on(rack::LineAsked{{"bus"}});
  CHECK(bench.spoken.empty());
  // What is read before is read again: nothing is decided on it.
  bench.on(rack::NodeReported{uid(1), reading_of(slide_at(3, 518))});
  CHECK_FALSE(bench.seen()->find({"left"})->wanted);
  bench.change();
  CHECK(bench.answers.back().outcome == Outcome::busy);

  SUBCASE("") { bench.disk_full = false; }
  SUBCASE("a full disk does not keep the rack from its daemon") { bench.disk_full = true; }
  bench.on(rack::LineAsked{{"net"}});
  CHECK(bench.seen()->control == Control::ours);
  CHECK(bench.spoken == std::vector<rack::SpeakAs>{{{100}, false}});
  REQUIRE(bench.kept<rack::KeepSpoken>());
  CHECK(bench.kept<rack::KeepSpoken>()->epoch == protocol::Epoch{100});
  bench.disk_full = false;
  bench.on(rack::NodeReported{uid(1), reading_of(slide_at(3, 518))}, 2s);
  CHECK(bench.seen()->find({"left"})->wanted);
}

TEST_CASE("a line that never asks holds the others up for three seconds") {
  Bench bench;
  bench.on(rack::LineWentDown{{"net"}, "no such port"});
  bench.on(rack::LineAsked{{"bus"}});
  REQUIRE(bench.core.deadline());
  CHECK(*bench.core.deadline() == rack::TimePoint{std::chrono::hours{24 * 365 * 50}} + 3s);
  bench.on(rack::TimePassed{}, 2990ms);
  CHECK(bench.seen()->control == Control::asking);
  bench.on(rack::TimePassed{}, 10ms);
  CHECK(bench.seen()->control == Control::ours);
  CHECK(bench.spoken.size() == 1);
}

TEST_CASE("a clock that is put right while it asks does not keep it asking") {
  Bench bench;
  bench.on(rack::LineAsked{{"bus"}}, 1s);
  bench.now -= 3h;
  bench.on(rack::ClockStepped{-3h});
  bench.on(rack::TimePassed{}, 1990ms);
  CHECK(bench.seen()->control == Control::asking);
  bench.on(rack::TimePassed{}, 10ms);
  CHECK(bench.seen()->control == Control::ours);
}

TEST_CASE("who is found to obey another while our epoch is being kept is left alone, and named") {
  Bench bench;
  bench.on(rack::LineAsked{{"bus"}});
  bench.between = rack::OtherSpeaks{{"bus"}, uid(2), {170}, 400ms};
  bench.on(rack::LineAsked{{"net"}});
  CHECK(bench.seen()->control == Control::ours);
  CHECK(bench.alarms() == Names{"other-controller right"});
}

TEST_CASE("where another controller speaks it only watches, and says so") {
  Bench bench;
  bench.on(rack::LineAsked{{"net"}});
  bench.other_speaks(1);
  bench.on(rack::LineAsked{{"bus"}});
  bench.on(rack::TimePassed{}, 10s);
  CHECK(bench.seen()->control == Control::watching);
  CHECK(bench.spoken.empty());
  CHECK(bench.alarms() == Names{"other-controller "});
  CHECK(bench.seen()->watching_because == "Another controller (epoch 170) speaks to left.");
  CHECK(bench.seen()->other_heard);
  // Nodes are shown as they are; nothing is wanted of them, whatever they do.
  bench.on(rack::NodeReported{uid(1), reading_of(slide_at(3, 518))});
  bench.on(rack::NodeReported{uid(1), reading_of(slide_at(9, 618))});
  const auto left = bench.seen()->find({"left"});
  CHECK(left->link == rack::Link::answering);
  CHECK(left->seen->settings == slide_at(9, 618));
  CHECK_FALSE(left->wanted);
  for (const rack::Event& event :
       {rack::Event{rack::ChangeRequested{.request = 1, .node = {"left"}, .who = "ana"}},
        rack::Event{rack::SwitchRequested{.request = 2, .segment = {{"finale"}}, .who = "ana"}},
        rack::Event{rack::RestoreRequested{.request = 3, .who = "ana"}},
        rack::Event{rack::LocateRequested{.request = 4, .node = {"left"}, .who = "ana"}},
        rack::Event{rack::DiscoverRequested{.request = 5, .line = {"bus"}, .who = "ana"}}}) {
    bench.answers.clear();
    bench.on(event);
    REQUIRE(bench.answers.size() == 1);
    CHECK(bench.answers[0].outcome == Outcome::refused);
    CHECK(bench.answers[0].detail ==
          bench.seen()->watching_because + " This daemon only watches: take over first.");
  }
  CHECK(bench.sent == 0);
}

TEST_CASE("whoever takes over has the nodes, a locked rack, and the segment to choose") {
  rack::Restored of_days_ago{.epoch = {100}};
  of_days_ago.wanted[uid(1)] = {slide_at(11, 618), 4};
  Bench bench{of_days_ago};
  bench.other_speaks(1);
  bench.all_asked();
  bench.on(rack::NodeReported{uid(1), reading_of(slide_at(3, 518))});
  SUBCASE("a full disk: nothing was taken") {
    bench.disk_full = true;
    bench.on(rack::TakeOverRequested{7, "ana", "the other one has died"});
    CHECK(bench.answers.back().outcome == Outcome::not_recorded);
    CHECK(bench.seen()->control == Control::watching);
    CHECK(bench.spoken.empty());
    return;
  }
  bench.on(rack::TakeOverRequested{7, "ana", "the other one has died"});
  REQUIRE(bench.answers.size() == 1);
  CHECK(bench.answers[0].outcome == Outcome::done);
  CHECK(bench.answers[0].detail.find("locked") != std::string::npos);
  CHECK(bench.seen()->control == Control::ours);
  REQUIRE(bench.spoken.size() == 1);
  CHECK(bench.spoken[0].takes_over);
  CHECK(bench.spoken[0].epoch > protocol::Epoch{170});
  CHECK(bench.kept<rack::KeepSpoken>()->epoch == bench.spoken[0].epoch);
  REQUIRE(bench.seen()->lock);
  CHECK(bench.seen()->lock->who == "ana");
  REQUIRE(bench.kept<rack::KeepLock>());
  CHECK(bench.kept<rack::KeepLock>()->lock == bench.seen()->lock);
  CHECK(bench.alarms().empty());
  bench.on(rack::NodeReported{uid(1), reading_of(slide_at(3, 518))});
  REQUIRE(bench.seen()->find({"left"})->wanted);
  CHECK(bench.seen()->find({"left"})->wanted->settings == slide_at(3, 518));
  // Told once, so that it stays ours when it loses its supply.
  CHECK(bench.told == 1);
  bench.on(rack::NodeReported{uid(1), reading_of(slide_at(3, 518))});
  CHECK(bench.told == 1);
}

TEST_CASE("what is armed does not outlive another controller") {
  auto plan = small_rack();
  plan.running_order.cues = {{{"last"}, {"finale"}}};
  Bench bench{{.epoch = {100}}, plan};
  bench.all_asked();
  bench.on(rack::ArmRequested{.request = 1, .cue = {{"last"}}, .who = "ana"});
  bench.on(rack::ArmReloadRequested{.request = 2, .who = "ana"});
  REQUIRE(bench.seen()->order.armed);
  bench.other_speaks(1);
  CHECK(bench.seen()->order.armed);
  bench.other_speaks(2);
  REQUIRE(bench.seen()->control == Control::watching);
  CHECK_FALSE(bench.seen()->order.armed);
  CHECK_FALSE(bench.seen()->order.reload_armed);
}

TEST_CASE("while it only watches, what is on the air may be chosen through the lock") {
  Bench bench;
  bench.other_speaks(1);
  bench.all_asked();
  bench.on(rack::LockRequested{1, true, "ana", "doors"});
  bench.on(rack::SegmentRequested{2, {"finale"}, "ana", ""});
  CHECK(bench.answers.back().outcome == Outcome::done);
  CHECK(bench.answers.back().detail.starts_with("That counts only here"));
  CHECK(bench.seen()->segment == plan::SegmentName{"finale"});
}

TEST_CASE("a controller that is taken over from while it is at work watches from then on") {
  Bench bench;
  bench.all_asked();
  for (const std::uint64_t node : {1, 2, 3})
    bench.on(rack::NodeReported{uid(node), reading_of(slide_at(0, 518))});
  bench.change();
  REQUIRE(bench.sent == 1);
  bool are_read = false;
  SUBCASE("nodes that are asked tell of it") { are_read = false; }
  SUBCASE("nodes that are read show a higher epoch") { are_read = true; }
  const auto is_taken = [&](std::uint64_t node) {
    if (!are_read) return bench.other_speaks(node);
    auto reading = reading_of(slide_at(3, 518));
    reading.epoch = {170};
    bench.on(rack::NodeReported{uid(node), reading});
  };
  is_taken(1);
  CHECK(bench.seen()->control == Control::ours);
  CHECK(bench.alarms() == Names{"other-controller left"});
  is_taken(2);
  CHECK(bench.seen()->control == Control::watching);
  CHECK(bench.quiet == 1);
  CHECK(bench.alarms() == Names{"change-failed left", "other-controller "});
  CHECK(bench.seen()->watching_because.find("left") != std::string::npos);
  bench.change();
  CHECK(bench.answers.back().outcome == Outcome::refused);
  CHECK(bench.sent == 1);
  is_taken(3);
  CHECK(bench.quiet == 1);
  bench.on(rack::TakeOverRequested{7, "ana", "it was started by mistake"});
  CHECK(bench.seen()->control == Control::ours);
  CHECK(bench.alarms().empty());
  REQUIRE(bench.spoken.size() == 2);
  CHECK(bench.spoken[1].epoch > protocol::Epoch{170});
}

TEST_CASE("one node of several that shows a higher epoch is left alone until it shows it no more") {
  Bench bench;
  bench.all_asked();
  for (const std::uint64_t node : {1, 2, 3})
    bench.on(rack::NodeReported{uid(node), reading_of(slide_at(0, 518))});
  auto reading = reading_of(slide_at(0, 518));
  reading.epoch = {170};
  bench.on(rack::NodeReported{uid(1), reading});
  CHECK(bench.seen()->control == Control::ours);
  CHECK(bench.seen()->find({"left"})->agreement == rack::Agreement::not_ours);
  bench.change();
  CHECK(bench.answers.back().outcome == Outcome::refused);
  CHECK(bench.sent == 0);
  bench.on(rack::NodeReported{uid(1), reading_of(slide_at(0, 518))});
  CHECK(bench.alarms().empty());
  bench.change();
  CHECK(bench.sent == 1);
}

TEST_CASE("it is told when the other controller was heard last, and its alarm stays acknowledged") {
  Bench bench;
  bench.other_speaks(1);
  bench.all_asked();
  REQUIRE(bench.seen()->control == Control::watching);
  bench.on(rack::AcknowledgeRequested{1, bench.seen()->alarms->at(0).id, "ana"});
  bench.on(rack::OtherSpeaks{{"bus"}, uid(1), {170}, 250ms}, 20s);
  REQUIRE(bench.seen()->other_heard);
  CHECK(*bench.seen()->other_heard == bench.now - 250ms);
  CHECK(bench.seen()->alarms->at(0).acknowledged_by);
  // It says nothing any more: what the node tells is older each time.
  const auto last = *bench.seen()->other_heard;
  bench.on(rack::OtherSpeaks{{"bus"}, uid(1), {170}, 30'250ms}, 30s);
  CHECK(*bench.seen()->other_heard == last);
}

TEST_CASE("two that start, or take over, in the same second do not speak under one number") {
  const rack::TimePoint now{std::chrono::hours{24 * 365 * 56}};
  CHECK(rack::next_epoch({}, now, 7) != rack::next_epoch({}, now, 8));
  for (const std::uint32_t last : {0U, 1'900'000'000U, 0xFFFF'FFF0U, 0xFFFF'FFFFU}) {
    const auto next = rack::next_epoch({last}, now, 40);
    CHECK(next.value >= rack::seconds_of(now));
    if (last < 0xFFFF'FFFFU) CHECK(next.value > last);
    if (last < rack::seconds_of(now)) CHECK(next.value % 64 == 40);
  }
  Bench one{{.epoch = {100}, .share = 7}};
  Bench other{{.epoch = {100}, .share = 8}};
  for (auto* bench : {&one, &other}) {
    bench->all_asked();
    bench->on(rack::TakeOverRequested{7, "ana", "now"});
  }
  CHECK(one.seen()->epoch != other.seen()->epoch);
}

TEST_CASE("one who takes over as the only controller locks nothing") {
  Bench bench;
  bench.all_asked();
  bench.on(rack::TakeOverRequested{7, "ana", "to be sure"});
  CHECK(bench.answers.back().outcome == Outcome::done);
  CHECK(bench.answers.back().detail.empty());
  CHECK_FALSE(bench.seen()->lock);
}

TEST_CASE("a node that turns up later and obeys another is left alone, and the others are ours") {
  Bench bench;
  bench.all_asked();
  bench.other_speaks(2, std::nullopt);
  CHECK(bench.seen()->control == Control::ours);
  CHECK(bench.alarms() == Names{"other-controller right"});
  bench.on(rack::NodeReported{uid(2), reading_of(slide_at(3, 518))});
  CHECK(bench.alarms() == Names{"other-controller right"});
  CHECK_FALSE(bench.seen()->find({"right"})->wanted);
  bench.on(rack::NodeReported{uid(1), reading_of(slide_at(3, 518))});
  CHECK(bench.seen()->find({"left"})->wanted);
  bench.on(rack::TakeOverRequested{7, "ana", "it is ours"});
  bench.on(rack::NodeReported{uid(2), reading_of(slide_at(3, 518))});
  CHECK(bench.alarms().empty());
  CHECK(bench.seen()->find({"right"})->wanted);
}

TEST_CASE("a serial line on which another is heard later keeps no cue waiting for its nodes") {
  auto plan = small_rack();
  plan.segments[1].settings[{"spare"}] = {.gain = rf::Gain::decibels(5)};
  plan.segments[1].if_a_node_fails = plan::IfNodeFails::roll_back;
  Bench bench{{.epoch = {100}}, plan};
  bench.on(rack::LineAsked{{"net"}});
  bench.on(rack::TimePassed{}, 3s);
  CHECK(bench.seen()->control == Control::ours);
  bench.on(rack::OtherSpeaks{{"bus"}, protocol::NodeUid::everyone(), {}, 0ms});
  CHECK(bench.alarms() == Names{"other-controller bus"});
  for (const auto* name : {"left", "right"})
    CHECK(bench.seen()->find({name})->agreement == rack::Agreement::not_ours);
  bench.change();
  CHECK(bench.answers.back().outcome == Outcome::refused);
  bench.on(rack::NodeFellSilent{uid(3)});
  bench.answers.clear();
  bench.on(rack::SwitchRequested{.request = 2, .segment = {{"finale"}}, .who = "ana"});
  REQUIRE(bench.answers.size() == 1);
  CHECK(bench.answers[0].outcome == Outcome::unreachable);
  bench.on(rack::LineAsked{{"bus"}});  // it came up anew, and was quiet
  CHECK(bench.alarms() == Names{"silent spare"});
  CHECK(bench.seen()->find({"left"})->agreement == rack::Agreement::unknown);
}

TEST_CASE("what a stranger or bad memory says of another controller raises nothing of ours") {
  Bench bench;
  bench.on(rack::OtherSpeaks{{"bus"}, uid(77), {170}, 1ms});  // no node of this rack
  CHECK(bench.seen()->control == Control::asking);
  bench.on(rack::OtherSpeaks{{"bus"}, uid(1), {0xFFFF'FFFE}, 1ms});
  bench.all_asked();
  CHECK(bench.seen()->control == Control::ours);
  CHECK(bench.alarms() == Names{"epoch-out-of-reach left"});
  bench.spoken.clear();
  bench.on(rack::TakeOverRequested{7, "ana", "why not"});
  REQUIRE(bench.spoken.size() == 1);
  CHECK(bench.spoken[0].epoch < protocol::Epoch{0xFFFF'0000});
}

TEST_CASE("no cue goes by what was on the air here before another controller came") {
  auto plan = small_rack();
  plan.running_order.cues = {{{"doors"}, {"speeches"}, plan::ByHand{}},
                             {{"later"}, {"finale"}, plan::AfterSegment{{"speeches"}, 10s}}};
  Bench bench{{.epoch = {100},
               .cue = "doors",
               .reached = {{"speeches", rack::TimePoint{std::chrono::hours{24 * 365 * 50}}}},
               .ticks = {{"speeches", "finale", "voice-1.off", "before: voice-1 off", {"bo", {}}}}},
              plan};
  REQUIRE(bench.seen()->order.due);
  bench.other_speaks(1);
  bench.all_asked();
  CHECK_FALSE(bench.seen()->order.due);
  CHECK(bench.kept<rack::ForgetReached>());
  CHECK(bench.seen()->order.next == plan::CueName{"later"});
  bench.on(rack::TakeOverRequested{7, "ana", "the other one has died"});
  bench.on(rack::LockRequested{8, false, "ana", "known"});
  bench.on(rack::SegmentRequested{.request = 9, .segment = {"speeches"}, .who = "ana"});
  bench.on(rack::TimePassed{}, 11s);
  CHECK(bench.alarms().empty());
  CHECK_FALSE(bench.seen()->switching);
  CHECK(bench.seen()->ticks->empty());
}

TEST_CASE("one node of several that obeys another is left to it, and the rack is ours") {
  Bench bench;
  for (const auto node : {1U, 2U}) bench.on(rack::NodeFree{uid(node)});
  bench.other_speaks(3);
  bench.all_asked();
  CHECK(bench.seen()->control == Control::ours);
  CHECK(bench.alarms() == Names{"other-controller spare"});
  // Asked again, by a line that was opened anew, it says that the other one has gone.
  bench.on(rack::NodeFree{uid(3)});
  CHECK(bench.alarms().empty());
  CHECK(bench.seen()->find({"spare"})->agreement == rack::Agreement::unknown);
}

TEST_CASE("who takes over before it is known whose the nodes are locks the rack with it") {
  Bench bench;
  bench.on(rack::TakeOverRequested{7, "ana", "now"});
  CHECK(bench.seen()->control == Control::ours);
  CHECK(bench.seen()->lock);
  REQUIRE(bench.spoken.size() == 1);
  CHECK(bench.spoken[0].takes_over);
}

TEST_CASE("another epoch for a line that is opened anew takes nothing from anybody") {
  Bench bench;
  bench.all_asked();
  bench.other_speaks(2);
  bench.spoken.clear();
  bench.on(rack::TakeOverRequested{7, "reload", "other nodes on net", true});
  REQUIRE(bench.spoken.size() == 1);
  CHECK_FALSE(bench.spoken[0].takes_over);
  CHECK_FALSE(bench.seen()->lock);
  CHECK(bench.alarms() == Names{"other-controller right"});
}

TEST_CASE("an arming of a reload ends while it only watches, too") {
  Bench bench;
  bench.other_speaks(1);
  bench.all_asked();
  bench.on(rack::LockRequested{1, true, "ana", "doors"});
  bench.on(rack::ArmReloadRequested{.request = 2, .who = "ana", .why = "another antenna"});
  REQUIRE(bench.seen()->order.reload_armed);
  bench.on(rack::TimePassed{}, std::chrono::hours{24});
  CHECK_FALSE(bench.seen()->order.reload_armed);
  CHECK((!bench.core.deadline() || *bench.core.deadline() > bench.now));
}

TEST_CASE("a switch that was stopped before another controller came is not taken up") {
  auto plan = small_rack();
  plan.running_order.after_restart = plan::AfterRestart::finish;
  Bench bench{stopped_in_a_switch(), plan};
  bench.other_speaks(1);
  bench.all_asked();
  bench.on(rack::NodeReported{uid(1), reading_of(slide_at(1, 518))});
  bench.on(rack::TakeOverRequested{7, "ana", "the other one has died"});
  bench.on(rack::NodeReported{uid(1), reading_of(slide_at(1, 518))});
  CHECK(bench.sent == 0);
  CHECK_FALSE(bench.seen()->switching);
}

TEST_CASE("a daemon that only watches tells of a switch that was stuck, too") {
  auto restored = stopped_in_a_switch();
  restored.switching->stuck = true;
  Bench bench{restored};
  CHECK_FALSE(bench.seen()->switching);  // it is not known whose the nodes are
  bench.other_speaks(1);
  bench.all_asked();
  REQUIRE(bench.seen()->control == Control::watching);
  REQUIRE(bench.seen()->switching);
  const auto stuck = bench.seen()->switching;
  CHECK(stuck->stage == rack::SwitchStage::stuck);
  CHECK(stuck->reason ==
        "It was stuck before the daemon was restarted. left is another controller's.");
  REQUIRE(stuck->nodes.size() == 1);
  CHECK(stuck->nodes[0]->where == rack::Whereabouts::not_ours);
  CHECK(stuck->nodes[0]->what_to_do ==
        "Take over, which locks the rack; then unlock it, and go to speeches or to finale.");
  CHECK(bench.sent == 0);
  bench.on(rack::TakeOverRequested{7, "ana", "the other one has died"});
  CHECK_FALSE(bench.seen()->switching);  // what it left is taken as it is
}

TEST_CASE(
    "a switch that is given up before it began, since another came, forgets none that was stuck") {
  auto restored = stopped_in_a_switch();
  restored.switching->stuck = true;
  Bench bench{restored, moving_rack(3)};
  bench.all_asked();
  for (std::uint64_t node = 1; node <= 3; ++node)
    bench.on(rack::NodeReported{uid(node), reading_of(slide_at(0, 518))});
  REQUIRE(bench.seen()->switching);
  bench.on(rack::SwitchRequested{.request = 9, .segment = plan::SegmentName{"finale"}});
  REQUIRE(bench.seen()->switching->id != 4);  // its way is being planned
  bench.writes.clear();
  for (std::uint64_t node = 1; node <= 3; ++node) bench.other_speaks(node);
  REQUIRE(bench.seen()->control == Control::watching);
  REQUIRE(bench.kept<rack::KeepSwitch>());
  CHECK(bench.kept<rack::KeepSwitch>()->unfinished == [&] {
    auto as_it_was = *restored.switching;
    as_it_was.stuck = false;  // which comes with the next write
    return as_it_was;
  }());
  CHECK(bench.kept<rack::KeepSwitchStuck>());
  CHECK_FALSE(bench.kept<rack::ForgetSwitch>());
}

TEST_CASE("of nodes that are another's nobody says that they show something else than wanted") {
  rack::Restored of_days_ago{.epoch = {100}};
  of_days_ago.wanted[uid(1)] = {slide_at(11, 618), 4};
  of_days_ago.alarms = {
      {4, rack::AlarmKind::drifted, "left", "left shows +3 dB.", rack::TimePoint{1h}, {}, {}}};
  of_days_ago.last_alarm = 4;
  Bench bench{of_days_ago};
  bench.other_speaks(1);
  bench.all_asked();
  bench.on(rack::NodeReported{uid(1), reading_of(slide_at(3, 518))});
  CHECK(bench.alarms() == Names{"other-controller "});
  CHECK(bench.seen()->find({"left"})->agreement == rack::Agreement::not_ours);
  bench.on(rack::TakeOverRequested{7, "ana", "the other one has died"});
  CHECK(bench.seen()->find({"left"})->agreement == rack::Agreement::agreed);
  CHECK(bench.seen()->find({"left"})->wanted->settings == slide_at(3, 518));
}

TEST_CASE("a daemon that only watched does so after a restart, until a person takes over") {
  Bench before;
  before.other_speaks(1);
  before.all_asked();
  rack::Restored restored{.epoch = {101}, .alarms = *before.seen()->alarms, .last_alarm = 1};
  restored.spoken.add({99});
  SUBCASE("the other one has not spoken for long") {
    Bench bench{restored};
    bench.all_asked();
    CHECK(bench.seen()->control == Control::watching);
    CHECK(bench.seen()->watching_because.find("nobody here has taken over") != std::string::npos);
    CHECK(bench.alarms() == Names{"other-controller "});
    CHECK(bench.spoken.empty());
    bench.on(rack::TakeOverRequested{7, "ana", "the other one has died"});
    CHECK(bench.seen()->control == Control::ours);
  }
  SUBCASE("the record of a take-over ends it, and no later one") {
    before.writes.clear();
    before.disk_full = true;  // so that there is no later one
    before.on(rack::TakeOverRequested{7, "ana", "the other one has died"});
    CHECK(std::ranges::any_of(before.writes, [](const rack::Write& write) {
      const auto* kept = std::get_if<rack::KeepAlarm>(&write);
      return kept != nullptr && kept->alarm.kind == rack::AlarmKind::other_controller &&
             !kept->alarm.active();
    }));
  }
}

TEST_CASE("a node that obeyed another last, which has gone, is not called changed by hand") {
  rack::Restored restored{.epoch = {100}};
  restored.wanted[uid(1)] = {slide_at(11, 618), 4};
  restored.spoken.add({90});
  Bench bench{restored};
  bench.all_asked();
  auto reading = reading_of(slide_at(3, 518));
  reading.telemetry.locally_changed = true;
  const auto said = [&](std::uint32_t epoch) {
    reading.epoch = {epoch};
    bench.on(rack::NodeReported{uid(1), reading});
    return bench.seen()->alarms->front().sentence;
  };
  CHECK(said(0).find("left was changed by hand") == 0);
  CHECK(said(90).find("left was changed by hand") == 0);
  CHECK(said(95).find("left obeyed another controller last (epoch 95)") == 0);
  // It was told something under our epoch since: what was said of its settings stays true.
  CHECK(said(100).find("left obeyed another controller last (epoch 95)") == 0);
}

TEST_CASE("after a take-over a node that was not seen is met anew, also by the daemon after it") {
  rack::Restored of_days_ago{.epoch = {100}};
  of_days_ago.wanted[uid(1)] = {slide_at(11, 618), 4};
  of_days_ago.wanted[uid(2)] = {slide_at(11, 618), 4};
  of_days_ago.unfinished = {{9, uid(1), slide_at(1, 518), slide_at(2, 620)},
                            {8, uid(2), slide_at(1, 518), slide_at(11, 618)}};
  Bench bench{of_days_ago};
  bench.other_speaks(1);
  bench.all_asked();
  bench.on(rack::NodeReported{uid(2), reading_of(slide_at(3, 518))});
  bench.on(rack::TakeOverRequested{7, "ana", "the other one has died"});
  CHECK_FALSE(bench.seen()->find({"left"})->wanted);
  REQUIRE(bench.kept<rack::ForgetWanted>());
  CHECK(bench.kept<rack::ForgetWanted>()->node == uid(1));
  REQUIRE(bench.kept<rack::KeepWanted>());
  CHECK(bench.kept<rack::KeepWanted>()->node == uid(2));
  // What was under way then has ended, whatever the nodes show.
  CHECK_FALSE(bench.seen()->find({"left"})->change);
  CHECK(std::ranges::count_if(bench.writes, [](const rack::Write& write) {
          return std::holds_alternative<rack::ForgetUnfinished>(write);
        }) == 2);
  bench.on(rack::NodeReported{uid(1), reading_of(slide_at(3, 518))});
  CHECK(bench.seen()->find({"left"})->wanted->settings == slide_at(3, 518));
}

TEST_CASE("what another has set meanwhile is undone by nobody but a person") {
  auto plan = small_rack();
  for (auto& node : plan.nodes) node.on_return = plan::OnReturn::reapply;
  Bench bench{{.epoch = {100}}, plan};
  bench.all_asked();
  bench.on(rack::NodeReported{uid(1), reading_of(slide_at(3, 518))});
  const auto comes_back = [&] {
    auto reading = reading_of(slide_at(4, 520));
    reading.telemetry.boots = 2;
    bench.on(rack::NodeReported{uid(1), reading});
  };
  SUBCASE("it was silent when somebody took over: it is met anew") {
    bench.other_speaks(1);
    bench.on(rack::NodeFellSilent{uid(1)});
    bench.on(rack::TakeOverRequested{7, "ana", "it is ours"});
    CHECK(bench.alarms() == Names{"silent left"});
    comes_back();
    CHECK(bench.seen()->find({"left"})->wanted->settings == slide_at(4, 520));
  }
  SUBCASE("it was silent while the daemon only watched") {
    Bench watching{{.epoch = {100}}, plan};
    watching.other_speaks(1);
    watching.all_asked();
    watching.on(rack::NodeReported{uid(1), reading_of(slide_at(3, 518))});
    watching.on(rack::NodeFellSilent{uid(1)});
    watching.on(rack::TakeOverRequested{7, "ana", "the other one has died"});
    CHECK_FALSE(watching.seen()->find({"left"})->wanted);
    return;
  }
  SUBCASE("its line came up anew, and was quiet: that it differs is said") {
    bench.on(rack::OtherSpeaks{{"bus"}, protocol::NodeUid::everyone(), {}, 0ms});
    bench.on(rack::LineWentDown{{"bus"}, "unplugged"});
    bench.on(rack::LineWentUp{{"bus"}});
    bench.on(rack::LineAsked{{"bus"}});
    comes_back();
    CHECK(bench.seen()->find({"left"})->wanted->settings == slide_at(3, 518));
    CHECK(bench.alarms() == Names{"drifted left"});
  }
  CHECK(bench.sent == 0);
  CHECK_FALSE(bench.seen()->find({"left"})->change);
}

TEST_CASE("what was heard of another before a take-over holds nobody after it") {
  Bench bench;
  bench.other_speaks(1);
  bench.all_asked();
  bench.on(rack::TakeOverRequested{7, "ana", "the other one has died"});
  const auto ours = bench.seen()->epoch;
  bench.on(rack::OtherSpeaks{{"bus"}, uid(1), {170}, 1ms, {100}});  // it was on its way
  CHECK(bench.alarms().empty());
  bench.on(rack::OtherSpeaks{{"bus"}, uid(1), {ours.value + 9}, 1ms, ours});
  CHECK(bench.alarms() == Names{"other-controller left"});
}

TEST_CASE("what was begun ends when it is known that another has the nodes, or is told to be") {
  auto plan = small_rack();
  plan.running_order.after_restart = plan::AfterRestart::finish;
  Bench bench{stopped_in_a_switch(), plan};
  SUBCASE("it only watches: a reload need not wait for the switch") {
    bench.other_speaks(1);
    bench.all_asked();
    CHECK(bench.alarms() == Names{"switch-failed ", "other-controller "});
    const auto stuck = bench.seen()->switching;
    CHECK(stuck->nodes[0]->where == rack::Whereabouts::not_ours);
    CHECK(stuck->stage == rack::SwitchStage::stuck);
    CHECK(stuck->reason.find("does not answer") == std::string::npos);
    CHECK(bench.kept<rack::KeepSwitchStuck>());
  }
  SUBCASE("somebody takes over while it still asks") {
    bench.on(rack::TakeOverRequested{7, "ana", "now"});
    // Where it got stuck is taken as it is; the alarm waits to be acknowledged.
    CHECK(bench.alarms().empty());
    CHECK(bench.seen()->alarms->at(0).kind == rack::AlarmKind::switch_failed);
    CHECK_FALSE(bench.seen()->switching);
    CHECK(bench.kept<rack::ForgetSwitch>());
  }
  bench.on(rack::NodeReported{uid(1), reading_of(slide_at(1, 518))});
  CHECK(bench.sent == 0);
}

TEST_CASE("a switch that was stopped does not wait for the nodes of a line that another has") {
  Bench bench{stopped_in_a_switch()};
  bench.on(rack::LineAsked{{"net"}});
  bench.on(rack::TimePassed{}, 3s);
  REQUIRE(bench.seen()->switching->stage == rack::SwitchStage::interrupted);
  bench.on(rack::OtherSpeaks{{"bus"}, protocol::NodeUid::everyone(), {}, 0ms});
  CHECK(bench.seen()->switching->stage == rack::SwitchStage::stuck);
}

TEST_CASE("a spare that never met the nodes tells what a switch would move") {
  auto plan = small_rack();
  plan.segments[1].settings[{"left"}] = {.gain = rf::Gain::decibels(5)};
  Bench bench{{.epoch = {100}}, plan};
  bench.other_speaks(1);
  bench.all_asked();
  bench.on(rack::NodeReported{uid(1), reading_of(slide_at(3, 518))});
  const auto would = rack::preview(*bench.seen(), {"finale"});
  CHECK(would.missing.empty());
  REQUIRE(would.nodes.size() == 1);
  CHECK(would.nodes[0].target == slide_at(5, 518));
  // Once more, though the rack is locked already: what is taken for on the air is said each time.
  bench.on(rack::LockRequested{8, true, "ana", "doors"});
  bench.on(rack::TakeOverRequested{7, "ana", "the other one has died"});
  CHECK(bench.answers.back().detail.starts_with("The rack stays locked. \"speeches\" is taken"));
}

TEST_CASE("a preview says that nothing goes from here while the daemon only watches") {
  Bench bench;
  CHECK(rack::preview(*bench.seen(), {"finale"}).prospect.would_be == Outcome::busy);
  bench.other_speaks(1);
  bench.all_asked();
  const auto seen = bench.seen();
  for (const auto& one : {rack::preview(*seen, {"finale"}), rack::preview_restoring(*seen, {})}) {
    CHECK(one.prospect.would_be == Outcome::refused);
    CHECK(one.prospect.obstacles.front() ==
          seen->watching_because + " This daemon only watches: take over first.");
  }
}

TEST_CASE("nothing is moved at a node that is another's, and whoever wants to is told why") {
  auto plan = small_rack();
  plan.segments[1].settings[{"left"}] = {.gain = rf::Gain::decibels(5)};
  plan.segments[1].if_a_node_fails = plan::IfNodeFails::roll_back;
  Bench bench{{.epoch = {100}}, plan};
  bench.all_asked();
  bench.on(rack::NodeReported{uid(1), reading_of(slide_at(3, 518))});
  bench.other_speaks(1);
  CHECK(bench.seen()->find({"left"})->agreement == rack::Agreement::not_ours);
  bench.change();
  CHECK(bench.answers.back().outcome == Outcome::refused);
  CHECK(bench.answers.back().detail.starts_with("Another controller (epoch 170) speaks to left"));
  // Turned by the other one: that is no drift.
  bench.on(rack::NodeReported{uid(1), reading_of(slide_at(4, 520))});
  CHECK(bench.alarms() == Names{"other-controller left"});
  bench.on(rack::NodeFellSilent{uid(2)});
  bench.on(rack::NodeFellSilent{uid(3)});
  bench.on(rack::SwitchRequested{.request = 2, .segment = {{"finale"}}, .who = "ana"});
  CHECK(bench.answers.back().outcome == Outcome::refused);
  CHECK(bench.answers.back().detail.find("left is another controller's") != std::string::npos);
  CHECK(bench.sent == 0);
}
