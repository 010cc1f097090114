// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/core/core.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <functional>
#include <map>

#include "daemon/rack/way/way.hpp"
#include "tests/support/rack_fixture.hpp"

using namespace catwalk;
using namespace catwalk::test;
using rack::Outcome;

namespace {

template <class T>
std::vector<T> all(const std::vector<rack::Effect>& effects) {
  std::vector<T> found;
  for (const auto& effect : effects)
    if (const auto* one = std::get_if<T>(&effect)) found.push_back(*one);
  return found;
}

// A core with its records kept at once, and its commands in the test's hand.
struct Bench {
  explicit Bench(rack::Restored restored = {.epoch = {1}}, plan::RackPlan plan = small_rack())
      : core{std::make_shared<const plan::RackPlan>(std::move(plan)), begun(std::move(restored)),
             now} {}

  // A segment has been on the air: what is raised is an alarm of the show.
  static rack::Restored begun(rack::Restored restored) {
    restored.reached.emplace("speeches", rack::TimePoint{});
    return restored;
  }

  void on(const rack::Event& event) {
    now += std::chrono::seconds{1};
    take(core.on(event, now));
  }
  void take(const std::vector<rack::Effect>& effects) {
    for (const auto& answer : all<rack::Respond>(effects)) answers.push_back(answer.answer);
    for (const auto& send : all<rack::Send>(effects)) sent.push_back(send);
    for (const auto& record : all<rack::Record>(effects)) {
      for (const auto& entry : record.entries) journal.push_back(entry);
      on(disk_full ? rack::Event{rack::RecordFailed{record.id, "disk full"}}
                   : rack::Event{rack::Recorded{record.id}});
    }
  }
  void report(std::uint64_t node, const plan::Settings& settings, std::uint32_t boots = 1) {
    auto reading = reading_of(settings);
    reading.telemetry.boots = boots;
    on(rack::NodeReported{uid(node), reading});
  }
  void change(const std::string& node, const plan::SettingsPatch& patch) {
    on(rack::ChangeRequested{.request = ++request, .node = {node}, .patch = patch, .who = "ana"});
  }
  void answer(const protocol::Answer& reply) {
    const auto id = sent.back().command;
    on(rack::CommandAnswered{id, reply});
  }
  void time_out() { on(rack::CommandFailed{sent.back().command, protocol::Fault::timed_out}); }
  rack::NodeViewPtr node(const std::string& name) { return core.snapshot()->find({name}); }
  std::vector<std::string> alarms() {
    std::vector<std::string> names;
    for (const auto& alarm : *core.snapshot()->alarms)
      names.push_back(std::string{rack::name_of(alarm.kind)} + ' ' + alarm.subject +
                      (alarm.active() ? "" : " returned"));
    return names;
  }

  rack::TimePoint now{std::chrono::hours{24 * 365 * 50}};
  bool disk_full = false;
  rack::RequestId request = 0;
  std::vector<rack::Answer> answers;
  std::vector<rack::Send> sent;
  std::vector<rack::JournalEntry> journal;
  rack::Core core;
};

using Names = std::vector<std::string>;
const auto home = slide_at(0, 518);

}  // namespace

TEST_CASE("a node met for the first time is wanted as it is found, and nothing is sent to it") {
  Bench bench;
  bench.report(1, home);
  REQUIRE(bench.node("left")->wanted);
  CHECK(bench.node("left")->wanted->settings == home);
  CHECK(bench.node("left")->agreement == rack::Agreement::agreed);
  CHECK(bench.sent.empty());
  REQUIRE(bench.journal.size() == 1);
  CHECK(bench.journal[0].what ==
        "met for the first time with gain +0 dB, slide at 518.000 MHz, power on");
}

TEST_CASE("a change is recorded, staged, applied, read back, and only then settled") {
  Bench bench;
  bench.report(1, home);
  bench.change("left", {.gain = rf::Gain::decibels(6)});
  REQUIRE(bench.answers.size() == 1);
  CHECK(bench.answers[0].outcome == Outcome::accepted);
  REQUIRE(bench.sent.size() == 1);
  const auto stage = std::get<protocol::Stage>(bench.sent[0].request);
  CHECK(stage.settings == rack::to_wire(slide_at(6, 518)));
  CHECK(stage.epoch == protocol::Epoch{1});
  CHECK(bench.node("left")->agreement == rack::Agreement::changing);

  bench.answer(protocol::Done{});
  CHECK(std::get<protocol::Apply>(bench.sent[1].request).ticket == stage.ticket);
  bench.answer(protocol::Done{});
  CHECK(std::holds_alternative<protocol::Read>(bench.sent[2].request));
  CHECK(bench.answers.size() == 1);
  bench.answer(reading_of(slide_at(6, 518)));
  REQUIRE(bench.answers.size() == 2);
  CHECK(bench.answers[1].outcome == Outcome::settled);
  CHECK(bench.node("left")->agreement == rack::Agreement::agreed);
  CHECK(bench.node("left")->wanted->revision == 2);
  CHECK(bench.journal.back().fate == "settled");
}

TEST_CASE("a node that reads back something else fails the change, and wanted is put back") {
  Bench bench;
  bench.report(1, home);
  bench.change("left", {.gain = rf::Gain::decibels(6)});
  bench.answer(protocol::Done{});
  bench.answer(protocol::Done{});
  bench.answer(reading_of(slide_at(5, 518)));
  CHECK(bench.answers.back().outcome == Outcome::failed);
  CHECK(bench.answers.back().detail == "The node reads back gain +5 dB (wanted +6 dB).");
  CHECK(bench.node("left")->wanted->settings == home);
  CHECK(bench.node("left")->agreement == rack::Agreement::drifted);
  CHECK(bench.alarms() == Names{"change-failed left"});
}

TEST_CASE("a refusal by the node fails the change with the node's reason") {
  Bench bench;
  bench.report(1, home);
  bench.change("left", {.gain = rf::Gain::decibels(6)});
  bench.answer(protocol::Refusal{protocol::RefusalReason::gain_out_of_range, 0});
  CHECK(bench.answers.back().outcome == Outcome::failed);
  CHECK(bench.answers.back().detail ==
        "The node refused: " +
            std::string{protocol::sentence_of(protocol::RefusalReason::gain_out_of_range)} + ".");
  CHECK(bench.node("left")->wanted->settings == home);
}

TEST_CASE("an apply without an answer is settled by what the node shows") {
  Bench bench;
  bench.report(1, home);
  bench.change("left", {.gain = rf::Gain::decibels(6)});
  bench.answer(protocol::Done{});
  bench.time_out();
  CHECK(std::holds_alternative<protocol::Read>(bench.sent.back().request));
  SUBCASE("it was obeyed") {
    bench.answer(reading_of(slide_at(6, 518)));
    CHECK(bench.answers.back().outcome == Outcome::settled);
  }
  SUBCASE("it was lost") {
    bench.answer(reading_of(home));
    CHECK(bench.answers.back().outcome == Outcome::failed);
    CHECK(bench.node("left")->agreement == rack::Agreement::agreed);
  }
  SUBCASE("the node is gone") {
    bench.time_out();
    CHECK(bench.answers.back().outcome == Outcome::unreachable);
    CHECK(bench.node("left")->wanted->settings == home);
    // It did obey: when it is read again, that shows as drift.
    bench.report(1, slide_at(6, 518));
    CHECK(bench.node("left")->agreement == rack::Agreement::drifted);
    CHECK(bench.alarms() == Names{"change-failed left", "drifted left"});
  }
}

TEST_CASE("a refused change touches neither the node nor wanted, and stands in the journal") {
  Bench bench;
  bench.report(1, home);
  bench.change("left", {.gain = rf::Gain::decibels(28)});
  CHECK(bench.answers.back().outcome == Outcome::refused);
  CHECK(bench.answers.back().verdict.findings.size() == 2);
  CHECK(bench.sent.empty());
  CHECK(bench.node("left")->wanted->revision == 1);
  CHECK(bench.journal.back().fate == "refused");
}

TEST_CASE("a caution needs a waiver with a name and a reason, which the journal keeps") {
  Bench bench;
  bench.report(3, home);
  rack::ChangeRequested event{.request = 1,
                              .node = {"spare"},
                              .patch = {.centre = rf::Frequency::megahertz(525)},
                              .who = "ana"};
  bench.on(event);
  CHECK(bench.answers.back().outcome == Outcome::needs_waiver);
  event.waiver = rack::Waiver{"ana", ""};
  bench.on(event);
  CHECK(bench.answers.back().outcome == Outcome::needs_waiver);
  CHECK(bench.sent.empty());
  event.waiver = rack::Waiver{"ana", "the tower is off tonight"};
  bench.on(event);
  CHECK(bench.answers.back().outcome == Outcome::accepted);
  CHECK(bench.sent.size() == 1);
  const auto intent =
      std::ranges::find(bench.journal, rack::JournalKind::intent, &rack::JournalEntry::kind);
  REQUIRE(intent != bench.journal.end());
  CHECK(intent->waiver == "ana: the tower is off tonight");
}

TEST_CASE("a waiver does not help against a refusal") {
  Bench bench;
  bench.report(1, home);
  bench.on(rack::ChangeRequested{.request = 1,
                                 .node = {"left"},
                                 .patch = {.gain = rf::Gain::decibels(28)},
                                 .waiver = rack::Waiver{"ana", "I know better"},
                                 .who = "ana"});
  CHECK(bench.answers.back().outcome == Outcome::refused);
  CHECK(bench.sent.empty());
}

TEST_CASE("a dry run gives the verdict and does nothing") {
  Bench bench;
  bench.report(1, home);
  const auto before = bench.journal.size();
  bench.on(rack::ChangeRequested{
      .request = 1, .node = {"left"}, .patch = {.gain = rf::Gain::decibels(28)}, .dry_run = true});
  CHECK(bench.answers.back().outcome == Outcome::checked);
  CHECK(bench.answers.back().verdict.refuses());
  CHECK(bench.sent.empty());
  CHECK(bench.journal.size() == before);
}

TEST_CASE("a change made from an old revision is told so, and one under way is not disturbed") {
  Bench bench;
  bench.report(1, home);
  bench.on(rack::ChangeRequested{
      .request = 1, .node = {"left"}, .patch = {.gain = rf::Gain::decibels(3)}, .if_revision = 7});
  CHECK(bench.answers.back().outcome == Outcome::stale);
  bench.change("left", {.gain = rf::Gain::decibels(3)});
  bench.change("left", {.gain = rf::Gain::decibels(4)});
  CHECK(bench.answers.back().outcome == Outcome::busy);
  CHECK(bench.sent.size() == 1);
}

TEST_CASE("what cannot be recorded is not done") {
  Bench bench;
  bench.report(1, home);
  bench.disk_full = true;
  bench.change("left", {.gain = rf::Gain::decibels(3)});
  CHECK(bench.answers.back().outcome == Outcome::not_recorded);
  CHECK(bench.sent.empty());
  CHECK(bench.node("left")->wanted->settings == home);
  CHECK(bench.alarms() == Names{"journal-failed "});
  bench.disk_full = false;
  bench.change("left", {.gain = rf::Gain::decibels(3)});
  CHECK(bench.answers.back().outcome == Outcome::accepted);
  CHECK(bench.alarms() == Names{"journal-failed  returned"});
}

TEST_CASE(
    "a journal that was found broken is an alarm until one is found whole, and stops nothing") {
  Bench bench;
  bench.report(1, home);
  bench.on(rack::JournalFound{"The chain is broken at row 7."});
  CHECK(bench.alarms() == Names{"journal-broken "});
  bench.on(rack::JournalFound{"The chain is broken at row 7."});
  CHECK(bench.alarms() == Names{"journal-broken "});
  bench.change("left", {.gain = rf::Gain::decibels(3)});
  CHECK(bench.answers.back().outcome == Outcome::accepted);
  bench.on(rack::JournalFound{});
  CHECK(bench.alarms() == Names{"journal-broken  returned"});
}

TEST_CASE("a rack whose journal was set aside meets its nodes as they are, and sends nothing") {
  auto plan = small_rack();
  for (auto& planned : plan.nodes) planned.on_return = plan::OnReturn::reapply;
  Bench bench{{.lock = rack::Lock{"rack", "nobody knows", {}}, .epoch = {9}}, plan};
  bench.on(rack::JournalFound{"The journal could not be used."});
  for (const auto& line : plan.lines) bench.on(rack::LineWentUp{line});
  for (const auto& planned : plan.nodes) bench.report(planned.uid.bits(), home);
  CHECK(bench.sent.empty());
  CHECK(bench.node("left")->wanted->settings == home);
  CHECK(bench.core.snapshot()->lock);
  CHECK(bench.alarms().front() == "journal-broken ");
}

TEST_CASE("a knob turned at the node is drift, to be adopted or re-applied") {
  Bench bench;
  bench.report(1, home);
  auto reading = reading_of(slide_at(9, 518));
  reading.telemetry.locally_changed = true;
  bench.on(rack::NodeReported{uid(1), reading});
  CHECK(bench.alarms() == Names{"drifted left"});
  CHECK(bench.core.snapshot()->alarms->front().sentence ==
        "left was changed by hand: it shows gain +9 dB (wanted +0 dB). Adopt it or re-apply.");
  CHECK(bench.sent.empty());
  SUBCASE("adopt") {
    bench.on(rack::AdoptRequested{.request = 1, .node = {"left"}, .who = "ana"});
    CHECK(bench.answers.back().outcome == Outcome::settled);
    CHECK(bench.node("left")->wanted->settings == slide_at(9, 518));
    CHECK(bench.sent.empty());
  }
  SUBCASE("re-apply") {
    bench.on(rack::ReapplyRequested{.request = 1, .node = {"left"}, .who = "ana"});
    bench.answer(protocol::Done{});
    bench.answer(protocol::Done{});
    bench.answer(reading_of(home));
    CHECK(bench.answers.back().outcome == Outcome::settled);
    CHECK(bench.node("left")->wanted->settings == home);
  }
  CHECK(bench.alarms() == Names{"drifted left returned"});
  CHECK(bench.node("left")->agreement == rack::Agreement::agreed);
}

TEST_CASE("what the rules refuse cannot be adopted") {
  Bench bench;
  bench.report(1, home);
  bench.report(1, slide_at(25, 518));
  bench.on(rack::AdoptRequested{.request = 1, .node = {"left"}, .who = "ana"});
  CHECK(bench.answers.back().outcome == Outcome::refused);
  CHECK(bench.node("left")->wanted->settings == home);
}

TEST_CASE("what a node showed before it fell silent is not adopted as what it shows now") {
  Bench bench;
  bench.report(1, home);
  bench.report(1, slide_at(9, 518));
  bench.on(rack::NodeFellSilent{uid(1)});
  bench.on(rack::AdoptRequested{.request = 1, .node = {"left"}, .who = "ana"});
  CHECK(bench.answers.back().outcome == Outcome::unreachable);
  CHECK(bench.answers.back().detail ==
        "left is out of contact: what it shows now is not known, and nothing was adopted.");
  CHECK(bench.node("left")->wanted->settings == home);
  bench.report(1, slide_at(9, 518));
  bench.on(rack::AdoptRequested{.request = 2, .node = {"left"}, .who = "ana"});
  CHECK(bench.answers.back().outcome == Outcome::settled);
}

TEST_CASE("a lost node that comes back with other settings is held or re-applied, as it says") {
  auto plan = small_rack();
  plan.nodes[0].on_return = plan::OnReturn::reapply;
  Bench bench{{.epoch = {1}}, plan};
  bench.report(1, home);
  bench.report(2, home);
  bench.on(rack::NodeFellSilent{uid(1)});
  bench.on(rack::NodeFellSilent{uid(2)});
  CHECK(bench.alarms() == Names{"silent left", "silent right"});
  bench.report(1, slide_at(1, 518), 2);
  bench.report(2, slide_at(1, 518), 2);
  REQUIRE(bench.sent.size() == 1);
  CHECK(bench.sent[0].node == uid(1));
  CHECK(bench.node("left")->agreement == rack::Agreement::changing);
  CHECK(bench.node("right")->agreement == rack::Agreement::drifted);
}

TEST_CASE("a node that restarts unnoticed counts as lost and back") {
  auto plan = small_rack();
  plan.nodes[0].on_return = plan::OnReturn::reapply;
  Bench bench{{.epoch = {1}}, plan};
  bench.report(1, home, 1);
  bench.report(1, slide_at(1, 518), 2);
  CHECK(bench.sent.size() == 1);
}

TEST_CASE(
    "re-applying on return is done under the show lock too, but never what the rules refuse") {
  auto plan = small_rack();
  plan.nodes[0].on_return = plan::OnReturn::reapply;
  rack::Restored restored{.epoch = {1}};
  SUBCASE("locked") {
    restored.lock = rack::Lock{"ana", "doors", {}};
    restored.wanted[uid(1)] = {home, 3};
  }
  SUBCASE("refused") { restored.wanted[uid(1)] = {slide_at(25, 518), 3}; }
  const bool refused = !restored.lock;
  Bench bench{restored, plan};
  bench.report(1, slide_at(1, 518), 1);
  CHECK(bench.sent.empty());  // the first reading after a start is not a return
  bench.report(1, slide_at(1, 518), 2);
  CHECK(bench.sent.size() == (refused ? 0U : 1U));
}

TEST_CASE("a node without supply is a passive antenna, with an alarm until it is back") {
  Bench bench;
  bench.report(1, home);
  auto reading = reading_of(home);
  reading.telemetry.powered = false;
  bench.on(rack::NodeReported{uid(1), reading});
  CHECK(bench.alarms() == Names{"passive left"});
  bench.report(1, home);
  CHECK(bench.alarms() == Names{"passive left returned"});
  bench.on(rack::AcknowledgeRequested{1, bench.core.snapshot()->alarms->front().id, "ana"});
  CHECK(bench.alarms().empty());
}

TEST_CASE("the show lock refuses changes, adoption and another segment, and survives a restart") {
  Bench bench;
  bench.report(1, home);
  bench.on(rack::LockRequested{1, true, "ana", "doors"});
  REQUIRE(bench.core.snapshot()->lock);
  bench.change("left", {.gain = rf::Gain::decibels(3)});
  CHECK(bench.answers.back().outcome == Outcome::refused);
  bench.on(rack::SegmentRequested{2, {"finale"}, "ana", ""});
  CHECK(bench.answers.back().outcome == Outcome::refused);
  bench.on(rack::LockRequested{3, false, "ana", ""});
  bench.change("left", {.gain = rf::Gain::decibels(3)});
  CHECK(bench.answers.back().outcome == Outcome::accepted);
}

TEST_CASE("what is locked while its intent is being recorded is not sent any more") {
  Bench bench;
  bench.report(1, home);
  auto first = bench.core.on(rack::LockRequested{1, true, "ana", "doors"}, bench.now);
  auto second = bench.core.on(
      rack::ChangeRequested{
          .request = 2, .node = {"left"}, .patch = {.gain = rf::Gain::decibels(3)}},
      bench.now);
  bench.take(first);
  bench.take(second);
  CHECK(bench.sent.empty());
  CHECK(bench.answers.back().outcome == Outcome::failed);
  CHECK(bench.node("left")->wanted->settings == home);
}

TEST_CASE("a segment that a new plan no longer has cannot be chosen, however late it is recorded") {
  Bench bench;
  const auto asked = bench.core.on(rack::SegmentRequested{1, {"finale"}, "ana", ""}, bench.now);
  auto plan = small_rack();
  plan.segments.pop_back();
  bench.on(rack::PlanReplaced{std::make_shared<const plan::RackPlan>(plan), "ana"});
  bench.take(asked);
  CHECK(bench.answers.back().outcome == Outcome::unknown_name);
  CHECK(bench.core.snapshot()->segment.text == "speeches");
}

TEST_CASE("re-applying with cautions needs somebody to sign for them") {
  Bench bench;
  bench.report(3, slide_at(0, 525));  // met with its window over the closed lane
  bench.report(3, slide_at(4, 525));
  rack::ReapplyRequested event{.request = 1, .node = {"spare"}, .who = "ana"};
  bench.on(event);
  CHECK(bench.answers.back().outcome == Outcome::needs_waiver);
  event.waiver = rack::Waiver{"ana", "the tower is off tonight"};
  bench.on(event);
  CHECK(bench.answers.back().outcome == Outcome::accepted);
}

TEST_CASE("a node that restarts during a change is re-applied when the change has ended") {
  auto plan = small_rack();
  plan.nodes[0].on_return = plan::OnReturn::reapply;
  Bench bench{{.epoch = {1}}, plan};
  bench.report(1, home, 1);
  bench.change("left", {.gain = rf::Gain::decibels(6)});
  bench.report(1, home, 2);
  bench.answer(protocol::Refusal{protocol::RefusalReason::ticket_unknown, 0});
  const auto sent = bench.sent.size();
  bench.report(1, slide_at(1, 518), 2);
  CHECK(bench.sent.size() == sent + 1);
}

TEST_CASE("an alarm that says something new has to be acknowledged anew") {
  Bench bench;
  bench.report(1, home);
  bench.report(1, slide_at(9, 518));
  bench.on(rack::AcknowledgeRequested{1, bench.core.snapshot()->alarms->front().id, "ana"});
  CHECK(bench.core.snapshot()->alarms->front().acknowledged_by);
  bench.report(1, slide_at(11, 518));
  CHECK_FALSE(bench.core.snapshot()->alarms->front().acknowledged_by);
}

TEST_CASE("what cannot be recorded is not stored on the node either") {
  Bench bench;
  bench.report(1, home);
  bench.disk_full = true;
  bench.on(rack::StoreRequested{1, {"left"}, "ana"});
  CHECK(bench.answers.back().outcome == Outcome::not_recorded);
  CHECK(bench.sent.empty());
}

TEST_CASE("choosing another segment moves no node, and says what no longer fits") {
  Bench bench;
  bench.report(1, home);
  CHECK(bench.node("left")->standing.findings.empty());
  bench.on(rack::SegmentRequested{1, {"finale"}, "ana", ""});
  CHECK(bench.answers.back().outcome == Outcome::done);
  CHECK(bench.answers.back().detail == "Off plan in this segment as they are set now: left.");
  CHECK(bench.sent.empty());
  CHECK(bench.node("left")->standing.refuses());
  CHECK(bench.alarms() == Names{"off-plan left"});
  bench.on(rack::SegmentRequested{2, {"encore"}, "ana", ""});
  CHECK(bench.answers.back().outcome == Outcome::unknown_name);
  CHECK(bench.answers.back().detail == "There is no segment \"encore\" in this rack.");
}

TEST_CASE("what a knob or a lost supply puts off plan raises an alarm until it is mended") {
  Bench bench;
  bench.report(1, home);
  bench.report(1, slide_at(0, 570));
  CHECK(bench.node("left")->standing.refuses());
  CHECK(bench.alarms() == Names{"drifted left", "off-plan left"});
  bench.report(1, home);
  CHECK_FALSE(bench.node("left")->standing.refuses());
  CHECK(bench.alarms() == Names{"drifted left returned", "off-plan left returned"});
  auto dead = reading_of(home);
  dead.telemetry.boots = 1;
  dead.telemetry.powered = false;
  bench.on(rack::NodeReported{uid(1), dead});
  // Without filter our own transmitter comes down the line.
  CHECK(bench.node("left")->standing.has(rack::Severity::caution));
}

TEST_CASE("an alarm of before a restart is still there, and returns when its cause has gone") {
  rack::Restored restored{.epoch = {1}};
  restored.alarms = {{3, rack::AlarmKind::silent, "left", "left does not answer.", {}, {}, {}},
                     {7, rack::AlarmKind::drifted, "gone-since", "It shows +3 dB.", {}, {}, {}}};
  restored.last_alarm = 9;
  Bench bench{std::move(restored)};
  CHECK(bench.alarms() == Names{"silent left", "drifted gone-since returned"});
  bench.report(1, home);
  CHECK(bench.alarms() == Names{"silent left returned", "drifted gone-since returned"});
  bench.report(1, slide_at(3, 518));
  CHECK(bench.core.snapshot()->alarms->back().id == 10);
}

TEST_CASE("the answer to a change shows the verdict on the settings that it brought") {
  Bench bench;
  bench.report(1, slide_at(0, 570));
  CHECK(bench.node("left")->standing.refuses());
  bench.change("left", {.centre = home.centre});
  bench.answer(protocol::Done{});
  bench.answer(protocol::Done{});
  bench.answer(reading_of(home));
  CHECK(bench.answers.back().outcome == Outcome::settled);
  CHECK(bench.answers.back().node == bench.node("left"));
  CHECK_FALSE(bench.answers.back().node->standing.refuses());
}

TEST_CASE("a refused request stands in the journal as it was asked, unknown filter included") {
  Bench bench;
  bench.report(1, home);
  bench.change("left", {.filter = "SLIDE"});
  CHECK(bench.answers.back().outcome == Outcome::refused);
  CHECK(bench.journal.back().kind == rack::JournalKind::refused);
  CHECK(bench.journal.back().what ==
        "gain +0 dB, slide at 518.000 MHz, power on → gain +0 dB, slide at 518.000 MHz, power on, "
        "asked for filter \"SLIDE\"");
}

TEST_CASE("nothing is stored on a node that shows other settings than wanted") {
  Bench bench;
  bench.report(1, home);
  bench.report(1, slide_at(3, 518));
  bench.on(rack::StoreRequested{1, {"left"}, "ana"});
  CHECK(bench.answers.back().outcome == Outcome::refused);
  CHECK(bench.sent.empty());
}

TEST_CASE("a node that obeys a higher epoch raises an alarm, and taking over goes above it") {
  Bench bench;
  auto reading = reading_of(home);
  reading.epoch = {9};
  bench.on(rack::NodeReported{uid(1), reading});
  CHECK(bench.alarms() == Names{"other-controller left"});
  bench.on(rack::TakeOverRequested{1, "ana", "the other rack is gone"});
  CHECK(bench.core.snapshot()->epoch > protocol::Epoch{9});
  bench.on(rack::NodeReported{uid(1), reading});
  CHECK(bench.alarms() == Names{"other-controller left returned"});
}

TEST_CASE("a read-back that shows who has taken over ends the change, and once") {
  Bench bench;
  for (const std::uint64_t node : {1, 2, 3}) bench.report(node, home);
  bench.change("left", {.gain = rf::Gain::decibels(3)});
  bench.answer(protocol::Done{});
  bench.answer(protocol::Done{});
  const auto taken = [](const plan::Settings& settings) {
    auto reading = reading_of(settings);
    reading.epoch = {9};
    return reading;
  };
  bench.on(rack::NodeReported{uid(2), taken(home)});
  bench.answers.clear();
  bench.answer(taken(slide_at(3, 518)));
  CHECK(bench.core.snapshot()->control == rack::Control::watching);
  CHECK(bench.answers.size() == 1);
  CHECK_FALSE(bench.node("left")->change);
}

TEST_CASE("a switch whose intent is on its way to the disk ends with a take-over by another") {
  auto plan = small_rack();
  plan.segments[1].settings[{"left"}] = {.centre = rf::Frequency::megahertz(620)};
  plan.segments[1].settings[{"right"}] = {.centre = rf::Frequency::megahertz(620)};
  rack::Core core{std::make_shared<const plan::RackPlan>(plan), {.epoch = {1}}, rack::TimePoint{}};
  const rack::TimePoint now{std::chrono::hours{24 * 365 * 50}};
  std::vector<rack::Record> records;
  std::vector<rack::Answer> answers;
  bool keeps = true;
  std::function<void(const rack::Event&)> on = [&](const rack::Event& event) {
    for (auto& effect : core.on(event, now)) {
      if (const auto* respond = std::get_if<rack::Respond>(&effect))
        answers.push_back(respond->answer);
      if (const auto* way = std::get_if<rack::PlanWay>(&effect))
        on(rack::WayPlanned{way->id, rack::plan_way(way->question)});
      const auto* record = std::get_if<rack::Record>(&effect);
      if (record == nullptr) continue;
      records.push_back(*record);
      if (keeps) on(rack::Recorded{record->id});
    }
  };
  for (const std::uint64_t node : {1, 2, 3})
    on(rack::NodeReported{uid(node), reading_of(slide_at(0, 518))});
  keeps = false;
  on(rack::SwitchRequested{.request = 7,
                           .segment = {{"finale"}},
                           .waiver = rack::Waiver{"ana", "tried before"},
                           .who = "ana"});
  REQUIRE(core.snapshot()->switching->stage == rack::SwitchStage::recording);
  const auto intent = records.back().id;
  answers.clear();
  for (const std::uint64_t node : {1, 2})
    on(rack::OtherSpeaks{{"bus"}, uid(node), {9}, std::chrono::milliseconds{1}, {1}});
  CHECK(core.snapshot()->control == rack::Control::watching);
  REQUIRE(answers.size() == 1);
  CHECK(answers[0].outcome == Outcome::refused);
  SUBCASE("kept") { on(rack::Recorded{intent}); }
  SUBCASE("not kept") { on(rack::RecordFailed{intent, "disk full"}); }
  CHECK(answers.size() == 1);
  CHECK_FALSE(core.snapshot()->switching);
  CHECK(std::ranges::any_of(records, [](const rack::Record& record) {
    return std::ranges::any_of(record.writes, [](const rack::Write& write) {
      return std::holds_alternative<rack::ForgetSwitch>(write);
    });
  }));
}

TEST_CASE("after a restart in the middle of a change, the first reading decides its fate") {
  rack::Restored restored{.epoch = {2}};
  restored.wanted[uid(1)] = {slide_at(6, 518), 2};
  restored.unfinished = {{41, uid(1), home, slide_at(6, 518)}};
  restored.last_change = 41;
  Bench bench{restored};
  CHECK(bench.node("left")->agreement == rack::Agreement::changing);
  SUBCASE("it was applied") {
    bench.report(1, slide_at(6, 518));
    CHECK(bench.node("left")->agreement == rack::Agreement::agreed);
    CHECK(bench.node("left")->wanted->settings == slide_at(6, 518));
    CHECK(bench.journal.back().fate == "settled: found in force after the daemon was restarted");
  }
  SUBCASE(
      "it was not: somebody may have been told of it, so it stays wanted, and the difference "
      "shows") {
    bench.report(1, home);
    CHECK(bench.node("left")->agreement == rack::Agreement::drifted);
    CHECK(bench.node("left")->wanted->settings == slide_at(6, 518));
  }
  SUBCASE("the node shows something else") {
    bench.report(1, slide_at(1, 518));
    CHECK(bench.node("left")->agreement == rack::Agreement::drifted);
    CHECK(bench.node("left")->wanted->settings == slide_at(6, 518));
  }
  SUBCASE("until then the node cannot be changed, and it is said why") {
    bench.change("left", {.gain = rf::Gain::decibels(3)});
    CHECK(bench.answers.back().outcome == Outcome::unreachable);
    CHECK(bench.answers.back().detail ==
          "The daemon was stopped in the middle; the node has to be read.");
    bench.report(1, slide_at(6, 518));
  }
  CHECK(bench.sent.empty());
  CHECK(rack::is_fate(bench.core.snapshot()->changes->back().stage));
}

TEST_CASE("after a restart a node that differs is shown, not overwritten") {
  auto plan = small_rack();
  plan.nodes[0].on_return = plan::OnReturn::reapply;
  rack::Restored restored{.epoch = {2}};
  restored.wanted[uid(1)] = {home, 5};
  Bench bench{restored, plan};
  bench.report(1, slide_at(1, 518));
  CHECK(bench.sent.empty());
  CHECK(bench.node("left")->agreement == rack::Agreement::drifted);
}

TEST_CASE("a line that goes down takes its nodes with it, and says why") {
  Bench bench;
  bench.on(rack::LineWentUp{{"bus"}});
  bench.report(1, home);
  bench.report(3, home);
  bench.on(rack::LineWentDown{{"bus"}, "the port is gone"});
  CHECK(bench.node("left")->link == rack::Link::line_down);
  CHECK(bench.node("spare")->link == rack::Link::answering);
  CHECK(bench.alarms() == Names{"line-down bus"});
  bench.on(rack::LineWentUp{{"bus"}});
  CHECK(bench.alarms() == Names{"line-down bus returned"});
}

TEST_CASE(
    "a new snapshot is published before anybody is answered, so that they find what they were "
    "told") {
  Bench bench;
  const auto effects = bench.core.on(rack::LockRequested{1, true, "ana", ""}, bench.now);
  const auto record = all<rack::Record>(effects).at(0).id;
  const auto after = bench.core.on(rack::Recorded{record}, bench.now);
  REQUIRE(all<rack::Respond>(after).size() == 1);
  REQUIRE(std::holds_alternative<rack::Publish>(after.front()));
  CHECK(std::get<rack::Publish>(after.front()).snapshot->lock.has_value());
}

TEST_CASE("snapshots share what did not change") {
  Bench bench;
  bench.report(1, home);
  bench.report(2, home);
  const auto before = bench.core.snapshot();
  bench.report(1, slide_at(0, 520));
  const auto after = bench.core.snapshot();
  CHECK(after->revision > before->revision);
  CHECK(after->nodes[0] != before->nodes[0]);
  CHECK(after->nodes[1] == before->nodes[1]);
  CHECK(after->lines == before->lines);
}

namespace {

// left has drifted, and its alarm is number one.
struct ShelfBench : Bench {
  explicit ShelfBench(rack::Restored restored = {.epoch = {1}}) : Bench{std::move(restored)} {
    report(1, home);
    report(1, slide_at(9, 518));
  }
  void shelve(std::chrono::seconds lasting, const std::string& why = "the mast moves") {
    on(rack::ShelveRequested{++request, 1, lasting, "ana", why});
  }
  void wait(std::chrono::seconds time) {
    now += time - std::chrono::seconds{1};
    on(rack::TimePassed{});
  }
  const rack::Alarm* alarm() {
    const auto& list = *core.snapshot()->alarms;
    return list.empty() ? nullptr : &list.front();
  }
  std::vector<std::string> told() {
    std::vector<std::string> lines;
    for (const auto& entry : journal)
      if (entry.kind == rack::JournalKind::alarm) lines.push_back(entry.who + ": " + entry.what);
    return lines;
  }
  bool told_of_shelving() {
    const auto lines = told();
    return std::ranges::any_of(lines, [](const std::string& line) {
      return line.starts_with("ana: drifted shelved by ana until ");
    });
  }
};

}  // namespace

TEST_CASE("a shelved alarm says by whom, why and until when, and so does the journal") {
  ShelfBench bench;
  bench.shelve(std::chrono::minutes{30});
  const auto at = bench.now - std::chrono::seconds{1};  // its record took one
  REQUIRE(bench.alarm());
  CHECK(bench.alarm()->shelved ==
        rack::Shelving{"ana", "the mast moves", at + std::chrono::minutes{30}});
  CHECK(bench.alarm()->active());
  CHECK_FALSE(bench.alarm()->acknowledged_by);
  CHECK(bench.answers.back().outcome == Outcome::done);
  REQUIRE(bench.answers.back().alarm);
  CHECK(*bench.answers.back().alarm == *bench.alarm());
  CHECK(bench.told().back() ==
        "ana: drifted shelved by ana until 2019-12-20 00:30:05Z: the mast moves");
}

TEST_CASE("a shelving ends by itself, at its time, and not before") {
  ShelfBench bench;
  bench.shelve(std::chrono::minutes{1});
  const auto end = bench.alarm()->shelved->until;
  CHECK(bench.core.deadline() == end);
  bench.now = end - std::chrono::microseconds{1} - std::chrono::seconds{1};
  bench.on(rack::TimePassed{});
  CHECK(bench.alarm()->shelved);
  bench.now = end - std::chrono::seconds{1};
  bench.on(rack::TimePassed{});
  CHECK_FALSE(bench.alarm()->shelved);
  CHECK(bench.alarms() == Names{"drifted left"});
  CHECK(bench.told().back() == "rack: drifted shelved no longer: its time is over");
  CHECK_FALSE(bench.core.deadline());
}

TEST_CASE("an alarm that returns and is raised again stays shelved, and stands at the end") {
  ShelfBench bench;
  bench.shelve(std::chrono::minutes{10});
  const auto until = bench.alarm()->shelved->until;
  bench.on(rack::AcknowledgeRequested{++bench.request, 1, "ana"});
  bench.report(1, home);
  CHECK(bench.alarms() == Names{"drifted left returned"});  // over, but for its shelving
  bench.report(1, slide_at(7, 518));
  CHECK(bench.alarms() == Names{"drifted left"});
  REQUIRE(bench.alarm()->shelved);
  CHECK(bench.alarm()->shelved->until == until);
  CHECK(bench.alarm()->id == 1);
  bench.wait(std::chrono::minutes{10});
  CHECK_FALSE(bench.alarm()->shelved);
  CHECK_FALSE(bench.alarm()->acknowledged_by);  // it was raised anew, and nobody has seen that
  CHECK(bench.alarms() == Names{"drifted left"});
}

TEST_CASE("an alarm that is over leaves the list when its shelving ends, by itself or by hand") {
  ShelfBench bench;
  bench.shelve(std::chrono::minutes{10});
  bench.on(rack::AcknowledgeRequested{++bench.request, 1, "ana"});
  bench.report(1, home);
  REQUIRE(bench.alarm());
  SUBCASE("by itself") { bench.wait(std::chrono::minutes{10}); }
  SUBCASE("by hand") {
    bench.on(rack::UnshelveRequested{++bench.request, 1, "bo"});
    CHECK(bench.answers.back().outcome == Outcome::done);
    REQUIRE(bench.answers.back().alarm);
    CHECK(bench.answers.back().alarm->over());
    CHECK(bench.told().back() == "bo: drifted unshelved by bo");
  }
  CHECK(bench.alarms().empty());
}

TEST_CASE("an alarm is shelved anew, unshelved, and unshelved once more with a word") {
  ShelfBench bench;
  bench.shelve(std::chrono::minutes{10});
  bench.shelve(std::chrono::hours{2}, "still moving");
  CHECK(bench.alarm()->shelved->why == "still moving");
  bench.wait(std::chrono::minutes{11});
  CHECK(bench.alarm()->shelved);
  bench.on(rack::UnshelveRequested{++bench.request, 1, "bo"});
  CHECK_FALSE(bench.alarm()->shelved);
  CHECK(bench.answers.back().detail.empty());
  const auto rows = bench.journal.size();
  bench.on(rack::UnshelveRequested{++bench.request, 1, "bo"});
  CHECK(bench.answers.back().outcome == Outcome::done);
  CHECK(bench.answers.back().detail == "It was not shelved.");
  CHECK(bench.journal.size() == rows);
}

TEST_CASE("an alarm that is not there can be neither shelved nor unshelved") {
  ShelfBench bench;
  bench.on(rack::ShelveRequested{++bench.request, 9, std::chrono::minutes{5}, "ana", "why"});
  CHECK(bench.answers.back().outcome == Outcome::unknown_name);
  CHECK(bench.answers.back().detail == "There is no alarm no. 9.");
  bench.on(rack::UnshelveRequested{++bench.request, 9, "ana"});
  CHECK(bench.answers.back().outcome == Outcome::unknown_name);
}

TEST_CASE("a shelving survives a restart; one whose end has passed meanwhile is over at once") {
  const rack::TimePoint then{std::chrono::hours{24 * 365 * 50}};
  rack::Alarm silent{5, rack::AlarmKind::silent, "left", "left does not answer.", then, {}, {}, {}};
  silent.shelved = rack::Shelving{"ana", "why", then + std::chrono::minutes{5}};
  rack::Restored restored{.epoch = {1}};
  restored.alarms = {silent};
  restored.last_alarm = 5;
  SUBCASE("in time") {
    Bench bench{restored};
    CHECK(bench.core.snapshot()->alarms->front().shelved == silent.shelved);
    CHECK(bench.core.deadline() == silent.shelved->until);
  }
  SUBCASE("late") {
    Bench bench{restored};
    bench.now += std::chrono::hours{1};
    REQUIRE(*bench.core.deadline() < bench.now);
    bench.on(rack::TimePassed{});
    CHECK_FALSE(bench.core.snapshot()->alarms->front().shelved);
  }
}

TEST_CASE("a clock that is put moves no shelving, and the journal's file hears of it") {
  ShelfBench bench;
  bench.shelve(std::chrono::minutes{10});
  const auto until = bench.alarm()->shelved->until;
  const auto by = std::chrono::hours{-3};
  bench.now += by;
  const auto effects = bench.core.on(rack::ClockStepped{by}, bench.now);
  CHECK(bench.alarm()->shelved->until == until + by);
  bool kept = false;
  for (const auto& record : all<rack::Record>(effects))
    for (const auto& write : record.writes)
      if (const auto* keep = std::get_if<rack::KeepAlarm>(&write))
        kept = keep->alarm.shelved->until == until + by;
  CHECK(kept);
}

TEST_CASE("a clock that is put back does not hold up what is owed to the disk") {
  ShelfBench bench;
  bench.disk_full = true;
  bench.shelve(std::chrono::minutes{10});
  bench.disk_full = false;
  bench.journal.clear();
  const auto by = std::chrono::hours{-3};
  bench.now += by;
  bench.on(rack::ClockStepped{by});
  bench.wait(std::chrono::seconds{2});
  CHECK(bench.told_of_shelving());
}

TEST_CASE("a shelving that could not be recorded is recorded later, and holds meanwhile") {
  ShelfBench bench;
  bench.disk_full = true;
  bench.shelve(std::chrono::minutes{5});
  CHECK(bench.alarm()->shelved);
  bench.disk_full = false;
  bench.journal.clear();
  bench.wait(std::chrono::seconds{2});
  CHECK(bench.told_of_shelving());
}

TEST_CASE("what is owed to a full disk has a bound, and how much was lost is said in the journal") {
  Bench bench;
  bench.report(1, home);
  bench.disk_full = true;
  std::size_t rows = 0;
  for (int i = 0; rows <= 2'100; ++i) {
    bench.journal.clear();
    bench.report(1, slide_at(1 + i % 2, 518));
    rows += 1;
    // Each record carries all that is owed: its own rows, and at most as many as may be kept.
    REQUIRE(bench.journal.size() <= 2'000 + 8);
  }
  bench.disk_full = false;
  bench.journal.clear();
  bench.report(1, home);
  const auto lost = std::ranges::count_if(bench.journal, [](const rack::JournalEntry& entry) {
    return entry.kind == rack::JournalKind::journal &&
           entry.what.ends_with(" rows could not be kept");
  });
  CHECK(lost == 1);
  CHECK(bench.journal.size() >= 2'000);
  bench.journal.clear();
  bench.report(1, slide_at(1, 518));
  CHECK(bench.journal.size() < 10);  // all is paid
}

namespace {

rack::Core hung(plan::RackPlan plan = small_rack()) {
  return rack::Core{std::make_shared<const plan::RackPlan>(std::move(plan)), {.epoch = {1}}, {}};
}

std::vector<std::string> standing(const rack::Core& core) {
  std::vector<std::string> names;
  for (const auto& alarm : *core.snapshot()->alarms)
    names.push_back(std::string{rack::name_of(alarm.kind)} + ' ' + alarm.subject +
                    (alarm.active() ? "" : " returned") + (alarm.cause ? " follows" : ""));
  return names;
}

}  // namespace

TEST_CASE("while the rack is hung an alarm is over when it returns; of the show it is not") {
  for (const bool locked : {false, true}) {
    auto core = hung();
    rack::TimePoint now{};
    const auto on = [&](const rack::Event& event) {
      for (const auto& effect : core.on(event, now += std::chrono::seconds{1}))
        if (const auto* record = std::get_if<rack::Record>(&effect))
          core.on(rack::Recorded{record->id}, now += std::chrono::seconds{1});
    };
    if (locked) on(rack::LockRequested{.request = 1, .locked = true});
    on(rack::NodeFellSilent{uid(3)});
    CHECK(standing(core) == Names{"silent spare"});
    on(rack::NodeReported{uid(3), reading_of(slide_at(0, 518))});
    CHECK(standing(core) == (locked ? Names{"silent spare returned"} : Names{}));
  }
}

TEST_CASE("a line on which nobody answers is as good as down, and its nodes follow from that") {
  Bench bench;
  for (const auto bits : {1U, 2U}) bench.report(bits, slide_at(0, 518));
  bench.on(rack::LineWentUp{{"bus"}});
  bench.on(rack::NodeFellSilent{uid(1)});
  CHECK(standing(bench.core) == Names{"silent left"});
  bench.on(rack::NodeFellSilent{uid(2)});
  CHECK(standing(bench.core) ==
        Names{"silent left follows", "silent right follows", "line-down bus"});
  const auto line = [&] { return bench.core.snapshot()->lines->front(); };
  CHECK(line().unheard);
  CHECK(line().reason == "none of its 2 nodes answers");

  // Acknowledged with their cause, and it returns when one of them answers.
  bench.on(rack::AcknowledgeRequested{9, bench.core.snapshot()->alarms->back().id, "ana"});
  for (const auto& alarm : *bench.core.snapshot()->alarms) CHECK(alarm.acknowledged_by == "ana");
  bench.report(1, slide_at(0, 518));
  CHECK(standing(bench.core) == Names{"silent right"});
  CHECK_FALSE(line().unheard);
}

TEST_CASE("several alarms are acknowledged at once, or all, or none if a number is no alarm's") {
  Bench bench;
  for (const auto bits : {1U, 3U}) {
    bench.report(bits, slide_at(0, 518));
    bench.on(rack::NodeFellSilent{uid(bits)});
  }
  const auto open = [&] {
    return std::ranges::count_if(*bench.core.snapshot()->alarms,
                                 [](const auto& alarm) { return !alarm.acknowledged_by; });
  };
  REQUIRE(open() == 2);
  bench.on(rack::AcknowledgeManyRequested{9, {1, 99}, "ana"});
  CHECK(bench.answers.back().outcome == Outcome::unknown_name);
  CHECK(open() == 2);
  bench.on(rack::AcknowledgeManyRequested{10, {1}, "ana"});
  CHECK(bench.answers.back().detail == "1 alarm acknowledged.");
  CHECK(open() == 1);
  bench.on(rack::AcknowledgeManyRequested{11, {}, "ana"});
  CHECK(open() == 0);
}

TEST_CASE("what a full disk owes is kept of where devices hang when some change places") {
  Bench bench;
  for (const auto node : {1U, 2U, 3U}) bench.report(node, slide_at(1, 518));
  bench.disk_full = true;
  for (const auto* name : {"left", "right", "spare"})
    bench.change(name, {.gain = rf::Gain::decibels(3)});
  for (const auto node : {1U, 2U, 3U}) {
    protocol::Identity identity;
    identity.uid = uid(node);
    identity.type = "other";
    bench.on(rack::NodeIdentified{uid(node), identity});
  }
  auto plan = small_rack();
  SUBCASE("the first two") { std::swap(plan.nodes[0].uid, plan.nodes[1].uid); }
  SUBCASE("the last two") { std::swap(plan.nodes[1].uid, plan.nodes[2].uid); }
  const auto effects = bench.core.on(
      rack::PlanReplaced{std::make_shared<const plan::RackPlan>(plan), "reload"}, bench.now);
  std::map<protocol::NodeUid, rack::Wanted> kept;
  for (const auto& record : all<rack::Record>(effects))
    for (const auto& write : record.writes)
      if (const auto* wanted = std::get_if<rack::KeepWanted>(&write))
        kept.insert_or_assign(wanted->node, wanted->wanted);
  REQUIRE(kept.size() == 3);
  for (const auto& node : bench.core.snapshot()->nodes) CHECK(kept.at(node->uid) == *node->wanted);
  const auto wrong =
      std::ranges::count_if(*bench.core.snapshot()->alarms, [](const rack::Alarm& alarm) {
        return alarm.kind == rack::AlarmKind::wrong_type && alarm.active();
      });
  CHECK(wrong == 1);  // of the one that hangs where it did
}

TEST_CASE("what hangs in a place may change, and what is wanted there stays") {
  Bench bench;
  auto plan = small_rack();
  for (auto& segment : plan.segments) segment.settings[{"spare"}].gain = rf::Gain::decibels(9);
  bench.on(rack::PlanReplaced{std::make_shared<const plan::RackPlan>(plan), "reload"});
  bench.report(1, slide_at(3, 518));
  bench.report(2, slide_at(6, 518));
  // Two that were mixed up.
  std::swap(plan.nodes[0].uid, plan.nodes[1].uid);
  bench.on(rack::PlanReplaced{std::make_shared<const plan::RackPlan>(plan), "reload"});
  CHECK(bench.node("left")->wanted->settings == slide_at(3, 518));
  CHECK(bench.node("left")->seen->settings == slide_at(6, 518));
  bench.report(2, slide_at(6, 518));
  CHECK(bench.node("left")->agreement == rack::Agreement::drifted);

  // A spare in the place of one that was known: what was wanted there is wanted of it.
  plan.nodes[0].uid = uid(0x77);
  bench.on(rack::PlanReplaced{std::make_shared<const plan::RackPlan>(plan), "reload"});
  bench.report(0x77, slide_at(0, 470));
  CHECK(bench.node("left")->wanted->settings == slide_at(3, 518));
  CHECK(bench.node("left")->agreement == rack::Agreement::drifted);

  // One that was never met, where a segment is on the air: what the segment has for it.
  bench.report(3, slide_at(0, 518));
  CHECK(bench.node("spare")->wanted->settings == slide_at(9, 518));
  const auto met = std::ranges::find_if(bench.journal, [](const auto& entry) {
    return entry.what.find("wanted is what speeches has for it") != std::string::npos;
  });
  CHECK(met != bench.journal.end());
}

TEST_CASE("the journal tells what is on the air, and what another plan differs in") {
  Bench bench;
  const auto rows = [&](rack::JournalKind kind) {
    std::vector<std::string> all;
    for (const auto& entry : bench.journal)
      if (entry.kind == kind) all.push_back(entry.segment + ": " + entry.what + " | " + entry.why);
    return all;
  };
  bench.on(rack::SegmentRequested{.request = 1, .segment = {"finale"}, .who = "ana"});
  CHECK(rows(rack::JournalKind::carriers) ==
        Names{"finale: ears-1 (ours) 570.000 MHz; voice-3 620.000 MHz | "});

  auto plan = small_rack();
  bench.on(rack::PlanReplaced{std::make_shared<const plan::RackPlan>(plan), "ana"});
  CHECK(rows(rack::JournalKind::plan) == Names{"finale: plan replaced: small | nothing differs"});
  CHECK(rows(rack::JournalKind::carriers).size() == 1);

  plan.segments[1].carriers[0].frequency = rf::Frequency::megahertz(622);
  plan.segments[0].carriers.pop_back();
  plan.segments[0].settings[{"left"}].gain = rf::Gain::decibels(3);
  plan.nodes[2].uid = uid(0x99);
  bench.on(rack::PlanReplaced{std::make_shared<const plan::RackPlan>(plan), "ana"});
  CHECK(
      rows(rack::JournalKind::plan).back() ==
      "finale: plan replaced: small | speeches: ears-1 (ours) 570.000 MHz is gone; speeches: other "
      "settings for left; finale: voice-3 622.000 MHz, was 620.000 MHz; spare is another device");
  CHECK(rows(rack::JournalKind::carriers).back() ==
        "finale: ears-1 (ours) 570.000 MHz; voice-3 622.000 MHz | ");
}

TEST_CASE("what waits for its record when its device is taken away is answered, and ends nobody") {
  auto plan = small_rack();
  rack::Core core{std::make_shared<const plan::RackPlan>(plan), {.epoch = {1}}, {}};
  rack::TimePoint now{};
  std::vector<rack::RecordId> held;
  std::map<rack::RequestId, rack::Outcome> answered;
  const auto on = [&](const rack::Event& event) {
    for (const auto& effect : core.on(event, now += std::chrono::seconds{1})) {
      if (const auto* record = std::get_if<rack::Record>(&effect)) held.push_back(record->id);
      if (const auto* respond = std::get_if<rack::Respond>(&effect))
        answered[respond->request] = respond->answer.outcome;
    }
  };
  const auto keep = [&](bool fails) {
    for (const auto id : std::exchange(held, {}))
      on(fails ? rack::Event{rack::RecordFailed{id, "disk full"}}
               : rack::Event{rack::Recorded{id}});
  };
  for (const bool fails : {false, true}) {
    auto reading = reading_of(slide_at(3, 518));
    on(rack::NodeReported{plan.nodes[0].uid, reading});
    keep(false);
    answered.clear();
    on(rack::LocateRequested{.request = 1, .node = {"left"}, .who = "ana"});
    on(rack::StoreRequested{.request = 2, .node = {"left"}, .who = "ana"});
    // A store is refused to a node that has drifted, an adoption to one that has not.
    reading = reading_of(slide_at(6, 518));
    on(rack::NodeReported{plan.nodes[0].uid, reading});
    on(rack::AdoptRequested{.request = 3, .node = {"left"}, .who = "ana"});
    // Another device, before the disk has answered.
    plan.nodes[0].uid = uid(plan.nodes[0].uid.bits() + 1);
    plan.nodes[0].uid = uid(plan.nodes[0].uid.bits() + 0x100);
    on(rack::PlanReplaced{std::make_shared<const plan::RackPlan>(plan), "ana"});
    keep(fails);
    for (const auto request : {1U, 2U, 3U}) {
      CAPTURE(request);
      REQUIRE(answered.contains(request));
      CHECK(answered.at(request) == (fails ? Outcome::not_recorded : Outcome::unknown_name));
    }
    keep(false);
  }
}
