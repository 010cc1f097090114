// SPDX-License-Identifier: Apache-2.0
#include "drivers/line/serial_port.hpp"

// termios2 and BOTHER, for rates such as 250000 that POSIX has no constant for. These headers do
// not go together with <termios.h>.
#include <asm/ioctls.h>
#include <asm/termbits.h>
#include <fcntl.h>
#include <linux/serial.h>
#include <sys/file.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <cerrno>
#include <system_error>

namespace catwalk::drivers {
namespace {

std::string reason(const std::string& what, const std::string& device, int error) {
  return "cannot " + what + " " + device + ": " + std::generic_category().message(error);
}

bool make_raw(int fd, std::uint32_t baud) {
  termios2 settings{};
  if (ioctl(fd, TCGETS2, &settings) != 0) return false;
  settings.c_iflag = 0;
  settings.c_oflag = 0;
  settings.c_lflag = 0;
  settings.c_cflag = BOTHER | CS8 | CREAD | CLOCAL;
  settings.c_ispeed = baud;
  settings.c_ospeed = baud;
  settings.c_cc[VMIN] = 1;
  settings.c_cc[VTIME] = 0;
  return ioctl(fd, TCSETS2, &settings) == 0;
}

// USB adapters otherwise hold bytes back for up to 16 ms.
void ask_for_low_latency(int fd) {
  serial_struct serial{};
  if (ioctl(fd, TIOCGSERIAL, &serial) != 0) return;
  serial.flags |= ASYNC_LOW_LATENCY;
  ioctl(fd, TIOCSSERIAL, &serial);
}

}  // namespace

Result<int, std::string> open_serial_port(const std::string& device, std::uint32_t baud) {
  const int fd = open(device.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
  if (fd < 0) return Failure{reason("open", device, errno)};
  const auto fail = [&](const std::string& what, int error) {
    close(fd);
    return Failure{reason(what, device, error)};
  };
  // Advisory, so that nothing stays behind on a pseudo-terminal, as TIOCEXCL would.
  if (flock(fd, LOCK_EX | LOCK_NB) != 0) {
    const int error = errno;
    if (error != EWOULDBLOCK) return fail("lock", error);
    close(fd);
    return Failure{"cannot open " + device + ": another program uses it"};
  }
  if (!make_raw(fd, baud)) return fail("set the baud rate of", errno);
  ask_for_low_latency(fd);
  ioctl(fd, TCFLSH, TCIOFLUSH);
  return fd;
}

}  // namespace catwalk::drivers
