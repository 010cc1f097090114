// SPDX-License-Identifier: Apache-2.0
// The messages whose bytes Matt Wright published in "Examples Supporting the OpenSoundControl 1.0
// Spec", version 1.0, 29 March 2002 (opensoundcontrol.stanford.edu/spec-1_0-examples.html), and the
// layout of bundles as "The Open Sound Control 1.0 Specification", 26 March 2002, describes it.
#include <doctest/doctest.h>

#include <string>

#include "daemon/control/osc_codec.hpp"

using namespace catwalk;
using namespace catwalk::control;

namespace {

protocol::Bytes hex(const std::string& text) {
  protocol::Bytes bytes;
  for (std::size_t i = 0; i < text.size();) {
    if (text[i] == ' ') {
      ++i;
      continue;
    }
    bytes.push_back(static_cast<std::uint8_t>(std::stoul(text.substr(i, 2), nullptr, 16)));
    i += 2;
  }
  return bytes;
}

struct Published {
  protocol::Bytes bytes;
  Message message;
};

// "The OSC Message with the OSC Address Pattern "/oscillator/4/frequency" and the floating point
// number 440.0 as the single argument would be represented by the following 32-byte message"
const Published oscillator{hex("2f 6f 73 63 69 6c 6c 61 74 6f 72 2f 34 2f 66 72"
                               "65 71 75 65 6e 63 79 00 2c 66 00 00 43 dc 00 00"),
                           {"/oscillator/4/frequency", {440.0F}}};

// "the 40 bytes in the representation of the OSC Message with OSC Address Pattern "/foo" and 5
// arguments: the int32 1000, the int32 -1, the string "hello", the float32 1.234, the float32
// 5.678"
const Published foo{
    hex("2f 66 6f 6f 00 00 00 00 2c 69 69 73 66 66 00 00 00 00 03 e8"
        "ff ff ff ff 68 65 6c 6c 6f 00 00 00 3f 9d f3 b6 40 b5 b2 2d"),
    {"/foo", {std::int32_t{1000}, std::int32_t{-1}, std::string{"hello"}, 1.234F, 5.678F}}};

}  // namespace

TEST_CASE("the published messages are read as they are described") {
  for (const auto& one : {oscillator, foo}) {
    const auto packet = read_packet(one.bytes);
    REQUIRE(packet);
    REQUIRE(packet->messages.size() == 1);
    CHECK(packet->messages[0].message == one.message);
    CHECK(packet->messages[0].when == TimeTag::immediately());
  }
}

TEST_CASE("the published messages are written byte for byte") {
  CHECK(oscillator.bytes.size() == 32);
  CHECK(foo.bytes.size() == 40);
  for (const auto& one : {oscillator, foo}) CHECK(write_message(one.message) == one.bytes);
}

// "An OSC Bundle consists of the OSC-string "#bundle" followed by an OSC Time Tag, followed by zero
// or more OSC Bundle Elements"; "An OSC Bundle Element consists of its size and its contents. The
// size is an int32"; "The time tag value consisting of 63 zero bits followed by a one in the least
// signifigant bit is a special case meaning "immediately.""
TEST_CASE("a bundle of the published messages is laid out as the specification says") {
  auto bytes = hex("23 62 75 6e 64 6c 65 00 00 00 00 00 00 00 00 01 00 00 00 20");
  bytes.insert(bytes.end(), oscillator.bytes.begin(), oscillator.bytes.end());
  const auto size = hex("00 00 00 28");
  bytes.insert(bytes.end(), size.begin(), size.end());
  bytes.insert(bytes.end(), foo.bytes.begin(), foo.bytes.end());
  CHECK(write_bundle({oscillator.message, foo.message}) == bytes);
  const auto packet = read_packet(bytes);
  REQUIRE(packet);
  REQUIRE(packet->messages.size() == 2);
  CHECK(packet->messages[0].message == oscillator.message);
  CHECK(packet->messages[1].message == foo.message);
}

// "OSC-string examples" of the same page.
TEST_CASE("a string ends with a zero and fills four bytes") {
  const auto osc = write_message({"/a", {std::string{"OSC"}}});
  CHECK(protocol::Bytes{osc.begin() + 8, osc.end()} == hex("4f 53 43 00"));
  const auto data = write_message({"/a", {std::string{"data"}}});
  CHECK(protocol::Bytes{data.begin() + 8, data.end()} == hex("64 61 74 61 00 00 00 00"));
}
