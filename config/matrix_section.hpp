// SPDX-License-Identifier: Apache-2.0
#pragma once
// The "matrices" of a rack file, and what is plugged into them where.

#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "config/cable_file.hpp"
#include "config/line_section.hpp"
#include "config/rack_facts.hpp"
#include "config/rack_sections.hpp"
#include "config/reader.hpp"
#include "daemon/plan/matrix.hpp"

namespace catwalk::config {

class MatrixSection {
 public:
  // Absent: none.
  MatrixSection(const Cursor& at, const Datasheets& datasheets, LineSection& lines);

  // The outputs that end at inputs of other matrices. Before anything else is plugged.
  void read_onward(const Cables& cables);

  // Where a feed ends, where a branch begins: {"matrix": …, "input": …}. Nothing: it is absent, or
  // wrong, which is reported. An input has one antenna, an output leads to one branch.
  std::optional<plan::InputOf> read_input(const Cursor& at);
  std::optional<plan::OutputOf> read_output(const Cursor& at);

  // Reports what both branches of a receiver take, which would be no diversity: the second has this
  // output, `taken` are the inputs of the first.
  void check_diversity(const Cursor& at, const plan::OutputOf& output,
                       std::set<plan::InputOf>& taken) const;

  // Once all is plugged: a branch that hears nothing is reported, a name or uid that a node has as
  // well.
  void check(const RackFacts& facts, const std::vector<plan::Node>& nodes) const;
  std::vector<plan::Matrix> take() { return std::move(matrices_); }
  // By name, of wrong ones too.
  const std::map<std::string, MatrixFacts>& facts() const { return facts_; }
  bool incomplete() const { return incomplete_; }

 private:
  std::optional<plan::Matrix> read(const Cursor& at, const Datasheets& datasheets,
                                   LineSection& lines);
  std::shared_ptr<const plan::MatrixSheet> read_datasheet_name(const Cursor& at,
                                                               const Datasheets& datasheets) const;
  std::optional<plan::OnLine> read_line(const Object& object, LineSection& lines);
  // What this output takes by its routes, as far as antennas can end there: of what comes by
  // another matrix, that one's inputs.
  std::vector<plan::InputOf> inputs_of(const plan::OutputOf& output) const;
  // Of the matrix that `at` names: the number of its socket; nothing: reported, or not to be known.
  // `more`: members that it may have beside.
  std::optional<std::pair<plan::NodeName, std::size_t>> read_socket(
      const Cursor& at, const char* what, const std::vector<std::string>& more = {});
  void read_onward(const Cursor& at, const Cables& cables, plan::Matrix& matrix);
  // Is it known which antennas come by this output?
  bool routes_known(const plan::OutputOf& output) const;

  std::vector<plan::Matrix> matrices_;
  std::map<std::string, Cursor> names_;  // of all, wrong ones too
  std::map<std::string, MatrixFacts> facts_;
  std::map<plan::NodeName, Cursor> ends_at_;
  Once<std::string> each_name_;
  Once<NodeUid> each_uid_;
  std::map<NodeUid, Cursor> uids_;
  Once<plan::InputOf> inputs_;
  Once<plan::OutputOf> outputs_;
  std::vector<plan::InputOf> plugged_;
  std::vector<std::pair<plan::OutputOf, Cursor>> heard_;
  std::set<plan::NodeName> unknown_routes_;  // set from here, or wrong, which has been reported
  bool incomplete_ = false;
};

}  // namespace catwalk::config
