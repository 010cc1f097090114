// SPDX-License-Identifier: Apache-2.0
#include "tests/support/matrix_rig.hpp"

#include <stdexcept>

namespace catwalk::test {
namespace {

const std::string shore = "/matrices/shore";

}  // namespace

MatrixRig::MatrixRig() {
  start_unit();
  for (int input = 1; input <= 3; ++input) {
    say("supply", std::to_string(input) + " 12V");
    say("plug", std::to_string(input) + ' ' + uid_of(input));
    say("route", std::to_string(input) + ' ' + std::to_string(input));
    // Makes up for what the matrix loses, alone on an output and in a sum of two.
    say_to(uid_of(input), "knob", "gain 4");
  }
  write_plan();
}

Json MatrixRig::carrier(const std::string& name, double megahertz, const std::string& receiver) {
  return {{"name", name},
          {"use", "receive"},
          {"frequency_mhz", megahertz},
          {"bandwidth_khz", 200},
          {"receivers", {receiver}}};
}

const std::vector<std::string>& MatrixRig::antennas() {
  static const std::vector<std::string> all{"left", "right", "float"};
  return all;
}

void MatrixRig::say_to(const std::string& uid, const std::string& verb, const std::string& rest) {
  const auto count = answers();
  unit->say(verb + ' ' + uid + ' ' + rest);
  if (!eventually([&] { return answers() > count; }) ||
      unit->output().find("error") != std::string::npos)
    throw std::runtime_error{verb + " was not done: " + unit->output()};
}

std::string MatrixRig::shown_by(const std::string& uid) {
  const auto before = unit->output().size();
  const auto count = answers();
  unit->say("show " + uid);
  if (!eventually([&] { return answers() > count; }))
    throw std::runtime_error{"nothing shown: " + unit->output()};
  return unit->output().substr(before);
}

void MatrixRig::start() {
  start_daemon();
  if (!eventually([&] {
        const auto it = matrix();
        return it.at("link") == "answering" && it.contains("wanted");
      }))
    throw std::runtime_error{"no matrix: " + matrix().dump()};
}

Said MatrixRig::route(const Json& patch, const cli::Headers& headers) {
  auto all = headers;
  all.emplace_back("If-Match", get(shore + "/settings").etag);
  return send("PATCH", shore + "/settings", patch, all);
}

std::vector<std::string> MatrixRig::served_by(const std::string& node_name) {
  std::vector<std::string> all;
  const auto view = node(node_name);
  for (const auto& served : view.at("serves"))
    all.push_back(served.at("receiver").get<std::string>() + ' ' +
                  std::to_string(served.at("branch").get<int>()));
  return all;
}

std::size_t MatrixRig::answers() const {
  const auto output = unit->output();
  std::size_t count = 0;
  for (auto at = output.find("ok\n"); at != std::string::npos; at = output.find("ok\n", at + 1))
    ++count;
  return count;
}

void MatrixRig::start_unit() {
  std::vector<std::string> words{"--udp",      "127.0.0.1:0",
                                 "--key-file", file("state/net.key").string(),
                                 "--state",    file("unit.nodes").string(),
                                 "--node",     unit_uid + ",type=heron-sum"};
  for (int input = 1; input <= 3; ++input)
    words.insert(words.end(), {"--node", uid_of(input) + ",type=tern-inline"});
  unit = std::make_unique<Process>(CATWALK_NODE, words, file("unit.log"));
  if (!eventually([&] { return unit->output().find("ready") != std::string::npos; }))
    throw std::runtime_error{"no unit: " + unit->output()};
  const auto said = unit->output();
  const std::string mark = "udp ";
  const auto from = said.find(mark) + mark.size();
  endpoint_ = said.substr(from, said.find('\n', from) - from);
}

void MatrixRig::write_plan() {
  const Json lane = {{"name", "mics"}, {"purpose", "receive"}, {"low_mhz", 470}, {"high_mhz", 600}};
  const Json segment = {
      {"name", "speeches"},
      {"title", "speeches"},
      {"lanes", Json::array({lane})},
      {"carriers", Json::array({carrier("voice", 585, "vocals"), carrier("call", 582, "talk")})},
      {"settings", Json::object()}};
  write_show({{"name", "test"}, {"segments", Json::array({segment})}});
  edit_rack([&](Json& rack) {
    rack["datasheets"].push_back(std::string{CATWALK_SOURCE} + "/config/datasheets/heron-sum.json");
    rack["lines"].erase(0);
    rack["nodes"] = Json::array();
    for (int input = 1; input <= 3; ++input)
      rack["nodes"].push_back({{"name", antennas().at(static_cast<std::size_t>(input - 1))},
                               {"uid", uid_of(input)},
                               {"line", "net"},
                               {"endpoint", endpoint_},
                               {"datasheet", "tern-inline"},
                               {"feed", Json::array()},
                               {"ends_at", {{"matrix", "shore"}, {"input", input}}}});
    const Json matrix = {{"name", "shore"}, {"datasheet", "heron-sum"},
                         {"line", "net"},   {"stands", "rack 1, unit 12"},
                         {"uid", unit_uid}, {"endpoint", endpoint_}};
    rack["matrices"] = Json::array({matrix});
    const auto branch = [](int output) {
      return Json{{"from", {{"matrix", "shore"}, {"output", output}}}};
    };
    const Json vocals = {{"name", "vocals"}, {"branches", Json::array({branch(1), branch(2)})}};
    const Json talk = {{"name", "talk"}, {"branches", Json::array({branch(3)})}};
    rack["receivers"] = Json::array({vocals, talk});
  });
}

}  // namespace catwalk::test
