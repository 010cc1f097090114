// SPDX-License-Identifier: Apache-2.0
#include "web/server/wire/tls.hpp"

#include <openssl/ssl.h>
#include <openssl/x509.h>

#include <ctime>
#include <optional>

#include "daemon/plan/time_zone.hpp"
#include "web/server/wire/tls_context.hpp"

namespace catwalk::web {
namespace {

namespace ssl = boost::asio::ssl;

// Nothing: OpenSSL cannot make a moment of it.
std::optional<std::chrono::sys_seconds> moment_of(const ASN1_TIME* time) {
  std::tm parts{};
  if (time == nullptr || ASN1_TIME_to_tm(time, &parts) != 1) return std::nullopt;
  return std::chrono::sys_seconds{std::chrono::seconds{::timegm(&parts)}};
}

}  // namespace

TlsContext::TlsContext() : context_{ssl::context::tls_server} {
  context_.set_options(ssl::context::default_workarounds | ssl::context::no_compression |
                       SSL_OP_CIPHER_SERVER_PREFERENCE | SSL_OP_NO_RENEGOTIATION);
  SSL_CTX_set_min_proto_version(context_.native_handle(), TLS1_2_VERSION);
}

std::optional<std::string> TlsContext::read_files(const TlsFiles& files) {
  if (SSL_CTX_set_cipher_list(context_.native_handle(), ciphers_of_tls_1_2) != 1)
    return std::string{"the ciphers of TLS 1.2 are not known to the OpenSSL of this machine"};
  boost::system::error_code error;
  context_.use_certificate_chain_file(files.certificate_chain, error);
  if (error) return "no certificate in " + files.certificate_chain + ": " + error.message();
  context_.use_private_key_file(files.private_key, ssl::context::pem, error);
  if (error)
    return "no private key of that certificate in " + files.private_key + ": " + error.message();
  const auto* certificate = SSL_CTX_get0_certificate(context_.native_handle());
  const auto begins = moment_of(X509_get0_notBefore(certificate));
  const auto ends = moment_of(X509_get0_notAfter(certificate));
  if (!begins || !ends)
    return "the certificate in " + files.certificate_chain + " has no end that can be read";
  begins_ = *begins;
  ends_ = *ends;
  return std::nullopt;
}

Result<std::shared_ptr<const Tls>, std::string> Tls::read(const TlsFiles& files) {
  auto made = std::make_shared<TlsContext>();
  if (auto trouble = made->read_files(files)) return Failure{std::move(*trouble)};
  return std::shared_ptr<const Tls>{std::move(made)};
}

std::string trouble_of_certificate(std::chrono::sys_seconds begins, std::chrono::sys_seconds ends,
                                   rack::TimePoint now) {
  if (now >= ends)
    return "The certificate of the rack ended at " + plan::in_words(ends) +
           ". Browsers and catwalk refuse it; put a new one in its place, and reload.";
  if (now < begins)
    return "The certificate of the rack is good from " + plan::in_words(begins) +
           " only. Until then browsers and catwalk refuse it; is the clock right?";
  if (ends - now < certificate_warning)
    return "The certificate of the rack ends at " + plan::in_words(ends) +
           ". Put a new one in its place before that, and reload.";
  return {};
}

}  // namespace catwalk::web
