// SPDX-License-Identifier: Apache-2.0
#pragma once
// What the store says when something did not work.

#include <string>

namespace catwalk::store {

struct StoreError {
  enum class Kind {
    failed,    // may work later: no room, a disk that is read-only or does not answer
    not_ours,  // no permission
    broken,    // the file is no journal, or not one any more
    in_use,    // by another program
  };
  std::string sentence;
  Kind kind = Kind::failed;
};

}  // namespace catwalk::store
