// SPDX-License-Identifier: Apache-2.0
#include <doctest/doctest.h>

#include "protocol/datagram.hpp"

using namespace catwalk::protocol;
using Verdict = ReplayWindow::Verdict;

namespace {

const Key key = *Key::from_bytes(Bytes(32, 1));
const Key other = *Key::from_bytes(Bytes(32, 2));
const Bytes packet{1, 0, 9, 2};
const Envelope envelope{Direction::to_node, NodeUid{0x7a10, 0x2f}, 7, 3, 41};

OpenError error_of(const Bytes& bytes, Direction expected = Direction::to_node,
                   const Key& with = key) {
  const auto opened = open(bytes, expected, with);
  REQUIRE_FALSE(opened);
  return opened.error();
}

Bytes changed(std::size_t at) {
  Bytes bytes = seal(envelope, packet, key);
  bytes[at] ^= 1;
  return bytes;
}

}  // namespace

TEST_CASE("what was sealed is opened with the same key, and with no other") {
  const Bytes sealed = seal(envelope, packet, key);
  CHECK(sealed.size() == shortest_datagram);
  const auto opened = open(sealed, Direction::to_node, key);
  REQUIRE(opened);
  CHECK(*opened == Datagram{envelope, packet});
  CHECK(error_of(sealed, Direction::to_node, other) == OpenError::forged);
}

TEST_CASE("a datagram that cannot be opened is refused with its reason") {
  const Bytes sealed = seal(envelope, packet, key);
  CHECK(error_of({}) == OpenError::too_short);
  CHECK(error_of(Bytes(sealed.begin(), sealed.end() - 1)) == OpenError::too_short);
  CHECK(error_of(Bytes(99, 0)) == OpenError::too_long);
  CHECK(error_of(changed(0)) == OpenError::magic);
  CHECK(error_of(changed(2)) == OpenError::version);
  CHECK(error_of(changed(3)) == OpenError::direction);
  // Sent back to who made it.
  CHECK(error_of(sealed, Direction::to_controller) == OpenError::direction);
  for (std::size_t at = 4; at < sealed.size(); ++at)
    CHECK(error_of(changed(at)) == OpenError::forged);
}

TEST_CASE("a key is 16 to 64 bytes, in hexadecimal with any white space") {
  CHECK_FALSE(Key::from_bytes(Bytes(15, 1)));
  CHECK(Key::from_bytes(Bytes(16, 1)));
  CHECK(Key::from_bytes(Bytes(64, 1)));
  CHECK_FALSE(Key::from_bytes(Bytes(65, 1)));
  const auto read = Key::from_hex("00010203 04050607\n08090a0b 0c0D0E0F\n");
  REQUIRE(read);
  CHECK(read->bytes().size() == 16);
  CHECK(read->bytes()[15] == 0x0F);
  CHECK_FALSE(Key::from_hex("000102030405060708090a0b0c0d0e0"));  // half a byte
  CHECK_FALSE(Key::from_hex("000102030405060708090a0b0c0d0e0x"));
  CHECK_FALSE(Key::from_hex(""));
}

// RFC 4303, section 3.4.3, with a window of 64.
TEST_CASE("a counter is taken once, in any order within 64 of the highest") {
  ReplayWindow window;
  CHECK(window.accept(1, 100) == Verdict::fresh);
  CHECK(window.accept(1, 100) == Verdict::replayed);
  CHECK(window.accept(1, 102) == Verdict::fresh);
  CHECK(window.accept(1, 101) == Verdict::fresh);
  CHECK(window.accept(1, 101) == Verdict::replayed);
  CHECK(window.accept(1, 102 - 63) == Verdict::fresh);
  CHECK(window.accept(1, 102 - 63) == Verdict::replayed);
  CHECK(window.accept(1, 102 - 64) == Verdict::too_old);
  CHECK(window.accept(1, 1) == Verdict::too_old);
}

TEST_CASE("a leap ahead empties the window, and everything before it is too old") {
  ReplayWindow window;
  for (std::uint32_t counter = 1; counter <= 64; ++counter) {
    CHECK(window.accept(1, counter) == Verdict::fresh);
  }
  CHECK(window.accept(1, 1) == Verdict::replayed);
  CHECK(window.accept(1, 65) == Verdict::fresh);
  CHECK(window.accept(1, 1) == Verdict::too_old);
  CHECK(window.accept(1, 65 + 64) == Verdict::fresh);
  CHECK(window.accept(1, 65) == Verdict::too_old);
  CHECK(window.accept(1, 66) == Verdict::fresh);  // leapt over, not seen
  CHECK(window.accept(1, 0xFFFF'FFFF) == Verdict::fresh);
  CHECK(window.accept(1, 0xFFFF'FFFF) == Verdict::replayed);
  CHECK(window.accept(1, 0xFFFF'FFFF - 63) == Verdict::fresh);
}

TEST_CASE("a higher session begins anew, a lower one is over") {
  ReplayWindow window;
  CHECK(window.accept(5, 1000) == Verdict::fresh);
  CHECK(window.accept(4, 2000) == Verdict::session_over);
  CHECK(window.accept(6, 1) == Verdict::fresh);
  CHECK(window.accept(5, 1001) == Verdict::session_over);
  CHECK(window.session() == 6);
  ReplayWindow from_memory{6};
  CHECK(from_memory.accept(5, 1) == Verdict::session_over);
  CHECK(from_memory.accept(6, 3) == Verdict::fresh);
  CHECK(from_memory.accept(6, 3) == Verdict::replayed);
  CHECK(from_memory.accept(6, 2) == Verdict::fresh);
}
