// SPDX-License-Identifier: Apache-2.0
// The duties of PROTOCOL.md, section 4.4, and what hands do at a matrix and at what is plugged in.
#include <doctest/doctest.h>

#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "drivers/node/node_actions.hpp"
#include "drivers/node/node_show.hpp"
#include "drivers/node/node_state_file.hpp"
#include "protocol/codec.hpp"
#include "protocol/matrix_codec.hpp"

using namespace catwalk;
using namespace catwalk::drivers;
using namespace std::chrono_literals;
using protocol::RefusalReason;

namespace {

const protocol::NodeUid heron_uid{0x7a10, 0x40};
const protocol::NodeUid tern_uid{0x7a10, 0x41};

EmulatedNode make(protocol::NodeUid uid, const char* type, std::uint8_t address, Moment now) {
  NodeConfig config;
  config.uid = uid;
  config.type = *built_in_type(type);
  return {config, factory_memory(config, protocol::Address{address}, "shore"), now};
}

struct Rack {
  Moment now{std::chrono::hours{1}};
  std::uint8_t sequence = 0;
  EmulatedNode heron = make(heron_uid, "heron-sum", 6, now);
  EmulatedNode tern = make(tern_uid, "tern-inline", 7, now);
  std::vector<EmulatedNode*> nodes{&heron, &tern};

  protocol::Reply say(EmulatedNode& node, const protocol::Request& request, std::uint8_t number) {
    const auto answer = node.answer(protocol::encode({{node.address(), number}, request}), {}, now);
    REQUIRE(answer);
    const auto packet = protocol::decode(*answer);
    REQUIRE(packet);
    return std::get<protocol::Reply>(packet->message);
  }
  protocol::Reply ask(const protocol::Request& request) { return say(heron, request, ++sequence); }
  bool done(const protocol::Request& request) {
    return std::holds_alternative<protocol::Done>(ask(request));
  }
  protocol::Refusal refused(const protocol::Request& request) {
    const auto reply = ask(request);
    REQUIRE(std::holds_alternative<protocol::Refusal>(reply));
    return std::get<protocol::Refusal>(reply);
  }
  protocol::MatrixReading read() {
    return std::get<protocol::MatrixReading>(ask(protocol::Read{}));
  }
  protocol::Bytes whole(protocol::PartsOf of) {
    protocol::Parts parts;
    for (std::uint8_t part = 0; !parts.complete(); ++part) {
      const auto reply = std::get<protocol::Part>(ask(protocol::ReadPart{of, part}));
      REQUIRE(parts.add(reply.part, reply.parts, protocol::largest_read_part, reply.bytes));
    }
    return parts.bytes();
  }
  protocol::MatrixSettings settings() {
    return decode_matrix_settings(whole(protocol::PartsOf::settings), protocol::Labels::plain)
        .value();
  }
  std::vector<protocol::InputMeasured> inputs() {
    return protocol::decode_inputs(whole(protocol::PartsOf::inputs)).value();
  }

  std::vector<protocol::StagePart> staging(std::uint32_t ticket,
                                           const protocol::MatrixSettings& wanted,
                                           std::uint32_t epoch = 1) {
    const auto bytes = protocol::encode(wanted);
    const auto count = protocol::parts_of(bytes.size(), protocol::largest_staged_part);
    std::vector<protocol::StagePart> parts;
    for (std::size_t part = 0; part < count; ++part)
      parts.push_back({{epoch},
                       {ticket},
                       static_cast<std::uint8_t>(part),
                       static_cast<std::uint8_t>(count),
                       protocol::part_of(bytes, part, protocol::largest_staged_part)});
    return parts;
  }
  // The answer to the last part; the others are done.
  protocol::Reply stage(std::uint32_t ticket, const protocol::MatrixSettings& wanted,
                        std::uint32_t epoch = 1) {
    const auto parts = staging(ticket, wanted, epoch);
    for (std::size_t i = 0; i + 1 < parts.size(); ++i) REQUIRE(done(parts[i]));
    return ask(parts.back());
  }
  bool do_it(const char* words) {
    const auto action = parse_action(words);
    REQUIRE(action);
    return !perform(*action, nodes, now);
  }
  std::string error(const char* words) {
    const auto action = parse_action(words);
    REQUIRE(action);
    return perform(*action, nodes, now).value_or("");
  }
};

protocol::MatrixSettings routed(Rack& rack) {
  auto settings = rack.settings();
  settings.outputs[0] = 0b11;
  settings.outputs[5] = 0b1000'0000'0000;
  settings.inputs[0] = {-300, 12'000, "Quay north"};
  settings.inputs[11] = {-50, 0, "Bühne"};
  settings.label = "shore rack";
  return settings;
}

protocol::Apply apply(std::uint32_t ticket, std::uint32_t epoch = 1) { return {{epoch}, {ticket}}; }

}  // namespace

TEST_CASE("a matrix tells its kind and size, an amplifier that it is one") {
  Rack rack;
  CHECK(std::get<protocol::Kind>(rack.ask(protocol::AskKind{})) ==
        protocol::Kind{1, protocol::NodeKind::matrix, 12, 6});
  CHECK(std::get<protocol::Kind>(rack.say(rack.tern, protocol::AskKind{}, 9)) ==
        protocol::Kind{1, protocol::NodeKind::amplifier, 0, 0});
}

TEST_CASE("settings in parts come into force as one, with their ticket and not before") {
  Rack rack;
  const auto before = rack.settings();
  const auto wanted = routed(rack);
  const auto number = rack.read().settings_number;
  REQUIRE(std::holds_alternative<protocol::Done>(rack.stage(11, wanted)));
  CHECK(rack.read().staged.value == 11);
  CHECK(rack.settings() == before);
  CHECK(rack.read().settings_number == number);
  CHECK(rack.refused(apply(12)) == protocol::Refusal{RefusalReason::ticket_unknown, 12});
  CHECK(rack.done(apply(11)));
  CHECK(rack.settings() == wanted);
  CHECK(rack.read().settings_number != number);
  CHECK(rack.read().applied.value == 11);
  CHECK(rack.read().staged.value == 0);
  CHECK(rack.done(apply(11)));  // a late repeat acts no second time
}

TEST_CASE("half of the settings is nothing that could be applied") {
  Rack rack;
  const auto parts = rack.staging(11, routed(rack));
  REQUIRE(parts.size() > 2);
  for (std::size_t i = 0; i + 1 < parts.size(); ++i) {
    CHECK(rack.done(parts[i]));
    CHECK(rack.read().staged.value == 0);
    CHECK(rack.refused(apply(11)) == protocol::Refusal{RefusalReason::ticket_unknown, 11});
  }
  // One that comes twice, and one that is left out.
  const auto others = rack.staging(12, routed(rack));
  CHECK(rack.done(others[0]));
  CHECK(rack.done(others[0]));
  CHECK(rack.refused(others[2]) == protocol::Refusal{RefusalReason::part_unknown, 1});
  CHECK(rack.done(others[1]));
}

TEST_CASE("the first part of others replaces what was staged, a late part of the same does not") {
  Rack rack;
  auto wanted = routed(rack);
  REQUIRE(std::holds_alternative<protocol::Done>(rack.stage(11, wanted)));
  const auto late = rack.staging(11, wanted);
  CHECK(rack.done(late[1]));
  CHECK(rack.read().staged.value == 11);
  CHECK(rack.done(rack.staging(12, wanted).front()));
  CHECK(rack.read().staged.value == 0);
  CHECK(rack.refused(apply(11)) == protocol::Refusal{RefusalReason::ticket_unknown, 11});
}

TEST_CASE("settings that a matrix cannot do are refused whole, with what is wrong where") {
  Rack rack;
  const auto good = routed(rack);
  struct Case {
    const char* what;
    std::function<void(protocol::MatrixSettings&)> spoil;
    protocol::Refusal refusal;
  };
  const Case cases[] = {
      {"five on one output",
       [](auto& s) { s.outputs[2] = 0b1'1111; },
       {RefusalReason::route_impossible, 3}},
      {"trim above 0 dB",
       [](auto& s) { s.inputs[3].trim_cdb = 50; },
       {RefusalReason::trim_out_of_range, 4}},
      {"trim between steps",
       [](auto& s) { s.inputs[3].trim_cdb = -120; },
       {RefusalReason::trim_off_step, 4}},
      {"10 V",
       [](auto& s) { s.inputs[11].supply_mv = 10'000; },
       {RefusalReason::supply_impossible, 12}},
      {"eleven inputs",
       [](auto& s) {
         s.inputs.pop_back();
         s.outputs[5] = 0;
       },
       {RefusalReason::malformed, 0}},
  };
  for (const auto& c : cases) {
    CAPTURE(c.what);
    auto settings = good;
    c.spoil(settings);
    const auto reply = rack.stage(20, settings);
    REQUIRE(std::holds_alternative<protocol::Refusal>(reply));
    CHECK(std::get<protocol::Refusal>(reply) == c.refusal);
    CHECK(rack.read().staged.value == 0);
    CHECK(rack.refused(apply(20)).reason == RefusalReason::ticket_unknown);
  }
  CHECK(std::holds_alternative<protocol::Done>(rack.stage(20, good)));
}

TEST_CASE("what is for the other kind of node is refused as unknown") {
  Rack rack;
  CHECK(rack.refused(protocol::Stage{{1}, {1}, {}}).reason == RefusalReason::unknown_message);
  const auto part = rack.staging(1, routed(rack)).front();
  for (const protocol::Request& request :
       {protocol::Request{part},
        protocol::Request{protocol::ReadPart{protocol::PartsOf::settings, 0}}}) {
    const auto reply = rack.say(rack.tern, request, ++rack.sequence);
    REQUIRE(std::holds_alternative<protocol::Refusal>(reply));
    CHECK(std::get<protocol::Refusal>(reply).reason == RefusalReason::unknown_message);
  }
  CHECK(rack.refused(protocol::ReadPart{protocol::PartsOf::inputs, 9}) ==
        protocol::Refusal{RefusalReason::part_unknown, 2});
}

TEST_CASE("a new controller finds nothing of what the old one had begun to stage") {
  Rack rack;
  const auto old = rack.staging(11, routed(rack), 1);
  CHECK(rack.done(old[0]));
  CHECK(rack.done(rack.staging(11, rack.settings(), 2).front()));
  CHECK(rack.refused(old[1]) == protocol::Refusal{RefusalReason::epoch_too_low, 2});
}

TEST_CASE("a start brings back what was stored, and another number of the settings") {
  Rack rack;
  const auto wanted = routed(rack);
  REQUIRE(std::holds_alternative<protocol::Done>(rack.stage(11, wanted)));
  CHECK(rack.done(apply(11)));
  CHECK(std::holds_alternative<protocol::Wait>(rack.ask(protocol::Store{{1}})));
  auto other = wanted;
  other.outputs[1] = 1;
  REQUIRE(std::holds_alternative<protocol::Done>(rack.stage(12, other)));
  CHECK(rack.done(apply(12)));
  const auto number = rack.read().settings_number;
  rack.heron.restart(rack.now);
  CHECK(rack.settings() == wanted);
  CHECK(rack.read().settings_number != number);
}

TEST_CASE("hands at a matrix route, trim and feed within what it can do") {
  Rack rack;
  CHECK(rack.do_it("route 7a10-00000040 2 1+3"));
  CHECK(rack.do_it("trim 7a10-00000040 3 -2.5dB"));
  CHECK(rack.do_it("supply 7a10-00000040 3 12V"));
  const auto settings = rack.settings();
  CHECK(settings.outputs[1] == 0b101);
  CHECK(settings.inputs[2] == protocol::MatrixInput{-250, 12'000, ""});
  CHECK(rack.read().telemetry.locally_changed);
  CHECK(rack.do_it("route 7a10-00000040 2 none"));
  CHECK(rack.settings().outputs[1] == 0);

  CHECK(rack.error("route 7a10-00000040 7 1") == "node 7a10-00000040: output 7: allowed 1 to 6");
  CHECK(rack.error("route 7a10-00000040 1 1+2+3+4+5") ==
        "node 7a10-00000040: an output cannot take these inputs");
  CHECK(rack.error("supply 7a10-00000040 1 13") ==
        "node 7a10-00000040: an input cannot give this voltage");
  CHECK(rack.error("trim 7a10-00000041 1 0") == "node 7a10-00000041: it is no matrix");
  CHECK(rack.error("knob 7a10-00000040 gain 3") ==
        "node 7a10-00000040: it is a matrix and has no such knob");
  CHECK(parse_action("route 7a10-00000040 1 0+1").error() ==
        "inputs \"0+1\": allowed is none, or numbers from 1 to 32 such as 1+3");
  CHECK(parse_action("level 7a10-00000040 33 -40").error() == "input \"33\": allowed is 1 to 32");
}

TEST_CASE("what is plugged into an input lives on its supply") {
  Rack rack;
  CHECK(rack.do_it("plug 7a10-00000040 2 7a10-00000041"));
  CHECK_FALSE(rack.tern.reading(rack.now).telemetry.powered);  // the input gives nothing yet
  CHECK(rack.do_it("supply 7a10-00000040 2 9"));
  const auto fed = rack.tern.reading(rack.now).telemetry;
  CHECK(fed.powered);
  CHECK(fed.supply_mv < 9'000);
  CHECK(fed.supply_mv > 8'000);
  CHECK(rack.inputs()[1].supply_ma == fed.supply_ma);
  CHECK(fed.supply_ma > 100);
  CHECK(rack.inputs()[0].supply_ma == 0);

  SUBCASE("a short takes it, and shows as the limit") {
    CHECK(rack.do_it("short 7a10-00000040 2 on"));
    CHECK_FALSE(rack.tern.reading(rack.now).telemetry.powered);
    CHECK(rack.inputs()[1] == protocol::InputMeasured{true, true, true, 300, -9'000});
    CHECK(rack.do_it("short 7a10-00000040 2 off"));
    CHECK(rack.tern.reading(rack.now).telemetry.powered);
  }
  SUBCASE("the matrix without its own supply feeds nobody") {
    CHECK(rack.do_it("power 7a10-00000040 off"));
    CHECK_FALSE(rack.tern.reading(rack.now).telemetry.powered);
    CHECK(rack.do_it("power 7a10-00000040 on"));
    // It has started with what it had stored: nothing is fed.
    CHECK_FALSE(rack.tern.reading(rack.now).telemetry.powered);
  }
  SUBCASE("pulled out it draws nothing, has no supply, and the input finds an open cable") {
    CHECK(rack.do_it("plug 7a10-00000040 2 none"));
    CHECK(rack.inputs()[1].supply_ma == 0);
    CHECK_FALSE(rack.tern.reading(rack.now).telemetry.powered);
    const auto boots = rack.tern.boots();
    CHECK(rack.do_it("plug 7a10-00000040 2 7a10-00000041"));
    CHECK(rack.tern.reading(rack.now).telemetry.powered);
    CHECK(rack.tern.boots() == boots + 1);
    CHECK(rack.inputs()[1].supply_ma > 100);
  }
  SUBCASE("pulled out and put into another input it goes on there") {
    CHECK(rack.do_it("supply 7a10-00000040 3 12"));
    CHECK(rack.do_it("plug 7a10-00000040 2 none"));
    CHECK(rack.do_it("plug 7a10-00000040 3 7a10-00000041"));
    CHECK(rack.tern.reading(rack.now).telemetry.powered);
    CHECK(rack.inputs()[2].supply_ma > 100);
  }
  SUBCASE("a controller switches it off and on") {
    auto settings = rack.settings();
    settings.inputs[1].supply_mv = 0;
    REQUIRE(std::holds_alternative<protocol::Done>(rack.stage(31, settings)));
    CHECK(rack.done(apply(31)));
    settle_supplies(rack.nodes, rack.now);
    CHECK_FALSE(rack.tern.reading(rack.now).telemetry.powered);
    const auto boots = rack.tern.boots();
    settings.inputs[1].supply_mv = 12'000;
    REQUIRE(std::holds_alternative<protocol::Done>(rack.stage(32, settings)));
    CHECK(rack.done(apply(32)));
    settle_supplies(rack.nodes, rack.now);
    CHECK(rack.tern.reading(rack.now).telemetry.powered);
    CHECK(rack.tern.boots() == boots + 1);
  }
}

TEST_CASE("what is plugged in and is emulated elsewhere draws a current as long as it is fed") {
  Rack rack;
  CHECK(rack.do_it("plug 7a10-00000040 3 7a10-00000999"));
  CHECK(rack.inputs()[2].supply_ma == 0);
  CHECK(rack.do_it("supply 7a10-00000040 3 12"));
  CHECK(rack.inputs()[2].supply_ma > 0);
  CHECK_FALSE(rack.inputs()[2].limited);
  CHECK(rack.do_it("short 7a10-00000040 3 on"));
  CHECK(rack.inputs()[2].limited);
  CHECK(rack.do_it("short 7a10-00000040 3 off"));
  CHECK(rack.do_it("plug 7a10-00000040 3 none"));
  CHECK(rack.inputs()[2].supply_ma == 0);
}

TEST_CASE("what it is at is shown, and kept in the file of its state") {
  Rack rack;
  CHECK(rack.do_it("route 7a10-00000040 1 2+12"));
  CHECK(rack.do_it("supply 7a10-00000040 2 12"));
  const auto text = shown(rack.heron, rack.now);
  CHECK(text.find(" output-1=2+12 output-2=none ") != std::string::npos);
  CHECK(text.find(" input-2=0.00dB/12.000V/0mA ") != std::string::npos);

  auto memory = rack.heron.memory();
  memory.stored = routed(rack);
  NodeMemories memories{{heron_uid, memory}, {tern_uid, rack.tern.memory()}};
  const auto file = std::filesystem::temp_directory_path() /
                    ("catwalk-matrix-" + std::to_string(getpid()) + ".nodes");
  REQUIRE_FALSE(save_memories(file.string(), memories));
  CHECK(load_memories(file.string()).value() == memories);
  std::ofstream{file, std::ios::app} << "7a10-00000042 boots=1 epoch=1 address=3 matrix=0102FF\n";
  CHECK(load_memories(file.string()).error().find("line 4: no node's state") != std::string::npos);
  std::filesystem::remove(file);
}
