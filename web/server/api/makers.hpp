// SPDX-License-Identifier: Apache-2.0
#pragma once
// How many tables and reports are made at a time.

#include <cstddef>
#include <memory>
#include <set>
#include <string>

namespace catwalk::web {

// Who has a table or a report made, which takes memory before it is sent: each asker a few at a
// time, and all together not many. For one thread.
class Makers {
 public:
  static constexpr std::size_t most = 4;
  static constexpr std::size_t most_of_one = 2;

  // Counts until its last copy is gone. Null: too many are being made now.
  using Seat = std::shared_ptr<const std::string>;
  Seat begin(const std::string& asker);

 private:
  std::shared_ptr<std::multiset<std::string>> busy_ =
      std::make_shared<std::multiset<std::string>>();
};

}  // namespace catwalk::web
