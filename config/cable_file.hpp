// SPDX-License-Identifier: Apache-2.0
#pragma once
// A cable table: what coaxial cable types lose. Its schema is schemas/cables.schema.json.

#include <map>
#include <memory>
#include <string>

#include "config/reader.hpp"
#include "daemon/rf/feed.hpp"

namespace catwalk::config {

struct Cables {
  // By type. Null: the type is known, but something else is wrong with its entry.
  std::map<std::string, std::shared_ptr<const rf::CableType>> by_type;
  // Some entry has no type of its own, or the table could not be read: a type that is not found
  // here may yet be meant.
  bool incomplete = false;
};

constexpr std::size_t longest_cable_type = 48;

// The types that could be read; what is wrong with the others has been reported.
Cables read_cables(const Cursor& root);

}  // namespace catwalk::config
