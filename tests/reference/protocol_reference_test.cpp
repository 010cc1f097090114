// SPDX-License-Identifier: Apache-2.0
// Check values that others have published, and the worked examples of PROTOCOL.md.
#include <doctest/doctest.h>

#include <algorithm>
#include <fstream>
#include <map>
#include <set>
#include <sstream>
#include <string>

#include "protocol/cobs.hpp"
#include "protocol/codec.hpp"
#include "protocol/crc16.hpp"
#include "protocol/datagram.hpp"
#include "protocol/discovery.hpp"
#include "protocol/frame.hpp"
#include "protocol/matrix_codec.hpp"
#include "protocol/parts.hpp"
#include "protocol/reclaim.hpp"

using namespace catwalk::protocol;

namespace {

Bytes bytes_of(std::string_view text) { return {text.begin(), text.end()}; }

Bytes from_hex(std::string_view text) {
  Bytes out;
  std::string digits;
  for (const char c : text) {
    if (c == ' ') continue;
    digits += c;
    if (digits.size() == 2) {
      out.push_back(static_cast<std::uint8_t>(std::stoul(digits, nullptr, 16)));
      digits.clear();
    }
  }
  REQUIRE(digits.empty());
  return out;
}

Bytes first_of(const FullMac& mac, std::size_t count) {
  return {mac.begin(), mac.begin() + static_cast<std::ptrdiff_t>(count)};
}

}  // namespace

// Catalogue of parametrised CRC algorithms (G. Cook), CRC-16/IBM-3740: width=16 poly=0x1021
// init=0xffff refin=false refout=false xorout=0x0000 check=0x29b1 residue=0x0000.
TEST_CASE("CRC-16/IBM-3740 has its catalogued check value and residue") {
  Bytes data = bytes_of("123456789");
  CHECK(crc16(data) == 0x29B1);
  put(data, 0x29B1, 2);
  CHECK(crc16(data) == 0x0000);
}

// Cheshire and Baker, "Consistent Overhead Byte Stuffing", IEEE/ACM ToN 7(2), 1999, section III:
// the encoding rules and the example of figure 3 (the start of an IP packet). From memory; each
// value also follows from the rules by hand.
TEST_CASE("COBS gives the paper's example") {
  const Bytes packet = from_hex("45 00 00 2C 4C 79 00 00 40 06 4F 37");
  const Bytes stuffed = from_hex("02 45 01 04 2C 4C 79 01 05 40 06 4F 37");
  CHECK(cobs_encode(packet) == stuffed);
  CHECK(cobs_decode(stuffed) == packet);
}

// The rules at their edges: what the paper's table I says of the codes 01, 02 … FE and FF.
TEST_CASE("COBS keeps the paper's rules at their edges") {
  const auto run = [](int first, int last) {
    Bytes out;
    for (int value = first; value <= last; ++value) out.push_back(static_cast<std::uint8_t>(value));
    return out;
  };
  const auto joined = [](std::initializer_list<Bytes> parts) {
    Bytes out;
    for (const Bytes& part : parts) out.insert(out.end(), part.begin(), part.end());
    return out;
  };
  const std::pair<Bytes, Bytes> cases[] = {
      {{}, {1}},
      {{0}, {1, 1}},
      {{0, 0}, {1, 1, 1}},
      {{0x11, 0x22, 0x00, 0x33}, {3, 0x11, 0x22, 2, 0x33}},
      {{0x11, 0x00, 0x00, 0x00}, {2, 0x11, 1, 1, 1}},
      {run(1, 253), joined({{0xFE}, run(1, 253)})},
      {run(1, 254), joined({{0xFF}, run(1, 254)})},  // 254 bytes: code FF, no zero implied
      {run(1, 255), joined({{0xFF}, run(1, 254), {2, 0xFF}})},
      {joined({run(1, 254), {0}}), joined({{0xFF}, run(1, 254), {1, 1}})},
      {joined({{0}, run(1, 254)}), joined({{1, 0xFF}, run(1, 254)})},
  };
  for (const auto& [data, stuffed] : cases) {
    const auto size = data.size();
    CAPTURE(size);
    CHECK(cobs_encode(data) == stuffed);
    CHECK(cobs_decode(stuffed) == data);
  }
  CHECK_FALSE(cobs_decode({}));
  CHECK_FALSE(cobs_decode(Bytes{3, 1}));  // points past the end
  CHECK_FALSE(cobs_decode(Bytes{2, 0}));  // a zero inside
  CHECK_FALSE(cobs_decode(Bytes{0}));
}

// RFC 4231, section 4: all seven test cases, HMAC-SHA-256. Case 5 is the one truncated to 128 bits.
TEST_CASE("HMAC-SHA-256 gives the results of RFC 4231") {
  struct Case {
    Bytes key;
    Bytes data;
    const char* mac;
  };
  Bytes counting;
  for (std::uint8_t value = 1; value <= 25; ++value) counting.push_back(value);
  const Case cases[] = {
      {Bytes(20, 0x0b), bytes_of("Hi There"),
       "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7"},
      {bytes_of("Jefe"), bytes_of("what do ya want for nothing?"),
       "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"},
      {Bytes(20, 0xaa), Bytes(50, 0xdd),
       "773ea91e36800e46854db8ebd09181a72959098b3ef8c122d9635514ced565fe"},
      {counting, Bytes(50, 0xcd),
       "82558a389a443c0ea4cc819899f2083a85f0faa3e578f8077a2e3ff46729665b"},
      {Bytes(20, 0x0c), bytes_of("Test With Truncation"), "a3b6167473100ee06e0c796c2955552b"},
      {Bytes(131, 0xaa), bytes_of("Test Using Larger Than Block-Size Key - Hash Key First"),
       "60e431591ee0b67f0d8a26aacbf5b77f8e0bc6213728c5140546040f0ee37f54"},
      {Bytes(131, 0xaa),
       bytes_of("This is a test using a larger than block-size key and a larger than block-size "
                "data. The key needs to be hashed before being used by the HMAC algorithm."),
       "9b09ffa71b942fcb27635fbcd5b0e944bfdc63644f0713938a7f51535c3a35e2"},
  };
  for (const Case& c : cases) {
    CAPTURE(c.mac);
    const Bytes expected = from_hex(c.mac);
    CHECK(first_of(hmac_sha256(c.key, c.data), expected.size()) == expected);
  }
}

// ---- the worked examples of PROTOCOL.md
// ----------------------------------------------------------

namespace {

using Fields = std::map<std::string, std::string>;

std::string document() {
  std::ifstream file{CATWALK_PROTOCOL_MD};
  REQUIRE(file);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

std::vector<Fields> examples() {
  std::vector<Fields> out;
  std::istringstream lines{document()};
  std::string line;
  bool inside = false;
  while (std::getline(lines, line)) {
    if (line == "```example") {
      inside = true;
      out.emplace_back();
    } else if (line == "```") {
      inside = false;
    } else if (inside) {
      const auto colon = line.find(':');
      REQUIRE(colon != std::string::npos);
      out.back()[line.substr(0, colon)] =
          line.size() > colon + 2 ? line.substr(colon + 2) : std::string{};
    }
  }
  return out;
}

template <class T = std::uint32_t>
T number(const Fields& fields, const char* name) {
  CAPTURE(name);
  const auto at = fields.find(name);
  REQUIRE(at != fields.end());
  return static_cast<T>(std::stoll(at->second, nullptr, 0));
}

NodeUid uid(const Fields& fields, const char* name = "uid") {
  const auto parsed = NodeUid::parse(fields.at(name));
  REQUIRE(parsed);
  return *parsed;
}

Settings settings(const Fields& f) {
  return {number<std::int16_t>(f, "gain"), number<std::uint8_t>(f, "filter"), number(f, "centre"),
          number<int>(f, "power") == 1, f.at("label")};
}

Reading reading(const Fields& f) {
  Reading r;
  r.epoch = {number(f, "epoch")};
  r.staged = {number(f, "staged")};
  r.applied = {number(f, "applied")};
  r.settings = settings(f);
  r.telemetry = {number<std::uint16_t>(f, "supply-mv"),
                 number<std::uint16_t>(f, "supply-ma"),
                 number<std::int16_t>(f, "temperature"),
                 number<std::int16_t>(f, "detector"),
                 number(f, "uptime"),
                 number(f, "boots"),
                 number<int>(f, "powered") == 1,
                 number<int>(f, "locally-changed") == 1,
                 number<int>(f, "locating") == 1};
  return r;
}

std::vector<std::string> split(const std::string& text, char at) {
  std::vector<std::string> words;
  std::istringstream in{text};
  for (std::string word; std::getline(in, word, at);) {
    if (word.starts_with(' ')) word.erase(0, 1);
    words.push_back(word);
  }
  if (text.ends_with(at)) words.emplace_back();
  return words;
}

MatrixSettings matrix_settings(const Fields& f) {
  MatrixSettings settings;
  for (const auto& word : split(f.at("outputs"), ' ')) {
    std::uint32_t inputs = 0;
    if (word != "none")
      for (const auto& input : split(word, '+')) inputs |= 1U << (std::stoul(input) - 1);
    settings.outputs.push_back(inputs);
  }
  for (const auto& word : split(f.at("inputs"), ',')) {
    const auto parts = split(word, '/');
    REQUIRE(parts.size() == 3);
    settings.inputs.push_back({static_cast<std::int16_t>(std::stoi(parts[0])),
                               static_cast<std::uint16_t>(std::stoi(parts[1])), parts[2]});
  }
  settings.label = f.at("label");
  return settings;
}

std::vector<InputMeasured> measured(const Fields& f) {
  std::vector<InputMeasured> inputs;
  for (const auto& word : split(f.at("measured"), ' ')) {
    const auto parts = split(word, '/');
    REQUIRE(parts.size() == 3);
    const auto flags = std::stoul(parts[0]);
    inputs.push_back({(flags & 1U) != 0, (flags & 2U) != 0, (flags & 4U) != 0,
                      static_cast<std::uint16_t>(std::stoi(parts[1])),
                      static_cast<std::int16_t>(std::stoi(parts[2]))});
  }
  return inputs;
}

MatrixReading matrix_reading(const Fields& f) {
  MatrixReading r;
  r.epoch = {number(f, "epoch")};
  r.staged = {number(f, "staged")};
  r.applied = {number(f, "applied")};
  r.telemetry = {number<std::uint16_t>(f, "supply-mv"),
                 number<std::uint16_t>(f, "supply-ma"),
                 number<std::int16_t>(f, "temperature"),
                 0,
                 number(f, "uptime"),
                 number(f, "boots"),
                 number<int>(f, "powered") == 1,
                 number<int>(f, "locally-changed") == 1,
                 number<int>(f, "locating") == 1};
  r.settings_number = number<std::uint16_t>(f, "settings-number");
  r.settings_parts = number<std::uint8_t>(f, "settings-parts");
  return r;
}

std::optional<Message> message_of_a_matrix(const Fields& f) {
  const std::string& name = f.at("message");
  const auto part = [&] { return number<std::uint8_t>(f, "part"); };
  const auto of = [&] { return static_cast<PartsOf>(number<std::uint8_t>(f, "of")); };
  if (name == "ask_kind") return Request{AskKind{}};
  if (name == "read_part") return Request{ReadPart{of(), part()}};
  if (name == "stage_part") {
    const auto whole = encode(matrix_settings(f));
    return Request{StagePart{{number(f, "epoch")},
                             {number(f, "ticket")},
                             part(),
                             number<std::uint8_t>(f, "parts"),
                             part_of(whole, part(), largest_staged_part)}};
  }
  if (name == "kind")
    return Reply{Kind{number<std::uint8_t>(f, "minor"),
                      static_cast<NodeKind>(number<std::uint8_t>(f, "kind")),
                      number<std::uint8_t>(f, "inputs"), number<std::uint8_t>(f, "outputs")}};
  if (name == "matrix_reading") return Reply{matrix_reading(f)};
  if (name == "matrix_report") return Reply{MatrixReport{matrix_reading(f)}};
  if (name == "part") {
    const auto whole = of() == PartsOf::inputs ? encode(measured(f)) : encode(matrix_settings(f));
    return Reply{Part{of(), number<std::uint16_t>(f, "settings-number"), part(),
                      number<std::uint8_t>(f, "parts"), part_of(whole, part(), largest_read_part)}};
  }
  return std::nullopt;
}

Message message(const Fields& f) {
  const std::string& name = f.at("message");
  if (const auto of_a_matrix = message_of_a_matrix(f)) return *of_a_matrix;
  if (name == "identify") return Request{Identify{}};
  if (name == "read") return Request{Read{}};
  if (name == "unmute") return Request{Unmute{}};
  if (name == "stage") {
    return Request{Stage{{number(f, "epoch")}, {number(f, "ticket")}, settings(f)}};
  }
  if (name == "apply") return Request{Apply{{number(f, "epoch")}, {number(f, "ticket")}}};
  if (name == "discard") return Request{Discard{{number(f, "epoch")}, {number(f, "ticket")}}};
  if (name == "store") return Request{Store{{number(f, "epoch")}}};
  if (name == "locate") return Request{Locate{number<std::uint8_t>(f, "seconds")}};
  if (name == "find") {
    return Request{
        Find{number<std::uint8_t>(f, "prefix-bits"), number<std::uint64_t>(f, "prefix")}};
  }
  if (name == "mute") return Request{Mute{uid(f)}};
  if (name == "assign") return Request{Assign{uid(f), {number<std::uint8_t>(f, "new-address")}}};
  if (name == "reclaim") {
    Reclaim reclaim{{number(f, "epoch")}, {number(f, "highest")}, number(f, "boots"), {}};
    const Bytes proof = from_hex(f.at("proof"));
    REQUIRE(proof.size() == reclaim.proof.size());
    std::copy(proof.begin(), proof.end(), reclaim.proof.begin());
    return Request{reclaim};
  }
  if (name == "ask_controller") return Request{AskController{}};
  if (name == "controller_heard")
    return Reply{ControllerHeard{{number(f, "epoch")}, number(f, "ago")}};
  if (name == "identity") {
    return Reply{Identity{uid(f),
                          {number<std::uint8_t>(f, "own-address")},
                          number(f, "boots"),
                          number<std::uint16_t>(f, "firmware"),
                          f.at("type")}};
  }
  if (name == "reading") return Reply{reading(f)};
  if (name == "done") return Reply{Done{}};
  if (name == "found") return Reply{Found{uid(f), {number<std::uint8_t>(f, "own-address")}}};
  if (name == "report") return Reply{Report{reading(f)}};
  if (name == "wait") return Reply{Wait{number<std::uint8_t>(f, "wait")}};
  REQUIRE(name == "refusal");
  return Reply{
      Refusal{static_cast<RefusalReason>(number<std::uint8_t>(f, "reason")), number(f, "detail")}};
}

Packet packet(const Fields& f) {
  return {{{number<std::uint8_t>(f, "address")}, number<std::uint8_t>(f, "sequence")}, message(f)};
}

}  // namespace

TEST_CASE("every worked example of PROTOCOL.md is what the codec writes, and is read back") {
  std::set<std::string> seen;
  for (const Fields& fields : examples()) {
    CAPTURE(fields.at("message"));
    seen.insert(fields.at("message"));
    const Packet expected = packet(fields);
    const Bytes bytes = from_hex(fields.at("packet"));
    CHECK(name_of(expected.message) == fields.at("message"));
    CHECK(encode(expected) == bytes);
    const auto decoded = decode(bytes);
    REQUIRE(decoded);
    CHECK(*decoded == expected);
    if (!fields.contains("frame")) continue;
    const Bytes frame = from_hex(fields.at("frame"));
    CHECK(to_frame(bytes) == frame);
    FrameReader reader;
    int heard = 0;
    reader.feed(frame, [&](ByteView packet_bytes) {
      ++heard;
      CHECK(Bytes(packet_bytes.begin(), packet_bytes.end()) == bytes);
    });
    CHECK(heard == 1);
  }
  CHECK(seen.size() == std::variant_size_v<Request> + std::variant_size_v<Reply>);
}

TEST_CASE("what PROTOCOL.md has in parts is read back from them") {
  Parts staged;
  std::size_t parts = 0;
  for (const Fields& fields : examples()) {
    const Bytes bytes = fields.contains("bytes") ? from_hex(fields.at("bytes")) : Bytes{};
    const std::string& name = fields.at("message");
    if (name == "stage_part") {
      CHECK(staged.add(number<std::uint8_t>(fields, "part"), number<std::uint8_t>(fields, "parts"),
                       largest_staged_part, bytes));
      ++parts;
      if (!staged.complete()) continue;
      const auto settings = decode_matrix_settings(staged.bytes(), Labels::plain);
      REQUIRE(settings);
      CHECK(*settings == matrix_settings(fields));
    }
    if (name == "part" && fields.contains("measured")) {
      const auto inputs = decode_inputs(bytes);
      REQUIRE(inputs);
      CHECK(*inputs == measured(fields));
      ++parts;
    }
  }
  CHECK(staged.complete());
  CHECK(parts == 3);
}

TEST_CASE("every datagram of PROTOCOL.md is what is sealed, and opens") {
  int datagrams = 0;
  for (const Fields& fields : examples()) {
    if (!fields.contains("datagram")) continue;
    ++datagrams;
    const auto key = Key::from_hex(fields.at("key"));
    REQUIRE(key);
    const Direction direction =
        fields.at("datagram") == "to-node" ? Direction::to_node : Direction::to_controller;
    const Envelope envelope{direction, uid(fields, "node"), number(fields, "session"),
                            number(fields, "peer-session"), number(fields, "counter")};
    const Bytes bytes = from_hex(fields.at("packet"));
    const Bytes sealed = from_hex(fields.at("sealed"));
    CHECK(seal(envelope, bytes, *key) == sealed);
    const auto opened = open(sealed, direction, *key);
    REQUIRE(opened);
    CHECK(*opened == Datagram{envelope, bytes});
  }
  CHECK(datagrams == 4);
}

TEST_CASE("the proof of a reclaim is that of PROTOCOL.md") {
  int reclaims = 0;
  for (const Fields& fields : examples()) {
    if (fields.at("message") != "reclaim") continue;
    ++reclaims;
    const auto key = Key::from_hex(fields.at("key"));
    REQUIRE(key);
    const auto reclaim = std::get<Reclaim>(std::get<Request>(message(fields)));
    CHECK(proof_of(reclaim, uid(fields, "node"), *key) == reclaim.proof);
    CHECK(is_proved(reclaim, uid(fields, "node"), *key));
    auto other = reclaim;
    ++other.boots;
    CHECK_FALSE(is_proved(other, uid(fields, "node"), *key));
    CHECK_FALSE(is_proved(reclaim, NodeUid{0x7a10, 1}, *key));
  }
  CHECK(reclaims == 1);
}

TEST_CASE("the mix gives the values of PROTOCOL.md") {
  const std::string text = document();
  for (const NodeUid node : {NodeUid{0, 1}, NodeUid{0x7a10, 0x2f}, NodeUid{0x7a10, 0x30}}) {
    std::ostringstream row;
    row << "| mix of `" << node.text() << "` | 0x" << std::hex << std::uppercase << mixed(node)
        << " |";
    CAPTURE(row.str());
    CHECK(text.find(row.str()) != std::string::npos);
  }
}
