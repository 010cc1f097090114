// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a client would rather have: RFC 9110, section 12.5.1.

#include <string_view>

namespace catwalk::web {

// How much this Accept wants the type, 0 to 1: by the range that names it most closely. `accept`
// empty: 1, since whoever says nothing takes anything.
double weight_of(std::string_view accept, std::string_view type);

// Does it name this type itself, not by a `*`?
bool names_type(std::string_view accept, std::string_view type);

}  // namespace catwalk::web
