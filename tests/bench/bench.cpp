// SPDX-License-Identifier: Apache-2.0
#include "tests/bench/bench.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <nlohmann/json.hpp>
#include <stdexcept>

namespace catwalk::test {

double quantile(std::vector<double> values, double share) {
  if (values.empty()) throw std::invalid_argument{"nothing was measured"};
  const auto last = static_cast<double>(values.size() - 1);
  const auto at = values.begin() + std::lround(last * share);
  std::nth_element(values.begin(), at, values.end());
  return *at;
}

double median(std::vector<double> values) { return quantile(std::move(values), 0.5); }

BenchOptions bench_options(int argc, char** argv) {
  return {argc > 1 && std::string{argv[1]} == "--smoke"};
}

int run_bench(int argc, char** argv, const std::function<int(const BenchOptions&)>& bench) {
  // Caught, so that the processes that were started are ended.
  try {
    return bench(bench_options(argc, argv));
  } catch (const std::exception& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
  }
}

Seconds time_of(const std::function<void()>& work) {
  const auto begin = std::chrono::steady_clock::now();
  work();
  return std::chrono::steady_clock::now() - begin;
}

namespace {

int verdict(bool reached, const BenchOptions& options) {
  std::printf("  %s\n", reached ? "reached" : "NOT reached");
  return reached || options.smoke ? 0 : 1;
}

}  // namespace

int judge(const Comparison& c, const BenchOptions& options) {
  std::printf("%s\n  %-44s %12.1f %s\n  %-44s %12.1f %s\n  %-44s %12.3f (reach %s %.2f)\n",
              c.name.c_str(), c.ours.c_str(), c.our_figure, c.unit.c_str(), c.other.c_str(),
              c.other_figure, c.unit.c_str(), "ratio", c.ratio, c.at_most ? "<=" : ">=", c.reach);
  return verdict(c.at_most ? c.ratio <= c.reach : c.ratio >= c.reach, options);
}

int judge(const std::string& name, double figure, double at_most, const std::string& unit,
          const BenchOptions& options) {
  std::printf("%s\n  %-44s %12.1f %s (reach <= %.1f)\n", name.c_str(), "figure", figure,
              unit.c_str(), at_most);
  return verdict(figure <= at_most, options);
}

std::filesystem::path write_simulated_rack(const std::filesystem::path& folder, int nodes) {
  using Json = nlohmann::ordered_json;
  constexpr int nodes_a_line = 128;  // an address is a byte
  Json lines = Json::array();
  Json all = Json::array();
  for (int i = 0; i < nodes; ++i) {
    const auto line = "line-" + std::to_string(i / nodes_a_line);
    if (i % nodes_a_line == 0)
      lines.push_back({{"name", line}, {"kind", "simulated"}, {"seed", i + 1}});
    char uid[16];
    std::snprintf(uid, sizeof uid, "7a10-%08x", i + 1);
    all.push_back({{"name", "n" + std::to_string(i)},
                   {"uid", uid},
                   {"line", line},
                   {"address", i % nodes_a_line + 1},
                   {"datasheet", "tern-inline"},
                   {"hangs", "quay, pole " + std::to_string(i)}});
  }
  const Json rack = {
      {"name", "quays"},
      {"state_dir", "state"},
      {"datasheets", {std::string{CATWALK_SOURCE} + "/config/datasheets/tern-inline.json"}},
      {"show", "show.json"},
      {"lines", lines},
      {"nodes", all},
      {"receivers", {{{"name", "vocals"}, {"branches", {{"n0"}, {"n1"}}}}}},
      {"server", {{"port", 0}}}};
  const Json show = {
      {"name", "quays"},
      {"segments",
       {{{"name", "speeches"},
         {"title", "Speeches"},
         {"settings", Json::object()},
         {"lanes",
          {{{"name", "mics"}, {"purpose", "receive"}, {"low_mhz", 470}, {"high_mhz", 600}}}},
         {"carriers",
          {{{"name", "voice"},
            {"use", "receive"},
            {"frequency_mhz", 585},
            {"bandwidth_khz", 200},
            {"receivers", {"vocals"}}}}}}}}};
  std::ofstream{folder / "show.json"} << show.dump(1);
  std::ofstream{folder / "rack.json"} << rack.dump(1);
  return folder / "rack.json";
}

Served::Served(const std::filesystem::path& program, const std::vector<std::string>& arguments,
               const std::filesystem::path& log, const std::string& mark)
    : process_{program, arguments, log} {
  const auto ready = [&] {
    const auto at = process_.output().find(mark);
    return at != std::string::npos && process_.output().find('\n', at) != std::string::npos;
  };
  if (!eventually([&] { return ready() || !process_.running(); }) || !process_.running())
    throw std::runtime_error{program.string() + " does not serve: " + process_.output()};
  const auto output = process_.output();
  port_ = static_cast<std::uint16_t>(std::stoi(output.substr(output.find(mark) + mark.size())));
}

}  // namespace catwalk::test
