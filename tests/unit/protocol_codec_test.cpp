// SPDX-License-Identifier: Apache-2.0
#include <doctest/doctest.h>

#include <string>

#include "protocol/codec.hpp"
#include "protocol/matrix_codec.hpp"
#include "protocol/parts.hpp"

using namespace catwalk::protocol;

namespace {

struct Malformed {
  const char* what;
  Bytes bytes;
  ParseCode code;
  std::size_t offset;
  const char* sentence;
};

// A stage with the label "abc", as in PROTOCOL.md, section 4.1.
Bytes stage() {
  return {1, 5,    9, 3,    0,    0,    0,    7, 0, 0,   4,   0xB1,
          2, 0x58, 0, 0x21, 0xBC, 0x79, 0x80, 1, 3, 'a', 'b', 'c'};
}
Bytes with(Bytes bytes, std::size_t at, std::uint8_t value) {
  bytes.at(at) = value;
  return bytes;
}
Bytes cut(Bytes bytes, std::size_t length) {
  bytes.resize(length);
  return bytes;
}

}  // namespace

TEST_CASE("every malformed packet is refused with its reason, its place and a sentence") {
  const Bytes uid_of_all{0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF};
  const Malformed cases[] = {
      {"nothing", {}, ParseCode::too_short, 0, "packet: 0 bytes, a header has 4 (byte 0)"},
      {"half a header",
       {1, 5, 9},
       ParseCode::too_short,
       3,
       "packet: 3 bytes, a header has 4 (byte 3)"},
      {"version 2",
       {2, 5, 9, 1},
       ParseCode::version_unknown,
       0,
       "packet: version is 2, known is 1 (byte 0)"},
      {"address 248",
       {1, 248, 9, 1},
       ParseCode::address_invalid,
       1,
       "packet: address is 248, allowed 0 to 247 or 255 (byte 1)"},
      {"type 17", {1, 5, 9, 17}, ParseCode::type_unknown, 3, "packet: type 17 is unknown (byte 3)"},
      {"a reclaim to epoch 0",
       {1, 5, 9, 12, 0, 0, 0, 0},
       ParseCode::value_invalid,
       4,
       "reclaim: epoch is 0, allowed 1 to 4294967295 (byte 4)"},
      {"type 0", {1, 5, 9, 0}, ParseCode::type_unknown, 3, "packet: type 0 is unknown (byte 3)"},
      {"a read with a body",
       {1, 5, 9, 2, 0},
       ParseCode::trailing_bytes,
       4,
       "read: 1 bytes too many (byte 4)"},
      {"a stage without its end", cut(stage(), 17), ParseCode::too_short, 17,
       "stage: ends before the end of centre (byte 17)"},
      {"a stage with ticket 0", with(with(stage(), 10, 0), 11, 0), ParseCode::ticket_invalid, 8,
       "stage: ticket is 0, allowed 1 to 4294967295 (byte 8)"},
      {"power 2", with(stage(), 19, 2), ParseCode::bool_invalid, 19,
       "stage: power is 2, allowed 0 or 1 (byte 19)"},
      {"a label of 17", with(stage(), 20, 17), ParseCode::text_too_long, 20,
       "stage: label has 17 bytes, allowed up to 16 (byte 20)"},
      {"a label past the end", with(stage(), 20, 4), ParseCode::length_wrong, 20,
       "stage: label claims 4 bytes, 3 follow (byte 20)"},
      {"a label that ends early", with(stage(), 20, 2), ParseCode::trailing_bytes, 23,
       "stage: 1 bytes too many (byte 23)"},
      {"a label that is not UTF-8", with(stage(), 22, 0xFF), ParseCode::text_invalid, 21,
       "stage: label holds bytes that are not allowed (byte 21)"},
      {"a prefix of 49 bits",
       {1, 0, 9, 8, 49, 0, 0, 0, 0, 0, 0},
       ParseCode::prefix_invalid,
       4,
       "find: prefix has 49 bits, allowed up to 48 (byte 4)"},
      {"bits past the prefix",
       {1, 0, 9, 8, 4, 0xF8, 0, 0, 0, 0, 0},
       ParseCode::prefix_invalid,
       5,
       "find: bits are set past the end of the prefix (byte 5)"},
      {"mute for all",
       {1, 0, 9, 9, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF},
       ParseCode::uid_invalid,
       4,
       "mute: uid names every node (byte 4)"},
      {"assign of 0",
       {1, 0, 9, 11, 0, 0, 0, 0, 0, 1, 0},
       ParseCode::address_invalid,
       10,
       "assign: address is 0, allowed 1 to 247 (byte 10)"},
      {"assign of 255",
       {1, 0, 9, 11, 0, 0, 0, 0, 0, 1, 255},
       ParseCode::address_invalid,
       10,
       "assign: address is 255, allowed 1 to 247 (byte 10)"},
      {"found at 250",
       {1, 5, 9, 0x44, 0, 0, 0, 0, 0, 1, 250},
       ParseCode::address_invalid,
       10,
       "found: address is 250, allowed 1 to 247 or 255 (byte 10)"},
      {"an identity without a type",
       {1, 5, 9, 0x41, 0, 0, 0, 0, 0, 1, 5, 0, 0, 0, 1, 1, 0, 0},
       ParseCode::text_invalid,
       18,
       "identity: type holds bytes that are not allowed (byte 18)"},
      {"a type of 25",
       {1, 5, 9, 0x41, 0, 0, 0, 0, 0, 1, 5, 0, 0, 0, 1, 1, 0, 25},
       ParseCode::text_too_long,
       17,
       "identity: type has 25 bytes, allowed up to 24 (byte 17)"},
      {"wait 0",
       {1, 5, 9, 0x7E, 0},
       ParseCode::value_invalid,
       4,
       "wait: wait is 0, allowed 1 to 255 (byte 4)"},
      {"reason 0",
       {1, 5, 9, 0x7F, 0, 0, 0, 0, 0},
       ParseCode::value_invalid,
       4,
       "refusal: reason is 0, allowed 1 to 18 (byte 4)"},
      {"reason 19",
       {1, 5, 9, 0x7F, 19, 0, 0, 0, 0},
       ParseCode::value_invalid,
       4,
       "refusal: reason is 19, allowed 1 to 18 (byte 4)"},
      {"a part of what is not known",
       {1, 5, 9, 15, 3, 0},
       ParseCode::value_invalid,
       4,
       "read_part: what is 3, allowed 1 to 2 (byte 4)"},
      {"part 19",
       {1, 5, 9, 15, 1, 19},
       ParseCode::value_invalid,
       5,
       "read_part: part is 19, allowed 0 to 18 (byte 5)"},
      {"part 1 of 1",
       {1, 5, 9, 16, 0, 0, 0, 7, 0, 0, 0, 1, 1, 1, 1, 0},
       ParseCode::value_invalid,
       12,
       "stage_part: part is 1, allowed 0 to 0 (byte 12)"},
      {"a part of 20",
       {1, 5, 9, 16, 0, 0, 0, 7, 0, 0, 0, 1, 0, 20, 1, 0},
       ParseCode::value_invalid,
       13,
       "stage_part: parts is 20, allowed 1 to 19 (byte 13)"},
      {"a first part that is not full",
       {1, 5, 9, 16, 0, 0, 0, 7, 0, 0, 0, 1, 0, 2, 1, 0},
       ParseCode::length_wrong,
       14,
       "stage_part: bytes claims 1 bytes, allowed 45 to 45, and 1 follow (byte 14)"},
      {"a part of nothing",
       {1, 5, 9, 0x48, 1, 0, 1, 0, 1, 0},
       ParseCode::length_wrong,
       9,
       "part: bytes claims 0 bytes, allowed 1 to 50, and 0 follow (byte 9)"},
      {"an amplifier with inputs",
       {1, 5, 9, 0x46, 1, 1, 2, 0},
       ParseCode::value_invalid,
       6,
       "kind: inputs is 2, allowed 0 to 0 (byte 6)"},
      {"a matrix without outputs",
       {1, 5, 9, 0x46, 1, 2, 12, 0},
       ParseCode::value_invalid,
       7,
       "kind: outputs is 0, allowed 1 to 32 (byte 7)"},
      {"a kind of node that nobody knows",
       {1, 5, 9, 0x46, 1, 3, 0, 0},
       ParseCode::value_invalid,
       5,
       "kind: kind is 3, allowed 1 to 2 (byte 5)"},
      {"61 bytes", cut({1, 5, 9, 3}, 61), ParseCode::too_long, 60,
       "packet: 61 bytes, allowed up to 60 (byte 60)"},
  };
  for (const Malformed& c : cases) {
    CAPTURE(c.what);
    const auto decoded = decode(c.bytes);
    REQUIRE_FALSE(decoded);
    CHECK(name_of(decoded.error().code) == name_of(c.code));
    CHECK(decoded.error().offset == c.offset);
    CHECK(decoded.error().sentence == c.sentence);
  }
}

namespace {

// Two inputs, two outputs.
Bytes matrix_bytes() {
  return {2, 2, 2, 'u', 'p', 0, 0, 0, 3, 0, 0, 0, 0, 0xFF, 0x9C, 0x2E, 0xE0, 1, 'q', 0, 0, 0, 0, 0};
}

struct MalformedWhole {
  const char* what;
  Bytes bytes;
  std::size_t offset;
  const char* sentence;
};

}  // namespace

TEST_CASE("settings of a matrix that are put together wrongly are refused with their place") {
  const auto good = decode_matrix_settings(matrix_bytes(), Labels::plain);
  REQUIRE(good);
  CHECK(*good == MatrixSettings{{3, 0}, {{-100, 12'000, "q"}, {0, 0, ""}}, "up"});
  CHECK(encode(*good) == matrix_bytes());
  const MalformedWhole cases[] = {
      {"no inputs", with(matrix_bytes(), 0, 0), 0,
       "matrix settings: inputs is 0, allowed 1 to 32 (byte 0)"},
      {"33 outputs", with(matrix_bytes(), 1, 33), 1,
       "matrix settings: outputs is 33, allowed 1 to 32 (byte 1)"},
      {"a label past the end", with(matrix_bytes(), 2, 16), 0, nullptr},
      {"input 3 of two", with(matrix_bytes(), 8, 4), 5,
       "matrix settings: output 1 takes an input above 2 (byte 5)"},
      {"a label of an input that is no text", with(matrix_bytes(), 18, 0x1B), 18,
       "matrix settings: label of an input holds bytes that are not allowed (byte 18)"},
      {"cut in an input", cut(matrix_bytes(), 21), 21,
       "matrix settings: ends before the end of supply (byte 21)"},
      {"nothing", {}, 0, "matrix settings: ends before the end of inputs (byte 0)"},
  };
  for (const auto& c : cases) {
    CAPTURE(c.what);
    const auto decoded = decode_matrix_settings(c.bytes, Labels::plain);
    REQUIRE_FALSE(decoded);
    if (c.sentence == nullptr) continue;
    CHECK(decoded.error().offset == c.offset);
    CHECK(decoded.error().sentence == c.sentence);
  }
  CHECK(decode_matrix_settings(with(matrix_bytes(), 18, 0x1B), Labels::any));
  CHECK(decode_inputs(Bytes{1, 0, 185, 0, 0})->size() == 1);
  CHECK(decode_inputs(Bytes{8, 0, 0, 0, 0}).error().sentence ==
        "inputs: flags is 8, allowed 0 to 7 (byte 0)");
  CHECK(decode_inputs(Bytes{1, 0, 0, 0}).error().sentence ==
        "inputs: ends before the end of level (byte 4)");
  CHECK_FALSE(decode_inputs(Bytes(5 * most_inputs + 5, 0)));
}

TEST_CASE("parts are taken in their order, and a late one only if it is the same") {
  const Bytes full(largest_staged_part, 7);
  const Bytes last{1, 2};
  Parts parts;
  const auto add = [&](std::uint8_t part, std::uint8_t of, const Bytes& bytes) {
    return parts.add(part, of, largest_staged_part, bytes);
  };
  CHECK_FALSE(add(1, 2, last));
  CHECK(add(0, 2, full));
  CHECK(parts.next() == 1);
  CHECK(add(0, 2, full));  // said again: nothing is lost
  CHECK(parts.next() == 1);
  CHECK_FALSE(add(1, 3, full));
  CHECK_FALSE(parts.complete());
  CHECK(add(1, 2, last));
  CHECK(parts.complete());
  CHECK(add(1, 2, last));
  CHECK_FALSE(add(1, 2, {1, 3}));
  CHECK(parts.bytes().size() == full.size() + 2);
  CHECK(add(0, 1, last));  // other settings, from the begin
  CHECK(parts.complete());
  CHECK(parts.bytes() == last);
}

TEST_CASE("what the wire cannot carry is written, but never read back") {
  Settings settings;
  for (const std::size_t length : {17U, 255U, 256U, 260U, 1000U}) {
    settings.label = std::string(length, 'a');
    CHECK_FALSE(decode(encode(Packet{{}, Request{Stage{{1}, {1}, settings}}})));
  }
  CHECK_FALSE(decode(encode(Packet{{Address{250}}, Request{Read{}}})));
  CHECK_FALSE(decode(encode(Packet{{}, Request{Apply{{1}, {0}}}})));
  CHECK_FALSE(decode(encode(Packet{{}, Reply{Identity{}}})));
}

TEST_CASE("the longest packet is as long as the buffers of a node") {
  Reading reading;
  reading.settings.label = std::string(longest_label, 'x');
  CHECK(encode(Packet{{}, Reply{reading}}).size() == longest_packet);
  CHECK(encode(Packet{{}, Reply{Report{reading}}}).size() == longest_packet);
  Identity identity{NodeUid{1, 1}, {1}, 1, 1, std::string(longest_type, 'x')};
  CHECK(encode(Packet{{}, Reply{identity}}).size() <= longest_packet);
}

TEST_CASE("a header can be read even where its body cannot") {
  const Bytes unknown{1, 5, 9, 0x33, 1, 2, 3};
  REQUIRE(header_of(unknown));
  CHECK(header_of(unknown)->address == Address{5});
  CHECK(header_of(unknown)->sequence == 9);
  CHECK_FALSE(header_of(Bytes{1, 5, 9}));
  CHECK_FALSE(header_of(Bytes{2, 5, 9, 1}));
  CHECK_FALSE(header_of(Bytes{1, 249, 9, 1}));
}
