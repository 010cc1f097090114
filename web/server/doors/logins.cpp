// SPDX-License-Identifier: Apache-2.0
#include "web/server/doors/logins.hpp"

#include <openssl/crypto.h>

#include <algorithm>
#include <charconv>
#include <utility>

#include "daemon/base/hex.hpp"
#include "daemon/base/text.hpp"
#include "protocol/datagram.hpp"

namespace catwalk::web {
namespace {

constexpr std::size_t id_digits = 16;
constexpr std::size_t token_digits = 16;
constexpr std::size_t mac_digits = 64;

protocol::ByteView bytes_of(std::string_view text) {
  return {reinterpret_cast<const std::uint8_t*>(text.data()), text.size()};
}

bool same_in_constant_time(std::string_view a, std::string_view b) {
  return a.size() == b.size() && CRYPTO_memcmp(a.data(), b.data(), a.size()) == 0;
}

// Takes what stands before the next dot.
std::string_view next_part(std::string_view& rest) {
  const auto part = rest.substr(0, rest.find('.'));
  rest.remove_prefix(std::min(rest.size(), part.size() + 1));
  return part;
}

}  // namespace

Logins::Logins(std::string key, std::chrono::seconds lasts) : key_{std::move(key)}, lasts_{lasts} {}

std::string Logins::sign(std::string_view said, const Token& token) const {
  const auto whole = std::string{said} + '.' + token.sha256;
  return to_hex(protocol::hmac_sha256(bytes_of(key_), bytes_of(whole)));
}

Logins::Opened Logins::open(const Token& token, std::string id, rack::TimePoint now) const {
  const Login login{std::move(id), std::chrono::floor<std::chrono::seconds>(now) + lasts_,
                    token.sha256.substr(0, token_digits)};
  auto cookie = std::to_string(login.ends.time_since_epoch().count()) + '.' + login.id + '.' +
                token.sha256.substr(0, token_digits);
  cookie += '.' + sign(cookie, token);
  return {std::move(cookie), login};
}

std::optional<Logins::Checked> Logins::check(std::string_view cookie,
                                             const std::vector<Token>& tokens,
                                             rack::TimePoint now) const {
  auto rest = cookie;
  const auto ends = next_part(rest);
  const auto id = next_part(rest);
  const auto which = next_part(rest);
  const auto mac = rest;
  std::int64_t seconds = 0;
  const auto [end, error] = std::from_chars(ends.data(), ends.data() + ends.size(), seconds);
  if (error != std::errc{} || end != ends.data() + ends.size()) return std::nullopt;
  if (!is_hex(id, id_digits) || !is_hex(which, token_digits) || !is_hex(mac, mac_digits))
    return std::nullopt;
  const auto said = cookie.substr(0, cookie.size() - mac_digits - 1);
  for (const auto& token : tokens) {
    if (!token.sha256.starts_with(which) || !same_in_constant_time(sign(said, token), mac))
      continue;
    const Login login{std::string{id}, std::chrono::sys_seconds{std::chrono::seconds{seconds}},
                      std::string{which}};
    if (!is_open(login, now)) return std::nullopt;
    return Checked{login, &token};
  }
  return std::nullopt;
}

const Token* Logins::token_of(std::string_view cookie, const std::vector<Token>& tokens) {
  next_part(cookie);
  next_part(cookie);
  const auto which = next_part(cookie);
  if (!is_hex(which, token_digits)) return nullptr;
  const auto found = std::ranges::find_if(
      tokens, [&](const Token& token) { return token.sha256.starts_with(which); });
  return found == tokens.end() ? nullptr : &*found;
}

void Logins::close(const Login& login, rack::TimePoint now) {
  auto& closed = closed_[login.token];
  auto& by_end = closed.by_end;
  while (!by_end.empty() && by_end.begin()->first <= now) by_end.erase(by_end.begin());
  by_end.emplace(login.ends, login.id);
  if (by_end.size() <= most_closed_of_one) return;
  by_end.clear();
  closed.all_until = std::chrono::floor<std::chrono::seconds>(now) + lasts_;
}

bool Logins::is_open(const Login& login, rack::TimePoint now) const {
  if (now >= login.ends) return false;
  const auto found = closed_.find(login.token);
  return found == closed_.end() || (login.ends > found->second.all_until &&
                                    !found->second.by_end.contains({login.ends, login.id}));
}

}  // namespace catwalk::web
