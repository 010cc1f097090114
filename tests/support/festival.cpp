// SPDX-License-Identifier: Apache-2.0
#include "tests/support/festival.hpp"

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
  const auto all = rig.get("/nodes").body;
  for (const auto& node : all.at("nodes")) {
    if (!node.contains("seen") || node.at("link") != "answering") return false;
    if (segment_of(node.at("seen").at("settings")) != segment) return false;
  }
  return true;
}

}  // namespace catwalk::test
