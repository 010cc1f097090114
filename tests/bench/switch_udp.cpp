// SPDX-License-Identifier: Apache-2.0
// A switch of 256 nodes over UDP on loopback, from the request to the answer that all were read
// back, through the real daemon and a process that answers as the nodes. The cue is armed before,
// as for a show: its way is then planned already. The same without arming is told beside.
#include <fstream>

#include "tests/bench/bench.hpp"
#include "tests/support/raw_socket.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

using Json = nlohmann::ordered_json;

constexpr int nodes = 256;

void write_files(const std::filesystem::path& folder, std::uint16_t port) {
  Json all = Json::array();
  Json settings[2] = {Json::object(), Json::object()};
  for (int i = 0; i < nodes; ++i) {
    auto& node = all.emplace_back(quay_node(i, "net"));
    node["endpoint"] = "127.0.0.1:" + std::to_string(port);
    for (int k = 0; k < 2; ++k)
      settings[k][node.at("name").get<std::string>()] = {{"gain_db", 3 * k}};
  }
  const Json lines = {
      {{"name", "net"}, {"kind", "udp"}, {"bind", "127.0.0.1:0"}, {"key_file", "net.key"}}};
  std::ofstream{folder / "rack.json"} << quay_rack(lines, all).dump(1);
  const Json show = {
      {"name", "quays"},
      {"segments", {quay_segment("speeches", settings[0]), quay_segment("finale", settings[1])}},
      {"running_order", {{"cues", {{{"segment", "speeches"}}, {{"segment", "finale"}}}}}}};
  std::ofstream{folder / "show.json"} << show.dump(1);
}

class Desk {
 public:
  explicit Desk(std::uint16_t port) : client_{port} {}

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
    const auto all = get("/nodes");
    for (const auto& node : all.at("nodes"))
      if (!node.contains("seen")) return false;
    return true;
  }
  double go(const std::string& to) {
    Json answer;
    const auto time = time_of([&] { answer = post("/switch", {{"segment", to}}); });
    if (answer.value("outcome", "") != "done" || answer.at("switch").at("nodes").size() != nodes)
      throw std::runtime_error{"not done: " + answer.dump().substr(0, 500)};
    return 1e3 * time.count();
  }

 private:
  TcpClient client_;
};

int measure(const BenchOptions& options) {
  const TemporaryFolder folder;
  std::filesystem::create_directories(folder.path() / "state");
  const auto key = folder.path() / "state" / "net.key";
  std::ofstream{key} << std::string(64, '5') << '\n';
  std::filesystem::permissions(
      key, std::filesystem::perms::owner_read | std::filesystem::perms::owner_write);
  std::vector<std::string> words{"--udp",      "127.0.0.1:0",
                                 "--key-file", key.string(),
                                 "--state",    (folder.path() / "nodes.state").string()};
  for (int i = 0; i < nodes; ++i) {
    words.push_back("--node");
    words.push_back(quay_node(i, "net").at("uid").get<std::string>() + ",type=tern-inline");
  }
  Served node{CATWALK_NODE, words, folder.path() / "node.log", "127.0.0.1:"};
  write_files(folder.path(), node.port());
  Served daemon{CATWALKD,
                {(folder.path() / "rack.json").string()},
                folder.path() / "daemon.log",
                "http://127.0.0.1:"};
  Desk desk{daemon.port()};
  if (!eventually([&] { return desk.all_read(); }, std::chrono::seconds{60})) return 1;

  std::vector<double> armed;
  std::vector<double> unarmed;
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
    (arm ? armed : unarmed).push_back(desk.go(to));
  }
  const int status = judge("switch of 256 nodes over UDP, armed, request to all read back",
                           median(armed), 50.0, "ms", options);
  tell("90th percentile", quantile(armed, 0.9), "ms");
  tell("median if it was not armed", median(unarmed), "ms");
  return status;
}

}  // namespace

int main(int argc, char** argv) { return run_bench(argc, argv, measure); }
