// SPDX-License-Identifier: Apache-2.0
#include "config/segment_section.hpp"

#include "config/carrier_section.hpp"
#include "config/differences.hpp"
#include "config/lane_section.hpp"
#include "config/matrix_settings.hpp"
#include "config/node_settings.hpp"

namespace catwalk::config {
namespace {

using plan::IfNodeFails;

using AllSettings = std::map<plan::NodeName, plan::SettingsPatch>;
using AllRoutes = std::map<plan::NodeName, plan::MatrixPatch>;

Object members_of(const Cursor& at) {
  if (at.member_if_any("differs_from").present())
    return {at,
            {"name", "title", "differs_from"},
            {"lanes", "carriers", "settings", "without", "if_a_node_fails"}};
  return {at,
          {"name", "title", "lanes", "carriers", "settings"},
          {"if_a_node_fails", "differs_from", "without"}};
}

// Nodes whose settings go away stay as they are.
void drop_settings(plan::Segment& segment, const Cursor& at, const std::string& from,
                   bool incomplete) {
  struct Named {
    plan::NodeName name;
  };
  std::vector<Named> nodes;
  for (const auto& [name, patch] : segment.settings) nodes.push_back({name});
  for (const auto& [name, patch] : segment.matrices) nodes.push_back({name});
  drop(nodes, at, most_named_nodes, "a node that " + from + " has settings for", incomplete);
  const auto is_dropped = [&](const auto& each) {
    return std::ranges::find(nodes, each.first, &Named::name) == nodes.end();
  };
  std::erase_if(segment.settings, is_dropped);
  std::erase_if(segment.matrices, is_dropped);
}

void drop_named(plan::Segment& segment, const Cursor& at, const RackFacts& rack, bool incomplete) {
  if (!at.present()) return;
  const Object without{at, {}, {"lanes", "carriers", "settings"}};
  const std::string from = in_quotes(segment.name.text);
  drop(segment.lanes, without["lanes"], most_lanes, "a lane of " + from, incomplete);
  drop(segment.carriers, without["carriers"], most_carriers, "a carrier of " + from, incomplete);
  drop_settings(segment, without["settings"], from,
                incomplete || rack.nodes_incomplete || rack.matrices_incomplete);
}

void read_routes_of(const Cursor& at, const plan::NodeName& name, const MatrixFacts& facts,
                    AllRoutes& matrices) {
  if (!facts.set_from_here) {
    at.report_about(in_quotes(name.text) + " is on no line, so that nobody sets it from here",
                    "matrices that have a \"line\"");
    return;
  }
  if (facts.sheet == nullptr) return;
  auto& patch = matrices[name];
  patch = read_matrix_patch(at, *facts.sheet, patch);
}

// Settings are those of a node or of a matrix that is set from here.
void report_nobody(const Cursor& at, const std::string& name, const RackFacts& rack) {
  auto known = keys_of(rack.nodes);
  for (const auto& [matrix, facts] : rack.matrices)
    if (facts.set_from_here) known.push_back(matrix);
  key_known_or_reported(at, name, rack.matrices.empty() ? "a node" : "a node or a matrix", known,
                        rack.nodes_incomplete || rack.matrices_incomplete);
}

void read_settings(const Cursor& at, const RackFacts& rack, bool incomplete, AllSettings& settings,
                   AllRoutes& matrices) {
  for (const auto& [name, cursor] : at.members(most_named_nodes)) {
    if (const auto matrix = rack.matrices.find(name); matrix != rack.matrices.end()) {
      read_routes_of(cursor, {name}, matrix->second, matrices);
      continue;
    }
    const auto node = rack.nodes.find(name);
    if (node == rack.nodes.end()) {
      report_nobody(cursor, name, rack);
      continue;
    }
    plan::SettingsPatch& patch = settings[{name}];
    patch = read_settings_patch(cursor, node->second, patch, incomplete);
  }
}

void check_count(const Cursor& at, std::size_t count, std::size_t most, const std::string& from) {
  if (count > most)
    at.report_about("makes " + std::to_string(count) + " with those of " + from,
                    "at most " + std::to_string(most) + " in a segment");
}

std::size_t size_of(const plan::Segment& segment) {
  std::size_t size = segment.lanes.size() + segment.settings.size() + segment.matrices.size();
  for (const plan::Carrier& carrier : segment.carriers)
    size += 1 + carrier.receivers.size() + carrier.isolations.size();
  return size;
}

}  // namespace

SegmentSection::SegmentSection(const Cursor& at, const RackFacts& rack) : rack_{rack} {
  const std::vector<Cursor> elements = at.elements(1, most_segments);
  incomplete_ = elements.empty();
  for (const Cursor& element : elements) add(read(element), element.member_if_any("name"));
}

SegmentSection::Read SegmentSection::earlier(const Cursor& at) const {
  const auto name = at.name();
  if (!name || !known_or_reported(at, *name, "an earlier segment", names_, incomplete_))
    return {.segment = {}, .faulty = true};
  return read_[static_cast<std::size_t>(std::ranges::find(names_, *name) - names_.begin())];
}

SegmentSection::Read SegmentSection::read(const Cursor& at) {
  const std::size_t problems_before = at.problems();
  const Object object = members_of(at);
  const Cursor at_earlier = object["differs_from"];
  Read read;
  if (at_earlier.present()) {
    read = earlier(at_earlier);
    drop_named(read.segment, object["without"], rack_, read.faulty);
  } else {
    object["without"].report("is given, but the segment differs from no other",
                             "the member \"differs_from\" beside it");
  }
  plan::Segment& segment = read.segment;
  const std::string from = in_quotes(segment.name.text);
  segment.name = {object["name"].name().value_or("")};
  segment.title = object["title"].text(1, 80).value_or("");
  segment.if_a_node_fails =
      object["if_a_node_fails"].one_of<IfNodeFails>().value_or(IfNodeFails::roll_back);
  read_lanes(object["lanes"], segment.lanes);
  read_carriers(object["carriers"], rack_, segment.carriers);
  read_settings(object["settings"], rack_, read.faulty, segment.settings, segment.matrices);
  check_count(object["lanes"], segment.lanes.size(), most_lanes, from);
  check_count(object["carriers"], segment.carriers.size(), most_carriers, from);

  // Once it is too much, which is said once, nothing more is kept.
  const bool was_enough = filled_in_ > most_filled_in;
  filled_in_ += size_of(segment);
  if (filled_in_ > most_filled_in) {
    if (!was_enough)
      at_earlier.report("repeats too much",
                        "at most " + std::to_string(most_filled_in) +
                            " lanes, carriers, settings and what carriers list, in all segments");
    segment.lanes.clear();
    segment.carriers.clear();
    segment.settings.clear();
    segment.matrices.clear();
  }
  read.faulty = read.faulty || at.problems() > problems_before;
  return read;
}

void SegmentSection::add(Read read, const Cursor& at_name) {
  const std::string name = read.segment.name.text;
  if (name.empty() || !once_.add(name, at_name)) {
    incomplete_ = true;
    return;
  }
  names_.push_back(name);
  read_.push_back(std::move(read));
}

std::vector<plan::Segment> SegmentSection::take() && {
  std::vector<plan::Segment> segments;
  for (Read& each : read_) segments.push_back(std::move(each.segment));
  return segments;
}

}  // namespace catwalk::config
