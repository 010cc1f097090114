// SPDX-License-Identifier: Apache-2.0
#include "daemon/shell/certificate.hpp"

#include <spdlog/spdlog.h>

#include "daemon/shell/wall_clock.hpp"

namespace catwalk::shell {

void Certificate::look() {
  const auto trouble =
      tls_ ? web::trouble_of_certificate(tls_->begins(), tls_->ends(), now()) : std::string{};
  if (!trouble.empty()) spdlog::warn("{}", trouble);
  field_.on(rack::CertificateJudged{trouble});
  again_.expires_after(std::chrono::hours{1});
  again_.async_wait([this](std::error_code stopped) {
    if (!stopped) look();
  });
}

}  // namespace catwalk::shell
