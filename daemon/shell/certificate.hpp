// SPDX-License-Identifier: Apache-2.0
#pragma once
// The certificate that is shown, and what has to be said of it.

#include <asio.hpp>
#include <memory>

#include "daemon/shell/field.hpp"
#include "web/server/wire/tls.hpp"

namespace catwalk::shell {

class Certificate {
 public:
  Certificate(asio::io_context& io, Field& field) : again_{io}, field_{field} {}

  // From now on this one, looked at once an hour. Null: there is none.
  void is(std::shared_ptr<const web::Tls> tls) {
    tls_ = std::move(tls);
    look();
  }

 private:
  void look();

  asio::steady_timer again_;
  Field& field_;
  std::shared_ptr<const web::Tls> tls_;
};

}  // namespace catwalk::shell
