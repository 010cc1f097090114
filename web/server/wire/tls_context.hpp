// SPDX-License-Identifier: Apache-2.0
#pragma once
// What connections need of the certificate. Internal to the room.

#include <utility>
// Boost 1.74 needs <utility> first.
#include <boost/asio/ssl/context.hpp>
#include <optional>
#include <string>

#include "web/server/wire/tls.hpp"

namespace catwalk::web {

class TlsContext final : public Tls {
 public:
  TlsContext();
  // A sentence if a file is no good.
  std::optional<std::string> read_files(const TlsFiles& files);

  std::chrono::sys_seconds begins() const override { return begins_; }
  std::chrono::sys_seconds ends() const override { return ends_; }
  // Sessions are made from it on the panel thread, and keep what they need of it alive.
  boost::asio::ssl::context& context() const { return context_; }

 private:
  mutable boost::asio::ssl::context context_;
  std::chrono::sys_seconds begins_{};
  std::chrono::sys_seconds ends_{};
};

}  // namespace catwalk::web
