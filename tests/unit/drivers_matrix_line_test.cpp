// SPDX-License-Identifier: Apache-2.0
// A matrix on a line: read and set in parts, in the midst of other traffic and of faults.
#include <doctest/doctest.h>

#include <tuple>
#include <utility>

#include "drivers/line/talk.hpp"
#include "protocol/matrix_codec.hpp"
#include "tests/support/datagram_bench.hpp"

using namespace catwalk;
using namespace catwalk::drivers;
using namespace catwalk::test;
using namespace std::chrono_literals;
using protocol::RefusalReason;

namespace {

protocol::MatrixSettings routed(const EmulatedNode& heron) {
  auto settings = heron.matrix_settings();
  settings.outputs = {0b11, 0b100, 0, 0, 0, 0b1000'0000'0000};
  for (std::size_t i = 0; i < settings.inputs.size(); ++i)
    settings.inputs[i] = {-150, 12'000, "socket " + std::to_string(i + 1)};
  settings.label = "shore";
  return settings;
}

// A heron at place 1 between amplifiers.
SimulatedLineConfig line_with_heron() {
  auto config = line_of(3);
  config.nodes[1].type = "heron-sum";
  return config;
}

DatagramConfig net_of(std::size_t count) { return DatagramBench::config_for(count, 7); }

// Of this node, newest last.
template <class Bench>
std::vector<protocol::MatrixState> states_in(const Bench& bench, std::size_t index) {
  std::vector<protocol::MatrixState> states;
  for (const auto& [at, notice] : bench.log) {
    const auto* read = std::get_if<NodeRead>(&notice);
    if (read == nullptr || read->node != uid_of(index)) continue;
    const auto* state = std::get_if<protocol::MatrixState>(&read->reading);
    REQUIRE(state != nullptr);
    states.push_back(*state);
  }
  return states;
}

template <class Bench>
bool settled(Bench& bench, CommandId id) {
  return bench.run_until([&] { return bench.ends(id) == 1; }, 5s);
}

// Stages, applies, reads back; true if the matrix has it then and says so.
template <class Bench>
bool set(Bench& bench, std::size_t index, const EmulatedNode& heron,
         const protocol::MatrixSettings& wanted) {
  bench.submit(1, uid_of(index), protocol::StageMatrix{{7}, {11}, wanted});
  if (!settled(bench, 1) || bench.answer_to(1) != protocol::Answer{protocol::Done{}}) return false;
  bench.submit(2, uid_of(index), protocol::Apply{{7}, {11}});
  if (!settled(bench, 2) || bench.answer_to(2) != protocol::Answer{protocol::Done{}}) return false;
  bench.submit(3, uid_of(index), protocol::Read{});
  if (!settled(bench, 3)) return false;
  const auto answer = bench.answer_to(3);
  const auto* state = std::get_if<protocol::MatrixState>(&*answer);
  return state != nullptr && state->settings == wanted && heron.matrix_settings() == wanted;
}

}  // namespace

TEST_CASE("a matrix on a serial line is set and read like any node, and the others go on") {
  Bench bench{line_with_heron()};
  auto& heron = *bench.bus.node(uid_of(1));
  CHECK(set(bench, 1, heron, routed(heron)));
  bench.run_for(3s);
  REQUIRE_FALSE(states_in(bench, 1).empty());
  CHECK(states_in(bench, 1).back().settings == routed(heron));
  CHECK(states_in(bench, 1).back().inputs.size() == 12);
  std::size_t others = 0;
  for (const auto& [at, notice] : bench.log)
    if (const auto* read = std::get_if<NodeRead>(&notice)) others += read->node == uid_of(0);
  CHECK(others >= 5);
  CHECK(bench.count<NodeSilent>() == 0);
}

TEST_CASE("a matrix on datagrams is set and read like any node, through a net that loses some") {
  FaultRates rates;
  SUBCASE("clean") {}
  SUBCASE("lossy") {
    rates.loss = 0.05;
    rates.duplicate = 0.05;
    rates.corrupt = 0.05;
  }
  DatagramBench bench{net_of(2), rates, 41, {"tern-inline", "heron-sum"}};
  CHECK(set(bench, 1, *bench.nodes[1], routed(*bench.nodes[1])));
}

TEST_CASE("settings that are known are not read again, until their number is another") {
  DatagramBench bench{net_of(1), {}, 1, {"heron-sum"}};
  REQUIRE(bench.run_until([&] { return states_in(bench, 0).size() == 2; }, 5s));
  const auto asked = [&] {
    std::size_t parts = 0;
    for (const auto& bytes : bench.recorded_to_nodes) {
      const auto datagram = protocol::open(bytes, protocol::Direction::to_node, test_key());
      const auto packet = protocol::decode(datagram->packet);
      const auto* part =
          std::get_if<protocol::ReadPart>(&std::get<protocol::Request>(packet->message));
      parts += part != nullptr && part->of == protocol::PartsOf::settings;
    }
    return parts;
  };
  const auto first = asked();
  CHECK(first > 0);
  REQUIRE(bench.run_until([&] { return states_in(bench, 0).size() == 5; }, 5s));
  CHECK(asked() == first);
  auto turned = bench.nodes[0]->matrix_settings();
  turned.outputs[2] = 1;
  REQUIRE_FALSE(bench.nodes[0]->turn(turned));
  // Its report says that there is something to read.
  REQUIRE(bench.run_until([&] { return states_in(bench, 0).back().settings == turned; }, 200ms));
  CHECK(asked() == 2 * first);
  CHECK(states_in(bench, 0).back().reading.telemetry.locally_changed);
}

TEST_CASE("what a matrix refuses in a part is the answer to the whole") {
  Bench bench{line_with_heron()};
  auto settings = routed(*bench.bus.node(uid_of(1)));
  settings.inputs[4].supply_mv = 10'000;
  bench.submit(1, uid_of(1), protocol::StageMatrix{{7}, {11}, settings});
  REQUIRE(settled(bench, 1));
  CHECK(bench.answer_to(1) ==
        protocol::Answer{protocol::Refusal{RefusalReason::supply_impossible, 5}});
  // An amplifier knows no parts at all; what the wire cannot carry is not even said.
  bench.submit(2, uid_of(0), protocol::StageMatrix{{7}, {12}, settings});
  REQUIRE(settled(bench, 2));
  CHECK(bench.answer_to(2) ==
        protocol::Answer{protocol::Refusal{RefusalReason::unknown_message, 0}});
  settings.label = "\x1B[2J";
  bench.submit(3, uid_of(1), protocol::StageMatrix{{7}, {13}, settings});
  REQUIRE(settled(bench, 3));
  CHECK(std::get<protocol::Refusal>(*bench.answer_to(3)).reason == RefusalReason::malformed);
}

TEST_CASE("a matrix that falls silent in the midst of its parts ends the command once") {
  DatagramBench bench{net_of(1), {}, 1, {"heron-sum"}};
  REQUIRE(bench.run_until([&] { return !states_in(bench, 0).empty(); }, 5s));
  bench.submit(1, uid_of(0), protocol::StageMatrix{{7}, {11}, routed(*bench.nodes[0])});
  bench.run_for(700us);  // some parts are there by now
  bench.nodes[0]->silence(true);
  REQUIRE(bench.run_until([&] { return bench.ends(1) == 1; }, 20s));
  CHECK_FALSE(bench.answer_to(1));
  bench.nodes[0]->silence(false);
  CHECK(bench.nodes[0]->matrix_reading(bench.now()).staged.value == 0);
  CHECK(set(bench, 0, *bench.nodes[0], routed(*bench.nodes[0])) == false);  // id 1 has ended
  bench.submit(4, uid_of(0), protocol::StageMatrix{{7}, {12}, routed(*bench.nodes[0])});
  CHECK(settled(bench, 4));
  CHECK(bench.answer_to(4) == protocol::Answer{protocol::Done{}});
}

TEST_CASE("a talk with a matrix that lies ends, whatever is said") {
  for (std::uint64_t seed = 1; seed <= 2'000; ++seed) {
    Dice dice{seed};
    Talk talk{protocol::Read{}};
    std::optional<protocol::Answer> answer;
    int said = 0;
    while (!answer && said < 200) {
      ++said;
      if (std::holds_alternative<protocol::Read>(talk.request())) {
        protocol::MatrixReading reading;
        reading.settings_number = static_cast<std::uint16_t>(dice.below(2));
        answer = talk.heard(reading);
        continue;
      }
      const auto asked = std::get<protocol::ReadPart>(talk.request());
      protocol::Part part;
      part.of = dice.below(8) == 0 ? protocol::PartsOf::inputs : asked.of;
      part.settings_number = static_cast<std::uint16_t>(dice.below(2));
      part.parts = static_cast<std::uint8_t>(1 + dice.below(protocol::most_parts));
      part.part = dice.below(8) == 0 ? std::uint8_t{0} : asked.part;
      part.bytes.resize(protocol::largest_read_part);
      for (auto& byte : part.bytes) byte = static_cast<std::uint8_t>(dice.below(4));
      answer = talk.heard(part);
    }
    CAPTURE(seed);
    REQUIRE(answer);
    REQUIRE(std::holds_alternative<protocol::Refusal>(*answer));
  }
}

TEST_CASE("settings that are known are read again after ten readings, if they were nonsense") {
  protocol::MatrixReading reading;
  reading.settings_number = 4;
  const auto read = [&](KnownMatrix known, const protocol::MatrixSettings& said) {
    Talk talk{protocol::Read{}, std::move(known)};
    CHECK_FALSE(talk.heard(reading));
    const auto of = std::get<protocol::ReadPart>(talk.request()).of;
    if (of == protocol::PartsOf::settings)
      CHECK_FALSE(talk.heard(protocol::Part{of, 4, 0, 1, protocol::encode(said)}));
    const std::vector<protocol::InputMeasured> inputs{{true, false, false, 185, 0}};
    const auto answer =
        talk.heard(protocol::Part{protocol::PartsOf::inputs, 4, 0, 1, protocol::encode(inputs)});
    REQUIRE(answer);
    return std::pair{talk.known(), std::get<protocol::MatrixState>(*answer).settings};
  };
  const protocol::MatrixSettings nonsense{{0}, {{-999, 0, "?"}}, "?"};
  const protocol::MatrixSettings truth{{1}, {{0, 12'000, "one"}}, "unit"};
  auto [known, shown] = read({}, nonsense);
  for (int again = 0; again < 10; ++again) {
    std::tie(known, shown) = read(known, truth);
    CHECK(shown == nonsense);
  }
  std::tie(known, shown) = read(known, truth);
  CHECK(shown == truth);
}

TEST_CASE("a matrix whose settings change while they are read is read from the begin") {
  Talk talk{protocol::Read{}};
  protocol::MatrixReading reading;
  reading.settings_number = 4;
  CHECK_FALSE(talk.heard(reading));
  const protocol::MatrixSettings settings{{1}, {{0, 0, "one"}}, "unit"};
  const auto part = [&](protocol::PartsOf of, std::uint16_t number, const protocol::Bytes& bytes) {
    return protocol::Part{of, number, 0, 1, bytes};
  };
  CHECK_FALSE(talk.heard(part(protocol::PartsOf::settings, 5, protocol::encode(settings))));
  CHECK(std::holds_alternative<protocol::Read>(talk.request()));
  reading.settings_number = 5;
  CHECK_FALSE(talk.heard(reading));
  CHECK_FALSE(talk.heard(part(protocol::PartsOf::settings, 5, protocol::encode(settings))));
  const std::vector<protocol::InputMeasured> inputs{{true, false, false, 185, 0}};
  const auto answer = talk.heard(part(protocol::PartsOf::inputs, 5, protocol::encode(inputs)));
  REQUIRE(answer);
  CHECK(*answer == protocol::Answer{protocol::MatrixState{reading, settings, inputs}});
  CHECK(talk.known().number == 5);
}
