// SPDX-License-Identifier: Apache-2.0
#pragma once
// What the store says when something did not work.

#include <string>
#include <system_error>

namespace catwalk::store {

struct StoreError {
  enum class Kind {
    failed,    // may work later: no room, a disk that is read-only or does not answer
    not_ours,  // no permission
    broken,    // the file is no journal, or not one any more
    in_use,    // by another program
    newer,     // of a later program, and whole: it is not touched
    no_copy,   // of an older program, and whole: nothing is changed of what no copy can be kept of
  };
  std::string sentence;
  Kind kind = Kind::failed;
};

// What the system says of something that it would not do.
inline StoreError refused_by_system(const std::string& doing, std::error_code error) {
  const bool forbidden =
      error == std::errc::permission_denied || error == std::errc::operation_not_permitted;
  return {doing + ": " + error.message(),
          forbidden ? StoreError::Kind::not_ours : StoreError::Kind::failed};
}

}  // namespace catwalk::store
