// SPDX-License-Identifier: Apache-2.0
#include "web/server/api/pages.hpp"

#include <algorithm>
#include <iterator>
#include <utility>

namespace catwalk::web {

void read_pages(Gate& gate, Pages::Ask ask, Pages::Done done) {
  std::make_shared<Pages>(gate, std::move(ask), std::move(done))->read();
}

}  // namespace catwalk::web
