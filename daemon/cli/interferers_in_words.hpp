// SPDX-License-Identifier: Apache-2.0
#pragma once
// What interferes with a carrier, by who makes it, as people read it; and figures beside it.

#include <string>

#include "daemon/cli/wording.hpp"

namespace catwalk::cli {

// One decimal; a dash for what is not there.
std::string figure(const Json& object, const char* name);
// "-98.0 dBm"; "none" for what is not there.
std::string level(const Json& budget, const char* name);

// Of a chain that is explained: its products, what transmitters make in each other, and who stands
// where the receiver hears beside its channel; lines with a title each, empty if there is nothing.
std::string interferers_in_words(const Json& chain);

}  // namespace catwalk::cli
