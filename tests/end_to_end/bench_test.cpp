// SPDX-License-Identifier: Apache-2.0
// On the bench: the demo's show with every line simulated, faults included, and no hardware.
#include <doctest/doctest.h>

#include <fstream>

#include "daemon/cli/client.hpp"
#include "tests/support/process.hpp"
#include "tests/support/rig.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

class Bench {
 public:
  explicit Bench(const std::string& rack_file) {
    daemon_ = std::make_unique<Process>(
        CATWALKD,
        std::vector<std::string>{"--port", "0", "--state-dir", folder_.path().string(), rack_file},
        folder_.path() / "daemon.log");
    const std::string mark = "http://127.0.0.1:";
    REQUIRE(eventually([&] { return daemon_->output().find(mark) != std::string::npos; }));
    const auto output = daemon_->output();
    const auto from = output.find(mark) + mark.size();
    url_ = mark + output.substr(from, output.find_first_not_of("0123456789", from) - from);
  }

  // What `catwalk` with these words answers, as JSON where it can be.
  std::pair<int, std::string> run(std::vector<std::string> words) {
    words.insert(words.begin(), {"--server", url_});
    Process process{CATWALK, words, folder_.path() / "cli.log"};
    // Recommendations take their time where sanitizers slow them down, on busy machines above all.
    const int status = process.wait(std::chrono::seconds{150});
    return {status, process.output()};
  }
  // That it is done.
  void check(std::vector<std::string> words) {
    const auto [status, output] = run(std::move(words));
    CHECK_MESSAGE(status == 0, output);
  }
  Json ask(std::vector<std::string> words) {
    words.emplace_back("--json");
    const auto [status, output] = run(words);
    REQUIRE(status == 0);
    return Json::parse(output);
  }

 private:
  TemporaryFolder folder_;
  std::unique_ptr<Process> daemon_;
  std::string url_;
};

// That of the demo, all of whose nodes answer.
struct DemoBench : Bench {
  DemoBench() : Bench{std::string{CATWALK_SOURCE} + "/config/demo/bench.rack.json"} {
    REQUIRE(eventually([&] {
      const auto all = ask({"nodes"});
      for (const auto& node : all.at("nodes"))
        if (node.at("link") != "answering") return false;
      return true;
    }));
  }
};

}  // namespace

TEST_CASE("the demo's show runs on simulated nodes, through loss and delay, without hardware") {
  DemoBench bench;
  const auto nodes = bench.ask({"nodes"}).at("nodes");
  CHECK(nodes.size() == 8);
  for (const auto& node : nodes) {
    const std::string name = node.at("name");
    CAPTURE(name);
    CHECK(node.at("seen").at("quality") == "simulated");
    bench.check({"set", name, "--as-planned", "--why", "bench test"});
  }
  const auto after = bench.ask({"nodes"}).at("nodes");
  for (const auto& node : after) {
    CAPTURE(node.at("name").get<std::string>());
    CHECK(node.at("agreement") == "agreed");
    for (const auto& finding : node.at("findings")) CHECK(finding.at("severity") == "note");
  }
}

TEST_CASE("every node of the demo is recommended settings, which its own check then accepts") {
  DemoBench bench;
  const auto recommended = bench.ask({"recommend"}).at("recommendations");
  REQUIRE(recommended.size() == 8);
  for (const auto& one : recommended) {
    const std::string name = one.at("node");
    CAPTURE(name);
    if (!one.contains("worst_carrier")) continue;  // it has nothing to hear
    CHECK(one.at("clean") == true);
    const auto& settings = one.at("settings");
    std::vector<std::string> words{"set", name, "gain=" + settings.at("gain_db").dump(),
                                   "filter=" + settings.at("filter").get<std::string>()};
    if (settings.contains("centre_mhz"))
      words.push_back("centre=" + settings.at("centre_mhz").dump());
    bench.check(std::move(words));
  }
  bench.check({"explain", "truss-left"});
  CHECK(bench.run({"check-segment", "finale", "--json"}).second.find("\"nodes\"") !=
        std::string::npos);
}

TEST_CASE("a script plays its faults: a knob, a power cut, a node that is silent") {
  TemporaryFolder folder;
  const auto source = std::string{CATWALK_SOURCE} + "/config/";
  std::ifstream file{source + "demo/bench.rack.json"};
  auto rack =
      Json::parse(std::string{std::istreambuf_iterator<char>{file}, {}}, nullptr, true, true);
  for (auto& path : rack.at("datasheets")) path = source + "demo/" + path.get<std::string>();
  rack["bands"] = source + "demo/" + rack.at("bands").get<std::string>();
  rack["cables"] = source + "demo/" + rack.at("cables").get<std::string>();
  rack["show"] = source + "demo/" + rack.at("show").get<std::string>();
  auto& script = rack.at("lines")[0].at("script");
  script.push_back("at 1500ms knob 7a10-00000101 gain 9");
  script.push_back("at 1500ms silence 7a10-00000102 on");
  rack.at("lines")[1]["script"] = {"at 1500ms power 7a10-00000201 off"};
  const auto path = folder.path() / "rack.json";
  std::ofstream{path} << rack.dump();

  Bench bench{path.string()};
  CHECK(eventually([&] {
    const auto alarms = bench.ask({"alarms"}).at("alarms");
    const auto raised = [&](const char* kind, const char* subject) {
      for (const auto& alarm : alarms)
        if (alarm.at("kind") == kind && alarm.at("subject") == subject) return true;
      return false;
    };
    return raised("drifted", "pontoon-bow") && raised("silent", "pontoon-stern") &&
           raised("passive", "truss-left");
  }));
}
