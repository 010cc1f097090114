// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a shell offers behind `catwalk`, out of the commands' own table. Names of nodes, segments
// and lines are asked of the daemon, unless another one than the usual is named in the line.

#include <string>

namespace catwalk::papers {

std::string completions_for_bash();
std::string completions_for_zsh();
std::string completions_for_fish();

}  // namespace catwalk::papers
