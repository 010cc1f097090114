// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a node says that has bad memory, is of another type, or lies: any value that the wire can
// carry in the place of the right one, often at an end of its range; a wait or a refusal in the
// place of an answer. The same for the same seed.

#include "drivers/line/faults.hpp"
#include "protocol/message.hpp"

namespace catwalk::drivers {

class Liar {
 public:
  explicit Liar(std::uint64_t seed) : dice_{seed} {}

  // In the place of this answer, which may be left as it is.
  protocol::Reply operator()(protocol::Reply reply);

 private:
  protocol::Reading instead_of(protocol::Reading reading);
  protocol::Part instead_of(protocol::Part part);
  // What readings of all kinds of nodes have in common.
  template <class Telling>
  void spoil_state(Telling& told);
  std::uint64_t any(std::uint64_t last);
  bool lies() { return dice_.below(2) == 0; }
  template <class Number>
  void spoil(Number& number);

  Dice dice_;
};

}  // namespace catwalk::drivers
