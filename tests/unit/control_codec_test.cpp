// SPDX-License-Identifier: Apache-2.0
#include "daemon/control/osc_codec.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <limits>

using namespace catwalk;
using namespace catwalk::control;
using protocol::Bytes;

namespace {

Bytes operator+(Bytes one, const Bytes& other) {
  one.insert(one.end(), other.begin(), other.end());
  return one;
}

// Padded with zeros to a multiple of four, one at least.
Bytes osc_string(const std::string& content) {
  Bytes bytes{content.begin(), content.end()};
  bytes.resize((content.size() / 4 + 1) * 4);
  return bytes;
}

Bytes big_endian(std::uint64_t value, std::size_t width) {
  Bytes bytes;
  protocol::put(bytes, value, width);
  return bytes;
}

Bytes bundle_bytes(std::uint64_t tag, const std::vector<Bytes>& elements) {
  Bytes bytes = osc_string("#bundle") + big_endian(tag, 8);
  for (const auto& element : elements) bytes = bytes + big_endian(element.size(), 4) + element;
  return bytes;
}

const Bytes go_bytes = osc_string("/catwalk/go") + osc_string(",s") + osc_string("finale");

std::string fault(const Bytes& bytes) {
  const auto packet = read_packet(bytes);
  return packet ? "none" : std::string{packet.error().why};
}

std::vector<std::string> addresses(const Bytes& bytes) {
  const auto packet = read_packet(bytes);
  REQUIRE(packet);
  std::vector<std::string> all;
  for (const auto& one : packet->messages) all.push_back(one.message.address);
  return all;
}

const Message everything{
    "/all",
    {std::int32_t{-7}, 1.5F, std::string{"text"}, std::numeric_limits<std::int64_t>::min(), 2.25,
     true, false, 'x', TimeTag{0x0123'4567'89AB'CDEF}, Nil{}, Infinitum{}}};

}  // namespace

TEST_CASE("a message of every type is read back as it was written") {
  const auto packet = read_packet(write_message(everything));
  REQUIRE(packet);
  REQUIRE(packet->messages.size() == 1);
  CHECK(packet->messages[0].message == everything);
}

TEST_CASE("an alternate string counts as a string") {
  const auto packet = read_packet(osc_string("/a") + osc_string(",S") + osc_string("symbol"));
  REQUIRE(packet);
  CHECK(packet->messages[0].message.arguments == std::vector<Argument>{std::string{"symbol"}});
}

TEST_CASE("a message cut short at any byte is malformed, wherever it stands") {
  const Bytes whole = write_message(everything);
  REQUIRE(read_packet(whole));
  // Cut after its address, it is what old senders write.
  for (std::size_t size = 0; size < whole.size(); ++size) {
    CAPTURE(size);
    CHECK(static_cast<bool>(read_packet(
              Bytes(whole.begin(), whole.begin() + static_cast<std::ptrdiff_t>(size)))) ==
          (size == osc_string("/all").size()));
  }
  const Bytes two = bundle_bytes(1, {go_bytes, whole});
  for (std::size_t size = 0; size < two.size(); ++size) {
    CAPTURE(size);
    const auto packet =
        read_packet(Bytes(two.begin(), two.begin() + static_cast<std::ptrdiff_t>(size)));
    // Between two elements a bundle may end: nothing says how many it has.
    CHECK(static_cast<bool>(packet) == (size == 16 || size == 16 + 4 + go_bytes.size()));
  }
}

TEST_CASE("a message that ends with its address has no arguments") {
  const auto packet = read_packet(osc_string("/catwalk/abort"));
  REQUIRE(packet);
  CHECK(packet->messages[0].message == Message{"/catwalk/abort", {}});
  CHECK(write_message({"/catwalk/abort", {}}) == osc_string("/catwalk/abort") + osc_string(","));
}

TEST_CASE("what is no packet is told apart") {
  CHECK(fault({}) == "it is empty");
  CHECK(fault(Bytes(longest_packet + 4, '/')) == "it is too long");
  CHECK(fault({'/', 'a', 0}) == "its size is no multiple of 4");
  CHECK(fault(osc_string("catwalk") + osc_string(",")) == "a message has no address");
  CHECK(fault({'/', 'a', 'b', 'c'}) == "a message has no address");
  CHECK(fault(osc_string("/a") + osc_string("s") + osc_string("x")) ==
        "a message has no type tags");
  CHECK(fault(osc_string("/a") + Bytes{',', 's', 's', 's'}) == "a message has no type tags");
  const std::string lying = "the arguments of a message are not what its type tags say";
  CHECK(fault(osc_string("/a") + osc_string(",s")) == lying);
  CHECK(fault(osc_string("/a") + osc_string(",i") + osc_string("two words")) == lying);
  CHECK(fault(osc_string("/a") + osc_string(",s") + Bytes{'o', 'p', 'e', 'n'}) == lying);
  CHECK(fault(osc_string("/a") + osc_string(",h") + big_endian(1, 4)) == lying);
  CHECK(fault(osc_string("/a") + Bytes{',', 's', 0, 'x'} + osc_string("padded")) == lying);
}

TEST_CASE("a message with arguments of a type that is not read is left out, and the others stay") {
  for (const auto* types : {",b", ",sb", ",r", ",m", ",[i]", ",q", ",s,"}) {
    CAPTURE(types);
    const auto packet = read_packet(bundle_bytes(
        1, {go_bytes, osc_string("/a") + osc_string(types), osc_string("/b") + osc_string(",")}));
    REQUIRE(packet);
    CHECK(packet->unread == 1);
    REQUIRE(packet->messages.size() == 2);
    CHECK(packet->messages[1].message.address == "/b");
  }
}

TEST_CASE("bundles within bundles are laid flat, each message with the time of its own") {
  const auto inner = bundle_bytes(
      900, {osc_string("/inner/1") + osc_string(","), osc_string("/inner/2") + osc_string(",")});
  const auto packet = read_packet(bundle_bytes(
      500, {osc_string("/first") + osc_string(","), inner, osc_string("/last") + osc_string(",")}));
  REQUIRE(packet);
  std::vector<std::pair<std::string, std::uint64_t>> read;
  for (const auto& one : packet->messages) read.emplace_back(one.message.address, one.when.bits);
  CHECK(read == std::vector<std::pair<std::string, std::uint64_t>>{
                    {"/first", 500}, {"/inner/1", 900}, {"/inner/2", 900}, {"/last", 500}});
}

TEST_CASE("a bundle is read whole or not at all") {
  const auto good = osc_string("/good") + osc_string(",");
  CHECK(fault(bundle_bytes(1, {good, osc_string("/bad") + osc_string(",s")})) ==
        "the arguments of a message are not what its type tags say");
  CHECK(fault(bundle_bytes(1, {good, {}})) == "a bundle has an empty element");
  CHECK(fault(bundle_bytes(1, {good}) + big_endian(4, 4)) == "an element of a bundle is cut short");
  CHECK(fault(bundle_bytes(1, {good}) + big_endian(0xFFFF'FFFC, 4)) ==
        "an element of a bundle is cut short");
  CHECK(fault(bundle_bytes(1, {Bytes{'/', 'a', 0}})) == "its size is no multiple of 4");
  CHECK(fault(osc_string("#bundle")) == "a bundle has no time tag");
  CHECK(fault(osc_string("#bundle") + big_endian(0, 4)) == "a bundle has no time tag");
  CHECK(fault(bundle_bytes(500, {bundle_bytes(499, {good})})) ==
        "a bundle is to be carried out before the one around it");
  CHECK(addresses(bundle_bytes(1, {})).empty());
}

TEST_CASE("bundles nest four deep") {
  Bytes nested = osc_string("/deep") + osc_string(",");
  for (int i = 0; i < deepest_bundle; ++i) nested = bundle_bytes(1, {nested});
  CHECK(addresses(nested) == std::vector<std::string>{"/deep"});
  CHECK(fault(bundle_bytes(1, {nested})) == "bundles are nested too deeply");
}

TEST_CASE("a packet holds 64 messages, those left out included") {
  std::vector<Bytes> elements(most_messages, osc_string("/a") + osc_string(","));
  elements[3] = osc_string("/a") + osc_string(",b");
  CHECK(addresses(bundle_bytes(1, elements)).size() == most_messages - 1);
  elements.push_back(osc_string("/a") + osc_string(","));
  CHECK(fault(bundle_bytes(1, elements)) == "it holds too many messages");
}

TEST_CASE("the longest packet is read") {
  const auto around = osc_string("/a").size() + osc_string(",s").size() + 4;
  const auto longest =
      osc_string("/a") + osc_string(",s") + osc_string(std::string(longest_packet - around, 'x'));
  REQUIRE(longest.size() == longest_packet);
  CHECK(read_packet(longest));
}
