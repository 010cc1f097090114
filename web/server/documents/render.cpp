// SPDX-License-Identifier: Apache-2.0
#include "web/server/documents/render.hpp"

#include <algorithm>
#include <cstdio>

#include "daemon/base/text.hpp"
#include "web/server/documents/condition.hpp"
#include "web/server/documents/render_matrix.hpp"

namespace catwalk::web {
namespace {

// A setting's value, in the unit that its member names.
double figure_of(rf::Gain gain) { return gain.decibels(); }
double figure_of(rf::Frequency centre) { return centre.megahertz(); }
template <class Value>
const Value& figure_of(const Value& value) {
  return value;
}

constexpr std::string_view age_mark = R"("age_ms":"@","quality":"@")";

Json telemetry_json(const protocol::Telemetry& telemetry) {
  return {{"supply_v", telemetry.supply_mv / 1000.0},
          {"supply_ma", telemetry.supply_ma},
          {"temperature_c", telemetry.temperature_ddegc / 10.0},
          {"detector_dbm", telemetry.detector_cdbm / 100.0},
          {"uptime_s", telemetry.uptime_s},
          {"boots", telemetry.boots},
          {"powered", telemetry.powered},
          {"locally_changed", telemetry.locally_changed},
          {"locating", telemetry.locating}};
}

// Major and minor.
std::string version_text(std::uint16_t firmware) {
  return std::to_string(firmware >> 8) + '.' + std::to_string(firmware & 0xFF);
}

std::int64_t age_ms(const rack::Seen& seen, rack::TimePoint now) {
  const auto age = std::chrono::duration_cast<std::chrono::milliseconds>(now - seen.at);
  return std::max<std::int64_t>(0, age.count());  // the wall clock may have been set back
}

Json conditions_json(const rack::NodeView& node) {
  Json all = Json::array();
  for (auto& condition : conditions_of(node)) {
    Json told = {{"level", name_of(condition.level)},
                 {"kind", condition.kind},
                 {"word", std::move(condition.word)}};
    if (!condition.sentence.empty()) told["sentence"] = std::move(condition.sentence);
    all.push_back(std::move(told));
  }
  return all;
}

// Those that products land on too strongly, or may, as its verdict has it.
Json harmed_by_products(const rack::Verdict& standing) {
  Json names = Json::array();
  for (const auto& finding : standing.findings) {
    const bool of_products = finding.rule == rack::Rule::intermodulation_on_carrier ||
                             finding.rule == rack::Rule::near_compression;
    if (!of_products || finding.severity == rack::Severity::note || finding.concerns.empty())
      continue;
    const Json name = finding.concerns.front();  // the others make the product
    if (std::ranges::find(names, name) == names.end()) names.push_back(name);
  }
  return names;
}

Json seen_carriers_json(const rack::NodeView& node) {
  Json json = {{"own", names_json(node.own)}};
  if (node.outside) json["outside"] = names_json(*node.outside);
  if (node.let_in) json["let_in"] = names_json(*node.let_in);
  json["harmed"] = harmed_by_products(node.standing);
  return json;
}

Json render_settings(const rack::NodeView& node, const plan::NodeSettings& settings) {
  if (const auto* own = settings.amplifier(); own != nullptr && node.datasheet)
    return render(*own, *node.datasheet);
  if (const auto* own = settings.matrix(); own != nullptr && node.matrix_sheet)
    return render(*own, *node.matrix_sheet);
  return Json::object();
}

// What an amplifier has that a matrix has not.
void add_of_amplifier(Json& json, const rack::NodeView& node) {
  json["place"] = place_of(node);
  Json serves = Json::array();
  for (const auto& [receiver, branch] : node.serves)
    serves.push_back({{"receiver", receiver.text}, {"branch", branch}});
  json["serves"] = std::move(serves);
  if (const auto& fed = node.fed_by)
    json["fed_by"] = {{"matrix", fed->matrix.text}, {"input", fed->input}};
  if (const auto& limits = node.gain_limits)
    json["gain_limits_db"] = {limits->lowest.decibels(), limits->highest.decibels()};
  json["carriers"] = seen_carriers_json(node);
}

Json seen_json(const rack::NodeView& node, const rack::Seen& seen) {
  Json json = {{"settings", render_settings(node, seen.settings)},
               {"telemetry", telemetry_json(seen.reading.telemetry)},
               {"epoch", seen.reading.epoch.value},
               {"read_at", time_text(seen.at)}};
  const auto* own = seen.settings.amplifier();
  if (own == nullptr) json["telemetry"].erase("detector_dbm");  // a matrix has none
  const bool passive = (own != nullptr && !own->power) || !seen.reading.telemetry.powered;
  json["passive"] = passive;
  if (own != nullptr && !passive && own->filter < node.datasheet->filters.size())
    add_window(json, node.datasheet->filters[own->filter], own->centre);
  json["age_ms"] = "@";
  json["quality"] = "@";
  return json;
}

Json render_all_but_age(const rack::NodeView& node) {
  Json json = {{"name", node.name.text},
               {"uid", node.uid.text()},
               {"line", node.line.text},
               {"type", node.type()},
               {node.datasheet ? "hangs" : "stands", node.hangs},
               {"on_return", plan::name_of(node.on_return)},
               {"link", rack::name_of(node.link)},
               {"agreement", rack::name_of(node.agreement)}};
  if (node.datasheet) add_of_amplifier(json, node);
  if (node.identity) {
    json["firmware"] = version_text(node.identity->firmware);
    json["reported_type"] = node.identity->type;
  }
  if (node.wanted) json["wanted"] = render_wanted(node);
  if (node.planned) json["planned"] = render_settings(node, *node.planned);
  if (node.seen) json["seen"] = seen_json(node, *node.seen);
  if (node.change)
    json["change"] = {{"id", node.change->id},
                      {"stage", rack::name_of(node.change->stage)},
                      {"who", node.change->who},
                      {"settings", render_settings(node, node.change->after)}};
  json["findings"] = render(node.standing);
  json["conditions"] = conditions_json(node);
  return json;
}

}  // namespace

std::string json_text(const Json& json) {
  return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

std::string time_text(rack::TimePoint at) {
  const auto day = std::chrono::floor<std::chrono::days>(at);
  const auto second = std::chrono::floor<std::chrono::seconds>(at - day);
  char micros[16];
  std::snprintf(micros, sizeof micros, ".%06dZ", static_cast<int>((at - day - second).count()));
  return plan::in_words(std::chrono::year_month_day{day}) + 'T' + plan::in_words(second) + micros;
}

Json names_json(const rack::CarrierNames& names) {
  Json json = Json::array();
  for (const auto& name : names) json.push_back(name.text);
  return json;
}

void add_window(Json& json, const plan::Filter& filter, rf::Frequency centre) {
  json["passband_mhz"] = band_json(filter.passband(centre));
  json["skirt_mhz"] = filter.skirt.megahertz();
}

std::string_view quality_of(const rack::NodeView& node, rack::TimePoint now) {
  if (!node.seen) return "none";
  if (node.link != rack::Link::answering || now - node.seen->at > stale_after) return "stale";
  return node.simulated ? "simulated" : "good";
}

Json render(const plan::Settings& settings, const plan::Datasheet& datasheet) {
  Json json = Json::object();
  plan::for_each_setting([&](auto field) {
    const auto member = std::string{member_of(field.setting)};
    if constexpr (field.setting == Setting::filter)
      json[member] = settings.filter < datasheet.filters.size()
                         ? datasheet.filters[settings.filter].name
                         : "no. " + std::to_string(settings.filter);
    else if (field.setting != Setting::centre || settings.centre != rf::Frequency{})
      json[member] = figure_of(field.of(settings));
  });
  return json;
}

Json render(const plan::NodeSettings& settings, const plan::Device& device) {
  if (const auto* own = settings.amplifier(); own != nullptr && device.amplifier() != nullptr)
    return render(*own, *device.amplifier()->datasheet);
  if (const auto* own = settings.matrix(); own != nullptr && device.matrix() != nullptr)
    return render(*own, *device.matrix()->sheet);
  return Json::object();
}

Json render_wanted(const rack::NodeView& node) {
  Json json = render_settings(node, node.wanted->settings);
  json["revision"] = node.wanted->revision;
  return json;
}

Json render(const rack::Finding& finding) {
  Json numbers = Json::array();
  for (const auto& number : finding.numbers) {
    Json figure = {{"name", number.name}, {"value", number.value}};
    if (!number.unit.empty()) figure["unit"] = number.unit;
    numbers.push_back(std::move(figure));
  }
  Json json = {{"rule", rack::name_of(finding.rule)},
               {"severity", rack::name_of(finding.severity)}};
  if (!finding.node.text.empty()) json["node"] = finding.node.text;
  json["concerns"] = finding.concerns;
  json["numbers"] = std::move(numbers);
  json["sentence"] = finding.sentence;
  return json;
}

Json render(const rack::Verdict& verdict) {
  Json json = Json::array();
  for (const auto& finding : verdict.findings) json.push_back(render(finding));
  return json;
}

std::string_view would_be(const rack::Verdict& verdict) {
  return verdict.refuses() ? "refused" : verdict.needs_waiver() ? "needs-waiver" : "accepted";
}

Json render(const rack::ChangeView& change, const rack::Snapshot& snapshot) {
  Json json = {{"id", change.id},
               {"node", change.node.text},
               {"stage", rack::name_of(change.stage)},
               {"who", change.who},
               {"why", change.why},
               {"requested_at", time_text(change.requested)}};
  if (const auto device = plan::device_named(*snapshot.plan, change.node)) {
    json["before"] = render(change.before, *device);
    json["after"] = render(change.after, *device);
  }
  if (!change.reason.empty()) json["reason"] = change.reason;
  if (change.ended) json["ended_at"] = time_text(*change.ended);
  return json;
}

Json render(const rack::LineView& line) {
  Json discovered = Json::array();
  for (const auto& found : line.discovered) {
    Json device = {{"uid", found.uid.text()}};
    if (found.address.is_assignable()) device["address"] = found.address.value;
    if (found.node) device["node"] = found.node->text;
    if (!found.type.empty()) {
      device["type"] = found.type;
      device["firmware"] = version_text(found.firmware);
    }
    if (!found.endpoint.empty()) device["endpoint"] = found.endpoint;
    if (!found.doubt.empty()) device["doubt"] = found.doubt;
    discovered.push_back(std::move(device));
  }
  Json json = {{"name", line.name.text}, {"up", line.up && !line.unheard}};
  if (!line.reason.empty()) json["reason"] = line.reason;
  json["searching"] = line.searching;
  json["discovered"] = std::move(discovered);
  if (!line.trouble.empty()) json["trouble"] = line.trouble;
  return json;
}

Json render(const plan::Segment& segment) {
  Json lanes = Json::array();
  for (const auto& lane : segment.lanes) {
    Json described = {{"name", lane.name.text},
                      {"purpose", plan::name_of(lane.purpose)},
                      {"band_mhz", band_json(lane.band)}};
    if (!lane.why.empty()) described["why"] = lane.why;
    lanes.push_back(std::move(described));
  }
  Json carriers = Json::array();
  for (const auto& carrier : segment.carriers) {
    Json described = {{"name", carrier.name.text},
                      {"use", plan::name_of(carrier.use)},
                      {"frequency_mhz", carrier.frequency.megahertz()},
                      {"bandwidth_khz", static_cast<double>(carrier.bandwidth.hertz()) / 1e3}};
    if (carrier.modulation) described["modulation"] = rf::name_of(*carrier.modulation);
    if (carrier.erp) described["erp_dbm"] = carrier.erp->dbm();
    if (carrier.early) described["early"] = true;
    if (carrier.late) described["late"] = true;
    if (!carrier.held_by.empty()) described["held_by"] = carrier.held_by;
    Json receivers = Json::array();
    for (const auto& receiver : carrier.receivers) receivers.push_back(receiver.text);
    described["receivers"] = std::move(receivers);
    carriers.push_back(std::move(described));
  }
  Json settings = Json::object();
  for (const auto& [node, patch] : segment.settings) {
    Json asked_of_node = Json::object();
    plan::for_each_setting([&](auto field) {
      if (const auto& asked = field.asked_of(patch))
        asked_of_node[std::string{member_of(field.setting)}] = figure_of(*asked);
    });
    settings[node.text] = std::move(asked_of_node);
  }
  for (const auto& [matrix, patch] : segment.matrices) settings[matrix.text] = render(patch);
  return {{"name", segment.name.text},
          {"title", segment.title},
          {"lanes", std::move(lanes)},
          {"carriers", std::move(carriers)},
          {"settings", std::move(settings)},
          {"if_a_node_fails", plan::name_of(segment.if_a_node_fails)}};
}

Json render(const rack::StoredEntry& row) {
  const auto& entry = row.entry;
  Json json = {{"sequence", row.sequence},
               {"at", time_text(entry.at)},
               {"kind", rack::name_of(entry.kind)},
               {"who", made_plain(entry.who)}};
  // Rows may be older than the rule for text, or of another hand; the page shows them as they come.
  const auto add = [&json](const char* name, const std::string& text) {
    if (!text.empty()) json[name] = made_plain(text, "\xEF\xBF\xBD", LineFeeds::kept);
  };
  add("node", entry.node);
  if (entry.change != 0) json["change"] = entry.change;
  add("segment", entry.segment);
  add("what", entry.what);
  add("why", entry.why);
  add("verdict", entry.verdict);
  add("waiver", entry.waiver);
  add("fate", entry.fate);
  return json;
}

Json render(const rack::NodeView& node, rack::TimePoint now) {
  auto json = render_all_but_age(node);
  if (node.seen) {
    json["seen"]["age_ms"] = age_ms(*node.seen, now);
    json["seen"]["quality"] = quality_of(node, now);
  }
  return json;
}

Json render_rack(const rack::Snapshot& snapshot) {
  Json json = {{"name", snapshot.plan->name},
               {"region", snapshot.plan->region.empty() ? "unknown" : snapshot.plan->region},
               {"revision", snapshot.revision},
               {"segment", snapshot.segment.text},
               {"epoch", snapshot.epoch.value},
               {"control", rack::name_of(snapshot.control)},
               {"locked", snapshot.lock.has_value()},
               {"stale_after_ms", std::chrono::milliseconds{stale_after}.count()}};
  if (!snapshot.watching_because.empty()) json["watching_because"] = snapshot.watching_because;
  if (snapshot.other_heard) json["other_heard"] = time_text(*snapshot.other_heard);
  Json not_ours = Json::array();
  for (const auto& node : snapshot.nodes)
    if (node->held) not_ours.push_back(node->name.text);
  if (!not_ours.empty()) json["not_ours"] = std::move(not_ours);
  if (snapshot.lock)
    json["lock"] = {{"who", snapshot.lock->who},
                    {"why", snapshot.lock->why},
                    {"since", time_text(snapshot.lock->since)}};
  Json segments = Json::array();
  for (const auto& segment : snapshot.plan->segments)
    segments.push_back({{"name", segment.name.text}, {"title", segment.title}});
  json["segments"] = std::move(segments);
  return json;
}

std::string NodeTexts::text(const rack::NodeViewPtr& node, rack::TimePoint now) {
  auto& kept = kept_[node->name.text];
  if (kept.node != node) {
    auto whole = json_text(render_all_but_age(*node));
    const auto mark = whole.find(age_mark);
    kept.node = node;
    kept.after = mark == std::string::npos ? "" : whole.substr(mark + age_mark.size());
    kept.before = mark == std::string::npos ? std::move(whole) : whole.substr(0, mark);
  }
  if (!node->seen) return kept.before;
  std::string text;
  text.reserve(kept.before.size() + kept.after.size() + 64);
  text += kept.before;
  text += "\"age_ms\":" + std::to_string(age_ms(*node->seen, now)) + ",\"quality\":\"";
  text += quality_of(*node, now);
  text += '"';
  text += kept.after;
  return text;
}

}  // namespace catwalk::web
