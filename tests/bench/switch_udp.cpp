// SPDX-License-Identifier: Apache-2.0
// A switch of 256 nodes over UDP on loopback, and one of 64 amplifiers with 4 matrices of 12 inputs
// on 6 outputs, from the request to the answer that all were read back, through the real daemon and
// a process that answers as the nodes. The cue is armed before, as for a show: its way is then
// planned already. The same without arming is told beside.
#include <cstdio>
#include <fstream>
#include <stdexcept>

#include "tests/bench/bench.hpp"
#include "tests/support/raw_socket.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

using Json = nlohmann::ordered_json;

constexpr int inputs = 12;  // of a heron-sum
constexpr int outputs = 6;

struct Size {
  int amplifiers = 0;
  int matrices = 0;
  std::size_t all() const { return static_cast<std::size_t>(amplifiers + matrices); }
};

std::string matrix_uid(int number) {
  char uid[16];
  std::snprintf(uid, sizeof uid, "7a10-%08x", 0x900 + number);
  return uid;
}
std::string matrix_name(int number) { return "x" + std::to_string(number); }

Json output_of(int matrix, int output) {
  return {{"from", {{"matrix", matrix_name(matrix)}, {"output", output}}}};
}

// Each output takes another antenna then.
Json matrix_settings(int segment) {
  Json routes = Json::object();
  Json supplies = Json::object();
  for (int output = 1; output <= outputs; ++output)
    routes[std::to_string(output)] = Json::array({output + segment * outputs});
  for (int input = 1; input <= inputs; ++input) supplies[std::to_string(input)] = 12000;
  return {{"routes", routes}, {"supplies_mv", supplies}};
}

// Twelve antennas end at each matrix, the others need none; each matrix has three receivers.
void put_behind_matrices(const Size& size, const std::string& endpoint, Json& rack,
                         Json (&settings)[2]) {
  rack["datasheets"].push_back(std::string{CATWALK_SOURCE} + "/config/datasheets/heron-sum.json");
  rack["matrices"] = Json::array();
  for (int number = 0; number < size.matrices; ++number) {
    rack["matrices"].push_back({{"name", matrix_name(number)},
                                {"datasheet", "heron-sum"},
                                {"line", "net"},
                                {"uid", matrix_uid(number)},
                                {"endpoint", endpoint}});
    for (int input = 1; input <= inputs; ++input) {
      const auto place = static_cast<std::size_t>(number * inputs + input - 1);
      rack["nodes"][place]["ends_at"] = {{"matrix", matrix_name(number)}, {"input", input}};
    }
    for (int output = 1; output <= outputs; output += 2) {
      const auto branches = Json::array({output_of(number, output), output_of(number, output + 1)});
      rack["receivers"].push_back(
          {{"name", "r" + std::to_string(rack["receivers"].size())}, {"branches", branches}});
    }
    for (int k = 0; k < 2; ++k) settings[k][matrix_name(number)] = matrix_settings(k);
  }
  // Those hear by the last two, which end nowhere.
  rack["receivers"][0]["branches"] = Json::array();
  for (const int last : {2, 1})
    rack["receivers"][0]["branches"].push_back(
        Json::array({"n" + std::to_string(size.amplifiers - last)}));
}

void write_files(const Size& size, const std::filesystem::path& folder, std::uint16_t port) {
  const auto endpoint = "127.0.0.1:" + std::to_string(port);
  Json all = Json::array();
  Json settings[2] = {Json::object(), Json::object()};
  for (int i = 0; i < size.amplifiers; ++i) {
    auto& node = all.emplace_back(quay_node(i, "net"));
    node["endpoint"] = endpoint;
    for (int k = 0; k < 2; ++k)
      settings[k][node.at("name").get<std::string>()] = {{"gain_db", 3 * k}};
  }
  const Json lines = {
      {{"name", "net"}, {"kind", "udp"}, {"bind", "127.0.0.1:0"}, {"key_file", "net.key"}}};
  auto rack = quay_rack(lines, all);
  if (size.matrices > 0) put_behind_matrices(size, endpoint, rack, settings);
  std::ofstream{folder / "rack.json"} << rack.dump(1);
  Json segments = {quay_segment("speeches", settings[0]), quay_segment("finale", settings[1])};
  for (auto& segment : segments)
    for (const auto& receiver : rack["receivers"])
      if (receiver.at("name") != "vocals")
        segment["carriers"][0]["receivers"].push_back(receiver.at("name"));
  const Json show = {
      {"name", "quays"},
      {"segments", segments},
      {"running_order", {{"cues", {{{"segment", "speeches"}}, {{"segment", "finale"}}}}}}};
  std::ofstream{folder / "show.json"} << show.dump(1);
}

class Desk {
 public:
  Desk(std::uint16_t port, std::size_t nodes) : client_{port}, nodes_{nodes} {}

  Json get(const std::string& path) {
    client_.say("GET /api/v1" + path + " HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n");
    return Json::parse(client_.response().body);
  }
  Json post(const std::string& path, const Json& body) {
    const auto text = body.dump();
    client_.say("POST /api/v1" + path +
                " HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\n"
                "Content-Length: " +
                std::to_string(text.size()) + "\r\n\r\n" + text);
    return Json::parse(client_.response().body);
  }
  bool all_read() {
    std::size_t read = 0;
    for (const auto* kind : {"nodes", "matrices"}) {
      const auto all = get(std::string{"/"} + kind);
      for (const auto& node : all.at(kind)) read += node.contains("seen") ? 1 : 0;
    }
    return read == nodes_;
  }
  double go(const std::string& to) {
    Json answer;
    const auto time = time_of([&] { answer = post("/switch", {{"segment", to}}); });
    if (answer.value("outcome", "") != "done" || answer.at("switch").at("nodes").size() != nodes_)
      throw std::runtime_error{"not done: " + answer.dump().substr(0, 500)};
    return 1e3 * time.count();
  }

 private:
  TcpClient client_;
  std::size_t nodes_;
};

std::vector<std::string> node_words(const Size& size, const std::filesystem::path& folder,
                                    const std::filesystem::path& key) {
  std::vector<std::string> words{"--udp",      "127.0.0.1:0", "--key-file",
                                 key.string(), "--state",     (folder / "nodes.state").string()};
  for (int i = 0; i < size.amplifiers; ++i)
    words.insert(words.end(), {"--node", quay_node(i, "net").at("uid").get<std::string>() +
                                             ",type=tern-inline"});
  for (int i = 0; i < size.matrices; ++i)
    words.insert(words.end(), {"--node", matrix_uid(i) + ",type=heron-sum"});
  return words;
}

// As riggers do: the cables end where the rack file says, and are fed.
void plug_in(const Size& size, Process& nodes) {
  for (int number = 0; number < size.matrices; ++number)
    for (int input = 1; input <= inputs; ++input) {
      const auto to = ' ' + matrix_uid(number) + ' ' + std::to_string(input) + ' ';
      nodes.say("supply" + to + "12V");
      nodes.say("plug" + to +
                quay_node(number * inputs + input - 1, "net").at("uid").get<std::string>());
    }
}

// Milliseconds of each round, from the request to the answer.
struct Rounds {
  std::vector<double> armed;
  std::vector<double> unarmed;
};

Rounds rounds_of(const Size& size, const BenchOptions& options) {
  const TemporaryFolder folder;
  std::filesystem::create_directories(folder.path() / "state");
  const auto key = folder.path() / "state" / "net.key";
  std::ofstream{key} << std::string(64, '5') << '\n';
  std::filesystem::permissions(
      key, std::filesystem::perms::owner_read | std::filesystem::perms::owner_write);
  Served node{CATWALK_NODE, node_words(size, folder.path(), key), folder.path() / "node.log",
              "127.0.0.1:"};
  plug_in(size, node.process());
  write_files(size, folder.path(), node.port());
  Served daemon{CATWALKD,
                {(folder.path() / "rack.json").string()},
                folder.path() / "daemon.log",
                "http://127.0.0.1:"};
  Desk desk{daemon.port(), size.all()};
  if (!eventually([&] { return desk.all_read(); }, std::chrono::seconds{60}))
    throw std::runtime_error{"not all nodes are read"};

  Rounds measured;
  bool there = false;
  for (int round = 0; round < options.rounds(40, 4); ++round) {
    there = !there;
    const std::string to = there ? "finale" : "speeches";
    const bool arm = round % 4 < 2;
    if (arm) {
      desk.post("/running-order/arm", {{"cue", to}});
      // Two previews take longer than the way that is planned meanwhile.
      desk.get("/segments/" + to + "/preview");
      desk.get("/segments/" + to + "/preview");
    }
    (arm ? measured.armed : measured.unarmed).push_back(desk.go(to));
  }
  return measured;
}

int judge_rounds(const Rounds& measured, const std::string& name, const BenchOptions& options) {
  const int status = judge("switch of " + name + " over UDP, armed, request to all read back",
                           median(measured.armed), 50.0, "ms", options);
  tell("90th percentile", quantile(measured.armed, 0.9), "ms");
  tell("median if it was not armed", median(measured.unarmed), "ms");
  return status;
}

int measure(const BenchOptions& options) {
  const auto many = rounds_of({256, 0}, options);
  const auto alone = rounds_of({68, 0}, options);
  const auto routed = rounds_of({64, 4}, options);
  return judge_rounds(many, "256 nodes", options) |
         judge_rounds(routed, "64 amplifiers and 4 matrices", options) |
         judge("4 of 68 nodes are matrices, against amplifiers alone",
               {"64 amplifiers and 4 matrices", routed.armed}, {"68 amplifiers", alone.armed}, 2.0,
               "ms", options);
}

}  // namespace

int main(int argc, char** argv) { return run_bench(argc, argv, measure); }
