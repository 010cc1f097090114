// SPDX-License-Identifier: Apache-2.0
#include "config/rack_sections.hpp"

#include "config/datasheet_file.hpp"
#include "config/exact_number.hpp"
#include "config/matrix_file.hpp"
#include "config/matrix_section.hpp"
#include "config/rf_values.hpp"

namespace catwalk::config {
namespace {

using plan::OnReturn;

constexpr std::size_t most_nodes = 512;
constexpr std::size_t most_datasheets = 64;

std::string range_text(rf::Gain lowest, rf::Gain highest) {
  return decimal_text(lowest.centidecibels(), 2) + " to " +
         decimal_text(highest.centidecibels(), 2) + " dB";
}

void check_limits(const Object& node, const plan::GainLimits& limits,
                  const plan::Datasheet& sheet) {
  const auto check = [&](const char* member, rf::Gain gain) {
    if (!sheet.gains.reaches(gain))
      node["gain_limits_db"].member_if_any(member).report(
          "is outside what " + in_quotes(sheet.type) + " can do",
          range_text(sheet.gains.lowest, sheet.gains.highest));
  };
  check("lowest", limits.lowest);
  check("highest", limits.highest);
}

// Null: something in its file is wrong.
template <class Sheet>
std::shared_ptr<const Sheet> kept(std::optional<Sheet> sheet) {
  return sheet ? std::make_shared<const Sheet>(std::move(*sheet)) : nullptr;
}

class NodeReader {
 public:
  NodeReader(const Datasheets& datasheets, const Cables& cables,
             const std::optional<plan::GainLimits>& rack_limits, LineSection& lines,
             MatrixSection& matrices, RackFacts& facts, std::vector<CableUse>& uses)
      : datasheets_{datasheets},
        cables_{cables},
        rack_limits_{rack_limits},
        lines_{lines},
        matrices_{matrices},
        facts_{facts},
        uses_{uses} {}

  std::optional<plan::Node> read(const Cursor& at) {
    const Object object{at,
                        {"name", "uid", "line", "datasheet"},
                        {"address", "endpoint", "key_file", "hangs", "on_return", "gain_limits_db",
                         "antenna_gain_dbi", "lead", "feed", "ends_at", "place_m", "height_m"}};
    const auto name = object["name"].name();
    const auto uid = object["uid"].uid();
    if (uid) uids_.add(*uid, object["uid"]);
    const auto line = read_line(object, uid);
    const auto sheet = read_datasheet_name(object["datasheet"]);
    const auto hangs = object["hangs"].text(0, 80);
    const auto policy = object["on_return"].one_of<OnReturn>();
    const auto limits = read_gain_limits(object["gain_limits_db"]);
    if (limits && sheet) check_limits(object, *limits, *sheet);
    const auto antenna_gain = read_ratio(object["antenna_gain_dbi"], -20, 30, "dBi");
    const auto place = read_place(object["place_m"]);
    const auto height = read_height(object["height_m"]);
    const std::size_t first_use = uses_.size();
    plan::Chain lead = read_chain(object["lead"], cables_, uses_);
    std::optional<plan::Chain> feed;
    if (object["feed"].present()) feed = read_chain(object["feed"], cables_, uses_);
    const auto ends_at = matrices_.read_input(object["ends_at"]);

    if (!name || !names_.add(*name, object["name"])) {
      facts_.nodes_incomplete = true;
      uses_.erase(uses_.begin() + static_cast<std::ptrdiff_t>(first_use), uses_.end());
      return std::nullopt;
    }
    for (std::size_t i = first_use; i < uses_.size(); ++i) uses_[i].on = plan::NodeName{*name};
    facts_.nodes[*name] = {.datasheet = sheet,
                           .gain_limits = limits ? limits : rack_limits_,
                           .ends_at_matrix = object["ends_at"].present()};
    if (!uid || !line || !sheet) return std::nullopt;
    return plan::Node{.name = {*name},
                      .uid = *uid,
                      .line = {*line},
                      .datasheet = sheet,
                      .hangs = hangs.value_or(""),
                      .on_return = policy.value_or(OnReturn::hold),
                      .gain_limits = limits,
                      .simulated = lines_.is_simulated(*line),
                      .antenna_gain = antenna_gain,
                      .lead = std::move(lead),
                      .feed = std::move(feed),
                      .place = place,
                      .height = height,
                      .ends_at = ends_at};
  }

 private:
  std::optional<std::string> read_line(const Object& node, std::optional<NodeUid> uid) {
    auto line = node["line"].name();
    if (!line ||
        !known_or_reported(node["line"], *line, "a line", lines_.names(), lines_.incomplete()))
      return std::nullopt;
    lines_.add_node(node, uid, *line);
    return line;
  }

  std::shared_ptr<const plan::Datasheet> read_datasheet_name(const Cursor& at) {
    const auto type = at.name();
    if (!type) return nullptr;
    const auto found = datasheets_.by_type.find(*type);
    if (found != datasheets_.by_type.end()) return found->second;
    if (datasheets_.matrices.contains(*type))
      at.report("is a matrix, which has its place in \"matrices\"", "an amplifier's");
    else
      known_or_reported(at, *type, "a datasheet", keys_of(datasheets_.by_type),
                        datasheets_.incomplete);
    return nullptr;
  }

  const Datasheets& datasheets_;
  const Cables& cables_;
  const std::optional<plan::GainLimits>& rack_limits_;
  LineSection& lines_;
  MatrixSection& matrices_;
  RackFacts& facts_;
  std::vector<CableUse>& uses_;
  Once<std::string> names_;
  Once<NodeUid> uids_;
};

}  // namespace

Cursor open_reference(const Cursor& at, const std::filesystem::path& folder, Documents& documents) {
  const auto path = at.text(1, longest_path);
  if (!path) return {};
  return documents.open((folder / *path).lexically_normal(), at);
}

Datasheets read_datasheets(const Cursor& at, const std::filesystem::path& folder,
                           Documents& documents) {
  Datasheets datasheets;
  const std::vector<Cursor> elements = at.elements(1, most_datasheets);
  datasheets.incomplete = elements.empty();
  for (const Cursor& element : elements) {
    const Cursor root = open_reference(element, folder, documents);
    const auto kind = sheet_kind(root);
    auto amplifier = kind == SheetKind::amplifier ? read_datasheet(root) : std::nullopt;
    auto matrix = kind == SheetKind::matrix ? read_matrix_sheet(root) : std::nullopt;
    const std::string type = type_of(root);
    if (type.empty()) {
      datasheets.incomplete = true;
    } else if (datasheets.by_type.contains(type) || datasheets.matrices.contains(type)) {
      element.report("describes the type " + in_quotes(type) + " again", "one file for each type");
    } else if (kind == SheetKind::matrix) {
      datasheets.matrices[type] = kept(std::move(matrix));
    } else {
      datasheets.by_type[type] = kept(std::move(amplifier));
    }
  }
  return datasheets;
}

std::optional<plan::GainLimits> read_gain_limits(const Cursor& at) {
  if (!at.present()) return std::nullopt;
  const Object object{at, {"lowest", "highest"}, {}};
  const auto lowest = object["lowest"].decibels(lowest_any_gain, highest_any_gain);
  const auto highest = object["highest"].decibels(lowest_any_gain, highest_any_gain);
  if (!lowest || !highest) return std::nullopt;
  if (*highest < *lowest) {
    object["highest"].report("is below the lowest gain", range_text(*lowest, highest_any_gain));
    return std::nullopt;
  }
  return plan::GainLimits{.lowest = *lowest, .highest = *highest};
}

std::vector<plan::Node> read_nodes(const Cursor& at, const Datasheets& datasheets,
                                   const Cables& cables,
                                   const std::optional<plan::GainLimits>& rack_limits,
                                   LineSection& lines, MatrixSection& matrices, RackFacts& facts,
                                   std::vector<CableUse>& uses) {
  NodeReader reader{datasheets, cables, rack_limits, lines, matrices, facts, uses};
  facts.nodes_incomplete = !at.is_array();
  return at.elements(0, most_nodes, [&](const Cursor& element) { return reader.read(element); });
}

}  // namespace catwalk::config
