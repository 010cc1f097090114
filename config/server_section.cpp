// SPDX-License-Identifier: Apache-2.0
#include "config/server_section.hpp"

#include <algorithm>

#include "config/endpoint.hpp"
#include "config/key_file.hpp"
#include "daemon/base/text.hpp"

namespace catwalk::config {
namespace {

// FIPS 180-4; what a shell makes of a variable that is not set.
constexpr std::string_view digest_of_nothing =
    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855";

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
  if (text == digest_of_nothing) {
    at.report("is the digest of an empty token",
              "the digest of 32 random bytes or more, as the README makes one");
    return std::nullopt;
  }
  if (!text || is_hex(*text, 64)) return text;
  at.report("is not a SHA-256 digest", "64 digits of 0-9 and a-f");
  return std::nullopt;
}

// useradd(8): lower-case letters, digits, "_" and "-", 32 of them; some systems allow "." too.
std::optional<std::string> read_user_name(const Cursor& at) {
  auto text = at.text(1, 32);
  const auto fits = [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_' || c == '-' || c == '.';
  };
  if (!text || std::ranges::all_of(*text, fits)) return text;
  at.report("is not the name of a user", "a-z, 0-9, \"_\", \"-\" and \".\"");
  return std::nullopt;
}

// What stands in the files is read when the door is opened; that they are there is known now.
std::optional<TlsSetup> read_tls(const Cursor& at, const std::filesystem::path& state_dir,
                                 Documents& documents) {
  if (!at.present()) return std::nullopt;
  const Object object{at, {"certificate_file", "key_file"}, {}};
  TlsSetup setup;
  const Cursor at_certificate = object["certificate_file"];
  if (const auto path = at_certificate.text(1, longest_path)) {
    setup.certificate = (state_dir / *path).lexically_normal();
    documents.read(setup.certificate, at_certificate);
  }
  const Cursor at_key = object["key_file"];
  if (const auto path = at_key.text(1, longest_path)) {
    setup.private_key = (state_dir / *path).lexically_normal();
    if (const auto file = documents.read(setup.private_key, at_key)) check_secret(*file, at_key);
  }
  return setup;
}

}  // namespace

std::vector<Token> read_tokens(const Cursor& at) {
  std::vector<Token> tokens;
  Once<std::string> names;
  Once<std::string> digests;
  for (const Cursor& element : at.elements(0, 64)) {
    const Object object{element, {"name", "role", "sha256"}, {}};
    const auto name = object["name"].name();
    const auto role = object["role"].one_of<Role>();
    const auto digest = read_digest(object["sha256"]);
    if (name) names.add(*name, object["name"]);
    if (digest) digests.add(*digest, object["sha256"]);
    if (name && role && digest) tokens.push_back({.name = *name, .role = *role, .sha256 = *digest});
  }
  return tokens;
}

std::vector<LocalUser> read_local_users(const Cursor& at, bool has_tokens) {
  // Without tokens whoever reaches the port is an engineer, so that a role here would hold nobody.
  if (at.present() && !has_tokens)
    at.report_about(
        "limits nobody as long as there are no tokens: over the network everybody may do all",
        "at least one entry in \"tokens\", or no \"local_users\"");
  std::vector<LocalUser> users;
  Once<std::string> names;
  for (const Cursor& element : at.elements(0, 64)) {
    const Object object{element, {"name", "role"}, {}};
    const auto name = read_user_name(object["name"]);
    const auto role = object["role"].one_of<Role>();
    if (name) names.add(*name, object["name"]);
    if (name && role) users.push_back({.name = *name, .role = *role});
  }
  return users;
}

ServerSetup read_server(const Cursor& at, bool has_tokens, const std::filesystem::path& state_dir,
                        Documents& documents) {
  ServerSetup setup;
  if (!at.present()) return setup;
  const Object object{at,
                      {},
                      {"host", "port", "allowed_hosts", "tls", "behind_tls_proxy",
                       "without_tls_because", "login_lasts_h"}};
  const Cursor at_host = object["host"];
  const auto host = read_ip_address(at_host);
  const Cursor at_reason = object["without_tls_because"];
  const Cursor at_proxy = object["behind_tls_proxy"];
  if (host) setup.host = text_of(*host);
  setup.port = static_cast<std::uint16_t>(object["port"].integer(0, 65'535).value_or(setup.port));
  for (const Cursor& element : object["allowed_hosts"].elements(0, 32))
    if (auto name = read_host_name(element)) setup.allowed_hosts.push_back(std::move(*name));
  setup.without_tls_because = at_reason.text(1, 200).value_or("");
  setup.tls = read_tls(object["tls"], state_dir, documents);
  setup.behind_tls_proxy = at_proxy.boolean().value_or(false);
  if (const auto hours = object["login_lasts_h"].integer(1, 168))
    setup.login_lasts = std::chrono::hours{*hours};

  // Whoever the proxy lets through would be an engineer.
  if (setup.behind_tls_proxy && !has_tokens)
    at_proxy.report("opens the rack to whoever the proxy lets through, but there are no tokens",
                    "false, or at least one entry in \"tokens\"");
  if (!host || is_loopback(*host)) return setup;
  if (!has_tokens)
    at_host.report("is open to other machines, but there are no tokens",
                   "\"127.0.0.1\" or \"::1\", or at least one entry in \"tokens\"");
  if (!setup.tls && !at_reason.present())
    at_host.report("is open to other machines without TLS",
                   "\"127.0.0.1\" or \"::1\", or the member \"tls\", or the member "
                   "\"without_tls_because\" with the reason why that is safe here");
  return setup;
}

}  // namespace catwalk::config
