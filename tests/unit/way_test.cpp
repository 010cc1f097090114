// SPDX-License-Identifier: Apache-2.0
// The way between two segments, constraint by constraint.
#include <doctest/doctest.h>

#include <algorithm>

#include "daemon/rack/rules/rules.hpp"
#include "daemon/rack/way/live_between.hpp"
#include "daemon/rack/way/way.hpp"
#include "tests/support/physics_rack.hpp"
#include "tests/support/rack_fixture.hpp"

using namespace catwalk;
using namespace catwalk::rack;
using rf::Decibel;
using test::slide_at;

namespace {

// Two segments over nodes with a window of 40 MHz, +20 dBm at P1dB and no cable behind them.
struct Scene {
  plan::RackPlan plan;
  std::vector<NodeEnds> nodes;

  Scene() {
    plan.name = "quay";
    plan.lines = {{"bus"}};
    plan.segments.resize(2);
    plan.segments[0].name = {"arrival"};
    plan.segments[1].name = {"fireworks"};
  }

  Scene& node(const std::string& name, std::optional<plan::Settings> now,
              std::optional<plan::Settings> then) {
    static const auto sheet = test::sliding_sheet();
    plan::Node one;
    one.name = {name};
    one.uid = NodeUid::from_bits(plan.nodes.size() + 1);
    one.line = {"bus"};
    one.datasheet = sheet;
    one.feed = plan::Chain{};
    plan.nodes.push_back(std::move(one));
    nodes.push_back({{name}, std::move(now), std::move(then)});
    return *this;
  }
  Scene& receiver(const std::string& name, const std::vector<std::vector<std::string>>& branches) {
    plan::Receiver one{{name}, {}};
    for (const auto& nodes_on_it : branches) {
      plan::Branch branch;
      for (const auto& node_name : nodes_on_it) branch.nodes.push_back({node_name});
      one.branches.push_back(std::move(branch));
    }
    plan.receivers.push_back(std::move(one));
    return *this;
  }
  Scene& before(plan::Carrier carrier) { return carries(0, std::move(carrier)); }
  Scene& after(plan::Carrier carrier) { return carries(1, std::move(carrier)); }
  Scene& stays(const plan::Carrier& carrier) { return before(carrier).after(carrier); }

  SwitchTask task() const {
    return {plan, plan.segments.front(), plan.segments.back(), nodes, false};
  }
  Way way() const { return plan_way(task()); }

 private:
  Scene& carries(std::size_t segment, plan::Carrier carrier) {
    plan.segments[segment].carriers.push_back(std::move(carrier));
    return *this;
  }
};

// An own transmitter that comes in with `dbm` at every antenna.
plan::Carrier transmitter_with(const std::string& name, double megahertz, double dbm,
                               const std::vector<std::string>& nodes) {
  auto one = test::transmitter(name, megahertz);
  for (const auto& node : nodes)
    one.isolations.emplace(plan::NodeName{node}, Decibel::of(17 - dbm));
  return one;
}

// "left, right | spare": who moves in which step; a move of one part says which.
std::string in_short(const Way& way) {
  std::string text;
  for (const auto& step : way.steps) {
    if (!text.empty()) text += " | ";
    for (std::size_t i = 0; i < step.moves.size(); ++i) {
      const auto& move = step.moves[i];
      text += (i > 0 ? ", " : "") + move.node.text;
      if (move.part != MovePart::whole) text += " " + std::string{name_of(move.part)};
    }
  }
  return text;
}

// Left and right on one receiver, which must hear a voice at 540 MHz all the time.
Scene two_antennas() {
  return Scene{}
      .receiver("vocals", {{"left"}, {"right"}})
      .stays(test::microphone("voice", 540, "vocals"));
}

}  // namespace

TEST_CASE("one antenna finds the carrier before the other leaves it") {
  const auto way = two_antennas()
                       .node("left", slide_at(0, 540), slide_at(0, 600))
                       .node("right", slide_at(0, 600), slide_at(0, 550))
                       .way();
  CHECK(in_short(way) == "right | left");
  CHECK(way.clean());
  CHECK(way.at_least_steps == 2);
}

TEST_CASE("an antenna that passes the carrier before and after needs no order") {
  const auto way = two_antennas()
                       .node("left", slide_at(0, 540), slide_at(0, 550))
                       .node("right", slide_at(0, 600), slide_at(0, 550))
                       .way();
  CHECK(in_short(way) == "left, right");
  CHECK(way.clean());
}

TEST_CASE("two antennas of one branch relieve each other like two branches") {
  const auto way = Scene{}
                       .receiver("vocals", {{"left", "right"}})
                       .stays(test::microphone("voice", 540, "vocals"))
                       .node("left", slide_at(0, 540), slide_at(0, 600))
                       .node("right", slide_at(0, 600), slide_at(0, 550))
                       .way();
  CHECK(in_short(way) == "right | left");
}

TEST_CASE("an antenna without power passes the carrier while the other is in flight") {
  auto off = slide_at(0, 600);
  off.power = false;
  const auto way = two_antennas()
                       .node("left", slide_at(0, 540), slide_at(0, 550))
                       .node("right", off, std::nullopt)
                       .way();
  CHECK(in_short(way) == "left");
  auto leaves = two_antennas()
                    .node("left", slide_at(0, 540), slide_at(0, 600))
                    .node("right", slide_at(0, 600), off)
                    .way();
  CHECK(in_short(leaves) == "right | left");
}

TEST_CASE("antennas that no constraint joins move with the first step") {
  const auto way = two_antennas()
                       .node("left", slide_at(0, 540), slide_at(0, 600))
                       .node("right", slide_at(0, 600), slide_at(0, 550))
                       .node("spare", slide_at(0, 500), slide_at(6, 700))
                       .way();
  CHECK(in_short(way) == "right, spare | left");
}

TEST_CASE("two antennas that change places cannot do so cleanly") {
  const auto way = two_antennas()
                       .stays(test::microphone("choir", 640, "vocals"))
                       .node("left", slide_at(0, 540), slide_at(0, 640))
                       .node("right", slide_at(0, 640), slide_at(0, 540))
                       .way();
  CHECK_FALSE(way.clean());
  CHECK(way.needs_waiver());
  CHECK(way.least_bad);
  // At once both carriers may be lost for one step; in turn one of them would be for two.
  CHECK(in_short(way) == "left, right");
  REQUIRE(way.breaches.findings.size() == 1);
  const auto& finding = way.breaches.findings.front();
  CHECK(finding.rule == Rule::diversity_dark);
  CHECK(finding.severity == Severity::caution);
  CHECK(finding.concerns == std::vector<std::string>{"vocals", "voice", "choir"});
  CHECK(finding.sentence ==
        "While step 1 is under way receiver vocals may lose voice and choir: every antenna that "
        "passed them before has left or is leaving, and none of those that will is there yet.");
  CHECK(way.steps.front().in_flight.findings.front() == finding);
}

TEST_CASE("a carrier that changes its frequency is two, and asks for no order") {
  const auto way = Scene{}
                       .receiver("vocals", {{"left"}, {"right"}})
                       .before(test::microphone("voice", 540, "vocals"))
                       .after(test::microphone("voice", 600, "vocals"))
                       .node("left", slide_at(0, 540), slide_at(0, 600))
                       .node("right", slide_at(0, 540), slide_at(0, 600))
                       .way();
  CHECK(in_short(way) == "left, right");
  CHECK(way.clean());
}

TEST_CASE("a receiver that is dark at an end is no worse on the way") {
  const auto way = two_antennas()
                       .node("left", slide_at(0, 540), slide_at(0, 600))
                       .node("right", slide_at(0, 600), slide_at(0, 640))
                       .way();
  CHECK(in_short(way) == "left, right");
  CHECK(way.clean());
  CHECK(way.end.refuses());
}

TEST_CASE("a node that was never read is relied on for nothing") {
  const auto way = two_antennas()
                       .node("left", slide_at(0, 540), slide_at(0, 600))
                       .node("right", std::nullopt, slide_at(0, 540))
                       .way();
  CHECK(in_short(way) == "right | left");
  CHECK(way.steps.front().moves.front().from == std::nullopt);
}

TEST_CASE("gain goes down before the window opens towards a strong transmitter") {
  const auto way = Scene{}
                       .stays(transmitter_with("ears", 600, 2, {"left"}))
                       .node("left", slide_at(20, 500), slide_at(-6, 600))
                       .way();
  CHECK(in_short(way) == "left gain | left window");
  CHECK(way.clean());
  const auto padded = slide_at(-6, 500);
  CHECK(way.steps[0].moves[0].from == slide_at(20, 500));
  CHECK(way.steps[0].moves[0].to == padded);
  CHECK(way.steps[1].moves[0].from == padded);
  CHECK(way.steps[1].moves[0].to == slide_at(-6, 600));
}

TEST_CASE("gain goes up after the window has closed towards it") {
  const auto way = Scene{}
                       .stays(transmitter_with("ears", 600, 2, {"left"}))
                       .node("left", slide_at(-6, 600), slide_at(20, 500))
                       .way();
  CHECK(in_short(way) == "left window | left gain");
  CHECK(way.steps[0].moves[0].to == slide_at(-6, 500));
}

TEST_CASE("a transmitter too weak for either gain lets both move at once") {
  const auto way = Scene{}
                       .stays(transmitter_with("ears", 600, -30, {"left"}))
                       .node("left", slide_at(20, 500), slide_at(-6, 600))
                       .way();
  CHECK(in_short(way) == "left");
}

TEST_CASE("a transmitter of which no level is known counts as strong") {
  const auto opens = Scene{}
                         .stays(test::transmitter("ears", 600))
                         .node("left", slide_at(20, 500), slide_at(-6, 600));
  CHECK(in_short(opens.way()) == "left gain | left window");
  const auto closes = Scene{}
                          .stays(test::transmitter("ears", 600))
                          .node("left", slide_at(-6, 600), slide_at(20, 500));
  CHECK(in_short(closes.way()) == "left window | left gain");
  const auto padded = Scene{}
                          .stays(test::transmitter("ears", 600))
                          .node("left", slide_at(20, 600), slide_at(-6, 500));
  CHECK(in_short(padded.way()) == "left");
}

TEST_CASE("a transmitter that goes off before the switch orders nothing") {
  const auto way = Scene{}
                       .before(transmitter_with("ears", 600, 2, {"left"}))
                       .node("left", slide_at(20, 500), slide_at(-6, 600))
                       .way();
  CHECK(in_short(way) == "left");
  CHECK(way.clean());
}

TEST_CASE("a transmitter that is on early is let in by the old settings, and the way says so") {
  auto ears = transmitter_with("ears", 500, -40, {"left"});
  ears.early = true;
  const auto way = Scene{}.after(ears).node("left", slide_at(0, 500), slide_at(0, 600)).way();
  CHECK(in_short(way) == "left");
  REQUIRE(way.breaches.findings.size() == 1);
  const auto& finding = way.breaches.findings.front();
  CHECK(finding.rule == Rule::own_transmitter_in_window);
  CHECK(finding.node.text == "left");
  CHECK(finding.concerns == std::vector<std::string>{"ears"});
  CHECK(finding.sentence ==
        "Our own ears at 500.000 MHz is on already during the switch, and the old settings let it "
        "in: with its skirts the window passes 479.500 to 520.500 MHz.");
}

TEST_CASE("an antenna that opens towards a transmitter that stays on late moves in the last step") {
  auto ears = transmitter_with("ears", 700, -40, {"left", "right", "spare"});
  ears.late = true;
  const auto way = two_antennas()
                       .before(ears)
                       .node("left", slide_at(0, 540), slide_at(0, 600))
                       .node("right", slide_at(0, 600), slide_at(0, 550))
                       .node("spare", slide_at(0, 500), slide_at(0, 700))
                       .way();
  CHECK(in_short(way) == "right | left, spare");
  CHECK(way.needs_waiver());
}

TEST_CASE("a transmitter that an end lets in anyway breaks nothing on the way") {
  const auto way = Scene{}
                       .stays(transmitter_with("ears", 600, -40, {"left"}))
                       .node("left", slide_at(0, 500), slide_at(0, 600))
                       .way();
  CHECK(way.clean());
  CHECK(way.end.refuses());
}

// Two antennas at +18 dB on one combiner, and behind it an amplifier of +10 dB that takes 8 dBm at
// its P1dB. The transmitter comes out of each antenna that lets it in about 13 dB stronger: with
// the gain, less some 2 dB of the filter and 3 dB of the combiner. Left lets it go, right takes it.
Scene behind_one_amplifier(double dbm) {
  auto scene = Scene{};
  scene.receiver("vocals", {{"left", "right"}})
      .stays(transmitter_with("ears", 600, dbm, {"left", "right"}))
      .node("left", slide_at(18, 600), slide_at(18, 500))
      .node("right", slide_at(18, 500), slide_at(18, 600));
  scene.plan.receivers.front().branches.front().chain = {
      plan::RackAmplifier{"rack-amp", Decibel::of(10), Decibel::of(4), rf::PowerLevel::dbm(18),
                          rf::PowerLevel::dbm(40)}};
  return scene;
}

TEST_CASE("of two antennas behind one amplifier one grows quiet before the other grows loud") {
  const auto way = behind_one_amplifier(-12).way();
  CHECK(in_short(way) == "left | right");
  CHECK(way.clean());
}

TEST_CASE("two antennas that their amplifier stands together move together") {
  const auto way = behind_one_amplifier(-30).way();
  CHECK(in_short(way) == "left, right");
  CHECK(way.clean());
}

TEST_CASE("a moment without a carrier is less bad than an amplifier past its compression point") {
  // The voice wants right to come before left goes, the amplifier the other way round.
  auto scene = behind_one_amplifier(-6);
  scene.stays(test::microphone("voice", 601, "vocals"));
  const auto way = scene.way();
  CHECK(in_short(way) == "left | right");
  CHECK(way.needs_waiver());
  REQUIRE(way.breaches.findings.size() == 2);
  for (const auto& finding : way.breaches.findings) CHECK(finding.rule == Rule::diversity_dark);
}

TEST_CASE("an amplifier within its margin is no worse than a carrier lost, and takes one step") {
  auto scene = behind_one_amplifier(-12);
  scene.stays(test::microphone("voice", 601, "vocals"));
  const auto way = scene.way();
  CHECK(in_short(way) == "left, right");
  CHECK(way.needs_waiver());
  REQUIRE(way.breaches.findings.size() == 2);
  CHECK(way.breaches.findings[0].rule == Rule::diversity_dark);
  const auto& finding = way.breaches.findings[1];
  CHECK(finding.rule == Rule::amplifier_overload);
  CHECK(finding.severity == Severity::caution);
  CHECK(finding.concerns == std::vector<std::string>{"rack-amp", "left", "right"});
}

TEST_CASE("an amplifier in a lead that is overloaded only on the way is told, whatever is set") {
  // Both come in with 0 dBm: together 3 dBm into an amplifier of 10 dB that takes 11 dBm at its
  // output P1dB. Alone either is 1 dB below that, together they are 2 dB past it.
  auto scene = Scene{};
  auto late = transmitter_with("late", 650, 0, {"left"});
  late.late = true;
  auto early = transmitter_with("early", 655, 0, {"left"});
  early.early = true;
  scene.before(late).after(early).node("left", slide_at(0, 500), slide_at(0, 505));
  const auto left = std::ranges::find(scene.plan.nodes, "left",
                                      [](const plan::Node& node) { return node.name.text; });
  left->lead = {plan::RackAmplifier{"mast", Decibel::of(10), Decibel::of(3),
                                    rf::PowerLevel::dbm(11), rf::PowerLevel::dbm(30)}};
  const auto way = scene.way();
  CHECK(way.breaches.refuses());
  const auto told = std::ranges::find_if(way.breaches.findings, [](const Finding& finding) {
    return finding.concerns == std::vector<std::string>{"mast"};
  });
  REQUIRE(told != way.breaches.findings.end());
  CHECK(told->rule == Rule::amplifier_overload);
  REQUIRE(told->numbers.front().name == "margin");
  CHECK(told->numbers.front().value == doctest::Approx(-2.0).epsilon(0.01));
}

TEST_CASE("an amplifier that is past its compression point whatever the order is refused") {
  auto ears = transmitter_with("ears", 500, 5, {"left"});
  ears.early = true;
  const auto way = Scene{}.after(ears).node("left", slide_at(20, 500), slide_at(20, 600)).way();
  CHECK(way.breaches.refuses());
  CHECK_FALSE(way.needs_waiver());
  const auto& finding = way.breaches.findings.back();
  CHECK(finding.rule == Rule::amplifier_overload);
  CHECK(finding.severity == Severity::refuse);
  CHECK(finding.node.text == "left");
}

TEST_CASE("the way back has the carriers of the way there") {
  auto ears = transmitter_with("ears", 500, -40, {"left"});
  ears.early = true;
  auto scene = Scene{}.after(ears).node("left", slide_at(0, 600), slide_at(0, 500));
  SwitchTask back{scene.plan, scene.plan.segments[1], scene.plan.segments[0], scene.nodes, true};
  const auto live = live_between(scene.plan.segments[0], scene.plan.segments[1]);
  REQUIRE(live.size() == 1);
  CHECK(live.front().entered == &scene.plan.segments[1].carriers.front());
  // The transmitter is still on when the old segment's window opens towards it.
  const auto way = plan_way(back);
  REQUIRE(way.breaches.findings.size() == 1);
  CHECK(way.breaches.findings.front().rule == Rule::own_transmitter_in_window);
}

TEST_CASE("between two segments a carrier has the wider band and the receivers of both") {
  plan::Segment left;
  plan::Segment entered;
  auto narrow = test::microphone("voice", 540, "vocals");
  narrow.receivers.push_back({"monitor"});
  auto wide = test::microphone("voice", 540, "vocals");
  wide.bandwidth = rf::Frequency::kilohertz(400);
  left.carriers = {narrow};
  entered.carriers = {wide};
  const auto live = live_between(left, entered);
  REQUIRE(live.size() == 1);
  CHECK(live.front().stays());
  CHECK(live.front().band() == wide.band());
  CHECK(live.front().receivers() == std::vector<plan::ReceiverName>{{"vocals"}});
}

TEST_CASE("where nothing differs nothing moves") {
  const auto way = two_antennas().node("left", slide_at(0, 540), slide_at(0, 540)).way();
  CHECK(way.steps.empty());
  CHECK(way.clean());
  CHECK(way.at_least_steps == 0);
}

TEST_CASE("a new label moves a node at any time") {
  auto named = slide_at(0, 540);
  named.label = "QUAY L";
  const auto way = two_antennas().node("left", slide_at(0, 540), named).way();
  CHECK(in_short(way) == "left");
  CHECK(way.clean());
}

TEST_CASE("every state between is told with its verdict") {
  const auto scene = two_antennas()
                         .node("left", slide_at(0, 540), slide_at(0, 600))
                         .node("right", slide_at(0, 600), slide_at(0, 550));
  const auto way = scene.way();
  REQUIRE(way.steps.size() == 2);
  const auto about = [](const Verdict& verdict, const std::string& node, Rule rule) {
    return std::ranges::find_if(verdict.findings, [&](const Finding& finding) {
      return finding.node.text == node && finding.rule == rule;
    });
  };
  // Between the steps both antennas pass the voice; before, right does not, and after, left.
  CHECK(about(way.before, "right", Rule::carrier_outside_window) != way.before.findings.end());
  const auto& middle = way.steps[0].after;
  CHECK(about(middle, "right", Rule::carrier_outside_window) == middle.findings.end());
  CHECK(about(middle, "left", Rule::carrier_outside_window) == middle.findings.end());
  CHECK(about(way.end, "left", Rule::carrier_outside_window) != way.end.findings.end());
  CHECK(way.steps[1].after == way.end);
  // The ends are what the rules say of each node.
  const auto possible = [](const plan::NodeName& name) {
    return PossibleSettings{name.text == "left" ? slide_at(0, 600) : slide_at(0, 550)};
  };
  std::vector<Finding> expected;
  for (const auto& node : scene.plan.nodes)
    for (auto& finding : check({scene.plan, scene.plan.segments.back(), possible, false}, node,
                               possible(node.name).front())
                             .findings)
      expected.push_back(std::move(finding));
  CHECK(way.end.findings == expected);
}

TEST_CASE("who only wants to move is spared the verdicts") {
  const auto way = plan_way(two_antennas()
                                .node("left", slide_at(0, 540), slide_at(0, 600))
                                .node("right", slide_at(0, 600), slide_at(0, 550))
                                .task(),
                            WayDetail::steps_only);
  CHECK(way.steps.size() == 2);
  CHECK(way.before.findings.empty());
  CHECK(way.end.findings.empty());
}
