// SPDX-License-Identifier: Apache-2.0
#pragma once
// The "datasheets" and "nodes" of a rack file.

#include <filesystem>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "config/chain_section.hpp"
#include "config/documents.hpp"
#include "config/line_section.hpp"
#include "config/rack_facts.hpp"
#include "config/reader.hpp"
#include "daemon/plan/rack_plan.hpp"

namespace catwalk::config {

class MatrixSection;

struct Datasheets {
  // By type. Null: the type is known, but something else in its file is wrong.
  std::map<std::string, std::shared_ptr<const plan::Datasheet>> by_type;
  std::map<std::string, std::shared_ptr<const plan::MatrixSheet>> matrices;  // likewise
  // A file could not be read as far as its type, so that a type not found here may yet exist.
  bool incomplete = false;
};

// A member that names a file, counted from `folder`.
Cursor open_reference(const Cursor& at, const std::filesystem::path& folder, Documents& documents);

Datasheets read_datasheets(const Cursor& at, const std::filesystem::path& folder,
                           Documents& documents);

// Nothing if the member is absent or wrong.
std::optional<plan::GainLimits> read_gain_limits(const Cursor& at);

// Puts the nodes on their lines as well. `facts` receives every node that has a name, `uses` the
// cables of those.
std::vector<plan::Node> read_nodes(const Cursor& at, const Datasheets& datasheets,
                                   const Cables& cables,
                                   const std::optional<plan::GainLimits>& rack_limits,
                                   LineSection& lines, MatrixSection& matrices, RackFacts& facts,
                                   std::vector<CableUse>& uses);

}  // namespace catwalk::config
