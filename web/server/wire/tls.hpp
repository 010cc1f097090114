// SPDX-License-Identifier: Apache-2.0
#pragma once
// The certificate that the rack shows, and how TLS is spoken.

#include <chrono>
#include <memory>
#include <string>

#include "daemon/base/result.hpp"
#include "daemon/rack/values/time.hpp"

namespace catwalk::web {

// PEM files.
struct TlsFiles {
  std::string certificate_chain;  // our own certificate first
  std::string private_key;
};

// RFC 9325, sections 3.1 and 4.2: TLS 1.2 with ephemeral keys and authenticated encryption only,
// and TLS 1.3 with what it has. In OpenSSL's names.
inline constexpr const char* ciphers_of_tls_1_2 =
    "ECDHE-ECDSA-AES128-GCM-SHA256:ECDHE-RSA-AES128-GCM-SHA256:"
    "ECDHE-ECDSA-AES256-GCM-SHA384:ECDHE-RSA-AES256-GCM-SHA384:"
    "ECDHE-ECDSA-CHACHA20-POLY1305:ECDHE-RSA-CHACHA20-POLY1305";

// Both files as they were read, ready to be shown to who comes. Immutable; from any thread.
class Tls {
 public:
  // Fails with a sentence that names the file.
  static Result<std::shared_ptr<const Tls>, std::string> read(const TlsFiles& files);
  virtual ~Tls() = default;

  // Of our own certificate.
  virtual std::chrono::sys_seconds begins() const = 0;
  virtual std::chrono::sys_seconds ends() const = 0;

 protected:
  Tls() = default;
};

// What has to be said of a certificate that is good for this time only; empty: nothing.
constexpr std::chrono::days certificate_warning{14};
std::string trouble_of_certificate(std::chrono::sys_seconds begins, std::chrono::sys_seconds ends,
                                   rack::TimePoint now);

}  // namespace catwalk::web
