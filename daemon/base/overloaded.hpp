// SPDX-License-Identifier: Apache-2.0
#pragma once
// One function object out of several, for std::visit.

namespace catwalk {

template <class... Cases>
struct Overloaded : Cases... {
  using Cases::operator()...;
};
template <class... Cases>
Overloaded(Cases...) -> Overloaded<Cases...>;

}  // namespace catwalk
