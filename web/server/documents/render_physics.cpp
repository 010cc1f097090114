// SPDX-License-Identifier: Apache-2.0
#include "web/server/documents/render_physics.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

namespace catwalk::web {
namespace {

void put(Json& json, const char* name, double value) {
  // Adding zero takes the sign from what rounds to nothing.
  if (std::isfinite(value)) json[name] = std::round(value * 1e3) / 1e3 + 0.0;
}
void put(Json& json, const char* name, rf::Decibel ratio) { put(json, name, ratio.value()); }
void put(Json& json, const char* name, rf::PowerLevel level) { put(json, name, level.dbm()); }
template <class Value>
void put(Json& json, const char* name, const std::optional<Value>& value) {
  if (value) put(json, name, *value);
}

Json stage_json(const rack::ExplainedStage& stage) {
  Json json = {{"name", stage.name}, {"label", stage.label}};
  put(json, "gain_db", stage.gain);
  put(json, "noise_figure_db", stage.noise_figure);
  put(json, "gain_so_far_db", stage.gain_so_far);
  put(json, "noise_figure_so_far_db", stage.noise_figure_so_far);
  put(json, "noise_dbm", stage.noise);
  put(json, "strongest_dbm", stage.strongest);
  put(json, "weakest_dbm", stage.weakest);
  put(json, "all_carriers_dbm", stage.all_carriers);
  put(json, "other_antennas_dbm", stage.other_antennas);
  put(json, "output_ip3_dbm", stage.output_ip3);
  put(json, "output_p1db_dbm", stage.output_p1db);
  put(json, "margin_db", stage.margin);
  return json;
}

Json budget_json(const rack::CarrierBudget& budget) {
  Json json = Json::object();
  put(json, "chain_gain_db", budget.chain_gain);
  put(json, "noise_figure_db", budget.noise_figure);
  if (budget.external_noise > rf::Decibel{}) put(json, "external_noise_db", budget.external_noise);
  put(json, "noise_dbm", budget.noise);
  for (const auto& [words, kind] : rack::words_of(rack::Interference{})) {
    std::string name{words};
    std::ranges::replace_if(
        name, [](char c) { return c == ' ' || c == '-'; }, '_');
    put(json, (name + "_dbm").c_str(), budget.of(kind));
  }
  put(json, "interference_dbm", budget.interference());
  put(json, "desensitisation_db", budget.desensitisation);
  put(json, "weakest_dbm", budget.weakest);
  put(json, "needed_dbm", budget.needed);
  if (budget.needed) json["needed_over"] = budget.protection_decides ? "interference" : "noise";
  put(json, "interference_costs_db", budget.interference_costs);
  put(json, "margin_db", budget.margin());
  return json;
}

Json products_json(const std::vector<rack::ExplainedProduct>& products) {
  Json all = Json::array();
  for (const auto& product : products) {
    Json told = {{"carriers", product.carriers},
                 {"order", product.order == rf::Order::fifth ? 5 : 3},
                 {"at_mhz", product.at.megahertz()}};
    put(told, "level_dbm", product.level);
    put(told, "share", product.share);
    if (!product.antenna.empty()) told["antenna"] = product.antenna;
    all.push_back(std::move(told));
  }
  return all;
}

Json chain_json(const rack::Explanation& chain) {
  Json json = {{"carrier", chain.carrier.text}};
  if (!chain.receiver.text.empty()) json["receiver"] = chain.receiver.text;
  json["frequency_mhz"] = chain.frequency.megahertz();
  json["bandwidth_khz"] = static_cast<double>(chain.bandwidth.hertz()) / 1e3;
  Json stages = Json::array();
  for (const auto& stage : chain.stages) stages.push_back(stage_json(stage));
  json["stages"] = std::move(stages);
  json["budget"] = budget_json(chain.budget);
  put(json["budget"], "margin_wanted_db", chain.margin_wanted);
  json["products"] = products_json(chain.products);
  Json strays = Json::array();
  for (const auto& stray : chain.strays) {
    Json told = {{"carrier", stray.carrier}, {"offset_mhz", stray.offset.megahertz()}};
    if (!stray.response.empty()) told["name"] = stray.response;
    put(told, "level_dbm", stray.level);
    strays.push_back(std::move(told));
  }
  json["spurious_responses"] = std::move(strays);
  Json outside = Json::array();
  for (const auto& product : chain.transmitter_products) {
    Json told = {
        {"own", product.own}, {"other", product.other}, {"at_mhz", product.at.megahertz()}};
    put(told, "level_dbm", product.level);
    put(told, "share", product.share);
    outside.push_back(std::move(told));
  }
  json["transmitter_products"] = std::move(outside);
  json["products_of_other_antennas"] = products_json(chain.brought);
  return json;
}

bool has_room(const rack::Room& room) {
  return room.down > rf::Gain{} || room.up > rf::Gain{} || room.lower > rf::Frequency{} ||
         room.higher > rf::Frequency{};
}

Json room_json(const rack::Room& room) {
  Json json = {{"down_db", room.down.decibels()},
               {"up_db", room.up.decibels()},
               {"lower_mhz", room.lower.megahertz()},
               {"higher_mhz", room.higher.megahertz()}};
  const auto stops = [&json](const char* name, const std::optional<rack::Rule>& rule) {
    if (rule) json[name] = rack::name_of(*rule);
  };
  stops("down_stops", room.down_stops);
  stops("up_stops", room.up_stops);
  stops("lower_stops", room.lower_stops);
  stops("higher_stops", room.higher_stops);
  return json;
}

}  // namespace

void add_explained(Json& json, const rack::Explained& explained) {
  json["carriers"] = names_json(explained.carriers);
  Json chains = Json::array();
  for (const auto& chain : explained.chains) chains.push_back(chain_json(chain));
  json["chains"] = std::move(chains);
  json["unknown"] = explained.unknown;
  json["assumed"] = explained.assumed;
}

Json render(const rack::Recommendation& recommendation, const plan::Datasheet& datasheet) {
  std::string limit{rack::name_of(recommendation.limited_by)};
  std::ranges::replace(limit, ' ', '-');
  Json json = {{"node", recommendation.node.text},
               {"settings", render(recommendation.settings, datasheet)},
               {"clean", recommendation.clean}};
  put(json, "margin_db", recommendation.margin);
  if (!recommendation.worst.text.empty()) json["worst_carrier"] = recommendation.worst.text;
  json["limited_by"] = limit;
  if (recommendation.clean || has_room(recommendation.room))
    json["room"] = room_json(recommendation.room);
  json["findings"] = render(recommendation.verdict);
  json["advice"] = recommendation.advice;
  return json;
}

}  // namespace catwalk::web
