// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a text on the wire may hold.

#include <string_view>

namespace catwalk::protocol {

// Well-formed UTF-8 (The Unicode Standard, table 3-7) without control characters (U+0000 to U+001F,
// U+007F to U+009F). Empty is allowed.
bool is_label_text(std::string_view text);

// One or more of the printable ASCII characters 0x21 to 0x7E.
bool is_type_text(std::string_view text);

}  // namespace catwalk::protocol
