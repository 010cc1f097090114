// SPDX-License-Identifier: Apache-2.0
#pragma once
// What stays where it is: neither copied nor moved, since others hold on to it.

namespace catwalk {

class Pinned {
 public:
  Pinned(const Pinned&) = delete;
  Pinned& operator=(const Pinned&) = delete;

 protected:
  Pinned() = default;
  ~Pinned() = default;
};

}  // namespace catwalk
