// SPDX-License-Identifier: Apache-2.0
#include "protocol/datagram.hpp"

#include <openssl/crypto.h>
#include <openssl/evp.h>
#include <openssl/hmac.h>

#include <algorithm>
#include <cctype>
#include <stdexcept>

#include "daemon/base/hex.hpp"

namespace catwalk::protocol {
namespace {

constexpr std::array<std::uint8_t, 2> magic{'C', 'W'};
constexpr std::uint8_t envelope_version = 0x01;

}  // namespace

std::optional<Key> Key::from_bytes(ByteView bytes) {
  if (bytes.size() < shortest || bytes.size() > longest) return std::nullopt;
  return Key{Bytes(bytes.begin(), bytes.end())};
}

std::optional<Key> Key::from_hex(std::string_view text) {
  std::string digits{text};
  std::erase_if(digits, [](unsigned char c) { return std::isspace(c) != 0; });
  const auto bytes = catwalk::from_hex(digits);
  return bytes ? from_bytes(*bytes) : std::nullopt;
}

FullMac hmac_sha256(ByteView key, ByteView message) {
  FullMac mac{};
  unsigned length = 0;
  // OpenSSL takes a null key for "the key of last time": an empty key needs an address.
  static constexpr std::uint8_t nothing = 0;
  const auto* key_data = key.empty() ? &nothing : key.data();
  if (HMAC(EVP_sha256(), key_data, static_cast<int>(key.size()), message.data(), message.size(),
           mac.data(), &length) == nullptr ||
      length != mac.size()) {
    throw std::runtime_error{"OpenSSL cannot compute HMAC-SHA-256"};
  }
  return mac;
}

Bytes seal(const Envelope& envelope, ByteView packet, const Key& key) {
  Bytes out;
  out.reserve(envelope_header_size + packet.size() + mac_size);
  out.insert(out.end(), magic.begin(), magic.end());
  put(out, envelope_version, 1);
  put(out, static_cast<std::uint8_t>(envelope.direction), 1);
  put(out, envelope.uid.bits(), 6);
  put(out, envelope.session, 4);
  put(out, envelope.peer_session, 4);
  put(out, envelope.counter, 4);
  out.insert(out.end(), packet.begin(), packet.end());
  const FullMac mac = hmac_sha256(key.bytes(), out);
  out.insert(out.end(), mac.begin(), mac.begin() + mac_size);
  return out;
}

Result<Datagram, OpenError> open(ByteView bytes, Direction expected, const Key& key) {
  if (bytes.size() < shortest_datagram) return Failure{OpenError::too_short};
  if (bytes.size() > longest_datagram) return Failure{OpenError::too_long};
  if (!std::equal(magic.begin(), magic.end(), bytes.begin())) return Failure{OpenError::magic};
  if (bytes[2] != envelope_version) return Failure{OpenError::version};
  if (bytes[3] != static_cast<std::uint8_t>(expected)) return Failure{OpenError::direction};
  const ByteView signed_part = bytes.first(bytes.size() - mac_size);
  const FullMac mac = hmac_sha256(key.bytes(), signed_part);
  // In constant time: how long it takes must not tell how much of a guess was right.
  if (CRYPTO_memcmp(mac.data(), bytes.data() + signed_part.size(), mac_size) != 0) {
    return Failure{OpenError::forged};
  }
  Datagram out;
  out.envelope.direction = expected;
  out.envelope.uid = NodeUid::from_bits(get(bytes, 4, 6));
  out.envelope.session = static_cast<std::uint32_t>(get(bytes, 10, 4));
  out.envelope.peer_session = static_cast<std::uint32_t>(get(bytes, 14, 4));
  out.envelope.counter = static_cast<std::uint32_t>(get(bytes, 18, 4));
  const ByteView packet = signed_part.subspan(envelope_header_size);
  out.packet.assign(packet.begin(), packet.end());
  return out;
}

std::optional<NodeUid> claimed_uid(ByteView bytes) {
  if (bytes.size() < shortest_datagram) return std::nullopt;
  return NodeUid::from_bits(get(bytes, 4, 6));
}

ReplayWindow::Verdict ReplayWindow::accept(std::uint32_t session, std::uint32_t counter) {
  if (session < session_) return Verdict::session_over;
  if (session > session_) {
    session_ = session;
    highest_ = counter;
    seen_ = 1;
    return Verdict::fresh;
  }
  if (seen_ == 0 || counter > highest_) {
    const std::uint32_t ahead = seen_ == 0 ? width : counter - highest_;
    seen_ = ahead >= width ? 1 : (seen_ << ahead | 1);
    highest_ = counter;
    return Verdict::fresh;
  }
  const std::uint32_t behind = highest_ - counter;
  if (behind >= width) return Verdict::too_old;
  const std::uint64_t bit = std::uint64_t{1} << behind;
  if ((seen_ & bit) != 0) return Verdict::replayed;
  seen_ |= bit;
  return Verdict::fresh;
}

std::string_view name_of(ReplayWindow::Verdict verdict) {
  switch (verdict) {
    case ReplayWindow::Verdict::fresh:
      return "fresh";
    case ReplayWindow::Verdict::replayed:
      return "replayed";
    case ReplayWindow::Verdict::too_old:
      return "too old";
    case ReplayWindow::Verdict::session_over:
      return "session over";
  }
  return "";
}

}  // namespace catwalk::protocol
