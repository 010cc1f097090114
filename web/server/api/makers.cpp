// SPDX-License-Identifier: Apache-2.0
#include "web/server/api/makers.hpp"

namespace catwalk::web {

Makers::Seat Makers::begin(const std::string& asker) {
  if (busy_->size() >= most || busy_->count(asker) >= most_of_one) return nullptr;
  busy_->insert(asker);
  return {new std::string{asker}, [busy = busy_](const std::string* held) {
            busy->erase(busy->find(*held));
            delete held;
          }};
}

}  // namespace catwalk::web
