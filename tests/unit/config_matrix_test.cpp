// SPDX-License-Identifier: Apache-2.0
// A rack with a matrix: its datasheet, what is plugged where, and who hears through whom.
#include "config/datasheet_file.hpp"
#include "config/matrix_file.hpp"
#include "daemon/plan/routed.hpp"
#include "tests/unit/config/broken_files.hpp"

namespace catwalk::config {
namespace {

plan::RackPlan routed_plan(const Files& files) {
  auto loaded = load_text(files, "rack.json");
  REQUIRE(texts_of(loaded.problems).empty());
  return plan::routed(std::move(loaded.rack->plan));
}

std::vector<std::string> names_of(const plan::Branch& branch) {
  std::vector<std::string> names;
  for (const auto& node : branch.nodes) names.push_back(node.text);
  return names;
}

std::vector<std::string> parts_of(const plan::Chain& chain) {
  std::vector<std::string> names;
  for (const auto& part : chain) names.push_back(name_of(part));
  return names;
}

using Names = std::vector<std::string>;

const plan::MatrixPatch& of_shore(const plan::RackPlan& plan, std::size_t segment) {
  return plan.segments.at(segment).matrices.at({"shore"});
}

}  // namespace

TEST_CASE("every broken file of a matrix is refused with exactly its errors") {
  check_broken_files("broken_matrix_files.json", 60, matrix_files());
}

TEST_CASE("every broken file of routes that are set from here is refused with exactly its errors") {
  check_broken_files("broken_route_files.json", 70, matrix_line_files());
}

TEST_CASE("a matrix on a line stands in the plan with where it is, and nothing set") {
  const auto rack = rack_of(matrix_line_files());
  REQUIRE(rack.plan.matrices.size() == 3);
  const auto& shore = rack.plan.matrices[0];
  REQUIRE(shore.on_line);
  CHECK(shore.on_line->uid == NodeUid::parse("7a10-00000009"));
  CHECK(shore.on_line->line == plan::LineName{"bus"});
  CHECK(shore.on_line->on_return == plan::OnReturn::reapply);
  CHECK(shore.settings == shore.sheet->nothing_set());
  CHECK(shore.stands == "rack 1");
  REQUIRE(rack.plan.matrices[1].on_line);
  CHECK(rack.plan.matrices[1].on_line->on_return == plan::OnReturn::hold);
  CHECK_FALSE(rack.plan.matrices[2].on_line);
  // It is among the nodes of its line, as any node is.
  const auto& bus = std::get<SerialSetup>(rack.lines[0]);
  REQUIRE(bus.nodes.size() == 3);
  CHECK(bus.nodes[0].uid == shore.on_line->uid);
  CHECK(bus.nodes[0].address == 9);
}

TEST_CASE("what a segment sets on a matrix is read socket by socket") {
  const auto rack = rack_of(matrix_line_files());
  const auto& start = of_shore(rack.plan, 0);
  CHECK(start.label == "A");
  CHECK(start.routes == std::map<std::size_t, plan::Inputs>{{1, {1, 2}}, {2, {3}}});
  CHECK(start.trims ==
        std::map<std::size_t, rf::Gain>{{1, rf::Gain::decibels(-3)}, {2, rf::Gain{}}});
  CHECK(start.supplies_mv == std::map<std::size_t, std::uint16_t>{{1, 12'000}, {4, 0}});
  CHECK(start.labels == std::map<std::size_t, std::string>{{1, "mast"}, {4, ""}});
  CHECK(rack.plan.segments[0].matrices.size() == 2);
  CHECK(rack.plan.segments[0].settings.size() == 1);
}

TEST_CASE("differences of a matrix are merged socket by socket, and what goes away is gone") {
  SUBCASE("what is given replaces, all else is taken over") {
    const auto rack = rack_of(matrix_line_files());
    const auto& race = of_shore(rack.plan, 1);
    CHECK(race.label == "A");
    CHECK(race.routes == std::map<std::size_t, plan::Inputs>{{1, {1, 2}}, {2, {4}}});
    CHECK(race.trims == std::map<std::size_t, rf::Gain>{{1, rf::Gain::decibels(-3)},
                                                        {2, rf::Gain::centidecibels(-150)}});
    CHECK(race.supplies_mv == of_shore(rack.plan, 0).supplies_mv);
    CHECK(race.labels == std::map<std::size_t, std::string>{{1, ""}, {4, ""}});
    CHECK_FALSE(rack.plan.segments[1].matrices.contains({"float"}));
    CHECK(rack.plan.segments[1].settings.contains({"mast"}));
  }
  SUBCASE("of a matrix that went away only what is given is left") {
    auto files = matrix_line_files();
    edit(files, "show.json", R"("settings": ["float"])", R"("settings": ["float", "shore"])");
    const auto rack = rack_of(files);
    const auto& race = of_shore(rack.plan, 1);
    CHECK_FALSE(race.label);
    CHECK(race.routes == std::map<std::size_t, plan::Inputs>{{2, {4}}});
    CHECK(race.supplies_mv.empty());
    CHECK(of_shore(rack.plan, 0).label == "A");
  }
  SUBCASE("an output is emptied by an empty list, not by leaving it out") {
    auto files = matrix_line_files();
    edit(files, "show.json", R"({"2": [4]})", R"({"2": []})");
    const auto rack = rack_of(files);
    const auto& race = of_shore(rack.plan, 1);
    CHECK(race.routes == std::map<std::size_t, plan::Inputs>{{1, {1, 2}}, {2, {}}});
  }
}

TEST_CASE("what passes a matrix without supply is read output by output") {
  auto files = matrix_files();
  edit(files, "heron.json", R"("measures": {"current": true})",
       R"("measures": {"current": true}, "unsupplied": {"routes": {"2": 3}, "loss_db": 1.5})");
  const auto rack = rack_of(files);
  const auto& sheet = *rack.plan.matrices.front().sheet;
  REQUIRE(sheet.unsupplied);
  CHECK(sheet.unsupplied->outputs == std::vector<plan::Inputs>{{}, {3}});
  CHECK(sheet.unsupplied->loss == rf::Decibel::of(1.5));
  // And without a word of it, nothing does.
  CHECK_FALSE(rack_of(matrix_files()).plan.matrices.front().sheet->unsupplied);
}

TEST_CASE("the routes say who hears through whom, and the unit is in their chains") {
  const auto plan = routed_plan(matrix_files());
  const auto& speech = plan.receivers.front();
  REQUIRE(speech.branches.size() == 2);
  CHECK(names_of(speech.branches[0]) == Names{"mast", "crane"});
  CHECK(names_of(speech.branches[1]) == Names{"buoy"});
  CHECK(parts_of(speech.branches[0].chain) == Names{"shore, output 1", "patch panel"});
  CHECK(parts_of(speech.branches[1].chain) == Names{"shore, output 2"});
  // 3.4 dB of two inputs, 3.01 dB of which any combiner of two has.
  CHECK(speech.branches[0].combiner_excess_loss.value() == doctest::Approx(3.4 - 3.0103));
  const auto& unit = std::get<plan::RackAmplifier>(speech.branches[1].chain.front());
  CHECK(unit.gain.value() == 1.0);
  CHECK(unit.noise_figure.value() == 7.0);
  CHECK(unit.output_ip3.dbm() == 31.0);
  CHECK(plan.served_by({"crane"}) == std::vector<plan::ServedBranch>{{{"speech"}, 1}});
  CHECK(plan.served_by({"buoy"}) == std::vector<plan::ServedBranch>{{{"speech"}, 2}});
}

TEST_CASE("a trim stands behind the feed that it is for, where that is known") {
  const auto plan = routed_plan(matrix_files());
  CHECK(parts_of(*plan.find(plan::NodeName{"mast"})->feed) == Names{"RG-213, 30 m"});
  const auto& crane = *plan.find(plan::NodeName{"crane"})->feed;
  CHECK(parts_of(crane) == Names{"trim of shore, input 2"});
  CHECK(std::get<plan::FixedLoss>(crane.front()).loss.value() == 2.5);
  CHECK_FALSE(plan.find(plan::NodeName{"buoy"})->feed);
}

TEST_CASE("an input that is left open in a sum costs the others what a third antenna would") {
  auto files = matrix_files();
  edit(files, "rack.json", "\"1\": [1, 2]", "\"1\": [1, 2, 4]");
  edit(files, "rack.json", "\"2\": [3]", "\"2\": [3, 4]");
  const auto plan = routed_plan(files);
  const auto& speech = plan.receivers.front();
  CHECK(speech.branches[0].combiner_excess_loss.value() == doctest::Approx(5.3 - 3.0103));
  CHECK(parts_of(speech.branches[1].chain) ==
        Names{"shore, output 2, other inputs", "shore, output 2"});
  CHECK(std::get<plan::FixedLoss>(speech.branches[1].chain.front()).loss.value() == 3.4);
}

TEST_CASE("one antenna may be heard by several receivers, each by an output of its own") {
  auto files = matrix_files();
  edit(files, "rack.json", "[[\"kiosk\"]]", "[{\"from\": {\"matrix\": \"shore\", \"output\": 2}}]");
  edit(files, "rack.json", ",\n        {\"from\": {\"matrix\": \"shore\", \"output\": 2}}", "");
  edit(files, "rack.json", "\"2\": [3]", "\"2\": [1]");
  const auto plan = routed_plan(files);
  CHECK(plan.served_by({"mast"}) ==
        std::vector<plan::ServedBranch>{{{"speech"}, 1}, {{"band"}, 1}});
  CHECK(plan.served_by({"buoy"}).empty());
}

TEST_CASE("the datasheet of a matrix says what it can do") {
  const auto plan = routed_plan(matrix_files());
  REQUIRE(plan.matrices.size() == 1);
  const auto& shore = plan.matrices.front();
  CHECK(shore.stands == "rack 1");
  CHECK(shore.sheet->most_summed() == 3);
  REQUIRE(shore.sheet->trims);
  CHECK(shore.sheet->trims->lowest == rf::Gain::decibels(-15));
  CHECK(shore.sheet->trims->highest == rf::Gain{});
  REQUIRE(shore.sheet->supply);
  CHECK(shore.sheet->supply->millivolts == std::vector<std::uint16_t>{9'000, 12'000});
  CHECK(shore.sheet->supply->most_ma_of_all == 2'400);
  CHECK(shore.sheet->measures_current);
  CHECK_FALSE(shore.sheet->measures_level);
  CHECK(shore.sheet->isolation_of_inputs == rf::Decibel::of(50));
  CHECK(shore.sheet->isolation_of_outputs == rf::Decibel::of(35));
  CHECK(shore.sheet->applies == plan::Applies::at_once);
  CHECK(shore.settings.outputs == std::vector<plan::Inputs>{{1, 2}, {3}});
}

// Of two equal noise-like signals into a lossless combiner of two ports each comes out 3.01 dB
// weaker: conservation of power, as rf/feed.hpp; Wilkinson 1960 (from memory).
TEST_CASE("no unit can have less loss than its combiner") {
  auto files = matrix_files();
  edit(files, "heron.json", "[0, 3.4, 5.3]", "[0, 3.01, 4.77]");  // as they are written
  const auto plan = routed_plan(files);
  const auto& losses = plan.matrices.front().sheet->combining_losses;
  CHECK(losses[1].value() == doctest::Approx(3.0103).epsilon(1e-5));
  CHECK(losses[2].value() == doctest::Approx(4.7712).epsilon(1e-5));
  CHECK(plan.receivers.front().branches[0].combiner_excess_loss.value() >= 0.0);
}

}  // namespace catwalk::config
