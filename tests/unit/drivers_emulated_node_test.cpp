// SPDX-License-Identifier: Apache-2.0
// The duties of PROTOCOL.md, section 6, on the node that is the example for others.
#include <doctest/doctest.h>

#include "drivers/node/emulated_node.hpp"
#include "drivers/node/node_actions.hpp"
#include "drivers/node/node_show.hpp"
#include "drivers/node/node_state_file.hpp"
#include "protocol/codec.hpp"

#include <unistd.h>

#include <cstdio>
#include <filesystem>
#include <fstream>

using namespace catwalk;
using namespace catwalk::drivers;
using namespace std::chrono_literals;
using protocol::RefusalReason;

namespace {

const protocol::NodeUid uid{0x7a10, 0x2f};

struct Wired {
  Moment now{std::chrono::hours{1}};
  std::uint8_t sequence = 0;
  EmulatedNode node = make("tern-inline", now);

  static EmulatedNode make(const char* type, Moment at) {
    NodeConfig config;
    config.uid = uid;
    config.type = *built_in_type(type);
    return {config, factory_memory(config, protocol::Address{5}, "quay"), at};
  }

  std::optional<protocol::Reply> send(const protocol::Request& request, std::uint8_t number) {
    const auto bytes = protocol::encode({{protocol::Address{5}, number}, request});
    const auto answer = node.answer(bytes, {}, now);
    if (!answer) return std::nullopt;
    const auto packet = protocol::decode(*answer);
    REQUIRE(packet);
    CHECK(packet->header.sequence == number);
    return std::get<protocol::Reply>(packet->message);
  }
  protocol::Reply ask(const protocol::Request& request) {
    auto reply = send(request, ++sequence);
    REQUIRE(reply);
    // What takes its time is asked for again, the same way.
    while (const auto* wait = std::get_if<protocol::Wait>(&*reply)) {
      now += 10ms * wait->tens_of_ms;
      reply = send(request, sequence);
      REQUIRE(reply);
    }
    return *reply;
  }
  bool done(const protocol::Request& request) {
    return std::holds_alternative<protocol::Done>(ask(request));
  }
  protocol::Refusal refused(const protocol::Request& request) {
    const auto reply = ask(request);
    REQUIRE(std::holds_alternative<protocol::Refusal>(reply));
    return std::get<protocol::Refusal>(reply);
  }
  protocol::Reading read() { return std::get<protocol::Reading>(ask(protocol::Read{})); }
  protocol::Stage stage(std::uint32_t ticket, std::int16_t gain, std::uint32_t epoch = 1) const {
    protocol::Settings settings = node.settings();
    settings.gain_cdb = gain;
    return {{epoch}, {ticket}, settings};
  }
};

protocol::Apply apply(std::uint32_t ticket, std::uint32_t epoch = 1) { return {{epoch}, {ticket}}; }

}  // namespace

TEST_CASE("staged settings come into force with their ticket, and not before") {
  Wired w;
  CHECK(w.done(w.stage(11, 600)));
  CHECK(w.read().staged.value == 11);
  CHECK(w.read().settings.gain_cdb == 0);
  CHECK(w.refused(apply(12)) == protocol::Refusal{RefusalReason::ticket_unknown, 12});
  CHECK(w.read().settings.gain_cdb == 0);
  CHECK(w.done(apply(11)));
  CHECK(w.read().settings.gain_cdb == 600);
  CHECK(w.read().staged.value == 0);
  CHECK(w.read().applied.value == 11);
}

TEST_CASE("the ticket applied last answers Done again, and acts no second time") {
  Wired w;
  CHECK(w.done(w.stage(11, 600)));
  CHECK(w.done(apply(11)));
  const auto late = protocol::Stage{{1}, {11}, w.node.settings()};
  auto turned = w.node.settings();
  turned.gain_cdb = 900;
  REQUIRE_FALSE(w.node.turn(turned));
  CHECK(w.done(apply(11)));
  CHECK(w.done(late));
  CHECK(w.done(apply(11)));
  CHECK(w.read().settings.gain_cdb == 900);
  CHECK(w.read().staged.value == 0);
  CHECK(w.refused(w.stage(11, 300)) == protocol::Refusal{RefusalReason::ticket_used, 11});
}

TEST_CASE("settings that the node cannot do are refused with the exact reason, and staging stays") {
  Wired w;
  CHECK(w.done(w.stage(1, 600)));
  struct Case {
    std::uint32_t centre;
    std::int16_t gain;
    std::uint8_t filter;
    RefusalReason reason;
  };
  const Case cases[] = {
      {566'000'000, -1'300, 0, RefusalReason::gain_out_of_range},
      {566'000'000, 2'800, 0, RefusalReason::gain_out_of_range},
      {566'000'000, 650, 0, RefusalReason::gain_off_step},
      {0, 600, 3, RefusalReason::filter_unknown},
      {429'975'000, 600, 0, RefusalReason::centre_out_of_range},
      {740'025'000, 600, 0, RefusalReason::centre_out_of_range},
      {0, 600, 0, RefusalReason::centre_out_of_range},
      {566'000'000, 600, 1, RefusalReason::centre_out_of_range},
      {566'010'000, 600, 0, RefusalReason::centre_off_step},
      {1, 2'800, 9, RefusalReason::gain_out_of_range},  // the first in order
  };
  for (const Case& c : cases) {
    CAPTURE(c.gain);
    CAPTURE(c.filter);
    CAPTURE(c.centre);
    const auto refusal =
        w.refused(protocol::Stage{{1}, {2}, {c.gain, c.filter, c.centre, true, ""}});
    CHECK(protocol::sentence_of(refusal.reason) == protocol::sentence_of(c.reason));
  }
  CHECK(w.read().staged.value == 1);
  for (const auto& good : {protocol::Settings{-1'200, 0, 430'000'000, true, ""},
                           protocol::Settings{2'700, 0, 740'000'000, false, ""},
                           protocol::Settings{0, 2, 0, true, "0123456789abcdef"}}) {
    CHECK(w.done(protocol::Stage{{1}, {3}, good}));
  }
}

TEST_CASE("a higher epoch takes the node over, a lower one is refused, also after a restart") {
  Wired w;
  CHECK(w.done(w.stage(1, 600, 5)));
  CHECK(w.refused(w.stage(2, 600, 4)) == protocol::Refusal{RefusalReason::epoch_too_low, 5});
  CHECK(w.refused(protocol::Store{{4}}) == protocol::Refusal{RefusalReason::epoch_too_low, 5});
  CHECK(w.refused(apply(1, 6)) == protocol::Refusal{RefusalReason::ticket_unknown, 1});
  CHECK(w.read().epoch.value == 6);
  CHECK(w.read().staged.value == 0);
  CHECK(w.refused(apply(1, 5)) == protocol::Refusal{RefusalReason::epoch_too_low, 6});
  w.node.restart(w.now);
  CHECK(w.refused(w.stage(2, 600, 5)) == protocol::Refusal{RefusalReason::epoch_too_low, 6});
}

TEST_CASE("the same packet again gets the same answer, until 5 seconds after it was asked last") {
  Wired w;
  const auto request = w.stage(1, 600);
  REQUIRE(w.send(request, 9));
  CHECK(w.done(protocol::Discard{{1}, {1}}));  // another request displaces the kept answer
  REQUIRE(w.send(protocol::Locate{30}, 77));
  REQUIRE(w.send(protocol::Locate{0}, 78));
  REQUIRE(w.send(protocol::Locate{0}, 78));
  CHECK_FALSE(w.read().telemetry.locating);

  REQUIRE(w.send(protocol::Locate{1}, 80));
  w.now += 3s;
  CHECK_FALSE(w.read().telemetry.locating);  // a read displaces nothing
  REQUIRE(w.send(protocol::Locate{1}, 80));
  CHECK_FALSE(w.read().telemetry.locating);  // kept: nothing was done
  w.now += 4s;
  REQUIRE(w.send(protocol::Locate{1}, 80));
  CHECK_FALSE(w.read().telemetry.locating);  // asked 4 s ago: still kept
  w.now += 5'001ms;
  REQUIRE(w.send(protocol::Locate{1}, 80));
  CHECK(w.read().telemetry.locating);  // forgotten: done anew
}

TEST_CASE("storing takes its time and says Wait, and is done once") {
  Wired w;
  CHECK(w.done(w.stage(1, 600)));
  CHECK(w.done(apply(1)));
  const auto first = w.send(protocol::Store{{1}}, 50);
  REQUIRE(std::holds_alternative<protocol::Wait>(*first));
  CHECK(std::get<protocol::Wait>(*first).tens_of_ms == 2);
  w.now += 20ms;
  CHECK(std::holds_alternative<protocol::Done>(*w.send(protocol::Store{{1}}, 50)));
  CHECK(std::get<protocol::Settings>(w.node.memory().stored).gain_cdb == 600);
}

TEST_CASE("a restart brings back what was stored, and nothing else") {
  Wired w;
  CHECK(w.done(w.stage(1, 600)));
  CHECK(w.done(apply(1)));
  CHECK(w.done(protocol::Store{{1}}));
  CHECK(w.done(w.stage(2, 900)));
  CHECK(w.done(apply(2)));
  CHECK(w.done(w.stage(3, 1'200)));
  w.now += 100s;
  w.node.restart(w.now);
  const auto reading = w.read();
  CHECK(reading.settings.gain_cdb == 600);
  CHECK(reading.settings.label == "quay");
  CHECK(reading.staged.value == 0);
  CHECK(reading.applied.value == 0);
  CHECK(reading.telemetry.boots == 2);
  CHECK(reading.telemetry.uptime_s == 0);
}

TEST_CASE("without its supply the node is passive, keeps its settings, and says so") {
  Wired w;
  CHECK(w.done(w.stage(1, 600)));
  CHECK(w.done(apply(1)));
  w.node.cut_power();
  auto reading = w.read();
  CHECK_FALSE(reading.telemetry.powered);
  CHECK(reading.telemetry.supply_mv == 0);
  CHECK(reading.settings.gain_cdb == 600);
  w.node.restore_power(w.now);
  reading = w.read();
  CHECK(reading.telemetry.powered);
  CHECK(reading.telemetry.supply_mv > 10'000);
  CHECK(reading.settings.gain_cdb == 0);
}

TEST_CASE("a hand at the node acts at once and is told of, until the next apply") {
  Wired w;
  CHECK(w.done(w.stage(1, 600)));
  auto turned = w.node.settings();
  turned.gain_cdb = 300;
  const auto news = w.node.news();
  REQUIRE_FALSE(w.node.turn(turned));
  CHECK(w.node.news() > news);
  CHECK(w.read().telemetry.locally_changed);
  CHECK(w.read().staged.value == 1);
  CHECK(w.done(apply(1)));
  CHECK_FALSE(w.read().telemetry.locally_changed);
  turned.gain_cdb = 5'000;
  CHECK(w.node.turn(turned) == protocol::Refusal{RefusalReason::gain_out_of_range});
}

TEST_CASE("what cannot be read is refused with its place, and what is no request is passed by") {
  Wired w;
  const auto answer_to = [&](const protocol::Bytes& bytes) {
    return w.node.answer(bytes, {}, w.now);
  };
  const auto refusal_to = [&](const protocol::Bytes& bytes) {
    const auto answer = answer_to(bytes);
    REQUIRE(answer);
    return std::get<protocol::Refusal>(
        std::get<protocol::Reply>(protocol::decode(*answer)->message));
  };
  CHECK(refusal_to({1, 5, 1, 0x30}) == protocol::Refusal{RefusalReason::unknown_message, 3});
  CHECK(refusal_to({1, 5, 1, 2, 0}) == protocol::Refusal{RefusalReason::malformed, 4});
  CHECK(refusal_to({1, 5, 1, 10}) == protocol::Refusal{RefusalReason::unknown_message, 0});
  CHECK_FALSE(answer_to({1, 5, 1, 0x43}));  // another node's answer
  CHECK_FALSE(answer_to({2, 5, 1, 2}));
  CHECK_FALSE(answer_to({1, 5}));
}

TEST_CASE("a node shows gain and centre in the units of its knob, which takes them as shown") {
  NodeConfig config;
  config.uid = uid;
  config.type = *built_in_type("tern-inline");
  std::get<AmplifierType>(config.type.can).gain_step = 1;
  const Moment now{std::chrono::hours{1}};
  EmulatedNode node{config, factory_memory(config, protocol::Address{5}, "quay"), now};
  const std::vector<EmulatedNode*> nodes{&node};
  const auto turn = [&](const std::string& to) {
    const auto action = parse_action("knob all " + to);
    REQUIRE(action);
    REQUIRE_FALSE(perform(*action, nodes, now));
  };
  for (const char* gain : {"6.00dB", "0.05dB", "0.00dB", "-0.50dB", "-11.99dB"}) {
    CAPTURE(gain);
    turn("gain " + std::string{gain});
    CHECK(shown(node, now).starts_with("7a10-0000002f gain=" + std::string{gain} + " filter=0 "));
  }
  turn("centre 580.025000MHz");
  CHECK(shown(node, now).find(" centre=580.025000MHz power=on ") != std::string::npos);
  CHECK(*shown(nodes, "all", now) == shown(node, now) + "\n");
  CHECK(*shown(nodes, "7a10-0000002f", now) == shown(node, now) + "\n");
  CHECK(shown(nodes, "7a10-00000001", now).error() == "uid \"7a10-00000001\": no such node here");
}

TEST_CASE("words for what is done to a node are understood, or the word at fault is named") {
  Wired w;
  const std::vector<EmulatedNode*> nodes{&w.node};
  const auto obey = [&](const std::string& line) {
    const auto action = parse_action(line);
    REQUIRE(action);
    return perform(*action, nodes, w.now);
  };
  CHECK_FALSE(obey("knob 7a10-0000002f gain -6"));
  CHECK(w.node.settings().gain_cdb == -600);
  CHECK_FALSE(obey("knob all filter 1"));
  CHECK(w.node.settings().filter == 1);
  CHECK(w.node.settings().centre_hz == 0);
  CHECK_FALSE(obey("knob all filter 0"));
  CHECK_FALSE(obey("knob all centre 566.125"));
  CHECK(w.node.settings().centre_hz == 566'125'000);
  CHECK_FALSE(obey("detector all -40.5"));
  CHECK(std::abs(w.read().telemetry.detector_cdbm + 4'050) <= 20);
  CHECK_FALSE(obey("knob all gain 3dB"));
  CHECK(w.node.settings().gain_cdb == 300);
  CHECK(obey("knob all gain 99") == "node 7a10-0000002f: the gain is out of the node's range");
  CHECK(obey("reboot 7a10-00000001") == "uid \"7a10-00000001\": no such node here");

  const auto error = [](const std::string& line) {
    const auto action = parse_action(line);
    REQUIRE_FALSE(action);
    return action.error();
  };
  CHECK(error("knob all gain loud") ==
        "gain \"loud\": allowed is -327.68 to 327.67 dB, two decimals at most");
  CHECK(error("knob all gain dB").starts_with("gain \"dB\""));
  CHECK(error("knob all gain 6MHz").starts_with("gain \"6MHz\""));
  CHECK(error("knob all gain 0.001").starts_with("gain \"0.001\""));
  CHECK(error("knob all tone 3") == "knob \"tone\": allowed is gain, filter, centre or power");
  CHECK(error("power all maybe") == "power \"maybe\": allowed is on or off");
  CHECK(error("power all") == "power takes 2 words, not 1: power UID on|off");
  CHECK(error("power 12 on") == "uid \"12\": allowed is \"all\" or a uid such as 7a10-0000002f");
  CHECK(error("loss 2") == "loss \"2\": allowed is 0 to 1");
  CHECK(error("delay 9ms..2ms") == "delay \"9ms..2ms\": allowed is MIN..MAX, such as 2ms..20ms");
  CHECK(error("refuse all politely").starts_with("reason \"politely\": allowed is none, gain_out"));
  CHECK(error("explode").starts_with("command \"explode\": allowed is knob, power"));
  CHECK(error("").starts_with("command \"\""));
}

TEST_CASE("what nodes remember is written and read back, and a broken file names its line") {
  std::string path =
      (std::filesystem::temp_directory_path() / "catwalk-node-state-XXXXXX").string();
  const int fd = mkstemp(path.data());
  REQUIRE(fd >= 0);
  close(fd);
  NodeMemory memory;
  memory.boots = 3;
  memory.epoch = {7};
  memory.address = {5};
  memory.stored = protocol::Settings{-600, 0, 566'000'000, false, "Bühne 1"};
  const NodeMemories memories{{uid, memory}, {protocol::NodeUid{1, 2}, NodeMemory{}}};
  CHECK_FALSE(save_memories(path, memories));
  const auto back = load_memories(path);
  REQUIRE(back);
  CHECK(*back == memories);

  std::ofstream{path, std::ios::app} << "7a10-00000030 boots=soon\n";
  const auto broken = load_memories(path);
  REQUIRE_FALSE(broken);
  CHECK(broken.error() == path + ": line 4: no node's state: \"7a10-00000030 boots=soon\"");
  std::remove(path.c_str());
  REQUIRE(load_memories(path));
  CHECK(load_memories(path)->empty());
}

TEST_CASE(
    "a state file is taken for what it is: no node at no address, no more than a line, no pipe") {
  std::string path = "/tmp/catwalk_node_state_XXXXXX";
  REQUIRE(mkdtemp(path.data()) != nullptr);
  const auto file = path + "/nodes";
  const auto said = [&](const std::string& line) {
    std::ofstream{file} << "catwalk-node state 1\n" << line << '\n';
    const auto loaded = load_memories(file);
    return loaded ? std::string{} : loaded.error();
  };
  const std::string rest = " gain=600 filter=0 centre=566000000 power=1 label=71";
  CHECK(said("7a10-0000002f boots=3 epoch=7 address=247" + rest).empty());
  for (const auto& line :
       {"7a10-0000002f boots=3 epoch=7 address=0" + rest,
        "7a10-0000002f boots=3 epoch=7 address=248" + rest,
        "7a10-0000002f boots=3 epoch=4294967296 address=1" + rest,
        "7a10-0000002f boots=3 epoch=7 address=1" + rest + " more=1",
        std::string{"7a10-0000002f boots=3 epoch=7 address=1 gain=40000 filter=0 centre=1 power=1 "
                    "label=71"}}) {
    CAPTURE(line);
    CHECK(said(line).starts_with(file + ": line 2: no node's state: "));
  }
  CHECK(load_memories(path).error() == path + ": it is not a regular file");
  std::ofstream{file} << std::string(1'100'000, 'x');
  CHECK(load_memories(file).error() == file + ": it is larger than 1048576 bytes");

  // What stands in the way of the next one is not followed.
  const auto precious = path + "/precious";
  std::ofstream{precious} << "precious";
  REQUIRE(symlink(precious.c_str(), (file + ".next").c_str()) == 0);
  CHECK_FALSE(save_memories(file, {}));
  std::string text;
  std::getline(std::ifstream{precious}, text);
  CHECK(text == "precious");
  std::filesystem::remove_all(path);
}
