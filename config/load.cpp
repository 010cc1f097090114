// SPDX-License-Identifier: Apache-2.0
#include "config/load.hpp"

#include <algorithm>

#include "config/band_file.hpp"
#include "config/cable_file.hpp"
#include "config/chain_section.hpp"
#include "config/documents.hpp"
#include "config/limits_section.hpp"
#include "config/line_section.hpp"
#include "config/line_timing.hpp"
#include "config/matrix_section.hpp"
#include "config/noise_section.hpp"
#include "config/propagation_section.hpp"
#include "config/rack_sections.hpp"
#include "config/receiver_section.hpp"
#include "config/rf_values.hpp"
#include "config/server_section.hpp"
#include "config/show_control_section.hpp"
#include "config/show_file.hpp"
#include "daemon/plan/routed.hpp"

namespace catwalk::config {
namespace {

std::filesystem::path state_dir_of(const Cursor& at, const std::filesystem::path& folder,
                                   const LoadOptions& options) {
  const std::string written = at.text(1, 1024).value_or("state");
  return options.state_dir.value_or((folder / written).lexically_normal());
}

// Without the member there are no types; of a file that cannot be read, nobody knows.
Cables read_cable_table(const Cursor& at, const std::filesystem::path& folder,
                        Documents& documents) {
  if (!at.present()) return {};
  const Cursor root = open_reference(at, folder, documents);
  if (root.present()) return read_cables(root);
  return {.by_type = {}, .incomplete = true};
}

RackFile read_rack(const Cursor& root, const std::filesystem::path& folder,
                   const LoadOptions& options, Documents& documents) {
  const Object object{root,
                      {"name", "lines", "datasheets", "nodes", "receivers", "show"},
                      {"$schema", "bands", "cables", "gain_limits_db", "journal_days", "limits",
                       "man_made_noise", "matrices", "propagation", "stands_at", "state_dir",
                       "server", "tokens", "local_users", "show_control"}};
  RackFile rack;
  RackFacts facts;
  rack.plan.name = object["name"].name().value_or("");
  rack.store.state_dir = state_dir_of(object["state_dir"], folder, options);
  if (const auto days = object["journal_days"].integer(30, 3'650))
    rack.store.journal_kept = std::chrono::days{*days};
  rack.plan.gain_limits = read_gain_limits(object["gain_limits_db"]);
  rack.plan.limits = read_limits(object["limits"]);
  rack.plan.propagation = read_propagation(object["propagation"]);
  rack.plan.man_made_noise = read_man_made_noise(object["man_made_noise"]);
  if (const Cursor at = object["stands_at"]; at.present())
    rack.plan.stands_at = read_position(Object{at, {"latitude", "longitude"}, {}});
  const Datasheets datasheets = read_datasheets(object["datasheets"], folder, documents);
  const Cables cables = read_cable_table(object["cables"], folder, documents);
  std::vector<CableUse> uses;
  LineSection lines{object["lines"], rack.store.state_dir, options, documents};
  MatrixSection matrices{object["matrices"], datasheets, lines};
  matrices.read_onward(cables);
  rack.plan.nodes = read_nodes(object["nodes"], datasheets, cables, rack.plan.gain_limits, lines,
                               matrices, facts, uses);
  rack.plan.receivers = read_receivers(object["receivers"], cables, matrices, facts, uses);
  matrices.check(facts, rack.plan.nodes);
  rack.plan.matrices = matrices.take();
  facts.matrices = matrices.facts();
  facts.matrices_incomplete = matrices.incomplete();
  if (const Cursor bands = open_reference(object["bands"], folder, documents); bands.present()) {
    rack.plan.bands = read_bands(bands);
    rack.plan.region = rack.plan.bands.region;
  }
  if (const Cursor at_show = open_reference(object["show"], folder, documents); at_show.present()) {
    Show show = read_show(at_show, facts);
    rack.plan.segments = std::move(show.segments);
    rack.plan.running_order = std::move(show.running_order);
  }
  check_cable_ranges(uses, plan::routed(rack.plan));
  rack.tokens = read_tokens(object["tokens"]);
  rack.local_users = read_local_users(object["local_users"], !rack.tokens.empty());
  rack.server =
      read_server(object["server"], !rack.tokens.empty(), rack.store.state_dir, documents);
  rack.show_control = read_show_control(object["show_control"]);
  for (const std::string& name : lines.names()) rack.plan.lines.push_back({name});
  rack.lines = std::move(lines).take();
  for (const LineSetup& line : rack.lines) rack.plan.line_timings[name_of(line)] = timing_of(line);
  return rack;
}

}  // namespace

Loaded load_from(const FileSource& source, const std::filesystem::path& rack_file,
                 const LoadOptions& options) {
  Loaded loaded;
  Documents documents{source, loaded.problems};
  if (const Cursor root = documents.open(rack_file, {}); root.present())
    loaded.rack = read_rack(root, rack_file.parent_path(), options, documents);
  if (!loaded.problems.empty()) loaded.rack.reset();

  // References are followed where they stand, so the problems of several files come interleaved.
  const auto place = [&](const Problem& problem) {
    return std::pair{documents.order_of(problem.file), problem.line};
  };
  // That there are more than these stays at the end.
  const bool cut = loaded.problems.size() == most_problems;
  const auto sorted_end = loaded.problems.end() - (cut ? 1 : 0);
  std::ranges::stable_sort(loaded.problems.begin(), sorted_end, {}, place);
  return loaded;
}

Loaded load(const std::filesystem::path& rack_file, const LoadOptions& options) {
  return load_from(read_from_disk, rack_file, options);
}

Loaded load_text(const std::map<std::string, std::string>& files, const std::string& rack_file) {
  const FileSource table =
      [&](const std::filesystem::path& path) -> std::variant<SourceFile, Unreadable> {
    const auto found = files.find(path.string());
    if (found == files.end()) return Unreadable{"there is no such file"};
    return SourceFile{.text = found->second};
  };
  return load_from(table, rack_file);
}

}  // namespace catwalk::config
