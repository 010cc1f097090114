// SPDX-License-Identifier: Apache-2.0
#include "config/server_section.hpp"

#include <algorithm>

#include "config/endpoint.hpp"

namespace catwalk::config {
namespace {

constexpr std::array<std::pair<std::string_view, Role>, 3> roles{
    {{"watch", Role::watch}, {"operate", Role::operate}, {"engineer", Role::engineer}}};

// RFC 1123, section 2.1: letters, digits, hyphens and dots, 253 characters. Lower case, so that two
// spellings are not two names.
std::optional<std::string> read_host_name(const Cursor& at) {
  auto text = at.text(1, 253);
  const auto fits = [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-' || c == '.';
  };
  if (!text || std::ranges::all_of(*text, fits)) return text;
  at.report("is not a host name", "a-z, 0-9, \"-\" and \".\", without a port");
  return std::nullopt;
}

std::optional<std::string> read_digest(const Cursor& at) {
  auto text = at.text(0, 128);
  const auto fits = [](char c) { return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f'); };
  if (!text || (text->size() == 64 && std::ranges::all_of(*text, fits))) return text;
  at.report("is not a SHA-256 digest", "64 digits of 0-9 and a-f");
  return std::nullopt;
}

}  // namespace

std::string_view name_of(Role role) { return roles[static_cast<std::size_t>(role)].first; }

std::vector<Token> read_tokens(const Cursor& at) {
  std::vector<Token> tokens;
  Once<std::string> names;
  Once<std::string> digests;
  for (const Cursor& element : at.elements(0, 64)) {
    const Object object{element, {"name", "role", "sha256"}, {}};
    const auto name = object["name"].name();
    const auto role = object["role"].one_of(roles);
    const auto digest = read_digest(object["sha256"]);
    if (name) names.add(*name, object["name"]);
    if (digest) digests.add(*digest, object["sha256"]);
    if (name && role && digest) tokens.push_back({.name = *name, .role = *role, .sha256 = *digest});
  }
  return tokens;
}

ServerSetup read_server(const Cursor& at, bool has_tokens) {
  ServerSetup setup;
  if (!at.present()) return setup;
  const Object object{at, {}, {"host", "port", "allowed_hosts", "without_tls_because"}};
  const Cursor at_host = object["host"];
  const auto host = read_ip_address(at_host);
  const Cursor at_reason = object["without_tls_because"];
  setup.host = host.value_or(setup.host);
  setup.port = static_cast<std::uint16_t>(object["port"].integer(0, 65'535).value_or(setup.port));
  for (const Cursor& element : object["allowed_hosts"].elements(0, 32))
    if (auto name = read_host_name(element)) setup.allowed_hosts.push_back(std::move(*name));
  setup.without_tls_because = at_reason.text(1, 200).value_or("");

  if (!host || is_loopback(*host)) return setup;
  if (!has_tokens)
    at_host.report("is open to other machines, but there are no tokens",
                   "\"127.0.0.1\" or \"::1\", or at least one entry in \"tokens\"");
  if (!at_reason.present())
    at_host.report("is open to other machines without TLS",
                   "\"127.0.0.1\" or \"::1\", or the member \"without_tls_because\" with the "
                   "reason why that is safe here");
  return setup;
}

}  // namespace catwalk::config
