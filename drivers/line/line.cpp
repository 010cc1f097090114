// SPDX-License-Identifier: Apache-2.0
#include "drivers/line/line.hpp"

namespace catwalk::drivers {

std::string_view sentence_of(Doubt doubt) {
  switch (doubt) {
    case Doubt::none:
      return "";
    case Doubt::no_address:
      return "It has no address yet: locate it, or write it into the rack file, and it is given "
             "one.";
    case Doubt::address_shared:
      return "Its address is that of another node too: locate it, and it is given one of its own.";
    case Doubt::no_answer:
      return "It was found, but does not say what it is: look at its cable, and search again.";
    case Doubt::another_answers:
      return "Another node answers in its place: locate it to see which it is, and search again.";
    case Doubt::not_understood:
      return "What it says of itself cannot be understood: two nodes may share its address, or it "
             "is faulty.";
    case Doubt::not_asked:
      return "The line went down before it could say what it is: search again.";
  }
  return "";
}

}  // namespace catwalk::drivers
