// SPDX-License-Identifier: Apache-2.0
#include "tests/support/festival.hpp"

#include <algorithm>

namespace catwalk::test {
namespace {

constexpr double gain(double megahertz) { return megahertz < 550 ? 3.0 : 6.0; }

}  // namespace

const std::map<std::string, double>& Festival::segments() {
  static const std::map<std::string, double> all{
      {"doors", 500}, {"speeches", 520}, {"concert", 540}, {"parade", 560}, {"fireworks", 580}};
  return all;
}

Json Festival::show(const Json& cues, const Json& order) {
  Json all = Json::array();
  for (const auto& [name, megahertz] : segments()) {
    Json settings = Json::object();
    for (const auto* node : {"bus-1", "bus-2", "net-1", "net-2"})
      settings[node] = {
          {"gain_db", gain(megahertz)}, {"filter", "slide-40"}, {"centre_mhz", megahertz}};
    all.push_back(Rig::segment(name, megahertz, settings));
  }
  Json running_order = order;
  running_order["cues"] = cues;
  return {{"name", "festival"}, {"segments", std::move(all)}, {"running_order", running_order}};
}

std::string Festival::segment_of(const Json& settings) {
  for (const auto& [name, megahertz] : segments())
    if (settings.at("filter") == "slide-40" && settings.value("centre_mhz", 0.0) == megahertz &&
        settings.at("gain_db") == gain(megahertz))
      return name;
  return {};
}

bool Festival::all_in(Rig& rig, const std::string& segment) {
  // A node that a busy machine did not let answer in time is silent for a moment; it is waited for.
  // Where those are that answer is not: they have to be there already.
  Json nodes;
  const bool all_answer = eventually([&] {
    nodes = rig.get("/nodes").body.at("nodes");
    return std::ranges::all_of(nodes, [](const Json& node) {
      return node.contains("seen") && node.at("link") == "answering";
    });
  });
  return all_answer && std::ranges::all_of(nodes, [&](const Json& node) {
           return segment_of(node.at("seen").at("settings")) == segment;
         });
}

}  // namespace catwalk::test
