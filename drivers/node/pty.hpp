// SPDX-License-Identifier: Apache-2.0
#pragma once
// A pseudo-terminal: our end, and a path that others open like a serial device.

#include <optional>
#include <string>

#include "daemon/base/result.hpp"

namespace catwalk::drivers {

class Pty {
 public:
  // Raw from the start. Our own hold on the far end keeps it alive while nobody has it open.
  static Result<Pty, std::string> open();

  Pty(Pty&& other) noexcept;
  Pty& operator=(Pty&&) = delete;
  ~Pty();

  // Our end; the caller takes it over and closes it. Once only.
  int release_own_end();
  const std::string& path() const { return path_; }

  // A symbolic link to the path, in place of one that is there. Removed with this object.
  std::optional<std::string> link_from(const std::string& path);

 private:
  Pty(int own, int far, std::string path) : own_{own}, far_{far}, path_{std::move(path)} {}

  int own_;
  int far_;
  std::string path_;
  std::string link_;
};

}  // namespace catwalk::drivers
