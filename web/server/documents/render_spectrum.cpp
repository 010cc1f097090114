// SPDX-License-Identifier: Apache-2.0
#include "web/server/documents/render_spectrum.hpp"

#include <cmath>

#include "protocol/values.hpp"

namespace catwalk::web {
namespace {

// Adding zero takes the sign from what rounds to nothing.
double in_thousandths(double value) { return std::round(value * 1e3) / 1e3 + 0.0; }

void add_points(Json& json, const rack::NodeResponse& response) {
  Json frequencies = Json::array();
  Json gains = Json::array();
  for (const auto& point : response.points) {
    frequencies.push_back(point.frequency.megahertz());
    gains.push_back(in_thousandths(point.gain.value()));
  }
  json["frequency_mhz"] = std::move(frequencies);
  json["gain_db"] = std::move(gains);
}

// The window, and what becomes of carriers.
void add_picture(Json& json, const rack::NodePicture& picture, const plan::Segment& segment,
                 const plan::Node& node, const plan::Settings& settings) {
  const auto& [response, own, window, through] = picture;
  if (response.passband)
    add_window(json, node.datasheet->filters[settings.filter], settings.centre);
  json["carriers"] = {{"own", names_json(own)},
                      {"passed", names_json(window.passed)},
                      {"outside", names_json(window.outside)},
                      {"let_in", names_json(window.let_in)}};
  Json gains = Json::object();
  for (std::size_t i = 0; i < segment.carriers.size(); ++i)
    gains[segment.carriers[i].name.text] = {{"gain_db", in_thousandths(through[i].gain.value())},
                                            {"down_db", in_thousandths(through[i].down.value())}};
  json["through"] = std::move(gains);
}

Json carrier_json(const plan::Carrier& carrier, bool live) {
  Json receivers = Json::array();
  for (const auto& receiver : carrier.receivers) receivers.push_back(receiver.text);
  return {{"name", carrier.name.text},
          {"use", plan::name_of(carrier.use)},
          {"frequency_mhz", carrier.frequency.megahertz()},
          {"bandwidth_khz", static_cast<double>(carrier.bandwidth.hertz()) / 1e3},
          {"live", live},
          {"receivers", std::move(receivers)}};
}

// `number`: of a value, in the unit that the member names.
template <class T, class Number>
Json steps_json(const plan::Steps<T>& steps, const Number& number) {
  return {{"lowest", number(steps.lowest)},
          {"highest", number(steps.highest)},
          {"step", number(steps.step)}};
}

}  // namespace

Json render_allowed(const plan::RackPlan& plan, const plan::Node& node) {
  Json json = Json::object();
  if (const auto gains = plan.gains_of(node))
    json["gain_db"] = steps_json(*gains, [](rf::Gain gain) { return gain.decibels(); });
  Json filters = Json::array();
  for (const auto& filter : node.datasheet->filters) {
    Json described = {{"name", filter.name}, {"width_mhz", filter.width.megahertz()}};
    if (const auto& tuning = filter.tuning)
      described["centre_mhz"] =
          steps_json(*tuning, [](rf::Frequency centre) { return centre.megahertz(); });
    else
      described["passband_mhz"] = band_json(filter.fixed);
    filters.push_back(std::move(described));
  }
  json["filters"] = std::move(filters);
  json["label_longest"] = protocol::longest_label;
  json["power"] = {true, false};
  return json;
}

Json render(const rack::NodePicture& picture, const plan::Segment& segment, const plan::Node& node,
            const plan::Settings& settings) {
  Json json = {{"node", node.name.text}, {"settings", render(settings, *node.datasheet)}};
  add_picture(json, picture, segment, node, settings);
  add_points(json, picture.response);
  return json;
}

Json render_spectrum(const plan::RackPlan& plan, const plan::Segment& segment, const rf::Band& span,
                     const std::vector<bool>& live, const std::vector<rack::NodeSpectrum>& nodes,
                     const std::vector<std::optional<plan::Settings>>& in_force,
                     const std::vector<bool>& seen) {
  Json carriers = Json::array();
  for (std::size_t i = 0; i < segment.carriers.size(); ++i) {
    auto carrier = carrier_json(segment.carriers[i], live[i]);
    Json levels = Json::object();
    for (const auto& node : nodes)
      if (const auto& level = node.levels[i]; level && std::isfinite(level->dbm()))
        levels[node.node.text] = in_thousandths(level->dbm());
    carrier["at_nodes"] = std::move(levels);
    carriers.push_back(std::move(carrier));
  }
  Json responses = Json::array();
  Json products = Json::array();
  for (std::size_t i = 0; i < nodes.size(); ++i) {
    const auto& node = nodes[i];
    if (node.picture) {
      Json told = {{"node", node.node.text}, {"basis", seen[i] ? "seen" : "wanted"}};
      told["passive"] = node.passive;
      add_picture(told, *node.picture, segment, plan.nodes[i], *in_force[i]);
      Json response = Json::object();
      add_points(response, node.picture->response);
      told["response"] = std::move(response);
      responses.push_back(std::move(told));
    }
    for (const auto& product : node.products)
      products.push_back({{"node", node.node.text},
                          {"carriers", product.carriers},
                          {"order", product.order == rf::Order::fifth ? 5 : 3},
                          {"at_mhz", product.at.megahertz()},
                          {"level_dbm", in_thousandths(product.level.dbm())},
                          {"lands_on", product.lands_on.text}});
  }
  return {{"segment", segment.name.text},         {"span_mhz", band_json(span)},
          {"lanes", render(segment).at("lanes")}, {"carriers", std::move(carriers)},
          {"nodes", std::move(responses)},        {"products", std::move(products)}};
}

}  // namespace catwalk::web
