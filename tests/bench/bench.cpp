// SPDX-License-Identifier: Apache-2.0
#include "tests/bench/bench.hpp"

#include "tests/support/raw_socket.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <fstream>
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

void tell(const std::string& name, double figure, const std::string& unit, int digits) {
  std::printf("  %-44s %12.*f %s\n", name.c_str(), digits, figure, unit.c_str());
}

void tell(const std::string& name, long count) {
  std::printf("  %-44s %12ld\n", name.c_str(), count);
}

namespace {

int verdict(bool reached, const BenchOptions& options) {
  std::printf("  %s\n", reached ? "reached" : "NOT reached");
  return reached || options.smoke ? 0 : 1;
}

}  // namespace

int judge(const Comparison& c, const BenchOptions& options) {
  std::printf("%s\n", c.name.c_str());
  tell(c.ours, c.our_figure, c.unit);
  tell(c.other, c.other_figure, c.unit);
  std::printf("  %-44s %12.3f (reach %s %.2f)\n", "ratio", c.ratio,
              c.at_most ? "<=" : ">=", c.reach);
  return verdict(c.at_most ? c.ratio <= c.reach : c.ratio >= c.reach, options);
}

int judge(const std::string& name, const Measured& ours, const Measured& other, double reach,
          const std::string& unit, const BenchOptions& options) {
  const double our_median = median(ours.figures);
  const double other_median = median(other.figures);
  return judge({.name = name,
                .ours = ours.name,
                .other = other.name,
                .unit = unit,
                .our_figure = our_median,
                .other_figure = other_median,
                .ratio = our_median / other_median,
                .at_most = true,
                .reach = reach},
               options);
}

int judge(const std::string& name, double figure, double at_most, const std::string& unit,
          const BenchOptions& options) {
  std::printf("%s\n  %-44s %12.1f %s (reach <= %.1f)\n", name.c_str(), "figure", figure,
              unit.c_str(), at_most);
  return verdict(figure <= at_most, options);
}

using Json = nlohmann::ordered_json;

Json quay_node(int i, const std::string& line) {
  char uid[16];
  std::snprintf(uid, sizeof uid, "7a10-%08x", i + 1);
  return {{"name", "n" + std::to_string(i)},
          {"uid", uid},
          {"line", line},
          {"datasheet", "tern-inline"},
          {"hangs", "quay, pole " + std::to_string(i)}};
}

Json quay_rack(Json lines, Json nodes) {
  return {{"name", "quays"},
          {"state_dir", "state"},
          {"datasheets", {std::string{CATWALK_SOURCE} + "/config/datasheets/tern-inline.json"}},
          {"show", "show.json"},
          {"lines", std::move(lines)},
          {"nodes", std::move(nodes)},
          {"receivers", {{{"name", "vocals"}, {"branches", {{"n0"}, {"n1"}}}}}},
          {"server", {{"port", 0}}}};
}

Json quay_segment(const std::string& name, Json settings) {
  return {
      {"name", name},
      {"title", name},
      {"settings", std::move(settings)},
      {"lanes", {{{"name", "mics"}, {"purpose", "receive"}, {"low_mhz", 470}, {"high_mhz", 600}}}},
      {"carriers",
       {{{"name", "voice"},
         {"use", "receive"},
         {"frequency_mhz", 585},
         {"bandwidth_khz", 200},
         {"receivers", {"vocals"}}}}}};
}

std::filesystem::path write_simulated_rack(const std::filesystem::path& folder, int nodes) {
  constexpr int nodes_a_line = 128;  // an address is a byte
  Json lines = Json::array();
  Json all = Json::array();
  for (int i = 0; i < nodes; ++i) {
    const auto line = "line-" + std::to_string(i / nodes_a_line);
    if (i % nodes_a_line == 0)
      lines.push_back({{"name", line}, {"kind", "simulated"}, {"seed", i + 1}});
    auto& node = all.emplace_back(quay_node(i, line));
    node["address"] = i % nodes_a_line + 1;
  }
  const Json show = {{"name", "quays"}, {"segments", {quay_segment("speeches", Json::object())}}};
  std::ofstream{folder / "show.json"} << show.dump(1);
  std::ofstream{folder / "rack.json"} << quay_rack(lines, all).dump(1);
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

bool all_nodes_read(std::uint16_t port, std::size_t nodes) {
  const auto body = ask_http(port, "GET /api/v1/nodes HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n").body;
  std::size_t read = 0;
  for (std::size_t at = 0; (at = body.find("\"age_ms\"", at)) != std::string::npos; ++at) ++read;
  return read == nodes;
}

}  // namespace catwalk::test
