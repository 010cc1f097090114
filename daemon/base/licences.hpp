// SPDX-License-Identifier: Apache-2.0
#pragma once
// What others have made that is in the programs and in the page, with their notices. Made by
// config/package/notices.mjs, in a library of its own: catwalk_licences.

#include <string_view>

namespace catwalk {

// Some tens of kilobytes of lines.
std::string_view licences();

}  // namespace catwalk
