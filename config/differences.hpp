// SPDX-License-Identifier: Apache-2.0
#pragma once
// Lists of named things, changed by what a segment says is different from an earlier one.

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "config/reader.hpp"

namespace catwalk::config {

// In the place of the one of the same name, or at the end.
template <class Item>
void put(std::vector<Item>& items, Item item) {
  const auto found = std::ranges::find(items, item.name, &Item::name);
  if (found != items.end())
    *found = std::move(item);
  else
    items.push_back(std::move(item));
}

// Takes out what the list at `at` names. `what` is "a lane of \"arrival\"". If the items are known
// to be incomplete, a name that is not among them is not reported.
template <class Item>
void drop(std::vector<Item>& items, const Cursor& at, std::size_t most, const std::string& what,
          bool incomplete) {
  std::vector<std::string> known;
  for (const Item& item : items) known.push_back(item.name.text);
  Once<std::string> names;
  for (const Cursor& element : at.elements(0, most)) {
    const auto name = element.name();
    if (!name || !names.add(*name, element) ||
        !known_or_reported(element, *name, what, known, incomplete))
      continue;
    std::erase_if(items, [&](const Item& item) { return item.name.text == *name; });
  }
}

}  // namespace catwalk::config
