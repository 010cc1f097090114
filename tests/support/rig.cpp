// SPDX-License-Identifier: Apache-2.0
#include "tests/support/rig.hpp"

#include <algorithm>
#include <fstream>
#include <stdexcept>

namespace catwalk::test {
namespace {

const std::string type = "tern-inline";

std::string after(const std::string& text, const std::string& mark) {
  const auto at = text.find(mark);
  if (at == std::string::npos) return {};
  const auto from = at + mark.size();
  return text.substr(from, text.find_first_not_of("0123456789", from) - from);
}

void write(const std::filesystem::path& path, const std::string& text) {
  std::ofstream{path} << text;
}

}  // namespace

Rig::Rig(const std::string& on_return) {
  std::filesystem::create_directories(file("state"));
  write(file("state/net.key"), std::string(64, '5') + '\n');
  std::filesystem::permissions(file("state/net.key"), std::filesystem::perms::owner_read |
                                                          std::filesystem::perms::owner_write);
  start_bus();
  start_net();
  write_files(on_return);
}

std::string Rig::uid(const std::string& node) {
  return (node.starts_with("bus") ? "7a10-0000020" : "7a10-0000030") + node.substr(4);
}

void Rig::start_bus() {
  bus = std::make_unique<Process>(
      CATWALK_NODE,
      std::vector<std::string>{
          "--pty", "--link", file("state/bus").string(), "--state", file("bus.nodes").string(),
          "--node", uid("bus-1") + "@1,type=" + type, "--node", uid("bus-2") + "@2,type=" + type,
          "--node", uid("bus-9") + "@9,type=" + type},
      file("bus.log"));
  if (!eventually([&] { return bus->output().find("ready") != std::string::npos; }))
    throw std::runtime_error{"no bus: " + bus->output()};
}

void Rig::start_net() {
  net = std::make_unique<Process>(
      CATWALK_NODE,
      std::vector<std::string>{"--udp", "127.0.0.1:" + net_port_, "--key-file",
                               file("state/net.key").string(), "--state",
                               file("net.nodes").string(), "--node", uid("net-1") + ",type=" + type,
                               "--node", uid("net-2") + ",type=" + type},
      file("net.log"));
  if (!eventually([&] { return net->output().find("ready") != std::string::npos; }))
    throw std::runtime_error{"no net: " + net->output()};
  net_port_ = after(net->output(), "127.0.0.1:");
}

void Rig::write_files(const std::string& on_return) {
  const auto node = [&](const std::string& name) {
    Json json = {{"name", name},      {"uid", uid(name)},          {"line", name.substr(0, 3)},
                 {"datasheet", type}, {"hangs", "over the stage"}, {"on_return", on_return}};
    if (name.starts_with("bus"))
      json["address"] = name.back() - '0';
    else
      json["endpoint"] = "127.0.0.1:" + net_port_;
    return json;
  };
  const Json rack = {
      {"name", "test"},
      {"state_dir", "state"},
      {"datasheets", {std::string{CATWALK_SOURCE} + "/config/datasheets/tern-inline.json"}},
      {"show", "show.json"},
      {"gain_limits_db", {{"lowest", -12}, {"highest", 20}}},
      {"lines",
       {{{"name", "bus"},
         {"kind", "serial"},
         {"device", "bus"},
         {"baud", 115200},
         {"reading_age_ms", 300}},
        {{"name", "net"},
         {"kind", "udp"},
         {"bind", "127.0.0.1:0"},
         {"key_file", "net.key"},
         {"reading_age_ms", 300}}}},
      {"nodes", {node("bus-1"), node("bus-2"), node("net-1"), node("net-2")}},
      {"receivers", {{{"name", "vocals"}, {"branches", {{"bus-1"}, {"net-1"}}}}}},
      {"server", {{"port", 0}}}};
  write(file("rack.json"), rack.dump(2));
  const Json show = {{"name", "test"},
                     {"segments", {segment("speeches", 585), segment("finale", 500)}}};
  write(file("show.json"), show.dump(2));
}

Json Rig::segment(const std::string& name, double microphone, const Json& settings) {
  return {{"name", name},
          {"title", name},
          {"settings", settings},
          {"lanes",
           {{{"name", "mics"}, {"purpose", "receive"}, {"low_mhz", 470}, {"high_mhz", 600}},
            {{"name", "ears"}, {"purpose", "transmit"}, {"low_mhz", 640}, {"high_mhz", 660}}}},
          {"carriers",
           {{{"name", "voice"},
             {"use", "receive"},
             {"frequency_mhz", microphone},
             {"bandwidth_khz", 200},
             {"receivers", {"vocals"}}},
            {{"name", "ears-1"},
             {"use", "transmit"},
             {"frequency_mhz", 650},
             {"bandwidth_khz", 200}}}}};
}

void Rig::write_show(const Json& show) { write(file("show.json"), show.dump(2)); }

void Rig::add_far_node(const std::string& uid, std::uint16_t port) {
  edit_rack([&](Json& rack) {
    auto line = rack["lines"][1];
    line["name"] = "far";
    rack["lines"].push_back(line);
    auto node = rack["nodes"][3];
    node["name"] = "far-1";
    node["uid"] = uid;
    node["line"] = "far";
    node["endpoint"] = "127.0.0.1:" + std::to_string(port);
    rack["nodes"].push_back(node);
  });
}

void Rig::edit_rack(const std::function<void(Json&)>& edit) {
  std::ifstream in{file("rack.json")};
  auto rack = Json::parse(in);
  edit(rack);
  write(file("rack.json"), rack.dump(2));
}

void Rig::start_daemon(bool nodes) {
  daemon = std::make_unique<Process>(
      CATWALKD, std::vector<std::string>{"--port", port_, file("rack.json").string()},
      file("daemon.log"));
  if (!eventually([&] {
        return !daemon->running() ||
               daemon->output().find("http://127.0.0.1:") != std::string::npos;
      }) ||
      !daemon->running())
    throw std::runtime_error{"no daemon: " + daemon->output()};
  port_ = after(daemon->output(), "http://127.0.0.1:");
  client_.emplace(cli::Address{"127.0.0.1", port_}, cli::Headers{{"Catwalk-User", "ana"}});
  if (nodes && !eventually([&] {
        const auto all = get("/nodes").body.at("nodes");
        return std::ranges::all_of(all,
                                   [](const Json& one) { return one.at("link") == "answering"; });
      }))
    throw std::runtime_error{"not all nodes answer: " + daemon->output()};
}

std::string Rig::daemon_url() const { return "http://127.0.0.1:" + port_; }
std::uint16_t Rig::daemon_port() const { return static_cast<std::uint16_t>(std::stoi(port_)); }

Said Rig::get(const std::string& path) { return send("GET", path, Json{}); }

Said Rig::send(const std::string& method, const std::string& path, const Json& body,
               const cli::Headers& headers) {
  const auto answer =
      client_->request(method, "/api/v1" + path, body.is_null() ? "" : body.dump(), headers);
  if (!answer) throw std::runtime_error{answer.error()};
  const auto etag = answer->headers.find("etag");
  return {answer->status, answer->body.empty() ? Json{} : Json::parse(answer->body),
          etag == answer->headers.end() ? "" : etag->second};
}

Said Rig::set(const std::string& node, const Json& patch, const cli::Headers& headers) {
  const auto path = "/nodes/" + node + "/settings";
  cli::Headers all = headers;
  all.emplace_back("If-Match", get(path).etag);
  return send("PATCH", path, patch, all);
}

bool Rig::settles(const std::string& node, double gain_db, std::uint64_t* again) {
  const auto once = [&] { return set(node, {{"gain_db", gain_db}}).text("outcome") == "settled"; };
  if (once()) return true;
  if (again != nullptr) ++*again;
  return eventually(once);
}

Json Rig::node(const std::string& name) { return get("/nodes/" + name).body; }

bool Rig::is(const std::string& name, const char* member, const std::string& value) {
  return node(name).at(member) == value;
}

std::vector<std::string> Rig::active_alarms() {
  std::vector<std::string> names;
  const auto alarms = get("/alarms").body;
  for (const auto& alarm : alarms.at("alarms"))
    if (alarm.at("active").get<bool>())
      names.push_back(alarm.at("kind").get<std::string>() + ' ' +
                      alarm.at("subject").get<std::string>());
  return names;
}

bool Rig::has_alarm(const std::string& alarm) {
  return std::ranges::count(active_alarms(), alarm) == 1;
}

Rig::Ran Rig::run(std::vector<std::string> words) {
  words.insert(words.begin(), {"--server", daemon_url()});
  Process process{CATWALK, words, file("cli.log")};
  const int status = process.wait();
  return {status, process.output()};
}

}  // namespace catwalk::test
