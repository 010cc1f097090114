// SPDX-License-Identifier: Apache-2.0
#pragma once

namespace catwalk::test {

#ifdef CATWALK_SLOWED
constexpr bool slowed = true;
#else
constexpr bool slowed = false;
#endif

// How many of so many random tries are made: all of them where nothing slows them down, an eighth
// under sanitizers; tests/all.sh does both.
template <class Count>
constexpr Count share_of(Count tries) {
  return slowed ? tries / 8 : tries;
}

}  // namespace catwalk::test
